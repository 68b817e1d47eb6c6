#!/usr/bin/env python3
"""measure.py PROGRAM SESSION SECONDS: what a console costs as a whole process, one after the other in the same run:

    console   loopmargin watch on a terminal of 120x40, 10 frames a second
    json      loopmargin watch --json, into a pipe
    python    client.py, a minimal client of general-purpose libraries, on the same terminal

All take the same recording at the pace at which it was made. Prints a line each and, last, one JSON object: share of one core
(user and system time over wall time), peak resident memory (VmHWM), bytes written per second. Reported, never asserted.
"""

import fcntl
import json
import os
import pathlib
import pty
import select
import struct
import subprocess
import sys
import termios
import time

COLUMNS, ROWS = 120, 40
HERE = pathlib.Path(__file__).parent


def peak_mb(pid):
    try:
        for line in pathlib.Path(f"/proc/{pid}/status").read_text().splitlines():
            if line.startswith("VmHWM:"):
                return int(line.split()[1]) / 1024
    except OSError:
        pass
    return None


def measure(command, on_terminal):
    begin = time.monotonic()
    if on_terminal:
        ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
        environment = {**os.environ, "TERM": "xterm-256color", "COLUMNS": str(COLUMNS), "LINES": str(ROWS)}
        child = subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=subprocess.DEVNULL, env=environment, start_new_session=True)
        os.close(theirs)
    else:
        ours, theirs = os.pipe()
        child = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=theirs, stderr=subprocess.DEVNULL)
        os.close(theirs)
    written, peak, looked = 0, None, 0.0
    while True:
        ready, _, _ = select.select([ours], [], [], 0.5)
        if time.monotonic() - looked > 0.5:
            looked = time.monotonic()
            peak = peak_mb(child.pid) or peak
        if ready:
            try:
                data = os.read(ours, 65536)
            except OSError:  # the other end of a terminal is gone
                data = b""
            if not data:
                break
            written += len(data)
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    wall = time.monotonic() - begin
    return {
        "status": child.returncode,
        "cpu_percent": round(100 * (usage.ru_utime + usage.ru_stime) / wall, 2),
        "peak_mb": round(peak, 1) if peak else None,
        "bytes_per_s": round(written / wall),
        "wall_s": round(wall, 1),
    }


def main(program, session, seconds):
    watch = [program, "watch", "--from", session, "--for", f"{seconds}s"]
    runs = {
        "console": (watch, True),
        "json": ([*watch, "--json"], False),
        "python": ([sys.executable, "-B", str(HERE / "client.py"), session, str(seconds)], True),
    }
    results = {}
    for name, (command, on_terminal) in runs.items():
        results[name] = measure(command, on_terminal)
        print(f"{name:8} {results[name]}", flush=True)
        if results[name]["status"] != 0:
            sys.exit(f"measure.py: {name} ended with status {results[name]['status']}; run it by hand: {' '.join(command)}")
    results["console_cpu_over_json"] = round(results["console"]["cpu_percent"] / max(results["json"]["cpu_percent"], 0.01), 2)
    results["python_cpu_over_console"] = round(results["python"]["cpu_percent"] / max(results["console"]["cpu_percent"], 0.01), 2)
    print(json.dumps(results))


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]))

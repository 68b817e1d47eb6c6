#!/usr/bin/env python3
"""client.py SESSION SECONDS: the smallest honest console in Python: takes the Band Telemetry of a recording at the pace at which it
came, decodes it with `struct` (attributes.py of the virtual radio) and draws a table with `rich` ten times a second."""

import json
import pathlib
import sys
import time

sys.path.insert(0, str(pathlib.Path(__file__).parents[1] / "virtual-radio"))

import attributes
from rich.live import Live
from rich.table import Table

FRAMES = 10  # a second
BAR, LOWEST_DBM, STEP_DB = 24, -100.0, 3.0


def bar(level):
    filled = 0 if level is None else max(0, min(BAR, round((level - LOWEST_DBM) / STEP_DB)))
    return "#" * filled + "." * (BAR - filled)


def picture(bands):
    table = Table()
    for column in ("band", "input dBm", "", "gain dB", "margin dB", "RSRP dBm", "SINR dB", "state"):
        table.add_column(column)
    for number, fields in sorted(bands.items()):
        isolation, gain = fields.get("dl_isolation_db"), fields.get("dl_gain_db")
        margin = None if isolation is None or gain is None else round(isolation - gain, 1)
        values = fields.get("dl_input_dbm"), gain, margin, fields.get("rsrp_dbm"), fields.get("sinr_db")
        level, *rest = ("?" if value is None else str(value) for value in values)
        table.add_row(str(number), level, bar(values[0]), *rest, fields.get("dl_state", "?"))
    return table


def main(path, seconds):
    bands, readings, begin, drawn = {}, 0, time.monotonic(), 0.0
    with open(path) as file, Live(auto_refresh=False, screen=True) as live:
        for line in file:
            entry = json.loads(line)
            if entry.get("v") != "band-telemetry":
                continue
            due = entry["t"] / 1e6
            if due > seconds:
                break
            now = time.monotonic() - begin
            if due > now:
                time.sleep(due - now)
                now = due
            number, _, fields = attributes.band_telemetry(bytes.fromhex(entry["x"]))
            bands.setdefault(number, {}).update(fields)
            readings += 1
            if now - drawn >= 1 / FRAMES:
                live.update(picture(bands), refresh=True)
                drawn = now
    print(readings, file=sys.stderr)


if __name__ == "__main__":
    main(sys.argv[1], float(sys.argv[2]))

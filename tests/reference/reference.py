"""Calls this project's programs, and counts agreement. Shared by the scripts of this directory."""

import json
import os
import subprocess
import sys


def run(program, *arguments):
    """Standard output of LOOPMARGIN or ANTENNA (environment variables with their paths)."""
    done = subprocess.run([os.environ[program], *map(str, arguments)], capture_output=True, text=True)
    if done.returncode:
        sys.exit(f"{program} {arguments}: exit {done.returncode}\n{done.stderr}")
    return done.stdout


def calc(name, **inputs):
    """Result of `loopmargin calc NAME key=value … --json`."""
    pairs = [f"{key}={value!r}" if isinstance(value, float) else f"{key}={value}" for key, value in inputs.items()]
    return json.loads(run("LOOPMARGIN", "calc", name, *pairs, "--json").splitlines()[-1])


class Comparison:
    """Differences between this project and a reference."""

    def __init__(self, title):
        self.title, self.count, self.worst, self.wrong = title, 0, 0.0, []

    def add(self, ours, theirs, tolerance, where):
        self.count += 1
        difference = abs(ours - theirs)
        self.worst = max(self.worst, difference)
        if not difference <= tolerance:
            self.wrong.append(f"{where}: ours {ours}, reference {theirs}")

    def equal(self, ours, theirs, where):
        self.count += 1
        if ours != theirs:
            self.wrong.append(f"{where}: ours {ours}, reference {theirs}")

    def report(self):
        state = "FAIL" if self.wrong or not self.count else "ok"
        print(f"{state:4} {self.title}: {self.count} values, greatest difference {self.worst:.3g}")
        for line in self.wrong[:10]:
            print("     " + line)
        return not self.wrong and self.count > 0


def finish(*comparisons):
    sys.exit(0 if all([comparison.report() for comparison in comparisons]) else 1)

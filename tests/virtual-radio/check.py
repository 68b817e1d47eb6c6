#!/usr/bin/env python3
"""check.py SCENARIO DIR: compares what the console said with what the unit's own log says it sent.

DIR holds sent*.jsonl (the unit's logs, one a boot), live.jsonl (watch --json), replay.jsonl (replay --json of the
recording) and btsnoop.log (btmon). Exit status 0 when every check holds, 1 when one fails, each with its reason.
"""

import json
import pathlib
import sys

import attributes
import btsnoop

UNIT, CONSOLE = 0, 1  # adapters
LIMIT = 31  # bytes of advertising data, and of a scan response
FLAGS, ALL_UUIDS, SHORT_NAME, FULL_NAME, SERVICE_DATA = 0x01, 0x07, 0x08, 0x09, 0x21  # advertising data types
RESPONSE, AIM_SAFE_ON, SUCCESS = 0x80, 0x01, 0x01  # control point: response, op code, result
ACCOUNTS = ["readings", "lost_on_air", "dropped_on_host", "malformed", "incomplete", "unreadable", "outage"]
ALWAYS_NONE = ["dropped_on_host", "malformed", "incomplete", "unreadable", "not_recorded"]
REPLAYED = {"reading", "finding", "link", "mark", "cell", "unit", "event"}


class Sent:
    """One boot of the unit: what it logged."""

    def __init__(self, path):
        self.boot = None  # boot id
        self.readings = {}  # (band index, sequence) -> fields
        self.pushed, self.stored = {}, {}  # events as indicated, and as stored records: sequence -> (boot id, ms)
        for line in path.read_text().splitlines():
            entry = json.loads(line)
            data = bytes.fromhex(entry["hex"])
            match entry["char"]:
                case "band-telemetry":
                    band, sequence, fields = attributes.band_telemetry(data)
                    self.readings.setdefault((band, sequence), {}).update(fields)
                case "boot":
                    self.boot = entry["boot_id"]
                case "unit-event":
                    sequence, *origin = attributes.unit_event(data)
                    self.pushed[sequence] = origin
                case "stored-record" if (event := attributes.stored_event(data)):
                    sequence, *origin = event
                    self.stored[sequence] = origin

    def between(self, band, first, last):
        return [s for b, s in self.readings if b == band and first <= s <= last]


class Live:
    """What the console wrote."""

    def __init__(self, path):
        self.lines = path.read_text().splitlines()
        self.entries = [json.loads(line) for line in self.lines]
        of = lambda kind: [entry for entry in self.entries if entry["type"] == kind]
        self.session, self.readings, self.events = of("session"), of("reading"), of("event")
        self.units, self.links = of("unit"), [entry["state"] for entry in of("link")]
        self.summary = self.entries[-1] if self.entries and self.entries[-1]["type"] == "summary" else None
        self.names = [band["band"] for band in self.session[0]["bands"]] if self.session else []

    def boots(self):
        """Readings by boot: a list of {band index: [reading]}. The unit says which boot it is in before its first reading."""
        boots, latest = [], None
        for entry in self.entries:
            if entry["type"] == "unit" and entry["boot_id"] != latest:
                latest = entry["boot_id"]
                boots.append({})
            elif entry["type"] == "reading":
                boots = boots or [{}]
                boots[-1].setdefault(self.names.index(entry["band"]), []).append(entry)
        return boots


def absences(entries):
    """Seconds from leaving `live` to being live again, once for each time that it came back."""
    left, back = None, []
    for entry in entries:
        if entry["type"] != "link":
            continue
        if entry["state"] != "live":
            left = entry["t_s"] if left is None else left
        elif left is not None:
            back.append(round(entry["t_s"] - left, 1))
            left = None
    return back[1:]  # the first is the way to the first value


class Report:
    def __init__(self):
        self.failed = 0

    def check(self, holds, what, why=""):
        print(f"  {'ok  ' if holds else 'FAIL'} {what}" + (f": {why}" if why and not holds else ""))
        self.failed += not holds
        return holds


def loop_margin(fields):
    margins = [
        fields[f"{way}_isolation_db"] - fields[f"{way}_gain_db"]
        for way in ("dl", "ul")
        if fields.get(f"{way}_isolation_db") is not None and fields[f"{way}_gain_db"] is not None
    ]
    return round(min(margins), 1) if margins else None


def difference(reading, sent):
    """The first field in which the console's reading differs from what was sent; optional fields not sent must be null."""
    expected = {name: sent.get(name) for name in reading if name.endswith(("_db", "_dbm")) or name in ("cell", "cell_age_s")}
    expected |= {name: value for name, value in sent.items() if name in reading}
    if "loop_margin_db" in reading:
        expected["loop_margin_db"] = loop_margin(sent)
    for name, value in expected.items():
        if reading[name] != value:
            return f"{reading['band']} sequence {reading['seq']}: {name} is {reading[name]}, sent was {value}"
    return None


def check_values(report, live, sent):
    wrong = []
    for log, boot in zip(sent, live.boots()):
        for band, readings in boot.items():
            for reading in readings:
                fields = log.readings.get((band, reading["seq"] & 0xFFFF))
                wrong.append(f"{reading['band']} sequence {reading['seq']} was never sent" if fields is None else difference(reading, fields))
    wrong = [w for w in wrong if w]
    report.check(len(live.boots()) == len(sent), "every boot seen", f"{len(live.boots())} in the readings, {len(sent)} logs")
    report.check(not wrong, f"all {len(live.readings)} readings equal what was sent", f"{len(wrong)} differ, first: {wrong[:1]}")


def check_accounts(report, live, sent):
    """The summary's identity, and what is missing by the logs: (sent and not received, made while nobody could hear)."""
    s = live.summary
    total = sum(s[name] for name in ACCOUNTS)
    report.check(s["expected"] == total, "the accounts add up", f"expected {s['expected']}, sum {total}: {s}")
    report.check(s["readings"] == len(live.readings), "summary counts the reading lines", f"{s['readings']} and {len(live.readings)}")
    for name in ALWAYS_NONE:
        report.check(s[name] == 0, f"{name} is 0", f"{s[name]}")
    lost = unheard = 0
    for number, (log, boot) in enumerate(zip(sent, live.boots())):
        for band, readings in boot.items():
            # The unit numbers its readings from 0 whether anybody listens or not; before the first boot's first one, nobody was to.
            first, last = 0 if number else readings[0]["seq"], max(reading["seq"] for reading in readings)
            was_sent = len(log.between(band, first, last))
            lost += was_sent - len(readings)
            unheard += last - first + 1 - was_sent
    missing = s["lost_on_air"] + s["outage"]
    report.check(missing == lost + unheard, f"lost_on_air and outage charge the {lost + unheard} missing readings", str(missing))
    report.check(s["lost_on_air"] <= lost, f"lost_on_air is at most the {lost} that were sent and not received", str(s["lost_on_air"]))
    return lost, unheard


def check_events(report, live, sent):
    """Every event since the console came, but for its last second, stands in its output once. Returns those that came only as
    stored records, and not as the newest one that it asks for at first to learn where the log stands: sequence -> boot id."""
    pushed, stored = {}, {}
    for log in sent:
        pushed |= log.pushed
        stored |= log.stored
    end = (sent[-1].boot, live.readings[-1]["unit_ms"] - 1000)
    known = {number for number, (boot, at) in (pushed | stored).items() if boot != end[0] or at < end[1]}
    numbers = [event["seq"] for event in live.events]
    wanted = set(range(min(known), max(known) + 1)) if known else set()
    report.check(wanted <= set(numbers), f"all {len(wanted)} events in the output", f"missing {sorted(wanted - set(numbers))}")
    report.check(len(numbers) == len(set(numbers)), "no event twice", f"{numbers}")
    missed = set(stored) - set(pushed) - {min(wanted, default=0)}
    return {number: stored[number][0] for number in sorted(missed) if number in numbers}


def check_replay(report, live, replay):
    pick = lambda lines: [line for line in lines if json.loads(line)["type"] in REPLAYED]
    a, b = pick(live.lines), pick(replay.lines)
    first = next((f"line {i + 1}: live {x} replay {y}" for i, (x, y) in enumerate(zip(a, b)) if x != y), f"{len(a)} lines live, {len(b)} in replay")
    report.check(a == b, f"replay gives the same {len(a)} lines byte for byte", first)
    expected = {**live.summary, "latency_us": None}
    report.check(replay.summary == expected, "replay gives the same summary", f"live {expected} replay {replay.summary}")


def check_advertising(report, capture):
    """What the console's controller heard from the unit, against the profile's byte budget.

    BlueZ before 5.8x cannot put service data into a scan response, and it does not fit beside the service UUID: the
    simulated unit then advertises twice in turn. So: every packet within its limit, every part heard, and the parts as
    heard fit the profile's own division (flags and UUID; service data and name).
    """
    packets = [(response, data) for _, response, data in btsnoop.reports(capture, CONSOLE)]
    for response, name in ((False, "advertising data"), (True, "scan response")):
        lengths = sorted({len(data) for kind, data in packets if kind == response})
        report.check(bool(lengths), f"{name} heard")
        report.check(all(length <= LIMIT for length in lengths), f"{name} of {lengths} bytes, at most {LIMIT}", "too long")
    advertised = {kind: value for response, data in packets if not response for kind, value in btsnoop.structures(data)}
    heard = advertised | {kind: value for response, data in packets if response for kind, value in btsnoop.structures(data)}
    report.check(FLAGS in advertised, "flags in the advertising data", str(advertised))
    report.check(advertised.get(ALL_UUIDS) == attributes.SERVICE_UUID, "the service's 128-bit UUID in the advertising data", str(advertised))
    name, service_data = heard.get(FULL_NAME, heard.get(SHORT_NAME, b"")), heard.get(SERVICE_DATA, b"")
    report.check(bool(name), "name heard", str(heard))
    report.check(service_data[:16] == attributes.SERVICE_UUID and len(service_data) == 20, "service data heard", str(heard))
    budget = 3 + 2 + 16, 2 + len(service_data) + 2 + len(name)
    report.check(max(budget) <= LIMIT, f"byte budget by the profile's division: {budget[0]} and {budget[1]} of {LIMIT}", f"name {name!r} is too long")


def stream(report, live, sent, directory):
    lost, unheard = check_accounts(report, live, sent)
    report.check(len(live.readings) >= 500, f"{len(live.readings)} readings, at least 500")
    report.check(live.summary["lost_on_air"] == lost, f"lost_on_air is what the log proves: {lost}", str(live.summary["lost_on_air"]))
    report.check(unheard == 0 and live.summary["outage"] == 0, "no outage", f"{live.summary['outage']}, {unheard} not sent")
    check_events(report, live, sent)
    check_advertising(report, directory / "btsnoop.log")


def check_interrupted(report, live, sent, lives):
    """What holds after every interruption; returns the events that were missed and fetched."""
    check_accounts(report, live, sent)
    report.check(live.links.count("live") >= lives, f"live {lives} times", " ".join(live.links))
    print(f"  note away for {absences(live.entries)} s by the console's clock, from leaving live to being live again")
    report.check(live.summary["outage"] > 0, f"the gaps are charged to outage: {live.summary['outage']}", "0")
    fetched = check_events(report, live, sent)
    report.check(bool(fetched), f"events missed and fetched: {list(fetched)}", "none: the scenario proves nothing")
    return fetched


def drop(report, live, sent, _):
    check_interrupted(report, live, sent, 3)


def restart(report, live, sent, _):
    fetched = check_interrupted(report, live, sent, 3)
    boots = [log.boot for log in sent]
    seen = list(dict.fromkeys(unit["boot_id"] for unit in live.units))
    report.check(seen == boots, f"all {len(boots)} boots recognised by their ids", f"console {seen}, logs {boots}")
    old = [number for number, boot in fetched.items() if any(number in log.stored and log.boot != boot for log in sent)]
    report.check(bool(old), f"of the events fetched from the state file, of a boot that was killed: {old}", "none")


def service(report, live, sent, _):
    check_interrupted(report, live, sent, 3)
    for state in ("stalled", "no-bluetooth-service"):
        report.check(state in live.links, f"{state} was shown", " ".join(live.links))
    seen = list(dict.fromkeys(unit["boot_id"] for unit in live.units))
    report.check(seen == [log.boot for log in sent], "both boots recognised by their ids", str(seen))


def pairing(report, live, sent, directory):
    """An unpaired console is live; an aim with control pairs, and the unit does what it was asked."""
    check_accounts(report, live, sent)
    report.check(live.links.count("live") == 1, "live without pairing", " ".join(live.links))
    answers = [
        bytes.fromhex(entry["hex"])
        for entry in map(json.loads, (directory / "sent.jsonl").read_text().splitlines())
        if entry["char"] == "unit-control"
    ]
    report.check(bool(answers), f"{len(answers)} answers of the unit's control point", "none")
    done = [answer[:3] == bytes([RESPONSE, AIM_SAFE_ON, SUCCESS]) for answer in answers]
    report.check(all(done), "aim-safe granted each time", str([answer.hex() for answer in answers]))
    aim = Live(directory / "aim-replay.jsonl")
    safe = [unit["aim_safe_left_s"] for unit in aim.units if unit["aim_safe_left_s"] is not None]
    report.check(bool(safe), f"the unit's status says aim-safe, {safe[:1]} s left", f"{aim.units[-1:]}")


def scan(report, directory):
    units = json.loads((directory / "scan.json").read_text())["units"]
    names = [unit["name"] for unit in units]
    if report.check(names == ["Weavers"], "one unit in range, by its name", str(names)):
        unit = units[0]
        report.check(unit["profile_major"] == 1, "profile 1", str(unit))
        report.check(isinstance(unit["loop_margin_db"], int) and unit["loop_margin_db"] > 0, f"loop margin {unit['loop_margin_db']} dB", str(unit))
        report.check(unit["attention"] not in (None, "unknown") and unit["worst_state"] in attributes.STATES, f"state {unit['worst_state']}", str(unit))
    doctor = json.loads((directory / "doctor.json").read_text())
    report.check(doctor["result"] == "pass", "doctor finds nothing wrong with this Bluetooth stack", str(doctor))


SCENARIOS = {"stream": stream, "drop": drop, "restart": restart, "service": service, "pairing": pairing}


def main(name, directory):
    directory = pathlib.Path(directory)
    report = Report()
    if name == "scan":
        scan(report, directory)
        return 1 if report.failed else 0
    live, replay = Live(directory / "live.jsonl"), Live(directory / "replay.jsonl")
    sent = [Sent(path) for path in sorted(directory.glob("sent*.jsonl"))]
    if not (report.check(live.summary is not None, "the console ends with a summary") and report.check(len(live.session) == 1, "one session line")):
        return 1
    report.check(json.loads(live.lines[0])["type"] == "session", "the session line comes first", live.lines[0])
    check_values(report, live, sent)
    SCENARIOS[name](report, live, sent, directory)
    check_replay(report, live, replay)
    return 1 if report.failed else 0


if __name__ == "__main__":
    if len(sys.argv) != 3 or sys.argv[1] not in ("scan", *SCENARIOS):
        sys.exit(f"usage: check.py scan|{'|'.join(SCENARIOS)} DIR")
    sys.exit(main(*sys.argv[1:]))

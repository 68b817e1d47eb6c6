"""The checker must be able to fail: sound synthetic results pass, and each kind of damage is named."""

import contextlib
import io
import json
import pathlib
import struct
import tempfile
import unittest

import attributes
import check

BANDS = ["B2", "B12"]
FLAGS = 1 << 6 | 1 << 7 | 1 << 10  # both isolations and the wanted cell


def telemetry(boot, band, sequence):
    level = -600 - sequence % 50 - boot
    mandatory = struct.pack("<HBHIhhhhBBB", FLAGS, band, sequence, 100 * sequence, level, 650, 640, -0x8000, 0x23, 0x05, 0)
    return mandatory + struct.pack("<hhhhhHH", 800, 795, -950, -0x8000, 123, 321, 7)


def reading(boot, band, sequence):
    return {
        "type": "reading", "t_s": 1.0 + sequence / 10, "unit_ms": 100 * sequence, "band": BANDS[band], "seq": sequence,
        "dl_input_dbm": (-600 - sequence % 50 - boot) / 10, "dl_gain_db": 65.0, "ul_gain_db": 64.0, "dl_output_dbm": None, "ul_input_dbm": None,
        "ul_output_dbm": None, "dl_isolation_db": 80.0, "ul_isolation_db": 79.5, "loop_margin_db": 15.0, "rsrp_dbm": -95.0, "rsrq_db": None,
        "sinr_db": 12.3, "cell": 321, "cell_age_s": 0.7, "dl_state": "limited", "ul_state": "normal", "dl_limited_by": ["input", "isolation"],
        "ul_limited_by": [],
    }  # fmt: skip


def advertising_report(kind, data):
    event = bytes([0x3E, 12 + len(data), 0x02, 1, kind, 0]) + bytes.fromhex("00000001aa00") + bytes([len(data)]) + data + b"\x7f"
    return struct.pack(">IIIIq", len(event), len(event), check.CONSOLE << 16 | 3, 0, 0) + event


def capture(name=b"\x04\x08unt"):
    advertised = b"\x02\x01\x06\x11\x07" + attributes.SERVICE_UUID
    scanned = b"\x15\x21" + attributes.SERVICE_UUID + b"\x01\x01\x02\x0f" + name
    return b"btsnoop\0" + struct.pack(">II", 1, 2001) + advertising_report(0, advertised) + advertising_report(4, scanned)


class Results:
    """A directory of results; `spans` is, a boot, the sequences sent and those received."""

    def __init__(self, spans, missed_events=0, outage=0, lives=1, away=("scanning", "live")):
        self.logs = [self.log(boot, sent, missed_events) for boot, (sent, _) in enumerate(spans)]
        links = [{"type": "link", "t_s": n / 2, "state": state} for n, state in enumerate(away * lives)]
        events = [{"type": "event", "seq": number} for number in range(len(spans) + missed_events)]
        values = []
        for boot, (_, got) in enumerate(spans):
            values.append({"type": "unit", "boot_id": 70 + boot})
            values += [reading(boot, band, s) for s in got for band in (0, 1)]
        count = len(values) - len(spans)
        session = {"type": "session", "bands": [{"band": name} for name in BANDS]}
        summary = dict.fromkeys(check.ACCOUNTS + check.ALWAYS_NONE + ["duplicates"], 0)
        summary |= {"readings": count, "outage": outage, "expected": count + outage, "latency_us": {"p50": 5}}
        self.live = [session, *links, *events, *values, {"type": "summary", **summary}]
        self.replay = [*self.live[:-1], {**self.live[-1], "latency_us": None}]
        self.capture = capture()

    @staticmethod
    def log(boot, sequences, missed):
        values = [("stored-record", b"\x01" + struct.pack("<III", boot, 70 + boot, 0))]
        values += [("stored-record", b"\x01" + struct.pack("<III", boot + 1 + n, 70, 9)) for n in range(missed)]
        values += [("band-telemetry", telemetry(boot, band, s)) for s in sequences for band in (0, 1)]
        first = {"t_ms": 0, "char": "boot", "hex": "", "boot_id": 70 + boot}
        return [first, *({"t_ms": 0, "char": name, "hex": data.hex()} for name, data in values)]

    def last_reading(self):
        return next(entry for entry in reversed(self.live) if entry["type"] == "reading")

    def failures(self, scenario):
        with tempfile.TemporaryDirectory() as name:
            directory = pathlib.Path(name)
            files = {f"sent-{n}.jsonl": log for n, log in enumerate(self.logs)} | {"live.jsonl": self.live, "replay.jsonl": self.replay}
            for file, entries in files.items():
                (directory / file).write_text("".join(json.dumps(entry) + "\n" for entry in entries))
            (directory / "btsnoop.log").write_bytes(self.capture)
            output = io.StringIO()
            with contextlib.redirect_stdout(output):
                status = check.main(scenario, directory)
        failed = [line for line in output.getvalue().splitlines() if line.startswith("  FAIL")]
        assert (status == 1) == bool(failed), output.getvalue()
        return failed


def undisturbed():
    return Results([(range(300), range(300))])


def restarted(**more):
    """The second boot is heard from its sixth reading on; two events of the first were not yet told."""
    results = Results([(range(90), range(90)), (range(5, 80), range(5, 80))], missed_events=2, outage=10, lives=3, **more)
    results.logs[0] = [entry for entry in results.logs[0] if entry["char"] != "stored-record"]
    return results


class Sound(unittest.TestCase):
    def test_stream(self):
        self.assertEqual(undisturbed().failures("stream"), [])

    def test_drop(self):
        gap = [s for s in range(300) if not 100 <= s < 130]
        self.assertEqual(Results([(gap, gap)], missed_events=2, outage=60, lives=3).failures("drop"), [])

    def test_restart(self):
        self.assertEqual(restarted().failures("restart"), [])

    def test_service(self):
        results = restarted(away=("stalled", "no-bluetooth-service", "live"))
        self.assertEqual(results.failures("service"), [])
        self.assertEqual(check.absences(results.live), [1.0, 1.0], "the first time is the way to the first value")


class Decoder(unittest.TestCase):
    """attributes.py against the profile's published vectors."""

    NAMES = {"time": "unit_ms", "cell-identity": "cell", "cell-age": "cell_age_s", "dl-reasons": "dl_limited_by", "ul-reasons": "ul_limited_by"}

    def name(self, field):
        plain = field.removeprefix("cell-").replace("-", "_")
        level = "_dbm" if plain.endswith(("put", "rsrp")) else "" if plain.endswith("state") else "_db"
        return self.NAMES.get(field, plain + level)

    def test_vectors(self):
        path = pathlib.Path(__file__).parents[2] / "protocol-spec/vectors/band-telemetry.json"
        vectors = json.loads(path.read_text())["valid"]
        self.assertGreater(len(vectors), 5)
        for vector in vectors:
            band, sequence, fields = attributes.band_telemetry(bytes.fromhex(vector["hex"]))
            expected = dict(vector["fields"])
            self.assertEqual((band, sequence), (expected.pop("band"), expected.pop("sequence")))
            for header in ("boot", "continuation", "more", "fields", "part", "parts"):
                expected.pop(header, None)
            for field, value in expected.items():
                if isinstance(value, int) and field.endswith("state"):
                    value = "unknown"  # a code without a name
                elif isinstance(value, int) and field not in ("time", "cell-identity"):
                    value /= 10.0
                self.assertEqual(fields.pop(self.name(field)), value, f"{vector['name']}: {field}")
            self.assertEqual(fields, {}, vector["name"])


class Damaged(unittest.TestCase):
    def expect(self, results, scenario, words):
        failed = results.failures(scenario)
        self.assertTrue(any(words in line for line in failed), f"no failure names {words!r}: {failed}")

    def test_a_wrong_value(self):
        for field, value in (("dl_input_dbm", -1.0), ("ul_output_dbm", 0), ("dl_limited_by", []), ("loop_margin_db", 16.0), ("dl_output_dbm", 3.0)):
            results = undisturbed()
            results.last_reading()[field] = value
            self.expect(results, "stream", field)

    def test_a_reading_that_was_never_sent(self):
        results = undisturbed()
        results.last_reading()["seq"] = 4000
        self.expect(results, "stream", "never sent")

    def test_an_unexplained_loss(self):
        results = undisturbed()
        results.live.remove(reading(0, 1, 40))
        self.expect(results, "stream", "lost_on_air is what the log proves: 1")
        self.expect(results, "stream", "summary counts the reading lines")

    def test_accounts_that_do_not_add_up(self):
        results = undisturbed()
        results.live[-1]["expected"] += 1
        self.expect(results, "stream", "the accounts add up")

    def test_too_few_readings(self):
        self.expect(Results([(range(200), range(200))]), "stream", "at least 500")

    def test_a_replay_that_differs(self):
        results = undisturbed()
        results.replay[-5] = {**results.replay[-5], "t_s": 0}
        self.expect(results, "stream", "byte for byte")

    def test_an_event_missed(self):
        results = undisturbed()
        results.live = [entry for entry in results.live if entry["type"] != "event"]
        self.expect(results, "stream", "events in the output")

    def test_advertising(self):
        for name, words in (
            (b"\x0a\x08" + b"n" * 9, "scan response of [33] bytes"),
            (b"\x0a\x08" + b"n" * 9, "division: 21 and 33"),
            (b"", "name heard"),
        ):
            results = undisturbed()
            results.capture = capture(name)
            self.expect(results, "stream", words)

    def test_service_data_in_an_advertisement_of_its_own(self):
        results = undisturbed()
        own = b"\x02\x01\x06\x15\x21" + attributes.SERVICE_UUID + b"\x01\x01\x02\x0f"
        plain = b"\x02\x01\x06\x11\x07" + attributes.SERVICE_UUID
        name = advertising_report(4, b"\x04\x08unt")
        results.capture = capture()[:16] + advertising_report(0, plain) + name
        self.expect(results, "stream", "service data heard")
        results.capture += advertising_report(0, own) + name
        self.assertEqual(results.failures("stream"), [])

    def test_a_drop_without_anything_to_fetch(self):
        gap = [s for s in range(300) if not 100 <= s < 130]
        results = Results([(gap, gap)], outage=60, lives=3)
        for entry in results.logs[0]:
            entry["char"] = entry["char"].replace("stored-record", "cell-report")
        self.expect(results, "drop", "proves nothing")

    def test_a_gap_not_charged(self):
        gap = [s for s in range(300) if not 100 <= s < 130]
        self.expect(Results([(gap, gap)], missed_events=2, outage=58, lives=3), "drop", "missing readings")

    def test_a_restart_not_recognised(self):
        results = restarted()
        results.live = [entry for entry in results.live if entry.get("boot_id") != 71]
        self.expect(results, "restart", "boots recognised")

    def test_a_state_file_that_was_lost(self):
        results = restarted()
        results.logs[1] = [entry for entry in results.logs[1] if entry["hex"][10:12] != f"{70:02x}"]
        self.expect(results, "restart", "fetched from the state file")

    def test_a_service_whose_death_went_unseen(self):
        self.expect(restarted(), "service", "no-bluetooth-service was shown")

    def test_no_summary(self):
        results = undisturbed()
        results.live.pop()
        self.expect(results, "stream", "ends with a summary")


if __name__ == "__main__":
    unittest.main()

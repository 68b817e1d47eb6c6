"""A booster and a console of the Booster Telemetry Profile in Python, over Bumble's in-process link.

Written from booster-telemetry-profile.md and profile.toml alone. It shows that the document suffices: a server and a
client that share nothing with the Rust code understand each other, at ATT_MTU 23 and 247, and read the test vectors as
the document means them. Prints one line a check; the exit code is 1 when one fails.
"""

import asyncio
import struct
import sys

from bumble import att
from bumble.core import UUID
from bumble.pairing import PairingConfig, PairingDelegate
from bumble.testing.test_utils import TwoDevices

import profile_codec as codec
from profile_booster import CCCD_IMPROPERLY_CONFIGURED, PROCEDURE_ALREADY_IN_PROGRESS, SERVICES, Booster
from profile_console import SUBSCRIBE_ORDER, Console, properties_of
from profile_vectors import vector, vector_file

failures = []


def check(what, got, expected):
    if got == expected:
        print(f"ok    {what}")
    else:
        failures.append(what)
        print(f"FAIL  {what}\n      got      {got}\n      expected {expected}")


# --- Test vectors --------------------------------------------------------------------------------------------------------


def check_vectors():
    for kind, decode in codec.DECODERS.items():
        rows, wrong = vector_file(kind), []
        for row in rows["valid"]:
            value = bytes.fromhex(row["hex"])
            again = codec.ENCODERS[kind](row["fields"]).hex(" ")
            if decode(value) != row["fields"] or again != row.get("canonical", row["hex"]):
                wrong.append(row["name"])
        for row in rows["malformed"]:
            try:
                decode(bytes.fromhex(row["hex"]))
                wrong.append(row["name"])
            except codec.Malformed as refusal:
                if refusal.reason != row["reason"]:
                    wrong.append(row["name"])
        for row in rows.get("readings", []):
            parts = [bytes.fromhex(part) for part in row["parts"]]
            reading = codec.decode_telemetry(vector(kind, "all fields in one notification"))
            assembler = codec.Assembler()
            whole = [r for r in map(assembler.add, parts) if r is not None]
            if codec.split_telemetry(reading, row["payload"]) != parts or not matches(whole, [reading]):
                wrong.append(row["name"])
        check(f"vectors of {kind}: {len(rows['valid'])} valid, {len(rows['malformed'])} malformed", wrong, [])


def matches(got, expected):
    """Readings compared without the numbers that only describe the splitting."""

    def plain(reading):
        return {k: v for k, v in reading.items() if k not in ("more", "continuation", "part", "parts")}

    return [plain(r) for r in got] == [plain(r) for r in expected]


# --- What both do together ---------------------------------------------------------------------------------------------------


async def meet(mtu):
    """A booster and a console that share nothing but the link."""
    two = await TwoDevices.create_with_connection()
    confirm = PairingDelegate(io_capability=PairingDelegate.IoCapability.DISPLAY_OUTPUT_AND_YES_NO_INPUT)
    for device in two.devices:
        device.pairing_config_factory = lambda _: PairingConfig(sc=True, mitm=True, bonding=False, delegate=confirm)
    booster, console = Booster(two[1]), Console(two.connections[0])
    if mtu > att.ATT_DEFAULT_MTU:
        await console.peer.request_mtu(mtu)
    check(f"[{mtu}] ATT_MTU", two.connections[0].att_mtu, mtu)
    return two, booster, console, two.connections[1]


async def connect_and_check(mtu, console):
    async for service, uuids in console.discover():
        listed = [c["uuid"] for c in codec.PROFILE["characteristic"] if c["service"] == service]
        check(f"[{mtu}] {service}: {len(listed)} characteristics, each once", len(uuids), len(listed))
    for table in codec.PROFILE["characteristic"]:
        found = console.remote[table["short_name"]]
        check(f"[{mtu}] properties of {table['short_name']}", [properties_of(c) for c in found], [table["properties"]])
    feature = codec.decode_feature(await console.read("booster-feature"))
    expected = codec.decode_feature(vector("booster-feature", "two bands, reports twice a second"))
    check(f"[{mtu}] Booster Feature", feature, expected)
    bands = codec.decode_band_table(await console.read("band-table"))["bands"]
    check(f"[{mtu}] Band Table of 498 bytes, long read", [b["index"] for b in bands], list(range(16)))


async def live(mtu, booster, console, connection):
    for name in SUBSCRIBE_ORDER:
        await console.subscribe(name)
    status = await console.next("unit-status")
    check(f"[{mtu}] Unit Status at once when enabled", (status["state"], status["voltage"]), ("normal", 768))
    full = codec.decode_telemetry(vector("band-telemetry", "all fields in one notification"))
    readings = [full | {"band": band, "sequence": n % 65536} for n in (65534, 65535, 65536) for band in (0, 7)]
    for reading in readings:
        await booster.tell(connection, reading)
    received = [await console.next("band-telemetry") for _ in readings]
    check(f"[{mtu}] readings of two bands over the wrap of the sequence", matches(received, readings), True)
    parts = 4 if mtu == 23 else 1
    check(f"[{mtu}] notifications a reading", console.notifications, parts * len(readings))
    cell = codec.DECODERS["cell-report"](vector("cell-report", "the wanted cell, operator 001-01"))
    await booster.notify(connection, "cell-report", codec.pack("cell-report", cell))
    check(f"[{mtu}] Cell Report", await console.next("cell-report"), cell)


async def events_and_records(mtu, booster, console, connection):
    oscillation = codec.DECODERS["unit-event"](vector("unit-event", "uplink oscillation at 55.1 dB of gain"))
    events = [oscillation | {"sequence": sequence} for sequence in range(41, 46)]
    booster.events = events[:3]
    for event in events[3:]:
        await booster.happen(connection, event)
    check(f"[{mtu}] events indicated", [await console.next("unit-event") for _ in range(2)], events[3:])
    history = codec.decode_stored(vector("stored-record", "a second of history"))
    booster.history = [history | {"sequence": n} for n in range(100, 200)]

    done = {"op": 6, "operator": 0, "request": 1, "response": "success"}
    outcome = await console.ask_records(op="report", operator="at-least", filter="events", minimum=42)
    check(f"[{mtu}] record access: events from 42 on", outcome, done)
    check(f"[{mtu}] records are the events", console.stored, [{"kind": 1, **event} for event in events[1:]])
    outcome = await console.ask_records(op="report", operator="within", filter="history", minimum=150, maximum=152)
    check(f"[{mtu}] record access: history within", outcome, done)
    check(f"[{mtu}] records in order", [r["sequence"] for r in console.stored], [150, 151, 152])
    number = await console.ask_records(op="count", operator="all", filter="history")
    check(f"[{mtu}] record access: count", number["number"], 100)
    nothing = await console.ask_records(op="report", operator="at-least", filter="events", minimum=1000)
    check(f"[{mtu}] record access: no records", nothing["response"], "no-records")
    await console.write("record-access", bytes.fromhex("02 01 01"))
    refusal = await console.next("record-access")
    check(f"[{mtu}] record access: delete", (refusal["request"], refusal["response"]), (2, "op-code-not-supported"))
    idle = await console.ask_records(op="abort")
    check(f"[{mtu}] record access: nothing to abort", idle["response"], "abort-unsuccessful")

    booster.history = [history | {"sequence": n} for n in range(100_000)]
    await console.write("record-access", bytes.fromhex("01 01 02"))
    busy = await console.write("record-access", bytes.fromhex("04 01 02"))
    check(f"[{mtu}] record access: count while a report runs", busy, PROCEDURE_ALREADY_IN_PROGRESS)
    aborted = await console.ask_records(op="abort")
    check(f"[{mtu}] record access: abort", (aborted["request"], aborted["response"]), (3, "success"))


async def control(mtu, two, console):
    answer = await console.control("report-control", op="interval", interval=200)
    check(f"[{mtu}] interval", (answer["result"], answer["value"]), ("success", 200))
    answer = await console.control("report-control", op="interval", interval=99)
    check(f"[{mtu}] interval out of range", (answer["result"], answer["value"]), ("invalid-parameter", None))
    answer = await console.control("report-control", op="fast", on=1)
    check(f"[{mtu}] fast reporting", (answer["result"], answer["value"]), ("success", 100))
    await console.write("report-control", b"\x63")
    answer = await console.next("report-control")
    check(f"[{mtu}] unknown op code", (answer["op"], answer["result"]), (0x63, "op-code-not-supported"))

    aim_safe = {"op": "aim-safe-on", "restore": 300}
    refused = await console.control("unit-control", **aim_safe)
    check(f"[{mtu}] unit control without pairing is refused by ATT", refused in (0x05, 0x0F), True)
    await two.connections[0].pair()
    answer = await console.control("unit-control", **aim_safe)
    check(f"[{mtu}] aim-safe after authenticated pairing", (answer["result"], answer["value"]), ("success", 300))
    answer = await console.control("unit-control", op="aim-safe-off")
    check(f"[{mtu}] aim-safe off without presence", answer["result"], "presence-needed")
    answer = await console.control("unit-control", op="mute", band=None, direction="ul", on=1)
    check(f"[{mtu}] mute without the feature", answer["result"], "op-code-not-supported")


async def not_subscribed(mtu):
    _, _, console, _ = await meet(mtu)
    async for _ in console.discover():
        pass
    error = await console.write("record-access", bytes.fromhex("04 01 01"))
    check(f"[{mtu}] request without indications enabled", error, CCCD_IMPROPERLY_CONFIGURED)
    await console.subscribe("record-access")
    error = await console.write("record-access", bytes.fromhex("01 01 01"))
    check(f"[{mtu}] report without Stored Record enabled", error, CCCD_IMPROPERLY_CONFIGURED)


def check_advertising():
    uuid = UUID(SERVICES["booster"]).to_bytes()
    data = vector("service-data", "limited, 12 dB of margin")
    advertising = struct.pack("BBB", 2, 0x01, 0x06) + struct.pack("BB", 17, 0x07) + uuid
    response = struct.pack("BB", 17 + len(data), 0x21) + uuid + data + struct.pack("BB", 8, 0x09) + b"0041207"
    document = (codec.SPEC / "booster-telemetry-profile.md").read_text(encoding="utf-8")
    for where, value in (("advertising data", advertising), ("scan response", response)):
        check(f"{where}: {len(value)} bytes", f"| {where} | `{value.hex(' ')}` |" in document, True)


async def main():
    check_vectors()
    check_advertising()
    for mtu in (23, 247):
        two, booster, console, connection = await meet(mtu)
        await connect_and_check(mtu, console)
        await live(mtu, booster, console, connection)
        await events_and_records(mtu, booster, console, connection)
        await control(mtu, two, console)
        await not_subscribed(mtu)
    print(f"{len(failures)} failed" if failures else "all passed")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(asyncio.run(main()))

"""A booster and a console of the Booster Telemetry Profile in Python, over Bumble's in-process link.

Written from booster-telemetry-profile.md and profile.toml alone. It shows that the document suffices: a server and a
client that share nothing with the Rust code understand each other, at ATT_MTU 23 and 247, and read the test vectors as
the document means them. Prints one line a check; the exit code is 1 when one fails.
"""

import asyncio
import json
import struct
import sys

from bumble import att, gatt
from bumble.core import UUID
from bumble.device import Peer
from bumble.pairing import PairingConfig, PairingDelegate
from bumble.testing.test_utils import TwoDevices

import profile_codec as codec

SERVICES = {"booster": codec.PROFILE["service"]["uuid"], "device-information": "180A"}
# Document, section 10.2.
SUBSCRIBE_ORDER = (
    "unit-status",
    "unit-event",
    "stored-record",
    "record-access",
    "report-control",
    "unit-control",
    "cell-report",
    "band-telemetry",
)
CCCD_IMPROPERLY_CONFIGURED = 0xFD
PROCEDURE_ALREADY_IN_PROGRESS = 0xFE
failures = []


def check(what, got, expected):
    if got == expected:
        print(f"ok    {what}")
    else:
        failures.append(what)
        print(f"FAIL  {what}\n      got      {got}\n      expected {expected}")


# --- Test vectors --------------------------------------------------------------------------------------------------------


def vector_file(kind):
    return json.loads((codec.SPEC / "vectors" / f"{kind.replace(' ', '-')}.json").read_text(encoding="utf-8"))


def vector(kind, name):
    (row,) = [row for row in vector_file(kind)["valid"] if row["name"] == name]
    return bytes.fromhex(row["hex"])


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


# --- Booster ---------------------------------------------------------------------------------------------------------------


class Booster:
    """GATT server of a unit; the test tells it what to report."""

    def __init__(self, device):
        self.device = device
        self.events = []
        self.history = []
        self.interval = 500
        self.enabled = set()
        self.unconfirmed = set()
        self.report = None
        self.tasks = set()
        self.characteristics = {}
        for service, uuid in SERVICES.items():
            members = [c for c in codec.PROFILE["characteristic"] if c["service"] == service]
            device.gatt_server.add_service(gatt.Service(uuid, [self.characteristic(c) for c in members]))

    def characteristic(self, table):
        name = table["short_name"]
        properties = gatt.Characteristic.Properties(0)
        permissions = gatt.Characteristic.Permissions(0)
        value = b""
        if "read" in table["properties"]:
            properties |= gatt.Characteristic.Properties.READ
            permissions |= gatt.Characteristic.Permissions.READABLE
            value = self.readable(name)
        if "write" in table["properties"]:
            properties |= gatt.Characteristic.Properties.WRITE
            permissions |= gatt.Characteristic.Permissions.WRITEABLE
            value = gatt.CharacteristicValue(write=lambda c, v, name=name: self.written(name, c, bytes(v)))
        if table["permission"] == "authenticated":
            permissions |= gatt.Characteristic.Permissions.WRITE_REQUIRES_ENCRYPTION
            permissions |= gatt.Characteristic.Permissions.WRITE_REQUIRES_AUTHENTICATION
        if "notify" in table["properties"]:
            properties |= gatt.Characteristic.Properties.NOTIFY
        if "indicate" in table["properties"]:
            properties |= gatt.Characteristic.Properties.INDICATE
        made = gatt.Characteristic(table["uuid"], properties, permissions, value)
        made.on(made.EVENT_SUBSCRIPTION, lambda c, n, i, name=name: self.subscribed(name, c, n or i))
        self.characteristics[name] = made
        return made

    def readable(self, name):
        if name == "booster-feature":
            return vector(name, "two bands, reports twice a second")
        if name == "band-table":
            return vector(name, "sixteen bands, largest table")
        return name.encode()

    def later(self, work):
        task = asyncio.ensure_future(work)
        self.tasks.add(task)
        task.add_done_callback(self.tasks.discard)
        return task

    def subscribed(self, name, connection, on):
        (self.enabled.add if on else self.enabled.discard)(name)
        if name == "unit-status" and on:
            self.later(self.notify(connection, name, vector(name, "healthy at 12 V and 41.25 degrees")))

    async def notify(self, connection, name, value):
        await self.device.gatt_server.notify_subscriber(connection, self.characteristics[name], value)

    async def indicate(self, connection, name, value):
        self.unconfirmed.add(name)
        try:
            await self.device.gatt_server.indicate_subscriber(connection, self.characteristics[name], value)
        finally:
            self.unconfirmed.discard(name)

    async def tell(self, connection, reading):
        for part in codec.split_telemetry(reading, connection.att_mtu - 3):
            await self.notify(connection, "band-telemetry", part)

    async def happen(self, connection, event):
        self.events.append(event)
        await self.indicate(connection, "unit-event", codec.pack("unit-event", event))

    def written(self, name, connection, value):
        if name not in self.enabled:
            raise att.ATT_Error(CCCD_IMPROPERLY_CONFIGURED)
        if name in self.unconfirmed:
            raise att.ATT_Error(PROCEDURE_ALREADY_IN_PROGRESS)
        if name == "record-access":
            self.record_access(connection, value)
        else:
            response = self.controlled(name, value)
            self.later(self.indicate(connection, name, codec.encode_control_response(response)))

    def controlled(self, name, value):
        try:
            request = codec.decode_control_request(name, value)
        except codec.Malformed as refusal:
            return self.response(refusal.reason["op"], refusal.reason["result"])
        op = value[0]
        feature = codec.requests(name)[op].get("feature")
        if feature and feature not in codec.decode_feature(self.readable("booster-feature"))["features"]:
            return self.response(op, "op-code-not-supported")
        if request["op"] == "interval":
            if not 100 <= request["interval"] <= 5000:
                return self.response(op, "invalid-parameter")
            self.interval = request["interval"]
            return self.response(op, "success", self.interval)
        if request["op"] == "fast":
            return self.response(op, "success", 100 if request["on"] else self.interval)
        if request["op"] == "aim-safe-on":
            return self.response(op, "success", request["restore"])
        return self.response(op, "presence-needed")

    @staticmethod
    def response(op, result, value=None):
        return {"response": 0x80, "op": op, "result": result, "value": value}

    def record_access(self, connection, value):
        try:
            request = codec.decode_record_request(value)
        except codec.Malformed as refusal:
            op, code = refusal.reason["op"], refusal.reason["result"]
            self.later(self.outcome(connection, op, code))
            return
        if request["op"] == "abort":
            running, self.report = self.report, None
            if running:
                running.cancel()
            self.later(self.outcome(connection, 3, "success" if running else "abort-unsuccessful"))
            return
        if self.report:
            raise att.ATT_Error(PROCEDURE_ALREADY_IN_PROGRESS)
        if request["op"] == "report" and "stored-record" not in self.enabled:
            raise att.ATT_Error(CCCD_IMPROPERLY_CONFIGURED)
        chosen = self.select(request)
        if request["op"] == "count":
            number = {"op": 5, "operator": 0, "number": min(len(chosen), 65535)}
            self.later(self.indicate(connection, "record-access", codec.encode_record_response(number)))
        else:
            self.report = self.later(self.send(connection, chosen))

    def select(self, request):
        if request["filter"] == "events":
            log = [{"kind": 1, **event} for event in self.events]
        else:
            log = self.history
        low, high = request.get("minimum", 0), request.get("maximum", 0xFFFF_FFFF)
        chosen = [record for record in log if low <= record["sequence"] <= high]
        return {"first": chosen[:1], "last": chosen[-1:]}.get(request["operator"], chosen)

    async def send(self, connection, records):
        for record in records:
            await self.notify(connection, "stored-record", codec.encode_stored(record))
            await asyncio.sleep(0)
        self.report = None
        await self.outcome(connection, 1, "success" if records else "no-records")

    async def outcome(self, connection, op, code):
        fields = {"op": 6, "operator": 0, "request": op, "response": code}
        await self.indicate(connection, "record-access", codec.encode_record_response(fields))


# --- Console ---------------------------------------------------------------------------------------------------------------


class Console:
    """GATT client; keeps every value that arrives, decoded."""

    def __init__(self, connection):
        self.peer = Peer(connection)
        self.remote = {}
        self.arrived = {name: asyncio.Queue() for name in SUBSCRIBE_ORDER}
        self.stored = []
        self.assembler = codec.Assembler()
        self.notifications = 0

    async def discover(self):
        await self.peer.discover_services()
        for service, uuid in SERVICES.items():
            (found,) = self.peer.get_services_by_uuid(UUID(uuid))
            await found.discover_characteristics()
            for table in codec.PROFILE["characteristic"]:
                if table["service"] == service:
                    self.remote[table["short_name"]] = [c for c in found.characteristics if c.uuid == UUID(table["uuid"])]
            yield service, [str(c.uuid).lower() for c in found.characteristics]

    async def read(self, name):
        return bytes(await self.remote[name][0].read_value())

    async def subscribe(self, name):
        await self.remote[name][0].subscribe(lambda value, name=name: self.on_value(name, bytes(value)))

    def on_value(self, name, value):
        if name == "band-telemetry":
            self.notifications += 1
            reading = self.assembler.add(value)
            if reading is None:
                return
            self.arrived[name].put_nowait(reading)
        elif name == "stored-record":
            self.stored.append(codec.decode_stored(value))
        elif name == "record-access":
            self.arrived[name].put_nowait(codec.decode_record_response(value))
        elif name in ("report-control", "unit-control"):
            self.arrived[name].put_nowait(codec.decode_control_response(name, value))
        else:
            self.arrived[name].put_nowait(codec.DECODERS[name](value))

    async def next(self, name):
        return await asyncio.wait_for(self.arrived[name].get(), 5)

    async def write(self, name, value):
        """None, or the ATT error."""
        try:
            await self.remote[name][0].write_value(value, with_response=True)
        except att.ATT_Error as error:
            return error.error_code
        return None

    async def ask_records(self, **request):
        self.stored.clear()
        error = await self.write("record-access", codec.encode_record_request(request))
        return error or await self.next("record-access")

    async def control(self, name, **request):
        error = await self.write(name, codec.encode_control_request(name, request))
        return error or await self.next(name)


def properties_of(characteristic):
    known = {"read": 0x02, "write": 0x08, "notify": 0x10, "indicate": 0x20}
    names = [name for name, bit in known.items() if characteristic.properties & bit]
    return names if characteristic.properties == sum(known[n] for n in names) else characteristic.properties


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

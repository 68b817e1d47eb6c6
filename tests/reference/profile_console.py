"""GATT client of a console, from booster-telemetry-profile.md and profile.toml alone."""

import asyncio

from bumble import att
from bumble.core import UUID
from bumble.device import Peer

import profile_codec as codec
from profile_booster import SERVICES

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

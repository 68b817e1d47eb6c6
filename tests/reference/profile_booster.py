"""GATT server of a booster, from booster-telemetry-profile.md and profile.toml alone."""

import asyncio

from bumble import att, gatt

import profile_codec as codec
from profile_vectors import vector

SERVICES = {"booster": codec.PROFILE["service"]["uuid"], "device-information": "180A"}
CCCD_IMPROPERLY_CONFIGURED = 0xFD
PROCEDURE_ALREADY_IN_PROGRESS = 0xFE


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

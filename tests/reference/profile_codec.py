"""Codec of the Booster Telemetry Profile, driven by protocol-spec/profile.toml alone.

A second implementation, independent of the crate `booster-profile`: it knows the document's rules for assembling and
refusing values, and takes every name, offset, type and code from the tables. Integers stay raw (tenths are tenths);
"not known" is None; codes of an enumeration are names, or numbers where the table has none.
"""

import tomllib
from pathlib import Path

SPEC = Path(__file__).resolve().parents[2] / "protocol-spec"
PROFILE = tomllib.loads((SPEC / "profile.toml").read_text(encoding="utf-8"))
LAYOUTS = {layout["name"]: layout for layout in PROFILE["layout"]}
CHARACTERISTICS = {c["short_name"]: c for c in PROFILE["characteristic"]}
ENUMS = {name: {int(code): text for code, text in table.items()} for name, table in PROFILE["enum"].items()}
FLAGS = {name: {int(bit): text for bit, text in table.items()} for name, table in PROFILE["flags"].items()}
SIZES = {"uint8": 1, "sint8": 1, "uint16": 2, "sint16": 2, "uint24": 3, "octets3": 3, "uint32": 4}


class Malformed(Exception):
    """A value that shall be refused, with the reason in the form that the vectors use."""

    def __init__(self, reason):
        super().__init__(str(reason))
        self.reason = reason


def short(needed, got):
    return Malformed({"kind": "short", "needed": needed, "got": got})


def contradictory(characteristic, text):
    assert text in PROFILE["contradictory"][characteristic], text
    return Malformed({"kind": "contradictory", "what": text})


def need(value, length):
    if len(value) < length:
        raise short(length, len(value))


def size(field):
    return SIZES[field["type"]]


def to_field(field, raw):
    """Meaning of an unsigned raw value."""
    width = 8 * size(field)
    if "bits" in field:
        low, high = field["bits"]
        raw = (raw >> low) & ((1 << (high - low + 1)) - 1)
    if field.get("not_known") == raw:
        return None
    if field["type"] == "octets3":
        return raw.to_bytes(3, "little").hex(" ")
    if "enum" in field:
        return ENUMS[field["enum"]].get(raw, raw)
    if "flags" in field:
        shift = field["bits"][0] if "bits" in field else 0
        names = FLAGS[field["flags"]]
        return [names.get(b + shift, f"bit-{b + shift}") for b in range(width) if raw >> b & 1]
    if field["type"].startswith("sint") and raw >> (width - 1):
        return raw - (1 << width)
    return raw


def to_raw(field, value):
    """Unsigned raw value, shifted to its bits."""
    low = field.get("bits", [0])[0]
    if value is None:
        raw = field["not_known"]
    elif field["type"] == "octets3":
        raw = int.from_bytes(bytes.fromhex(value), "little")
    elif "enum" in field:
        codes = {text: code for code, text in ENUMS[field["enum"]].items()}
        raw = codes[value] if isinstance(value, str) else value
    elif "flags" in field:
        bits = {text: bit for bit, text in FLAGS[field["flags"]].items()}
        raw = sum(1 << ((bits[n] if n in bits else int(n.removeprefix("bit-"))) - low) for n in value)
    else:
        raw = value % (1 << 8 * size(field))
    return raw << low


def unpack(layout, value):
    """The mandatory fields of a layout."""
    need(value, LAYOUTS[layout]["length"])
    fields = {}
    for field in LAYOUTS[layout]["fields"]:
        at = field["offset"]
        fields[field["name"]] = to_field(field, int.from_bytes(value[at : at + size(field)], "little"))
    return fields


def pack(layout, fields):
    value = bytearray(LAYOUTS[layout]["length"])
    for field in LAYOUTS[layout]["fields"]:
        at, end = field["offset"], field["offset"] + size(field)
        present = int.from_bytes(value[at:end], "little")
        value[at:end] = (present | to_raw(field, fields[field["name"]])).to_bytes(end - at, "little")
    return bytes(value)


def optional_length(layout, flags):
    return sum(size(f) for f in LAYOUTS[layout]["fields"] if flags >> f["bit"] & 1)


def unpack_optional(layout, flags, value):
    fields, at = {}, 0
    for field in LAYOUTS[layout]["fields"]:
        if flags >> field["bit"] & 1:
            fields[field["name"]] = to_field(field, int.from_bytes(value[at : at + size(field)], "little"))
            at += size(field)
    return fields


def pack_optional(layout, flags, fields):
    return b"".join(
        to_raw(f, fields[f["name"]]).to_bytes(size(f), "little")
        for f in LAYOUTS[layout]["fields"]
        if flags >> f["bit"] & 1
    )


# --- Values that are read or notified -----------------------------------------------------------------------------------


def decode_feature(value):
    need(value, 2)
    if value[0] != PROFILE["version"]["major"]:
        raise Malformed({"kind": "major-version", "major": value[0]})
    fields = unpack("booster-feature", value)
    if not 1 <= fields["bands"] <= 16:
        raise contradictory("booster-feature", "number of bands outside 1 to 16")
    if not 1 <= fields["min-interval"] <= fields["default-interval"] <= fields["max-interval"]:
        raise contradictory("booster-feature", "report interval limits out of order")
    return fields


def decode_band_table(value):
    header = unpack("band-table", value)
    length, count = header["entry-length"], header["entries"]
    if length < LAYOUTS["band-entry"]["length"]:
        raise contradictory("band-table", "band entry shorter than its mandatory fields")
    if not 1 <= count <= 16:
        raise contradictory("band-table", "number of bands outside 1 to 16")
    need(value, 2 + length * count)
    bands = []
    for n in range(count):
        band = unpack("band-entry", value[2 + n * length :])
        if band["index"] == 255:
            raise contradictory("band-table", "band index 255 stands for the whole unit")
        if any(b["index"] == band["index"] for b in bands):
            raise contradictory("band-table", "band index occurs twice")
        bands.append(band)
    return {"bands": bands}


def encode_band_table(fields):
    length = LAYOUTS["band-entry"]["length"]
    header = pack("band-table", {"entry-length": length, "entries": len(fields["bands"])})
    return header + b"".join(pack("band-entry", band) for band in fields["bands"])


def decode_telemetry(value):
    need(value, 2)
    flags = int.from_bytes(value[:2], "little")
    layout = "telemetry-continuation" if flags >> 4 & 1 else "band-telemetry"
    mandatory = LAYOUTS[layout]["length"]
    need(value, mandatory + optional_length("telemetry-fields", flags))
    fields = unpack(layout, value)
    if layout == "telemetry-continuation":
        part, parts = fields["part"], fields["parts"]
        if not fields["fields"]:
            raise contradictory("band-telemetry", "continuation without a field")
        most = next(f["range"][1] for f in LAYOUTS[layout]["fields"] if f["name"] == "parts")
        if part == 0 or part >= parts or parts > most:
            raise contradictory("band-telemetry", "part number outside the count of parts")
        if fields["more"] != int(part + 1 < parts):
            raise contradictory("band-telemetry", "the more bit disagrees with the part number")
    return fields | unpack_optional("telemetry-fields", flags, value[mandatory:])


def encode_telemetry(fields):
    layout = "telemetry-continuation" if fields["continuation"] else "band-telemetry"
    known = [name for name in fields["fields"] if name in FLAGS["telemetry-fields"].values()]
    head = pack(layout, fields | {"fields": known})
    return head + pack_optional("telemetry-fields", int.from_bytes(head[:2], "little"), fields)


def split_telemetry(fields, payload):
    """Notifications of a whole reading (document section 8.1)."""
    groups = []
    for bit, name in FLAGS["telemetry-fields"].items():
        if name in fields["fields"]:
            groups.append((name, optional_length("telemetry-fields", 1 << bit)))
    parts, room = [[]], payload - LAYOUTS["band-telemetry"]["length"]
    for name, length in groups:
        if length > room:
            parts.append([])
            room = payload - LAYOUTS["telemetry-continuation"]["length"]
        parts[-1].append(name)
        room -= length
    values = []
    for part, names in enumerate(parts):
        numbers = {"continuation": int(part > 0), "more": int(part + 1 < len(parts)), "part": part, "parts": len(parts)}
        values.append(encode_telemetry(fields | numbers | {"fields": names}))
    return values


class Assembler:
    """Puts the parts of readings together; `add` returns a reading when it is complete."""

    def __init__(self):
        self.open = {}

    def add(self, value):
        part = decode_telemetry(value)
        key = (part["boot"], part["band"], part["sequence"])
        if part["continuation"]:
            reading = self.open.get(key)
            if reading is None:
                return None
            merged = reading["fields"] + part["fields"]
            head = ("continuation", "more", "fields", "boot", "band", "sequence", "part", "parts")
            reading |= {k: v for k, v in part.items() if k not in head} | {"fields": merged}
        else:
            self.open = {k: v for k, v in self.open.items() if k[1] != part["band"]}
            reading = self.open[key] = part
        if part["more"]:
            return None
        del self.open[key]
        return reading | {"more": 0}


def decode_status(value):
    fields = unpack("unit-status", value)
    conditions = int.from_bytes(value[16:18], "little")
    mandatory = LAYOUTS["unit-status"]["length"]
    need(value, mandatory + optional_length("status-fields", conditions))
    return fields | unpack_optional("status-fields", conditions, value[mandatory:])


def encode_status(fields):
    head = pack("unit-status", fields)
    return head + pack_optional("status-fields", int.from_bytes(head[16:18], "little"), fields)


def decode_stored(value):
    need(value, 1)
    layout = {1: "stored-event", 2: "stored-history"}.get(value[0])
    return unpack(layout, value) if layout else {"kind": value[0]}


def encode_stored(fields):
    layout = {1: "stored-event", 2: "stored-history"}.get(fields["kind"])
    return pack(layout, fields) if layout else bytes([fields["kind"]])


# --- Requests and responses ----------------------------------------------------------------------------------------------


def refused(op, result):
    return Malformed({"kind": "refused", "op": op, "result": result})


def decode_record_request(value):
    op = value[0] if value else 0
    if len(value) < 2:
        raise refused(op, "invalid-operator")
    fields = unpack("record-request", value)
    name, operator = fields["op"], fields["operator"]
    if name not in ("report", "count", "abort"):
        raise refused(op, "op-code-not-supported")
    if (operator == "null") != (name == "abort"):
        raise refused(op, "invalid-operator")
    if name == "abort":
        return {"op": name}
    if operator not in PROFILE["record-operator-numbers"]:
        raise refused(op, "operator-not-supported")
    log = ENUMS["record-filter"].get(value[2] if len(value) > 2 else 1)
    if log is None:
        raise refused(op, "operand-not-supported")
    numbers = {}
    for n, number in enumerate(PROFILE["record-operator-numbers"][operator]):
        octets = value[3 + 4 * n : 7 + 4 * n]
        if len(octets) < 4:
            raise refused(op, "invalid-operand")
        numbers[number] = int.from_bytes(octets, "little")
    if numbers.get("minimum", 0) > numbers.get("maximum", 0xFFFF_FFFF):
        raise refused(op, "invalid-operand")
    return {"op": name, "operator": operator, "filter": log} | numbers


def encode_record_request(fields):
    head = pack("record-request", {"op": fields["op"], "operator": fields.get("operator", "null")})
    if fields["op"] == "abort":
        return head
    log = {text: code for code, text in ENUMS["record-filter"].items()}[fields["filter"]]
    numbers = PROFILE["record-operator-numbers"][fields["operator"]]
    return head + bytes([log]) + b"".join(fields[n].to_bytes(4, "little") for n in numbers)


def decode_record_response(value):
    need(value, 4)
    if value[0] == 5:
        return unpack("record-number", value)
    if value[0] == 6:
        return unpack("record-outcome", value)
    raise contradictory("record-access", "record access indication that is no response")


def encode_record_response(fields):
    return pack("record-number" if fields["op"] == 5 else "record-outcome", fields)


def requests(characteristic):
    return {r["op"]: r for r in PROFILE["request"] if r["characteristic"] == characteristic}


def decode_control_request(characteristic, value):
    if not value:
        raise refused(0, "invalid-parameter")
    request = requests(characteristic).get(value[0])
    if request is None:
        raise refused(value[0], "op-code-not-supported")
    fields, at = {"op": request["name"]}, 1
    for parameter in request["parameters"]:
        octets = value[at : at + size(parameter)]
        if len(octets) < size(parameter):
            raise refused(value[0], "invalid-parameter")
        raw = int.from_bytes(octets, "little")
        low, high = parameter.get("range", (0, 1 << 32))
        if not low <= raw <= high or ("enum" in parameter and raw not in ENUMS[parameter["enum"]]):
            raise refused(value[0], "invalid-parameter")
        fields[parameter["name"]] = None if parameter.get("all") == raw else to_field(parameter, raw)
        at += size(parameter)
    return fields


def encode_control_request(characteristic, fields):
    (request,) = [r for r in requests(characteristic).values() if r["name"] == fields["op"]]
    value = bytes([request["op"]])
    for parameter in request["parameters"]:
        given = fields[parameter["name"]]
        raw = parameter["all"] if given is None else to_raw(parameter, given)
        value += raw.to_bytes(size(parameter), "little")
    return value


def decode_control_response(characteristic, value):
    need(value, LAYOUTS["control-response"]["length"])
    if value[0] != 0x80:
        raise contradictory(characteristic, "control point indication that is no response")
    fields = unpack("control-response", value)
    return fields | {"value": int.from_bytes(value[3:5], "little") if len(value) >= 5 else None}


def encode_control_response(fields):
    value = pack("control-response", fields)
    return value if fields["value"] is None else value + fields["value"].to_bytes(2, "little")


# --- By the name that a vector file uses ---------------------------------------------------------------------------------

DECODERS = {
    "booster-feature": decode_feature,
    "band-table": decode_band_table,
    "band-telemetry": decode_telemetry,
    "cell-report": lambda value: unpack("cell-report", value),
    "unit-status": decode_status,
    "unit-event": lambda value: unpack("unit-event", value),
    "stored-record": decode_stored,
    "record-access request": decode_record_request,
    "record-access response": decode_record_response,
    "report-control request": lambda value: decode_control_request("report-control", value),
    "report-control response": lambda value: decode_control_response("report-control", value),
    "unit-control request": lambda value: decode_control_request("unit-control", value),
    "unit-control response": lambda value: decode_control_response("unit-control", value),
    "service-data": lambda value: unpack("service-data", value),
}

ENCODERS = {
    "booster-feature": lambda fields: pack("booster-feature", fields),
    "band-table": encode_band_table,
    "band-telemetry": encode_telemetry,
    "cell-report": lambda fields: pack("cell-report", fields),
    "unit-status": encode_status,
    "unit-event": lambda fields: pack("unit-event", fields),
    "stored-record": encode_stored,
    "record-access request": encode_record_request,
    "record-access response": encode_record_response,
    "report-control request": lambda fields: encode_control_request("report-control", fields),
    "report-control response": encode_control_response,
    "unit-control request": lambda fields: encode_control_request("unit-control", fields),
    "unit-control response": encode_control_response,
    "service-data": lambda fields: pack("service-data", fields),
}

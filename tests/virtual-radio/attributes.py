"""Attribute values of the Booster Telemetry Profile, decoded from its document (protocol-spec/), not from the project's codec."""

import struct

SERVICE_UUID = bytes.fromhex("2b1d000130154201" "8178f05b11fb32cb")[::-1]  # as on the air
STATES = ["off", "starting", "normal", "limited", "muted", "guard", "latched-off"]
REASONS = ["input", "output", "isolation", "rule", "heat", "supply", "setting", "guard"]
EVENT_RECORD = 1


def level(raw):
    """0.1 dB or 0.1 dBm; 0x8000 is not known."""
    return None if raw == -0x8000 else raw / 10.0


def known(raw):
    return None if raw == 0xFFFF else raw


def state(nibble):
    return STATES[nibble] if nibble < len(STATES) else "unknown"


def reasons(bits):
    return [name for bit, name in enumerate(REASONS) if bits >> bit & 1]


def wanted_cell(rsrp, rsrq, sinr, identity, age):
    age = known(age)
    return {
        "rsrp_dbm": level(rsrp),
        "rsrq_db": level(rsrq),
        "sinr_db": level(sinr),
        "cell": known(identity),
        "cell_age_s": None if age is None else age / 10.0,
    }


# Optional fields in the order of their flag bits: bit, layout, how the numbers become fields.
OPTIONAL = [
    (6, "<h", lambda v: {"dl_isolation_db": level(v)}),
    (7, "<h", lambda v: {"ul_isolation_db": level(v)}),
    (8, "<h", lambda v: {"dl_output_dbm": level(v)}),
    (9, "<h", lambda v: {"ul_input_dbm": level(v)}),
    (10, "<hhhHH", wanted_cell),
    (11, "<hh", lambda dl, ul: {"dl_gain_set_db": level(dl), "ul_gain_set_db": level(ul)}),
    (12, "<hh", lambda dl, ul: {"dl_gain_allowed_db": level(dl), "ul_gain_allowed_db": level(ul)}),
]


def band_telemetry(data):
    """One notification: (band index, sequence, fields). A continuation has optional fields only; merge by band and sequence."""
    flags, band, sequence = struct.unpack_from("<HBH", data)
    if flags & 1 << 4:
        at, fields = 6, {}
    else:
        at = 20
        time, dl_in, dl_gain, ul_gain, ul_out, states, dl, ul = struct.unpack_from("<IhhhhBBB", data, 5)
        fields = {
            "unit_ms": time,
            "dl_input_dbm": level(dl_in),
            "dl_gain_db": level(dl_gain),
            "ul_gain_db": level(ul_gain),
            "ul_output_dbm": level(ul_out),
            "dl_state": state(states & 0x0F),
            "ul_state": state(states >> 4),
            "dl_limited_by": reasons(dl),
            "ul_limited_by": reasons(ul),
        }
    for bit, layout, name in OPTIONAL:
        if flags >> bit & 1:
            fields |= name(*struct.unpack_from(layout, data, at))
            at += struct.calcsize(layout)
    return band, sequence, fields


def unit_event(data):
    """(sequence, boot id, device time in ms) of a Unit Event."""
    return struct.unpack_from("<III", data)


def stored_event(data):
    """The Unit Event inside a Stored Record, or None for another kind of record."""
    return unit_event(data[1:]) if data[0] == EVENT_RECORD else None

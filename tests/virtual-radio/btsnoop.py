"""What a controller really sent and heard, read from btmon's capture (btsnoop, monitor format)."""

import struct

COMMAND, EVENT = 2, 3
LE_META, ADVERTISING_REPORT, EXTENDED_ADVERTISING_REPORT = 0x3E, 0x02, 0x0D
SCAN_RESPONSE, LEGACY_SCAN_RESPONSE_BITS = 0x04, 0x08


def packets(path):
    """Yields (adapter index, monitor opcode, bytes); a capture cut short ends at its last whole packet."""
    with open(path, "rb") as file:
        data = file.read()
    magic, version, kind = data[:8], *struct.unpack(">II", data[8:16])
    if magic != b"btsnoop\0" or version != 1 or kind != 2001:
        raise ValueError(f"{path} is not a btmon capture")
    at = 16
    while at + 24 <= len(data):
        _, length, flags, _, _ = struct.unpack(">IIIIq", data[at : at + 24])
        at += 24
        if at + length > len(data):
            return
        yield flags >> 16, flags & 0xFFFF, data[at : at + length]
        at += length


def reports(path, adapter):
    """Yields (address, is scan response, data) for every advertising report that `adapter` heard."""
    for index, opcode, packet in packets(path):
        if index != adapter or opcode != EVENT or len(packet) < 4 or packet[0] != LE_META:
            continue
        subevent, count, at = packet[2], packet[3], 4
        for _ in range(count):
            if subevent == ADVERTISING_REPORT:
                kind, address, length = packet[at], packet[at + 2 : at + 8], packet[at + 8]
                start, response, tail = at + 9, kind == SCAN_RESPONSE, 1
            elif subevent == EXTENDED_ADVERTISING_REPORT:
                (kind,) = struct.unpack("<H", packet[at : at + 2])
                address, length = packet[at + 3 : at + 9], packet[at + 23]
                start, response, tail = at + 24, bool(kind & LEGACY_SCAN_RESPONSE_BITS), 0
            else:
                break
            yield address[::-1].hex(":"), response, packet[start : start + length]
            at = start + length + tail


def structures(data):
    """Advertising data as a list of (type, value)."""
    found, at = [], 0
    while at < len(data) and data[at]:
        found.append((data[at + 1], data[at + 2 : at + 1 + data[at]]))
        at += 1 + data[at]
    return found

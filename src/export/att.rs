//! Attribute values as they travelled: HCI packets that carry L2CAP and ATT (Bluetooth Core specification 5.4: volume 4
//! part E for HCI, volume 3 parts A, F and G).
//!
//! A recording holds values, not packets: addresses, handles and connection parameters are stand-ins, always the same.

use booster_profile::{Characteristic, SERVICE_UUID};

/// Which way a packet goes between computer and adapter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// To the adapter.
    Sent,
    /// From it.
    Received,
}

/// A packet: which way, and its bytes from the H4 packet type on.
pub type Packet = (Way, Vec<u8>);

/// Connection handle.
const CONNECTION: u16 = 0x0040;
/// Fixed L2CAP channel of ATT.
const ATT: u16 = 0x0004;
/// A random static address that belongs to nobody, least significant byte first.
const ADDRESS: [u8; 6] = [0x01, 0, 0, 0, 0, 0xC2];

/// Device Information Service.
const DEVICE_INFORMATION: u16 = 0x180A;
/// UUIDs of the attribute types "primary service" and "characteristic".
const PRIMARY_SERVICE: u16 = 0x2800;
const CHARACTERISTIC: u16 = 0x2803;

/// Handles: each characteristic has a declaration, a value and a configuration descriptor.
const STEP: u16 = 3;
const SERVICES: [(u16, u16); 2] = [(0x0001, 0x000F), (0x0010, 0x002F)];
/// Characteristics of the Device Information Service come first in [`Characteristic::ALL`].
const OF_DEVICE: usize = 5;

/// Handle of a characteristic's declaration.
fn declaration(c: Characteristic) -> u16 {
    let index = Characteristic::ALL
        .iter()
        .position(|a| *a == c)
        .unwrap_or_default();
    let (first, index) = if index < OF_DEVICE {
        (SERVICES[0].0, index)
    } else {
        (SERVICES[1].0, index - OF_DEVICE)
    };
    first + 1 + STEP * u16::try_from(index).unwrap_or_default()
}

/// Handle of a characteristic's value.
pub fn handle(c: Characteristic) -> u16 {
    declaration(c) + 1
}

/// A value that came unasked.
pub fn pushed(c: Characteristic, value: &[u8]) -> Vec<Packet> {
    if c.is_indicated() {
        return vec![
            (
                Way::Received,
                att(Way::Received, 0x1D, &[&handle(c).to_le_bytes(), value]),
            ),
            (Way::Sent, att(Way::Sent, 0x1E, &[])),
        ];
    }
    vec![(
        Way::Received,
        att(Way::Received, 0x1B, &[&handle(c).to_le_bytes(), value]),
    )]
}

/// A value that was read.
pub fn read(c: Characteristic, value: &[u8]) -> Vec<Packet> {
    exchange((0x0A, &[&handle(c).to_le_bytes()]), (0x0B, &[value]))
}

/// A value that was written.
pub fn written(c: Characteristic, value: &[u8]) -> Vec<Packet> {
    exchange((0x12, &[&handle(c).to_le_bytes(), value]), (0x13, &[]))
}

/// The connection comes about, and services and characteristics are found.
pub fn connected() -> Vec<Packet> {
    // LE Connection Complete: success, we are central, the peer's address is a random one; 30 ms, no latency, 4 s.
    let mut complete = vec![0x04, 0x3E, 19, 0x01, 0x00];
    complete.extend(CONNECTION.to_le_bytes());
    complete.extend([0x00, 0x01]);
    complete.extend(ADDRESS);
    for parameter in [24_u16, 0, 400] {
        complete.extend(parameter.to_le_bytes());
    }
    complete.push(0x00);
    let mut packets = vec![(Way::Received, complete)];
    // An MTU that every value fits into.
    let mtu = 517_u16.to_le_bytes();
    packets.extend(exchange((0x02, &[&mtu]), (0x03, &[&mtu])));
    let last = 0xFFFF_u16;
    for ((first, end), uuid) in SERVICES.iter().zip([
        DEVICE_INFORMATION.to_le_bytes().to_vec(),
        SERVICE_UUID.to_le_bytes().to_vec(),
    ]) {
        let entry = [first.to_le_bytes().as_slice(), &end.to_le_bytes(), &uuid].concat();
        packets.extend(by_type(0x10, *first, last, PRIMARY_SERVICE, &[entry]));
    }
    packets.extend(nothing_more(0x10, SERVICES[1].1 + 1, last, PRIMARY_SERVICE));
    for (service, (first, end)) in SERVICES.iter().enumerate() {
        let all = Characteristic::ALL.iter();
        let entries: Vec<Vec<u8>> = all
            .enumerate()
            .filter(|(i, _)| (*i >= OF_DEVICE) == (service == 1))
            .map(|(_, c)| entry(*c))
            .collect();
        let mut from = *first;
        // Entries of one answer have the same length: short and long UUIDs take turns.
        for run in entries.chunk_by(|a, b| a.len() == b.len()) {
            packets.extend(by_type(0x08, from, *end, CHARACTERISTIC, run));
            from = run
                .last()
                .and_then(|e| e.first_chunk())
                .map_or(*end, |h| u16::from_le_bytes(*h) + 1);
        }
        packets.extend(nothing_more(0x08, from, *end, CHARACTERISTIC));
    }
    packets
}

/// The connection is over: the supervision time passed.
pub fn disconnected() -> Packet {
    let [low, high] = CONNECTION.to_le_bytes();
    (Way::Received, vec![0x04, 0x05, 4, 0x00, low, high, 0x08])
}

/// A characteristic's declaration: its handle, what may be done, its value's handle, its UUID.
fn entry(c: Characteristic) -> Vec<u8> {
    let may = match c {
        c if c.is_readable() => 0x02,
        Characteristic::RecordAccess | Characteristic::ReportControl | Characteristic::UnitControl => 0x28,
        c if c.is_indicated() => 0x20,
        _ => 0x10,
    };
    let mut entry = declaration(c).to_le_bytes().to_vec();
    entry.push(may);
    entry.extend(handle(c).to_le_bytes());
    entry.extend(uuid(c));
    entry
}

/// A UUID as it travels: those that the Bluetooth SIG assigned in two bytes.
fn uuid(c: Characteristic) -> Vec<u8> {
    const BASE: u128 = 0x0000_0000_0000_1000_8000_0080_5F9B_34FB;
    let uuid = c.uuid();
    match u16::try_from((uuid ^ BASE) >> 96) {
        Ok(short) if uuid & (u128::MAX >> 32) == BASE => short.to_le_bytes().to_vec(),
        _ => uuid.to_le_bytes().to_vec(),
    }
}

/// Read By (Group) Type and its answer, whose entries have one length.
fn by_type(opcode: u8, first: u16, last: u16, kind: u16, entries: &[Vec<u8>]) -> Vec<Packet> {
    let length = entries.first().map_or(0, Vec::len) as u8;
    let list = entries.concat();
    exchange(
        (
            opcode,
            &[&first.to_le_bytes(), &last.to_le_bytes(), &kind.to_le_bytes()],
        ),
        (opcode + 1, &[&[length], &list]),
    )
}

/// The same where there is nothing: an error answer, "attribute not found".
fn nothing_more(opcode: u8, first: u16, last: u16, kind: u16) -> Vec<Packet> {
    let first = first.to_le_bytes();
    exchange(
        (opcode, &[&first, &last.to_le_bytes(), &kind.to_le_bytes()]),
        (0x01, &[&[opcode], &first, &[0x0A]]),
    )
}

fn exchange(request: (u8, &[&[u8]]), response: (u8, &[&[u8]])) -> Vec<Packet> {
    vec![
        (Way::Sent, att(Way::Sent, request.0, request.1)),
        (Way::Received, att(Way::Received, response.0, response.1)),
    ]
}

/// An ATT packet in one L2CAP frame in one HCI ACL packet.
fn att(way: Way, opcode: u8, parts: &[&[u8]]) -> Vec<u8> {
    let body: usize = parts.iter().map(|p| p.len()).sum();
    // Values have at most 512 bytes (ATT), so that both lengths fit.
    let pdu = u16::try_from(1 + body).unwrap_or(u16::MAX);
    // First fragment: not flushable from the computer, flushable from the adapter.
    let flags: u16 = if way == Way::Sent { 0b00 } else { 0b10 };
    let mut packet = Vec::with_capacity(10 + body);
    packet.push(0x02);
    for word in [CONNECTION | (flags << 12), pdu.saturating_add(4), pdu, ATT] {
        packet.extend(word.to_le_bytes());
    }
    packet.push(opcode);
    parts.iter().for_each(|p| packet.extend_from_slice(p));
    packet
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_characteristic_has_handles_of_its_own_within_its_service() {
        let handles: Vec<u16> = Characteristic::ALL.iter().map(|c| handle(*c)).collect();
        assert!(handles.is_sorted_by(|a, b| a < b), "{handles:?}");
        for (index, handle) in handles.iter().enumerate() {
            let (first, end) = SERVICES[usize::from(index >= OF_DEVICE)];
            assert!((first..=end).contains(handle), "{handle}");
        }
    }

    #[test]
    fn a_notification_byte_by_byte() {
        let [(way, packet)] = pushed(Characteristic::BandTelemetry, &[0xAB, 0xCD])
            .try_into()
            .unwrap();
        assert_eq!(way, Way::Received);
        let value = handle(Characteristic::BandTelemetry).to_le_bytes();
        let expected = [
            [0x02, 0x40, 0x20, 9, 0, 5, 0, 4, 0, 0x1B].as_slice(),
            &value,
            &[0xAB, 0xCD],
        ];
        assert_eq!(packet, expected.concat());
    }
}

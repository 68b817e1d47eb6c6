//! Lengths: the largest value of every layout, and the byte budgets of the document.

use crate::markdown::table;
use crate::{hex, read, unhex};
use booster_profile::advertising::{Attention, MAX_NAME_LEN, SERVICE_DATA_LEN, ServiceData};
use booster_profile::control::{ControlResponse, ControlResult, MAX_CONTROL_LEN, ReportRequest, UnitRequest};
use booster_profile::record_access::{Log, MAX_REQUEST_LEN, OpCode, Request, Response, ResponseCode, Select};
use booster_profile::{
    BAND_ENTRY_LEN, BandTable, BandTelemetry, BoosterFeature, CELL_REPORT_LEN, CellReport, Direction,
    DirectionState, FEATURE_LEN, MAX_BANDS, MAX_PARTS, MAX_TELEMETRY_LEN, Part, SERVICE_UUID,
    STORED_HISTORY_LEN, StoredRecord, TELEMETRY_LEN, TenthDb, UNIT_EVENT_LEN, UNIT_STATUS_LEN, UnitEvent,
    UnitStatus,
};

/// A reading with every field.
fn largest_reading() -> BandTelemetry {
    let mut bytes = [0xFF; MAX_TELEMETRY_LEN];
    bytes[..2].copy_from_slice(&[0xCF, 0x1F]);
    match Part::decode(&bytes) {
        Ok(Part::First { reading, more: false }) => reading,
        other => panic!("{other:?}"),
    }
}

#[test]
fn the_largest_value_of_every_layout_is_encoded_whole() {
    let mut feature = [0xFF; FEATURE_LEN];
    (feature[0], feature[6]) = (1, 16);
    assert_eq!(BoosterFeature::decode(&feature).unwrap().encode()[..], feature);

    let mut table = vec![BAND_ENTRY_LEN as u8, MAX_BANDS as u8];
    for index in 0..MAX_BANDS as u8 {
        table.push(index);
        table.extend([0xFF; BAND_ENTRY_LEN - 1]);
    }
    assert_eq!(table.len(), 498);
    assert_eq!(BandTable::decode(&table).unwrap().encode()[..], table);

    let reading = largest_reading();
    assert_eq!(reading.encode(512)[0].len(), MAX_TELEMETRY_LEN);
    assert_eq!(reading.encode(20).len(), MAX_PARTS);

    assert_eq!(
        CellReport::decode(&[0xFF; 20]).unwrap().encode().len(),
        CELL_REPORT_LEN
    );
    let status = UnitStatus::decode(&[0xFF; 22]).unwrap();
    assert_eq!(status.encode(22).len(), 22);
    assert_eq!(status.encode(21).len(), UNIT_STATUS_LEN);
    assert_eq!(
        UnitEvent::decode(&[0xFF; 17]).unwrap().encode()[..],
        [0xFF; UNIT_EVENT_LEN]
    );
    for (kind, length) in [(1, 1 + UNIT_EVENT_LEN), (2, STORED_HISTORY_LEN)] {
        let mut record = vec![0xFF; length];
        record[0] = kind;
        assert_eq!(StoredRecord::decode(&record).unwrap().encode()[..], record);
    }

    let longest = Request::Report(Log::History, Select::Within(u32::MAX, u32::MAX)).encode();
    assert_eq!(longest.len(), MAX_REQUEST_LEN);
    assert_eq!(Response::Number(u16::MAX).encode()[..], [5, 0, 0xFF, 0xFF]);
    let outcome = Response::Outcome {
        op_code: OpCode::Count.raw(),
        code: ResponseCode::ServerBusy,
    };
    assert_eq!(outcome.encode()[..], [6, 0, 4, 10]);

    let band = u8::MAX - 1;
    let (direction, value) = (Direction::Uplink, TenthDb(600));
    let longest = UnitRequest::Attenuation {
        band,
        direction,
        value,
    }
    .encode();
    assert_eq!(longest[..], [4, 254, 2, 0x58, 0x02]);
    assert_eq!(ReportRequest::Interval(u16::MAX).encode()[..], [1, 0xFF, 0xFF]);
    let response = ControlResponse {
        op_code: 1,
        result: ControlResult::Success,
        value: Some(u16::MAX),
    };
    assert_eq!(response.encode().len(), 5);
    assert!(longest.len().max(5) <= MAX_CONTROL_LEN);
}

#[test]
fn the_budget_of_band_telemetry_is_the_document_s() {
    let reading = largest_reading();
    let mut next = 20;
    for row in table("budget") {
        let limits: Vec<usize> = row[0].split('–').map(|n| n.parse().unwrap()).collect();
        let (from, to) = (limits[0], *limits.last().unwrap());
        assert_eq!(from, next, "payloads are covered without a gap");
        assert_eq!(row[1].replace('–', " "), row_mtu(from, to));
        for payload in from..=to {
            let lengths: Vec<_> = reading.encode(payload).iter().map(|p| p.len()).collect();
            assert_eq!(lengths.len().to_string(), row[2], "payload {payload}");
            let text: Vec<_> = lengths.iter().map(|n| n.to_string()).collect();
            assert_eq!(text.join(" + "), row[3], "payload {payload}");
            assert_eq!(
                lengths.iter().sum::<usize>().to_string(),
                row[4],
                "payload {payload}"
            );
        }
        next = to + 1;
    }
    assert_eq!(next, 515, "the last row ends at the payload of MTU 517");
}

fn row_mtu(from: usize, to: usize) -> String {
    if from == to {
        (from + 3).to_string()
    } else {
        format!("{} {}", from + 3, to + 3)
    }
}

#[test]
fn the_table_of_mtus_is_right() {
    let reading = largest_reading();
    let status = UnitStatus::decode(&[0xFF; 22]).unwrap();
    for row in table("mtu") {
        let mtu: usize = row[0].parse().unwrap();
        let payload = mtu - 3;
        let parts = reading.encode(payload).len();
        // A read answers with up to MTU − 1 bytes.
        let reads = |length: usize| length.div_ceil(mtu - 1).to_string();
        let timed = if status.encode(payload).len() == 22 {
            "yes"
        } else {
            "no"
        };
        let expected = [
            mtu.to_string(),
            payload.to_string(),
            parts.to_string(),
            (parts * 60).to_string(),
            timed.to_owned(),
            reads(FEATURE_LEN),
            reads(2 + MAX_BANDS * BAND_ENTRY_LEN),
        ];
        assert_eq!(row, expected);
    }
    assert_eq!(
        TELEMETRY_LEN,
        23 - 3,
        "the mandatory part fills a notification at the default MTU"
    );
}

#[test]
fn advertising_stays_within_31_bytes_and_is_the_document_s() {
    for place in ["advertising data", "scan response"] {
        let total: usize = table("advertising")
            .iter()
            .filter(|row| row[0] == place)
            .map(|row| row[2].parse::<usize>().unwrap())
            .sum();
        assert_eq!(total, 31, "{place}");
    }
    let mut uuid = SERVICE_UUID.to_le_bytes().to_vec();
    let mut advertising = vec![2, 0x01, 0x06, 17, 0x07];
    advertising.append(&mut uuid.clone());
    let data = ServiceData {
        major: 1,
        attention: Attention::Wanted,
        worst_state: DirectionState::Limited,
        loop_margin_db: Some(12),
    };
    let mut response = vec![(1 + 16 + SERVICE_DATA_LEN) as u8, 0x21];
    response.append(&mut uuid);
    response.extend(data.encode());
    let name = b"0041207";
    assert_eq!(name.len(), MAX_NAME_LEN);
    response.extend([name.len() as u8 + 1, 0x09]);
    response.extend(name);
    assert_eq!((advertising.len(), response.len()), (21, 31));

    let examples = table("advertising-examples");
    assert_eq!(
        unhex(examples[0][1].trim_matches('`')),
        advertising,
        "{}",
        hex(&advertising)
    );
    assert_eq!(
        unhex(examples[1][1].trim_matches('`')),
        response,
        "{}",
        hex(&response)
    );
}

#[test]
fn nothing_allocates() {
    // Without `std` and without `alloc` there is no heap to allocate from: decoding cannot allocate.
    let library = read("src/lib.rs");
    assert!(library.contains("#![no_std]"));
    let mut folders = vec![std::path::PathBuf::from(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/src"
    ))];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            for line in std::fs::read_to_string(path).unwrap().lines() {
                assert!(!line.contains("extern crate"), "{line}");
            }
        }
    }
}

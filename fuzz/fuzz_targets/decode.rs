//! The value of any characteristic: decoding never panics, and what is accepted survives encoding.

#![no_main]

use booster_profile::advertising::ServiceData;
use booster_profile::control::{ControlResponse, ReportRequest, UnitRequest};
use booster_profile::record_access::{Request, Response};
use booster_profile::{BandTable, BoosterFeature, CellReport, Part, StoredRecord, UnitEvent, UnitStatus};
use libfuzzer_sys::fuzz_target;

macro_rules! survives {
    ($kind:ty, $bytes:expr $(, $payload:expr)?) => {
        if let Ok(value) = <$kind>::decode($bytes) {
            assert_eq!(<$kind>::decode(&value.encode($($payload)?)).as_ref(), Ok(&value));
        }
    };
}

fuzz_target!(|input: &[u8]| {
    let Some((kind, bytes)) = input.split_first() else {
        return;
    };
    match kind % 13 {
        0 => survives!(BoosterFeature, bytes),
        1 => survives!(BandTable, bytes),
        2 => survives!(CellReport, bytes),
        3 => survives!(UnitStatus, bytes, 512),
        4 => survives!(UnitEvent, bytes),
        5 => survives!(StoredRecord, bytes),
        6 => survives!(Request, bytes),
        7 => survives!(Response, bytes),
        8 => survives!(ReportRequest, bytes),
        9 => survives!(UnitRequest, bytes),
        10 => survives!(ControlResponse, bytes),
        11 => survives!(ServiceData, bytes),
        _ => {
            let _ = Part::decode(bytes);
        }
    }
});

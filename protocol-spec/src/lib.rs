//! Codec of the Booster Telemetry Profile: attribute values (bytes) to typed fields and back.
//!
//! No I/O, no clock, `no_std`, no heap: firmware can use it as it stands. The profile itself is the document
//! `protocol-spec/booster-telemetry-profile.md`; every layout here repeats a byte table of that document, and a
//! test holds the two together.
//!
//! Conventions (profile section "Conventions"): little-endian; levels and ratios in tenths of a dB as `sint16`, where
//! 0x8000 means "not known" and decodes to `None`; bits, enumeration values and trailing bytes that this version does
//! not know are carried or ignored, never refused.

#![no_std]

pub mod advertising;
mod band;
mod bytes;
mod cell;
mod characteristic;
pub mod control;
mod error;
mod event;
mod feature;
mod level;
mod open;
pub mod record_access;
mod status;
mod stored;
mod telemetry;

pub use band::{BAND_ENTRY_LEN, Band, BandTable, Duplex, MAX_BANDS, Technology};
pub use bytes::AttributeBytes;
pub use cell::{CELL_REPORT_LEN, CellReport, Plmn, SubcarrierSpacing};
pub use characteristic::{Characteristic, SERVICE_UUID, uuid};
pub use error::DecodeError;
pub use event::{Direction, EventCode, UNIT_EVENT_LEN, UnitEvent, WHOLE_UNIT};
pub use feature::{BoosterFeature, FEATURE_LEN, Features, Regulation, Version};
pub use level::{TenthDb, TenthDbm};
pub use status::{Authorization, Health, OperatingState, PortHealth, Quality, UNIT_STATUS_LEN, UnitStatus};
pub use stored::{HistoryRecord, STORED_HISTORY_LEN, StoredRecord};
pub use telemetry::{
    BandTelemetry, Continuation, DirectionState, Extra, Fields, MAX_PARTS, MAX_TELEMETRY_LEN, Part, Reasons,
    TELEMETRY_LEN, WantedCell,
};

/// Version of the profile that this crate implements.
pub const PROFILE_VERSION: Version = Version { major: 1, minor: 0 };

//! What can be read.

use super::{AttError, Server};
use crate::booster::Unit;
use booster_profile::{AttributeBytes, BandTable, Characteristic as C};

impl Server {
    /// Reads a value; a stack fetches long ones in pieces by itself.
    ///
    /// # Errors
    /// [`AttError::ReadNotPermitted`] for a characteristic that only notifies or indicates.
    pub fn read(&self, c: C, unit: &Unit, table: &BandTable) -> Result<AttributeBytes, AttError> {
        if self.connection.is_none() {
            return Err(AttError::NotConnected);
        }
        let spec = unit.spec();
        match c {
            C::ManufacturerName => Ok(text(&spec.manufacturer)),
            C::ModelNumber => Ok(text(&spec.model)),
            C::SerialNumber => Ok(text(&spec.serial)),
            C::FirmwareRevision => Ok(text(&spec.firmware)),
            C::HardwareRevision => Ok(text(&spec.hardware)),
            C::BoosterFeature => Ok(unit.feature().encode()),
            C::BandTable => Ok(table.encode()),
            _ => Err(AttError::ReadNotPermitted(c)),
        }
    }
}

fn text(value: &str) -> AttributeBytes {
    value
        .bytes()
        .take(AttributeBytes::new_const().capacity())
        .collect()
}

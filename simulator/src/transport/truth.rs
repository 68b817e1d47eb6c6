//! What really happened to the values: the account that telemetry's account is compared with.

use crate::gatt::Value;
use booster_profile::Characteristic;

/// One band's notifications of Band Telemetry. A reading that takes several notifications counts once for each.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct BandTruth {
    /// Handed over by the unit.
    pub sent: u64,
    /// Lost on the air, dropped connections included.
    pub lost: u64,
    /// Extra copies.
    pub duplicated: u64,
    /// Held back, so that others may overtake them.
    pub reordered: u64,
    /// Arrived in a form that the profile refuses.
    pub malformed: u64,
}

/// All bands, and everything else together.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TransportTruth {
    /// Band Telemetry by band index.
    pub bands: Vec<BandTruth>,
    /// Other notifications.
    pub other: BandTruth,
    /// Connections that dropped by themselves.
    pub drops: u64,
}

impl TransportTruth {
    pub(super) fn new(bands: usize) -> Self {
        Self {
            bands: vec![BandTruth::default(); bands],
            ..Self::default()
        }
    }

    fn of(&mut self, value: &Value) -> &mut BandTruth {
        // The band index stands in the third byte; a truncated value may have lost it.
        let band = (value.characteristic == Characteristic::BandTelemetry)
            .then(|| value.bytes.get(2).map(|b| usize::from(*b)))
            .flatten();
        match band {
            Some(band) if band < self.bands.len() => &mut self.bands[band],
            _ => &mut self.other,
        }
    }

    pub(super) fn sent(&mut self, value: &Value) {
        self.of(value).sent += 1;
    }
    pub(super) fn lost(&mut self, value: &Value) {
        if !value.characteristic.is_indicated() {
            self.of(value).lost += 1;
        }
    }
    pub(super) fn duplicated(&mut self, value: &Value) {
        self.of(value).duplicated += 1;
    }
    pub(super) fn reordered(&mut self, value: &Value) {
        self.of(value).reordered += 1;
    }
    pub(super) fn malformed(&mut self, value: &Value) {
        self.of(value).malformed += 1;
    }
    pub(crate) fn dropped_connection(&mut self) {
        self.drops += 1;
    }
}

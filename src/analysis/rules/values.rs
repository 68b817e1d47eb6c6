//! The values of one direction of a reading, in units: worked out once, looked at by many rules.

use super::BandFacts;
use crate::analysis::Path;
use crate::analysis::memory::Memory;
use booster_profile::{BandTelemetry, DirectionState, Reasons, TenthDb, TenthDbm};

/// Values of one direction; `None` is not known.
#[derive(Clone, Copy, Debug)]
pub(in crate::analysis) struct Values {
    /// State.
    pub(in crate::analysis) state: DirectionState,
    /// Why the gain is limited.
    pub(in crate::analysis) reasons: Reasons,
    /// Gain in effect, dB.
    pub(in crate::analysis) gain: Option<f64>,
    /// Gain that was set, dB.
    pub(in crate::analysis) gain_set: Option<f64>,
    /// Gain that it is meant to run at, dB.
    pub(in crate::analysis) gain_meant: Option<f64>,
    /// Gain that was set, or the most that the unit has, dB.
    pub(in crate::analysis) gain_full: Option<f64>,
    /// Isolation, dB.
    pub(in crate::analysis) isolation: Option<f64>,
    /// Isolation minus the gain in effect, dB.
    pub(in crate::analysis) margin: Option<f64>,
    /// Composite input, dBm.
    pub(in crate::analysis) input: Option<f64>,
    /// Composite output, dBm.
    pub(in crate::analysis) output: Option<f64>,
    /// RSRP of the wanted cell, dBm.
    pub(in crate::analysis) rsrp: Option<f64>,
}

impl Values {
    /// The values of this direction of a reading.
    #[inline]
    pub(in crate::analysis) fn new(
        path: Path,
        t: &BandTelemetry,
        facts: &BandFacts,
        memory: &Memory,
    ) -> Self {
        let extra = &t.extra;
        let db = |value: Option<TenthDb>| value.map(TenthDb::db);
        let dbm = |value: Option<TenthDbm>| value.map(TenthDbm::dbm);
        let (state, reasons, gain, set, allowed, isolation, input, output) = match path {
            Path::Downlink => (
                t.dl_state,
                t.dl_reasons,
                t.dl_gain,
                extra.dl_gain_set,
                extra.dl_gain_allowed,
                extra.dl_isolation,
                t.dl_input,
                extra.dl_output,
            ),
            Path::Uplink => (
                t.ul_state,
                t.ul_reasons,
                t.ul_gain,
                extra.ul_gain_set,
                extra.ul_gain_allowed,
                extra.ul_isolation,
                extra.ul_input,
                t.ul_output,
            ),
        };
        // As the unit reports it, or as it was while nothing held it back.
        let set = set.or(memory.free_gain[path as usize]);
        let margin = isolation.zip(gain).map(|(i, g)| i.db() - g.db());
        let meant = set.map(|set| allowed.map_or(set, |a| a.min(set)));
        Self {
            state,
            reasons,
            gain: db(gain),
            gain_set: db(set),
            gain_meant: db(meant),
            gain_full: db(set).or(facts.max_gain_db[path as usize]),
            isolation: db(isolation),
            margin,
            input: dbm(input),
            output: dbm(output),
            rsrp: dbm(extra.cell.rsrp),
        }
    }
}

//! Gain that the rule set in force allows.

use crate::scenario::Rule;
use radio::limits::{uk, us};
use radio::noise::uplink_noise;
use radio::{Db, Dbm, Megahertz};

/// What a rule looks at.
#[derive(Clone, Copy, Debug)]
pub struct RuleInput {
    /// Centre of the uplink band.
    pub uplink: Megahertz,
    /// Composite downlink power at the donor port.
    pub rssi: Dbm,
    /// Minimum coupling loss between a handset and the server port.
    pub coupling_loss: Db,
    /// Uplink noise figure.
    pub noise_figure: Db,
}

/// Largest gain that the rule allows in both directions (both rule sets want it equal). `None` where no rule is in
/// force, or where the level lies outside what the rule speaks of.
pub fn allowed_gain(rule: Rule, input: &RuleInput) -> Option<Db> {
    match rule {
        Rule::None => None,
        Rule::UsWideband => us_gain(input),
        Rule::UkStaticIndoor => uk::max_gain(input.rssi).ok(),
    }
}

/// The least of the three: by frequency, by level, and the gain at which the unit's own noise reaches its limit.
fn us_gain(input: &RuleInput) -> Option<Db> {
    let by_frequency = us::max_gain(us::Installation::Fixed, input.uplink).ok()?;
    let by_level = us::uplink_gain_limit(input.rssi, input.coupling_loss).ok()?;
    let noise_limit = us::noise_limit(input.rssi)
        .ok()?
        .min(us::fixed_noise_cap(input.uplink).ok()?);
    let by_noise = noise_limit - uplink_noise(input.noise_figure, Db(0.0)).ok()?;
    Some(by_frequency.min(by_level).min(by_noise))
}

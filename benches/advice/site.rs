//! Sites of the trials: drawn as for detection, but their fault lasts until somebody puts it right, and what is too
//! strong comes from a bearing of its own.

use booster_simulator::Scenario;
use booster_simulator::generate::{self, Family, Fault, Reporting};
use booster_simulator::rng::Rng;
use booster_simulator::scenario::EventSpec;
use booster_simulator::world::Donor;
use radio::Bearing;

/// What a technician meets at a site beside its fault.
#[derive(Clone, Copy, Debug)]
pub struct Circumstances {
    /// Bearing of what is too strong.
    pub strong: Bearing,
    /// What the building takes from it once it stands between, dB.
    pub building_db: f64,
    /// What the wanted cells lose by the move, dB.
    pub move_costs_db: f64,
    /// What a filter takes from all but the wanted, dB, and from the wanted.
    pub filter_db: (f64, f64),
    /// How isolation grows between the antennas, dB per decade of distance.
    pub isolation_slope_db: f64,
    /// How a handset's level falls at the server antenna, dB per decade of distance.
    pub handset_slope_db: f64,
}

/// A site, its fault, its circumstances.
pub struct Site {
    pub scenario: Scenario,
    pub fault: Fault,
    pub circumstances: Circumstances,
    /// When the fault has its full size, s.
    pub grown_s: f64,
}

/// Carriers that a fault switches on.
pub const STRONG: [&str; 2] = ["small-cell", "other-operator"];

/// Draws a site.
pub fn draw(seed: u64, family: Family) -> Option<Site> {
    let generate::Site { mut scenario, fault } = generate::site(seed, family, &Reporting::FULL);
    let fault = fault?;
    let mut rng = Rng::stream(seed, "advice", 0);
    let mounted = Bearing::new(scenario.donor.bearing_deg);
    let side = if rng.chance(0.5) { 1.0 } else { -1.0 };
    let off_deg = side * rng.between(40.0, 180.0);
    let circumstances = Circumstances {
        strong: Bearing::new(scenario.donor.bearing_deg + off_deg),
        building_db: rng.between(12.0, 25.0),
        move_costs_db: rng.between(0.0, 2.0),
        filter_db: (rng.between(25.0, 40.0), rng.between(0.5, 2.0)),
        isolation_slope_db: rng.between(20.0, 26.0),
        handset_slope_db: rng.between(18.0, 26.0),
    };
    let donor = Donor::new(mounted, scenario.donor.beam_deg, scenario.donor.front_to_back_db);
    for cell in scenario
        .cell
        .iter_mut()
        .filter(|c| STRONG.contains(&c.name.as_str()))
    {
        // As strong as drawn with the antenna as it is mounted.
        cell.bearing_deg = circumstances.strong.degrees();
        cell.rsrp_dbm -= donor.relative_gain_db(circumstances.strong);
    }
    let mut grown_s = fault.onset_s;
    for event in scenario.at.iter_mut().filter(|e| e.s >= fault.onset_s) {
        event.for_s = None;
        grown_s = grown_s.max(event.s + event.ramp_s.unwrap_or(0.0));
    }
    Some(Site {
        scenario,
        fault,
        circumstances,
        grown_s,
    })
}

impl Site {
    /// The injection.
    pub fn event(&self) -> Option<&EventSpec> {
        self.scenario.at.last()
    }
}

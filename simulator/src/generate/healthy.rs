//! A healthy site, and the life in it that must not alarm anybody.

use crate::rng::Rng;
use crate::scenario::{
    BandSpec, CellSpec, DonorSpec, EventSpec, HandsetSpec, Rule, Scenario, TransportSpec, UnitSpec, Way,
};
use crate::world::composite_over_rsrp_db;
use radio::Megahertz;
use radio::channel::{Direction, Duplex, lte};

/// Bands to draw from (3GPP numbers).
const FDD: [u16; 10] = [1, 2, 3, 4, 5, 7, 8, 12, 20, 25];
const TDD: [u16; 3] = [38, 40, 41];
/// Widest pass band of a unit, MHz.
const WIDEST_MHZ: f64 = 75.0;
/// Distance of a healthy site's outputs from their ratings at mean load, dB; traffic takes some of it.
const AGC_HEADROOM_DB: f64 = 6.0;
/// The same for handsets, whose power control swings by some dB.
const HANDSET_HEADROOM_DB: f64 = 8.0;
/// What the UK rule is given to take away, dB.
const LAWFUL_REDUCTION_DB: f64 = 12.0;

/// A band of a unit and its wanted cell's channel and width.
struct Drawn {
    spec: BandSpec,
    channel: u32,
    resource_blocks: u16,
}

fn draw_band(rng: &mut Rng, numbers: &[u16]) -> Option<Drawn> {
    let number = *numbers.get(rng.below(numbers.len()))?;
    let band = lte::band(number)?;
    let (dl, ul) = (band.downlink?.edges(), band.uplink?.edges());
    let width = (dl.1.0 - dl.0.0).min(ul.1.0 - ul.0.0).min(WIDEST_MHZ);
    let dl_mhz = dl.0.0 + width / 2.0;
    let ul_mhz = if band.duplex == Duplex::Tdd {
        dl_mhz
    } else {
        ul.0.0 + width / 2.0
    };
    let direction = if band.duplex == Duplex::Tdd {
        Direction::Both
    } else {
        Direction::Downlink
    };
    // The nearest 0.1 MHz that the raster knows.
    let centre = Megahertz((dl_mhz * 10.0).round() / 10.0);
    let channel = lte::earfcn(number, direction, centre).ok()?;
    let gain = rng.between(58.0, 72.0).round();
    let mut spec = BandSpec::new(&format!("B{number}"), dl_mhz, ul_mhz, width, gain, 0.0);
    spec.isolation_dl_db = (gain + rng.between(20.0, 32.0)).round();
    spec.isolation_ul_db = (spec.isolation_dl_db + rng.between(-2.0, 2.0)).round();
    spec.people_db = rng.between(0.2, 0.5);
    Some(Drawn {
        spec,
        channel,
        resource_blocks: if width >= 20.0 { 100 } else { 50 },
    })
}

/// A site where nothing happens but wander and traffic: `least` to four bands, one of them TDD if asked for.
pub(super) fn site(rng: &mut Rng, least: usize, with_tdd: bool) -> Scenario {
    let wanted_bands = least + rng.below(5 - least.min(4));
    let mut drawn: Vec<Drawn> = Vec::new();
    if with_tdd {
        drawn.extend(draw_band(rng, &TDD));
    }
    while drawn.len() < wanted_bands {
        let next = draw_band(rng, &FDD);
        // A band occurs once; every number of the list yields one.
        drawn.extend(next.filter(|n| drawn.iter().all(|d| d.spec.name != n.spec.name)));
    }
    let bearing_deg = rng.between(0.0, 360.0).round();
    let best_dbm = rng.between(-96.0, -80.0);
    let mut cells = Vec::new();
    for (i, d) in drawn.iter().enumerate() {
        let drawn_dbm = best_dbm + rng.between(-4.0, 4.0);
        let identity = 3 * (20 + i as u16) + rng.below(3) as u16;
        let name = format!("site-{}", d.spec.name.to_lowercase());
        let mut cell = CellSpec::new(
            &name,
            &d.spec.name,
            d.channel,
            d.resource_blocks,
            identity,
            drawn_dbm,
        );
        cell.bearing_deg = bearing_deg;
        cell.load = rng.between(0.15, 0.6);
        cell.load_swing = rng.between(0.05, 0.15);
        cell.boosted = rng.chance(0.7);
        cell.wanted = true;
        // AGC has nothing to do: a healthy unit runs at the gain that was set.
        let most = d.spec.rated_dl_dbm - d.spec.max_gain_db - composite_over_rsrp_db(&cell) - AGC_HEADROOM_DB;
        let rsrp = drawn_dbm.min(most).round();
        cell.rsrp_dbm = rsrp;
        if rng.chance(0.5) {
            let mut rival = cell.clone();
            rival.name = format!("rival-{}", d.spec.name.to_lowercase());
            rival.identity = identity + 1;
            rival.bearing_deg = (bearing_deg + rng.between(90.0, 270.0)).rem_euclid(360.0).round();
            // As mounted it arrives over the antenna's back.
            rival.rsrp_dbm = (rsrp - rng.between(0.0, 6.0)).round();
            rival.wanted = false;
            cells.push(rival);
        }
        cells.push(cell);
    }
    let handsets = drawn.iter().take(1 + rng.below(2)).enumerate().map(|(i, d)| {
        let most = d.spec.rated_ul_dbm - d.spec.max_gain_db - HANDSET_HEADROOM_DB;
        let level = rng.between(-66.0, -50.0).min(most).round();
        let mut handset = HandsetSpec::new(&format!("person-{i}"), &d.spec.name, level);
        handset.call_s = rng.between(10.0, 90.0).round();
        handset.pause_s = rng.between(10.0, 120.0).round();
        handset
    });
    Scenario {
        name: String::new(),
        title: String::new(),
        story: String::new(),
        date: "2026-03-02T09:00:00Z".to_owned(),
        handset: handsets.collect(),
        unit: UnitSpec::default(),
        donor: DonorSpec {
            bearing_deg,
            beam_deg: rng.between(40.0, 65.0).round(),
            ..DonorSpec::default()
        },
        band: drawn.into_iter().map(|d| d.spec).collect(),
        cell: cells,
        at: Vec::new(),
        transport: TransportSpec::default(),
        expect: Vec::new(),
    }
}

/// An hour of life: handovers, doors, busy cells, wind within limits, and in a third of the sites a rule that lowers
/// the gain because the donor is strong.
pub(super) fn life(scenario: &mut Scenario, rng: &mut Rng) {
    match rng.below(3) {
        0 => {
            scenario.unit.rule = Rule::UkStaticIndoor;
            for band in &mut scenario.band {
                // More gain than the rule leaves; isolation follows what the rule can leave.
                band.max_gain_db += LAWFUL_REDUCTION_DB;
                band.isolation_dl_db += LAWFUL_REDUCTION_DB;
                band.isolation_ul_db += LAWFUL_REDUCTION_DB;
                band.rated_dl_dbm = 10.0;
            }
            for handset in &mut scenario.handset {
                handset.level_dbm -= LAWFUL_REDUCTION_DB;
            }
        }
        1 => {
            scenario.unit.rule = Rule::UsWideband;
            scenario.unit.idle_mute_s = 300.0;
        }
        _ => {}
    }
    let mut s = 0.0;
    while s < 3_600.0 {
        s += rng.exponential(150.0);
        let event = something(scenario, rng, s);
        scenario.at.push(event);
    }
}

fn something(scenario: &Scenario, rng: &mut Rng, s: f64) -> EventSpec {
    let cell = rng.below(scenario.cell.len());
    let band = scenario
        .band
        .get(rng.below(scenario.band.len()))
        .map(|b| b.name.clone());
    let named = scenario.cell.get(cell).map(|c| c.name.clone());
    let event = EventSpec {
        s: (s * 10.0).round() / 10.0,
        ..EventSpec::default()
    };
    match rng.below(6) {
        0 => EventSpec {
            note: "the modem is handed over".to_owned(),
            identity: Some(3 * (40 + rng.below(60) as u16)),
            cell: named,
            ..event
        },
        1 => EventSpec {
            note: "a door stands open".to_owned(),
            isolation_db: Some(-rng.between(1.0, 3.0)),
            band,
            for_s: Some(rng.between(5.0, 60.0).round()),
            ..event
        },
        2 => EventSpec {
            note: "a busy quarter of an hour".to_owned(),
            load: Some(rng.between(0.7, 1.0)),
            for_s: Some(rng.between(60.0, 900.0).round()),
            cell: named,
            ..event
        },
        3 => EventSpec {
            note: "quiet".to_owned(),
            load: Some(rng.between(0.0, 0.2)),
            for_s: Some(rng.between(60.0, 900.0).round()),
            cell: named,
            ..event
        },
        4 => EventSpec {
            note: "a light wind".to_owned(),
            sway_db: Some(rng.between(0.2, 0.8)),
            period_s: Some(rng.between(3.0, 8.0)),
            for_s: Some(rng.between(30.0, 300.0).round()),
            ..event
        },
        _ => EventSpec {
            note: "somebody stands before the server antenna".to_owned(),
            isolation_db: Some(rng.between(-2.5, 2.0)),
            direction: Some(if rng.chance(0.5) { Way::Dl } else { Way::Ul }),
            for_s: Some(rng.between(2.0, 20.0).round()),
            ..event
        },
    }
}

//! Rows that one call of the crate answers.

use radio::beam::{bearing_bound, curvature_uncertainty, midpoint_deviation};
use radio::channel::{Direction, lte, nr};
use radio::circular::{circular_deviation, circular_mean, resultant_length};
use radio::coax::{Attenuation, HUNDRED_FEET};
use radio::entry::{Insulation, entry_loss, outer_wall_loss};
use radio::exposure::{
    Emission, ReflectionFactor, Tier, eu_reference_level, far_field_distance, safe_distance, us_limit,
};
use radio::feedback::{StableLoop, ripple_period};
use radio::indoor::{Building, indoor_loss};
use radio::isolation::{horizontal, slant, vertical};
use radio::limits::{repeater, uk, us};
use radio::material::Material;
use radio::mismatch::Reflection;
use radio::noise::{Surroundings, business_area_noise_figure, external_noise_figure, noise_floor};
use radio::pattern::{element::parabolic_cut, f1336, pointing_loss};
use radio::propagation::{Place, free_space_loss, line_of_sight_loss, obstructed_loss, shadow_correlation};
use radio::quantities::{ReferencePorts, ResourceBlocks, loaded_rsrq};
use radio::report::{Quantity, threshold_rsrp, threshold_rsrq, threshold_sinr};
use radio::samples::{
    effective_samples, log_normal_mean_offset, quantisation_deviation, rayleigh_deviation,
    rayleigh_mean_offset,
};
use radio::{Bearing, Db, Dbi, Dbm, Degrees, Megahertz, Metres, Microseconds, Probability};

use super::csv::Row;

/// What the crate says to this row, or nothing when no formula goes by its quantity.
pub fn evaluate(row: &Row) -> Option<f64> {
    let families = [
        limits,
        channels,
        reports,
        cells,
        propagation,
        antennas,
        noise,
        feedback,
        cables,
        statistics,
    ];
    families.iter().find_map(|family| family(row))
}

fn limits(row: &Row) -> Option<f64> {
    let mhz = || Megahertz(row.number("f_mhz"));
    let rssi = || Dbm(row.number("rssi_dbm"));
    let limit = |tier| us_limit(tier, mhz()).unwrap();
    Some(match row.quantity.as_str() {
        q if q.starts_with("US fixed wideband booster max gain") => {
            us::max_gain(us::Installation::Fixed, mhz()).unwrap().0
        }
        q if q.starts_with("US provider-specific fixed max gain") => {
            us::max_gain(us::Installation::FixedProviderSpecific, mhz())
                .unwrap()
                .0
        }
        q if q.starts_with("US fixed max noise power") => us::fixed_noise_cap(mhz()).unwrap().0,
        q if q.starts_with("US RSSI-dependent uplink noise limit") => us::noise_limit(rssi()).unwrap().0,
        q if q.starts_with("US RSSI-dependent uplink gain limit") => {
            us::uplink_gain_limit(rssi(), Db(row.number("mscl_db")))
                .unwrap()
                .0
        }
        q if q.starts_with("UK max gain") => uk::max_gain(rssi()).unwrap().0,
        q if q.starts_with("FCC general-population MPE") => limit(Tier::General).0 / 10.0,
        q if q.starts_with("FCC occupational MPE") => limit(Tier::Occupational).0 / 10.0,
        q if q.starts_with("general-population distance")
            || q.starts_with("same with ground")
            || q.starts_with("same at >=") =>
        {
            let emission = Emission {
                eirp: Dbm(row.number("eirp_dbm")),
                limit: limit(Tier::General),
            };
            let reflection = ReflectionFactor::from_power(row.number("refl")).unwrap();
            safe_distance(&[emission], reflection).unwrap().0
        }
        q if q.starts_with("far-field distance") => {
            far_field_distance(Metres(row.number("D_m")), mhz()).unwrap().0
        }
        q if q.starts_with("EU reference level") => eu_reference_level(mhz()).unwrap().0,
        q if q.starts_with("TS 36.106 max out-of-band gain") => {
            repeater::max_gain_outside(Megahertz(row.number("offset_mhz")))
                .unwrap()
                .0
        }
        q if q.starts_with("TS 36.106 EVM limit") => repeater::MAX_EVM * 100.0,
        _ => return None,
    })
}

fn channels(row: &Row) -> Option<f64> {
    let lte_frequency = |direction| {
        let channel = lte::channel(row.number("earfcn") as u32).unwrap();
        assert_eq!(f64::from(channel.band), row.number("band"), "{}", row.id);
        assert!(
            channel.direction == direction || channel.direction == Direction::Both,
            "{}",
            row.id
        );
        channel.frequency.0
    };
    Some(match row.quantity.as_str() {
        "LTE DL EARFCN to frequency [MHz]" => lte_frequency(Direction::Downlink),
        "LTE UL EARFCN to frequency [MHz]" => lte_frequency(Direction::Uplink),
        "NR-ARFCN to frequency [MHz]" => nr::frequency(row.number("nref") as u32).unwrap().0,
        _ => return None,
    })
}

fn reports(row: &Row) -> Option<f64> {
    let index = |quantity: Quantity, key| f64::from(quantity.index(row.number(key)).unwrap());
    let field = || row.number("value") as u8;
    Some(match row.quantity.as_str() {
        q if q.starts_with("LTE RSRP reported index") => index(Quantity::LteRsrp, "rsrp_dbm"),
        q if q.starts_with("LTE RSRQ reported index") => index(Quantity::LteRsrq, "rsrq_db"),
        q if q.starts_with("NR SS-RSRP") => index(Quantity::NrSsRsrp, "rsrp_dbm"),
        q if q.starts_with("NR SS-RSRQ") => index(Quantity::NrSsRsrq, "rsrq_db"),
        q if q.starts_with("NR SS-SINR") => {
            assert_eq!(
                index(Quantity::LteRsSinr, "sinr_db"),
                index(Quantity::NrSsSinr, "sinr_db")
            );
            index(Quantity::NrSsSinr, "sinr_db")
        }
        q if q.starts_with("38.331 RSRP") => threshold_rsrp(field()),
        q if q.starts_with("38.331 RSRQ") => threshold_rsrq(field()),
        q if q.starts_with("38.331 SINR") => threshold_sinr(field()),
        _ => return None,
    })
}

fn cells(row: &Row) -> Option<f64> {
    let blocks = || ResourceBlocks::new(row.number("n_rb") as u16).unwrap();
    Some(match row.quantity.as_str() {
        q if q.starts_with("LTE RSSI-RSRP at full load") => blocks().rssi_above_rsrp().0,
        q if q.starts_with("LTE RSRQ, noise-free fully loaded") => loaded_rsrq().0,
        q if q.starts_with("LTE RSRQ, noise-free empty own cell, 1 CRS port") => {
            ReferencePorts::One.empty_rsrq().0
        }
        q if q.starts_with("RSRQ to RSRP check") => {
            blocks()
                .rsrp(Dbm(row.number("rssi_dbm")), Db(row.number("rsrq_db")))
                .0
        }
        _ => return None,
    })
}

fn propagation(row: &Row) -> Option<f64> {
    let mhz = || Megahertz(row.number("f_mhz"));
    let ghz = || Megahertz(row.number("f_ghz") * 1000.0);
    let d3d = || Metres(row.number("d3d_m"));
    let los = |place| line_of_sight_loss(place, ghz(), d3d()).unwrap().0;
    Some(match row.quantity.as_str() {
        q if q.starts_with("shadow-fading correlation") => {
            shadow_correlation(Metres(row.number("d_m")), Metres(row.number("dcor_m"))).unwrap()
        }
        q if q.starts_with("UMa LOS") => los(Place::UrbanMacro),
        q if q.starts_with("UMi LOS") => los(Place::UrbanMicro),
        q if q.starts_with("InH-Office LOS") => los(Place::IndoorOffice),
        q if q.starts_with("UMa NLOS") => {
            obstructed_loss(Place::UrbanMacro, ghz(), d3d(), Metres(row.number("h_ut_m")))
                .unwrap()
                .0
        }
        q if q.starts_with("O2I wall loss low-loss") => {
            outer_wall_loss(Insulation::Traditional, ghz()).unwrap().0
        }
        q if q.starts_with("O2I wall loss high-loss") => {
            outer_wall_loss(Insulation::ThermallyEfficient, ghz()).unwrap().0
        }
        q if q.starts_with("free-space loss [dB]") => {
            free_space_loss(mhz(), Metres(1000.0 * row.number("d_km")))
                .unwrap()
                .0
        }
        q if q.starts_with("free-space loss exact") => {
            free_space_loss(mhz(), Metres(row.number("d_m"))).unwrap().0
        }
        q if q.starts_with("P.1238") => {
            let floors = row.number("floors") as u32;
            indoor_loss(Building::Office, mhz(), Metres(row.number("d_m")), floors)
                .unwrap()
                .0
        }
        q if q.starts_with("P.2040 conductivity") => material(q).conductivity(ghz()).unwrap(),
        q if q.starts_with("bulk attenuation") => material(q).attenuation_per_metre(ghz()).unwrap().0,
        q if q.starts_with("P.2109") => {
            let insulation = match row.number("type") as u32 {
                1 => Insulation::Traditional,
                2 => Insulation::ThermallyEfficient,
                other => panic!("{}: type {other}", row.id),
            };
            let p = Probability::new(row.number("p")).unwrap();
            entry_loss(insulation, ghz(), Degrees(row.number("elev_deg")), p)
                .unwrap()
                .0
        }
        _ => return None,
    })
}

fn material(quantity: &str) -> Material {
    let named = [
        ("concrete", Material::Concrete),
        ("brick", Material::Brick),
        ("plasterboard", Material::Plasterboard),
        ("wood", Material::Wood),
        ("glass", Material::Glass),
        ("ceiling board", Material::CeilingBoard),
        ("chipboard", Material::Chipboard),
        ("plywood", Material::Plywood),
        ("marble", Material::Marble),
        ("metal", Material::Metal),
    ];
    let found = named.iter().find(|(name, _)| {
        quantity
            .split(" [dB/m]")
            .next()
            .unwrap()
            .ends_with(&format!(" {name}"))
    });
    found.unwrap_or_else(|| panic!("no material in {quantity:?}")).1
}

fn antennas(row: &Row) -> Option<f64> {
    let mhz = || Megahertz(row.number("f_mhz"));
    let distance = || Metres(row.number("d_m"));
    Some(match row.quantity.as_str() {
        q if q.starts_with("3GPP horizontal pattern") => {
            let [phi, width] = ["phi_deg", "phi3_deg"].map(|key| Degrees(row.number(key)));
            parabolic_cut(phi, width, Db(row.number("am_db"))).unwrap().0
        }
        q if q.starts_with("F.1336 rec. 4.1 beamwidth") => {
            f1336::beamwidth(Dbi(row.number("g_dbi"))).unwrap().0
        }
        q if q.starts_with("F.1336 rec. 4.1 pattern gain") => {
            f1336::directional_gain(Dbi(row.number("g_dbi")), Degrees(row.number("phi_deg")))
                .unwrap()
                .0
        }
        q if q.starts_with("horizontal antenna isolation") => {
            let [g1, g2] = ["g1_dbi", "g2_dbi"].map(|key| Dbi(row.number(key)));
            horizontal(mhz(), distance(), g1, g2).unwrap().0
        }
        q if q.starts_with("vertical antenna isolation") => vertical(mhz(), distance()).unwrap().formula.0,
        q if q.starts_with("slant isolation") => {
            let [ih, iv] = ["ih_db", "iv_db"].map(|key| Db(row.number(key)));
            slant(ih, iv, Degrees(row.number("theta_deg"))).unwrap().0
        }
        q if q.starts_with("pointing loss") => {
            pointing_loss(Degrees(row.number("e_deg")), Degrees(row.number("phi3_deg")))
                .unwrap()
                .0
        }
        _ => return None,
    })
}

fn noise(row: &Row) -> Option<f64> {
    let bandwidth = || Megahertz(row.number("b_hz") / 1e6);
    let mhz = || Megahertz(row.number("f_mhz"));
    let external = |surroundings| external_noise_figure(surroundings, mhz()).unwrap().0;
    Some(match row.quantity.as_str() {
        q if q.starts_with("thermal noise kTB") => noise_floor(bandwidth(), Db(0.0)).unwrap().0,
        q if q.starts_with("noise floor at a booster input") => {
            noise_floor(bandwidth(), Db(row.number("nf_db"))).unwrap().0
        }
        q if q.starts_with("P.372 man-made noise figure Fam [dB] city") => external(Surroundings::City),
        q if q.starts_with("P.372 man-made noise figure Fam [dB] residential") => {
            external(Surroundings::Residential)
        }
        q if q.starts_with("P.372 man-made noise figure Fam [dB] rural") => external(Surroundings::Rural),
        q if q.starts_with("P.372 man-made noise figure Fam [dB] quiet") => {
            external(Surroundings::QuietRural)
        }
        q if q.starts_with("P.372 business-area") => business_area_noise_figure(mhz()).unwrap().0,
        _ => return None,
    })
}

fn feedback(row: &Row) -> Option<f64> {
    let stable = || StableLoop::new(Db(row.number("margin_db"))).unwrap();
    let step = || Db(row.number("dg_db"));
    Some(match row.quantity.as_str() {
        q if q.starts_with("closed-loop gain peak") => stable().peak().0,
        q if q.starts_with("closed-loop gain dip") => stable().dip().0,
        q if q.starts_with("ripple peak to peak") => stable().ripple().0,
        q if q.starts_with("echo-limited SINR") => stable().sinr_cap().0,
        q if q.starts_with("echo EVM") => stable().evm() * 100.0,
        q if q.starts_with("mean output power and noise rise") => stable().noise_rise().0,
        q if q.starts_with("phase-averaged dB gain change") => stable().mean_gain_change().0,
        q if q.starts_with("margin needed for 8 % echo EVM") => {
            StableLoop::from_evm(row.number("evm")).unwrap().margin().0
        }
        q if q.starts_with("ripple period in frequency") => {
            ripple_period(Microseconds(row.number("tau_us"))).unwrap().0
        }
        q if q.starts_with("margin estimated from measured ripple") => {
            StableLoop::from_ripple(Db(row.number("ripple_pp_db")))
                .unwrap()
                .margin()
                .0
        }
        // The whole rise of output: the step and the excess at the peak of the ripple.
        q if q.starts_with("margin from a gain step test") => {
            (step() + stable().gain_step_excess_at_peak(step()).unwrap()).0
        }
        q if q.starts_with("excess of wide-band mean output rise") => {
            stable().gain_step_excess(step()).unwrap().0
        }
        _ => return None,
    })
}

fn cables(row: &Row) -> Option<f64> {
    let reflection = || Reflection::from_vswr(row.number("vswr")).unwrap();
    Some(match row.quantity.as_str() {
        q if q.starts_with("coax loss [dB/100 ft]") => {
            let curve = Attenuation {
                conductor: row.number("a"),
                dielectric: row.number("b"),
            };
            curve.per_hundred_feet(Megahertz(row.number("f_mhz"))).unwrap().0
        }
        "unit conversion dB/100 ft to dB/m" => 10.0 / HUNDRED_FEET.0,
        q if q.starts_with("mismatch loss [dB]") => reflection().mismatch_loss().0,
        q if q.starts_with("return loss [dB]") => reflection().return_loss().unwrap().0,
        q if q.starts_with("75/50 ohm step") => {
            Reflection::at_step(row.number("z1"), row.number("z2"))
                .unwrap()
                .mismatch_loss()
                .0
        }
        q if q.starts_with("relative-least-squares fit a") => {
            let table: Vec<_> = row
                .pairs()
                .iter()
                .map(|(f, loss)| (Megahertz(*f), Db(*loss)))
                .collect();
            Attenuation::fit(&table).unwrap().conductor
        }
        _ => return None,
    })
}

fn statistics(row: &Row) -> Option<f64> {
    let sigma = || Db(row.number("sigma_db"));
    let width = || Degrees(row.number("phi3_deg"));
    let directions = || {
        row.inputs
            .split(';')
            .map(|degrees| Bearing::new(degrees.parse().unwrap()))
    };
    Some(match row.quantity.as_str() {
        q if q.starts_with("CRB std of peak azimuth") => {
            bearing_bound(
                sigma(),
                width(),
                row.number("n") as u32,
                Degrees(row.number("step_deg")),
            )
            .unwrap()
            .0
        }
        q if q.starts_with("relative SD of fitted curvature") => {
            let step = Degrees(row.number("step_deg"));
            curvature_uncertainty(sigma(), width(), row.number("n") as u32, step).unwrap()
        }
        q if q.starts_with("SD of azimuth from midpoint of two -3 dB") => {
            midpoint_deviation(sigma(), width(), Db(3.0)).unwrap().0
        }
        q if q.starts_with("SD of azimuth from midpoint of two -10 dB") => {
            midpoint_deviation(sigma(), width(), Db(10.0)).unwrap().0
        }
        q if q.starts_with("effective sample size") => {
            effective_samples(row.number("n"), row.number("rho")).unwrap()
        }
        "circular mean [deg]" => (circular_mean(directions()).unwrap() - Bearing::new(0.0)).0,
        "mean resultant length" => resultant_length(directions()).unwrap(),
        q if q.starts_with("circular std") => circular_deviation(directions()).unwrap().0,
        q if q.starts_with("mean of dB values minus dB of mean power, Rayleigh") => rayleigh_mean_offset().0,
        q if q.starts_with("std of Rayleigh power") => rayleigh_deviation().0,
        q if q.starts_with("dB of linear mean minus mean dB, log-normal") => {
            log_normal_mean_offset(sigma()).unwrap().0
        }
        q if q.starts_with("quantisation std") => {
            quantisation_deviation(Db(row.number("step_db"))).unwrap().0
        }
        _ => return None,
    })
}

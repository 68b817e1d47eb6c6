//! How sensitive the results are to each limit: `--study`. Every limit is moved by a sensible step down and up, the same
//! sites are analysed with all of them at once, and what is found, how late, and what is false is set beside the
//! defaults.

use crate::draw;
use crate::tally::by_code;
use crate::trial;
use booster_simulator::generate::{Family, Reporting};
use loopmargin::analysis::Criteria;

/// A limit, the faults that it bears on, and how it is moved: `Vary` gets −1 or 1.
struct Limit {
    name: &'static str,
    step: &'static str,
    families: &'static [Family],
    vary: fn(&mut Criteria, f64),
}

use Family as F;

const LIMITS: [Limit; 18] = [
    limit("weak.min-snr-db", "1 dB", &[F::WeakDonor], |c, s| {
        c.weak.min_snr_db += s
    }),
    limit("margin.min-db", "1 dB", &[F::LowLoopMargin], |c, s| {
        c.margin.min_db += s
    }),
    limit("gain.min-loss-db", "1 dB", &[F::GainHeldBack], |c, s| {
        c.gain.min_loss_db += s
    }),
    limit("near-far.min-excess-db", "1 dB", &[F::NearFar], |c, s| {
        c.near_far.min_excess_db += s
    }),
    limit("near-far.min-gain-loss-db", "1 dB", &[F::NearFar], |c, s| {
        c.near_far.min_gain_loss_db += s
    }),
    limit("quality.min-sinr-db", "1 dB", &[F::NoisyDonor], |c, s| {
        c.quality.min_sinr_db += s
    }),
    limit(
        "ringing.max-margin-db",
        "1 dB",
        &[F::OscillationUnflagged],
        |c, s| c.ringing.max_margin_db += s,
    ),
    limit(
        "ringing.max-unrest-db",
        "25 %",
        &[F::OscillationUnflagged],
        |c, s| {
            c.ringing.max_unrest_db *= 1.0 + 0.25 * s;
        },
    ),
    limit("uplink.below-cell-floor-db", "1 dB", &[F::UplinkNoise], |c, s| {
        c.uplink.below_cell_floor_db += s
    }),
    limit("uplink.min-gain-loss-db", "1 dB", &[F::UplinkOverload], |c, s| {
        c.uplink.min_gain_loss_db += s
    }),
    limit("uplink.max-imbalance-db", "1 dB", &[F::GainImbalance], |c, s| {
        c.uplink.max_imbalance_db += s
    }),
    limit("change.min-step-db", "1 dB", &[F::StepLoss], |c, s| {
        c.change.min_step_db += s
    }),
    limit("change.min-creep-db", "1 dB", &[F::CreepingLoss], |c, s| {
        c.change.min_creep_db += s
    }),
    limit("change.min-sway-db", "0.3 dB", &[F::SwayingLevel], |c, s| {
        c.change.min_sway_db += 0.3 * s
    }),
    limit("health.max-supply-drop", "25 %", &[F::SupplyDip], |c, s| {
        c.health.max_supply_drop *= 1.0 + 0.25 * s;
    }),
    limit("health.max-temperature-c", "5 °C", &[F::HotUnit], |c, s| {
        c.health.max_temperature_c += 5.0 * s
    }),
    limit(
        "plausibility.max-residual-db",
        "1 dB",
        &[F::ImplausibleReading],
        |c, s| {
            c.plausibility.max_residual_db += s;
        },
    ),
    limit("durations.factor", "25 %", &draw::WITH_LIMIT, |c, s| {
        c.durations.factor *= 1.0 + 0.25 * s
    }),
];

const fn limit(
    name: &'static str,
    step: &'static str,
    families: &'static [Family],
    vary: fn(&mut Criteria, f64),
) -> Limit {
    Limit {
        name,
        step,
        families,
        vary,
    }
}

/// The defaults, then each limit moved down and up.
fn variants() -> Vec<Criteria> {
    let moved = LIMITS.iter().flat_map(|limit| {
        [-1.0, 1.0].map(|sign| {
            let mut criteria = Criteria::default();
            (limit.vary)(&mut criteria, sign);
            criteria
        })
    });
    std::iter::once(Criteria::default()).chain(moved).collect()
}

/// Runs `sites` sites of each fault and `hours` healthy hours, and prints a table in Markdown.
pub fn run(seed: u64, sites: usize, hours: usize, reporting: &Reporting) {
    let criteria = variants();
    let families = draw::faulty();
    let trials = draw::parallel(families.len() * sites, |i| {
        draw::fault(seed, i, families[i % families.len()], reporting, &criteria)
    });
    let trials: Vec<_> = trials.into_iter().flatten().collect();
    let healthy = draw::parallel(hours, |i| {
        trial::healthy(draw::site_seed(seed, 1_000_000 + i, 0), reporting, &criteria)
    });
    println!("| limit | moved by | found | delay p95, s | false in 100 h |");
    println!("| --- | --- | --- | --- | --- |");
    for (n, limit) in LIMITS.iter().enumerate() {
        for (moved, index) in [("–", 0), ("−", 1 + 2 * n), ("+", 2 + 2 * n)] {
            let codes = by_code(&trials, index);
            let of = || limit.families.iter().filter_map(|f| codes.get(f.code()?));
            let (found, missed) = of().fold((0, 0), |(f, m), c| (f + c.found, m + c.missed));
            let worst = of().filter_map(|c| c.percentile_s(0.95)).fold(0.0, f64::max);
            let wrong: usize = healthy.iter().filter_map(|by| by.get(index)).map(Vec::len).sum();
            let step = if index == 0 { "" } else { limit.step };
            println!(
                "| {} | {moved}{step} | {found} of {} | {worst:.1} | {:.1} |",
                limit.name,
                found + missed,
                wrong as f64 * 100.0 / hours.max(1) as f64
            );
        }
    }
}

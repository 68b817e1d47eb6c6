//! Which sites are run, in which order, with which seeds.

use crate::trial::{self, Trial};
use booster_simulator::generate::{Family, Reporting};
use loopmargin::analysis::Criteria;
use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Codes with a limit of their own (design/analysis.md): drawn more often, at least 50 times in 600 sites.
pub const WITH_LIMIT: [Family; 11] = [
    Family::DonorOverload,
    Family::FrontEndOverload,
    Family::NearFar,
    Family::WeakDonor,
    Family::NoisyDonor,
    Family::LowLoopMargin,
    Family::Oscillation,
    Family::OscillationUnflagged,
    Family::UplinkNoise,
    Family::UplinkOverload,
    Family::StepLoss,
];
/// Rounds over them for each of the others.
const ROUNDS: usize = 2;
/// A site in which the fault does not last beyond its limit for as long as counts is drawn again, so many times.
const REDRAWS: u64 = 50;

/// Every family with a fault, those with a limit of their own first.
pub fn faulty() -> Vec<Family> {
    let rest = |f: &Family| *f != Family::Healthy && !WITH_LIMIT.contains(f);
    WITH_LIMIT
        .into_iter()
        .chain(Family::ALL.into_iter().filter(rest))
        .collect()
}

/// The families of `sites` sites out of these, in an order that any number of sites mixes well.
pub fn order(of: &[Family], sites: usize) -> Vec<Family> {
    let (limited, rest): (Vec<Family>, Vec<Family>) = of.iter().partition(|f| WITH_LIMIT.contains(f));
    let mut order = Vec::new();
    for other in rest.iter().map(Some).chain(rest.is_empty().then_some(None)) {
        for _ in 0..ROUNDS {
            order.extend(&limited);
        }
        order.extend(other);
    }
    order.into_iter().cycle().take(sites).collect()
}

/// Seed of one site: any `--seed` gives a family of sites of its own.
pub fn site_seed(seed: u64, index: usize, redraw: u64) -> u64 {
    seed.wrapping_mul(0x9E37_79B9_7F4A_7C15)
        .wrapping_add(index as u64)
        .wrapping_add(redraw << 32)
}

/// Runs the site number `index`, drawn again until its fault counts.
pub fn fault(
    seed: u64,
    index: usize,
    family: Family,
    reporting: &Reporting,
    criteria: &[Criteria],
) -> Option<Trial> {
    (0..REDRAWS).find_map(|n| trial::fault(site_seed(seed, index, n), family, reporting, criteria))
}

/// Runs `count` jobs on every core; results in the order of the jobs.
pub fn parallel<T: Send>(count: usize, job: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let done = Mutex::new(BTreeMap::new());
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..cores {
            scope.spawn(|| {
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    if index >= count {
                        return;
                    }
                    let result = job(index);
                    if let Ok(mut done) = done.lock() {
                        done.insert(index, result);
                    }
                }
            });
        }
    });
    done.into_inner()
        .map(|d| d.into_values().collect())
        .unwrap_or_default()
}

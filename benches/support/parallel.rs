//! Jobs on every core.

use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Runs `count` jobs; results in the order of the jobs.
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

/// Seed of one site: any `--seed` gives a family of sites of its own.
pub fn site_seed(seed: u64, index: usize) -> u64 {
    seed.wrapping_mul(0x9E37_79B9_7F4A_7C15)
        .wrapping_add(index as u64)
}

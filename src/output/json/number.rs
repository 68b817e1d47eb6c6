//! Values as JSON numbers; unknown is null.

use booster_profile::{TenthDb, TenthDbm};

pub(super) fn dbm(level: Option<TenthDbm>) -> Option<f64> {
    level.map(TenthDbm::dbm)
}

pub(super) fn db(ratio: Option<TenthDb>) -> Option<f64> {
    ratio.map(TenthDb::db)
}

pub(super) fn tenths_s(age: Option<u16>) -> Option<f64> {
    age.map(|a| f64::from(a) / 10.0)
}

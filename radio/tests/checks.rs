//! Worked values of `data/checks.csv`: every row either agrees with this crate or stands in a list of rows that
//! are not about radio arithmetic, with the reason. A row nobody knows fails the test.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a wrong row should stop the test"
)]

#[path = "checks/csv.rs"]
mod csv;
#[path = "checks/formulas.rs"]
mod formulas;
#[path = "checks/scan.rs"]
mod scan;

use csv::Row;

/// Rows that are not for this crate: prefix of the quantity, reason.
const ELSEWHERE: [(&str, &str); 10] = [
    (
        "samples per arm to tell two means apart",
        "choice between bearings: aiming",
    ),
    ("KN ", "choice between bearings: aiming"),
    ("OCBA ", "choice between bearings: aiming"),
    (
        "probability of correct selection",
        "choice between bearings: aiming",
    ),
    (
        "expected maximum of k standard normals",
        "choice between bearings: aiming",
    ),
    ("Bechhofer h", "choice between bearings: aiming"),
    (
        "real static",
        "statistics of recordings: the simulator's wander is tested against them",
    ),
    (
        "real stationary indoor",
        "statistics of recordings: the simulator's wander is tested against them",
    ),
    (
        "real 65-degree-class panels",
        "data set that may not be redistributed",
    ),
    (
        "real 45-degree-class panels",
        "data set that may not be redistributed",
    ),
];

/// Rows about the Bluetooth profile: crate booster-profile.
fn is_profile(row: &Row) -> bool {
    row.id.starts_with('H')
}

#[test]
fn every_worked_value_agrees() {
    let rows = csv::parse(include_str!("data/checks.csv"));
    assert!(rows.len() > 250, "the file has lost rows: {}", rows.len());
    let (mut checked, mut wrong) = (0, Vec::new());
    for row in &rows {
        let computed = scan::evaluate(row).or_else(|| formulas::evaluate(row));
        match computed {
            Some(value) => {
                checked += 1;
                let expected: f64 = row.expected.parse().expect("a number");
                if (value - expected).abs() > row.slack() {
                    wrong.push(format!(
                        "{}: {} with {}: {value}, expected {expected}",
                        row.id, row.quantity, row.inputs
                    ));
                }
            }
            None if is_profile(row) => {}
            None if ELSEWHERE
                .iter()
                .any(|(prefix, _)| row.quantity.starts_with(prefix)) => {}
            None => wrong.push(format!("{}: nobody knows {:?}", row.id, row.quantity)),
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(checked > 180, "only {checked} rows checked");
}

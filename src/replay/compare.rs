//! What a session shows against what was expected: each difference in words.

use super::expectations::{ExpectedFinding, accounts};
use super::{Expectations, Outcome, Seen};

/// Every difference, named; none if the session is as expected.
pub fn compare(expected: &Expectations, outcome: &Outcome) -> Vec<String> {
    let mut differences = Vec::new();
    if let Some(verdict) = expected.verdict.filter(|v| *v != outcome.verdict) {
        differences.push(format!(
            "verdict: expected {}, is {}",
            verdict.name(),
            outcome.verdict.name()
        ));
    }
    findings(expected, &outcome.findings, &mut differences);
    let known = accounts(&outcome.accounts);
    for (name, [low, high]) in &expected.accounts {
        match known.iter().find(|(n, _)| n == name) {
            None => differences.push(format!("accounts: there is no account {name}")),
            Some((_, n)) if !(low..=high).contains(&n) => {
                differences.push(format!(
                    "accounts: {name} expected {}, is {n}",
                    range(*low, *high)
                ));
            }
            Some(_) => {}
        }
    }
    figures(expected, outcome, &mut differences);
    differences
}

fn range<T: PartialEq + std::fmt::Display>(low: T, high: T) -> String {
    if low == high {
        low.to_string()
    } else {
        format!("{low} to {high}")
    }
}

fn findings(expected: &Expectations, seen: &[Seen], differences: &mut Vec<String>) {
    let mut left: Vec<&Seen> = seen.iter().collect();
    for finding in &expected.findings {
        let tolerance = finding.time_tolerance_s.unwrap_or(expected.time_tolerance_s);
        let name = name(
            &finding.code,
            finding.band.as_deref(),
            finding.direction.as_deref(),
        );
        // Of several of its kind, the one nearest in time.
        let nearest = left
            .iter()
            .enumerate()
            .filter(|(_, s)| is_about(s, finding))
            .min_by(|(_, a), (_, b)| off(a, finding).total_cmp(&off(b, finding)))
            .map(|(index, _)| index);
        let Some(index) = nearest else {
            differences.push(format!(
                "finding {name}: expected at {} s, is not there",
                finding.raised_s
            ));
            continue;
        };
        let found = left.remove(index);
        if !is_near(Some(finding.raised_s), Some(found.raised.seconds()), tolerance) {
            differences.push(format!(
                "finding {name}: expected at {} s ± {tolerance} s, raised at {} s",
                finding.raised_s,
                found.raised.seconds()
            ));
        }
        let cleared = found.cleared.map(|t| t.seconds());
        if !is_near(finding.cleared_s, cleared, tolerance) {
            let words = |at: Option<f64>| {
                at.map_or("to hold to the end".to_owned(), |t| format!("to clear at {t} s"))
            };
            let is = cleared.map_or("holds to the end".to_owned(), |t| format!("clears at {t} s"));
            differences.push(format!(
                "finding {name} of {} s: expected {} ± {tolerance} s, {is}",
                finding.raised_s,
                words(finding.cleared_s)
            ));
        }
        let severity = found.severity.name();
        if let Some(wanted) = finding.severity.as_deref().filter(|s| *s != severity) {
            differences.push(format!("finding {name}: expected {wanted}, is {severity}"));
        }
    }
    differences.extend(left.iter().map(|s| {
        let name = name(s.code, s.band.as_deref(), s.direction);
        format!("finding {name}: raised at {} s, not expected", s.raised.seconds())
    }));
}

fn name(code: &str, band: Option<&str>, direction: Option<&str>) -> String {
    let parts = [Some(code), band, direction];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" ")
}

fn is_about(seen: &Seen, finding: &ExpectedFinding) -> bool {
    seen.code == finding.code && seen.band == finding.band && seen.direction == finding.direction.as_deref()
}

fn off(seen: &Seen, finding: &ExpectedFinding) -> f64 {
    (seen.raised.seconds() - finding.raised_s).abs()
}

/// Half a millisecond on top: expectations are written to the millisecond.
fn is_near(expected: Option<f64>, seen: Option<f64>, tolerance: f64) -> bool {
    match (expected, seen) {
        (Some(a), Some(b)) => (a - b).abs() <= tolerance + 0.000_5,
        (a, b) => a.is_none() && b.is_none(),
    }
}

fn figures(expected: &Expectations, outcome: &Outcome, differences: &mut Vec<String>) {
    for (band, quantities) in &expected.bands {
        let Some(position) = outcome.bands.iter().position(|(name, _)| name == band) else {
            differences.push(format!("band {band}: expected, is not there"));
            continue;
        };
        for (quantity, bounds) in quantities {
            let known = outcome.statistics.iter().flat_map(|s| s.of(position));
            let tally = known.filter(|(q, _)| q.name == quantity).map(|(_, t)| t).next();
            for (bound, [low, high]) in bounds {
                let what = format!(
                    "{band} {quantity} {}: expected {}",
                    bound.name(),
                    range(*low, *high)
                );
                match tally.and_then(|t| t.figure(*bound)) {
                    None => differences.push(format!("{what}, never reported")),
                    Some(figure) if !(low..=high).contains(&&figure) => {
                        differences.push(format!("{what}, is {:.2}", figure));
                    }
                    Some(_) => {}
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::Severity;
    use crate::analysis::acceptance::Verdict;
    use crate::event::SessionTime;
    use crate::replay::Statistics;
    use crate::session::Integrity;
    use crate::telemetry::Accounts;

    fn seen(code: &'static str, raised_s: f64, cleared_s: Option<f64>) -> Seen {
        let at = |s: f64| SessionTime((s * 1e6) as u64);
        Seen {
            code,
            severity: Severity::Warning,
            band: Some("B2".to_owned()),
            direction: Some("dl"),
            raised: at(raised_s),
            cleared: cleared_s.map(at),
        }
    }

    fn outcome(findings: Vec<Seen>) -> Outcome {
        let accounts = Accounts {
            expected: 10,
            readings: 9,
            lost_on_air: 1,
            ..Accounts::default()
        };
        Outcome {
            accounts,
            bands: vec![("B2".to_owned(), accounts)],
            not_recorded: 0,
            raised: Default::default(),
            findings,
            duration: SessionTime(60_000_000),
            verdict: Verdict::Marginal,
            statistics: Some(Statistics::default()),
            integrity: Integrity::default(),
            differences: Vec::new(),
        }
    }

    #[test]
    fn a_session_is_what_it_was_written_to_be() {
        let outcome = outcome(vec![
            seen("weak-donor", 10.0, Some(20.0)),
            seen("weak-donor", 30.000_4, None),
        ]);
        let text = toml::to_string(&Expectations::of(&outcome)).unwrap();
        let expected: Expectations = toml::from_str(&text).unwrap();
        assert_eq!(compare(&expected, &outcome), Vec::<String>::new(), "{text}");
    }

    #[test]
    fn every_difference_is_named() {
        let was = outcome(vec![
            seen("weak-donor", 10.0, Some(20.0)),
            seen("noisy-donor", 12.0, Some(13.0)),
            seen("near-far", 15.0, None),
        ]);
        let mut expected = Expectations::of(&was);
        expected.verdict = Some(Verdict::Pass);
        expected.findings[0].severity = Some("critical".to_owned());
        expected.accounts.insert("readings".to_owned(), [10, 12]);
        expected.accounts.insert("lunches".to_owned(), [1, 1]);
        expected.bands.insert("B5".to_owned(), Default::default());
        let figures = [(crate::replay::Bound::Mean, [-90.0, -80.0])];
        let quantity = [("rsrp_dbm".to_owned(), figures.into_iter().collect())];
        expected
            .bands
            .insert("B2".to_owned(), quantity.into_iter().collect());
        let is = outcome(vec![
            seen("weak-donor", 11.5, Some(20.9)),
            seen("noisy-donor", 12.0, None),
            seen("hot-unit", 16.0, None),
        ]);
        let said = compare(&expected, &is);
        let wanted = [
            "verdict: expected pass, is marginal",
            "finding weak-donor B2 dl: expected at 10 s ± 1 s, raised at 11.5 s",
            "finding weak-donor B2 dl: expected critical, is warning",
            "finding noisy-donor B2 dl of 12 s: expected to clear at 13 s ± 1 s, holds to the end",
            "finding near-far B2 dl: expected at 15 s, is not there",
            "finding hot-unit B2 dl: raised at 16 s, not expected",
            "accounts: there is no account lunches",
            "accounts: readings expected 10 to 12, is 9",
            "B2 rsrp_dbm mean: expected -90 to -80, never reported",
            "band B5: expected, is not there",
        ];
        assert_eq!(said, wanted);
    }

    #[test]
    fn of_two_of_a_kind_each_takes_the_nearest() {
        let was = outcome(vec![
            seen("weak-donor", 10.0, None),
            seen("weak-donor", 30.0, None),
        ]);
        let is = outcome(vec![seen("weak-donor", 30.2, None)]);
        let said = compare(&Expectations::of(&was), &is);
        assert_eq!(said.len(), 2, "{said:?}");
    }
}

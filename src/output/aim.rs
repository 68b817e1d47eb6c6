//! The result of an aim, for people.

use crate::aiming::Outcome;
use std::io::{self, Write};

/// Prints the result.
///
/// # Errors
/// When the underlying writer fails.
pub fn result(out: &mut impl Write, outcome: &Outcome) -> io::Result<()> {
    writeln!(
        out,
        "bearing     mean   95 % interval     dwell  visits  needs  cells"
    )?;
    for stop in &outcome.stops {
        let sign = if stop.bearing_deg == outcome.best_bearing_deg {
            '*'
        } else {
            ' '
        };
        let needs = match stop.needs_attenuation_db {
            db if db > 0.0 => format!("{db:.0} dB"),
            _ => "-".to_owned(),
        };
        writeln!(
            out,
            "{sign}{:6.1}°  {:7.1}  {:7.1}…{:<7.1}  {:5.1} s  {:6}  {needs:>5}  {:5}",
            stop.bearing_deg, stop.mean, stop.low, stop.high, stop.dwell_s, stop.visits, stop.cells
        )?;
    }
    writeln!(
        out,
        "best {:.1}°: within 1 dB of the best with probability {:.2}{} ({} dwell, {} turns)",
        outcome.best_bearing_deg,
        outcome.probability_within_1db.min(0.99),
        if outcome.probability_within_1db > 0.99 {
            " or more"
        } else {
            ""
        },
        format_args!("{:.0} s", outcome.total_dwell_s),
        outcome.turns
    )?;
    writeln!(
        out,
        "gain {:+.1} dB over the first bearing, {:+.1} dB over the median",
        outcome.gain_over_start_db, outcome.gain_over_median_db
    )?;
    if let (Some(peak), Some(low), Some(high)) = (
        outcome.peak_bearing_deg,
        outcome.peak_low_deg,
        outcome.peak_high_deg,
    ) {
        writeln!(
            out,
            "its cell's peak lies at {peak:.0}° ({low:.0}° to {high:.0}°, 95 %)"
        )?;
    }
    if !outcome.equal.is_empty() {
        let equal: Vec<String> = outcome.equal.iter().map(|b| format!("{b:.1}°")).collect();
        writeln!(out, "as good: {}", equal.join(", "))?;
    }
    if let Some(next) = outcome.next_best_bearing_deg {
        writeln!(out, "for fallback: {next:.1}°")?;
    }
    if outcome.held_down == Some(false) {
        writeln!(
            out,
            "the unit was not held down (aim-safe): where the antenna looked at the server antenna, SINR and gain were \
             not what they will be; aim again with aim-safe on"
        )?;
    }
    if !outcome.complete {
        writeln!(out, "the aim was not finished: more bearings would make it surer")?;
    }
    Ok(())
}

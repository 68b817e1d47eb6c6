//! The result of an aim.

use super::procedure::Advice;
use super::session::Session;
use radio::Bearing;
use serde::Serialize;

/// Probability from which a stop counts as equal to the chosen one.
const EQUAL_FROM: f64 = 0.9;
/// Half width of a 95 % interval in standard deviations.
const INTERVAL: f64 = 1.96;

/// One stop.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StopOutcome {
    /// Bearing in degrees.
    pub bearing_deg: f64,
    /// Mean score in dB or dBm, as the objective has it; foretold from the beam where the stop was not visited.
    pub mean: f64,
    /// Lower end of its 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Seconds measured.
    pub dwell_s: f64,
    /// Times visited.
    pub visits: u32,
    /// Attenuation without which the unit would overload.
    pub needs_attenuation_db: f64,
    /// Cells heard here.
    pub cells: usize,
    /// Probability of being within 1 dB of the best.
    pub probability: f64,
}

/// The result.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Outcome {
    /// Always `aim`.
    #[serde(rename = "type")]
    pub kind: &'static str,
    /// What the bearing was chosen for.
    pub objective: &'static str,
    /// Every stop, in the order of the plan.
    pub stops: Vec<StopOutcome>,
    /// The chosen stop.
    pub best_bearing_deg: f64,
    /// Probability that it is within 1 dB of the best.
    pub probability_within_1db: f64,
    /// Where the peak of its cell lies; `None` when no cell was heard.
    pub peak_bearing_deg: Option<f64>,
    /// Lower (counter-clockwise) end of the peak's 95 % interval.
    pub peak_low_deg: Option<f64>,
    /// Upper end.
    pub peak_high_deg: Option<f64>,
    /// Seconds measured in all.
    pub total_dwell_s: f64,
    /// Moves between stops.
    pub turns: u32,
    /// Bearings that are as good as the chosen one.
    pub equal: Vec<f64>,
    /// Best of the other bearings, for fallback.
    pub next_best_bearing_deg: Option<f64>,
    /// Gain over the first stop, dB.
    pub gain_over_start_db: f64,
    /// Gain over the median stop, dB.
    pub gain_over_median_db: f64,
    /// Dwells lost to the link or repeated on request.
    pub repeated_dwells: u32,
    /// Whether the unit was held down (aim-safe) during every dwell, by its own account; `None` where it gave none.
    pub held_down: Option<bool>,
    /// Whether the procedure came to its end by itself or by the person; false where the session just stops.
    pub complete: bool,
}

impl Outcome {
    /// What is known so far; `None` before the procedure has looked at the whole once.
    pub fn of(session: &Session) -> Option<Self> {
        let (plan, procedure) = (session.plan()?, session.procedure()?);
        let judgement = procedure.judgement()?;
        let belief = procedure.belief();
        let best = judgement.best;
        let bearing = |place: usize| session.bearing(place).map_or(f64::NAN, Bearing::degrees);
        let stops: Vec<StopOutcome> = session
            .places()
            .iter()
            .zip(belief.dwells())
            .enumerate()
            .map(|(i, (bearing, dwell))| {
                let (mean, sd) = (judgement.mean[i], judgement.sd[i]);
                StopOutcome {
                    bearing_deg: bearing.degrees(),
                    mean: rounded(mean),
                    low: rounded(mean - INTERVAL * sd),
                    high: rounded(mean + INTERVAL * sd),
                    dwell_s: rounded(dwell.seconds),
                    visits: dwell.visits,
                    needs_attenuation_db: session.needs_attenuation(i).0,
                    cells: belief.heard_at(i),
                    probability: judgement.good[i],
                }
            })
            .collect();
        let mut means = judgement.mean.clone();
        means.sort_by(f64::total_cmp);
        let others = || (0..stops.len()).filter(|i| *i != best);
        let next = others().max_by(|a, b| judgement.mean[*a].total_cmp(&judgement.mean[*b]));
        let peak = procedure.peak();
        Some(Self {
            kind: "aim",
            objective: plan.objective.name(),
            best_bearing_deg: bearing(best),
            probability_within_1db: judgement.probability,
            peak_bearing_deg: peak.map(|p| rounded(p.bearing.degrees())),
            peak_low_deg: peak.map(|p| rounded(p.low.degrees())),
            peak_high_deg: peak.map(|p| rounded(p.high.degrees())),
            total_dwell_s: rounded(stops.iter().map(|s| s.dwell_s).sum()),
            turns: procedure.turns(),
            equal: others()
                .filter(|i| judgement.good[*i] >= EQUAL_FROM)
                .map(bearing)
                .collect(),
            next_best_bearing_deg: next.map(bearing),
            gain_over_start_db: rounded(
                judgement.mean[best] - judgement.mean[plan.start.min(stops.len() - 1)],
            ),
            gain_over_median_db: rounded(judgement.mean[best] - means[means.len() / 2]),
            repeated_dwells: session.repeated(),
            held_down: session.held_down(),
            complete: session.advice() == Some(Advice::Done),
            stops,
        })
    }
}

/// To a hundredth, by division: nobody needs more.
fn rounded(value: f64) -> f64 {
    libm::round(value * 100.0) / 100.0
}

//! `aim`: guided aiming, by a person, by the simulator, or from a recording.

mod auto;
mod paged;
mod person;
mod said;
mod words;

use super::args::{AimOptions, LookOptions};
use super::exit::Failure;
use super::roof::Roof;
use super::source::SourceName;
use crate::aiming::{Outcome, Plan};
use crate::analysis::Criteria;
use crate::fold::Fold;
use crate::output::aim::result;
use crate::sequencer::Sequencer;
use crate::session::{NotRecording, Reader};
use anyhow::{Context, anyhow};
use auto::Simulated;
use std::fs::File;
use std::io::{self, IsTerminal, Write};
use std::path::Path;

/// Most stops of an aim.
const MOST_STOPS: usize = 72;

pub(super) fn run(options: &AimOptions, look: &LookOptions, allow_control: bool) -> Result<(), Failure> {
    let name = SourceName::parse(&options.from)?;
    if let SourceName::File(path) = &name {
        return finish(replayed(path)?, options);
    }
    let plan = plan(options)?;
    let outcome = match (&name, options.auto) {
        (SourceName::Simulator(site), true) => {
            if options.share.share.is_some() && !options.share.share_aim {
                return Err(Failure::Usage(
                    "aim --auto --share: in virtual time the aim is over in a moment; add --share-aim to turn from the \
                     page, or leave --auto out"
                        .to_owned(),
                ));
            }
            let roof = Roof::open(&options.share, &name, allow_control)?;
            let aim = Simulated::new(options, site.as_deref(), &plan, allow_control)?;
            // A page says when to turn; without one the mount turns by itself.
            if options.share.share_aim {
                paged::run(aim, roof)?
            } else {
                auto::run(aim)?
            }
        }
        (_, true) => {
            return Err(Failure::Usage(
                "aim --auto: only the simulator turns its antenna by itself; use --from sim, or leave --auto out"
                    .to_owned(),
            ));
        }
        (_, false) => {
            let terminal = io::stdout().is_terminal() && io::stdin().is_terminal();
            person::Asked {
                options,
                look,
                name: &name,
                plan: &plan,
                allow_control,
            }
            .run(terminal && !options.plain && !options.json)?
        }
    };
    finish(outcome, options)
}

/// Stops and purpose, from the command line.
fn plan(options: &AimOptions) -> Result<Plan, Failure> {
    let usage = |text: String| Failure::Usage(format!("aim: {text}"));
    let bearings_deg: Vec<f64> = match (options.stops, &options.bearings) {
        (Some(stops), _) => (0..stops)
            .map(|i| 360.0 * f64::from(i) / f64::from(stops))
            .collect(),
        (None, bearings) if !bearings.is_empty() => bearings.clone(),
        _ => {
            return Err(usage(
                "give the stops of the mount: --stops 8, or --bearings 0,30,60".to_owned(),
            ));
        }
    };
    if bearings_deg.iter().any(|b| !(0.0..360.0).contains(b)) {
        return Err(usage("--bearings: degrees from 0 to below 360".to_owned()));
    }
    let mut sorted = bearings_deg.clone();
    sorted.sort_by(f64::total_cmp);
    sorted.dedup();
    if sorted.len() != bearings_deg.len() || !(2..=MOST_STOPS).contains(&sorted.len()) {
        return Err(usage(format!("give 2 to {MOST_STOPS} different bearings")));
    }
    if options.weights.len() > options.bands.len()
        || options.weights.iter().any(|w| !(*w > 0.0 && w.is_finite()))
    {
        return Err(usage(
            "--weights: one number above 0 for each of --bands".to_owned(),
        ));
    }
    if options.beam_width.is_some_and(|w| !(5.0..=180.0).contains(&w)) {
        return Err(usage("--beam-width: 5 to 180 degrees".to_owned()));
    }
    let mut plan = Plan {
        bearings_deg,
        start: 0,
        objective: options.objective.into(),
        bands: options.bands.clone(),
        weights: options.weights.clone(),
        beam_width_deg: options.beam_width,
    };
    if let Some(start) = options.start {
        plan.start = plan.nearest(start).unwrap_or(0);
    }
    Ok(plan)
}

/// The aim of a recording.
fn replayed(path: &Path) -> Result<Option<Outcome>, Failure> {
    let shown = path.display().to_string();
    let file = File::open(path).with_context(|| format!("open {shown}; check the path"))?;
    let mut reader = Reader::open(file).with_context(|| shown.clone())?;
    let header = reader.header().clone();
    let mut sequencer = Sequencer::new(Fold::new(Criteria::default()), NotRecording, header);
    let mut updates = Vec::new();
    while let Some(event) = reader.next_event() {
        sequencer.push(event, &mut updates);
        updates.clear();
    }
    let session = sequencer.fold().aim();
    if session.plan().is_none() {
        return Err(Failure::Failed(anyhow!(
            "aim --from {shown}: no aim was recorded in this session; record one with aim --record"
        )));
    }
    Ok(Outcome::of(session))
}

fn finish(outcome: Option<Outcome>, options: &AimOptions) -> Result<(), Failure> {
    let outcome = outcome.ok_or_else(|| {
        anyhow!("aim: nothing was measured at any bearing; see that the unit reports RSRP (loopmargin watch)")
    })?;
    let mut out = io::stdout().lock();
    if options.json {
        serde_json::to_writer(&mut out, &outcome)?;
        writeln!(out)?;
    } else {
        result(&mut out, &outcome)?;
    }
    Ok(())
}

//! The simulated mount turns when asked: the same procedure in virtual time.

use super::said::Said;
use super::words;
use crate::aiming::{ASK, Keeper, Outcome, Plan, Prompt, Safety, Step};
use crate::analysis::Criteria;
use crate::cli::args::AimOptions;
use crate::cli::exit::Failure;
use crate::cli::source::{scenario, simulated_start};
use crate::event::{LinkState, SessionTime};
use crate::fold::Fold;
use crate::link::Pull;
use crate::link::simulator::SimulatorLink;
use crate::sequencer::Sequencer;
use crate::session::{Clock, DirectRecorder, Header, NotRecording, Overwrite, Record};
use anyhow::anyhow;
use booster_simulator::Simulation;
use std::time::Duration;

/// Time that a turn of the mount takes (common practice, no source).
const TURN: Duration = Duration::from_secs(15);
/// A site at which no aim ends is given up after this much simulated time.
const LIMIT: SessionTime = SessionTime(4 * 3_600 * 1_000_000);

/// Aims at a simulated site.
pub(super) fn run(
    options: &AimOptions,
    site: Option<&str>,
    plan: &Plan,
    allow_control: bool,
) -> Result<Option<Outcome>, Failure> {
    let scenario = scenario(site)?;
    let criteria = Criteria::default();
    let mut header = Header::new(&options.from, simulated_start()?, Clock::Simulated);
    header.criteria = Some(toml::to_string(&criteria)?);
    let recorder: Box<dyn Record> = match &options.record {
        Some(path) => Box::new(DirectRecorder::create(path, Overwrite::Refuse)?),
        None => Box::new(NotRecording),
    };
    words::cautions(allow_control);

    let mut sequencer = Sequencer::new(Fold::new(criteria), recorder, header);
    let mut link = SimulatorLink::new(Simulation::new(&scenario, options.seed));
    let mut updates = Vec::new();
    let mut turning: Option<(usize, SessionTime)> = None;
    let (mut keeper, mut said) = (Keeper::new(allow_control), Said::default());
    let mut now = SessionTime::ZERO;
    sequencer.push(plan.event(now)?, &mut updates);
    while let Some(event) = link.next_event() {
        now = event.at;
        // The antenna comes to rest before what is heard afterwards.
        if let Some((stop, at)) = turning.filter(|(_, at)| *at <= now) {
            turning = None;
            sequencer.push(Step::turned(plan.bearings_deg[stop]).event(at), &mut updates);
        }
        sequencer.push(event, &mut updates);
        updates.clear();
        for request in sequencer.take_requests() {
            link.request(request);
        }
        if now > LIMIT {
            break;
        }
        let fold = sequencer.fold();
        said.safety(fold);
        if keeper.asks(fold, now) {
            link.request(ASK.request());
        }
        let ready = fold.link().state == LinkState::Live && fold.has_begun() && !keeper.waits(fold, now);
        match fold.aim().prompt() {
            Some(Prompt::Turn(stop)) if turning.is_none() && ready => {
                link.simulation_mut().turn(plan.bearings_deg[stop]);
                turning = Some((stop, now + TURN));
            }
            Some(Prompt::Done) => break,
            _ => {}
        }
    }
    let totals = sequencer.end(now, &mut updates);
    if totals.not_recorded > 0 {
        return Err(Failure::Failed(anyhow!(
            "aim: {} events were not recorded; check the space on the disk",
            totals.not_recorded
        )));
    }
    let fold = sequencer.fold();
    if let safety @ Safety::On { .. } = Safety::of(fold, fold.now()) {
        eprintln!("{}", words::still_on(safety));
    }
    Ok(Outcome::of(fold.aim()))
}

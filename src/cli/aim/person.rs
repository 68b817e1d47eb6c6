//! A person turns the antenna: prompts in words, Enter when it rests.

use super::{aim_safe, words};
use crate::aiming::{Outcome, Plan, Prompt, Step};
use crate::analysis::Criteria;
use crate::cli::args::AimOptions;
use crate::cli::exit::Failure;
use crate::cli::live::{Live, sleep_until};
use crate::cli::signals::Signals;
use crate::cli::source::{self, SourceName};
use crate::event::LinkState;
use crate::fold::Fold;
use crate::link::pace::Speed;
use crate::sequencer::Sequencer;
use crate::session::{LiveRecorder, NotRecording, Overwrite, Record};
use tokio::io::{AsyncBufReadExt, BufReader};

/// Aims with a person at the antenna.
pub(super) fn run(
    options: &AimOptions,
    name: &SourceName,
    plan: &Plan,
    allow_control: bool,
) -> Result<Option<Outcome>, Failure> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?;
    let result = runtime.block_on(aim(options, name, plan, allow_control));
    // Reading from the terminal cannot be broken off; nobody waits for it.
    runtime.shutdown_background();
    result
}

async fn aim(
    options: &AimOptions,
    name: &SourceName,
    plan: &Plan,
    allow_control: bool,
) -> Result<Option<Outcome>, Failure> {
    let recorder: Box<dyn Record> = match &options.record {
        Some(path) => Box::new(LiveRecorder::create(path, Overwrite::Refuse)?),
        None => Box::new(NotRecording),
    };
    let mut opened = source::open(name, &options.from, Speed::default(), options.seed)?;
    let criteria = Criteria::default();
    opened.header.criteria = Some(toml::to_string(&criteria)?);
    let sequencer = Sequencer::new(Fold::new(criteria), recorder, opened.header);
    let mut live = Live::new(sequencer, opened.source, None)?;
    let mut updates = Vec::new();
    let mut lines = BufReader::new(tokio::io::stdin()).lines();
    let mut signals = Signals::listen()?;
    let mut signal = None;

    words::CAUTIONS.iter().for_each(|caution| eprintln!("{caution}"));
    eprintln!(
        "{}",
        if allow_control {
            words::HELD
        } else {
            words::BY_HAND
        }
    );
    let now = live.source.now();
    live.sequencer.push(plan.event(now)?, &mut updates);
    let mut safe = false;
    let mut said = None;
    loop {
        let up = live.sequencer.fold().link().state == LinkState::Live;
        if allow_control && up && !safe {
            safe = true;
            live.source.request(aim_safe());
        }
        updates.clear();
        let prompt = live.sequencer.fold().aim().prompt();
        if prompt == Some(Prompt::Done) {
            break;
        }
        if (up || prompt == Some(Prompt::LinkLost)) && said != prompt {
            said = prompt;
            say(plan, prompt);
        }
        let deadline = live.next_moment();
        tokio::select! {
            biased;
            number = signals.next() => {
                signal = Some(number);
                break;
            }
            line = lines.next_line() => {
                let Ok(Some(line)) = line else { break };
                let now = live.source.now();
                let step = match (line.trim(), prompt) {
                    ("r", _) => Step::Repeat,
                    ("u", _) => Step::Undo,
                    ("q", _) => Step::Finish,
                    ("", Some(Prompt::Turn(stop))) => Step::turned(plan.bearings_deg[stop]),
                    (typed, _) => match typed.parse::<f64>() {
                        Ok(bearing) if bearing.is_finite() => Step::turned(bearing),
                        _ => continue,
                    },
                };
                if allow_control && matches!(step, Step::Turned(_)) {
                    live.source.request(aim_safe());
                }
                said = None;
                live.sequencer.push(step.event(now), &mut updates);
            }
            event = live.source.next() => {
                let over = live.event(event, &mut updates);
                if over {
                    break;
                }
            }
            () = sleep_until(deadline) => {
                live.deadline(&mut updates);
            }
        }
    }
    let not_recorded = live.end(&mut updates);
    if not_recorded > 0 {
        eprintln!("loopmargin: aim: {not_recorded} events were not recorded; check the space on the disk");
    }
    let outcome = Outcome::of(live.sequencer.fold().aim());
    live.source.shutdown().await;
    match signal {
        Some(number) => Err(Failure::Signal(number)),
        None => Ok(outcome),
    }
}

fn say(plan: &Plan, prompt: Option<Prompt>) {
    match prompt {
        Some(Prompt::Turn(stop)) => eprintln!(
            "turn to {:.1}°, step behind the antenna, hands off, then Enter (r: repeat the last dwell, u: undo it, \
             q: finish, or type another bearing)",
            plan.bearings_deg[stop]
        ),
        Some(Prompt::Hold) => eprintln!("hold"),
        Some(Prompt::Settle) => eprintln!("hands off, then Enter"),
        Some(Prompt::LinkLost) => {
            eprintln!(
                "the link dropped: this dwell begins anew when it is back; leave the antenna where it is"
            );
        }
        Some(Prompt::Done) => eprintln!("done"),
        None => {}
    }
}

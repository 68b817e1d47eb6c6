//! A person turns the antenna: prompts in words, Enter when it rests.

use super::{aim_safe, mark_event, plan_event, push, take, words};
use crate::aiming::{Advice, FINISH_KEY, Plan, REPEAT_KEY, Session};
use crate::analysis::Criteria;
use crate::cli::args::AimOptions;
use crate::cli::exit::Failure;
use crate::cli::live::{Live, sleep_until};
use crate::cli::signals::Signals;
use crate::cli::source::{self, SourceName};
use crate::event::{Event, EventKind, LinkState};
use crate::fold::{Fold, Update};
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
) -> Result<Session, Failure> {
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
) -> Result<Session, Failure> {
    let recorder: Box<dyn Record> = match &options.record {
        Some(path) => Box::new(LiveRecorder::create(path, Overwrite::Refuse)?),
        None => Box::new(NotRecording),
    };
    let mut opened = source::open(name, &options.from, Speed::default(), options.seed)?;
    let criteria = Criteria::default();
    opened.header.criteria = Some(toml::to_string(&criteria)?);
    let sequencer = Sequencer::new(Fold::new(criteria), recorder, opened.header);
    let mut live = Live::new(sequencer, opened.source, None)?;
    let (mut session, mut updates) = (Session::default(), Vec::new());
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
    push(
        &mut live.sequencer,
        &mut session,
        plan_event(plan, now)?,
        &mut updates,
    );
    let mut safe = false;
    let mut said = None;
    loop {
        let up = live.sequencer.fold().link().state == LinkState::Live;
        if allow_control && up && !safe {
            safe = true;
            live.source.request(aim_safe());
        }
        let advice = session.advice().unwrap_or(Advice::Turn(plan.start));
        if advice == Advice::Done {
            break;
        }
        if up && said != Some(advice) {
            said = Some(advice);
            say(plan, advice);
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
                let key = |name: &str| Event { at: now, kind: EventKind::Key { name: name.to_owned() } };
                let event = match (line.trim(), advice) {
                    ("r", _) => key(REPEAT_KEY),
                    ("q", _) => key(FINISH_KEY),
                    ("", Advice::Turn(stop)) => mark_event(plan, stop, now),
                    (typed, _) => match typed.parse::<f64>().ok().and_then(|b| plan.nearest(b)) {
                        Some(stop) => mark_event(plan, stop, now),
                        None => continue,
                    },
                };
                let finishes = event.kind == key(FINISH_KEY).kind;
                if allow_control && matches!(event.kind, EventKind::Mark(_)) {
                    live.source.request(aim_safe());
                }
                said = None;
                push(&mut live.sequencer, &mut session, event, &mut updates);
                if finishes {
                    break;
                }
            }
            event = live.source.next() => {
                let over = live.event(event, &mut updates);
                tell_interruption(&updates, &session);
                take(&live.sequencer, &mut session, &mut updates);
                if over {
                    break;
                }
            }
            () = sleep_until(deadline) => {
                live.deadline(&mut updates);
                take(&live.sequencer, &mut session, &mut updates);
            }
        }
    }
    let not_recorded = live.end(&mut updates);
    take(&live.sequencer, &mut session, &mut updates);
    if not_recorded > 0 {
        eprintln!("loopmargin: aim: {not_recorded} events were not recorded; check the space on the disk");
    }
    live.source.shutdown().await;
    match signal {
        Some(number) => Err(Failure::Signal(number)),
        None => Ok(session),
    }
}

fn say(plan: &Plan, advice: Advice) {
    match advice {
        Advice::Hold => eprintln!("hold"),
        Advice::Turn(stop) => eprintln!(
            "turn to {:.1}°, step behind the antenna, hands off, then Enter (r: repeat the last dwell, q: finish, or \
             type another bearing)",
            plan.bearings_deg[stop]
        ),
        Advice::Done => eprintln!("done"),
    }
}

fn tell_interruption(updates: &[Update], session: &Session) {
    let lost = updates
        .iter()
        .any(|u| matches!(u, Update::Link { state, .. } if *state == LinkState::BackingOff));
    if lost && session.advice() == Some(Advice::Hold) {
        eprintln!("the link dropped: this dwell begins anew when it is back; leave the antenna where it is");
    }
}

//! A person turns the antenna: on the console, or with prompts in words and Enter when it rests.

use super::said::Said;
use super::words;
use crate::aiming::{Keeper, Outcome, Plan, Prompt, Safety, Step};
use crate::analysis::Criteria;
use crate::cli::args::{AimOptions, LookOptions};
use crate::cli::exit::Failure;
use crate::cli::live::{Live, sleep_until};
use crate::cli::roof::Roof;
use crate::cli::signals::Signals;
use crate::cli::source::{self, SourceName};
use crate::cli::watch::screen_options;
use crate::console::{Surroundings, View};
use crate::control::Ask;
use crate::fold::Fold;
use crate::sequencer::Sequencer;
use crate::session::{NotRecording, Record, record_live};
use tokio::io::{AsyncBufReadExt, BufReader};

/// What was asked for on the command line.
pub(super) struct Asked<'a> {
    pub(super) options: &'a AimOptions,
    pub(super) look: &'a LookOptions,
    pub(super) name: &'a SourceName,
    pub(super) plan: &'a Plan,
    pub(super) allow_control: bool,
}

impl Asked<'_> {
    /// Aims with a person at the antenna, on the console or in lines.
    pub(super) fn run(&self, on_screen: bool) -> Result<Option<Outcome>, Failure> {
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(2)
            .enable_all()
            .build()?;
        let result = runtime.block_on(async {
            let live = self.open()?;
            words::cautions(self.allow_control);
            if on_screen {
                let options = screen_options(Some(View::Aim), Some(self.options.fps), self.look);
                let about = Surroundings {
                    source: self.options.from.clone(),
                    speed: self.options.speed.factor(),
                    kind: self.name.kind(),
                    allow_control: self.allow_control,
                    ..Surroundings::default()
                };
                live.run_on_screen(options, about, None).await
            } else {
                live.run_in_lines(self.plan).await
            }
        });
        // Reading from the terminal cannot be broken off; nobody waits for it.
        runtime.shutdown_background();
        result
    }

    /// The source opened, the plan in the session.
    fn open(&self) -> Result<Live<Box<dyn Record>>, Failure> {
        let options = self.options;
        let recorder: Box<dyn Record> = match &options.record {
            Some(path) => record_live(path)?,
            None => Box::new(NotRecording),
        };
        let mut opened = source::open(self.name, &options.from, options.speed, options.seed)?;
        let criteria = Criteria::default();
        opened.header.criteria = Some(toml::to_string(&criteria)?);
        let sequencer = Sequencer::new(Fold::new(criteria), recorder, opened.header);
        let mut live = Live::new(sequencer, opened.source, None)?;
        live.keeper = Keeper::new(self.allow_control);
        live.roof = Roof::open(&options.share, self.name, self.allow_control)?;
        let now = live.source.now();
        live.sequencer.push(self.plan.event(now)?, &mut Vec::new());
        Ok(live)
    }
}

impl Live<Box<dyn Record>> {
    async fn run_in_lines(mut self, plan: &Plan) -> Result<Option<Outcome>, Failure> {
        let mut updates = Vec::new();
        let mut lines = BufReader::new(tokio::io::stdin()).lines();
        let mut signals = Signals::listen()?;
        let mut signal = None;
        let mut said = Said::default();
        let mut reading = true;
        loop {
            if !updates.is_empty() {
                self.roof.news();
                updates.clear();
            }
            let prompt = self.sequencer.fold().aim().prompt();
            if prompt == Some(Prompt::Done) && !self.may_end_aim_safe() {
                break;
            }
            said.safety(self.sequencer.fold());
            said.prompt(self.sequencer.fold(), &self.keeper, plan);
            let deadline = self.next_moment();
            let due = self.roof.due();
            tokio::select! {
                biased;
                number = signals.next() => {
                    signal = Some(number);
                    break;
                }
                line = lines.next_line(), if reading => {
                    let Ok(Some(line)) = line else {
                        // The page alone will do.
                        reading = false;
                        if self.roof.is_shared() {
                            continue;
                        }
                        break;
                    };
                    if prompt == Some(Prompt::Done) {
                        if line.trim() != "end" {
                            break;
                        }
                        self.source.request(Ask::AimSafeOff.request());
                        continue;
                    }
                    match typed(line.trim(), prompt, plan) {
                        // Nothing was measured yet: there is nothing to end with.
                        Some(Step::Finish) if self.sequencer.fold().aim().procedure().is_none() => break,
                        Some(step) => {
                            said.again();
                            self.step(step, &mut updates);
                        }
                        None => eprintln!("{}", words::KEYS),
                    }
                }
                asked = self.roof.asked() => {
                    self.carry_out(asked, &mut updates);
                    said.again();
                }
                () = due => self.publish(),
                event = self.source.next() => {
                    if self.event(event, &mut updates) {
                        break;
                    }
                }
                () = sleep_until(deadline) => {
                    self.deadline(&mut updates);
                }
            }
        }
        let not_recorded = self.end(&mut updates);
        if not_recorded > 0 {
            eprintln!(
                "loopmargin: aim: {not_recorded} events were not recorded; check the space on the disk"
            );
        }
        let outcome = Outcome::of(self.sequencer.fold().aim());
        if let safety @ Safety::On { .. } = Safety::of(self.sequencer.fold(), self.sequencer.fold().now()) {
            eprintln!(
                "aim-safe is still {}: end it at the unit when hands are off",
                safety.words()
            );
        }
        self.source.shutdown().await;
        match signal {
            Some(number) => Err(Failure::Signal(number)),
            None => Ok(outcome),
        }
    }
}

impl<R: Record> Live<R> {
    /// Whether the unit is held down and this program may end that: never by itself.
    fn may_end_aim_safe(&self) -> bool {
        let fold = self.sequencer.fold();
        let on = matches!(Safety::of(fold, fold.now()), Safety::On { .. });
        self.keeper.is_allowed() && on
    }
}

/// What a line that was typed says was done.
fn typed(line: &str, prompt: Option<Prompt>, plan: &Plan) -> Option<Step> {
    match (line, prompt) {
        ("r", _) => Some(Step::Repeat),
        ("u", _) => Some(Step::Undo),
        ("q", _) => Some(Step::Finish),
        ("m", _) => Some(Step::Moving),
        ("", Some(Prompt::Settle)) => Some(Step::Settled),
        ("", Some(Prompt::Turn(place))) => plan.bearings_deg.get(place).copied().map(Step::turned),
        _ => {
            let bearing = line.parse::<f64>().ok()?;
            (0.0..360.0).contains(&bearing).then(|| Step::turned(bearing))
        }
    }
}

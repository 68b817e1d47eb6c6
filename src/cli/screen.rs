//! The live loop with the console: keys first, then the source, then time, then drawing.

use super::exit::Failure;
use super::live::{Live, sleep_until};
use super::player::{Player, other_speed};
use super::signals::Signals;
use crate::aiming::Outcome;
use crate::analysis::Criteria;
use crate::console::{
    Action, Console, ConsoleError, Options, Play, Position, Queue, Surroundings, background_fault,
};
use crate::event::{Event, EventKind, SessionTime};
use crate::fold::{Fold, Update};
use crate::link::Request;
use crate::link::pace::Paced;
use crate::sequencer::Sequencer;
use crate::session::{Header, NotRecording, Record, record_live};
use std::ffi::OsStr;
use std::path::{Path, PathBuf};

/// Events taken in between two looks at the keys while a recording hurries to another place.
const RUSH: usize = 4_096;

/// What a session needs to begin anew: with another unit, or at an earlier place of a recording.
pub(super) struct Anew {
    pub(super) criteria: Criteria,
    pub(super) header: Header,
    /// The recording that is written, if one is.
    pub(super) record: Option<PathBuf>,
    /// The recording that is played, if one is.
    pub(super) player: Option<Player>,
    /// Sessions so far.
    pub(super) sessions: u32,
}

impl Anew {
    /// A session before its first event. One with another unit is recorded beside the first.
    fn sequencer(&mut self) -> Result<Sequencer<Box<dyn Record>>, String> {
        self.sessions += 1;
        let recorder: Box<dyn Record> = match &self.record {
            None => Box::new(NotRecording),
            Some(first) => record_live(&numbered(first, self.sessions)).map_err(|e| e.to_string())?,
        };
        Ok(Sequencer::new(
            Fold::new(self.criteria.clone()),
            recorder,
            self.header.clone(),
        ))
    }
}

/// `visit.jsonl` becomes `visit-2.jsonl`.
fn numbered(path: &Path, number: u32) -> PathBuf {
    let text = |part: Option<&OsStr>| part.map(|p| p.to_string_lossy().into_owned());
    let stem = text(path.file_stem()).unwrap_or_default();
    let name = match text(path.extension()) {
        Some(extension) => format!("{stem}-{number}.{extension}"),
        None => format!("{stem}-{number}"),
    };
    path.with_file_name(name)
}

/// How a session on the screen ended.
enum Ending {
    Quit,
    Signal(u8),
}

impl Live<Box<dyn Record>> {
    /// Runs on the terminal until the person quits, the time is over, or a signal comes; what came of an aim, if there
    /// was one. A source that runs dry leaves its last state on the screen.
    pub(super) async fn run_on_screen(
        mut self,
        options: Options,
        mut about: Surroundings,
        mut anew: Option<Anew>,
    ) -> Result<Option<Outcome>, Failure> {
        let mut signals = Signals::listen()?;
        let mut console = Console::open(options)?;
        let outcome = self
            .screen_loop(&mut console, &mut signals, &mut about, &mut anew)
            .await;
        let closed = console.close();
        // Whatever happened on the screen, the recording is closed and the adapter left as it was found.
        let not_recorded = self.end(&mut Vec::new());
        let unheard = self.unheard();
        let aimed = Outcome::of(self.sequencer.fold().aim());
        self.source.shutdown().await;
        if not_recorded > 0 {
            eprintln!("loopmargin: {not_recorded} events were not recorded");
        }
        match outcome? {
            Ending::Signal(number) => return Err(Failure::Signal(number)),
            Ending::Quit => closed?,
        }
        match unheard {
            Some(why) if self.until.is_some() => Err(Failure::Failed(why)),
            _ => Ok(aimed),
        }
    }

    async fn screen_loop(
        &mut self,
        console: &mut Console,
        signals: &mut Signals,
        about: &mut Surroundings,
        anew: &mut Option<Anew>,
    ) -> Result<Ending, ConsoleError> {
        let mut updates = Vec::new();
        let mut dry = false;
        self.look_around(about, anew.as_ref());
        console.draw(self.sequencer.fold(), about)?;
        loop {
            let deadline = self.next_moment().filter(|_| !dry);
            let draw = console.due();
            let due = self.roof.due();
            tokio::select! {
                biased;
                number = signals.next() => return Ok(Ending::Signal(number)),
                input = console.input() => {
                    self.look_around(about, anew.as_ref());
                    match console.handle(input?, self.sequencer.fold(), about)? {
                        Some(Action::Quit) => return Ok(Ending::Quit),
                        Some(Action::Interrupt) => return Ok(Ending::Signal(2)),
                        Some(Action::Mark(mark)) => {
                            let at = self.source.now();
                            self.sequencer.push(Event { at, kind: EventKind::Mark(Box::new(mark)) }, &mut updates);
                        }
                        Some(Action::Aim(step)) => {
                            self.step(step, &mut updates);
                            console.draw(self.sequencer.fold(), about)?;
                        }
                        Some(Action::Retry) => self.source.request(Request::Retry),
                        Some(Action::Ask(ask)) => self.source.request(ask.request()),
                        Some(Action::Choose(unit)) => {
                            self.choose(unit, console, anew.as_mut(), &mut updates);
                        }
                        Some(Action::Play(play)) => {
                            match self.play(play, about.now, console, anew.as_mut()) {
                                Ok(went_back) => dry &= !went_back,
                                Err(why) => console.say(about.now, why),
                            }
                            self.look_around(about, anew.as_ref());
                            console.draw(self.sequencer.fold(), about)?;
                        }
                        Some(Action::Suspend | Action::Redraw) | None => {}
                    }
                }
                asked = self.roof.asked() => {
                    self.carry_out(asked, &mut updates);
                    console.changed(&updates);
                }
                () = due => self.publish(),
                () = draw => {
                    self.look_around(about, anew.as_ref());
                    console.draw(self.sequencer.fold(), about)?;
                }
                event = self.source.next(), if !dry => {
                    let mut over = self.event(event, &mut updates);
                    for _ in 0..RUSH {
                        if over || self.stepped(&updates) {
                            break;
                        }
                        let Some(event) = self.source.paced().and_then(Paced::next_in_rush) else {
                            break;
                        };
                        over = self.event(Some((event, None)), &mut updates);
                    }
                    if over {
                        if self.until.is_some() {
                            return Ok(Ending::Quit);
                        }
                        dry = true;
                        // Nothing follows: time stands still, so that what is shown does not grow older.
                        if let Some(paced) = self.source.paced() {
                            paced.arrive();
                            paced.hold(true);
                        }
                    }
                    console.changed(&updates);
                }
                () = sleep_until(deadline) => {
                    if self.deadline(&mut updates) {
                        return Ok(Ending::Quit);
                    }
                    console.changed(&updates);
                }
            }
            if !updates.is_empty() {
                self.roof.news();
                updates.clear();
            }
        }
    }

    /// Leaves the unit for another one, or for a choice. What follows is a session of its own.
    fn choose(
        &mut self,
        unit: Option<String>,
        console: &mut Console,
        anew: Option<&mut Anew>,
        updates: &mut Vec<Update>,
    ) {
        if self.sequencer.fold().telemetry().identity().is_known()
            && let Some(anew) = anew
        {
            let now = self.source.now();
            match anew.sequencer() {
                Ok(next) => {
                    self.end(updates);
                    self.sequencer = next;
                    console.begin_anew();
                }
                Err(why) => return console.say(now, why),
            }
        }
        self.source.request(Request::Choose { unit });
    }

    /// Moves in time. True if it begins anew from the start; an answer in words where it cannot be done.
    fn play(
        &mut self,
        play: Play,
        now: SessionTime,
        console: &mut Console,
        anew: Option<&mut Anew>,
    ) -> Result<bool, String> {
        let Some(paced) = self.source.paced() else {
            return Err("a unit cannot be held".to_owned());
        };
        match play {
            Play::Pause => paced.hold(!paced.is_held()),
            Play::Faster | Play::Slower => {
                paced.set_speed(other_speed(paced.speed(), play == Play::Faster));
            }
            Play::Step => {
                paced.hold(true);
                self.stepping = true;
                paced.rush(SessionTime(u64::MAX));
            }
            _ => {
                let Some(anew) = anew else {
                    return Err("only a recording has another place to go to".to_owned());
                };
                let Some(player) = anew.player.as_ref().filter(|_| anew.record.is_none()) else {
                    return Err("not while it is being recorded: start again without --record".to_owned());
                };
                // Keys in a row add up, though the first is still on its way.
                let from = paced.rushing().filter(|_| !self.stepping).unwrap_or(now);
                self.stepping = false;
                let to = player.target(play, from)?;
                if to < self.sequencer.fold().now() {
                    let source = player.reopen()?;
                    self.sequencer = anew.sequencer()?;
                    console.begin_anew();
                    paced.replace(source);
                    paced.rush(to);
                    return Ok(true);
                }
                paced.rush(to);
            }
        }
        Ok(false)
    }

    /// Whether a step has come to its reading; it ends there.
    fn stepped(&mut self, updates: &[Update]) -> bool {
        let reached = self.stepping && updates.iter().any(|u| matches!(u, Update::Reading { .. }));
        if reached && let Some(paced) = self.source.paced() {
            self.stepping = false;
            paced.arrive();
        }
        reached
    }

    /// What the screen shows about the program itself.
    fn look_around(&mut self, about: &mut Surroundings, anew: Option<&Anew>) {
        about.now = self.source.now().max(self.sequencer.fold().now());
        about.recorder = self.sequencer.recorder_status();
        about.latency = self.latency();
        (about.units, about.choosing) = self.source.units();
        about.queue = self.source.statistics().map(|s| Queue {
            age: s.queue_age,
            waiting: s.waiting,
            dropped: s.dropped,
        });
        about.roof = self.roof.shown();
        if let Some(paced) = self.source.paced() {
            about.paused = paced.is_held();
            about.speed = paced.speed().factor();
            about.position = anew.and_then(|a| a.player.as_ref()).map(|player| Position {
                outline: player.outline(),
                seeking: paced.rushing().filter(|_| !self.stepping),
            });
        }
        about.fault = background_fault();
    }
}

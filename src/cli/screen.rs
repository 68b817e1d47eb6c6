//! The live loop with the console: keys first, then the source, then time, then drawing.

use super::exit::Failure;
use super::live::{Live, sleep_until};
use super::signals::Signals;
use crate::aiming::Outcome;
use crate::console::{Action, Console, ConsoleError, Options, Queue, Surroundings, background_fault};
use crate::event::{Event, EventKind};
use crate::link::Request;
use crate::session::Record;

/// How a session on the screen ended.
enum Ending {
    Quit,
    Signal(u8),
}

impl<R: Record> Live<R> {
    /// What came of an aim, if there was one. Runs on the terminal until the person quits, the time is over, or a signal comes. A source that runs dry leaves
    /// its last state on the screen.
    pub(super) async fn run_on_screen(
        mut self,
        options: Options,
        mut about: Surroundings,
    ) -> Result<Option<Outcome>, Failure> {
        let mut signals = Signals::listen()?;
        let mut console = Console::open(options)?;
        let outcome = self.screen_loop(&mut console, &mut signals, &mut about).await;
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
    ) -> Result<Ending, ConsoleError> {
        let mut updates = Vec::new();
        let mut dry = false;
        self.look_around(about);
        console.draw(self.sequencer.fold(), about)?;
        loop {
            let deadline = self.next_moment().filter(|_| !dry);
            let draw = console.due();
            let due = self.roof.due();
            tokio::select! {
                biased;
                number = signals.next() => return Ok(Ending::Signal(number)),
                input = console.input() => {
                    self.look_around(about);
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
                        Some(Action::Choose(unit)) => self.source.request(Request::Choose { unit }),
                        Some(Action::Play(_)) => {}
                        Some(Action::Suspend | Action::Redraw) | None => {}
                    }
                }
                asked = self.roof.asked() => {
                    self.carry_out(asked, &mut updates);
                    console.changed(&updates);
                }
                () = due => self.publish(),
                () = draw => {
                    self.look_around(about);
                    console.draw(self.sequencer.fold(), about)?;
                }
                event = self.source.next(), if !dry => {
                    if self.event(event, &mut updates) {
                        if self.until.is_some() {
                            return Ok(Ending::Quit);
                        }
                        dry = true;
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

    /// What the screen shows about the program itself.
    fn look_around(&self, about: &mut Surroundings) {
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
        about.fault = background_fault();
    }
}

//! The live loop: source → sequencer → output, with deadlines, signals and the person's keys.

use super::exit::Failure;
use super::roof::Roof;
use super::signals::Signals;
use super::source::Source;
use crate::aiming::{self, ASK, Keeper};
use crate::event::{Event, EventKind, SessionTime};
use crate::fold::Update;
use crate::link::words::{System, explain};
use crate::output::{Latency, Output, Summary};
use crate::sequencer::Sequencer;
use crate::session::{Record, RecorderState};
use crate::share::{Asked, Deed};
use anyhow::anyhow;
use hdrhistogram::Histogram;
use std::io;
use tokio::time::Instant;

/// A session that runs.
pub(super) struct Live<R> {
    pub(super) sequencer: Sequencer<R>,
    pub(super) source: Source,
    /// Session time at which the session ends.
    pub(super) until: Option<SessionTime>,
    pub(super) latency: Histogram<u64>,
    /// Asks for aim-safe while an aim goes on.
    pub(super) keeper: Keeper,
    /// A recording is on its way to its next reading.
    pub(super) stepping: bool,
    /// A step that counts from the next event on.
    turning: Option<aiming::Step>,
    /// Session second in which the recorder was last asked how it stands; `None` once it was told that nothing is
    /// recorded any more.
    recording_asked: Option<u64>,
    pub(super) roof: Roof,
}

/// Why the loop ended.
pub(super) enum Ending {
    /// The source is exhausted, the time is over, or the person quit.
    Done,
    /// A signal.
    Signal(u8),
}

impl<R: Record> Live<R> {
    /// A session about to begin.
    ///
    /// # Errors
    /// When the histogram of latencies cannot be made.
    pub(super) fn new(
        sequencer: Sequencer<R>,
        source: Source,
        until: Option<SessionTime>,
    ) -> anyhow::Result<Self> {
        // 1 µs to a minute, three digits.
        let latency = Histogram::new_with_bounds(1, 60_000_000, 3)?;
        Ok(Self {
            sequencer,
            source,
            until,
            latency,
            keeper: Keeper::default(),
            stepping: false,
            turning: None,
            recording_asked: Some(0),
            roof: Roof::default(),
        })
    }

    /// The same with a roof page.
    pub(super) fn with_roof(self, roof: Roof) -> Self {
        Self { roof, ..self }
    }

    /// Takes in what a person did with the antenna.
    pub(super) fn step(&mut self, step: aiming::Step, updates: &mut Vec<Update>) {
        let bearing = match &step {
            aiming::Step::Turned(mark) => mark.bearing_deg,
            _ => None,
        };
        if bearing.is_some_and(|b| self.source.turned(b)) {
            self.turning = Some(step);
        } else {
            self.sequencer.push(step.event(self.source.now()), updates);
        }
    }

    /// Holds the unit down while hands are on the antenna, where the program may.
    fn keep_safe(&mut self) {
        let fold = self.sequencer.fold();
        if self.keeper.asks(fold, fold.now()) {
            self.source.request(ASK.request());
        }
    }

    /// Says once, within a second of the session, that what should be recorded is not.
    fn tell_not_recording(&mut self, at_end: bool) {
        let second = self.sequencer.fold().now().0 / 1_000_000;
        if self
            .recording_asked
            .is_none_or(|asked| asked == second && !at_end)
        {
            return;
        }
        self.recording_asked = Some(second);
        if let Some(RecorderState::NotRecording { reason }) =
            self.sequencer.recorder_status().map(|s| s.state)
        {
            eprintln!("loopmargin: not recording: {reason}");
            self.recording_asked = None;
        }
    }

    /// Runs to the end without a screen.
    pub(super) async fn run(mut self, output: &mut dyn Output) -> Result<(), Failure> {
        let mut signals = Signals::listen()?;
        let mut updates = Vec::new();
        let ending = loop {
            let deadline = self.next_moment();
            let due = self.roof.due();
            let step = tokio::select! {
                biased;
                number = signals.next() => Step::Signal(number),
                asked = self.roof.asked() => Step::Asked(asked),
                () = due => Step::Publish,
                event = self.source.next() => Step::Event(event),
                () = sleep_until(deadline) => Step::Deadline,
            };
            let over = match step {
                Step::Signal(number) => Some(Ending::Signal(number)),
                Step::Deadline => self.deadline(&mut updates).then_some(Ending::Done),
                Step::Event(event) => self.event(event, &mut updates).then_some(Ending::Done),
                Step::Asked(asked) => {
                    self.carry_out(asked, &mut updates);
                    None
                }
                Step::Publish => {
                    self.publish();
                    None
                }
            };
            self.tell_not_recording(false);
            if !updates.is_empty() {
                self.roof.news();
            }
            let printed = print(&mut updates, &self.sequencer, output);
            if let Err(error) = printed {
                // Whoever read our output is gone; the recording is closed all the same.
                self.end(&mut updates);
                self.source.shutdown().await;
                return Err(error.into());
            }
            if let Some(ending) = over {
                break ending;
            }
        };
        let not_recorded = self.end(&mut updates);
        self.tell_not_recording(true);
        print(&mut updates, &self.sequencer, output)?;
        let latency = self.latency();
        output.summary(&Summary {
            fold: self.sequencer.fold(),
            not_recorded,
            latency,
        })?;
        let unheard = self.unheard();
        self.source.shutdown().await;
        match ending {
            Ending::Done => unheard.map_or(Ok(()), |why| Err(Failure::Failed(why))),
            Ending::Signal(number) => Err(Failure::Signal(number)),
        }
    }

    /// The next moment at which time alone makes something happen.
    pub(super) fn next_moment(&self) -> Option<Instant> {
        let deadline = self.sequencer.next_deadline();
        let next = match (deadline, self.until) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
        next.and_then(|at| self.source.moment(at))
    }

    /// Time has come to a deadline or to the end. True if it is the end.
    pub(super) fn deadline(&mut self, updates: &mut Vec<Update>) -> bool {
        let now = self.source.now();
        // An event that is due before must come before.
        let limit = self.source.peek().map_or(now, |at| at.min(now));
        self.sequencer.advance(limit, updates);
        self.until
            .is_some_and(|until| until <= now && self.source.peek().is_none_or(|at| at > until))
    }

    /// Takes an event in. True if it ends the session.
    pub(super) fn event(
        &mut self,
        arrival: Option<(Event, Option<Instant>)>,
        updates: &mut Vec<Update>,
    ) -> bool {
        let Some((event, arrived)) = arrival else {
            return true;
        };
        if self.until.is_some_and(|until| event.at > until) {
            return true;
        }
        let last = event.kind == EventKind::End;
        let is_value = matches!(event.kind, EventKind::Value { .. });
        let at = event.at;
        self.sequencer.push(event, updates);
        if let Some(step) = self.turning.take() {
            self.sequencer.push(step.event(at), updates);
        }
        self.keep_safe();
        for request in self.sequencer.take_requests() {
            self.source.request(request);
        }
        if is_value && let Some(arrived) = arrived {
            let took = Instant::now().saturating_duration_since(arrived);
            self.latency
                .saturating_record(u64::try_from(took.as_micros()).unwrap_or(u64::MAX).max(1));
        }
        last
    }

    /// Ends the session and closes the recording; the number of events that did not get into it.
    pub(super) fn end(&mut self, updates: &mut Vec<Update>) -> u64 {
        let last = self.sequencer.fold().now();
        // Simulated and recorded time run on to the end that was asked for; a source that ran dry ends where it did.
        let at = match self.until {
            Some(until) if self.source.peek().is_some_and(|at| at > until) => until,
            Some(until) => self.source.now().min(until),
            None => self.source.now(),
        };
        let totals = self.sequencer.end(at.max(last), updates);
        self.roof.close(self.sequencer.fold());
        totals.not_recorded
    }

    /// Hands the state to the roof page.
    pub(super) fn publish(&mut self) {
        self.roof.publish(self.sequencer.fold(), self.source.now());
    }

    /// Does what a page asks for, and answers it.
    pub(super) fn carry_out(&mut self, asked: Asked, updates: &mut Vec<Update>) {
        let now = self.source.now();
        let answer = Deed::of(asked.ask, self.sequencer.fold()).map(|deed| {
            let done = deed.done();
            match deed {
                Deed::Step(step) => self.step(step, updates),
                Deed::Mark(mark) => {
                    let kind = EventKind::Mark(mark);
                    self.sequencer.push(Event { at: now, kind }, updates);
                }
                Deed::AimSafe => {
                    self.roof.aim_safe_asked(now);
                    self.source.request(ASK.request());
                }
            }
            self.roof.news();
            done
        });
        // The page may have gone in the meantime; it asks again under the same number.
        let _ = asked.answer.send(answer);
    }

    /// Why nothing was heard of a unit, if nothing was.
    pub(super) fn unheard(&self) -> Option<anyhow::Error> {
        let link = self.sequencer.fold().link();
        let heard = self.sequencer.fold().telemetry().total().expected > 0;
        (self.source.is_radio() && !heard).then(|| {
            let words = explain(link.state, System::current());
            anyhow!(
                "watch: no reading from a unit ({}): {} {}",
                link.state,
                words.meaning,
                words.next_step
            )
        })
    }

    /// Percentiles so far; `None` before the first value or where nothing is paced.
    pub(super) fn latency(&self) -> Option<Latency> {
        (!self.latency.is_empty()).then(|| Latency {
            p50: self.latency.value_at_quantile(0.5),
            p99: self.latency.value_at_quantile(0.99),
            max: self.latency.max(),
        })
    }
}

/// Waits for a moment; for ever if there is none.
pub(super) async fn sleep_until(moment: Option<Instant>) {
    match moment {
        Some(moment) => tokio::time::sleep_until(moment).await,
        None => std::future::pending().await,
    }
}

enum Step {
    Signal(u8),
    Asked(Asked),
    Publish,
    Deadline,
    Event(Option<(Event, Option<Instant>)>),
}

fn print<R: Record>(
    updates: &mut Vec<Update>,
    sequencer: &Sequencer<R>,
    output: &mut dyn Output,
) -> io::Result<()> {
    for update in updates.drain(..) {
        output.update(&update, sequencer.fold())?;
    }
    Ok(())
}

//! Recording a live session: the caller never waits for a disk.

use super::{Overwrite, RecordError, create, state};
use crate::event::{Event, EventKind, SessionTime};
use crate::session::lock::Lock;
use crate::session::tape::{Sink, Tape};
use crate::session::{Header, Record, RecorderStatus, Totals};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering::Relaxed};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, TrySendError, sync_channel};
use std::sync::{Arc, OnceLock};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

/// Events that may wait for the disk: at 60 a second, more than a minute.
const QUEUE: usize = 4096;

/// How long a loss of power may reach back.
const SYNC_EVERY: Duration = Duration::from_secs(1);

/// Records on a thread of its own. Dropped without [`Record::finish`], it leaves a file that is not closed but holds
/// everything up to that moment.
#[derive(Debug)]
pub struct LiveRecorder {
    path: PathBuf,
    /// `None` once the recording is closed.
    writer: Option<Writer>,
    standing: Arc<Standing>,
    /// Events that found the queue full since the last one that did not, and the stamp of the first.
    gap: Option<(SessionTime, u64)>,
    /// Events that found the queue full, or no writer.
    refused: u64,
    totals: Option<Totals>,
}

#[derive(Debug)]
struct Writer {
    queue: SyncSender<Message>,
    thread: JoinHandle<Totals>,
}

enum Message {
    Begin(Box<Header>),
    Event(Event),
    /// Close the file, into which so many events did not get because the queue was full.
    Finish(u64),
}

/// How the writer stands, for the caller to read at any time.
#[derive(Debug, Default)]
struct Standing {
    bytes: AtomicU64,
    not_recorded: AtomicU64,
    failure: OnceLock<String>,
}

impl LiveRecorder {
    /// Creates the file and starts the writer.
    ///
    /// # Errors
    /// [`RecordError`], which says what to do.
    pub fn create(path: &Path, overwrite: Overwrite) -> Result<Self, RecordError> {
        let (tape, lock) = create(path, overwrite)?;
        Self::start(path, tape, Some(lock), QUEUE)
    }

    pub(in crate::session) fn start(
        path: &Path,
        tape: Tape<impl Sink + Send + 'static>,
        lock: Option<Lock>,
        queue: usize,
    ) -> Result<Self, RecordError> {
        let (queue, messages) = sync_channel(queue);
        let standing = Arc::new(Standing::default());
        let shared = standing.clone();
        let thread = thread::Builder::new()
            .name("recorder".to_owned())
            .spawn(move || {
                let totals = write(tape, &messages, &shared);
                drop(lock);
                totals
            })
            .map_err(RecordError::Thread)?;
        let writer = Some(Writer { queue, thread });
        Ok(Self {
            path: path.to_owned(),
            writer,
            standing,
            gap: None,
            refused: 0,
            totals: None,
        })
    }

    /// Passes an event on if there is room.
    fn offer(&mut self, event: Event) -> bool {
        let Some(writer) = &self.writer else { return false };
        match writer.queue.try_send(Message::Event(event)) {
            Ok(()) => true,
            Err(TrySendError::Full(_) | TrySendError::Disconnected(_)) => false,
        }
    }
}

impl Record for LiveRecorder {
    fn begin(&mut self, header: &Header) {
        if let Some(writer) = &self.writer {
            // The first message finds the queue empty; and a writer that is gone has said why.
            let _ = writer.queue.send(Message::Begin(Box::new(header.clone())));
        }
    }

    fn event(&mut self, event: &Event) {
        // What did not fit is told in its place, so that a replay charges it to the recording and not to the air.
        if let Some((at, count)) = self.gap
            && self.offer(Event {
                at,
                kind: EventKind::Unreadable { lines: Some(count) },
            })
        {
            self.gap = None;
        }
        if self.gap.is_none() && self.offer(event.clone()) {
            return;
        }
        let (at, count) = self.gap.unwrap_or((event.at, 0));
        self.gap = Some((at, count + 1));
        self.refused += 1;
    }

    fn finish(&mut self) -> Totals {
        if let Some(writer) = self.writer.take() {
            if let Some((at, count)) = self.gap.take() {
                let kind = EventKind::Unreadable { lines: Some(count) };
                let _ = writer.queue.send(Message::Event(Event { at, kind }));
            }
            let _ = writer.queue.send(Message::Finish(self.refused));
            self.totals = writer.thread.join().ok();
        }
        self.totals.unwrap_or_default()
    }

    fn status(&self) -> Option<RecorderStatus> {
        let finished = self.totals.is_some();
        // Once closed, the writer's account includes what was refused.
        let refused = if finished { 0 } else { self.refused };
        Some(RecorderStatus {
            path: self.path.clone(),
            bytes: self.standing.bytes.load(Relaxed),
            state: state(self.standing.failure.get().map(String::as_str), finished),
            not_recorded: self.standing.not_recorded.load(Relaxed) + refused,
        })
    }
}

impl Drop for LiveRecorder {
    fn drop(&mut self) {
        if let Some(Writer { queue, thread }) = self.writer.take() {
            drop(queue);
            let _ = thread.join();
        }
    }
}

/// The writer: takes whatever waits, writes it at once, syncs every second.
fn write(mut tape: Tape<impl Sink>, messages: &Receiver<Message>, standing: &Standing) -> Totals {
    let mut synced = Instant::now();
    let mut quiet = true;
    loop {
        let first = messages.recv_timeout(SYNC_EVERY.saturating_sub(synced.elapsed()));
        let gone = matches!(first, Err(RecvTimeoutError::Disconnected));
        for message in first.into_iter().chain(messages.try_iter().take(QUEUE)) {
            match message {
                Message::Begin(header) => tape.begin(&header),
                Message::Event(event) => {
                    tape.event(&event);
                    quiet = false;
                }
                Message::Finish(refused) => {
                    tape.left_out(refused);
                    let totals = tape.close();
                    standing.publish(&tape);
                    return totals;
                }
            }
        }
        // When nothing follows for a second, what came last must not wait for its checkpoint.
        if gone || (quiet && synced.elapsed() >= SYNC_EVERY) {
            tape.checkpoint();
        }
        tape.flush();
        if gone || synced.elapsed() >= SYNC_EVERY {
            tape.sync();
            synced = Instant::now();
            quiet = true;
        }
        standing.publish(&tape);
        if gone {
            return tape.totals();
        }
    }
}

impl Standing {
    fn publish(&self, tape: &Tape<impl Sink>) {
        let (not_recorded, bytes, failure) = tape.standing();
        self.bytes.store(bytes, Relaxed);
        self.not_recorded.store(not_recorded, Relaxed);
        if let Some(failure) = failure {
            let _ = self.failure.set(failure.to_owned());
        }
    }
}

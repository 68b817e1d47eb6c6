//! A session file to its events: streaming, in bounded memory, whatever the file holds.
//!
//! A chunk's events come out only after its checkpoint was found and its checksum agrees; so a damaged file can lose
//! events, but cannot invent any.

use super::checkpoint::{self, Checkpoint};
use super::integrity::{Integrity, Why};
use super::source::Source;
use super::window::Window;
use super::{FORMAT, Header, VERSION, line};
use crate::event::{Event, EventKind, SessionTime};
use memchr::memmem::Finder;
use std::io::Read;
use std::ops::Range;

/// Why a file cannot be replayed at all.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// The beginning is not that of a session file, or is damaged beyond recognition.
    #[error(
        "reading the header: this is not a session file, or its first line is destroyed; \
         `loopmargin session repair FILE --out NEW` keeps every part that is sound"
    )]
    Header,
    /// No part of the file is sound; most likely the recording was cut off before its header was complete.
    #[error(
        "reading the header: no part of this file is sound, it was cut off or destroyed; use another recording"
    )]
    Nothing,
    /// The file follows another version of the format.
    #[error(
        "reading the header: format version {found} is not known here (this is {VERSION}); update loopmargin"
    )]
    Version {
        /// The file's version.
        found: u64,
    },
    /// The file could not be read.
    #[error("reading the header: {0}; check that the file is there and may be read")]
    Io(#[from] std::io::Error),
}

/// Reads a session from any source of bytes, compressed or not.
#[derive(Debug)]
pub struct Reader<R> {
    window: Window<Source<R>>,
    finder: Finder<'static>,
    /// Where to look for the next checkpoint. This and the following positions are offsets in the file.
    search: u64,
    /// End of the last chunk that was accepted or knowingly skipped.
    settled: u64,
    /// Lines of the chunk in hand that are still to come.
    sound: Range<u64>,
    /// Lines of the file up to the last chunk accepted.
    lines: u64,
    /// Complete lines since then that have left the window.
    lines_forgotten: u64,
    /// Lines that turned out to be missing, not yet told.
    gap: Option<Option<u64>>,
    at: SessionTime,
    header: Header,
    integrity: Integrity,
}

impl<R: Read> Reader<R> {
    /// Opens a session for replay.
    ///
    /// A header that is damaged but still recognisable is not an error: nothing is taken from it, and
    /// [`Integrity::header_damaged`] says so.
    ///
    /// # Errors
    /// [`ReadError`], when there is no header to recognise or no sound part at all.
    pub fn open(source: R) -> Result<Self, ReadError> {
        let mut reader = Self::new(Source::new(source)?);
        reader.window.slide(0)?;
        recognise(reader.window.bytes())?;
        if !reader.next_chunk() {
            return Err(ReadError::Nothing);
        }
        reader.take_header();
        Ok(reader)
    }

    /// Opens whatever is left of a session, however its beginning looks.
    ///
    /// # Errors
    /// [`ReadError::Io`], if not even the first bytes can be read.
    pub fn salvage(source: R) -> Result<Self, ReadError> {
        let mut reader = Self::new(Source::new(source)?);
        reader.next_chunk();
        reader.take_header();
        Ok(reader)
    }

    fn new(source: Source<R>) -> Self {
        Self {
            window: Window::new(source),
            finder: Finder::new(checkpoint::KEY),
            search: 0,
            settled: 0,
            sound: 0..0,
            lines: 0,
            lines_forgotten: 0,
            gap: None,
            at: SessionTime::ZERO,
            header: Header::empty(),
            integrity: Integrity::default(),
        }
    }

    /// The file's header.
    pub fn header(&self) -> &Header {
        &self.header
    }

    /// What was read and what was skipped so far; complete once [`Reader::next_event`] gave `None`.
    pub fn integrity(&self) -> &Integrity {
        &self.integrity
    }

    /// The next event; `None` at the end. A part that cannot be read comes as one [`EventKind::Unreadable`], stamped
    /// as the event before it.
    pub fn next_event(&mut self) -> Option<Event> {
        loop {
            if let Some(lines) = self.gap.take() {
                return Some(Event {
                    at: self.at,
                    kind: EventKind::Unreadable { lines },
                });
            }
            if !self.sound.is_empty() {
                let (event, rest) = line::take(self.held(self.sound.clone()));
                let next = self.sound.end - rest.len() as u64;
                match event {
                    Some(event) if event.at >= self.at => {
                        self.sound.start = next;
                        self.at = event.at;
                        self.integrity.events += 1;
                        return Some(event);
                    }
                    _ => {
                        self.integrity
                            .skip(self.sound.start, next - self.sound.start, Why::NotUnderstood);
                        self.sound.start = next;
                        self.gap = Some(Some(1));
                    }
                }
            } else if !self.next_chunk() && self.gap.is_none() {
                return None;
            }
        }
    }

    /// The bytes of a range of the file that lies within the window.
    fn held(&self, range: Range<u64>) -> &[u8] {
        let range = self.index(range.start)..self.index(range.end);
        self.window.bytes().get(range).unwrap_or_default()
    }

    fn index(&self, offset: u64) -> usize {
        usize::try_from(offset.saturating_sub(self.window.offset())).unwrap_or(usize::MAX)
    }

    fn window_end(&self) -> u64 {
        self.window.offset() + self.window.bytes().len() as u64
    }

    /// Goes to the next sound chunk. If there is none, accounts for what is left and returns `false`.
    fn next_chunk(&mut self) -> bool {
        loop {
            while let Some(found) = self.find() {
                if self.accept(found) {
                    return true;
                }
            }
            if self.window.ended() {
                self.account_for_tail();
                return false;
            }
            self.read_on();
        }
    }

    /// The next checkpoint in the window that vouches for a chunk behind the settled part.
    fn find(&mut self) -> Option<Checkpoint> {
        while self.integrity.closed.is_none() {
            let ahead = self.held(self.search..self.window_end());
            let Some(found) = self.finder.find(ahead) else {
                // The key may lie across the window's edge.
                self.search = self
                    .search
                    .max(self.window_end().saturating_sub(checkpoint::KEY.len() as u64 - 1));
                return None;
            };
            let key = self.search + found as u64;
            let whole = key + checkpoint::END_LEN as u64 <= self.window_end();
            if !whole && !self.window.ended() {
                self.search = key;
                return None;
            }
            self.search = key + 1;
            let first = self.window.offset();
            let index = self.index(key);
            let behind = |found: &Checkpoint| first + found.start as u64 >= self.settled;
            if let Some(found) = checkpoint::check(self.window.bytes(), index).filter(behind) {
                return Some(found);
            }
        }
        self.search = self.window_end();
        None
    }

    /// Takes up a sound chunk, and accounts for what lies between it and the one before. `false` for a chunk that
    /// repeats an earlier one.
    fn accept(&mut self, found: Checkpoint) -> bool {
        let first = self.window.offset();
        let [start, lines_end, end] = [found.start, found.lines_end, found.end].map(|i| first + i as u64);
        let before = found.total - found.lines;
        let between = self.settled..start;
        self.settled = self.behind_tail(end);
        self.lines_forgotten = 0;
        let Some(lost) = before.checked_sub(self.lines) else {
            self.integrity
                .skip(between.start, end - between.start, Why::Repeated);
            return false;
        };
        if !between.is_empty() || lost > 0 {
            self.integrity.skip(
                between.start,
                between.end - between.start,
                Why::Damaged { lines: lost },
            );
        }
        if lost > 0 {
            self.integrity.missing += lost;
            self.gap = Some(Some(lost));
        }
        self.lines = found.total;
        self.sound = start..lines_end;
        self.integrity.chunks += 1;
        self.integrity.closed = found.closed;
        true
    }

    /// The end of a checkpoint's line, whose checksum ends at `end`: behind as much of its last bytes as is there.
    fn behind_tail(&self, end: u64) -> u64 {
        let last = self.held(end..self.window_end()).iter().zip(checkpoint::TAIL);
        end + last.take_while(|(found, expected)| found == expected).count() as u64
    }

    fn read_on(&mut self) {
        let settled = self.index(self.settled);
        let forget = settled.max(self.window.excess());
        if let Some(unsettled) = self.window.bytes().get(settled..forget) {
            self.lines_forgotten += memchr::memchr_iter(b'\n', unsettled).count() as u64;
        }
        if let Err(error) = self.window.slide(forget) {
            self.integrity
                .skip(self.window_end(), 0, Why::Io(error.to_string()));
        }
        self.search = self.search.max(self.window.offset());
    }

    /// Reports whatever no checkpoint vouches for at the end of the file. Told once: it is settled then.
    fn account_for_tail(&mut self) {
        let end = self.window_end();
        let tail = self.settled..end;
        self.settled = end;
        if tail.is_empty() {
            return;
        }
        let held = self.held(tail.start.max(self.window.offset())..end);
        let lines = self.lines_forgotten + memchr::memchr_iter(b'\n', held).count() as u64;
        let why = match self.integrity.closed {
            Some(_) => Why::AfterEnd,
            None => {
                self.gap = Some(None);
                Why::AfterLastCheckpoint { lines }
            }
        };
        self.integrity.skip(tail.start, end - tail.start, why);
    }

    /// Takes the header off the first sound chunk, if that is where the file begins.
    fn take_header(&mut self) {
        let line_is_first = self.sound.start == 0 && !self.sound.is_empty();
        let chunk = self.held(self.sound.clone());
        let end = memchr::memchr(b'\n', chunk).map_or(chunk.len(), |i| i + 1);
        let header = serde_json::from_slice::<Header>(&chunk[..end]);
        match header {
            Ok(header) if line_is_first => {
                self.header = header;
                self.sound.start += end as u64;
            }
            _ => {
                self.integrity.header_damaged = true;
                // The header is told apart: it is no event, so its line leaves no gap between events.
                if let Some(Some(lost)) = self.gap {
                    self.integrity.missing = lost.saturating_sub(1);
                    self.gap = (lost > 1).then_some(Some(lost - 1));
                }
            }
        }
    }
}

/// Whether a file begins as a session file of this version.
fn recognise(bytes: &[u8]) -> Result<(), ReadError> {
    let name = format!("{{\"format\":\"{FORMAT}\",\"version\":").into_bytes();
    let Some(version) = bytes.strip_prefix(name.as_slice()) else {
        return Err(if name.starts_with(bytes) {
            ReadError::Nothing
        } else {
            ReadError::Header
        });
    };
    match line::take_number(version) {
        Some((number, _)) if number == u64::from(VERSION) => Ok(()),
        Some((found, _)) => Err(ReadError::Version { found }),
        None if version.iter().all(u8::is_ascii_digit) => Err(ReadError::Nothing),
        None => Err(ReadError::Header),
    }
}

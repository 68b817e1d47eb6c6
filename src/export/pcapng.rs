//! A packet capture in the pcapng format (IETF draft-ietf-opsawg-pcapng), as general packet analysers read it.
//!
//! Link type 201, Bluetooth HCI H4 with a direction in front. Link states, marks and what is missing stand as comments
//! on the packet that follows them.

use super::Exported;
use super::att::{self, Packet, Way};
use super::columns::time_us;
use super::destination::{ExportError, NewFile};
use crate::event::{Event, EventKind, LinkState, Origin, SessionTime};
use crate::session::Reader;
use jiff::Timestamp;
use std::io::{self, Read, Write};
use std::path::Path;

/// Number of the link type.
const LINK_TYPE: u16 = 201;
/// Bytes of comments that may wait for their packet.
const COMMENTS: usize = 16 * 1024;

/// Writes one session.
pub fn write<R: Read>(reader: &mut Reader<R>, folder: &Path, name: &str) -> Result<Exported, ExportError> {
    let mut file = NewFile::create(folder.join(format!("{name}.pcapng")))?;
    let mut capture = Capture {
        out: &mut file,
        started: reader.header().started,
        connected: false,
        comment: String::new(),
        values: 0,
    };
    let written = capture.begin().and_then(|()| {
        let mut last = SessionTime::ZERO;
        while let Some(event) = reader.next_event() {
            capture.event(&event)?;
            last = event.at;
        }
        capture.end(last)
    });
    let rows = capture.values;
    match written {
        Ok(()) => Ok(Exported {
            files: vec![file.finish()?],
            rows,
        }),
        Err(error) => Err(file.failed(error)),
    }
}

struct Capture<'a, W> {
    out: &'a mut W,
    started: Option<Timestamp>,
    connected: bool,
    comment: String,
    values: u64,
}

impl<W: Write> Capture<'_, W> {
    /// Section header and interface description.
    fn begin(&mut self) -> io::Result<()> {
        let mut section = Vec::new();
        section.extend(0x1A2B_3C4D_u32.to_le_bytes());
        section.extend([1, 0, 0, 0]);
        section.extend(u64::MAX.to_le_bytes());
        let program = concat!("loopmargin ", env!("CARGO_PKG_VERSION"));
        option(&mut section, 4, program.as_bytes());
        option(&mut section, 0, &[]);
        self.block(0x0A0D_0D0A, &section)?;
        let mut interface = Vec::new();
        interface.extend(LINK_TYPE.to_le_bytes());
        interface.extend([0; 6]);
        option(&mut interface, 2, b"booster");
        // Time in 10⁻⁶ s.
        option(&mut interface, 9, &[6]);
        option(&mut interface, 0, &[]);
        self.block(1, &interface)
    }

    fn event(&mut self, event: &Event) -> io::Result<()> {
        match &event.kind {
            EventKind::Value {
                characteristic,
                origin,
                bytes,
            } => {
                let packets = match origin {
                    Origin::Pushed => att::pushed(*characteristic, bytes),
                    Origin::Read => att::read(*characteristic, bytes),
                };
                self.values += 1;
                self.while_connected(event.at, &packets)
            }
            EventKind::Written {
                characteristic,
                bytes,
            } => {
                self.values += 1;
                self.while_connected(event.at, &att::written(*characteristic, bytes))
            }
            EventKind::Link { state, detail } => {
                let why = detail.as_ref().map(|d| format!(": {d}")).unwrap_or_default();
                self.remark(&format!("link {}{why}", state.name()));
                self.link(event.at, *state)
            }
            EventKind::Mark(mark) => {
                let mark = serde_json::to_string(mark)?;
                self.remark(&format!("mark {mark}"));
                Ok(())
            }
            EventKind::Dropped { count } => {
                self.remark(&format!("{count} values dropped on this computer"));
                Ok(())
            }
            EventKind::Unreadable { lines } => {
                let count = lines.map_or("an unknown number of".to_owned(), |n| n.to_string());
                self.remark(&format!("{count} events are missing in the recording"));
                Ok(())
            }
            EventKind::Deadline | EventKind::Key { .. } | EventKind::Setting { .. } | EventKind::End => {
                Ok(())
            }
        }
    }

    fn link(&mut self, at: SessionTime, state: LinkState) -> io::Result<()> {
        use LinkState as S;
        match state {
            // Connected from here on; the packets follow with the first value.
            S::Discovering
            | S::CheckingProfile
            | S::Subscribing
            | S::AwaitingFirstValue
            | S::Live
            | S::Stalled
            | S::ProfileMismatch
            | S::PairingNeeded => Ok(()),
            _ if self.connected => {
                self.connected = false;
                self.packet(at, &att::disconnected())
            }
            _ => Ok(()),
        }
    }

    fn while_connected(&mut self, at: SessionTime, packets: &[Packet]) -> io::Result<()> {
        if !self.connected {
            self.connected = true;
            att::connected().iter().try_for_each(|p| self.packet(at, p))?;
        }
        packets.iter().try_for_each(|p| self.packet(at, p))
    }

    /// The session is over: so is the connection, and what is left to say stands there.
    fn end(&mut self, at: SessionTime) -> io::Result<()> {
        if self.connected || !self.comment.is_empty() {
            self.packet(at, &att::disconnected())?;
        }
        Ok(())
    }

    fn remark(&mut self, text: &str) {
        if self.comment.len() + text.len() < COMMENTS {
            if !self.comment.is_empty() {
                self.comment.push('\n');
            }
            self.comment.push_str(text);
        }
    }

    /// An enhanced packet block.
    fn packet(&mut self, at: SessionTime, (way, bytes): &Packet) -> io::Result<()> {
        let time = time_us(self.started, at).map_or(at.0, |us| us.max(0).unsigned_abs());
        let len = u32::try_from(bytes.len() + 4).unwrap_or(u32::MAX);
        let mut block = Vec::with_capacity(64 + bytes.len());
        block.extend(0_u32.to_le_bytes());
        block.extend(((time >> 32) as u32).to_le_bytes());
        block.extend((time as u32).to_le_bytes());
        block.extend(len.to_le_bytes());
        block.extend(len.to_le_bytes());
        block.extend(u32::from(*way == Way::Received).to_be_bytes());
        block.extend_from_slice(bytes);
        pad(&mut block);
        if !self.comment.is_empty() {
            option(&mut block, 1, self.comment.as_bytes());
            option(&mut block, 0, &[]);
            self.comment.clear();
        }
        self.block(6, &block)
    }

    fn block(&mut self, kind: u32, body: &[u8]) -> io::Result<()> {
        let len = u32::try_from(body.len() + 12).unwrap_or(u32::MAX).to_le_bytes();
        self.out.write_all(&kind.to_le_bytes())?;
        self.out.write_all(&len)?;
        self.out.write_all(body)?;
        self.out.write_all(&len)
    }
}

/// Appends an option: number, length, content, filled up to four bytes.
fn option(block: &mut Vec<u8>, number: u16, content: &[u8]) {
    let content = content.get(..usize::from(u16::MAX)).unwrap_or(content);
    block.extend(number.to_le_bytes());
    block.extend((content.len() as u16).to_le_bytes());
    block.extend_from_slice(content);
    pad(block);
}

fn pad(block: &mut Vec<u8>) {
    block.resize(block.len().next_multiple_of(4), 0);
}

//! Session files: the recording of one visit, and how it is read back.
//!
//! The format is open and written down in `src/session/FORMAT.md`. A file holds attribute values as they arrived; what
//! they mean is not this module's business.

mod anonymize;
mod care;
mod checkpoint;
mod encoder;
mod header;
mod hex;
mod integrity;
mod line;
mod lock;
mod reader;
mod record;
mod recorder;
mod source;
mod tape;
mod window;
mod zstd;

pub use anonymize::{StandIns, anonymize};
pub use care::{Summary, repair, summarize};
pub use encoder::{Encoder, LineTooLong, MAX_LINE};
pub use header::{BandEntry, Clock, Header, UnitInfo};
pub use integrity::{Integrity, Skipped, Why};
pub use reader::{ReadError, Reader};
pub use record::{NotRecording, Record, RecorderState, RecorderStatus, Totals};
pub use recorder::{DirectRecorder, LiveRecorder, Overwrite, RecordError, Unwritable, record_live};

/// Name of the format, in the first line of every file.
pub const FORMAT: &str = "loopmargin-session";

/// Version of the format that this program writes, and the only one that it reads.
pub const VERSION: u32 = 1;

#[cfg(test)]
mod tests;

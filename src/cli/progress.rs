//! A progress bar on standard error: for what takes more than two seconds, on a terminal only.

use crate::replay::Found;
use std::io::{self, IsTerminal, Read, Write};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

/// What is done sooner needs no bar.
const AFTER: Duration = Duration::from_secs(2);
/// Time between two drawings.
const EVERY: Duration = Duration::from_millis(200);
/// Width of the bar, characters.
const WIDTH: u64 = 30;

/// A source that counts the bytes read from it.
pub(super) struct Watched<'a, R> {
    source: R,
    read: &'a AtomicU64,
}

impl<'a, R> Watched<'a, R> {
    pub(super) fn new(source: R, read: &'a AtomicU64) -> Self {
        Self { source, read }
    }
}

impl<R: Read> Read for Watched<'_, R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let read = self.source.read(buffer)?;
        self.read.fetch_add(read as u64, Ordering::Relaxed);
        Ok(read)
    }
}

/// How far the reading of some files is.
pub(super) struct Progress<'a> {
    read: &'a AtomicU64,
    /// Bytes in all; `None` where no bar is drawn.
    total: Option<u64>,
    began: Instant,
    drawn: Option<Instant>,
    /// A bar stands on the line.
    stands: bool,
}

impl<'a> Progress<'a> {
    pub(super) fn new(files: &[Found], read: &'a AtomicU64) -> Self {
        let sizes = || {
            files
                .iter()
                .filter_map(|f| f.path.metadata().ok())
                .map(|m| m.len())
        };
        Self {
            read,
            total: io::stderr().is_terminal().then(|| sizes().sum()),
            began: Instant::now(),
            drawn: None,
            stands: false,
        }
    }

    /// Draws the bar if it is time to.
    pub(super) fn show(&mut self) {
        let Some(total) = self.total else { return };
        if self.began.elapsed() < AFTER || self.drawn.is_some_and(|at| at.elapsed() < EVERY) {
            return;
        }
        // What cannot be drawn is not missed.
        let _ = write!(
            io::stderr(),
            "\r{}",
            bar(self.read.load(Ordering::Relaxed), total)
        );
        self.drawn = Some(Instant::now());
        self.stands = true;
    }

    /// Takes the bar off the line, so that other text can stand there.
    pub(super) fn clear(&mut self) {
        if self.stands {
            let _ = write!(io::stderr(), "\r\x1b[K");
            (self.stands, self.drawn) = (false, None);
        }
    }
}

fn bar(read: u64, total: u64) -> String {
    let share = |of: u64| read.min(total) * of / total.max(1);
    let done = share(WIDTH);
    let cells: String = (0..WIDTH).map(|i| if i < done { '#' } else { '.' }).collect();
    format!("[{cells}] {:3} %", share(100))
}

#[cfg(test)]
mod tests {
    use super::bar;

    #[test]
    fn a_bar_fills_and_never_overflows() {
        assert_eq!(bar(0, 0), format!("[{}]   0 %", ".".repeat(30)));
        assert_eq!(
            bar(50, 100),
            format!("[{}{}]  50 %", "#".repeat(15), ".".repeat(15))
        );
        assert_eq!(bar(300, 200), format!("[{}] 100 %", "#".repeat(30)));
    }
}

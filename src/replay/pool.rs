//! Work in parallel whose output comes out in the order of the items, in bounded memory.
//!
//! Every item has a short queue of its own. A worker that is ahead of its turn fills its queue and waits; the items are
//! begun in order, so the one whose turn it is always has a worker.

use std::io::{self, Write};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::thread;
use std::time::Duration;

/// Bytes that are passed on at a time.
const BLOCK: usize = 64 * 1024;
/// Blocks that wait for their turn, per item.
const WAITING: usize = 8;
/// Items that may be begun before the output of the first of them is out.
const AHEAD: usize = 64;
/// How often a caller that is waiting is asked to show how far things are.
const TICK: Duration = Duration::from_millis(200);

/// What comes out of the work on an item.
#[derive(Debug)]
pub enum Piece<R> {
    /// Nothing for a while.
    Tick,
    /// Bytes that it printed.
    Bytes(Vec<u8>),
    /// Its result, after all bytes.
    Done(R),
}

/// Whether to go on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Then {
    /// With the next piece.
    GoOn,
    /// Not at all: nothing more is begun or passed on.
    End,
}

/// Runs `work` on every item with at most `jobs` threads, and gives what comes out to `emit`, all of the first item
/// before anything of the second.
///
/// # Errors
/// The first error of `emit`; nothing more is begun then, and what prints is told that nobody listens.
pub fn in_order<T: Sync, R: Send>(
    jobs: usize,
    items: &[T],
    work: impl Fn(&T, &mut dyn Write) -> R + Sync,
    mut emit: impl FnMut(Piece<R>) -> io::Result<Then>,
) -> io::Result<()> {
    let (senders, receivers): (Vec<_>, Vec<_>) = items
        .iter()
        .map(|_| {
            let (sender, receiver) = sync_channel(WAITING);
            (Mutex::new(Some(sender)), receiver)
        })
        .unzip();
    let next = AtomicUsize::new(0);
    let (begin, begun) = sync_channel(AHEAD);
    let worker = |begin: SyncSender<()>| {
        while begin.send(()).is_ok() {
            let index = next.fetch_add(1, Ordering::Relaxed);
            let (Some(item), Some(slot)) = (items.get(index), senders.get(index)) else {
                return;
            };
            let Some(sender) = slot.lock().ok().and_then(|mut s| s.take()) else {
                return;
            };
            let mut blocks = Blocks::new(sender);
            let result = work(item, &mut blocks);
            blocks.finish(result);
        }
    };
    thread::scope(|scope| {
        for _ in 0..jobs.clamp(1, items.len().max(1)) {
            let begin = begin.clone();
            scope.spawn(|| worker(begin));
        }
        let begun: Receiver<()> = begun;
        // By value: when this ends early, the queues close and the workers notice.
        for receiver in receivers {
            match drain(&receiver, &mut emit) {
                Ok(Then::GoOn) => {}
                end => {
                    next.store(items.len(), Ordering::Relaxed);
                    return end.map(|_| ());
                }
            }
            let _ = begun.recv();
        }
        Ok(())
    })
}

fn drain<R>(
    receiver: &Receiver<Piece<R>>,
    emit: &mut impl FnMut(Piece<R>) -> io::Result<Then>,
) -> io::Result<Then> {
    loop {
        let piece = match receiver.recv_timeout(TICK) {
            Ok(piece) => piece,
            Err(RecvTimeoutError::Timeout) => Piece::Tick,
            Err(RecvTimeoutError::Disconnected) => return Ok(Then::GoOn),
        };
        if emit(piece)? == Then::End {
            return Ok(Then::End);
        }
    }
}

/// Collects what is printed into blocks.
struct Blocks<R> {
    sender: SyncSender<Piece<R>>,
    block: Vec<u8>,
}

impl<R> Blocks<R> {
    fn new(sender: SyncSender<Piece<R>>) -> Self {
        Self {
            sender,
            block: Vec::new(),
        }
    }

    fn finish(mut self, result: R) {
        // Nobody listens any more: then the result is of no use either.
        let _ = self.pass_on().map(|()| self.sender.send(Piece::Done(result)));
    }

    fn pass_on(&mut self) -> io::Result<()> {
        if self.block.is_empty() {
            return Ok(());
        }
        let block = std::mem::take(&mut self.block);
        let gone = |_| io::Error::from(io::ErrorKind::BrokenPipe);
        self.sender.send(Piece::Bytes(block)).map_err(gone)
    }
}

impl<R> Write for Blocks<R> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.block.extend_from_slice(bytes);
        if self.block.len() >= BLOCK {
            self.pass_on()?;
            self.block.reserve(BLOCK + 4096);
        }
        Ok(bytes.len())
    }

    /// What is not complete yet goes out with the result: flushing early would only make small blocks.
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Output and results of a run in which item n prints n lines.
    fn run(jobs: usize, items: &[usize]) -> (String, Vec<usize>) {
        let (mut text, mut results) = (Vec::new(), Vec::new());
        in_order(
            jobs,
            items,
            |n, out| {
                for line in 0..*n {
                    writeln!(out, "{n} {line}").unwrap();
                }
                *n
            },
            |piece| {
                match piece {
                    Piece::Bytes(bytes) => text.extend(bytes),
                    Piece::Done(n) => results.push(n),
                    Piece::Tick => {}
                }
                Ok(Then::GoOn)
            },
        )
        .unwrap();
        (String::from_utf8(text).unwrap(), results)
    }

    #[test]
    fn output_is_the_same_whatever_the_number_of_jobs() {
        // The first prints far more than its queue holds, so that the others have to wait for their turn.
        let items = [200_000, 3, 0, 150_000, 1, 70_000];
        let one = run(1, &items);
        assert_eq!(one.1, items);
        assert_eq!(one.0.lines().count(), items.iter().sum::<usize>());
        for jobs in [2, 5, 40] {
            assert!(run(jobs, &items) == one, "{jobs} jobs");
        }
        assert_eq!(run(3, &[]), (String::new(), vec![]));
    }

    #[test]
    fn nothing_comes_after_the_end() {
        let mut results = Vec::new();
        let emit = |piece| {
            if let Piece::Done(n) = piece {
                results.push(n);
            }
            Ok(if results.len() == 3 { Then::End } else { Then::GoOn })
        };
        in_order(2, &[5, 6, 7, 8, 9], |n, _| *n, emit).unwrap();
        assert_eq!(results, [5, 6, 7]);
    }

    #[test]
    fn a_reader_who_leaves_ends_the_work() {
        let begun = AtomicUsize::new(0);
        let items = [1_000_000_usize; 50];
        let left = in_order(
            2,
            &items,
            |n, out| {
                begun.fetch_add(1, Ordering::Relaxed);
                (0..*n).try_for_each(|_| out.write_all(b"0123456789"))
            },
            |_| Err(io::ErrorKind::BrokenPipe.into()),
        );
        assert_eq!(left.unwrap_err().kind(), io::ErrorKind::BrokenPipe);
        assert!(begun.into_inner() <= 4);
    }
}

//! Who is looking: a bounded list that the console shows.

use std::net::IpAddr;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;
use tokio::sync::watch;

/// Viewers at once.
pub const MOST_VIEWERS: usize = 24;

/// One page that is open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Viewer {
    number: u64,
    /// Address of the phone.
    pub ip: IpAddr,
    /// When its stream began.
    pub since: Instant,
}

/// The list; whoever shows it borrows it from the channel.
#[derive(Debug)]
pub(super) struct Viewers {
    list: watch::Sender<Vec<Viewer>>,
    next: AtomicU64,
}

/// A place in the list, given up when dropped.
#[derive(Debug)]
pub(super) struct Seat {
    viewers: Arc<Viewers>,
    number: u64,
}

impl Viewers {
    pub(super) fn new() -> (Arc<Self>, watch::Receiver<Vec<Viewer>>) {
        let (list, shown) = watch::channel(Vec::new());
        let viewers = Arc::new(Self {
            list,
            next: AtomicU64::new(0),
        });
        (viewers, shown)
    }

    /// A seat for a viewer; `None` when all are taken.
    pub(super) fn admit(self: &Arc<Self>, ip: IpAddr, now: Instant) -> Option<Seat> {
        let number = self.next.fetch_add(1, Ordering::Relaxed);
        let admitted = self.list.send_if_modified(|list| {
            let free = list.len() < MOST_VIEWERS;
            if free {
                list.push(Viewer {
                    number,
                    ip,
                    since: now,
                });
            }
            free
        });
        admitted.then(|| Seat {
            viewers: Arc::clone(self),
            number,
        })
    }
}

impl Drop for Seat {
    fn drop(&mut self) {
        self.viewers
            .list
            .send_modify(|list| list.retain(|v| v.number != self.number));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seats_are_limited_and_come_free_again() {
        let (viewers, shown) = Viewers::new();
        let ip = IpAddr::from([192, 168, 4, 7]);
        let mut seats: Vec<Seat> = (0..MOST_VIEWERS)
            .map(|_| viewers.admit(ip, Instant::now()).unwrap())
            .collect();
        assert!(viewers.admit(ip, Instant::now()).is_none());
        assert_eq!(shown.borrow().len(), MOST_VIEWERS);
        seats.remove(3);
        assert_eq!(shown.borrow().len(), MOST_VIEWERS - 1);
        assert!(viewers.admit(ip, Instant::now()).is_some());
        drop(seats);
        assert!(shown.borrow().is_empty());
    }
}

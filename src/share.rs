//! The roof page: the state of a session on the phone of whoever holds the antenna.
//!
//! A small server on a thread of its own hands out one page and a stream of states ([`snapshot`]); it knows nothing of
//! the session but the last state. What pages ask for ([`Ask`]) goes to the owner of the session through a bounded
//! channel and is pushed through the same sequencer as the console's keys.
//!
//! Off by default; it listens only where it was told, and ends when [`Share`] is dropped. Who has the link may look:
//! it carries a random token (see DEVELOPERS.md for what this does and does not guard against).

pub mod address;
mod ask;
mod assets;
mod cadence;
mod deed;
mod guard;
mod limits;
mod line;
pub mod qr;
mod routes;
mod server;
pub mod snapshot;
mod tls;
mod token;
mod viewers;

pub use ask::{Answer, Ask, Asked, Permission, Walk};
pub use deed::Deed;
pub use viewers::{MOST_VIEWERS, Viewer};

use axum::body::Bytes;
use cadence::Cadence;
use guard::Guard;
use limits::Limits;
use routes::Desk;
use snapshot::Snapshot;
use std::collections::VecDeque;
use std::io;
use std::net::SocketAddr;
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use token::Token;
use tokio::sync::{Semaphore, mpsc, watch};
use tokio::time::Instant;

/// Steps that wait for the owner of the session at most.
const ASKED: usize = 8;

/// How to share.
#[derive(Clone, Copy, Debug)]
pub struct Options {
    /// Where to listen.
    pub at: SocketAddr,
    /// Take any free port where this one is in use.
    pub any_port: bool,
    /// What pages may ask for.
    pub permission: Permission,
    /// Encrypt, with a certificate of this session.
    pub tls: bool,
}

/// What the person needs to open the page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Link {
    /// Address with token.
    pub url: String,
    /// Fingerprint of the certificate (SHA-256), with TLS.
    pub fingerprint: Option<String>,
    /// What pages may ask for.
    pub permission: Permission,
}

impl Link {
    /// The address in the letters that make the smallest code: scheme and host know no case, the token is capitals.
    pub fn for_code(&self) -> String {
        self.url.to_uppercase()
    }

    /// The address without the token.
    pub fn without_token(&self) -> &str {
        self.url.rsplitn(3, '/').last().unwrap_or_default()
    }
}

/// The page cannot be served.
#[derive(Debug, thiserror::Error)]
pub enum ShareError {
    /// The address or port.
    #[error("share: listen on {0}: {1}; give another address or port with --share ADDR:PORT")]
    Listen(SocketAddr, #[source] io::Error),
    /// The thread.
    #[error("share: start the server: {0}; start without --share")]
    Start(#[source] io::Error),
    /// The token.
    #[error(transparent)]
    Token(#[from] token::NoRandomness),
    /// The certificate.
    #[error(transparent)]
    Tls(#[from] tls::TlsError),
}

/// A page that is served, until this is dropped.
#[derive(Debug)]
pub struct Share {
    link: Link,
    frames: watch::Sender<Bytes>,
    asked: mpsc::Receiver<Asked>,
    viewers: watch::Receiver<Vec<Viewer>>,
    cadence: Cadence,
    started: Instant,
    stop: watch::Sender<bool>,
    thread: Option<JoinHandle<()>>,
}

impl Share {
    /// Begins to listen.
    ///
    /// # Errors
    /// When the address cannot be had.
    pub fn start(options: Options) -> Result<Self, ShareError> {
        let listener = server::bind(options.at)
            .or_else(|error| match error.kind() {
                io::ErrorKind::AddrInUse if options.any_port => {
                    server::bind(SocketAddr::new(options.at.ip(), 0))
                }
                _ => Err(error),
            })
            .map_err(|error| ShareError::Listen(options.at, error))?;
        let bound = listener.local_addr().map_err(ShareError::Start)?;
        let token = Token::random()?;
        let ips = if bound.ip().is_unspecified() {
            address::all()
        } else {
            vec![bound.ip()]
        };
        let (tls, fingerprint) = if options.tls {
            let (acceptor, fingerprint) = tls::acceptor(&ips)?;
            (Some(acceptor), Some(fingerprint))
        } else {
            (None, None)
        };
        let link = Link {
            url: url(options.tls, bound, &token),
            fingerprint,
            permission: options.permission,
        };
        let (frames, shown) = watch::channel(Bytes::from_static(b": no state yet\n\n"));
        let (ask, asked) = mpsc::channel(ASKED);
        let (viewers, seen) = viewers::Viewers::new();
        let (stop, stopped) = watch::channel(false);
        let desk = Arc::new(Desk {
            token,
            guard: Guard::new(options.tls, bound, ips),
            permission: options.permission,
            limits: Mutex::new(Limits::default()),
            waiting: Semaphore::new(Desk::most_waiting()),
            viewers,
            frames: shown,
            asked: ask,
            answered: tokio::sync::Mutex::new(VecDeque::new()),
        });
        let thread = server::start(listener, tls, desk, stopped).map_err(ShareError::Start)?;
        Ok(Self {
            link,
            frames,
            asked,
            viewers: seen,
            cadence: Cadence::default(),
            started: Instant::now(),
            stop,
            thread: Some(thread),
        })
    }

    /// What the person needs to open the page.
    pub fn link(&self) -> &Link {
        &self.link
    }

    /// Who is looking.
    pub fn viewers(&self) -> Vec<Viewer> {
        self.viewers.borrow().clone()
    }

    /// The state has changed: send it when [`Share::due`] says so.
    pub fn news(&mut self) {
        self.cadence.news();
    }

    /// Ready when a state is due.
    pub fn due(&self) -> impl Future<Output = ()> + use<> {
        let due = self.cadence.due();
        async move {
            if let Some(due) = due {
                tokio::time::sleep_until(due).await;
            }
        }
    }

    /// Hands the state to every viewer.
    pub fn publish(&mut self, snapshot: &Snapshot) {
        let now = Instant::now();
        self.cadence.sent(now);
        let sent_ms = now.saturating_duration_since(self.started).as_millis();
        let stamped = snapshot::Stamped {
            sent_ms: u64::try_from(sent_ms).unwrap_or(u64::MAX),
            state: snapshot,
        };
        // Names and numbers always become JSON; should they not, the page shows that nothing comes.
        if let Ok(json) = serde_json::to_string(&stamped) {
            self.frames.send_replace(format!("data: {json}\n\n").into());
        }
    }

    /// The next thing that a page asks for. Nothing is lost if the future is dropped.
    pub async fn asked(&mut self) -> Asked {
        match self.asked.recv().await {
            Some(asked) => asked,
            // The server is gone: nobody will ask.
            None => std::future::pending().await,
        }
    }
}

impl Drop for Share {
    fn drop(&mut self) {
        self.stop.send_replace(true);
        // Steps that wait are answered with "gone" at once.
        self.asked.close();
        while self.asked.try_recv().is_ok() {}
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

fn url(tls: bool, bound: SocketAddr, token: &Token) -> String {
    let scheme = if tls { "https" } else { "http" };
    let shown = if bound.ip().is_unspecified() {
        let first = address::private()
            .ok()
            .and_then(|found| found.first().map(|l| l.ip));
        SocketAddr::new(first.unwrap_or(bound.ip()), bound.port())
    } else {
        bound
    };
    format!("{scheme}://{shown}/{}/", token.as_str())
}

#[cfg(test)]
mod tests;

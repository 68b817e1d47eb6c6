//! Signals that end the program: everything is closed first, then the exit code tells which it was.

use std::sync::Arc;
use std::sync::atomic::{AtomicU8, Ordering::Relaxed};

/// Waits for SIGINT, SIGTERM or SIGHUP and gives its number.
pub(super) struct Signals {
    #[cfg(unix)]
    streams: [(u8, tokio::signal::unix::Signal); 3],
    /// Held so that a file that may not grow is an error of writing, which the recorder tells, and not the end.
    #[cfg(unix)]
    _file_size: Option<tokio::signal::unix::Signal>,
}

impl Signals {
    /// Begins to listen: from here on the signals no longer kill the process.
    ///
    /// # Errors
    /// When the system refuses a handler.
    pub(super) fn listen() -> std::io::Result<Self> {
        #[cfg(unix)]
        {
            use tokio::signal::unix::{SignalKind, signal};
            let listen =
                |number: u8| Ok::<_, std::io::Error>((number, signal(SignalKind::from_raw(number.into()))?));
            // 2 SIGINT, 15 SIGTERM, 1 SIGHUP: the same numbers on every system with signals.
            Ok(Self {
                streams: [listen(2)?, listen(15)?, listen(1)?],
                // SIGXFSZ, on Linux and macOS alike.
                _file_size: signal(SignalKind::from_raw(25)).ok(),
            })
        }
        #[cfg(not(unix))]
        Ok(Self {})
    }

    /// The next signal.
    pub(super) async fn next(&mut self) -> u8 {
        #[cfg(unix)]
        {
            let [a, b, c] = &mut self.streams;
            tokio::select! {
                _ = a.1.recv() => a.0,
                _ = b.1.recv() => b.0,
                _ = c.1.recv() => c.0,
            }
        }
        #[cfg(not(unix))]
        {
            // A failure to listen must not look like a signal.
            match tokio::signal::ctrl_c().await {
                Ok(()) => 2,
                Err(_) => std::future::pending().await,
            }
        }
    }
}

/// A signal that came while work without a runtime of its own goes on: read as often as one likes.
#[derive(Debug, Default)]
pub(super) struct Interrupt(AtomicU8);

impl Interrupt {
    /// Listens on a thread of its own from here on. A second signal ends the program at once.
    ///
    /// # Errors
    /// When the system refuses a handler or a thread.
    pub(super) fn listen() -> std::io::Result<Arc<Self>> {
        let interrupt = Arc::new(Self::default());
        let told = interrupt.clone();
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()?;
        let signals = runtime.block_on(async { Signals::listen() });
        let mut signals = signals?;
        std::thread::Builder::new()
            .name("signals".to_owned())
            .spawn(move || {
                runtime.block_on(async {
                    told.0.store(signals.next().await, Relaxed);
                    let second = signals.next().await;
                    std::process::exit(i32::from(second) + 128);
                });
            })?;
        Ok(interrupt)
    }

    /// Number of the signal that came, if one did.
    pub(super) fn signal(&self) -> Option<u8> {
        Some(self.0.load(Relaxed)).filter(|number| *number > 0)
    }
}

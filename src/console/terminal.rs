//! Taking the terminal and giving it back, whatever happens.

use crossterm::event::{DisableFocusChange, EnableFocusChange};
use crossterm::terminal::{EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode};
use crossterm::{cursor, execute};
use std::io::{self, stdout};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, Once, PoisonError};
use std::thread::{self, ThreadId};

/// Whether the terminal is ours now: it is given back once, by whoever comes first.
static TAKEN: AtomicBool = AtomicBool::new(false);

/// What the last panic of another thread said.
static FAULT: Mutex<Option<String>> = Mutex::new(None);

/// The panic of a background task while the console was open, if there was one.
pub fn background_fault() -> Option<String> {
    FAULT.lock().unwrap_or_else(PoisonError::into_inner).clone()
}

/// Switches to the other screen, raw input, no cursor.
pub(super) fn take() -> io::Result<()> {
    TAKEN.store(true, Ordering::SeqCst);
    enable_raw_mode()?;
    execute!(stdout(), EnterAlternateScreen, EnableFocusChange, cursor::Hide)
}

/// Gives the terminal back as it was. Does nothing if that has been done.
pub(super) fn give_back() -> io::Result<()> {
    if !TAKEN.swap(false, Ordering::SeqCst) {
        return Ok(());
    }
    // Each step is tried, whether or not the one before worked.
    let screen = execute!(stdout(), cursor::Show, DisableFocusChange, LeaveAlternateScreen);
    disable_raw_mode().and(screen)
}

/// Gives the terminal back before the message of a panic is printed, if the thread that draws panics. Tasks of the
/// Bluetooth stack may panic without ending the program: their message would tear the screen, so it is kept for
/// [`background_fault`].
pub(super) fn give_back_on_panic() {
    static ONCE: Once = Once::new();
    let drawing = thread::current().id();
    ONCE.call_once(|| {
        let before = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |info| {
            if !TAKEN.load(Ordering::SeqCst) {
                before(info);
            } else if is_ours(drawing) {
                // The panic is on its way already; there is nobody to tell that the terminal refused.
                let _ = give_back();
                before(info);
            } else {
                *FAULT.lock().unwrap_or_else(PoisonError::into_inner) = Some(info.to_string());
            }
        }));
    });
}

fn is_ours(drawing: ThreadId) -> bool {
    thread::current().id() == drawing
}

/// Gives the terminal back and stops the whole job, as Ctrl-Z does in the shell; takes the terminal again when
/// continued.
#[cfg(unix)]
pub(super) fn suspend() -> io::Result<()> {
    use rustix::process::{Signal, getpid, getsid, kill_current_process_group};
    // Nobody could continue the leader of a session.
    if getsid(None)? == getpid() {
        return Ok(());
    }
    give_back()?;
    kill_current_process_group(Signal::STOP)?;
    take()
}

/// Systems without job control stay where they are.
#[cfg(not(unix))]
pub(super) fn suspend() -> io::Result<()> {
    Ok(())
}

/// Waits for SIGTSTP, which another program sends where Ctrl-Z would have been pressed.
pub(super) struct StopSignal {
    #[cfg(unix)]
    stream: Option<tokio::signal::unix::Signal>,
}

impl StopSignal {
    /// Begins to listen. Where the system refuses, the signal keeps its usual effect.
    pub(super) fn listen() -> Self {
        Self {
            #[cfg(unix)]
            stream: {
                use tokio::signal::unix::{SignalKind, signal};
                signal(SignalKind::from_raw(rustix::process::Signal::TSTP.as_raw())).ok()
            },
        }
    }

    /// The next signal; never ready where there is none.
    pub(super) async fn next(&mut self) {
        #[cfg(unix)]
        if let Some(stream) = &mut self.stream
            && stream.recv().await.is_some()
        {
            return;
        }
        std::future::pending().await
    }
}

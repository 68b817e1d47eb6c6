//! The program in a real pseudo-terminal, and what its screen shows.

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::sync::{Arc, Condvar, Mutex};
use std::time::Duration;

/// Longest wait for something to appear. Nothing is asserted about how long it takes; a hang must end.
const PATIENCE: Duration = Duration::from_secs(60);

/// A program in a terminal of 80 by 24.
pub struct Terminal {
    pub child: Box<dyn Child + Send + Sync>,
    keys: Box<dyn Write + Send>,
    pub screen: Arc<(Mutex<vt100::Parser>, Condvar)>,
    pub master: Box<dyn MasterPty + Send>,
    /// Settings of the terminal before the program started.
    pub before: String,
}

impl Terminal {
    pub fn start(args: &[&str]) -> Self {
        Self::start_program(env!("CARGO_BIN_EXE_loopmargin"), args)
    }

    pub fn start_program(program: &str, args: &[&str]) -> Self {
        let size = PtySize {
            rows: 24,
            cols: 80,
            pixel_width: 0,
            pixel_height: 0,
        };
        let pair = native_pty_system().openpty(size).expect("a pseudo-terminal");
        let mut command = CommandBuilder::new(program);
        command.args(args);
        command.env("TERM", "xterm-256color");
        command.env("LANG", "C.UTF-8");
        let before = settings(&*pair.master);
        let child = pair.slave.spawn_command(command).expect("the program starts");
        drop(pair.slave);
        let mut reader = pair.master.try_clone_reader().expect("a reader");
        let keys = pair.master.take_writer().expect("a writer");
        let screen = Arc::new((Mutex::new(vt100::Parser::new(24, 80, 0)), Condvar::new()));
        let shared = Arc::clone(&screen);
        std::thread::spawn(move || {
            let mut buffer = [0; 4096];
            while let Ok(n @ 1..) = reader.read(&mut buffer) {
                shared.0.lock().expect("the screen").process(&buffer[..n]);
                shared.1.notify_all();
            }
        });
        Self {
            child,
            keys,
            screen,
            master: pair.master,
            before,
        }
    }

    /// Waits until the screen is as `wanted`.
    pub fn wait_for(&self, what: &str, wanted: impl Fn(&vt100::Screen) -> bool) {
        let guard = self.screen.0.lock().expect("the screen");
        let (guard, timeout) = self
            .screen
            .1
            .wait_timeout_while(guard, PATIENCE, |parser| !wanted(parser.screen()))
            .expect("the screen");
        assert!(
            !timeout.timed_out(),
            "waiting for {what}:\n{}",
            guard.screen().contents()
        );
    }

    pub fn wait_for_text(&self, text: &str) {
        self.wait_for(text, |screen| screen.contents().contains(text));
    }

    pub fn press(&mut self, keys: &str) {
        self.keys.write_all(keys.as_bytes()).expect("keys");
        self.keys.flush().expect("keys");
    }

    /// Waits for the end and gives the exit code; the terminal must have been given back.
    pub fn end(mut self) -> u32 {
        let code = self.child.wait().expect("the end").exit_code();
        self.wait_for("the terminal to be given back", |screen| {
            !screen.alternate_screen() && !screen.hide_cursor()
        });
        assert_eq!(settings(&*self.master), self.before);
        code
    }
}

/// Echo, line editing and the like, as the terminal has them.
pub fn settings(master: &dyn MasterPty) -> String {
    format!("{:?}", master.get_termios().expect("settings of a terminal"))
}

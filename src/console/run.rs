//! The terminal and when to draw on it. The run loop stays with the composition root:
//!
//! ```text
//! loop {
//!     let due = console.due();
//!     tokio::select! {
//!         biased;                                     // input first: keys never wait for data
//!         input = console.input() => match console.handle(input?, &fold, &about)? {
//!             Some(Action::Quit) => break,
//!             …
//!         },
//!         () = due => console.draw(&fold, &about)?,
//!         event = source.next() => { fold.apply(…); console.changed(&updates); }
//!     }
//! }
//! ```

use super::beep::beep_every;
use super::keymap::KeyMap;
use super::terminal::{self, StopSignal};
use super::update::{Action, press};
use super::{ColorDepth, Look, State, Surroundings, ThemeName, View, draw};
use crate::event::SessionTime;
use crate::fold::{Fold, Update};
use crossterm::event::{Event, EventStream};
use futures::StreamExt;
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use ratatui::layout::Rect;
use std::io::{self, Stdout, Write, stdout};
use std::time::Duration;
use tokio::time::Instant;

/// Redraws without news: ages go on counting.
const IDLE: Duration = Duration::from_secs(1);
/// Least time between data redraws while the terminal is not looked at.
const UNFOCUSED: Duration = Duration::from_millis(500);

/// What the command line says about the console.
#[derive(Clone, Debug)]
pub struct Options {
    /// View to start with.
    pub view: View,
    /// Theme.
    pub theme: ThemeName,
    /// Colours of the terminal.
    pub color: ColorDepth,
    /// Plain ASCII signs.
    pub ascii: bool,
    /// Data redraws per second at most, at least 1. A key redraws at once.
    pub fps: u16,
    /// Keys in effect.
    pub keys: KeyMap,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            view: View::default(),
            theme: ThemeName::default(),
            color: ColorDepth::default(),
            ascii: false,
            fps: 10,
            keys: KeyMap::default(),
        }
    }
}

/// The terminal refused.
#[derive(Debug, thiserror::Error)]
pub enum ConsoleError {
    /// It cannot be used at all.
    #[error("take the terminal: {0}\nUse --plain or --json where there is no terminal")]
    Take(#[source] io::Error),
    /// Keys cannot be read any more.
    #[error("read keys: {0}\nThe recording is closed; start again in a working terminal")]
    Input(#[source] io::Error),
    /// Nothing can be drawn any more.
    #[error("draw: {0}\nThe recording is closed; start again in a working terminal")]
    Draw(#[source] io::Error),
    /// The terminal hung up.
    #[error("read keys: the terminal is gone\nThe recording is closed; start again in a working terminal")]
    Gone,
}

/// Something that came from the terminal.
#[derive(Clone, Debug)]
pub struct Input(Kind);

#[derive(Clone, Debug)]
enum Kind {
    Event(Event),
    /// Another program asks this one to go to the background.
    Stop,
}

/// The live console: owns the terminal from [`Console::open`] until it is dropped.
pub struct Console {
    state: State,
    look: Look,
    terminal: Terminal<CrosstermBackend<Stdout>>,
    input: EventStream,
    stop: StopSignal,
    interval: Duration,
    focused: bool,
    /// Something has changed since the last drawing.
    dirty: bool,
    drawn: Option<Instant>,
    beeped: Option<Instant>,
    /// Time from one beep to the next, as last drawn.
    beep_every: Option<Duration>,
}

impl Console {
    /// Takes the terminal. Call it on the thread that will draw: the panic of that thread gives the terminal back.
    ///
    /// # Errors
    /// [`ConsoleError::Take`] where there is no terminal.
    pub fn open(options: Options) -> Result<Self, ConsoleError> {
        terminal::give_back_on_panic();
        let opened = terminal::take().and_then(|()| {
            // The decision on colour has been made; crossterm would make its own.
            crossterm::style::force_color_output(options.color != ColorDepth::None);
            Terminal::new(CrosstermBackend::new(stdout()))
        });
        let terminal = match opened {
            Ok(terminal) => terminal,
            Err(error) => {
                // What was half taken is given back; the first error is the one to report.
                let _ = terminal::give_back();
                return Err(ConsoleError::Take(error));
            }
        };
        Ok(Self {
            state: State {
                keys: options.keys,
                ..State::new(options.view)
            },
            look: Look::new(options.theme, options.color, options.ascii),
            terminal,
            input: EventStream::new(),
            stop: StopSignal::listen(),
            interval: Duration::from_secs(1) / u32::from(options.fps.max(1)),
            focused: true,
            dirty: true,
            drawn: None,
            beeped: None,
            beep_every: None,
        })
    }

    /// The next input from the terminal. Nothing is lost if the future is dropped before it is ready.
    ///
    /// # Errors
    /// [`ConsoleError::Input`] or [`ConsoleError::Gone`].
    pub async fn input(&mut self) -> Result<Input, ConsoleError> {
        let event = tokio::select! {
            biased;
            event = self.input.next() => event,
            () = self.stop.next() => return Ok(Input(Kind::Stop)),
        };
        match event {
            Some(Ok(event)) => Ok(Input(Kind::Event(event))),
            Some(Err(error)) => Err(ConsoleError::Input(error)),
            None => Err(ConsoleError::Gone),
        }
    }

    /// Carries out an input and draws the result at once; returns what only the run loop can do. Going to the
    /// background is done here.
    ///
    /// # Errors
    /// [`ConsoleError::Draw`].
    pub fn handle(
        &mut self,
        input: Input,
        fold: &Fold,
        about: &Surroundings,
    ) -> Result<Option<Action>, ConsoleError> {
        let event = match input.0 {
            Kind::Event(event) => event,
            Kind::Stop => {
                self.suspend()?;
                self.draw(fold, about)?;
                return Ok(None);
            }
        };
        let action = match event {
            Event::Key(key) => press(&mut self.state, &key, fold, about),
            Event::FocusGained => {
                self.focused = true;
                return Ok(None);
            }
            Event::FocusLost => {
                self.focused = false;
                return Ok(None);
            }
            Event::Resize(..) => None,
            _ => return Ok(None),
        };
        match action {
            Some(Action::Quit | Action::Interrupt) => return Ok(action),
            Some(Action::Suspend) => self.suspend()?,
            Some(Action::Redraw) => self.forget_drawn()?,
            _ => {}
        }
        self.draw(fold, about)?;
        Ok(action.filter(|a| !matches!(a, Action::Redraw | Action::Suspend)))
    }

    /// Goes to the background and comes back.
    fn suspend(&mut self) -> Result<(), ConsoleError> {
        terminal::suspend().map_err(ConsoleError::Take)?;
        self.forget_drawn()
    }

    /// The next drawing begins with an empty terminal. Not `Terminal::clear`: it asks the terminal for the cursor and
    /// waits for the answer behind whoever reads keys.
    fn forget_drawn(&mut self) -> Result<(), ConsoleError> {
        let size = self.terminal.size().map_err(ConsoleError::Draw)?;
        let area = Rect::new(0, 0, size.width, size.height);
        self.terminal.resize(area).map_err(ConsoleError::Draw)
    }

    /// Says something where the answer to a key stands.
    pub fn say(&mut self, now: SessionTime, text: String) {
        self.state.notice = Some((now, text));
        self.dirty = true;
    }

    /// The session begins anew, with another unit or at another place of a recording: what was remembered for Trace
    /// and what was selected is gone.
    pub fn begin_anew(&mut self) {
        let state = &mut self.state;
        state.history = super::History::default();
        (state.selected, state.band, state.trace.end) = (None, None, None);
        self.dirty = true;
    }

    /// The data have changed: draw when [`Console::due`] says so.
    pub fn changed(&mut self, updates: &[Update]) {
        updates.iter().for_each(|u| self.state.history.observe(u));
        self.dirty = true;
    }

    /// Ready when it is time to draw: after a change, but not more often than asked for, and once a second in any
    /// case.
    pub fn due(&self) -> impl Future<Output = ()> + use<> {
        let draw = self.drawn.map(|drawn| drawn + self.pause());
        let at = match (draw, self.next_beep()) {
            (Some(draw), Some(beep)) => Some(draw.min(beep)),
            (draw, _) => draw,
        };
        async move {
            if let Some(at) = at {
                tokio::time::sleep_until(at).await;
            }
        }
    }

    fn next_beep(&self) -> Option<Instant> {
        Some(self.beeped? + self.beep_every?)
    }

    /// Rings the terminal's bell when its time has come.
    fn beep(&mut self, fold: &Fold, about: &Surroundings) -> io::Result<()> {
        self.beep_every = beep_every(&self.state, fold, about.now);
        let now = Instant::now();
        if self.beep_every.is_some() && self.next_beep().is_none_or(|at| at <= now) {
            self.beeped = Some(now);
            let mut out = stdout();
            out.write_all(b"\x07")?;
            out.flush()?;
        }
        Ok(())
    }

    fn pause(&self) -> Duration {
        match (self.dirty, self.focused) {
            (true, true) => self.interval,
            (true, false) => self.interval.max(UNFOCUSED),
            (false, _) => IDLE,
        }
    }

    /// Draws the screen.
    ///
    /// # Errors
    /// [`ConsoleError::Draw`].
    pub fn draw(&mut self, fold: &Fold, about: &Surroundings) -> Result<(), ConsoleError> {
        let Self {
            terminal,
            state,
            look,
            ..
        } = self;
        let mut measure = state.measure;
        terminal
            .draw(|frame| {
                let area = frame.area();
                measure = draw(fold, about, state, look, area, frame.buffer_mut());
            })
            .map_err(ConsoleError::Draw)?;
        self.state.measure = measure;
        self.state.scroll = self.state.scroll.min(measure.furthest);
        if let Some(desk) = &mut self.state.desk {
            desk.scroll = desk.scroll.min(measure.panel);
        }
        self.dirty = false;
        self.drawn = Some(Instant::now());
        self.beep(fold, about).map_err(ConsoleError::Draw)
    }

    /// Gives the terminal back and says whether that worked; dropping does the same silently.
    ///
    /// # Errors
    /// [`ConsoleError::Draw`].
    pub fn close(self) -> Result<(), ConsoleError> {
        terminal::give_back().map_err(ConsoleError::Draw)
    }
}

impl Drop for Console {
    fn drop(&mut self) {
        // Nobody is left to tell.
        let _ = terminal::give_back();
    }
}

//! `watch`: the live console, or the same as lines.

use super::args::{LookOptions, WatchOptions};
use super::exit::Failure;
use super::live::Live;
use super::player::Player;
use super::replay::read_criteria;
use super::roof::Roof;
use super::screen::Anew;
use super::source::{self, SourceName};
use crate::analysis::Criteria;
use crate::config::When;
use crate::console::{ColorDepth, Options, Surroundings, View};
use crate::event::SessionTime;
use crate::fold::Fold;
use crate::link::pace::Speed;
use crate::output::Output;
use crate::output::json::Json;
use crate::output::plain::Plain;
use crate::sequencer::Sequencer;
use crate::session::{NotRecording, Record, record_live};
use std::io::{self, BufWriter, IsTerminal};

pub(super) fn run(options: WatchOptions, look: LookOptions, allow_control: bool) -> Result<(), Failure> {
    let name = SourceName::parse(&options.from)?;
    tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?
        .block_on(watch(options, look, allow_control, name))
}

async fn watch(
    options: WatchOptions,
    look: LookOptions,
    allow_control: bool,
    name: SourceName,
) -> Result<(), Failure> {
    let recorder: Box<dyn Record> = match &options.record {
        Some(path) => record_live(path)?,
        None => Box::new(NotRecording),
    };
    // Where there is no screen to draw on, lines are what a person can use.
    let on_screen =
        !options.json && !options.plain && io::stdout().is_terminal() && io::stdin().is_terminal();
    let mut opened = source::open(&name, &options.from, options.speed, options.seed)?;
    let criteria = match (&options.criteria, &opened.header.criteria) {
        (Some(path), _) => read_criteria(path)?,
        (None, Some(text)) => Criteria::parse(text)?,
        (None, None) => Criteria::default(),
    };
    opened.header.criteria = Some(toml::to_string(&criteria)?);
    let anew = Anew {
        player: opened
            .path
            .as_deref()
            .filter(|_| on_screen)
            .map(|path| Player::new(path, criteria.clone())),
        criteria: criteria.clone(),
        header: opened.header.clone(),
        record: options.record.clone(),
        sessions: 1,
    };
    let sequencer = Sequencer::new(Fold::new(criteria), recorder, opened.header.clone());
    let until = options.duration.map(SessionTime::from);
    let roof = Roof::open(&options.share, &name, allow_control)?;
    let live = Live::new(sequencer, opened.source, until)?.with_roof(roof);
    let path = opened.path.as_ref().map(|p| p.display().to_string());
    let source = opened
        .header
        .source
        .clone()
        .unwrap_or_else(|| options.from.clone());
    let speed = options.speed.factor();
    if on_screen {
        let about = Surroundings {
            source,
            speed,
            allow_control,
            kind: name.kind(),
            ..Surroundings::default()
        };
        live.run_on_screen(
            screen_options(options.view, options.fps, &look),
            about,
            Some(anew),
        )
        .await?;
        return Ok(());
    }
    let stdout = BufWriter::with_capacity(1 << 16, io::stdout());
    let mut output: Box<dyn Output> = if options.json {
        Box::new(Json::new(stdout, &source, path.as_deref()).flushing(options.speed != Speed::Max))
    } else {
        Box::new(Plain::new(stdout))
    };
    live.run(&mut *output).await
}

/// What the command line, the configuration and the environment say about the console, in this order.
pub(super) fn screen_options(view: Option<View>, fps: Option<u16>, look: &LookOptions) -> Options {
    let variable = |name: &str| std::env::var(name).ok();
    let (no_color, colorterm, term) = (variable("NO_COLOR"), variable("COLORTERM"), variable("TERM"));
    let config = &look.config;
    let color = match look.color.or(config.color).unwrap_or_default() {
        When::Auto => ColorDepth::detect(no_color.as_deref(), colorterm.as_deref(), term.as_deref()),
        When::Always => ColorDepth::supported(colorterm.as_deref()),
        When::Never => ColorDepth::None,
    };
    let defaults = Options::default();
    Options {
        view: view.or(config.view).unwrap_or_default(),
        theme: look.theme.or(config.theme).unwrap_or_default(),
        color,
        ascii: look.ascii || config.ascii.unwrap_or_default(),
        fps: fps.or(config.fps).unwrap_or(defaults.fps),
        keys: config.keys.clone(),
    }
}

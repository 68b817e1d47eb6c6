//! `watch`: the live console, or the same as lines.

use super::args::WatchOptions;
use super::exit::Failure;
use super::live::Live;
use super::replay::read_criteria;
use super::source::{self, SourceName};
use crate::analysis::Criteria;
use crate::event::SessionTime;
use crate::fold::Fold;
use crate::link::pace::Speed;
use crate::output::Output;
use crate::output::json::Json;
use crate::output::plain::Plain;
use crate::sequencer::Sequencer;
use crate::session::{LiveRecorder, NotRecording, Overwrite, Record};
use std::io::{self, BufWriter, IsTerminal};

pub(super) fn run(options: WatchOptions) -> Result<(), Failure> {
    let name = SourceName::parse(&options.from)?;
    tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?
        .block_on(watch(options, name))
}

async fn watch(options: WatchOptions, name: SourceName) -> Result<(), Failure> {
    let recorder: Box<dyn Record> = match &options.record {
        Some(path) => Box::new(LiveRecorder::create(path, Overwrite::Refuse)?),
        None => Box::new(NotRecording),
    };
    let mut opened = source::open(&name, &options.from, options.speed, options.seed)?;
    let criteria = match (&options.criteria, &opened.header.criteria) {
        (Some(path), _) => read_criteria(path)?,
        (None, Some(text)) => Criteria::parse(text)?,
        (None, None) => Criteria::default(),
    };
    opened.header.criteria = Some(toml::to_string(&criteria)?);
    let sequencer = Sequencer::new(Fold::new(criteria), recorder, opened.header.clone());
    let until = options.duration.map(SessionTime::from);
    let live = Live::new(sequencer, opened.source, until)?;
    let path = opened.path.as_ref().map(|p| p.display().to_string());
    let source = opened.header.source.clone().unwrap_or(options.from);
    let stdout = BufWriter::with_capacity(1 << 16, io::stdout());
    let at_once = options.speed != Speed::Max;
    let mut output: Box<dyn Output> = if options.json {
        Box::new(Json::new(stdout, &source, path.as_deref()).flushing(at_once))
    } else {
        Box::new(Plain::new(stdout))
    };
    let _ = options.plain || io::stdout().is_terminal();
    live.run(&mut *output).await
}

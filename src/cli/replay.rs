//! `replay`: analyse recordings as fast as possible.

use super::args::ReplayOptions;
use super::exit::Failure;
use crate::analysis::Criteria;
use crate::event::EventKind;
use crate::fold::Fold;
use crate::output::json::Json;
use crate::output::plain::Plain;
use crate::output::{Output, Summary};
use crate::sequencer::Sequencer;
use crate::session::{NotRecording, Reader};
use anyhow::Context;
use std::fs::File;
use std::io::{self, BufWriter};
use std::path::Path;

pub(super) fn run(options: &ReplayOptions) -> Result<(), Failure> {
    let criteria = options.criteria.as_deref().map(read_criteria).transpose()?;
    for path in &options.paths {
        one(path, options.json, criteria.as_ref())?;
    }
    Ok(())
}

/// Reads limits from a file.
pub(super) fn read_criteria(path: &Path) -> anyhow::Result<Criteria> {
    let text = std::fs::read_to_string(path).with_context(|| format!("read criteria {}", path.display()))?;
    Criteria::parse(&text).with_context(|| path.display().to_string())
}

fn one(path: &Path, json: bool, criteria: Option<&Criteria>) -> anyhow::Result<()> {
    let shown = path.display().to_string();
    let file = File::open(path).with_context(|| format!("open {shown}; check the path"))?;
    let mut reader = Reader::open(file).with_context(|| shown.clone())?;
    let header = reader.header().clone();
    let criteria = match (criteria, &header.criteria) {
        (Some(given), _) => given.clone(),
        (None, Some(text)) => {
            Criteria::parse(text).with_context(|| format!("{shown}: criteria in the header"))?
        }
        (None, None) => Criteria::default(),
    };
    let stdout = BufWriter::new(io::stdout().lock());
    let source = header.source.clone().unwrap_or_else(|| "unknown".to_owned());
    let mut output: Box<dyn Output> = if json {
        Box::new(Json::new(stdout, &source, Some(&shown)))
    } else {
        Box::new(Plain::new(stdout))
    };
    let mut sequencer = Sequencer::new(Fold::new(criteria), NotRecording, header);
    let mut updates = Vec::new();
    let mut ended = false;
    while let Some(event) = reader.next_event() {
        ended |= event.kind == EventKind::End;
        sequencer.push(event, &mut updates);
        for update in updates.drain(..) {
            output.update(&update, sequencer.fold())?;
        }
    }
    if !ended {
        // The recording was cut off: it ends where its last sound line stands.
        let at = sequencer.fold().now();
        sequencer.end(at, &mut updates);
        for update in updates.drain(..) {
            output.update(&update, sequencer.fold())?;
        }
    }
    let not_recorded = reader.integrity().closed.unwrap_or(0);
    output.summary(&Summary {
        fold: sequencer.fold(),
        not_recorded,
        latency: None,
    })?;
    if !reader.integrity().is_sound() {
        eprintln!("loopmargin: {shown}: {}", reader.integrity());
    }
    Ok(())
}

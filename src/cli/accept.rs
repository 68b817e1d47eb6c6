//! `accept`: the acceptance test, live with a prompted disturbance, or of a recording.

mod words;

use super::args::AcceptOptions;
use super::exit::Failure;
use super::live::Live;
use super::replay::read_criteria;
use super::source::{self, SourceName};
use crate::analysis::Criteria;
use crate::analysis::acceptance::{Acceptance, Survey, Verdict, prompts};
use crate::event::{EventKind, SessionTime};
use crate::fold::{Fold, Update};
use crate::link::pace::Speed;
use crate::output::{Output, Summary};
use crate::sequencer::Sequencer;
use crate::session::{LiveRecorder, NotRecording, Overwrite, Reader, Record};
use anyhow::{Context, anyhow};
use std::collections::VecDeque;
use std::fs::File;
use std::io::{self, Write};
use std::path::Path;
use std::time::Duration;

/// Length of a live test that names none.
const DEFAULT_LENGTH: Duration = Duration::from_secs(60);

pub(super) fn run(options: &AcceptOptions) -> Result<(), Failure> {
    let name = SourceName::parse(&options.from)?;
    let given = options.criteria.as_deref().map(read_criteria).transpose()?;
    tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?
        .block_on(accept(options, &name, given))
}

async fn accept(options: &AcceptOptions, name: &SourceName, given: Option<Criteria>) -> Result<(), Failure> {
    let recorder: Box<dyn Record> = match &options.record {
        Some(path) => Box::new(LiveRecorder::create(path, Overwrite::Refuse)?),
        None => Box::new(NotRecording),
    };
    let recorded = matches!(name, SourceName::File(_));
    let speed = if recorded { Speed::Max } else { options.speed };
    let mut opened = source::open(name, &options.from, speed, options.seed)?;
    let criteria = match (given, &opened.header.criteria) {
        (Some(given), _) => given,
        (None, Some(text)) => Criteria::parse(text)?,
        (None, None) => Criteria::default(),
    };
    // Before the test, which would have to be done again.
    let before = options
        .baseline
        .as_deref()
        .map(|path| baseline(path, &criteria))
        .transpose()?;
    opened.header.criteria = Some(toml::to_string(&criteria)?);
    let length = options.duration.or((!recorded).then_some(DEFAULT_LENGTH));
    let mut test = Test {
        // Nobody is there to be prompted in a recording, nor in time that runs faster than people.
        prompts: match length.filter(|_| speed != Speed::Max) {
            Some(length) => prompts(length).collect(),
            None => VecDeque::new(),
        },
        survey: Survey::default(),
        outcome: None,
    };
    if speed != Speed::Max {
        words::CAUTIONS.iter().for_each(|caution| eprintln!("{caution}"));
    }
    let limits = criteria.acceptance.clone();
    let sequencer = Sequencer::new(Fold::new(criteria), recorder, opened.header.clone());
    let live = Live::new(sequencer, opened.source, length.map(SessionTime::from))?;
    let ended = live.run(&mut test).await;
    if let Err(failure @ Failure::Failed(_)) = ended {
        return Err(failure);
    }
    let Some(mut outcome) = test.outcome else {
        ended?;
        return Err(Failure::Failed(anyhow!(
            "accept --from {}: not one reading was heard, so nothing can be judged; check the source with watch",
            options.from
        )));
    };
    if let Some(before) = &before {
        outcome.compare(before, &limits);
    }
    print(&outcome, options.json)?;
    ended?;
    match outcome.result {
        Verdict::Pass => Ok(()),
        Verdict::Marginal => Err(Failure::Marginal),
        Verdict::Fail => Err(Failure::Fail),
    }
}

fn print(outcome: &Acceptance, json: bool) -> anyhow::Result<()> {
    let mut out = io::stdout().lock();
    if json {
        serde_json::to_writer(&mut out, outcome)?;
        writeln!(out)?;
    } else {
        words::result(&mut out, outcome)?;
    }
    Ok(())
}

/// Takes in the updates of the test, and says the prompts when their time has come.
struct Test {
    prompts: VecDeque<(SessionTime, &'static str)>,
    survey: Survey,
    outcome: Option<Acceptance>,
}

impl Output for Test {
    fn update(&mut self, update: &Update, fold: &Fold) -> io::Result<()> {
        self.survey.update(update, fold);
        while let Some((at, words)) = self.prompts.front().filter(|(at, _)| *at <= fold.now()) {
            eprintln!("{at}  {words}");
            self.prompts.pop_front();
        }
        Ok(())
    }

    fn difference(&mut self, _: &str) -> io::Result<()> {
        Ok(())
    }

    fn summary(&mut self, summary: &Summary<'_>) -> io::Result<()> {
        if summary.not_recorded > 0 {
            eprintln!(
                "loopmargin: accept: {} events were not recorded; check the space on the disk",
                summary.not_recorded
            );
        }
        self.outcome = self.survey.heard().then(|| self.survey.outcome(summary.fold));
        Ok(())
    }
}

/// The earlier session, judged by the same criteria.
fn baseline(path: &Path, criteria: &Criteria) -> anyhow::Result<Acceptance> {
    let shown = format!("--baseline {}", path.display());
    let file = File::open(path).with_context(|| format!("{shown}: open it; check the path"))?;
    let mut reader = Reader::open(file).with_context(|| shown.clone())?;
    let header = reader.header().clone();
    let mut sequencer = Sequencer::new(Fold::new(criteria.clone()), NotRecording, header);
    let (mut survey, mut updates) = (Survey::default(), Vec::new());
    let mut last = SessionTime::ZERO;
    let mut take = |sequencer: &Sequencer<NotRecording>, updates: &mut Vec<Update>| {
        for update in updates.drain(..) {
            survey.update(&update, sequencer.fold());
        }
    };
    while let Some(event) = reader.next_event() {
        last = event.at;
        let over = event.kind == EventKind::End;
        sequencer.push(event, &mut updates);
        take(&sequencer, &mut updates);
        if over {
            break;
        }
    }
    sequencer.end(last, &mut updates);
    take(&sequencer, &mut updates);
    if !survey.heard() {
        return Err(anyhow!(
            "{shown}: not one reading in it, so nothing can be compared; give another session"
        ));
    }
    Ok(survey.outcome(sequencer.fold()))
}

//! Where values come from: the `SOURCE` of the command line, opened.

use super::exit::Failure;
use crate::console::{Heard, SourceKind};
use crate::event::{Event, SessionTime};
use crate::link::bluetooth::{BluetoothLink, LinkStatistics};
use crate::link::command::{Target, Unit};
use crate::link::pace::{Paced, Speed};
use crate::link::recording::Recording;
use crate::link::simulator::SimulatorLink;
use crate::link::{Pull, Request};
use crate::session::{Clock, Header};
use anyhow::Context;
use booster_simulator::{Scenario, Simulation};
use std::path::{Path, PathBuf};
use std::time::Duration;
use tokio::time::Instant;

/// A source as it is named on the command line.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum SourceName {
    /// The embedded simulator: the default site, a named one, or a scenario file.
    Simulator(Option<String>),
    /// Bluetooth.
    Bluetooth(Option<String>),
    /// A recording.
    File(PathBuf),
}

impl SourceName {
    /// What kind of source it is, for the console.
    pub(super) fn kind(&self) -> SourceKind {
        match self {
            Self::Simulator(_) => SourceKind::Simulator,
            Self::Bluetooth(_) => SourceKind::Radio,
            Self::File(_) => SourceKind::Recording,
        }
    }

    /// Reads `sim`, `sim:NAME`, `sim:FILE.toml`, `ble`, `ble:NAME-OR-ID` or a path.
    pub(super) fn parse(text: &str) -> Result<Self, Failure> {
        let rest = |prefix: &str| text.strip_prefix(prefix).map(str::to_owned);
        match (text, rest("sim:"), rest("ble:")) {
            ("sim", ..) => Ok(Self::Simulator(None)),
            ("ble", ..) => Ok(Self::Bluetooth(None)),
            (_, Some(name), _) if !name.is_empty() => Ok(Self::Simulator(Some(name))),
            (_, _, Some(name)) if !name.is_empty() => Ok(Self::Bluetooth(Some(name))),
            _ if !text.is_empty() && Path::new(text).exists() => Ok(Self::File(PathBuf::from(text))),
            _ => Err(Failure::Usage(format!(
                "--from {text}: no such source; give sim, sim:NAME, sim:FILE.toml, ble, ble:NAME-OR-ID, or the path of \
                 a session file"
            ))),
        }
    }
}

/// The scenario that a name or a `.toml` path stands for; `None` for the default site.
pub(super) fn scenario(name: Option<&str>) -> anyhow::Result<Scenario> {
    match name {
        None => Ok(Scenario::named(Scenario::DEFAULT)?),
        Some(path) if path.ends_with(".toml") => Ok(Scenario::load(Path::new(path))?),
        Some(name) => Ok(Scenario::named(name)?),
    }
}

/// An open source that yields events when they are due.
pub(super) enum Source {
    /// Simulator or recording, paced.
    Paced {
        paced: Paced<Box<dyn Pull>>,
        /// Values come into being as they are handed out; those of a recording arrived long ago.
        live: bool,
    },
    /// Bluetooth, which paces itself.
    Bluetooth {
        link: Box<BluetoothLink>,
        started: Instant,
    },
}

/// An open source with what the header of a recording should say about it.
pub(super) struct Opened {
    pub(super) source: Source,
    pub(super) header: Header,
    /// The file, where the source is one.
    pub(super) path: Option<PathBuf>,
}

/// Opens a source; session time begins now.
pub(super) fn open(name: &SourceName, text: &str, speed: Speed, seed: u64) -> Result<Opened, Failure> {
    Ok(match name {
        SourceName::Simulator(site) => {
            let scenario = scenario(site.as_deref())?;
            let header = Header::new(text, simulated_start()?, Clock::Simulated);
            let link = SimulatorLink::new(Simulation::new(&scenario, seed));
            Opened {
                source: Source::Paced {
                    paced: Paced::new(Box::new(link), speed),
                    live: true,
                },
                header,
                path: None,
            }
        }
        SourceName::File(path) => {
            let recording = Recording::open(path).with_context(|| path.display().to_string())?;
            let header = recording.header().clone();
            let source = Source::Paced {
                paced: Paced::new(Box::new(recording), speed),
                live: false,
            };
            Opened {
                source,
                header,
                path: Some(path.clone()),
            }
        }
        SourceName::Bluetooth(unit) => {
            let target = unit.clone().map_or(Target::Only, Target::Named);
            let started = Instant::now();
            let link = Box::new(BluetoothLink::start(target, started.into_std()));
            let header = Header::new(text, jiff::Timestamp::now(), Clock::Host);
            Opened {
                source: Source::Bluetooth { link, started },
                header,
                path: None,
            }
        }
    })
}

/// The day on which simulated sessions take place: the same seed and scenario give the same file.
pub(super) fn simulated_start() -> anyhow::Result<jiff::Timestamp> {
    "2026-01-01T08:00:00Z"
        .parse()
        .context("the date of simulated sessions")
}

impl Source {
    /// The next event once it is due, and the moment of its arrival (`None` where nothing is paced); `None` at the
    /// end. Dropping the future loses nothing.
    pub(super) async fn next(&mut self) -> Option<(Event, Option<Instant>)> {
        match self {
            Source::Bluetooth { link, started } => {
                let event = link.next().await?;
                let arrived = *started + Duration::from_micros(event.at.0);
                Some((event, Some(arrived)))
            }
            Source::Paced { paced, live } => {
                let event = paced.next().await?;
                // A simulated value arrives when it is handed out.
                let arrived = paced.moment(event.at).filter(|_| *live).map(|_| Instant::now());
                Some((event, arrived))
            }
        }
    }

    /// Whether the source is a radio, which may never be heard.
    pub(super) fn is_radio(&self) -> bool {
        matches!(self, Source::Bluetooth { .. })
    }

    /// Time of the next event, where it is known before it is due.
    pub(super) fn peek(&mut self) -> Option<SessionTime> {
        match self {
            Source::Bluetooth { .. } => None,
            Source::Paced { paced, .. } => paced.peek(),
        }
    }

    /// Session time now; at full speed it stands at the last event.
    pub(super) fn now(&self) -> SessionTime {
        match self {
            Source::Bluetooth { started, .. } => started.elapsed().into(),
            Source::Paced { paced, .. } => paced.now(),
        }
    }

    /// The moment at which session time reaches `at`; `None` where session time runs with the data alone.
    pub(super) fn moment(&self, at: SessionTime) -> Option<Instant> {
        match self {
            Source::Bluetooth { started, .. } => Some(*started + Duration::from_micros(at.0)),
            Source::Paced { paced, .. } => paced.moment(at),
        }
    }

    /// Passes on what the console asks.
    pub(super) fn request(&mut self, request: Request) {
        match self {
            Source::Bluetooth { link, .. } => link.request(request),
            Source::Paced { paced, .. } => paced.request(request),
        }
    }

    /// The donor antenna has been turned to a bearing. True if it is a simulated one, which turns only now: one event
    /// was measured before and is still to come.
    pub(super) fn turned(&mut self, bearing_deg: f64) -> bool {
        match self {
            Source::Bluetooth { .. } => false,
            Source::Paced { paced, .. } => paced.peek().is_some() && paced.source_mut().turned(bearing_deg),
        }
    }

    /// A source with a time of its own that can be held and hurried.
    pub(super) fn paced(&mut self) -> Option<&mut Paced<Box<dyn Pull>>> {
        match self {
            Source::Bluetooth { .. } => None,
            Source::Paced { paced, .. } => Some(paced),
        }
    }

    /// Units in range, and whether a person has to choose one of them.
    pub(super) fn units(&self) -> (Vec<Heard>, bool) {
        match self {
            Source::Bluetooth { link, .. } => {
                let heard = |(unit, at): (&Unit, SessionTime)| Heard {
                    unit: unit.clone(),
                    at,
                };
                (link.units().map(heard).collect(), link.awaits_choice())
            }
            Source::Paced { .. } => (Vec::new(), false),
        }
    }

    /// What the link measured about itself; `None` where nothing queues.
    pub(super) fn statistics(&self) -> Option<LinkStatistics> {
        match self {
            Source::Bluetooth { link, .. } => Some(link.statistics()),
            Source::Paced { .. } => None,
        }
    }

    /// Leaves the adapter as it was found.
    pub(super) async fn shutdown(self) {
        if let Source::Bluetooth { link, .. } = self {
            link.shutdown().await;
        }
    }
}

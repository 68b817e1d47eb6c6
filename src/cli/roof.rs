//! The roof page as a part of a live loop; without `--share` all of it is nothing.

use super::args::ShareOptions;
use super::exit::Failure;
use super::source::SourceName;
use crate::console::RoofPage;
use crate::event::SessionTime;
use crate::fold::Fold;
use crate::share::address::{self, DEFAULT_PORT};
use crate::share::snapshot::{About, Snapshot};
use crate::share::{Asked, Options, Permission, Share};
use std::net::SocketAddr;
use std::time::Instant;

/// A page that is shared, or none.
#[derive(Debug, Default)]
pub(super) struct Roof {
    share: Option<Share>,
    about: About,
}

impl Roof {
    /// Begins to share, if asked to. Where it listens stands on standard error first, the link after it.
    pub(super) fn open(
        options: &ShareOptions,
        source: &SourceName,
        allow_control: bool,
    ) -> Result<Self, Failure> {
        let Some(place) = options.share else {
            return Ok(Self::default());
        };
        let place = place.unwrap_or_default();
        let ip = match place.ip {
            Some(ip) => ip,
            None => {
                let found = address::private()?;
                let [first, others @ ..] = &found[..] else {
                    return Err(address::NoAddress::None.into());
                };
                eprintln!("loopmargin: sharing on {first}, for devices on that network only");
                for other in others {
                    eprintln!("loopmargin: not on {other}; --share {} would choose it", other.ip);
                }
                first.ip
            }
        };
        let permission = Permission {
            steps: options.share_aim,
            aim_safe: options.share_aim && allow_control,
        };
        let share = Share::start(Options {
            at: SocketAddr::new(ip, place.port.unwrap_or(DEFAULT_PORT)),
            any_port: place.port.is_none(),
            permission,
            tls: options.share_tls,
        })?;
        let link = share.link();
        eprintln!("loopmargin: roof page: {}", link.url);
        if let Some(fingerprint) = &link.fingerprint {
            eprintln!("loopmargin: its certificate, SHA-256: {fingerprint}");
        }
        let about = About {
            origin: match source {
                SourceName::Simulator(_) => Some("simulated"),
                SourceName::File(_) => Some("recorded"),
                SourceName::Bluetooth(_) => None,
            },
            permission,
            ..About::default()
        };
        Ok(Self {
            share: Some(share),
            about,
        })
    }

    /// Whether there is a page.
    pub(super) fn is_shared(&self) -> bool {
        self.share.is_some()
    }

    /// A page asked for aim-safe.
    pub(super) fn aim_safe_asked(&mut self, at: SessionTime) {
        self.about.aim_safe_asked = Some(at);
    }

    /// The state has changed.
    pub(super) fn news(&mut self) {
        if let Some(share) = &mut self.share {
            share.news();
        }
    }

    /// Ready when a state is due; never without a page.
    pub(super) fn due(&self) -> impl Future<Output = ()> + use<> {
        let due = self.share.as_ref().map(Share::due);
        async move {
            match due {
                Some(due) => due.await,
                None => std::future::pending().await,
            }
        }
    }

    /// The next thing that a page asks for. Nothing is lost if the future is dropped.
    pub(super) async fn asked(&mut self) -> Asked {
        match &mut self.share {
            Some(share) => share.asked().await,
            None => std::future::pending().await,
        }
    }

    /// Hands the state to the viewers.
    pub(super) fn publish(&mut self, fold: &Fold, now: SessionTime) {
        if let Some(share) = &mut self.share {
            self.about.now = now.max(fold.now());
            share.publish(&Snapshot::of(fold, &self.about));
        }
    }

    /// Hands out the last state; the page goes with the rest of the session.
    pub(super) fn close(&mut self, fold: &Fold) {
        self.about.ended = true;
        self.publish(fold, fold.now());
        self.share = None;
    }

    /// What the console shows about it.
    pub(super) fn shown(&self) -> Option<RoofPage> {
        let share = self.share.as_ref()?;
        let now = Instant::now();
        let viewers = share.viewers();
        Some(RoofPage {
            link: share.link().clone(),
            viewers: viewers
                .iter()
                .map(|v| (v.ip, now.saturating_duration_since(v.since)))
                .collect(),
        })
    }
}

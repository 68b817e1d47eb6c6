//! The link under test, and what it has reported.

use loopmargin::event::{Event, EventKind, LinkState, Origin};
use loopmargin::link::bluetooth::BluetoothLink;
use loopmargin::link::command::Target;
use std::time::{Duration, Instant};
use tokio::time::timeout;

/// Far longer than anything here takes; reached only when something hangs.
const PATIENCE: Duration = Duration::from_secs(60);

pub struct Client {
    pub link: BluetoothLink,
    pub events: Vec<Event>,
}

impl Client {
    pub fn start() -> Self {
        Self {
            link: BluetoothLink::start(Target::Only, Instant::now()),
            events: Vec::new(),
        }
    }

    /// Takes in events until the condition holds.
    pub async fn until(&mut self, what: &str, mut holds: impl FnMut(&[Event]) -> bool) {
        let seen = timeout(PATIENCE, async {
            while !holds(&self.events) {
                let event = self.link.next().await.expect("a link that goes on");
                self.events.push(event);
            }
        });
        if seen.await.is_err() {
            panic!("not {what}: {:?}", self.states());
        }
    }

    pub async fn until_state(&mut self, state: LinkState) {
        self.until(state.name(), |events| {
            matches!(events.last(), Some(Event { kind: EventKind::Link { state: s, .. }, .. }) if *s == state)
        })
        .await;
    }

    /// Until `count` further values were pushed.
    pub async fn until_values(&mut self, count: usize) {
        let wanted = self.pushed() + count;
        self.until("values", |events| pushed(events) >= wanted).await;
    }

    /// Forgets what was seen; what is asked next is about what follows.
    pub fn forget(&mut self) {
        self.events.clear();
    }

    pub fn pushed(&self) -> usize {
        pushed(&self.events)
    }

    pub fn states(&self) -> Vec<String> {
        let words = |e: &Event| match &e.kind {
            EventKind::Link { state, detail } => Some(format!(
                "{} {state} {}",
                e.at,
                detail.as_deref().unwrap_or_default()
            )),
            _ => None,
        };
        self.events.iter().filter_map(words).collect()
    }

    pub fn saw(&self, wanted: LinkState) -> bool {
        self.events
            .iter()
            .any(|e| matches!(e.kind, EventKind::Link { state, .. } if state == wanted))
    }

    /// Ends the link; it must take its leave.
    pub async fn end(mut self) {
        self.link.stop();
        let rest = async { while self.link.next().await.is_some() {} };
        timeout(PATIENCE, rest).await.expect("an end");
        assert_eq!(self.link.state(), LinkState::Ended);
    }
}

pub fn pushed(events: &[Event]) -> usize {
    let is_pushed = |e: &&Event| {
        matches!(
            e.kind,
            EventKind::Value {
                origin: Origin::Pushed,
                ..
            }
        )
    };
    events.iter().filter(is_pushed).count()
}

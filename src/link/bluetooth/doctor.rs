//! Checks this computer: Bluetooth service, permission, adapter, power, terminal.

use super::queue::Queue;
use super::radio::{ADAPTER_VARIABLE, Radio};
use super::receive::Clock;
use super::scan::{Unavailable, carry_out};
use crate::event::LinkState;
use crate::link::command::Command;
use serde::Serialize;
use std::sync::Arc;
use std::time::Instant;

/// Outcome of a check.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// As it should be.
    Good,
    /// Works with limits.
    Limited,
    /// Has to be put right before a unit can be watched over Bluetooth.
    Bad,
    /// Could not be looked at, because an earlier check failed.
    NotChecked,
}

/// One check and its result.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Check {
    /// What was looked at.
    pub name: &'static str,
    /// How it is.
    pub outcome: Outcome,
    /// What was found.
    pub found: String,
    /// What to do; empty when there is nothing to do.
    pub next_step: String,
}

/// Runs the checks that need the Bluetooth stack, a few seconds at most.
pub async fn bluetooth() -> Vec<Check> {
    let clock = Clock {
        queue: Arc::new(Queue::new(1)),
        started_at: Instant::now(),
    };
    let mut radio = Radio::new(clock);
    let opened = carry_out(&mut radio, Command::Open { rebuild: false }).await;
    bluetooth_checks(opened.err().as_ref(), radio.adapter_name())
}

/// What one attempt to open the adapter says about each of the things that it needs, in the order in which it needs
/// them.
fn bluetooth_checks(trouble: Option<&Unavailable>, adapter: &str) -> Vec<Check> {
    let needed = [
        (
            "Bluetooth service",
            LinkState::NoBluetoothService,
            "runs".to_owned(),
        ),
        ("permission", LinkState::NoPermission, "given".to_owned()),
        (
            "adapter",
            LinkState::NoAdapter,
            format!("{adapter} ({ADAPTER_VARIABLE} chooses)"),
        ),
        ("adapter power", LinkState::AdapterOff, "on".to_owned()),
    ];
    let mut reached = true;
    let mut checks = Vec::new();
    for (name, missing, found) in needed {
        let (outcome, found, next_step) = match trouble {
            _ if !reached => (Outcome::NotChecked, String::from("not checked"), String::new()),
            // Trouble that fits none of the four belongs to the first: the service did not do what was asked.
            Some(t) if t.state == missing || !t.state.waits_for_person() => {
                reached = false;
                (Outcome::Bad, t.words.clone(), t.next_step.to_owned())
            }
            _ => (Outcome::Good, found, String::new()),
        };
        checks.push(Check {
            name,
            outcome,
            found,
            next_step,
        });
    }
    checks
}

/// What a terminal says about itself.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Terminal {
    /// Whether standard output is a terminal.
    pub is_terminal: bool,
    /// Columns and rows, where known.
    pub size: Option<(u16, u16)>,
    /// Value of `TERM`.
    pub kind: Option<String>,
    /// The first of `LC_ALL`, `LC_CTYPE`, `LANG` that is set and not empty.
    pub locale: Option<String>,
}

/// Judges the terminal.
pub fn terminal(terminal: &Terminal) -> Check {
    let utf8 = terminal.locale.as_deref().is_some_and(|l| {
        let locale = l.to_ascii_lowercase();
        locale.contains("utf-8") || locale.contains("utf8")
    });
    let size = terminal
        .size
        .map_or(String::from("size not known"), |(w, h)| format!("{w}×{h}"));
    let kind = terminal.kind.as_deref().unwrap_or("TERM not set");
    let (outcome, next_step) = match terminal {
        Terminal {
            is_terminal: false, ..
        } => (
            Outcome::Limited,
            "Standard output is no terminal: use `--plain` or `--json`, or run it in a terminal.",
        ),
        Terminal { kind: Some(kind), .. } if kind == "dumb" => (
            Outcome::Limited,
            "This terminal cannot place text: use `--plain` or `--json`.",
        ),
        Terminal {
            size: Some((w, h)), ..
        } if *w < 80 || *h < 24 => (
            Outcome::Limited,
            "Make the terminal 80×24 or larger to see everything.",
        ),
        _ if !utf8 && cfg!(unix) => (
            Outcome::Limited,
            "The locale is not UTF-8: use `--ascii`, or set LANG to a UTF-8 locale.",
        ),
        _ => (Outcome::Good, ""),
    };
    Check {
        name: "terminal",
        outcome,
        found: format!("{kind}, {size}"),
        next_step: next_step.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn outcomes(state: Option<LinkState>) -> Vec<Outcome> {
        let trouble = state.map(|state| Unavailable {
            state,
            words: "told".into(),
            next_step: "do.",
        });
        bluetooth_checks(trouble.as_ref(), "hci0")
            .into_iter()
            .map(|c| {
                assert_eq!(c.outcome == Outcome::Bad, !c.next_step.is_empty());
                c.outcome
            })
            .collect()
    }

    #[test]
    fn what_comes_after_the_first_trouble_is_not_claimed_to_work() {
        use Outcome::{Bad, Good, NotChecked};
        assert_eq!(outcomes(None), [Good; 4]);
        assert_eq!(
            outcomes(Some(LinkState::NoBluetoothService)),
            [Bad, NotChecked, NotChecked, NotChecked]
        );
        assert_eq!(
            outcomes(Some(LinkState::NoPermission)),
            [Good, Bad, NotChecked, NotChecked]
        );
        assert_eq!(
            outcomes(Some(LinkState::NoAdapter)),
            [Good, Good, Bad, NotChecked]
        );
        assert_eq!(outcomes(Some(LinkState::AdapterOff)), [Good, Good, Good, Bad]);
        assert_eq!(
            outcomes(Some(LinkState::BackingOff)),
            [Bad, NotChecked, NotChecked, NotChecked]
        );
    }

    #[test]
    fn a_small_or_dumb_terminal_is_limited() {
        let good = Terminal {
            is_terminal: true,
            size: Some((80, 24)),
            kind: Some("xterm-256color".into()),
            locale: Some("C.UTF-8".into()),
        };
        assert_eq!(terminal(&good).outcome, Outcome::Good);
        let small = Terminal {
            size: Some((79, 24)),
            ..good.clone()
        };
        let dumb = Terminal {
            kind: Some("dumb".into()),
            ..good.clone()
        };
        let pipe = Terminal {
            is_terminal: false,
            ..good
        };
        for limited in [small, dumb, pipe] {
            let check = terminal(&limited);
            assert_eq!(check.outcome, Outcome::Limited);
            assert!(!check.next_step.is_empty());
        }
    }
}

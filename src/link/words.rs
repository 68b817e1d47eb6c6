//! What each state of a link means and what a person can do about it.

use crate::event::LinkState;
use booster_profile::Characteristic;

/// The operating system, where the next step depends on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum System {
    /// Linux with BlueZ.
    Linux,
    /// macOS.
    MacOs,
    /// Windows.
    Windows,
}

impl System {
    /// Every system.
    pub const ALL: &[System] = &[System::Linux, System::MacOs, System::Windows];

    /// The system that this program was built for.
    pub const fn current() -> Self {
        if cfg!(target_os = "macos") {
            System::MacOs
        } else if cfg!(target_os = "windows") {
            System::Windows
        } else {
            System::Linux
        }
    }
}

/// A state in words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Words {
    /// What it means, one sentence.
    pub meaning: &'static str,
    /// What to do, one or two sentences; empty where there is nothing to do but wait or work.
    pub next_step: &'static str,
}

/// A state of the link in words.
pub const fn explain(state: LinkState, system: System) -> Words {
    let (meaning, next_step) = match state {
        LinkState::Idle => ("The link has not been started.", ""),
        LinkState::Scanning => (
            "Looking for a booster in range.",
            "If none shows up: check that the unit has power, come within about 10 m, and close any other program or \
             phone that is connected to it, because a connected unit does not advertise.",
        ),
        LinkState::Connecting => ("Connecting to the unit.", ""),
        LinkState::Discovering => ("Finding out what the unit offers.", ""),
        LinkState::CheckingProfile => ("Reading version, features and bands of the unit.", ""),
        LinkState::Subscribing => ("Asking the unit to report.", ""),
        LinkState::AwaitingFirstValue => ("Everything is enabled; waiting for the first reading.", ""),
        LinkState::Live => ("Readings arrive.", ""),
        LinkState::Stalled => (
            "Connected, but readings stopped arriving; what is shown is old.",
            "Wait a few seconds while the link is tested. If it happens often, come closer to the unit or keep metal \
             and your body out of the way.",
        ),
        LinkState::BackingOff => (
            "The link was lost or could not be made; the next attempt follows by itself.",
            "Check that the unit has power and is within about 10 m.",
        ),
        LinkState::NoAdapter => (
            "This computer has no Bluetooth adapter, or not the one that was asked for.",
            match system {
                System::Linux => {
                    "Plug one in; it is used as soon as it appears. `bluetoothctl list` shows the adapters; if \
                     LOOPMARGIN_ADAPTER is set, it must name one of them."
                }
                System::MacOs => {
                    "Use a Mac with Bluetooth Low Energy; adapters plugged in are not supported there."
                }
                System::Windows => {
                    "Plug one in, or enable it in the Device Manager under Bluetooth; it is used as soon as it appears."
                }
            },
        ),
        LinkState::AdapterOff => (
            "The Bluetooth adapter is switched off.",
            match system {
                System::Linux => {
                    "Switch it on with `bluetoothctl power on`; if that is refused, `rfkill unblock bluetooth` first."
                }
                System::MacOs => "Switch Bluetooth on in the menu bar or under System Settings, Bluetooth.",
                System::Windows => {
                    "Switch Bluetooth on under Settings, Bluetooth & devices; leave aeroplane mode."
                }
            },
        ),
        LinkState::NoPermission => (
            "This program is not allowed to use Bluetooth.",
            match system {
                System::Linux => {
                    "Work in a local session, or join the group that the D-Bus policy of your system names \
                     (often `bluetooth`): `sudo usermod -aG bluetooth $USER`, then log in again."
                }
                System::MacOs => {
                    "Allow your terminal under System Settings, Privacy & Security, Bluetooth, then start again."
                }
                System::Windows => {
                    "Allow desktop apps to use Bluetooth under Settings, Privacy & security, then start again."
                }
            },
        ),
        LinkState::NoBluetoothService => (
            "The Bluetooth service of this computer does not run.",
            match system {
                System::Linux => {
                    "Start it with `sudo systemctl start bluetooth`; if there is no such service, install the package \
                     `bluez`. It is used as soon as it runs."
                }
                System::MacOs => "Restart the computer; the service belongs to the system.",
                System::Windows => "Start `Bluetooth Support Service` in the Services console.",
            },
        ),
        LinkState::ProfileMismatch => (
            "The unit speaks another version of the profile, or this computer remembers an older firmware of it.",
            match system {
                System::Linux => {
                    "Clear what is remembered with `bluetoothctl remove ADDRESS`, then retry. If it stays, update \
                     this program or the unit."
                }
                System::MacOs => {
                    "Switch Bluetooth off and on to clear what is remembered, then retry. If it stays, update this \
                     program or the unit."
                }
                System::Windows => {
                    "Remove the unit under Settings, Bluetooth & devices, then retry. If it stays, update this \
                     program or the unit."
                }
            },
        ),
        LinkState::PairingNeeded => (
            "The unit wants to be paired with this computer first.",
            match system {
                System::Linux => {
                    "Put the unit into pairing mode, run `bluetoothctl pair ADDRESS` and confirm; then retry."
                }
                System::MacOs => {
                    "Put the unit into pairing mode, confirm the request of the system, then retry."
                }
                System::Windows => {
                    "Put the unit into pairing mode, add it under Settings, Bluetooth & devices, then retry."
                }
            },
        ),
        LinkState::Ended => ("The link is over.", ""),
    };
    Words { meaning, next_step }
}

/// Why a write did not get through.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unwritten {
    /// The link was not live; nothing was sent.
    NotReady,
    /// The unit or this system wants to be paired first.
    PairFirst,
    /// No answer: the unit may have carried it out.
    Unanswered,
    /// The unit or this system refused.
    Refused,
}

impl Unwritten {
    const ALL: [Self; 4] = [Self::NotReady, Self::PairFirst, Self::Unanswered, Self::Refused];

    const fn words(self) -> &'static str {
        match self {
            Self::NotReady => "the link is not ready; ask again once it is live",
            Self::PairFirst => "pair with the unit first",
            Self::Unanswered => "no answer, the unit may have carried it out",
            Self::Refused => "refused",
        }
    }
}

/// The note that a link records about a write that did not get through; `said` are the system's own words.
pub fn not_written(characteristic: Characteristic, why: Unwritten, said: &str) -> String {
    let name = characteristic.short_name();
    let tail = if said.is_empty() {
        String::new()
    } else {
        format!(" ({said})")
    };
    format!("not written to {name}: {}{tail}", why.words())
}

/// Reads a note made by [`not_written`]: whose write, why, and the system's own words.
pub fn why_not_written(note: &str) -> Option<(Characteristic, Unwritten, &str)> {
    let (name, rest) = note.strip_prefix("not written to ")?.split_once(": ")?;
    let characteristic = Characteristic::from_short_name(name)?;
    let (why, tail) = Unwritten::ALL
        .into_iter()
        .find_map(|why| Some((why, rest.strip_prefix(why.words())?)))?;
    let said = tail.strip_prefix(" (").and_then(|t| t.strip_suffix(')'));
    Some((characteristic, why, said.unwrap_or_default()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whoever_has_to_act_is_told_what_to_do_on_every_system() {
        for &system in System::ALL {
            for &state in LinkState::ALL {
                let words = explain(state, system);
                assert!(words.meaning.ends_with('.'), "{state}");
                let person = state.waits_for_person() || state == LinkState::BackingOff;
                assert!(!person || words.next_step.ends_with('.'), "{state} {system:?}");
            }
        }
    }

    #[test]
    fn a_note_about_a_write_is_read_back() {
        for why in Unwritten::ALL {
            for said in ["", "writing failed: ATT error: 0x05 (x)"] {
                let note = not_written(Characteristic::UnitControl, why, said);
                assert_eq!(
                    why_not_written(&note),
                    Some((Characteristic::UnitControl, why, said)),
                    "{note}"
                );
            }
        }
        for other in ["", "not written to nothing: refused", "nothing received for 3 s"] {
            assert_eq!(why_not_written(other), None);
        }
    }

    #[test]
    fn commands_of_one_system_are_not_shown_on_another() {
        for &state in LinkState::ALL {
            for system in [System::MacOs, System::Windows] {
                let next_step = explain(state, system).next_step;
                assert!(
                    !next_step.contains("bluetoothctl") && !next_step.contains("systemctl"),
                    "{state}"
                );
            }
        }
    }
}

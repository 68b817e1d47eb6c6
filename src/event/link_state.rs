//! States of a link.

use std::fmt;

/// What the link to the unit is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LinkState {
    /// Nothing is asked of the link.
    Idle,
    /// Looking for units.
    Scanning,
    /// Connecting to a unit.
    Connecting,
    /// Finding services and characteristics.
    Discovering,
    /// Reading version, features and bands.
    CheckingProfile,
    /// Enabling notifications and indications.
    Subscribing,
    /// Everything is enabled and nothing has come yet.
    AwaitingFirstValue,
    /// Values arrive.
    Live,
    /// Connected, but values stopped arriving.
    Stalled,
    /// Waiting before the next attempt.
    BackingOff,
    /// This computer has no Bluetooth adapter.
    NoAdapter,
    /// The adapter is switched off.
    AdapterOff,
    /// This program may not use Bluetooth.
    NoPermission,
    /// The system's Bluetooth service does not run.
    NoBluetoothService,
    /// The unit speaks another major version of the profile, or contradicts it.
    ProfileMismatch,
    /// The unit wants to be paired first.
    PairingNeeded,
    /// The link is over and will not come back by itself.
    Ended,
}

use LinkState as S;

impl LinkState {
    /// Every state, in the order of a connection's life.
    pub const ALL: &[LinkState] = &[
        S::Idle,
        S::Scanning,
        S::Connecting,
        S::Discovering,
        S::CheckingProfile,
        S::Subscribing,
        S::AwaitingFirstValue,
        S::Live,
        S::Stalled,
        S::BackingOff,
        S::NoAdapter,
        S::AdapterOff,
        S::NoPermission,
        S::NoBluetoothService,
        S::ProfileMismatch,
        S::PairingNeeded,
        S::Ended,
    ];

    /// Name in output and recordings.
    pub const fn name(self) -> &'static str {
        match self {
            S::Idle => "idle",
            S::Scanning => "scanning",
            S::Connecting => "connecting",
            S::Discovering => "discovering",
            S::CheckingProfile => "checking-profile",
            S::Subscribing => "subscribing",
            S::AwaitingFirstValue => "awaiting-first-value",
            S::Live => "live",
            S::Stalled => "stalled",
            S::BackingOff => "backing-off",
            S::NoAdapter => "no-adapter",
            S::AdapterOff => "adapter-off",
            S::NoPermission => "no-permission",
            S::NoBluetoothService => "no-bluetooth-service",
            S::ProfileMismatch => "profile-mismatch",
            S::PairingNeeded => "pairing-needed",
            S::Ended => "ended",
        }
    }

    /// The state with this name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|s| s.name() == name)
    }

    /// Whether the link waits for a person rather than for time to pass.
    pub const fn waits_for_person(self) -> bool {
        matches!(
            self,
            S::NoAdapter
                | S::AdapterOff
                | S::NoPermission
                | S::NoBluetoothService
                | S::ProfileMismatch
                | S::PairingNeeded
        )
    }
}

impl fmt::Display for LinkState {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

//! What a direction of a band is doing, and why it is limited.

use crate::open::open_enum;

open_enum! {
    /// What one direction of a band is doing (a nibble).
    pub enum DirectionState: u8 {
        /// Switched off.
        Off = 0 => "off",
        /// Starting up, not yet passing signal.
        Starting = 1 => "starting",
        /// Running at the gain that was set.
        Normal = 2 => "normal",
        /// Running with less gain than was set; the reasons say why.
        Limited = 3 => "limited",
        /// Not passing signal on purpose (idle uplink, aim-safe, command).
        Muted = 4 => "muted",
        /// The oscillation guard is acting.
        Guard = 5 => "guard",
        /// The guard gave up; a person must act.
        LatchedOff = 6 => "latched-off",
    }
}

/// Why a direction runs with less gain than was set: a bit each.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Reasons(pub u8);

impl Reasons {
    /// The input is too strong.
    pub const INPUT: Reasons = Reasons(1 << 0);
    /// The output would exceed its rating.
    pub const OUTPUT: Reasons = Reasons(1 << 1);
    /// The antennas are not isolated enough.
    pub const ISOLATION: Reasons = Reasons(1 << 2);
    /// A regulation caps the gain.
    pub const RULE: Reasons = Reasons(1 << 3);
    /// The unit is too hot.
    pub const HEAT: Reasons = Reasons(1 << 4);
    /// The supply is too weak.
    pub const SUPPLY: Reasons = Reasons(1 << 5);
    /// A setting or command.
    pub const SETTING: Reasons = Reasons(1 << 6);
    /// The oscillation guard.
    pub const GUARD: Reasons = Reasons(1 << 7);

    /// Every reason with its name, in order of its bit.
    pub const NAMES: &[(Reasons, &'static str)] = &[
        (Reasons::INPUT, "input"),
        (Reasons::OUTPUT, "output"),
        (Reasons::ISOLATION, "isolation"),
        (Reasons::RULE, "rule"),
        (Reasons::HEAT, "heat"),
        (Reasons::SUPPLY, "supply"),
        (Reasons::SETTING, "setting"),
        (Reasons::GUARD, "guard"),
    ];

    /// Whether every bit of `other` is set here.
    pub const fn contains(self, other: Reasons) -> bool {
        self.0 & other.0 == other.0
    }

    /// Both sets together.
    pub const fn with(self, other: Reasons) -> Reasons {
        Reasons(self.0 | other.0)
    }

    /// Whether no reason is given.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Names of the reasons given, in order of their bit.
    pub fn names(self) -> impl Iterator<Item = &'static str> {
        Self::NAMES
            .iter()
            .filter(move |(r, _)| self.contains(*r))
            .map(|(_, name)| *name)
    }
}

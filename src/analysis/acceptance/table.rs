//! The criteria: name, unit, statistic, source, what to do. Limits stand in [`crate::analysis::criteria`].

use super::outcome::Bound::{AtLeast, AtMost};
use super::sheet::Test;
use crate::analysis::Code as C;

pub(super) static DATA: Test = Test {
    name: "data",
    unit: "s",
    bound: AtLeast,
    statistic: "time between the first reading and the last",
    comparable: true,
    essential: true,
    source: "common practice, no source",
    codes: &[C::StaleTelemetry],
    action: "See that the unit reports this band, go nearer to it, and run the test again.",
};

pub(super) static DONOR_RSRP: Test = Test {
    name: "donor-rsrp",
    unit: "dBm",
    bound: AtLeast,
    statistic: "10th percentile",
    comparable: true,
    essential: true,
    source: "kTB per resource element (15 kHz: -132.2 dBm) + noise figure + least SNR (common practice, no source); \
             grey zone: accuracy of RSRP, 3GPP TS 36.133, from memory",
    codes: &[C::WeakDonor, C::StepLoss, C::CreepingLoss],
    action: "Aim the donor antenna again, or set it where more signal is; then cut losses in its line.",
};

pub(super) static DONOR_LEVEL: Test = Test {
    name: "donor-level",
    unit: "dBm",
    bound: AtLeast,
    statistic: "10th percentile of the composite input, as the unit reports no RSRP",
    comparable: true,
    essential: true,
    source: "kTB in the pass band + noise figure + least distance (common practice, no source); grey zone: the unit's \
             stated accuracy",
    codes: &[C::WeakDonor, C::StepLoss, C::CreepingLoss],
    action: "Aim the donor antenna again, or set it where more signal is; then cut losses in its line.",
};

pub(super) static SINR: Test = Test {
    name: "sinr",
    unit: "dB",
    bound: AtLeast,
    statistic: "10th percentile",
    comparable: true,
    essential: false,
    source: "common practice, no source; grey zone: accuracy of SS-SINR, 3GPP TS 38.133, from memory",
    codes: &[C::NoisyDonor],
    action: "Turn the donor antenna away from the other cells, or use one with a narrower beam that the unit's maker \
             lists.",
};

pub(super) static RSRQ: Test = Test {
    name: "rsrq",
    unit: "dB",
    bound: AtLeast,
    statistic: "10th percentile, as the unit reports no SINR",
    comparable: true,
    essential: false,
    source: "common practice, no source; grey zone: accuracy of RSRQ, 3GPP TS 36.133, from memory",
    codes: &[C::NoisyDonor],
    action: "Turn the donor antenna away from the other cells, or use one with a narrower beam that the unit's maker \
             lists.",
};

pub(super) static OVERLOAD: Test = Test {
    name: "overload",
    unit: "dBm",
    bound: AtMost,
    statistic: "99th percentile of the composite input in the worst minute",
    comparable: true,
    essential: true,
    source: "the unit's overload level; grey zone: its stated accuracy",
    codes: &[C::DonorOverload, C::FrontEndOverload, C::NearFar],
    action: "Turn the donor antenna away from the strongest carrier, or put a listed attenuator into its line.",
};

pub(super) static BUSY_HOUR: Test = Test {
    name: "busy-hour-overload",
    unit: "dBm",
    bound: AtMost,
    statistic: "composite input with every carrier fully loaded, and 3 dB more",
    comparable: true,
    essential: false,
    source: "RSRP + 10 log10(12 N) per carrier + 3 dB (3GPP TS 36.214 definitions, derived; the 3 dB: two ports \
             without boosted reference symbols) against the unit's overload level",
    codes: &[C::DonorOverload, C::NearFar, C::FrontEndOverload],
    action: "Leave more headroom: turn the donor antenna away from the strongest carrier, or put a listed attenuator \
             into its line; repeat the test in the busy hour.",
};

pub(super) static MARGIN: Test = Test {
    name: "loop-margin",
    unit: "dB",
    bound: AtLeast,
    statistic: "1st percentile of the worst minute, at the gain in effect",
    comparable: true,
    essential: true,
    source: "TR 25.956, from memory",
    codes: &[
        C::LowLoopMargin,
        C::Oscillation,
        C::OscillationUnflagged,
        C::LatchedOff,
    ],
    action: "Move the antennas further apart or behind more of the building, or lower the gain.",
};

pub(super) static MARGIN_MEANT: Test = Test {
    name: "loop-margin-at-set-gain",
    unit: "dB",
    bound: AtLeast,
    statistic: "1st percentile of the worst minute, at the gain that was set, as far as the rules allow it",
    comparable: true,
    essential: false,
    source: "TR 25.956, from memory",
    codes: &[C::LowLoopMargin, C::GainHeldBack],
    action: "Move the antennas further apart or behind more of the building: the unit hides a thin margin by giving up \
             gain.",
};

pub(super) static OSCILLATION: Test = Test {
    name: "oscillation",
    unit: "",
    bound: AtMost,
    statistic: "readings in which the guard acted, and events of oscillation",
    comparable: true,
    essential: false,
    source: "no oscillation may occur: 47 CFR 20.21(e)(8)(ii)(A), from memory, asks to detect and end it",
    codes: &[
        C::LatchedOff,
        C::Oscillation,
        C::OscillationUnflagged,
        C::LowLoopMargin,
    ],
    action: "Lower the gain or mute the uplink, move the antennas further apart, restart the unit last.",
};

pub(super) static IN_SERVICE: Test = Test {
    name: "in-service",
    unit: "share",
    bound: AtLeast,
    statistic: "share of readings in which the direction passes signal, or idles as designed",
    comparable: true,
    essential: false,
    source: "common practice, no source",
    codes: &[
        C::LatchedOff,
        C::Oscillation,
        C::UplinkMuted,
        C::NotAuthorized,
        C::SyncLost,
    ],
    action: "Find out why the unit does not pass signal (Findings), put that right, and run the test again.",
};

pub(super) static HELD_BACK: Test = Test {
    name: "gain-held-back",
    unit: "dB",
    bound: AtMost,
    statistic: "median of the gain below what was set, as far as the rules allow it",
    comparable: true,
    essential: false,
    source: "common practice, no source",
    codes: &[
        C::GainHeldBack,
        C::DonorOverload,
        C::NearFar,
        C::HotUnit,
        C::SupplyDip,
    ],
    action: "Look why the unit holds its gain back (Bands view) and remove the cause.",
};

pub(super) static IMBALANCE: Test = Test {
    name: "gain-imbalance",
    unit: "dB",
    bound: AtMost,
    statistic: "median",
    comparable: true,
    essential: false,
    source: "KDB 935210 D03, from memory",
    codes: &[C::GainImbalance],
    action: "Set uplink and downlink to the same gain.",
};

pub(super) static NOISE_RULE: Test = Test {
    name: "uplink-noise",
    unit: "dBm/MHz",
    bound: AtMost,
    statistic: "median over the limit of the moment, at the mean input",
    comparable: true,
    essential: false,
    source: "-103 dBm/MHz - RSSI, 47 CFR 20.21(e)(8)(i)(A), from memory, and the unit's stated accuracy, as it keeps \
             this limit by its own meter",
    codes: &[C::UplinkNoise],
    action: "Lower the uplink gain.",
};

pub(super) static NOISE_CELL: Test = Test {
    name: "uplink-noise",
    unit: "dBm/MHz",
    bound: AtMost,
    statistic: "at the 95th percentile of the uplink gain",
    comparable: true,
    essential: false,
    source: "10 dB under the cell's own noise, coupling loss from its RSRP: common practice, no source",
    codes: &[C::UplinkNoise],
    action: "Lower the uplink gain.",
};

pub(super) static UPLINK_OUTPUT: Test = Test {
    name: "uplink-output",
    unit: "dBm",
    bound: AtMost,
    statistic: "99th percentile of the worst minute",
    comparable: false,
    essential: false,
    source: "the unit's rated output; grey zone: rated power tolerance, 3GPP TS 36.106 6.1",
    codes: &[C::UplinkOverload],
    action: "Keep phones further from the server antenna, or lower the uplink gain.",
};

pub(super) static UPLINK_OVERLOAD: Test = Test {
    name: "uplink-overload",
    unit: "dB",
    bound: AtMost,
    statistic: "95th percentile of the uplink gain given up to strong phones",
    comparable: false,
    essential: false,
    source: "common practice, no source",
    codes: &[C::UplinkOverload],
    action: "Keep phones further from the server antenna, or set it higher.",
};

pub(super) static FINDINGS: Test = Test {
    name: "findings",
    unit: "",
    bound: AtMost,
    statistic: "warnings and critical findings",
    comparable: true,
    essential: false,
    source: "every warning should be put right; a critical finding fails the test",
    codes: &[],
    action: "Put right what the findings name, the critical ones first.",
};

pub(super) static TELEMETRY: Test = Test {
    name: "telemetry-loss",
    unit: "share",
    bound: AtMost,
    statistic: "share of expected readings that are missing",
    comparable: true,
    essential: false,
    source: "common practice, no source",
    codes: &[C::LossyTelemetry, C::StaleTelemetry],
    action: "Go nearer to the unit or out of the way of metal, and run the test again.",
};

pub(super) static TEMPERATURE: Test = Test {
    name: "temperature",
    unit: "°C",
    bound: AtMost,
    statistic: "highest",
    comparable: true,
    essential: false,
    source: "common practice, no source",
    codes: &[C::HotUnit],
    action: "Give the unit air and shade.",
};

pub(super) static SUPPLY: Test = Test {
    name: "supply-drop",
    unit: "share",
    bound: AtMost,
    statistic: "lowest voltage below the highest",
    comparable: true,
    essential: false,
    source: "common practice, no source",
    codes: &[C::SupplyDip],
    action: "Check the power supply and its cable.",
};

pub(super) static RESTARTS: Test = Test {
    name: "restarts",
    unit: "",
    bound: AtMost,
    statistic: "restarts during the test",
    comparable: true,
    essential: false,
    source: "common practice, no source",
    codes: &[C::Restarting, C::SupplyDip],
    action: "Find out why the unit restarts: its supply first.",
};

pub(super) static CONDITION: Test = Test {
    name: "condition",
    unit: "",
    bound: AtMost,
    statistic: "statuses that report a bad port, fan, enclosure, receiver or frame synchronisation",
    comparable: true,
    essential: false,
    source: "Booster Telemetry Profile, Unit Status",
    codes: &[C::PortFault, C::FrontEndOverload, C::SyncLost],
    action: "Check the connectors and antennas, the fan and the enclosure that the unit complains about.",
};

pub(super) static OPERATING: Test = Test {
    name: "operating-state",
    unit: "share",
    bound: AtLeast,
    statistic: "share of statuses in normal operation",
    comparable: true,
    essential: false,
    source: "Booster Telemetry Profile, Unit Status",
    codes: &[C::LatchedOff, C::NotAuthorized],
    action: "End aim-safe, bypass or off at the unit, and run the test again.",
};

pub(super) static AUTHORIZATION: Test = Test {
    name: "authorization",
    unit: "",
    bound: AtMost,
    statistic: "statuses that report that the operator's permission is absent",
    comparable: true,
    essential: false,
    source: "47 CFR 20.21(a), seen; elsewhere the operator's consent",
    codes: &[C::NotAuthorized],
    action: "Register the unit with the operator and get its consent before it amplifies.",
};

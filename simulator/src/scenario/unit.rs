//! Unit: what the booster is, and its bands.

use serde::Deserialize;

/// The rule set that the unit enforces.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rule {
    /// None in force.
    #[default]
    None,
    /// United States, 47 CFR 20.21 wideband consumer booster, fixed.
    UsWideband,
    /// United Kingdom, SI 2022/595 indoor static repeater.
    UkStaticIndoor,
}

/// How the unit's oscillation guard behaves.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GuardSpec {
    /// Whether there is one.
    #[serde(default = "yes")]
    pub present: bool,
    /// Time from the start of oscillation to mitigation on the uplink, s.
    #[serde(default = "guard_ul")]
    pub ul_s: f64,
    /// The same on the downlink, s.
    #[serde(default = "guard_dl")]
    pub dl_s: f64,
    /// How long the direction stays off, s.
    #[serde(default = "hold")]
    pub hold_s: f64,
    /// Restarts before the direction latches off.
    #[serde(default = "restarts")]
    pub restarts: u8,
}

impl Default for GuardSpec {
    fn default() -> Self {
        Self {
            present: true,
            ul_s: guard_ul(),
            dl_s: guard_dl(),
            hold_s: hold(),
            restarts: restarts(),
        }
    }
}

/// Whether the operator must have enabled the unit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AuthorizationSpec {
    /// Not needed.
    #[default]
    NotRequired,
    /// Needed and there.
    Present,
    /// Needed and not there.
    Absent,
}

/// Optional fields of telemetry that a unit can report.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum FieldSpec {
    /// Downlink isolation.
    DlIsolation,
    /// Uplink isolation.
    UlIsolation,
    /// Downlink output.
    DlOutput,
    /// Uplink input.
    UlInput,
    /// The wanted cell.
    WantedCell,
    /// Gain set.
    GainSet,
    /// Gain allowed.
    GainAllowed,
    /// Cell Reports.
    CellReports,
    /// The oscillation flag.
    OscillationFlag,
}

impl FieldSpec {
    /// Every field.
    pub const ALL: [FieldSpec; 9] = [
        FieldSpec::DlIsolation,
        FieldSpec::UlIsolation,
        FieldSpec::DlOutput,
        FieldSpec::UlInput,
        FieldSpec::WantedCell,
        FieldSpec::GainSet,
        FieldSpec::GainAllowed,
        FieldSpec::CellReports,
        FieldSpec::OscillationFlag,
    ];
}

/// The unit.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct UnitSpec {
    /// Maker, an invented one.
    pub manufacturer: String,
    /// Model.
    pub model: String,
    /// Serial number.
    pub serial: String,
    /// Firmware revision.
    pub firmware: String,
    /// Hardware revision.
    pub hardware: String,
    /// Name in advertising, at most 7 bytes.
    pub short_name: String,
    /// Rule set in force.
    pub rule: Rule,
    /// Minimum coupling loss between a handset and the server port, dB, for the US rule.
    pub coupling_loss_db: f64,
    /// Report interval when nobody asked for another, ms.
    pub report_ms: u16,
    /// Shortest report interval, ms.
    pub min_report_ms: u16,
    /// Longest report interval, ms.
    pub max_report_ms: u16,
    /// Time that the modem needs for one cell, ms; with n cells each is refreshed every n of these.
    pub modem_ms: u16,
    /// Uptime at the start of the scenario, s.
    pub uptime_s: u32,
    /// Time from power to the first signal, s.
    pub boot_s: f64,
    /// Optional fields that it reports; all if not given.
    pub fields: Vec<FieldSpec>,
    /// Whether it follows its measured isolation with gain.
    pub self_adapting: bool,
    /// Margin that a self-adapting unit keeps, dB.
    pub adapt_margin_db: f64,
    /// Time without an active handset after which the uplink mutes, s; 0: never.
    pub idle_mute_s: f64,
    /// The oscillation guard.
    pub guard: GuardSpec,
    /// Authorization by the operator.
    pub authorization: AuthorizationSpec,
    /// Air temperature at the unit, °C.
    pub ambient_c: f64,
    /// Temperature from which gain is reduced, °C.
    pub heat_limit_c: f64,
    /// Supply voltage, V.
    pub supply_v: f64,
    /// Supply voltage below which gain is reduced, V.
    pub supply_limit_v: f64,
    /// Total power of the whole receiver, out-of-band carriers included, above which the front end is overloaded, dBm.
    pub front_end_limit_dbm: f64,
    /// Events that the log holds.
    pub event_capacity: u16,
    /// Band-seconds that the history holds.
    pub history_capacity: u32,
    /// Firmware faults from the start.
    pub quirks: Vec<super::Quirk>,
}

impl Default for UnitSpec {
    fn default() -> Self {
        Self {
            manufacturer: "Demonstration Works".to_owned(),
            model: "Relay 4".to_owned(),
            serial: "FD4-000117".to_owned(),
            firmware: "3.2.1".to_owned(),
            hardware: "C".to_owned(),
            short_name: "Relay4".to_owned(),
            rule: Rule::None,
            coupling_loss_db: 40.0,
            report_ms: 500,
            min_report_ms: 100,
            max_report_ms: 5_000,
            modem_ms: 700,
            uptime_s: 5_400,
            boot_s: 4.0,
            fields: FieldSpec::ALL.to_vec(),
            self_adapting: false,
            adapt_margin_db: 18.0,
            idle_mute_s: 0.0,
            guard: GuardSpec::default(),
            authorization: AuthorizationSpec::NotRequired,
            ambient_c: 24.0,
            heat_limit_c: 75.0,
            supply_v: 12.1,
            supply_limit_v: 10.5,
            front_end_limit_dbm: -15.0,
            event_capacity: 500,
            history_capacity: 21_600,
            quirks: Vec::new(),
        }
    }
}

/// One band of the unit.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BandSpec {
    /// `B` (LTE) or `n` (NR) and the 3GPP band number.
    pub name: String,
    /// Centre of the downlink pass band, MHz.
    pub dl_mhz: f64,
    /// Centre of the uplink pass band, MHz; the same for TDD.
    pub ul_mhz: f64,
    /// Width of the pass band, MHz.
    pub width_mhz: f64,
    /// Largest gain of both directions, dB.
    #[serde(default = "max_gain")]
    pub max_gain_db: f64,
    /// Largest uplink gain where it differs, dB.
    pub max_ul_gain_db: Option<f64>,
    /// Rated composite output at the server port, dBm.
    #[serde(default = "rated_dl")]
    pub rated_dl_dbm: f64,
    /// Rated composite output at the donor port, dBm.
    #[serde(default = "rated_ul")]
    pub rated_ul_dbm: f64,
    /// By how much AGC can lower the gain, dB.
    #[serde(default = "agc_range")]
    pub agc_range_db: f64,
    /// Noise figure of the downlink, dB.
    #[serde(default = "nf_dl")]
    pub noise_figure_dl_db: f64,
    /// Noise figure of the uplink, dB.
    #[serde(default = "nf_ul")]
    pub noise_figure_ul_db: f64,
    /// Stated accuracy of levels, ± dB.
    #[serde(default = "accuracy")]
    pub accuracy_db: f64,
    /// Isolation at downlink frequencies, dB.
    pub isolation_dl_db: f64,
    /// Isolation at uplink frequencies, dB.
    pub isolation_ul_db: f64,
    /// Standard deviation of isolation as people move about, dB.
    #[serde(default = "people")]
    pub people_db: f64,
    /// Attenuation that is set on the downlink, dB.
    #[serde(default)]
    pub attenuation_dl_db: f64,
    /// Attenuation that is set on the uplink, dB.
    #[serde(default)]
    pub attenuation_ul_db: f64,
}

impl BandSpec {
    /// A band with usual values: centres and width of the pass band in MHz, gain and isolation both ways in dB.
    pub fn new(
        name: &str,
        dl_mhz: f64,
        ul_mhz: f64,
        width_mhz: f64,
        gain_db: f64,
        isolation_db: f64,
    ) -> Self {
        Self {
            name: name.to_owned(),
            dl_mhz,
            ul_mhz,
            width_mhz,
            max_gain_db: gain_db,
            max_ul_gain_db: None,
            rated_dl_dbm: rated_dl(),
            rated_ul_dbm: rated_ul(),
            agc_range_db: agc_range(),
            noise_figure_dl_db: nf_dl(),
            noise_figure_ul_db: nf_ul(),
            accuracy_db: accuracy(),
            isolation_dl_db: isolation_db,
            isolation_ul_db: isolation_db,
            people_db: people(),
            attenuation_dl_db: 0.0,
            attenuation_ul_db: 0.0,
        }
    }

    /// Number of the 3GPP band and whether it is an NR band; `None` for a name that is neither.
    pub fn number(&self) -> Option<(u16, bool)> {
        let (digits, nr) = match self.name.split_at_checked(1)? {
            ("B", digits) => (digits, false),
            ("n", digits) => (digits, true),
            _ => return None,
        };
        digits.parse().ok().map(|n| (n, nr))
    }

    /// Whether uplink and downlink share their frequencies.
    pub fn is_tdd(&self) -> bool {
        self.dl_mhz == self.ul_mhz
    }

    /// Composite input above which AGC has nothing left: rated output − (largest gain − AGC range), dBm.
    pub fn overload_dbm(&self) -> f64 {
        self.rated_dl_dbm - (self.max_gain_db - self.agc_range_db)
    }
}

fn yes() -> bool {
    true
}
fn guard_ul() -> f64 {
    0.2
}
fn guard_dl() -> f64 {
    0.7
}
fn hold() -> f64 {
    60.0
}
fn restarts() -> u8 {
    5
}
fn max_gain() -> f64 {
    70.0
}
fn rated_dl() -> f64 {
    17.0
}
fn rated_ul() -> f64 {
    23.0
}
fn agc_range() -> f64 {
    30.0
}
fn nf_dl() -> f64 {
    6.0
}
fn nf_ul() -> f64 {
    5.0
}
fn accuracy() -> f64 {
    3.0
}
fn people() -> f64 {
    0.3
}

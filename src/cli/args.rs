//! Options of the command line, as the contract names them.

use crate::aiming::Objective;
use crate::config::{Config, When};
use crate::console::{ThemeName, View};
use crate::link::pace::Speed;
use crate::share::address::Place;
use clap::{Args, Parser, Subcommand};
use std::path::PathBuf;
use std::time::Duration;

/// Live diagnostics for stationary cellular signal boosters.
///
/// Reads a booster's gain, input level, loop margin and warnings over Bluetooth LE (Booster Telemetry Profile), says
/// what is wrong and what to do, records and replays.
#[derive(Parser, Debug)]
#[command(version, propagate_version = true, arg_required_else_help = true)]
#[command(
    after_help = "Exit codes: 0 done or pass, 1 failed, 2 wrong usage, 3 marginal, 4 fail, 130/143/129 ended by \
                        SIGINT/SIGTERM/SIGHUP.\nLocal law and licensed practice come first: check that the network \
                        operator permits this repeater."
)]
pub(super) struct Cli {
    #[command(flatten)]
    pub(super) look: LookOptions,
    /// Let the program change the unit, each time after saying what it does.
    #[arg(long, global = true)]
    pub(super) allow_control: bool,
    #[command(subcommand)]
    pub(super) command: Command,
}

/// How the console looks; holds for every command that draws.
#[derive(Args, Debug)]
pub(super) struct LookOptions {
    /// Colours: auto follows the terminal and NO_COLOR.
    #[arg(long, global = true, value_enum, value_name = "WHEN")]
    pub(super) color: Option<When>,
    /// ASCII signs only.
    #[arg(long, global = true)]
    pub(super) ascii: bool,
    /// Theme of the console.
    #[arg(long, global = true, value_enum, value_name = "NAME")]
    pub(super) theme: Option<ThemeName>,
    /// Configuration file instead of the user's own (see `config`).
    #[arg(long = "config", global = true, value_name = "FILE")]
    pub(super) config_file: Option<PathBuf>,
    /// What that file says.
    #[arg(skip)]
    pub(super) config: Config,
}

#[derive(Args, Debug)]
pub(super) struct ConfigOptions {
    #[command(subcommand)]
    pub(super) command: ConfigCommand,
}

#[derive(Subcommand, Debug)]
pub(super) enum ConfigCommand {
    /// What is in effect, as a file.
    Show {
        /// The built-in limits instead, as --criteria takes them.
        #[arg(long)]
        criteria: bool,
    },
    /// Whether the file is sound; errors come with their line.
    Check,
    /// Write the defaults; a file that is there is never overwritten.
    Init,
}

#[derive(Subcommand, Debug)]
pub(super) enum Command {
    /// Live console: what the booster does, what is wrong, what to do.
    Watch(WatchOptions),
    /// Guided aiming of the donor antenna: where to turn, how long to hold, which bearing is best and how sure that is.
    Aim(AimOptions),
    /// Acceptance test: every criterion with its value, limit and margin; pass, marginal or fail.
    Accept(AcceptOptions),
    /// Analyse recordings as fast as possible.
    Replay(ReplayOptions),
    /// Hand-over document: one HTML file that stands alone, for screen and paper.
    Report(ReportOptions),
    /// Readings of recordings as CSV or Parquet, or attribute values as a packet capture.
    Export(ExportOptions),
    /// Pocket calculators; alone it lists them, those for roof and ladder first.
    Calc(CalcOptions),
    /// A simulated unit: record a session, or serve one over Bluetooth.
    Simulate(SimulateOptions),
    /// Care of recordings.
    Session(SessionOptions),
    /// List boosters in range with the health they advertise.
    Scan(ScanOptions),
    /// Look and keys of the console: show, check, or write the defaults.
    Config(ConfigOptions),
    /// Check this computer: Bluetooth service, permission, adapter, terminal.
    Doctor(DoctorOptions),
    /// Completions for a shell, on standard output.
    Completions {
        /// Which shell.
        shell: clap_complete::Shell,
    },
    /// The manual page, on standard output.
    Man,
}

#[derive(Args, Debug)]
pub(super) struct SessionOptions {
    #[command(subcommand)]
    pub(super) command: SessionCommand,
}

#[derive(Subcommand, Debug)]
pub(super) enum SessionCommand {
    /// What a recording contains.
    Info {
        /// Session file.
        file: PathBuf,
        /// Print one JSON object.
        #[arg(long)]
        json: bool,
    },
    /// Check every checksum; exit code 4 on damage.
    Verify {
        /// Session file.
        file: PathBuf,
        /// Print one JSON object.
        #[arg(long)]
        json: bool,
    },
    /// Write a copy without what tells whose recording it is; readings and findings stay the same.
    #[command(
        after_help = "Replaced: serial number, address or path of the source, site notes, spots, rooms, notes, link \
                      details, comments in the criteria; with --operators the operator codes. What stays can still hint \
                      at a place: date, model and firmware, channel numbers, cell identities. Look before you publish."
    )]
    Anonymize {
        /// Session file.
        file: PathBuf,
        /// The copy; an existing file is never overwritten.
        #[arg(long)]
        out: PathBuf,
        /// Replace the operator codes (PLMN) of the cells too.
        #[arg(long)]
        operators: bool,
        /// File with a secret: stand-ins are then the same in every recording; otherwise they are numbered anew.
        #[arg(long, value_name = "FILE")]
        key: Option<PathBuf>,
        /// Print one JSON object.
        #[arg(long)]
        json: bool,
    },
    /// Write a sound copy of whatever can be read.
    Repair {
        /// Session file.
        file: PathBuf,
        /// The copy; an existing file is never overwritten.
        #[arg(long)]
        out: PathBuf,
        /// Print one JSON object.
        #[arg(long)]
        json: bool,
    },
}

#[derive(Args, Debug)]
pub(super) struct ScanOptions {
    /// How long to listen.
    #[arg(long = "for", value_name = "D", default_value = "10s", value_parser = duration)]
    pub(super) duration: Duration,
    /// Print one JSON object.
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Args, Debug)]
pub(super) struct DoctorOptions {
    /// Print one JSON object.
    #[arg(long)]
    pub(super) json: bool,
}

/// The roof page.
#[derive(Args, Debug)]
pub(super) struct ShareOptions {
    /// Serve the roof page to phones on the local network, at this address or the one of the local network.
    #[arg(long, value_name = "ADDR:PORT", num_args = 0..=1)]
    pub(super) share: Option<Option<Place>>,
    /// Let the roof page take steps of the aim, set marks and keep the walk list.
    #[arg(long, requires = "share")]
    pub(super) share_aim: bool,
    /// Encrypt the roof page with a certificate of this session; the phone asks whether to trust it.
    #[arg(long, requires = "share")]
    pub(super) share_tls: bool,
}

#[derive(Args, Debug)]
pub(super) struct WatchOptions {
    /// Where values come from: sim | sim:NAME | sim:FILE.toml | ble | ble:NAME-OR-ID | a session file.
    #[arg(long, value_name = "SOURCE", default_value = "ble")]
    pub(super) from: String,
    /// Record the session to this file; an existing file is never overwritten.
    #[arg(long, value_name = "FILE")]
    pub(super) record: Option<PathBuf>,
    /// Print plain lines instead of drawing.
    #[arg(long, conflicts_with = "json")]
    pub(super) plain: bool,
    /// Print JSON Lines instead of drawing.
    #[arg(long)]
    pub(super) json: bool,
    /// End after this session time, such as 90s, 10m or 1h30m.
    #[arg(long = "for", value_name = "D", value_parser = duration)]
    pub(super) duration: Option<Duration>,
    /// Speed of simulator and recordings: a factor, or max.
    #[arg(long, value_name = "N|max", default_value = "1")]
    pub(super) speed: Speed,
    /// Seed of the simulator.
    #[arg(long, default_value_t = 1)]
    pub(super) seed: u64,
    /// Limits to compare with (TOML).
    #[arg(long, value_name = "FILE")]
    pub(super) criteria: Option<PathBuf>,
    /// View to start with.
    #[arg(long, value_enum, value_name = "NAME")]
    pub(super) view: Option<View>,
    /// Most redraws per second for new data, 10 unless configured; a key redraws at once.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=60))]
    pub(super) fps: Option<u16>,
    #[command(flatten)]
    pub(super) share: ShareOptions,
}

#[derive(Args, Debug)]
pub(super) struct AimOptions {
    /// Where values come from: sim | sim:NAME | sim:FILE.toml | ble | ble:NAME-OR-ID | a recorded aim.
    #[arg(long, value_name = "SOURCE", default_value = "ble")]
    pub(super) from: String,
    /// Number of fixed stops of the mount, spread evenly from 0°.
    #[arg(long, value_name = "N", conflicts_with = "bearings", value_parser = clap::value_parser!(u16).range(2..=72))]
    pub(super) stops: Option<u16>,
    /// Bearings to choose from, in degrees.
    #[arg(long, value_name = "DEG,…", value_delimiter = ',')]
    pub(super) bearings: Vec<f64>,
    /// Bearing to start with; the nearest stop is taken.
    #[arg(long, value_name = "DEG")]
    pub(super) start: Option<f64>,
    /// What for: what the rooms will get, the level, or the quality of the wanted cell.
    #[arg(long, value_enum, default_value_t, value_name = "WHAT")]
    pub(super) objective: AimFor,
    /// Bands that count, by number; all if none is named.
    #[arg(long, value_name = "BAND,…", value_delimiter = ',')]
    pub(super) bands: Vec<u16>,
    /// Weights of these bands.
    #[arg(long, value_name = "W,…", value_delimiter = ',')]
    pub(super) weights: Vec<f64>,
    /// Width of the antenna's beam between its −3 dB points, degrees; estimated if not given.
    #[arg(long, value_name = "DEG")]
    pub(super) beam_width: Option<f64>,
    /// The simulator turns the antenna when asked, in virtual time.
    #[arg(long)]
    pub(super) auto: bool,
    /// Prompts and result as plain lines instead of the console.
    #[arg(long, conflicts_with = "json")]
    pub(super) plain: bool,
    /// Print the result as one JSON object; prompts are plain lines.
    #[arg(long)]
    pub(super) json: bool,
    /// Record the session to this file; an existing file is never overwritten.
    #[arg(long, value_name = "FILE")]
    pub(super) record: Option<PathBuf>,
    /// Speed of the simulator: a factor, or max.
    #[arg(long, value_name = "N|max", default_value = "1")]
    pub(super) speed: Speed,
    /// Most redraws of the console per second for new data; a key redraws at once.
    #[arg(long, default_value_t = 10, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=60))]
    pub(super) fps: u16,
    /// Seed of the simulator.
    #[arg(long, default_value_t = 1)]
    pub(super) seed: u64,
    #[command(flatten)]
    pub(super) share: ShareOptions,
}

#[derive(Args, Debug)]
pub(super) struct AcceptOptions {
    /// Where values come from: sim | sim:NAME | sim:FILE.toml | ble | ble:NAME-OR-ID | a session file.
    #[arg(long, value_name = "SOURCE", default_value = "ble")]
    pub(super) from: String,
    /// Length of the test; 60s, for a recording the whole of it.
    #[arg(long = "for", value_name = "D", value_parser = duration)]
    pub(super) duration: Option<Duration>,
    /// Limits to judge by (TOML).
    #[arg(long, value_name = "FILE")]
    pub(super) criteria: Option<PathBuf>,
    /// An earlier session to compare with, criterion by criterion.
    #[arg(long, value_name = "SESSION")]
    pub(super) baseline: Option<PathBuf>,
    /// Print the result as one JSON object.
    #[arg(long)]
    pub(super) json: bool,
    /// Record the test to this file; an existing file is never overwritten.
    #[arg(long, value_name = "FILE")]
    pub(super) record: Option<PathBuf>,
    /// Speed of the simulator: a factor, or max (without prompts). Recordings are read as fast as possible.
    #[arg(long, value_name = "N|max", default_value = "1")]
    pub(super) speed: Speed,
    /// Seed of the simulator.
    #[arg(long, default_value_t = 1)]
    pub(super) seed: u64,
}

/// What a bearing is chosen for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub(super) enum AimFor {
    /// What the rooms will get.
    #[default]
    Service,
    /// Level of the wanted cell.
    Level,
    /// Quality of the wanted cell.
    Quality,
}

impl From<AimFor> for Objective {
    fn from(what: AimFor) -> Self {
        match what {
            AimFor::Service => Self::Service,
            AimFor::Level => Self::Level,
            AimFor::Quality => Self::Quality,
        }
    }
}

#[derive(Args, Debug)]
pub(super) struct ReplayOptions {
    /// Session files; a folder stands for every recording below it.
    #[arg(required = true, value_name = "PATH")]
    pub(super) paths: Vec<PathBuf>,
    /// Print JSON Lines.
    #[arg(long)]
    pub(super) json: bool,
    /// Compare each session with the expectation file beside it; exit code 4 on any difference.
    #[arg(long)]
    pub(super) expect: bool,
    /// Write the expectation file beside each session, in place of one that is there.
    #[arg(long, conflicts_with = "expect")]
    pub(super) write_expect: bool,
    /// Write a JUnit XML file with a test case for each session.
    #[arg(long, value_name = "FILE")]
    pub(super) junit: Option<PathBuf>,
    /// Sessions to replay at the same time; as many as this computer has processors, if not given.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub(super) jobs: Option<u16>,
    /// Limits to compare with (TOML), instead of those in the recording.
    #[arg(long, value_name = "FILE")]
    pub(super) criteria: Option<PathBuf>,
}

#[derive(Args, Debug)]
pub(super) struct ReportOptions {
    /// The session; or an earlier one and then this one, to compare them.
    #[arg(required = true, value_name = "SESSION", num_args = 1..=2)]
    pub(super) sessions: Vec<PathBuf>,
    /// The document (HTML); an existing file is not overwritten without --force.
    #[arg(long, value_name = "FILE")]
    pub(super) out: PathBuf,
    /// Replace the document if it exists.
    #[arg(long)]
    pub(super) force: bool,
    /// Limits to compare with (TOML), instead of those in the recording.
    #[arg(long, value_name = "FILE")]
    pub(super) criteria: Option<PathBuf>,
}

#[derive(Args, Debug)]
pub(super) struct ExportOptions {
    /// Session files; a folder stands for every recording below it.
    #[arg(required = true, value_name = "SESSION")]
    pub(super) sessions: Vec<PathBuf>,
    /// What to write: one row a reading, or every attribute value as a packet.
    #[arg(long, value_enum, value_name = "FORMAT")]
    pub(super) format: ExportFormat,
    /// Folder to write to; files that are there are never overwritten.
    #[arg(long, value_name = "DIR")]
    pub(super) out: PathBuf,
    /// Print one JSON object.
    #[arg(long)]
    pub(super) json: bool,
}

/// Formats of `export`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(super) enum ExportFormat {
    /// Comma-separated values, a file a session.
    Csv,
    /// Apache Parquet in folders unit=…/date=….
    Parquet,
    /// Packet capture, a file a session.
    Pcapng,
}

#[derive(Args, Debug)]
pub(super) struct CalcOptions {
    /// Which calculator, such as loop or coax.
    #[arg(value_name = "NAME")]
    pub(super) name: Option<String>,
    /// Its inputs, such as margin_db=10.
    #[arg(value_name = "KEY=VALUE")]
    pub(super) arguments: Vec<String>,
    /// Print one JSON object.
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Args, Debug)]
pub(super) struct SimulateOptions {
    /// Scenario: a name, or a TOML file.
    #[arg(long, value_name = "S")]
    pub(super) scenario: Option<String>,
    /// Seed.
    #[arg(long, default_value_t = 1)]
    pub(super) seed: u64,
    /// How long, in simulated time.
    #[arg(long = "for", value_name = "D", value_parser = duration)]
    pub(super) duration: Option<Duration>,
    /// Write a session file, as fast as possible.
    #[arg(long, value_name = "FILE", conflicts_with = "air")]
    pub(super) record: Option<PathBuf>,
    /// Serve over a Bluetooth adapter in real time (Linux); the system's default one if none is named.
    #[arg(long, value_name = "ADAPTER", num_args = 0..=1)]
    pub(super) air: Option<Option<String>>,
    /// With --air: log every value sent (JSON Lines).
    #[arg(long, value_name = "FILE", requires = "air")]
    pub(super) log: Option<PathBuf>,
    /// With --air: keep the unit's event log and sequence here over restarts.
    #[arg(long, value_name = "FILE", requires = "air")]
    pub(super) state: Option<PathBuf>,
    /// List the scenarios.
    #[arg(long, conflicts_with_all = ["record", "air", "explain"])]
    pub(super) list: bool,
    /// Say what a scenario contains and what should be found.
    #[arg(long, value_name = "S", conflicts_with_all = ["record", "air"])]
    pub(super) explain: Option<String>,
}

/// Parses `90s`, `10m`, `1h30m`, `500ms`, `2d` or a plain number of seconds.
pub(super) fn duration(text: &str) -> Result<Duration, String> {
    let wrong = || "a time such as 90s, 10m, 1h30m or 500ms".to_owned();
    let seconds = |n: f64| Duration::try_from_secs_f64(n).map_err(|_| wrong());
    if let Ok(n) = text.parse::<f64>() {
        return seconds(n).and_then(|d| if d.is_zero() { Err(wrong()) } else { Ok(d) });
    }
    let mut total = Duration::ZERO;
    let mut rest = text;
    while !rest.is_empty() {
        let digits = rest
            .find(|c: char| !c.is_ascii_digit() && c != '.')
            .ok_or_else(wrong)?;
        let (number, tail) = rest.split_at(digits);
        let letters = tail.find(|c: char| c.is_ascii_digit()).unwrap_or(tail.len());
        let (unit, tail) = tail.split_at(letters);
        let scale = match unit {
            "ms" => 0.001,
            "s" => 1.0,
            "m" | "min" => 60.0,
            "h" => 3_600.0,
            "d" => 86_400.0,
            _ => return Err(wrong()),
        };
        total = total.saturating_add(seconds(number.parse::<f64>().map_err(|_| wrong())? * scale)?);
        rest = tail;
    }
    if total.is_zero() { Err(wrong()) } else { Ok(total) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn durations_as_people_write_them() {
        let s = |text: &str| duration(text).map(|d| d.as_secs_f64());
        assert_eq!(s("30s"), Ok(30.0));
        assert_eq!(s("1h30m"), Ok(5_400.0));
        assert_eq!(s("500ms"), Ok(0.5));
        assert_eq!(s("2.5"), Ok(2.5));
        for wrong in ["", "0", "-3s", "10x", "m", "1e9999", "NaN", "3s4"] {
            assert!(s(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn the_command_line_is_consistent() {
        use clap::CommandFactory;
        Cli::command().debug_assert();
    }
}

//! Remedies: what can be done, what it brings on both directions, what it costs.
//!
//! What is to be done stands there twice: as [`Work`], so that a program can do it to a simulated site (`cargo bench
//! --bench advice`), and in words. Both come from the same numbers.

use super::Path;

/// What is done to the site or the unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Work {
    /// The gain of a band is lowered, in one direction or in both.
    LowerGain {
        /// Position of the band.
        band: usize,
        /// Direction; both if not given.
        path: Option<Path>,
        /// By this much, dB.
        db: f64,
    },
    /// Attenuation is taken back.
    RaiseGain {
        /// Position of the band.
        band: usize,
        /// Direction.
        path: Path,
        /// By this much, dB.
        db: f64,
    },
    /// An attenuator is put into the donor line, dB.
    Pad(f64),
    /// The antennas are moved apart, turned, or a wall comes between them, until the unit measures so much more
    /// isolation, dB.
    Isolate(f64),
    /// The uplink of a band is muted.
    MuteUplink(usize),
    /// The uplink of a band is switched on again.
    UnmuteUplink(usize),
    /// The TDD bands are switched off.
    SwitchTddOff,
    /// The donor antenna is turned so that what is too strong falls out of its beam.
    TurnAway,
    /// The donor antenna is moved so that the building stands between it and what is too strong.
    Shield,
    /// A filter in the donor line, or a unit that passes the wanted carrier only.
    Filter,
    /// Another donor antenna.
    ChangeAntenna,
    /// The donor antenna is aimed again.
    Aim,
    /// What came between antenna and cell is found and removed, or the antenna brought back to where it was.
    RestoreView,
    /// Cable and connectors of the donor line are put right.
    MendLine,
    /// What changed the path between the antennas is found and undone.
    FindLeak,
    /// A source of interference near the antenna is found and switched off.
    RemoveInterferer,
    /// Handsets keep away from the server antenna, until its input has fallen by so much, dB.
    KeepHandsetsAway {
        /// Position of the band.
        band: usize,
        /// By this much, dB.
        db: f64,
    },
    /// The mast is braced.
    SteadyMast,
    /// The unit gets air, shade and a fan that turns.
    Cool,
    /// The supply is put right.
    MendSupply,
    /// The line from the donor port is put right.
    MendDonorPort,
    /// The line from the server port is put right.
    MendServerPort,
    /// The enclosure is shut and dried.
    ShutEnclosure,
    /// What the unit takes its timing from is restored.
    RestoreSync,
    /// The unit is restarted at its button.
    Restart,
    /// Nothing that changes the site: looking, asking, waiting, registering.
    Look,
}

/// What an effect is counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// Isolation minus the gain that is set.
    LoopMargin,
    /// Distance of the input from what the direction can take.
    Headroom,
    /// Signal: of the wanted cell at the donor port, or of the handsets at the cell.
    Signal,
    /// Distance of the noise that reaches the network from where it hurts.
    Quiet,
    /// Gain that the unit gives back.
    Gain,
    /// Difference of the gains of both directions, and by how much it shrinks.
    Balance,
}

impl Measure {
    /// In words.
    pub const fn name(self) -> &'static str {
        match self {
            Measure::LoopMargin => "loop margin",
            Measure::Headroom => "headroom",
            Measure::Signal => "signal",
            Measure::Quiet => "less noise",
            Measure::Gain => "gain",
            Measure::Balance => "balance",
        }
    }
}

/// What can be done, and what it brings.
#[derive(Clone, Debug, PartialEq)]
pub struct Remedy {
    /// What to do, for a program.
    pub work: Work,
    /// What to do, in words.
    pub action: String,
    /// Predicted change in the downlink, dB; positive is better.
    pub dl_effect_db: Option<f64>,
    /// The same in the uplink.
    pub ul_effect_db: Option<f64>,
    /// What the effect in the downlink is counted in.
    pub dl_measure: Option<Measure>,
    /// The same for the uplink.
    pub ul_measure: Option<Measure>,
    /// What it costs.
    pub cost: Option<String>,
    /// What to watch out for.
    pub caution: Option<String>,
}

impl Remedy {
    pub(super) fn new(work: Work, action: impl Into<String>) -> Self {
        Self {
            work,
            action: action.into(),
            dl_effect_db: None,
            ul_effect_db: None,
            dl_measure: None,
            ul_measure: None,
            cost: None,
            caution: None,
        }
    }

    /// Brings so much in a direction, dB; whole tenths, for reading.
    pub(super) fn brings(mut self, path: Path, measure: Measure, db: f64) -> Self {
        let (effect, counted) = match path {
            Path::Downlink => (&mut self.dl_effect_db, &mut self.dl_measure),
            Path::Uplink => (&mut self.ul_effect_db, &mut self.ul_measure),
        };
        (*effect, *counted) = (Some((db * 10.0).round() / 10.0), Some(measure));
        self
    }

    /// Brings the same in both directions.
    pub(super) fn brings_both(self, measure: Measure, db: f64) -> Self {
        self.brings(Path::Downlink, measure, db)
            .brings(Path::Uplink, measure, db)
    }

    pub(super) fn cost(self, cost: impl Into<String>) -> Self {
        Self {
            cost: Some(cost.into()),
            ..self
        }
    }

    pub(super) fn caution(self, caution: impl Into<String>) -> Self {
        Self {
            caution: Some(caution.into()),
            ..self
        }
    }

    /// Predicted effect in a direction, and what it is counted in.
    pub fn effect(&self, path: Path) -> Option<(Measure, f64)> {
        match path {
            Path::Downlink => self.dl_measure.zip(self.dl_effect_db),
            Path::Uplink => self.ul_measure.zip(self.ul_effect_db),
        }
    }

    /// What it brings, in words: `DL +6 dB headroom, UL -6 dB signal`; `None` where nothing is predicted.
    pub fn effect_words(&self) -> Option<String> {
        let one = |path: Path| {
            let name = path.name().to_uppercase();
            self.effect(path)
                .map(|(measure, db)| format!("{name} {db:+.0} dB {}", measure.name()))
        };
        match (one(Path::Downlink), one(Path::Uplink)) {
            (Some(dl), Some(ul)) => Some(format!("{dl}, {ul}")),
            (dl, ul) => dl.or(ul),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_effect_says_what_it_is_counted_in() {
        let pad = Remedy::new(Work::Pad(6.0), "pad")
            .brings(Path::Downlink, Measure::Headroom, 6.0)
            .brings(Path::Uplink, Measure::Signal, -6.0);
        assert_eq!(pad.effect_words().unwrap(), "DL +6 dB headroom, UL -6 dB signal");
        let one = Remedy::new(Work::Look, "look").brings(Path::Uplink, Measure::Quiet, 4.04);
        assert_eq!(one.effect_words().unwrap(), "UL +4 dB less noise");
        assert_eq!(one.ul_effect_db, Some(4.0));
        assert_eq!(Remedy::new(Work::Look, "look").effect_words(), None);
    }
}

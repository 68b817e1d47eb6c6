//! Composite input beyond what the unit can take in this band.

use super::{Context, DOWNLINK, Rule, above, known, number};
use crate::analysis::catalogue::{Figures, Situation};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Path, Severity};
use booster_profile::{Reasons, TenthDbm};

pub(super) struct DonorOverload;

fn level(c: &Context<'_>) -> Option<f64> {
    c.facts.overload_dbm
}

impl Rule for DonorOverload {
    fn code(&self) -> Code {
        Code::DonorOverload
    }

    fn paths(&self) -> &'static [Path] {
        DOWNLINK
    }

    fn timing(&self) -> Timing {
        Timing::millis(200, 3_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        let Some(level) = level(c) else {
            return Judgement::NotJudged("its overload level");
        };
        let Some(input) = c.input() else {
            return Judgement::NotJudged("the downlink input");
        };
        if c.rings() {
            return Judgement::Between;
        }
        // Within the accuracy of the level, what the unit itself says decides.
        let said = c.controlled() && c.reasons().contains(Reasons::INPUT);
        if said && input >= level - c.facts.accuracy_db {
            return Judgement::Bad;
        }
        above(input, level, c.criteria.overload.hysteresis_db)
    }

    fn severity(&self, c: &Context<'_>) -> Severity {
        let damage = c.band.damage_level.map(TenthDbm::dbm);
        let near_damage = damage
            .zip(c.input())
            .is_some_and(|(damage, input)| input >= damage - c.criteria.overload.damage_distance_db);
        if near_damage {
            Severity::Critical
        } else {
            Severity::Warning
        }
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        let rival = c.memory.cells.rival(c.reading.at);
        known([
            number("dl_input_dbm", c.input()),
            number("overload_level_dbm", level(c)),
            number("damage_level_dbm", c.band.damage_level.map(TenthDbm::dbm)),
            // Gain control gives up gain, one for one, from this input on.
            number(
                "agc_onset_dbm",
                c.rated().zip(c.gain_full()).map(|(rated, gain)| rated - gain),
            ),
            number(
                "gain_given_up_db",
                c.gain_full().zip(c.gain()).map(|(full, now)| full - now),
            ),
            number("strongest_other_carrier_dbm", rival.map(|r| r.composite_dbm)),
        ])
    }

    fn figures(&self, c: &Context<'_>) -> Figures {
        let beyond = c.input().zip(level(c)).map(|(input, level)| input - level);
        Figures {
            shortfall_db: beyond.map(|b| b.max(0.0) + c.criteria.overload.headroom_db),
            spare_db: c.rsrp().map(|r| r - c.facts.weak_rsrp_dbm),
            ..Figures::default()
        }
    }

    fn situation(&self, c: &Context<'_>) -> Situation {
        let other = match c.explained_dbm().zip(c.input()).filter(|_| c.cell_is_fresh()) {
            Some((explained, input)) => input > explained,
            // The wanted cell as it is now is not known yet. Cells come nearer by and by, a carrier is switched on.
            None => c.memory.input.jumped(),
        };
        if other {
            Situation::OtherCarrier
        } else {
            Situation::Plain
        }
    }
}

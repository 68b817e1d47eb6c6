//! Marks: what the person at the console says about a moment.

use serde::{Deserialize, Serialize};
use std::fmt;

/// A moment marked by a person: where the antenna points, where it stands, what was seen; or, with a room, what a
/// handset has there (the walk list). Everything is optional.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mark {
    /// Bearing of the donor antenna in degrees, 0 to below 360, true or relative as the person chose.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bearing_deg: Option<f64>,
    /// Name of the spot where the antenna stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spot: Option<String>,
    /// Height above ground or roof, in metres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_m: Option<f64>,
    /// Tilt in degrees, downward positive.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tilt_deg: Option<f64>,
    /// Polarisation.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub polarisation: Option<Polarisation>,
    /// Room in which a handset was read or tried.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub room: Option<String>,
    /// Whether that was before the work or after it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stage: Option<Stage>,
    /// Level that the handset showed, dBm: RSRP where it shows that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub level_dbm: Option<f64>,
    /// Quality that the handset showed, dB: SINR where it shows that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub quality_db: Option<f64>,
    /// Whether an ordinary call from there succeeded; `None`: not tried.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub call_ok: Option<bool>,
    /// Whether an upload from there succeeded; `None`: not tried.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub upload_ok: Option<bool>,
    /// Free text.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

impl Mark {
    /// Whether this is an entry of the walk list: something was read or tried in a room.
    pub fn is_walk_entry(&self) -> bool {
        self.room.is_some()
            || self.level_dbm.is_some()
            || self.quality_db.is_some()
            || self.call_ok.is_some()
            || self.upload_ok.is_some()
    }
}

impl fmt::Display for Mark {
    /// What the mark says, in words; nothing for a bare mark.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let tried = |what: &str, ok: bool| format!("{what} {}", if ok { "succeeded" } else { "failed" });
        let parts = [
            self.spot.as_ref().map(|s| format!("spot {s}")),
            self.bearing_deg.map(|v| format!("bearing {v}°")),
            self.height_m.map(|v| format!("height {v} m")),
            self.tilt_deg.map(|v| format!("tilt {v}°")),
            self.polarisation.map(|p| p.name().to_owned()),
            self.room.as_ref().map(|r| format!("room {r}")),
            self.stage.map(|s| format!("{} the work", s.name())),
            self.level_dbm.map(|v| format!("level {v} dBm")),
            self.quality_db.map(|v| format!("quality {v} dB")),
            self.call_ok.map(|ok| tried("call", ok)),
            self.upload_ok.map(|ok| tried("upload", ok)),
            self.note.clone(),
        ];
        let said: Vec<String> = parts.into_iter().flatten().collect();
        f.write_str(&said.join(", "))
    }
}

/// When in the visit a room was walked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// Before the work.
    Before,
    /// After the work.
    After,
}

impl Stage {
    /// Name in output and recordings.
    pub const fn name(self) -> &'static str {
        match self {
            Stage::Before => "before",
            Stage::After => "after",
        }
    }
}

/// Polarisation of an antenna as mounted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Polarisation {
    /// Vertical.
    Vertical,
    /// Horizontal.
    Horizontal,
    /// Slanted by 45°.
    Slant,
}

impl Polarisation {
    /// Name in output and recordings.
    pub const fn name(self) -> &'static str {
        match self {
            Polarisation::Vertical => "vertical",
            Polarisation::Horizontal => "horizontal",
            Polarisation::Slant => "slant",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_reads_as_words() {
        assert_eq!(Mark::default().to_string(), "");
        let walk = Mark {
            room: Some("archive".into()),
            stage: Some(Stage::After),
            level_dbm: Some(-97.5),
            quality_db: Some(11.0),
            call_ok: Some(true),
            upload_ok: Some(false),
            ..Mark::default()
        };
        assert_eq!(
            walk.to_string(),
            "room archive, after the work, level -97.5 dBm, quality 11 dB, call succeeded, upload failed"
        );
        assert!(walk.is_walk_entry());
        let aim = Mark {
            bearing_deg: Some(135.0),
            polarisation: Some(Polarisation::Slant),
            note: Some("gable".into()),
            ..Mark::default()
        };
        assert_eq!(aim.to_string(), "bearing 135°, slant, gable");
        assert!(!aim.is_walk_entry());
    }

    #[test]
    fn names_are_those_of_the_recording() {
        for stage in [Stage::Before, Stage::After] {
            assert_eq!(serde_json::to_value(stage).unwrap(), stage.name());
        }
        for polarisation in [
            Polarisation::Vertical,
            Polarisation::Horizontal,
            Polarisation::Slant,
        ] {
            assert_eq!(serde_json::to_value(polarisation).unwrap(), polarisation.name());
        }
    }
}

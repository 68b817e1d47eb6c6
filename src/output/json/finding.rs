//! The finding line.

use crate::analysis::{Evidence, EvidenceValue, Finding, Remedy};
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

pub(super) struct EvidenceMap<'a>(&'a [Evidence]);

impl Serialize for EvidenceMap<'_> {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let mut map = s.serialize_map(Some(self.0.len()))?;
        for evidence in self.0 {
            match &evidence.value {
                EvidenceValue::Number(n) => map.serialize_entry(evidence.name, n)?,
                EvidenceValue::Text(t) => map.serialize_entry(evidence.name, t)?,
            }
        }
        map.end()
    }
}

#[derive(Serialize)]
pub(super) struct FindingLine<'a> {
    #[serde(rename = "type")]
    pub(super) kind: &'static str,
    pub(super) t_s: f64,
    pub(super) code: &'static str,
    pub(super) severity: &'static str,
    pub(super) change: &'static str,
    pub(super) band: Option<&'a str>,
    pub(super) direction: Option<&'static str>,
    pub(super) evidence: EvidenceMap<'a>,
    pub(super) meaning: &'a str,
    pub(super) causes: &'a [&'static str],
    pub(super) remedies: Vec<RemedyLine<'a>>,
}

#[derive(Serialize)]
pub(super) struct RemedyLine<'a> {
    pub(super) action: &'a str,
    pub(super) dl_effect_db: Option<f64>,
    pub(super) ul_effect_db: Option<f64>,
    pub(super) cost: Option<&'a str>,
    pub(super) caution: Option<&'a str>,
}

impl<'a> From<&'a Remedy> for RemedyLine<'a> {
    fn from(r: &'a Remedy) -> Self {
        Self {
            action: &r.action,
            dl_effect_db: r.dl_effect_db,
            ul_effect_db: r.ul_effect_db,
            cost: r.cost.as_deref(),
            caution: r.caution.as_deref(),
        }
    }
}

impl<'a> FindingLine<'a> {
    pub(super) fn new(f: &'a Finding, band: Option<&'a str>) -> Self {
        Self {
            kind: "finding",
            t_s: f.cleared.unwrap_or(f.raised).seconds(),
            code: f.code.name(),
            severity: f.severity.name(),
            change: if f.is_open() { "raised" } else { "cleared" },
            band,
            direction: f.subject.path.map(|p| p.name()),
            evidence: EvidenceMap(&f.evidence),
            meaning: &f.meaning,
            causes: &f.causes,
            remedies: f.remedies.iter().map(RemedyLine::from).collect(),
        }
    }
}

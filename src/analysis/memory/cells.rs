//! The cells that the unit's modem hears in a band.

use crate::event::SessionTime;
use arrayvec::ArrayVec;
use booster_profile::{CellReport, Plmn, TenthDbm};
use radio::quantities::ResourceBlocks;
use std::time::Duration;

/// Cells kept per band; the weakest make room.
const KEPT: usize = 16;
/// A cell that was not reported for this long is taken for gone.
const GONE: Duration = Duration::from_secs(20);

/// One cell as last reported.
#[derive(Clone, Copy, Debug)]
struct Heard {
    at: SessionTime,
    channel: u32,
    identity: Option<u16>,
    operator: Option<Plmn>,
    wanted: bool,
    rsrp_dbm: f64,
    /// Power of the fully loaded carrier over its RSRP, dB; `None` where its width is not known.
    span_db: Option<f64>,
}

/// The cells of a band.
#[derive(Clone, Debug, Default)]
pub(in crate::analysis) struct Cells {
    heard: ArrayVec<Heard, KEPT>,
    wanted_span_db: Option<f64>,
}

/// A cell that is not wanted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::analysis) struct Rival {
    /// Power of the fully loaded carrier at the donor port, dBm.
    pub(in crate::analysis) composite_dbm: f64,
    /// Its RSRP, dBm.
    pub(in crate::analysis) rsrp_dbm: f64,
    /// It belongs to another operator than the wanted cell.
    pub(in crate::analysis) foreign: bool,
}

impl Cells {
    /// Takes in a report.
    pub(in crate::analysis) fn report(&mut self, at: SessionTime, cell: &CellReport) {
        let Some(rsrp_dbm) = cell.rsrp.map(TenthDbm::dbm) else {
            return;
        };
        let span_db = cell
            .resource_blocks
            .and_then(|n| ResourceBlocks::new(n).ok())
            .map(|n| n.rssi_above_rsrp().0);
        let heard = Heard {
            at,
            channel: cell.channel,
            identity: cell.identity,
            operator: cell.operator,
            wanted: cell.wanted,
            rsrp_dbm,
            span_db,
        };
        if cell.wanted {
            self.wanted_span_db = span_db.or(self.wanted_span_db);
        }
        let same = |h: &&mut Heard| h.channel == heard.channel && h.identity == heard.identity;
        if let Some(known) = self.heard.iter_mut().find(same) {
            *known = heard;
            return;
        }
        self.heard.retain(|h| at.since(h.at) < GONE);
        if self.heard.try_push(heard).is_ok() {
            return;
        }
        if let Some(weakest) = self
            .heard
            .iter_mut()
            .min_by(|a, b| a.rsrp_dbm.total_cmp(&b.rsrp_dbm))
            .filter(|w| w.rsrp_dbm < rsrp_dbm)
        {
            *weakest = heard;
        }
    }

    /// Power of the fully loaded wanted carrier over its RSRP, dB.
    pub(in crate::analysis) fn wanted_span_db(&self) -> Option<f64> {
        self.wanted_span_db
    }

    /// The strongest cell that is not wanted.
    pub(in crate::analysis) fn rival(&self, at: SessionTime) -> Option<Rival> {
        let operator = self.heard.iter().find(|h| h.wanted).and_then(|h| h.operator);
        self.heard
            .iter()
            .filter(|h| !h.wanted && at.since(h.at) < GONE)
            .filter_map(|h| {
                Some(Rival {
                    composite_dbm: h.rsrp_dbm + h.span_db?,
                    rsrp_dbm: h.rsrp_dbm,
                    foreign: h.operator != operator,
                })
            })
            .max_by(|a, b| a.composite_dbm.total_cmp(&b.composite_dbm))
    }

    /// RSRP of the strongest other cell on the wanted cell's channel, dBm.
    pub(in crate::analysis) fn same_channel_rival_dbm(&self, at: SessionTime) -> Option<f64> {
        let channel = self.heard.iter().find(|h| h.wanted)?.channel;
        self.heard
            .iter()
            .filter(|h| !h.wanted && h.channel == channel && at.since(h.at) < GONE)
            .map(|h| h.rsrp_dbm)
            .max_by(f64::total_cmp)
    }
}

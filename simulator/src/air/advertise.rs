//! Advertising. BlueZ 5.66 can't put service data into a scan response, and beside the service UUID it is too long:
//! two advertisements in turn, one with the UUID, one with the service data, both with the name.

use super::{AirError, bluetooth};
use crate::simulation::Advertisement;
use bluer::Adapter;
use bluer::adv::{Advertisement as Advert, AdvertisementHandle};
use booster_profile::SERVICE_UUID;
use booster_profile::advertising::ServiceData;
use std::time::{Duration, Instant};
use uuid::Uuid;

/// The service data follow the unit within 2 s (profile BTP-062), but not every dB of margin.
const PACE: Duration = Duration::from_secs(1);
const MARGIN_STEP_DB: i16 = 2;

pub(super) struct Advertiser {
    _plain: AdvertisementHandle,
    data: Option<AdvertisementHandle>,
    told: ServiceData,
    at: Instant,
}

fn advert(name: &str) -> Advert {
    Advert {
        discoverable: Some(true),
        local_name: Some(name.to_owned()),
        min_interval: Some(Duration::from_millis(100)),
        max_interval: Some(Duration::from_millis(250)),
        ..Default::default()
    }
}

async fn advertise_data(adapter: &Adapter, what: &Advertisement) -> bluer::Result<AdvertisementHandle> {
    let data = (Uuid::from_u128(SERVICE_UUID), what.service_data.encode().to_vec());
    adapter
        .advertise(Advert {
            service_data: [data].into_iter().collect(),
            ..advert(&what.name)
        })
        .await
}

impl Advertiser {
    pub(super) async fn start(
        adapter: &Adapter,
        what: &Advertisement,
        tell: &(dyn Fn(&str) + Send),
    ) -> Result<Self, AirError> {
        let plain = Advert {
            service_uuids: [Uuid::from_u128(SERVICE_UUID)].into_iter().collect(),
            ..advert(&what.name)
        };
        let plain = adapter.advertise(plain).await.map_err(bluetooth("advertising"))?;
        let data = match advertise_data(adapter, what).await {
            Ok(handle) => Some(handle),
            Err(e) => {
                tell(&format!(
                    "this adapter can't advertise the unit's state as well: {e}"
                ));
                None
            }
        };
        Ok(Self {
            _plain: plain,
            data,
            told: what.service_data,
            at: Instant::now(),
        })
    }

    /// Advertises the unit's state anew where it changed.
    pub(super) async fn follow(&mut self, adapter: &Adapter, what: &Advertisement) {
        if self.data.is_none() || self.at.elapsed() < PACE || !differs(&self.told, &what.service_data) {
            return;
        }
        self.at = Instant::now();
        self.told = what.service_data;
        self.data = None;
        // A refusal is temporary here: the next change tries again with the old handle gone.
        self.data = advertise_data(adapter, what).await.ok();
    }
}

fn differs(told: &ServiceData, now: &ServiceData) -> bool {
    let margin = match (told.loop_margin_db, now.loop_margin_db) {
        (Some(a), Some(b)) => (i16::from(a) - i16::from(b)).abs() >= MARGIN_STEP_DB,
        (a, b) => a != b,
    };
    margin || told.attention != now.attention || told.worst_state != now.worst_state
}

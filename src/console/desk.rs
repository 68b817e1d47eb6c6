//! The control panel: what may be asked of the unit, what is about to be asked, what came of it.

use crate::control::Ask;
use crate::event::SessionTime;
use crate::telemetry::Identity;
use booster_profile::{Direction, TenthDb};

/// Times after which aim-safe ends by itself, s.
const RESTORES_S: &[u16] = &[300, 600, 1_200, 1_800, 3_600];
/// Most attenuation that the profile knows, dB.
const MOST_ATTENUATION_DB: i16 = 60;
/// How long the unit blinks, s.
const BLINK_S: u8 = 30;

/// Where a person stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Stage {
    /// Choosing.
    #[default]
    Menu,
    /// Reading what it does; nothing has been sent.
    Confirm,
    /// Sent.
    Asked(Ask, SessionTime),
}

/// A row of the menu.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Item {
    AimSafeOn,
    AimSafeOff,
    IsolationTest,
    Attenuation,
    Restart,
    Locate,
    Fast,
}

impl Item {
    pub(super) const ALL: &[Item] = &[
        Item::AimSafeOn,
        Item::AimSafeOff,
        Item::IsolationTest,
        Item::Attenuation,
        Item::Restart,
        Item::Locate,
        Item::Fast,
    ];

    pub(super) const fn label(self) -> &'static str {
        match self {
            Item::AimSafeOn => "aim-safe on",
            Item::AimSafeOff => "aim-safe off",
            Item::IsolationTest => "isolation test",
            Item::Attenuation => "attenuation",
            Item::Restart => "restart",
            Item::Locate => "locate",
            Item::Fast => "fast reporting",
        }
    }

    /// Values that can be changed.
    const fn fields(self) -> usize {
        match self {
            Item::AimSafeOn | Item::IsolationTest | Item::Fast => 1,
            Item::Attenuation => 3,
            Item::AimSafeOff | Item::Restart | Item::Locate => 0,
        }
    }
}

/// The panel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Desk {
    /// Where a person stands.
    pub stage: Stage,
    /// Lines that the panel is scrolled by.
    pub scroll: u16,
    row: usize,
    field: usize,
    restore: usize,
    /// Position of the band to test; `None`: all.
    tested: Option<usize>,
    /// Position of the band to attenuate.
    band: usize,
    direction: Direction,
    attenuation_db: i16,
    fast: bool,
}

impl Default for Desk {
    fn default() -> Self {
        Self {
            stage: Stage::Menu,
            scroll: 0,
            row: 0,
            field: 2,
            restore: 1,
            tested: None,
            band: 0,
            direction: Direction::Both,
            attenuation_db: 3,
            fast: true,
        }
    }
}

/// The same number of steps on, within a range.
fn within(here: usize, by: i32, count: usize) -> usize {
    let last = i32::try_from(count.saturating_sub(1)).unwrap_or(i32::MAX);
    let here = i32::try_from(here).unwrap_or(last);
    usize::try_from(here.saturating_add(by).clamp(0, last)).unwrap_or(0)
}

impl Desk {
    /// The panel where a person stands at this stage.
    pub fn at(stage: Stage) -> Self {
        Self {
            stage,
            ..Self::default()
        }
    }

    /// The row that is selected.
    pub(super) fn item(&self) -> Item {
        Item::ALL[self.row.min(Item::ALL.len() - 1)]
    }

    /// Selects another row.
    pub(super) fn step(&mut self, by: i32) {
        self.row = within(self.row, by, Item::ALL.len());
    }

    /// Selects the next value of the row.
    pub(super) fn next_field(&mut self) {
        self.field = (self.field + 1) % self.item().fields().max(1);
    }

    /// Changes the selected value of the row.
    pub(super) fn change(&mut self, by: i32, identity: &Identity) {
        let bands = identity.bands.bands.len();
        match (self.item(), self.field) {
            (Item::AimSafeOn, _) => self.restore = within(self.restore, by, RESTORES_S.len()),
            (Item::IsolationTest, _) => {
                // 0 stands for all bands.
                let at = within(self.tested.map_or(0, |p| p + 1), by, bands + 1);
                self.tested = at.checked_sub(1);
            }
            (Item::Attenuation, 0) => self.band = within(self.band, by, bands),
            (Item::Attenuation, 1) => {
                const WAYS: [Direction; 3] = [Direction::Both, Direction::Downlink, Direction::Uplink];
                let here = WAYS.iter().position(|w| *w == self.direction).unwrap_or(0);
                self.direction = WAYS[within(here, by, WAYS.len())];
            }
            (Item::Attenuation, _) => {
                let by = i16::try_from(by).unwrap_or(0);
                self.attenuation_db = self
                    .attenuation_db
                    .saturating_add(by)
                    .clamp(0, MOST_ATTENUATION_DB);
            }
            (Item::Fast, _) => self.fast = !self.fast,
            (Item::AimSafeOff | Item::Restart | Item::Locate, _) => {}
        }
    }

    /// What a row asks for; `None` without a band to ask it of.
    pub(super) fn ask_of(&self, item: Item, identity: &Identity) -> Option<Ask> {
        let index = |position: usize| identity.band(position).map(|b| b.index);
        Some(match item {
            Item::AimSafeOn => Ask::AimSafeOn {
                restore_s: RESTORES_S[self.restore.min(RESTORES_S.len() - 1)],
            },
            Item::AimSafeOff => Ask::AimSafeOff,
            Item::IsolationTest => Ask::IsolationTest {
                band: self.tested.and_then(index),
            },
            Item::Attenuation => Ask::Attenuation {
                band: index(self.band)?,
                direction: self.direction,
                value: TenthDb(self.attenuation_db * 10),
            },
            Item::Restart => Ask::Restart,
            Item::Locate => Ask::Locate { seconds: BLINK_S },
            Item::Fast => Ask::Fast(self.fast),
        })
    }

    /// What the selected row asks for.
    pub(super) fn ask(&self, identity: &Identity) -> Option<Ask> {
        self.ask_of(self.item(), identity)
    }

    /// The values of a row in words, and whether each is the one that keys change.
    pub(super) fn values(&self, item: Item, identity: &Identity) -> Vec<(String, bool)> {
        let texts = match item {
            Item::AimSafeOn => {
                let restore_s = RESTORES_S[self.restore.min(RESTORES_S.len() - 1)];
                vec![format!("for {} min", restore_s / 60)]
            }
            Item::IsolationTest => vec![
                self.tested
                    .map_or_else(|| "all bands".to_owned(), |p| identity.name(p).to_owned()),
            ],
            Item::Attenuation => vec![
                identity.name(self.band).to_owned(),
                match self.direction {
                    Direction::Downlink => "downlink",
                    Direction::Uplink => "uplink",
                    _ => "both ways",
                }
                .to_owned(),
                format!("{} dB", self.attenuation_db),
            ],
            Item::Fast => vec![if self.fast { "on" } else { "off" }.to_owned()],
            Item::Restart => vec!["what latched off".to_owned()],
            Item::Locate => vec![format!("blink for {BLINK_S} s")],
            Item::AimSafeOff => vec!["now".to_owned()],
        };
        let fields = item.fields();
        let active =
            |i: usize| item == self.item() && fields > 0 && (fields == 1 || i == self.field.min(fields - 1));
        texts
            .into_iter()
            .enumerate()
            .map(|(i, text)| (text, active(i)))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_and_values_stay_within_what_there_is() {
        let identity = Identity::default();
        let mut desk = Desk::default();
        for by in [-1, 1, 1, 1, 1, 1, 1, 1, 1, -9] {
            desk.step(by);
            for _ in 0..4 {
                desk.next_field();
                for change in [-100, 100, 1, -1] {
                    desk.change(change, &identity);
                    let values = desk.values(desk.item(), &identity);
                    assert!(values.iter().filter(|(_, active)| *active).count() <= 1);
                    // Without a band table there is no band to attenuate.
                    assert_eq!(desk.ask(&identity).is_none(), desk.item() == Item::Attenuation);
                }
            }
        }
    }
}

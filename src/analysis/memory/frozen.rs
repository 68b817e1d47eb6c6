//! An input that repeats itself, as no signal does.

use booster_profile::TenthDbm;

/// An input that repeats itself.
#[derive(Clone, Debug, Default)]
pub(super) struct Frozen {
    same: Option<TenthDbm>,
    so_far_us: u64,
    readings: u32,
    /// Values between whole dB were seen: the unit sends tenths, and repetition is no chance.
    tenths: bool,
}

impl Frozen {
    /// Fewer identical readings than this may be chance.
    const LEAST: u32 = 8;

    pub(super) fn watch(&mut self, input: Option<TenthDbm>, step_us: u64) {
        self.tenths |= input.is_some_and(|i| i.0 % 10 != 0);
        if self.same == input && input.is_some() {
            self.so_far_us += step_us;
            self.readings = self.readings.saturating_add(1);
        } else {
            (self.same, self.so_far_us, self.readings) = (input, 0, 0);
        }
    }

    /// How long it has repeated itself, s; 0 where that may be chance.
    pub(super) fn told_s(&self) -> f64 {
        if self.tenths && self.readings >= Self::LEAST {
            self.so_far_us as f64 / 1e6
        } else {
            0.0
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn watched(values: &[i16], repeats: usize) -> f64 {
        let mut frozen = Frozen::default();
        for value in values
            .iter()
            .chain(std::iter::repeat_n(&values[values.len() - 1], repeats))
        {
            frozen.watch(Some(TenthDbm(*value)), 1_000_000);
        }
        frozen.told_s()
    }

    #[test]
    fn repetition_counts_where_tenths_are_sent_and_not_by_chance() {
        assert_eq!(watched(&[-603, -597], 9), 9.0);
        assert_eq!(watched(&[-603, -597], 5), 0.0);
        assert_eq!(watched(&[-600, -610], 30), 0.0, "whole dB repeat by themselves");
    }
}

//! Requirements of 3GPP on repeaters: TS 36.106 (seen).

use crate::range::{Check, RangeError};
use crate::units::{Db, Megahertz};

/// Greatest error vector magnitude, downlink and uplink, as a factor (clauses 10.1.1 and 10.2.1).
pub const MAX_EVM: f64 = 0.08;

/// Greatest gain outside the pass band, `offset` away from the edge of the outer channel: 60 dB from 0.2 MHz,
/// 45 dB from 1 MHz, 35 dB from 10 MHz (clause 8.1, Table 8.1-1; from 10 MHz also no more than the declared
/// minimum donor coupling loss).
///
/// # Errors
/// Nearer than 0.2 MHz, where the table states nothing.
pub fn max_gain_outside(offset: Megahertz) -> Result<Db, RangeError> {
    let offset = Check("out-of-band gain").within(
        "offset",
        offset.0,
        " MHz",
        0.2..,
        "the table starts 0.2 MHz from the edge of the channel",
    )?;
    Ok(Db(if offset < 1.0 {
        60.0
    } else if offset < 10.0 {
        45.0
    } else {
        35.0
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_of_the_table() {
        for (offset, gain) in [(0.2, 60.0), (0.99, 60.0), (1.0, 45.0), (9.99, 45.0), (10.0, 35.0)] {
            assert_eq!(max_gain_outside(Megahertz(offset)), Ok(Db(gain)));
        }
        assert!(max_gain_outside(Megahertz(0.1)).is_err());
    }
}

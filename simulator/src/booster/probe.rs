//! A test tone through the loop: it goes round again and again, each time with the loop's phase, until it stands.

use super::amplifier::Amplifier;

/// Trips round the loop after which a tone that still grows counts as oscillation: at 1 dB of margin the echo has then
/// fallen by 4,000 dB.
const TRIPS: usize = 4_000;

/// Gain of a weak tone through the amplifier in its loop, relative to the amplifier alone, dB. `offset_mhz` is the
/// tone's frequency from that of a loop in phase, `delay_us` the time once round. `None` where the tone grows without
/// end.
pub fn tone_gain_db(amplifier: &Amplifier, delay_us: f64, offset_mhz: f64) -> Option<f64> {
    let loop_gain = libm::sqrt(amplifier.loop_gain());
    if loop_gain >= 1.0 {
        return None;
    }
    let phase = core::f64::consts::TAU * delay_us * offset_mhz;
    let (turn_re, turn_im) = (loop_gain * libm::cos(phase), loop_gain * libm::sin(phase));
    let (mut re, mut im) = (0.0, 0.0);
    for _ in 0..TRIPS {
        (re, im) = (1.0 + re * turn_re - im * turn_im, re * turn_im + im * turn_re);
    }
    Some(10.0 * libm::log10(re * re + im * im))
}

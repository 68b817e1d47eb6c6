//! The reading line. Readings make up nearly all of a session's output, so that their lines are written by hand:
//! letter by letter what serde_json would write.

use crate::event::SessionTime;
use crate::telemetry::Reading;
use booster_profile::{Reasons, TenthDb, TenthDbm};

/// Appends the line of a reading, newline included. `late`: it arrived after a later one and was not analysed; said only
/// where it is so.
pub(super) fn push(out: &mut Vec<u8>, reading: &Reading, band: &str, late: bool) {
    let t = &reading.telemetry;
    let extra = &t.extra;
    out.extend_from_slice(b"{\"type\":\"reading\",\"t_s\":");
    push_seconds(out, reading.at);
    out.extend_from_slice(b",\"unit_ms\":");
    push_whole(out, reading.unit_ms);
    // Names of bands are letters, digits and dots; those of states and reasons are constants.
    push_name(out, b",\"band\":\"", band);
    out.extend_from_slice(b"\",\"seq\":");
    push_whole(out, reading.sequence);
    let (level, ratio) = (|l: TenthDbm| i32::from(l.0), |r: TenthDb| i32::from(r.0));
    let fields: [(&[u8], Option<i32>); 12] = [
        (b",\"dl_input_dbm\":", t.dl_input.map(level)),
        (b",\"dl_gain_db\":", t.dl_gain.map(ratio)),
        (b",\"ul_gain_db\":", t.ul_gain.map(ratio)),
        (b",\"dl_output_dbm\":", extra.dl_output.map(level)),
        (b",\"ul_input_dbm\":", extra.ul_input.map(level)),
        (b",\"ul_output_dbm\":", t.ul_output.map(level)),
        (b",\"dl_isolation_db\":", extra.dl_isolation.map(ratio)),
        (b",\"ul_isolation_db\":", extra.ul_isolation.map(ratio)),
        (b",\"loop_margin_db\":", reading.margin().map(ratio)),
        (b",\"rsrp_dbm\":", extra.cell.rsrp.map(level)),
        (b",\"rsrq_db\":", extra.cell.rsrq.map(ratio)),
        (b",\"sinr_db\":", extra.cell.sinr.map(ratio)),
    ];
    for (key, tenths) in fields {
        out.extend_from_slice(key);
        push_tenths(out, tenths);
    }
    out.extend_from_slice(b",\"cell\":");
    match extra.cell.identity {
        Some(cell) => push_whole(out, u64::from(cell)),
        None => out.extend_from_slice(b"null"),
    }
    out.extend_from_slice(b",\"cell_age_s\":");
    push_tenths(out, extra.cell.age_tenths_s.map(i32::from));
    push_name(out, b",\"dl_state\":\"", t.dl_state.name());
    push_name(out, b"\",\"ul_state\":\"", t.ul_state.name());
    out.extend_from_slice(b"\",\"dl_limited_by\":");
    push_reasons(out, t.dl_reasons);
    out.extend_from_slice(b",\"ul_limited_by\":");
    push_reasons(out, t.ul_reasons);
    if late {
        out.extend_from_slice(b",\"late\":true");
    }
    out.extend_from_slice(b"}\n");
}

fn push_name(out: &mut Vec<u8>, key: &[u8], name: &str) {
    out.extend_from_slice(key);
    out.extend_from_slice(name.as_bytes());
}

fn push_reasons(out: &mut Vec<u8>, reasons: Reasons) {
    out.push(b'[');
    for (i, name) in reasons.names().enumerate() {
        push_name(out, if i > 0 { b",\"" } else { b"\"" }, name);
        out.push(b'"');
    }
    out.push(b']');
}

fn push_whole(out: &mut Vec<u8>, number: u64) {
    // 2⁶⁴ has 20 digits.
    let mut digits = [b'0'; 20];
    let first = fill(&mut digits, number);
    out.extend_from_slice(&digits[first..]);
}

/// Writes a number's digits to the end of `digits`, at least one; the place of the first.
fn fill(digits: &mut [u8; 20], mut number: u64) -> usize {
    let mut first = digits.len();
    for place in (0..digits.len()).rev() {
        digits[place] = b'0' + (number % 10) as u8;
        number /= 10;
        first = place;
        if number == 0 {
            break;
        }
    }
    first
}

/// A number of tenths as the shortest number that means it: `-47.3`, `15.0`.
fn push_tenths(out: &mut Vec<u8>, tenths: Option<i32>) {
    let Some(tenths) = tenths else {
        return out.extend_from_slice(b"null");
    };
    if tenths < 0 {
        out.push(b'-');
    }
    let size = tenths.unsigned_abs();
    push_whole(out, u64::from(size / 10));
    out.extend_from_slice(&[b'.', b'0' + (size % 10) as u8]);
}

/// Seconds to the microsecond, without zeros at the end. Beyond 15 digits and below a millisecond serde_json knows better
/// what the shortest form is.
fn push_seconds(out: &mut Vec<u8>, at: SessionTime) {
    if !(1_000..1_000_000_000_000_000).contains(&at.0) {
        let start = out.len();
        if serde_json::to_writer(&mut *out, &at.seconds()).is_err() {
            out.truncate(start);
            out.extend_from_slice(b"null");
        }
        return;
    }
    push_whole(out, at.0 / 1_000_000);
    out.push(b'.');
    let mut digits = [b'0'; 20];
    fill(&mut digits, at.0 % 1_000_000);
    let fraction = &digits[14..];
    let len = fraction.iter().rposition(|d| *d != b'0').map_or(1, |i| i + 1);
    out.extend_from_slice(&fraction[..len]);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn text(push: impl FnOnce(&mut Vec<u8>)) -> String {
        let mut out = Vec::new();
        push(&mut out);
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn every_number_of_tenths_is_written_as_serde_json_writes_it() {
        for tenths in i32::from(i16::MIN)..=i32::from(u16::MAX) {
            let number = f64::from(tenths) / 10.0;
            assert_eq!(
                text(|o| push_tenths(o, Some(tenths))),
                serde_json::to_string(&number).unwrap()
            );
        }
        assert_eq!(text(|o| push_tenths(o, None)), "null");
    }

    proptest! {
        #[test]
        fn seconds_are_written_as_serde_json_writes_them(at in prop_oneof![0_u64..3_000_000, any::<u64>(), (0_u64..9_000).prop_map(|s| s * 100_000)]) {
            let at = SessionTime(at);
            prop_assert_eq!(text(|o| push_seconds(o, at)), serde_json::to_string(&at.seconds()).unwrap());
        }
    }
}

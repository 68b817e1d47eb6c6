//! Figures, not assertions: `cargo test --release -p loopmargin speed -- --ignored --nocapture`.

use super::*;
use serde::Deserialize;
use std::time::Instant;

const VALUES: u64 = 1_000_000;

#[derive(Deserialize)]
struct Borrowed<'a> {
    t: u64,
    v: &'a str,
    x: &'a str,
}

fn value(i: u64) -> Event {
    let bytes: [u8; 46] = std::array::from_fn(|k| (i as usize * 31 + k * 7) as u8);
    let kind = EventKind::Value {
        characteristic: Characteristic::BandTelemetry,
        origin: Origin::Pushed,
        bytes: RawBytes::from_slice(&bytes),
    };
    // Six bands at 10 Hz.
    Event {
        at: SessionTime(i * 1_000_000 / 60),
        kind,
    }
}

#[test]
#[ignore = "measures, asserts nothing"]
fn figures() {
    for _ in 0..5 {
        let events: Vec<Event> = (0..VALUES).map(value).collect();
        let begin = Instant::now();
        let mut encoder = Encoder::new();
        encoder.header(&header()).unwrap();
        let mut bytes = Vec::with_capacity(200_000_000);
        for event in &events {
            encoder.event(event).unwrap();
            if encoder.pending().len() > 65536 {
                bytes.extend_from_slice(encoder.pending());
                encoder.clear();
            }
        }
        encoder.close(0);
        bytes.extend_from_slice(encoder.pending());
        let write = begin.elapsed();

        let begin = Instant::now();
        let mut reader = Reader::open(bytes.as_slice()).unwrap();
        let mut sum = 0;
        while let Some(event) = reader.next_event() {
            sum += event.at.0;
        }
        let read = begin.elapsed();
        assert!(reader.integrity().is_sound() && sum > 0);

        let begin = Instant::now();
        let mut sum = 0;
        for line in bytes.split(|b| *b == b'\n') {
            if let Ok(line) = serde_json::from_slice::<Borrowed>(line) {
                sum += line.t + (line.v.len() + line.x.len()) as u64;
            }
        }
        let parse = begin.elapsed();
        assert!(sum > 0);
        let per = |d: std::time::Duration| d.as_secs_f64() * 1e9 / VALUES as f64;
        let (write, read, parse) = (per(write), per(read), per(parse));
        println!("write {write:.0} ns/line, read {read:.0} ns/value, serde_json alone {parse:.0} ns/line");
        println!(
            "{:.2} M values/s, {:.2} × parsing alone",
            1e3 / read,
            read / parse
        );
    }
}

//! Compressed files: what holds for plain ones holds for them.

use super::damage::{by_chunk, recorded};
use super::*;
use crate::session::zstd::{CHECKSUM_LEN, Squeezer};

/// A compressed session, and where each frame ends.
fn frames(events: &[Event]) -> (Vec<u8>, Vec<usize>) {
    let mut encoder = Encoder::new();
    encoder.header(&header()).unwrap();
    events.iter().for_each(|event| encoder.event(event).unwrap());
    encoder.close(0);
    let mut squeezer = Squeezer::new().unwrap();
    let (bytes, ends) = squeezer
        .squeeze(encoder.pending(), encoder.checkpoints())
        .unwrap();
    (bytes.to_vec(), ends.iter().map(|(end, _)| *end).collect())
}

#[test]
fn a_compressed_file_gives_the_same_events() {
    let (bytes, ends) = frames(&events());
    assert_eq!(ends.len(), by_chunk(&events()).len());
    let reader = Reader::open(bytes.as_slice()).unwrap();
    assert_eq!(reader.header(), &header());
    let (back, integrity) = drain(reader);
    assert_eq!(back, events());
    assert!(integrity.is_sound(), "{integrity}");
}

#[test]
fn a_file_compressed_as_a_whole_by_another_tool_is_read_too() {
    let whole = ::zstd::bulk::compress(&file(&header(), &events(), true), 19).unwrap();
    let (back, integrity) = salvage(&whole);
    assert_eq!(back, events());
    assert!(integrity.is_sound(), "{integrity}");
}

#[test]
fn cut_at_every_byte_it_keeps_every_frame_before_the_cut() {
    let events = recorded(events());
    let (bytes, ends) = frames(&events);
    let chunks = by_chunk(&events);
    for cut in 0..bytes.len() {
        // The content of a frame is complete before its own checksum is.
        let sound = ends.iter().filter(|end| **end <= cut + CHECKSUM_LEN).count();
        let (back, integrity) = salvage(&bytes[..cut]);
        assert_eq!(
            recorded(back),
            chunks[..sound].concat(),
            "cut at {cut}: {integrity}"
        );
    }
}

#[test]
fn every_flipped_bit_costs_at_most_its_frame() {
    let events = recorded(events());
    let (bytes, ends) = frames(&events);
    let chunks = by_chunk(&events);
    for (place, bit) in (0..bytes.len()).flat_map(|place| (0..8).map(move |bit| (place, bit))) {
        let mut damaged = bytes.clone();
        damaged[place] ^= 1 << bit;
        let hit = ends.iter().position(|end| place < *end);
        let kept = chunks.iter().enumerate().filter(|(i, _)| Some(*i) != hit);
        let kept: Vec<Event> = kept.flat_map(|(_, chunk)| chunk.clone()).collect();
        let (back, integrity) = salvage(&damaged);
        let back = recorded(back);
        // Damage to a frame's own checksum leaves its content sound.
        assert!(
            back == kept || back == events,
            "byte {place}, bit {bit}: {integrity}"
        );
    }
}

#[test]
fn noise_between_frames_is_passed_over() {
    let events = recorded(events());
    let (bytes, ends) = frames(&events);
    let noise: Vec<u8> = (0..300_000u32)
        .map(|i| (i.wrapping_mul(2_654_435_761) >> 24) as u8)
        .collect();
    let (front, back) = bytes.split_at(ends[1]);
    for noise in [noise, crate::session::zstd::MAGIC.repeat(50_000)] {
        let (read, _) = salvage(&[front, &noise, back].concat());
        assert_eq!(recorded(read), events);
    }
}

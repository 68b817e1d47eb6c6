//! Damaged files: nothing panics, nothing is invented, and every sound chunk is kept.

use super::*;
use crate::session::{ReadError, Why};

/// Recomputes the checksums of a file whose lines were altered without changing their lengths.
pub fn reseal(bytes: &[u8]) -> Vec<u8> {
    let (mut out, mut from) = (bytes.to_vec(), 0);
    while let Some(found) = memchr::memmem::find(&out[from..], b",\"crc\":\"") {
        let digits = from + found + 8;
        let crc = crc32fast::hash(&out[from..digits]);
        out[digits..digits + 8].copy_from_slice(format!("{crc:08x}").as_bytes());
        from = digits + 11;
    }
    out
}

/// Ends of the chunks, each behind the last digit of its checksum.
fn chunk_ends(bytes: &[u8]) -> Vec<usize> {
    memchr::memmem::find_iter(bytes, b",\"crc\":\"")
        .map(|i| i + 16)
        .collect()
}

/// Events by the chunk that holds them, the header's empty one first.
pub fn by_chunk(events: &[Event]) -> Vec<Vec<Event>> {
    let mut chunks = vec![vec![]];
    for (i, event) in events.iter().enumerate() {
        if i == 0 || event.at.0 / 1_000_000 != events[i - 1].at.0 / 1_000_000 {
            chunks.push(vec![]);
        }
        chunks.last_mut().unwrap().push(event.clone());
    }
    chunks
}

/// Without the gaps that the reader itself reports: events with gaps in the fixture stand apart.
pub fn recorded(events: Vec<Event>) -> Vec<Event> {
    events
        .into_iter()
        .filter(|e| !matches!(e.kind, EventKind::Unreadable { .. }))
        .collect()
}

#[test]
fn cut_at_every_byte_a_file_keeps_every_chunk_before_the_cut() {
    let events = recorded(events());
    let bytes = file(&header(), &events, true);
    let (ends, chunks) = (chunk_ends(&bytes), by_chunk(&events));
    assert_eq!(ends.len(), chunks.len());
    for cut in 0..bytes.len() {
        let sound = ends.iter().filter(|end| **end <= cut).count();
        let (back, integrity) = salvage(&bytes[..cut]);
        assert_eq!(recorded(back), chunks[..sound].concat(), "cut at {cut}");
        assert_eq!(integrity.chunks as usize, sound);
        assert_eq!(integrity.closed.is_some(), sound == ends.len());

        match Reader::open(&bytes[..cut]) {
            Err(ReadError::Nothing) => assert_eq!(sound, 0),
            Err(other) => panic!("cut at {cut}: {other}"),
            Ok(reader) => {
                assert_eq!(reader.header(), &header());
                let settled = sound > 0 && cut - ends[sound - 1] <= 3;
                let (_, integrity) = drain(reader);
                assert_eq!(integrity.skipped.is_empty(), settled, "cut at {cut}: {integrity}");
            }
        }
    }
}

#[test]
fn every_byte_altered_in_every_way_costs_at_most_its_chunk() {
    let events = recorded(events());
    let bytes = file(&header(), &events, true);
    let (ends, chunks) = (chunk_ends(&bytes), by_chunk(&events));
    // All values of a byte would take a minute: every flipped bit, and values that mean something to the format.
    let flips = (0..8).map(|bit| 1u8 << bit);
    for place in 0..bytes.len() {
        let values = flips
            .clone()
            .map(|bit| bytes[place] ^ bit)
            .chain(*b"\0\n\r\"\\{}:,0f\xFF");
        for value in values.filter(|v| *v != bytes[place]) {
            let mut damaged = bytes.clone();
            damaged[place] = value;
            let (back, integrity) = salvage(&damaged);
            // The last three bytes of a checkpoint's line follow its checksum; damage there costs nothing.
            let hit = ends.iter().position(|end| place < *end);
            let hit = hit.filter(|i| *i == 0 || place >= ends[i - 1] + 3);
            let (kept, lost): (Vec<_>, Vec<_>) =
                chunks.iter().enumerate().partition(|(i, _)| Some(*i) != hit);
            let kept: Vec<Event> = kept.into_iter().flat_map(|(_, c)| c.clone()).collect();
            let gaps: Vec<_> = back
                .iter()
                .filter_map(|e| match e.kind {
                    EventKind::Unreadable { lines } => Some(lines),
                    _ => None,
                })
                .collect();
            let lost: usize = lost.into_iter().map(|(_, c)| c.len()).sum();
            let expected = match hit {
                Some(i) if i + 1 == ends.len() => vec![None],
                Some(i) if i > 0 => vec![Some(lost as u64)],
                _ => vec![],
            };
            assert_eq!(recorded(back), kept, "byte {place} became {value}");
            assert_eq!(gaps, expected, "byte {place} became {value}: {integrity}");
            assert_eq!(integrity.header_damaged, hit == Some(0));
            // The very last newline may be missing or altered: an editor's doing.
            if place + 1 < bytes.len() {
                assert!(!integrity.is_sound(), "byte {place} became {value}: {integrity}");
            }
        }
    }
}

#[test]
fn a_damaged_header_opens_without_it_unless_it_is_unrecognisable() {
    let bytes = file(&header(), &events(), true);
    let site = memchr::memmem::find(&bytes, b"Attic").unwrap();
    let mut damaged = bytes.clone();
    damaged[site] = b'B';
    let reader = Reader::open(damaged.as_slice()).unwrap();
    assert_eq!(reader.header(), &Header::empty());
    let (back, integrity) = drain(reader);
    assert!(integrity.header_damaged && integrity.missing == 0);
    assert_eq!(back, events());

    let mut damaged = bytes.clone();
    damaged[3] = b'X';
    assert!(matches!(Reader::open(damaged.as_slice()), Err(ReadError::Header)));
    let text = String::from_utf8(bytes).unwrap();
    let later = text.replacen("\"version\":1,", "\"version\":20,", 1);
    assert!(matches!(
        Reader::open(later.as_bytes()),
        Err(ReadError::Version { found: 20 })
    ));
}

#[test]
fn chunks_taken_out_repeated_or_appended_are_noticed() {
    let events = recorded(events());
    let bytes = file(&header(), &events, true);
    let (ends, chunks) = (chunk_ends(&bytes), by_chunk(&events));
    let part = |i: usize| &bytes[ends[i - 1] + 3..ends[i] + 3];

    let without = [&bytes[..ends[1] + 3], &bytes[ends[2] + 3..]].concat();
    let (back, integrity) = salvage(&without);
    assert_eq!(integrity.missing, chunks[2].len() as u64);
    assert_eq!(recorded(back), [&chunks[..2], &chunks[3..]].concat().concat());

    let twice = [&bytes[..ends[2] + 3], part(1), part(2), &bytes[ends[2] + 3..]].concat();
    let (back, integrity) = salvage(&twice);
    assert_eq!(back, events);
    assert_eq!(
        integrity
            .skipped
            .iter()
            .filter(|s| s.why == Why::Repeated)
            .count(),
        2
    );

    let appended = [bytes.as_slice(), bytes.as_slice()].concat();
    let (back, integrity) = salvage(&appended);
    assert_eq!(back, events);
    assert_eq!(integrity.skipped.len(), 1);
    assert_eq!(integrity.skipped[0].why, Why::AfterEnd);
    assert_eq!(integrity.skipped[0].bytes, bytes.len() as u64);
}

#[test]
fn megabytes_of_noise_in_the_middle_are_passed_over_in_bounded_memory() {
    let events = recorded(events());
    let bytes = file(&header(), &events, true);
    let ends = chunk_ends(&bytes);
    let noise = vec![b'\n'; 7_000_000];
    let (front, back) = bytes.split_at(ends[2] + 3);
    let (read, integrity) = salvage(&[front, &noise, back].concat());
    assert_eq!(read, events);
    assert_eq!(integrity.skipped.len(), 1);
    assert_eq!(integrity.skipped[0].bytes, noise.len() as u64);
    let (_, integrity) = salvage(&[front, &noise].concat());
    assert_eq!(
        integrity.skipped[0].why,
        Why::AfterLastCheckpoint {
            lines: noise.len() as u64
        }
    );
}

#[test]
fn a_source_that_fails_midway_gives_what_was_read() {
    struct Failing<'a>(&'a [u8]);
    impl std::io::Read for Failing<'_> {
        fn read(&mut self, out: &mut [u8]) -> std::io::Result<usize> {
            match self.0.read(out)? {
                0 => Err(std::io::Error::other("the stick was pulled")),
                n => Ok(n),
            }
        }
    }
    let events = events();
    let bytes = file(&header(), &events, true);
    let cut = chunk_ends(&bytes)[2] + 3;
    let mut reader = Reader::salvage(Failing(&bytes[..cut])).unwrap();
    while reader.next_event().is_some() {}
    assert_eq!(reader.integrity().chunks, 3);
    assert!(matches!(&reader.integrity().skipped[0].why, Why::Io(why) if why.contains("stick")));
}

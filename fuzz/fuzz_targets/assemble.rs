//! A reading split at any payload is the same reading when its parts are put together again.

#![no_main]

use booster_profile::{Fields, Part};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|input: (u16, &[u8])| {
    let (payload, bytes) = input;
    let Ok(Part::First { mut reading, .. }) = Part::decode(bytes) else {
        return;
    };
    // Reserved fields have no content here and are not sent.
    reading.extra.fields = Fields(reading.extra.fields.0 & Fields::ALL.0);
    let mut parts = reading
        .encode(usize::from(payload))
        .into_iter()
        .map(|part| Part::decode(&part));
    let Some(Ok(Part::First {
        reading: mut again, ..
    })) = parts.next()
    else {
        panic!("does not begin with a first part");
    };
    for part in parts {
        match part {
            Ok(Part::Continuation(part)) => assert_eq!(again.extra.merge(&part.extra), Ok(())),
            other => panic!("{other:?}"),
        }
    }
    assert_eq!(again, reading);
});

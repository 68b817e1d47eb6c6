//! Holds the profile together: document, `profile.toml`, test vectors and codec say the same.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a failed assumption in a helper should stop the test that made it"
)]

mod checks;
mod codec;
mod document;
mod fields;
mod markdown;
mod roundtrip;
mod schema;
mod sizes;
mod vectors;

/// Reads a file of `protocol-spec/`.
fn read(path: &str) -> String {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// `07 00 c1`, as vectors and document write bytes.
fn hex(bytes: &[u8]) -> String {
    bytes
        .iter()
        .map(|b| format!("{b:02x}"))
        .collect::<Vec<_>>()
        .join(" ")
}

/// Bytes of `07 00 c1`.
fn unhex(text: &str) -> Vec<u8> {
    text.split_whitespace()
        .map(|b| u8::from_str_radix(b, 16).unwrap_or_else(|e| panic!("{text}: {e}")))
        .collect()
}

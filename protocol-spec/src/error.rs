//! Why a value was refused.

use core::fmt;

/// A value that does not follow the profile. The receiver counts it, keeps the raw bytes and goes on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DecodeError {
    /// Fewer bytes than the mandatory fields and the flagged optional fields need.
    Short {
        /// Bytes that the value must have at least.
        needed: usize,
        /// Bytes that arrived.
        got: usize,
    },
    /// The value says two things that cannot both hold; the text names them.
    Contradictory(&'static str),
    /// The peer speaks a major version that this codec does not know.
    MajorVersion {
        /// The peer's major version.
        major: u8,
    },
}

impl fmt::Display for DecodeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Short { needed, got } => write!(f, "short value: {got} bytes where {needed} are needed"),
            Self::Contradictory(what) => write!(f, "contradictory value: {what}"),
            Self::MajorVersion { major } => write!(
                f,
                "profile version {major}.x is not known here (this is {}.{}); update the console",
                crate::PROFILE_VERSION.major,
                crate::PROFILE_VERSION.minor
            ),
        }
    }
}

impl core::error::Error for DecodeError {}

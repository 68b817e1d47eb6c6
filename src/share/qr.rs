//! The link as a square of dark and light modules (ISO/IEC 18004), for a phone's camera.

use qrcodegen::{QrCode, QrCodeEcc};

/// Light modules around the code, in modules: the standard asks for 4.
const QUIET: i32 = 4;

/// A code with its quiet zone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    size: i32,
    dark: Vec<bool>,
}

impl Picture {
    /// The code of a text; `None` where it is too long for one.
    pub fn of(text: &str) -> Option<Self> {
        let code = QrCode::encode_text(text, QrCodeEcc::Low).ok()?;
        let size = code.size() + 2 * QUIET;
        let at = |i: i32| code.get_module(i % size - QUIET, i / size - QUIET);
        Some(Self {
            size,
            dark: (0..size * size).map(at).collect(),
        })
    }

    /// Modules along a side, quiet zone included.
    pub fn side(&self) -> usize {
        usize::try_from(self.size).unwrap_or(0)
    }

    /// Whether a module is dark; outside the code all is light.
    pub fn is_dark(&self, x: usize, y: usize) -> bool {
        x < self.side() && self.dark.get(y * self.side() + x).copied().unwrap_or(false)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_in_capitals_fits_a_terminal_of_24_rows() {
        let link = "HTTP://192.168.100.100:65535/0123456789ABCDEFGHJKMNPQRS/";
        let picture = Picture::of(link).unwrap();
        // Two modules to a row; four rows are the frame's.
        assert!(picture.side().div_ceil(2) <= 19, "{}", picture.side());
        // The finder pattern begins after the quiet zone.
        assert!(!picture.is_dark(3, 3) && picture.is_dark(4, 4) && !picture.is_dark(5, 5));
        assert!(!picture.is_dark(1_000, 4));
        assert_eq!(Picture::of(&"x".repeat(5_000)), None);
    }
}

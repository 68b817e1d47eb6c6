//! The secret in the link: whoever has it may look.

use ring::rand::{SecureRandom, SystemRandom};
use std::fmt;
use subtle::ConstantTimeEq;

/// Letters of a token: no I, L, O, U, so that it can be typed by hand; capitals keep the code small.
const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
/// Letters in a token: 5 bits each, 130 in all.
const LENGTH: usize = 26;

/// A random token. It is compared in constant time and not shown by `Debug`.
#[derive(Clone)]
pub struct Token([u8; LENGTH]);

/// The system gives no random numbers.
#[derive(Debug, thiserror::Error)]
#[error("share: the system gives no random numbers for the link; start without --share")]
pub struct NoRandomness;

impl Token {
    /// A new token.
    ///
    /// # Errors
    /// When the system gives no random numbers.
    pub fn random() -> Result<Self, NoRandomness> {
        let mut bytes = [0; LENGTH];
        SystemRandom::new().fill(&mut bytes).map_err(|_| NoRandomness)?;
        Ok(Self(bytes.map(|b| LETTERS[usize::from(b % 32)])))
    }

    /// Whether a person who wants in has it. Takes as long for the first letter wrong as for the last.
    pub fn matches(&self, offered: &str) -> bool {
        self.0.ct_eq(offered.as_bytes()).into()
    }

    /// The token, for the link.
    pub fn as_str(&self) -> &str {
        // Letters are ASCII.
        std::str::from_utf8(&self.0).unwrap_or_default()
    }
}

impl fmt::Debug for Token {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Token(…)")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_token_itself_matches() {
        let token = Token::random().unwrap();
        let text = token.as_str().to_owned();
        assert!(token.matches(&text));
        assert_eq!(text.len(), LENGTH);
        for wrong in [
            "",
            "A",
            &text[1..],
            &format!("{text}0"),
            &text.to_lowercase().repeat(2),
        ] {
            assert!(!token.matches(wrong), "{wrong}");
        }
        let mut other = text.clone().into_bytes();
        other[25] = if other[25] == b'0' { b'1' } else { b'0' };
        assert!(!token.matches(std::str::from_utf8(&other).unwrap()));
    }

    #[test]
    fn two_tokens_differ_and_neither_is_printed() {
        let (a, b) = (Token::random().unwrap(), Token::random().unwrap());
        assert_ne!(a.as_str(), b.as_str());
        assert!(!format!("{a:?}").contains(a.as_str()));
    }
}

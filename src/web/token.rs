//! The secret that a caller must know.

use rand::RngExt;
use sha2::{Digest, Sha256};
use std::fmt;

/// 256 random bits, as text. Never printed by `Debug`.
#[derive(Clone, PartialEq, Eq)]
pub struct Token(String);

impl Token {
    /// A new one.
    #[must_use]
    pub fn random() -> Self {
        let octets: [u8; 32] = rand::rng().random();
        Self(octets.iter().map(|octet| format!("{octet:02x}")).collect())
    }

    /// The text, to be handed to a caller over a private channel.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.0
    }

    /// True if `offered` is this token. Digests are compared, so that the time taken tells nothing.
    #[must_use]
    pub fn is(&self, offered: &str) -> bool {
        Sha256::digest(&self.0) == Sha256::digest(offered)
    }
}

impl fmt::Debug for Token {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Token(…)")
    }
}

//! The octets that are hashed.
//!
//! Each entry's hash is SHA-256 over these fields in this order, so that nothing before or in it can be
//! changed without every later hash changing:
//!
//! | field | octets |
//! | --- | --- |
//! | tag | text `clampbook journal entry 1` |
//! | previous hash | bytes; 32 zero octets before entry 1 |
//! | number | integer |
//! | recorded at, microseconds since the Unix epoch | integer |
//! | job | optional integer |
//! | kind | text |
//! | payload version | integer |
//! | payload | text, octet for octet as stored |
//! | raw octets | optional bytes |
//! | personal digests | text, octet for octet as stored |
//!
//! *Integer*: 8 octets, big endian, two's complement. *Text* and *bytes*: their length in octets as an
//! integer, then the octets (text in UTF-8). *Optional*: one octet 0 for none, or one octet 1 and then
//! the value.
//!
//! A personal text enters the chain only by its digest, SHA-256 over: tag text `clampbook personal text 1`,
//! salt (bytes, 32 random octets), field name (text), the text (text). The column of digests is a JSON list
//! of pairs `[field name, digest in lower-case hexadecimal]`, without spaces. Without salt and text the digest
//! tells nothing, so erasing both erases the text.

use sha2::{Digest, Sha256};

/// What stands for the previous hash before the first entry.
pub const FIRST_PREV: [u8; 32] = [0; 32];

/// The parts of an entry that its hash covers.
#[derive(Debug, Clone, Copy)]
pub struct Link<'a> {
    /// Hash of the entry before.
    pub prev: &'a [u8],
    /// Number of the entry.
    pub number: i64,
    /// When it was recorded, microseconds since the Unix epoch.
    pub at_us: i64,
    /// Its job.
    pub job: Option<i64>,
    /// Its kind.
    pub kind: &'a str,
    /// Version of the payload.
    pub version: i64,
    /// The payload as stored.
    pub payload: &'a str,
    /// The octets it came from.
    pub raw: Option<&'a [u8]>,
    /// The digests of personal texts, as stored.
    pub digests: &'a str,
}

impl Link<'_> {
    /// The entry's hash.
    #[must_use]
    pub fn hash(&self) -> [u8; 32] {
        let mut feed = Feed::new("clampbook journal entry 1");
        feed.bytes(self.prev);
        feed.integer(self.number);
        feed.integer(self.at_us);
        feed.present(self.job.is_some());
        if let Some(job) = self.job {
            feed.integer(job);
        }
        feed.bytes(self.kind.as_bytes());
        feed.integer(self.version);
        feed.bytes(self.payload.as_bytes());
        feed.present(self.raw.is_some());
        if let Some(raw) = self.raw {
            feed.bytes(raw);
        }
        feed.bytes(self.digests.as_bytes());
        feed.finish()
    }
}

/// The digest by which a personal text enters the chain.
#[must_use]
pub fn personal_digest(salt: &[u8], field: &str, text: &str) -> [u8; 32] {
    let mut feed = Feed::new("clampbook personal text 1");
    feed.bytes(salt);
    feed.bytes(field.as_bytes());
    feed.bytes(text.as_bytes());
    feed.finish()
}

/// `octets` in lower-case hexadecimal.
#[must_use]
pub fn hex(octets: &[u8]) -> String {
    octets.iter().map(|octet| format!("{octet:02x}")).collect()
}

/// The 32 octets that `text` gives in hexadecimal; none if it is anything else.
#[must_use]
pub fn from_hex(text: &str) -> Option<[u8; 32]> {
    let digits = text.as_bytes();
    if digits.len() != 64 || !digits.iter().all(u8::is_ascii_hexdigit) {
        return None;
    }
    let mut octets = [0; 32];
    for (octet, pair) in octets.iter_mut().zip(digits.chunks_exact(2)) {
        *octet = u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok()?;
    }
    Some(octets)
}

struct Feed(Sha256);

impl Feed {
    fn new(tag: &str) -> Self {
        let mut feed = Self(Sha256::new());
        feed.bytes(tag.as_bytes());
        feed
    }

    fn integer(&mut self, value: i64) {
        self.0.update(value.to_be_bytes());
    }

    fn bytes(&mut self, octets: &[u8]) {
        self.0.update((octets.len() as u64).to_be_bytes());
        self.0.update(octets);
    }

    fn present(&mut self, present: bool) {
        self.0.update([u8::from(present)]);
    }

    fn finish(self) -> [u8; 32] {
        self.0.finalize().into()
    }
}

#[cfg(test)]
mod tests {
    use super::{FIRST_PREV, Link, from_hex, hex, personal_digest};

    // Expected values: computed with Python's hashlib from the table above.
    #[test]
    fn the_octets_are_as_documented() {
        let link = Link {
            prev: &FIRST_PREV,
            number: 1,
            at_us: 1_700_000_000_000_000,
            job: Some(3),
            kind: "gap",
            version: 1,
            payload: "{\"kind\":\"gap\"}",
            raw: Some(&[1, 2, 3]),
            digests: "[]",
        };
        assert_eq!(
            hex(&link.hash()),
            "78c9dae766c27ae85b4a3c8f1604975c99b4ecd51a9d2e988514d0c08ebeb853"
        );
        let loose = Link { job: None, raw: None, at_us: -1, ..link };
        assert_eq!(
            hex(&loose.hash()),
            "090ed5beb5658578fa8f80186b5b8f3970a30a836dad08dcc755bb4739933d61"
        );
        assert_eq!(
            hex(&personal_digest(&[7; 32], "vin", "ÄB")),
            "dd08a7f4446939ecbd9376f153b814307dca380bf05f5cb3c6789a36c7a1b98b"
        );
    }

    #[test]
    fn hexadecimal_reads_back() {
        let octets = [0xa5; 32];
        assert_eq!(from_hex(&hex(&octets)), Some(octets));
        assert_eq!(from_hex("a5"), None);
        assert_eq!(from_hex(&"+1".repeat(32)), None);
    }
}

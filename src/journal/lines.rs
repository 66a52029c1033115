//! The journal as lines of JSON: a header, then one line an entry, in order.
//!
//! Everything that the chain covers stands there octet for octet, so that whoever reads it can verify it.

use crate::journal::chain;
use crate::journal::head::Head;
use crate::journal::query::KeptText;
use crate::journal::rows::{KeyColumns, Row};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde::{Deserialize, Serialize};

/// What the first line says it is.
pub(super) const FORMAT: &str = "clampbook-journal";
/// Grows only when a line changes its meaning.
pub(super) const VERSION: u32 = 1;

/// The first line.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Header {
    pub(super) format: String,
    pub(super) version: u32,
    /// How many lines follow.
    pub(super) length: u64,
    /// Hash of the last entry.
    pub(super) head: String,
}

/// An entry. The hash before it is that of the line before it.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Line {
    number: i64,
    at_us: i64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    job: Option<i64>,
    kind: String,
    version: i64,
    payload: String,
    #[serde(default, skip_serializing_if = "KeyColumns::is_empty")]
    key: KeyColumns,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    raw: Option<String>,
    digests: String,
    hash: String,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    personal: Vec<TextLine>,
}

/// A text beside an entry.
#[derive(Debug, Serialize, Deserialize)]
struct TextLine {
    place: u32,
    field: String,
    salt: String,
    text: String,
}

impl Header {
    pub(super) fn new(head: Head) -> Self {
        Self {
            format: FORMAT.to_owned(),
            version: VERSION,
            length: head.length,
            head: chain::hex(&head.hash),
        }
    }
}

impl Line {
    pub(super) fn new(row: Row, texts: Vec<KeptText>) -> Self {
        let personal = texts.into_iter().map(|kept| TextLine {
            place: kept.place as u32,
            field: kept.field,
            salt: chain::hex(&kept.salt),
            text: kept.text,
        });
        Self {
            number: row.number,
            at_us: row.at_us,
            job: row.job,
            kind: row.kind,
            version: row.version,
            payload: row.payload,
            key: row.key,
            raw: row.raw.map(|raw| STANDARD.encode(raw)),
            digests: row.digests,
            hash: chain::hex(&row.hash),
            personal: personal.collect(),
        }
    }

    /// The entry with the hash before it, and its texts; or what is no good.
    pub(super) fn row(self, prev: [u8; 32]) -> Result<(Row, Vec<KeptText>), &'static str> {
        let raw = match self.raw {
            None => None,
            Some(raw) => Some(STANDARD.decode(raw).map_err(|_| "`raw` that is no base64")?),
        };
        let texts = self.personal.into_iter().map(|text| -> Result<KeptText, &'static str> {
            Ok(KeptText {
                place: text.place as usize,
                field: text.field,
                salt: chain::from_hex(&text.salt).ok_or("a salt that is no 64 digits")?.to_vec(),
                text: text.text,
            })
        });
        let texts = texts.collect::<Result<Vec<_>, _>>()?;
        let row = Row {
            number: self.number,
            at_us: self.at_us,
            job: self.job,
            kind: self.kind,
            version: self.version,
            payload: self.payload,
            key: self.key,
            raw,
            digests: self.digests,
            prev,
            hash: chain::from_hex(&self.hash).ok_or("a hash that is no 64 digits")?,
        };
        Ok((row, texts))
    }
}

//! A signature under a report: Ed25519 (RFC 8032) over the canonical form (RFC 8785) of the JSON report
//! without its member `signature`. Anybody can verify it with the report alone.
//!
//! It shows that whoever holds the secret key has made this very report. It does not show who that is:
//! the public key has to be known from elsewhere.

use canon_json::CanonicalFormatter;
use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use thiserror::Error;
use utoipa::ToSchema;

const ALGORITHM: &str = "Ed25519";
const CANONICAL: &str = "RFC 8785";
/// The member of the JSON report that holds the seal, and is not covered by it.
pub const MEMBER: &str = "signature";

/// What stands in a signed report.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Seal {
    /// `Ed25519`.
    pub algorithm: String,
    /// How the octets that are signed come from the report: `RFC 8785`, without the member `signature`.
    pub canonical: String,
    /// Hexadecimal, 32 octets.
    pub public_key: String,
    /// Hexadecimal, 64 octets.
    pub value: String,
}

/// A secret key. Its text is never shown.
pub struct Key(SigningKey);

/// Why a seal is no good.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SealError {
    /// It is none of ours.
    #[error("expected a signature by {ALGORITHM} over {CANONICAL}, but found {0}")]
    Unknown(String),
    /// It does not fit the report.
    #[error(
        "the signature does not fit: the report was changed after it was signed, or it is another's"
    )]
    Wrong,
    /// The report has what cannot be put into canonical form.
    #[error("expected a report that can be put into canonical form, but found that {0}")]
    NotCanonical(String),
}

impl Key {
    /// The key with this secret.
    #[must_use]
    pub fn new(secret: [u8; 32]) -> Self {
        Self(SigningKey::from_bytes(&secret))
    }

    /// What others verify with, hexadecimal.
    #[must_use]
    pub fn public(&self) -> String {
        hex(&self.0.verifying_key().to_bytes())
    }

    /// The seal for a JSON report.
    ///
    /// # Errors
    /// It cannot be put into canonical form.
    pub fn seal(&self, report: &Value) -> Result<Seal, SealError> {
        let signature = self.0.sign(&canonical(report)?);
        Ok(Seal {
            algorithm: ALGORITHM.to_owned(),
            canonical: CANONICAL.to_owned(),
            public_key: self.public(),
            value: hex(&signature.to_bytes()),
        })
    }
}

/// The public key (hexadecimal) whose seal a JSON report carries; none if it carries no seal.
///
/// # Errors
/// The seal does not fit the report, or is none of ours.
pub fn verify(report: &Value) -> Result<Option<String>, SealError> {
    let Some(seal) = report.get(MEMBER) else {
        return Ok(None);
    };
    let unknown = |what: &str| SealError::Unknown(what.to_owned());
    let seal = Seal::deserialize(seal).map_err(|error| SealError::Unknown(error.to_string()))?;
    if seal.algorithm != ALGORITHM || seal.canonical != CANONICAL {
        return Err(unknown(&format!("{} over {}", seal.algorithm, seal.canonical)));
    }
    let public: [u8; 32] = octets(&seal.public_key).ok_or_else(|| unknown("no public key"))?;
    let value: [u8; 64] = octets(&seal.value).ok_or_else(|| unknown("no signature"))?;
    let key =
        VerifyingKey::from_bytes(&public).map_err(|_| unknown("a public key off the curve"))?;
    key.verify_strict(&canonical(report)?, &Signature::from_bytes(&value))
        .map_err(|_| SealError::Wrong)?;
    Ok(Some(seal.public_key.to_lowercase()))
}

/// SHA-256 of the octets that are signed, hexadecimal.
///
/// # Errors
/// The report cannot be put into canonical form.
pub fn digest(report: &Value) -> Result<String, SealError> {
    Ok(hex(&Sha256::digest(canonical(report)?)))
}

/// The octets that are signed.
fn canonical(report: &Value) -> Result<Vec<u8>, SealError> {
    let mut covered = report.clone();
    if let Value::Object(members) = &mut covered {
        members.remove(MEMBER);
    }
    let mut octets = Vec::new();
    let mut serializer =
        serde_json::Serializer::with_formatter(&mut octets, CanonicalFormatter::new());
    covered
        .serialize(&mut serializer)
        .map_err(|error| SealError::NotCanonical(error.to_string()))?;
    Ok(octets)
}

fn hex(octets: &[u8]) -> String {
    octets.iter().fold(String::new(), |mut text, octet| {
        let _ = write!(text, "{octet:02x}");
        text
    })
}

fn octets<const N: usize>(hex: &str) -> Option<[u8; N]> {
    let digits = hex.as_bytes();
    if digits.len() != 2 * N || !digits.iter().all(u8::is_ascii_hexdigit) {
        return None;
    }
    let mut octets = [0; N];
    for (octet, pair) in octets.iter_mut().zip(digits.chunks_exact(2)) {
        *octet = u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok()?;
    }
    Some(octets)
}

#[cfg(test)]
mod tests {
    use super::{Key, SealError, canonical, verify};
    use serde_json::{Value, json};

    // RFC 8032, 7.1, test 1.
    const SECRET: [u8; 32] = [
        0x9d, 0x61, 0xb1, 0x9d, 0xef, 0xfd, 0x5a, 0x60, 0xba, 0x84, 0x4a, 0xf4, 0x92, 0xec, 0x2c,
        0xc4, 0x44, 0x49, 0xc5, 0x69, 0x7b, 0x32, 0x69, 0x19, 0x70, 0x3b, 0xac, 0x03, 0x1c, 0xae,
        0x7f, 0x60,
    ];

    fn signed() -> Value {
        let mut report = json!({"b": [1.0, 0.5, 1e21], "a": "\u{20ac}\n", "n": null});
        let seal = Key::new(SECRET).seal(&report).unwrap();
        report["signature"] = serde_json::to_value(seal).unwrap();
        report
    }

    #[test]
    fn the_public_key_is_that_of_the_standard() {
        assert_eq!(
            Key::new(SECRET).public(),
            "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
        );
    }

    #[test]
    fn numbers_keys_and_text_are_written_as_rfc_8785_says() {
        let text = String::from_utf8(canonical(&signed()).unwrap()).unwrap();
        assert_eq!(text, "{\"a\":\"\u{20ac}\\n\",\"b\":[1,0.5,1e+21],\"n\":null}");
    }

    #[test]
    fn a_signed_report_can_be_written_anew_but_not_changed() {
        let report = signed();
        let again: Value = serde_json::from_str(&report.to_string()).unwrap();
        assert_eq!(verify(&again).unwrap(), Some(Key::new(SECRET).public()));
        for change in [json!("€"), json!(2)] {
            let mut changed = report.clone();
            changed["a"] = change;
            assert_eq!(verify(&changed), Err(SealError::Wrong));
        }
        let mut other = report.clone();
        other["signature"]["value"] = json!("00");
        assert_eq!(verify(&other), Err(SealError::Unknown("no signature".to_owned())));
        assert_eq!(verify(&json!({"a": 1})), Ok(None));
    }
}

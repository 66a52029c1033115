//! What proves to a screen on the network who answers it, so that nobody on the way reads along.
//!
//! Either a certificate that the operator has, or one of our own. Nobody vouches for the latter: a browser
//! warns of it, and its fingerprint is told, to be compared. It is kept, so that a screen has to trust it once.

use crate::core::time::Stamp;
use crate::web::private;
use rcgen::{CertificateParams, DnType, ExtendedKeyUsagePurpose, KeyPair, date_time_ymd};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::{fmt, fs, io};
use thiserror::Error;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};
use tokio_rustls::rustls::{self, ServerConfig};

/// One of our own is made for so long, seconds: 397 days, above which some systems take none.
const LASTS_S: f64 = 397.0 * 86_400.0;
/// It is made anew if it ends within this, seconds.
const RENEWED_S: f64 = 30.0 * 86_400.0;

/// A certificate with its key.
#[derive(Clone)]
pub struct Identity {
    config: Arc<ServerConfig>,
    fingerprint: String,
    own: bool,
}

/// Why nobody can be shown who answers.
#[derive(Debug, Error)]
pub enum IdentityError {
    /// A file cannot be read.
    #[error("expected {what} in {}, but it cannot be read: {source}", file.display())]
    Unread {
        /// What it should hold.
        what: &'static str,
        /// The file.
        file: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// A file holds something else.
    #[error("expected {what} (PEM) in {}, but found none; give the file that has it", file.display())]
    Absent {
        /// What it should hold.
        what: &'static str,
        /// The file.
        file: PathBuf,
    },
    /// Certificate and key are no pair, or of a kind that is not supported.
    #[error("expected a certificate and the key that belongs to it, but found: {0}")]
    Unfit(#[from] rustls::Error),
    /// No certificate could be made.
    #[error("a certificate could not be made: {0}; give one with --tls-certificate and --tls-key")]
    Unmade(#[from] rcgen::Error),
}

/// One of our own, as it is kept.
#[derive(Serialize, Deserialize)]
struct Kept {
    address: IpAddr,
    until: Stamp,
    certificate: String,
    key: String,
}

impl Identity {
    /// The certificate (first its own, then those that vouch for it) and the key of two files, both PEM.
    ///
    /// # Errors
    /// A file cannot be read or holds something else, or the two do not fit.
    pub fn read(certificate: &Path, key: &Path) -> Result<Self, IdentityError> {
        let text = |what, file: &Path| {
            fs::read(file).map_err(|source| {
                let file = file.to_owned();
                IdentityError::Unread { what, file, source }
            })
        };
        let certificates = text(CERTIFICATE, certificate)?;
        let secret = text(KEY, key)?;
        Self::of(&certificates, &secret, false).map_err(|what| match what {
            Wrong::Certificate => {
                IdentityError::Absent { what: CERTIFICATE, file: certificate.to_owned() }
            }
            Wrong::Key => IdentityError::Absent { what: KEY, file: key.to_owned() },
            Wrong::Pair(error) => IdentityError::Unfit(error),
        })
    }

    /// The journal's own for this address: the one that is kept, unless it is for another address or ends soon.
    ///
    /// # Errors
    /// None can be made.
    pub fn own(journal: &Path, address: IpAddr, now: Stamp) -> Result<Self, IdentityError> {
        let file = private::beside(journal, ".tls.json");
        let kept = fs::read(&file).ok().and_then(|text| serde_json::from_slice::<Kept>(&text).ok());
        let lasts = |kept: &Kept| kept.until.seconds_since(now) > RENEWED_S;
        let kept = kept.filter(|kept| kept.address == address && lasts(kept));
        if let Some(found) = kept.and_then(|kept| Self::kept(&kept).ok()) {
            return Ok(found);
        }
        let made = make(address, now)?;
        let found = Self::kept(&made)?;
        if let Err(error) = private::write(&file, &made) {
            tracing::warn!(
                "{} could not be written, so that screens have to trust another certificate after a restart: {error}",
                file.display()
            );
        }
        Ok(found)
    }

    fn kept(kept: &Kept) -> Result<Self, IdentityError> {
        Self::of(kept.certificate.as_bytes(), kept.key.as_bytes(), true).map_err(
            |wrong| match wrong {
                Wrong::Pair(error) => IdentityError::Unfit(error),
                Wrong::Certificate | Wrong::Key => IdentityError::Unfit(rustls::Error::General(
                    "what was kept is not PEM".to_owned(),
                )),
            },
        )
    }

    fn of(certificates: &[u8], key: &[u8], own: bool) -> Result<Self, Wrong> {
        let chain: Result<Vec<CertificateDer<'static>>, _> =
            CertificateDer::pem_slice_iter(certificates).collect();
        let chain = chain.map_err(|_| Wrong::Certificate)?;
        let first = chain.first().ok_or(Wrong::Certificate)?;
        let fingerprint = fingerprint(first);
        let key = PrivateKeyDer::from_pem_slice(key).map_err(|_| Wrong::Key)?;
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let config = ServerConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .and_then(|builder| builder.with_no_client_auth().with_single_cert(chain, key))
            .map_err(Wrong::Pair)?;
        Ok(Self { config: Arc::new(config), fingerprint, own })
    }

    /// What a connection is secured with.
    pub(super) fn config(&self) -> Arc<ServerConfig> {
        Arc::clone(&self.config)
    }

    /// SHA-256 of the certificate as browsers show it, if it is one of our own, for which nobody vouches.
    #[must_use]
    pub fn to_compare(&self) -> Option<&str> {
        self.own.then_some(self.fingerprint.as_str())
    }
}

impl fmt::Debug for Identity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Identity({})", self.fingerprint)
    }
}

const CERTIFICATE: &str = "a certificate";
const KEY: &str = "a private key";

/// What is wrong with a pair.
enum Wrong {
    Certificate,
    Key,
    Pair(rustls::Error),
}

fn make(address: IpAddr, now: Stamp) -> Result<Kept, rcgen::Error> {
    // A phone's clock may be a day behind.
    let (from, until) = (now + -86_400.0, now + LASTS_S);
    let day = |at: Stamp| {
        let date = at.day().unwrap_or_default();
        let (month, day) = (date.month().unsigned_abs(), date.day().unsigned_abs());
        date_time_ymd(i32::from(date.year()), month, day)
    };
    let mut asked = CertificateParams::new(vec![address.to_string()])?;
    asked.distinguished_name.push(DnType::CommonName, "Clampbook");
    asked.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    asked.not_before = day(from);
    asked.not_after = day(until);
    let pair = KeyPair::generate()?;
    let certificate = asked.self_signed(&pair)?;
    Ok(Kept { address, until, certificate: certificate.pem(), key: pair.serialize_pem() })
}

fn fingerprint(certificate: &CertificateDer<'_>) -> String {
    let octets = Sha256::digest(certificate.as_ref());
    let octets: Vec<String> = octets.iter().map(|octet| format!("{octet:02X}")).collect();
    octets.join(":")
}

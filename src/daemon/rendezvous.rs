//! Where the command line finds the daemon of a journal: a file for the owner's eyes only, in the
//! runtime folder, named after the journal's canonical path.

use crate::web::Token;
use etcetera::BaseStrategy;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// How to reach a daemon.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Contact {
    /// Where it listens.
    pub address: SocketAddr,
    /// What it wants to hear.
    pub token: String,
    /// Its process number, for people.
    pub pid: u32,
}

/// Why the file could not be written.
#[derive(Debug, Error)]
pub enum RendezvousError {
    /// The account has no place for it.
    #[error(
        "expected a runtime or cache folder for this account, but found none; set XDG_RUNTIME_DIR or HOME"
    )]
    NoPlace,
    /// The system refuses.
    #[error("expected to write {}, but found: {source}; make room or check the folder's owner", path.display())]
    Io {
        /// Where.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
}

/// The file, for as long as the daemon runs. Dropping it removes it.
#[derive(Debug)]
pub struct Rendezvous {
    path: PathBuf,
}

impl Rendezvous {
    /// Tells the owner's programs how to reach the daemon of the journal at `journal`.
    ///
    /// # Errors
    /// There is no place for the file, or the system refuses to write it.
    pub fn announce(
        journal: &Path,
        address: SocketAddr,
        token: &Token,
    ) -> Result<Self, RendezvousError> {
        let path = file_for(journal).ok_or(RendezvousError::NoPlace)?;
        let contact = Contact { address, token: token.text().to_owned(), pid: std::process::id() };
        let failed = |source| RendezvousError::Io { path: path.clone(), source };
        if let Some(folder) = path.parent() {
            make_private_folder(folder).map_err(failed)?;
        }
        // Written beside and moved into place: a reader finds all of it or nothing.
        let draft = path.with_extension("new");
        write_private(&draft, &contact).map_err(failed)?;
        fs::rename(&draft, &path).map_err(failed)?;
        Ok(Self { path })
    }
}

impl Drop for Rendezvous {
    fn drop(&mut self) {
        // A file that stays behind is found out to be stale by whoever reads it.
        let _ = fs::remove_file(&self.path);
    }
}

/// How to reach the daemon of `journal`, if one has announced itself and left no sign of its end.
#[must_use]
pub fn contact(journal: &Path) -> Option<Contact> {
    let text = fs::read(file_for(journal)?).ok()?;
    let contact: Contact = serde_json::from_slice(&text).ok()?;
    contact.address.ip().is_loopback().then_some(contact)
}

fn file_for(journal: &Path) -> Option<PathBuf> {
    let strategy = etcetera::choose_base_strategy().ok()?;
    let folder = strategy
        .runtime_dir()
        .filter(|folder| folder.is_dir())
        .unwrap_or_else(|| strategy.cache_dir())
        .join("clampbook");
    let canonical = fs::canonicalize(journal).ok()?;
    let digest = Sha256::digest(canonical.as_os_str().as_encoded_bytes());
    let name: String = digest[..12].iter().map(|octet| format!("{octet:02x}")).collect();
    Some(folder.join(format!("{name}.json")))
}

fn make_private_folder(folder: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}

fn write_private(path: &Path, contact: &Contact) -> io::Result<()> {
    let mut options = OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    // A draft left behind by a killed process may have other rights: start afresh.
    let _ = fs::remove_file(path);
    let mut file = options.open(path)?;
    file.write_all(&serde_json::to_vec(contact).map_err(io::Error::other)?)?;
    file.sync_all()
}

//! The adapters that are kept for `serve`, in a small file beside the journal.

use crate::adapter::Pin;
use crate::adapter::spec::BleSpec;
use serde::{Deserialize, Serialize};
use std::ffi::OsString;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use thiserror::Error;

/// What is kept.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Config {
    /// Adapters as they are written on the command line.
    #[serde(default)]
    pub adapters: Vec<String>,
    /// Real adapters that were added, each known by its serial number.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub added: Vec<Kept>,
}

/// A real adapter that was added.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kept {
    /// Its serial number; nothing is taken from an adapter with another one.
    pub serial: String,
    /// What its owner calls it.
    pub name: String,
    /// Whether it keeps its readings, which needs a bond; nothing is taken from it without.
    pub bonded: bool,
    /// Where it answered, if the system tells addresses.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub address: Option<String>,
    /// Address of the controller that has the bond.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub controller: Option<String>,
}

impl Kept {
    /// Whether `text` names it: by serial number, by its owner's name, or by address.
    #[must_use]
    pub fn is(&self, text: &str) -> bool {
        self.serial == text
            || self.name == text
            || self.address.as_ref().is_some_and(|address| address.eq_ignore_ascii_case(text))
    }

    /// How it is listened to.
    #[must_use]
    pub fn spec(&self) -> BleSpec {
        BleSpec {
            adapter: self.serial.clone(),
            controller: self.controller.clone(),
            pin: Some(Pin {
                serial: self.serial.clone(),
                address: self.address.clone(),
                bonded: self.bonded,
            }),
        }
    }
}

/// Why the file cannot be used.
#[derive(Debug, Error)]
pub enum ConfigError {
    /// The system refuses.
    #[error("expected to use {}, but found: {source}; check its folder and its owner", path.display())]
    Io {
        /// Where.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// It is not what `adapter add` writes.
    #[error("expected `adapters = [\"ble:NAME\"]` in {}, but found: {reason}; correct it or remove the file", path.display())]
    Text {
        /// Where.
        path: PathBuf,
        /// What does not fit.
        reason: String,
    },
}

/// Name of the file of the journal at `journal`.
#[must_use]
pub fn file_of(journal: &Path) -> PathBuf {
    let mut name = OsString::from(journal);
    name.push(".adapters.toml");
    PathBuf::from(name)
}

impl Config {
    /// What is kept beside `journal`; nothing if there is no file.
    ///
    /// # Errors
    /// The file cannot be read or understood.
    pub fn load(journal: &Path) -> Result<Self, ConfigError> {
        let path = file_of(journal);
        match fs::read_to_string(&path) {
            Ok(text) => toml::from_str(&text).map_err(|error| ConfigError::Text {
                path,
                reason: error.to_string().trim_end().to_owned(),
            }),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(Self::default()),
            Err(source) => Err(ConfigError::Io { path, source }),
        }
    }

    /// The added adapter that `text` names.
    #[must_use]
    pub fn find(&self, text: &str) -> Option<&Kept> {
        self.added.iter().find(|kept| kept.is(text))
    }

    /// Keeps an adapter, in the place of what was kept of the same one.
    pub fn put(&mut self, kept: Kept) {
        self.added.retain(|other| other.serial != kept.serial);
        self.added.push(kept);
    }

    /// Keeps this beside `journal`, all of it or nothing.
    ///
    /// # Errors
    /// The system refuses.
    pub fn save(&self, journal: &Path) -> Result<(), ConfigError> {
        let path = file_of(journal);
        let failed = |source| ConfigError::Io { path: path.clone(), source };
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(failed)?;
        }
        let text = toml::to_string(self)
            .map_err(|error| ConfigError::Text { path: path.clone(), reason: error.to_string() })?;
        let draft = path.with_extension("new");
        let mut file = fs::File::create(&draft).map_err(failed)?;
        file.write_all(text.as_bytes()).map_err(failed)?;
        file.sync_all().map_err(failed)?;
        fs::rename(&draft, &path).map_err(failed)
    }
}

//! Files for their owner's eyes alone, beside the journal.

use serde::Serialize;
use std::ffi::OsString;
use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The journal's path with `ending` after it.
pub(super) fn beside(journal: &Path, ending: &str) -> PathBuf {
    let mut name = OsString::from(journal);
    name.push(ending);
    PathBuf::from(name)
}

/// Writes `what` as JSON, whole or not at all.
pub(super) fn write(path: &Path, what: &impl Serialize) -> io::Result<()> {
    let draft = beside(path, ".new");
    let mut options = OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    // A draft left behind by a killed process may have other rights: start afresh.
    let _ = fs::remove_file(&draft);
    let mut file = options.open(&draft)?;
    file.write_all(&serde_json::to_vec(what).map_err(io::Error::other)?)?;
    file.sync_all()?;
    fs::rename(&draft, path)
}

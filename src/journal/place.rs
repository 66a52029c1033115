//! What lies at the journal's path, and making room for a new one.

use crate::journal::error::{Found, JournalError};
use crate::journal::schema::APPLICATION_ID;
use std::ffi::OsString;
use std::fs::{self, DirBuilder, File, OpenOptions};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

const MAGIC: &[u8; 16] = b"SQLite format 3\0";
const HEADER_LEN: usize = 100;

/// What lies at a path that may become or be a journal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ground {
    /// Nothing, or an empty file.
    Free,
    /// A database of ours.
    Ours,
}

/// `path` with `ending` added to the file name: the files around the database are named so.
#[must_use]
pub fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = OsString::from(path);
    name.push(ending);
    PathBuf::from(name)
}

/// Looks at the path without changing anything.
///
/// # Errors
/// Anything else than a journal, an empty file or nothing; or what the system refuses.
pub(super) fn look(path: &Path) -> Result<Ground, JournalError> {
    let failed = |error: io::Error| JournalError::io(path, &error);
    let other = |found| Err(JournalError::NotAJournal { path: path.to_owned(), found });
    let metadata = match fs::metadata(path) {
        Ok(metadata) => metadata,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return free(path),
        Err(error) => return Err(failed(error)),
    };
    if metadata.is_dir() {
        return other(Found::Directory);
    }
    if !metadata.is_file() {
        return other(Found::OtherFile);
    }
    let mut start = Vec::new();
    File::open(path).and_then(|file| file.take(512).read_to_end(&mut start)).map_err(failed)?;
    if start.is_empty() {
        free(path)
    } else if start.len() >= HEADER_LEN && start.starts_with(MAGIC) {
        // Application id: octets 68..72, big endian (SQLite file format, 1.3).
        if start[68..72] == APPLICATION_ID.to_be_bytes() {
            Ok(Ground::Ours)
        } else {
            other(Found::OtherDatabase)
        }
    } else if start.iter().all(|octet| *octet == 0) && filled(&beside(path, "-journal")) {
        // Its making was cut short; SQLite rolls it back when it is opened.
        Ok(Ground::Ours)
    } else if is_text(&start) {
        other(Found::Text)
    } else {
        other(Found::OtherFile)
    }
}

/// Makes the folder (for its owner only) and an empty file (likewise), as far as they are missing.
pub(super) fn make(path: &Path) -> Result<(), JournalError> {
    let folder = folder_of(path);
    let mut builder = DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    let failed = |error: io::Error| JournalError::io(path, &error);
    let new_folder = !folder.exists();
    builder.create(folder).map_err(failed)?;
    match private().create_new(true).open(path) {
        Ok(_) => {
            sync_folder(folder).map_err(failed)?;
            if new_folder && let Some(above) = folder.parent() {
                sync_folder(above).map_err(failed)?;
            }
            Ok(())
        }
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            // Finds out now whether it can be written to; nothing is.
            private().open(path).map(drop).map_err(failed)
        }
        Err(error) => Err(failed(error)),
    }
}

/// Options for a file that only its owner may read.
pub(super) fn private() -> OpenOptions {
    let mut options = OpenOptions::new();
    options.read(true).write(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options
}

/// The folder that holds `path`.
pub(super) fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}

/// Why SQLite could not open a file beside the database: it does not say, so another file tells.
pub(super) fn why_closed(path: &Path, detail: String) -> JournalError {
    let probe = beside(path, ".probe");
    match private().create_new(true).open(&probe) {
        Ok(_) => {
            let _ = fs::remove_file(&probe);
            JournalError::Disk { path: path.to_owned(), detail }
        }
        Err(error) => JournalError::io(path, &error),
    }
}

fn free(path: &Path) -> Result<Ground, JournalError> {
    // SQLite would throw a write-ahead file away when its database is empty.
    if filled(&beside(path, "-wal")) {
        return Err(JournalError::DatabaseGone { path: path.to_owned() });
    }
    Ok(Ground::Free)
}

fn filled(path: &Path) -> bool {
    fs::metadata(path).is_ok_and(|metadata| metadata.len() > 0)
}

fn is_text(start: &[u8]) -> bool {
    let whole = match std::str::from_utf8(start) {
        Ok(text) => text,
        // A character cut by the end of what was read is no sign against text.
        Err(error) if error.error_len().is_none() => {
            std::str::from_utf8(&start[..error.valid_up_to()]).unwrap_or_default()
        }
        Err(_) => return false,
    };
    whole.chars().all(|char| !char.is_control() || char.is_whitespace())
}

#[cfg(unix)]
fn sync_folder(folder: &Path) -> io::Result<()> {
    let folder = match folder.as_os_str().is_empty() {
        true => Path::new("."),
        false => folder,
    };
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_folder: &Path) -> io::Result<()> {
    Ok(())
}

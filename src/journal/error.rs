//! Why the journal, or one entry of it, could not be used.

use crate::journal::place;
use rusqlite::ErrorCode;
use std::fmt;
use std::io;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why the journal could not be opened, read or added to. Whatever the reason, what was committed
/// before is untouched, and a batch that failed has left nothing behind.
#[derive(Debug, Error)]
pub enum JournalError {
    /// There is something else at that path.
    #[error(
        "expected a Clampbook journal at {}, but found {found}; it was left as it is: name another file with --journal, or move this one away",
        path.display()
    )]
    NotAJournal {
        /// Where.
        path: PathBuf,
        /// What is there.
        found: Found,
    },
    /// There is nothing at that path to read.
    #[error(
        "expected a journal at {}, but found none; name another file with --journal, or start a job first",
        path.display()
    )]
    Missing {
        /// Where.
        path: PathBuf,
    },
    /// The write-ahead file holds entries, but the database they belong to is gone.
    #[error(
        "expected the database {} beside its write-ahead file, but found it missing or empty; put it back from where it went, or move {}-wal away to start a new journal",
        path.display(), path.display()
    )]
    DatabaseGone {
        /// Where the database should be.
        path: PathBuf,
    },
    /// A newer program wrote it.
    #[error(
        "expected a journal of schema 0 to {known} at {}, but found schema {found}; use the newer clampbook that wrote it",
        path.display()
    )]
    NewerSchema {
        /// Where.
        path: PathBuf,
        /// The version it has.
        found: i64,
        /// The newest version known here.
        known: usize,
    },
    /// An older program wrote it, and a reader may not change it.
    #[error(
        "expected a journal of schema {known} at {}, but found schema {found}; run `clampbook serve` once to bring it up to date",
        path.display()
    )]
    OlderSchema {
        /// Where.
        path: PathBuf,
        /// The version it has.
        found: usize,
        /// The newest version known here.
        known: usize,
    },
    /// Another process writes to it.
    #[error(
        "expected to be the only writer of {}, but found {} writing to it; stop that one, or name another file with --journal",
        path.display(), holder_text(*holder)
    )]
    Locked {
        /// The journal.
        path: PathBuf,
        /// Process number of the writer, if it could be read.
        holder: Option<u32>,
    },
    /// The place cannot be written to.
    #[error(
        "expected to write to {}, but found it read-only; copy the journal to a folder of your own, or name a new file there, with --journal",
        path.display()
    )]
    ReadOnly {
        /// Where.
        path: PathBuf,
    },
    /// The user may not.
    #[error(
        "expected permission to use {}, but found it denied; run as the file's owner, or name a file in a folder of your own with --journal",
        path.display()
    )]
    Denied {
        /// Where.
        path: PathBuf,
    },
    /// No room.
    #[error(
        "expected room on the disk for {}, but found the disk full; nothing was changed: free some space, then try again",
        path.display()
    )]
    DiskFull {
        /// Where.
        path: PathBuf,
    },
    /// Some other program holds the database.
    #[error(
        "expected {} to become free, but found it still held by another program after five seconds; close that program, then try again",
        path.display()
    )]
    Busy {
        /// Where.
        path: PathBuf,
    },
    /// The disk refuses.
    #[error(
        "expected the disk to read and write {}, but found {detail}; check the disk, then try again",
        path.display()
    )]
    Disk {
        /// Where.
        path: PathBuf,
        /// What the disk or the system said.
        detail: String,
    },
    /// The database does not hang together.
    #[error(
        "expected a sound journal at {}, but found damage ({detail}); copy the file and its -wal to a safe place before anything else",
        path.display()
    )]
    Damaged {
        /// Where.
        path: PathBuf,
        /// What does not fit.
        detail: String,
    },
    /// The file system cannot do what durable commits need.
    #[error(
        "expected write-ahead mode for {}, but found mode {found}; keep the journal on a local disk",
        path.display()
    )]
    NoWriteAhead {
        /// Where.
        path: PathBuf,
        /// The mode it stayed in.
        found: String,
    },
    /// A fact holds what cannot be kept and read back the same.
    #[error(
        "expected a {kind} event of finite numbers that reads back as written, but found one that does not; correct it before it is kept"
    )]
    NotKeepable {
        /// Kind of the event.
        kind: &'static str,
    },
    /// Anything else that the database says.
    #[error("expected the journal {} to answer, but found {source}; try again, and keep a copy of the file if it stays so", path.display())]
    Database {
        /// Where.
        path: PathBuf,
        /// What it said.
        source: rusqlite::Error,
    },
}

fn holder_text(holder: Option<u32>) -> String {
    match holder {
        Some(pid) => format!("process {pid}"),
        None => "another process".to_owned(),
    }
}

/// What was found in place of a journal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Found {
    /// A directory.
    Directory,
    /// A file of text.
    Text,
    /// An SQLite database of some other program.
    OtherDatabase,
    /// A file of some other kind.
    OtherFile,
}

impl fmt::Display for Found {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Directory => "a directory",
            Self::Text => "a text file",
            Self::OtherDatabase => "another program's SQLite database",
            Self::OtherFile => "a file of another kind",
        })
    }
}

impl JournalError {
    /// Classes what the system said of `path`.
    pub(super) fn io(path: &Path, error: &io::Error) -> Self {
        let path = path.to_owned();
        match error.kind() {
            io::ErrorKind::PermissionDenied => Self::Denied { path },
            io::ErrorKind::ReadOnlyFilesystem => Self::ReadOnly { path },
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::DiskFull { path },
            _ => Self::Disk { path, detail: error.to_string() },
        }
    }

    /// Classes what SQLite said of the database at `path`.
    pub(super) fn sqlite(path: &Path, error: rusqlite::Error) -> Self {
        let path = path.to_owned();
        let Some(failure) = error.sqlite_error() else {
            return Self::Damaged { path, detail: error.to_string() };
        };
        match failure.code {
            ErrorCode::DiskFull => Self::DiskFull { path },
            // The shared index could not grow: the same full disk, met in another file.
            _ if failure.extended_code == rusqlite::ffi::SQLITE_IOERR_SHMSIZE => {
                Self::DiskFull { path }
            }
            ErrorCode::SystemIoFailure => Self::Disk { path, detail: error.to_string() },
            ErrorCode::ReadOnly => Self::ReadOnly { path },
            ErrorCode::CannotOpen => place::why_closed(&path, error.to_string()),
            ErrorCode::PermissionDenied => Self::Denied { path },
            ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked => Self::Busy { path },
            ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase => {
                Self::Damaged { path, detail: error.to_string() }
            }
            _ => Self::Database { path, source: error },
        }
    }
}

/// Why one entry cannot be understood here. The others can still be read, and the chain can still be
/// verified over it.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum EntryError {
    /// A newer program added this kind.
    #[error(
        "entry {number}: expected a kind of event known here, but found `{kind}`; read this journal with the newer clampbook that wrote it"
    )]
    UnknownKind {
        /// Number of the entry.
        number: u64,
        /// The kind it names.
        kind: String,
    },
    /// A newer program changed this kind's payload.
    #[error(
        "entry {number}: expected a `{kind}` of version 1 to {known}, but found version {found}; read this journal with the newer clampbook that wrote it"
    )]
    UnknownVersion {
        /// Number of the entry.
        number: u64,
        /// Its kind.
        kind: String,
        /// The version it has.
        found: i64,
        /// The newest version known here.
        known: i64,
    },
    /// The row contradicts itself or its own version.
    #[error(
        "entry {number}: expected a well-formed `{kind}`, but found that {reason}; it was damaged or edited: compare with a copy"
    )]
    Malformed {
        /// Number of the entry.
        number: u64,
        /// Its kind.
        kind: String,
        /// What does not fit.
        reason: String,
    },
}

impl EntryError {
    /// Number of the entry concerned.
    #[must_use]
    pub fn number(&self) -> u64 {
        match self {
            Self::UnknownKind { number, .. }
            | Self::UnknownVersion { number, .. }
            | Self::Malformed { number, .. } => *number,
        }
    }
}

//! The chain's length and last hash, kept in a small text file beside the journal: a second witness,
//! which shows that entries were cut off the end.
//!
//! It is written after each commit and never before, so it can lag behind the journal (after a crash)
//! but not run ahead of it. Two lines: `length N`, `hash H` (lower-case hexadecimal).

use crate::journal::chain;
use crate::journal::place;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Names a head file that was set aside, with the length in it.
const CONTRADICTS: &str = ".contradicts-";

/// How long the chain is and what its last hash is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Head {
    /// Number of the last entry; 0 for an empty journal.
    pub length: u64,
    /// Its hash; [`chain::FIRST_PREV`] for an empty journal.
    pub hash: [u8; 32],
}

impl Head {
    /// Head of a journal without entries.
    pub const EMPTY: Self = Self { length: 0, hash: chain::FIRST_PREV };
}

/// What the head file says of the journal that was opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Witness {
    /// It names an entry that the journal has, with the same hash.
    Agrees,
    /// There is none yet.
    Absent,
    /// It cannot be read.
    Unreadable {
        /// Why.
        detail: String,
    },
    /// Entries are missing from the journal's end, or it is another journal.
    Contradicts {
        /// What the file says.
        witness: Head,
        /// How long the journal is.
        length: u64,
        /// Where the file was moved to, so that it is not written over; none if that failed.
        set_aside: Option<PathBuf>,
    },
}

/// Name of the head file of the journal at `path`.
#[must_use]
pub fn file_of(path: &Path) -> PathBuf {
    place::beside(path, ".head")
}

/// Reads the head file of the journal at `path`; none if there is no such file.
///
/// # Errors
/// What the system refuses; [`io::ErrorKind::InvalidData`] if it does not hold a head.
pub fn read(path: &Path) -> io::Result<Option<Head>> {
    let text = match fs::read_to_string(file_of(path)) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error),
    };
    parse(&text).map(Some).ok_or_else(no_head)
}

/// Every head file of the journal at `path`, and what each says: the one in use first, then those set aside
/// because the journal contradicted them.
///
/// # Errors
/// The folder cannot be listed.
pub fn read_all(path: &Path) -> io::Result<Vec<(PathBuf, io::Result<Head>)>> {
    let path = path.canonicalize()?;
    let name = file_of(&path);
    let mut found = Vec::new();
    if let Some(said) = read(&path).transpose() {
        found.push((name.clone(), said));
    }
    let aside = place::beside(&name, CONTRADICTS);
    let aside = aside.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let mut kept = Vec::new();
    for entry in fs::read_dir(place::folder_of(&path))? {
        let entry = entry?;
        if entry.file_name().to_string_lossy().starts_with(&aside) {
            kept.push(entry.path());
        }
    }
    kept.sort();
    found.extend(kept.into_iter().map(|file| {
        let said = fs::read_to_string(&file).and_then(|text| parse(&text).ok_or_else(no_head));
        (file, said)
    }));
    Ok(found)
}

/// Puts the head file in place, whole or not at all.
pub(super) fn write(path: &Path, head: Head) -> io::Result<()> {
    let name = file_of(path);
    let next = place::beside(&name, ".new");
    let mut file = place::private().create(true).truncate(true).open(&next)?;
    write!(file, "length {}\nhash {}\n", head.length, chain::hex(&head.hash))?;
    drop(file);
    fs::rename(&next, &name)
}

/// Moves a head file that contradicts its journal out of the way.
pub(super) fn set_aside(path: &Path, head: Head) -> Option<PathBuf> {
    let kept = place::beside(&file_of(path), &format!("{CONTRADICTS}{}", head.length));
    fs::rename(file_of(path), &kept).ok().map(|()| kept)
}

fn no_head() -> io::Error {
    io::Error::new(
        io::ErrorKind::InvalidData,
        "expected the lines `length N` and `hash H`, but found something else",
    )
}

fn parse(text: &str) -> Option<Head> {
    let mut lines = text.lines();
    let length = lines.next()?.strip_prefix("length ")?.parse().ok()?;
    let hash = chain::from_hex(lines.next()?.strip_prefix("hash ")?)?;
    lines.next().is_none().then_some(Head { length, hash })
}

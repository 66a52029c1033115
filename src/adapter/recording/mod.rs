//! Recordings: what an adapter and its operator did, as newline-delimited JSON.
//!
//! Guarantees: a faulty line is named with its number and costs only itself; whatever
//! [`Writer`] writes, [`Lines`] reads back unchanged; `truth` lines are left unread.
//!
//! Deliberately absent: judgement. A recording says what happened, never whether it was right.

mod convert;
mod fault;
mod limits;
mod line;
mod raw;
mod reader;
mod writer;

pub use convert::{Converted, Shown};
pub use fault::{Fault, Problem};
pub use line::{Button, Header, Item, Line, Press};
pub use reader::{LONGEST_LINE, Lines};
pub use writer::{WriteError, Writer};

use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};

/// A whole recording in memory.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Recording {
    /// Its usable lines, in the order of the file, which is the order of arrival.
    pub lines: Vec<Line>,
    /// Its unusable lines.
    pub problems: Vec<Problem>,
}

/// Nothing of a recording can be used.
#[derive(Debug, thiserror::Error)]
pub enum Unusable {
    /// It could not be opened.
    #[error("expected a recording at {path}, but could not open it: {source}", path = path.display())]
    Open {
        /// Where it should be.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// A fault that spoils the whole file.
    #[error("expected a recording at {path}, but found {problem}", path = path.display())]
    Spoiled {
        /// Where it is.
        path: PathBuf,
        /// The fault.
        problem: Problem,
    },
    /// No line of it can be used.
    #[error(
        "expected a recording at {path}, but none of its lines can be used ({problems} faulty); \
         the first must be a `header` line",
        path = path.display(),
        problems = problems.len()
    )]
    Empty {
        /// Where it is.
        path: PathBuf,
        /// What is wrong with its lines.
        problems: Vec<Problem>,
    },
}

impl Recording {
    /// Reads everything; faults are collected in [`Recording::problems`].
    pub fn read(input: impl BufRead) -> Self {
        let mut recording = Self::default();
        for line in Lines::new(input) {
            match line {
                Ok(line) => recording.lines.push(line),
                Err(problem) => recording.problems.push(problem),
            }
        }
        recording
    }

    /// Reads the file at `path`.
    ///
    /// # Errors
    /// If it cannot be opened or read to its end, is of another format or version, or holds no
    /// usable line. A merely faulty line is no error but one of [`Recording::problems`].
    pub fn load(path: &Path) -> Result<Self, Unusable> {
        let path_buf = path.to_path_buf();
        let file =
            File::open(path).map_err(|source| Unusable::Open { path: path_buf.clone(), source })?;
        let recording = Self::read(BufReader::new(file));
        let fatal = recording.problems.iter().find(|problem| problem.fault.is_fatal());
        if let Some(problem) = fatal {
            return Err(Unusable::Spoiled { path: path_buf, problem: problem.clone() });
        }
        if recording.lines.iter().all(|line| matches!(line.item, Item::Header(_))) {
            return Err(Unusable::Empty { path: path_buf, problems: recording.problems });
        }
        Ok(recording)
    }

    /// The header, if the recording has a usable one.
    #[must_use]
    pub fn header(&self) -> Option<&Header> {
        self.lines.iter().find_map(|line| match &line.item {
            Item::Header(header) => Some(header),
            _ => None,
        })
    }
}

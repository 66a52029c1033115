//! What can be wrong with a line of a recording.

use crate::core::signal::Nonsense;

/// A line that cannot be used, and why.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("line {line}: {fault}")]
pub struct Problem {
    /// The line's number in the file, from 1.
    pub line: u64,
    /// What is wrong with it.
    pub fault: Fault,
}

/// What is wrong with a line.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Fault {
    /// Not JSON.
    #[error(
        "expected one JSON object, but found {reason} at column {column}; \
         repair or remove the line (the rest of the file is read)"
    )]
    NotJson {
        /// Where it stops being JSON, from 1.
        column: usize,
        /// What the JSON reader says.
        reason: String,
    },
    /// JSON, but no object.
    #[error("expected one JSON object, but found {reason}; repair or remove the line")]
    NotObject {
        /// What the JSON reader says.
        reason: String,
    },
    /// No `kind`.
    #[error("expected a key `kind` that says what the line is, but found none; add it")]
    NoKind,
    /// A required key is missing.
    #[error("expected a key `{key}` in a `{kind}` line, but found none; add it")]
    MissingKey {
        /// The line's kind.
        kind: String,
        /// The missing key.
        key: String,
    },
    /// A value is of the wrong type or not one of those allowed.
    #[error("expected the values that a `{kind}` line has, but found {reason}; correct the value")]
    WrongValue {
        /// The line's kind.
        kind: String,
        /// What the JSON reader says.
        reason: String,
    },
    /// A number that cannot be true.
    #[error("expected `{key}` from {low:?} to {high:?}, but found {found:?}; correct the value")]
    OutOfRange {
        /// The key.
        key: &'static str,
        /// Smallest value allowed.
        low: f64,
        /// Largest value allowed.
        high: f64,
        /// The value.
        found: f64,
    },
    /// `nm` and `deg` differ in length.
    #[error("expected as many values in `deg` as in `nm` ({nm}), but found {deg}")]
    Lengths {
        /// Number of torque samples.
        nm: usize,
        /// Number of rotation samples.
        deg: usize,
    },
    /// A range that ends before it begins.
    #[error("expected `range_nm` as [smallest, largest], but found [{low}, {high}]; swap them")]
    RangeReversed {
        /// First value.
        low: f64,
        /// Second value.
        high: f64,
    },
    /// A motion line without a usable distance.
    #[error("expected `right_mm` and `up_mm`, or `distance_mm`, but found neither; add them")]
    NoDistance,
    /// The same number twice with different values.
    #[error(
        "expected reading {seq} of adapter `{adapter}` only once, but found it again with other \
         values; the first one is used"
    )]
    Conflict {
        /// The adapter's short id.
        adapter: String,
        /// The reading's number.
        seq: u64,
    },
    /// A trace that cannot all be read; told once a kind and adapter.
    #[error("adapter `{adapter}` sends a trace that cannot all be read: {what}; {next_step}",
        next_step = what.next_step())]
    Trace {
        /// The adapter's short id.
        adapter: String,
        /// What was found.
        what: Nonsense,
    },
    /// Longer than any line can be.
    #[error("expected a line of at most {limit} octets, but found a longer one; split the block")]
    TooLong {
        /// The limit in octets.
        limit: usize,
    },
    /// The first line is no header.
    #[error(
        "expected a `header` line first, but found a `{found}` line; \
         the file is read as version 1 of the format"
    )]
    NoHeader {
        /// Kind of the first line.
        found: String,
    },
    /// A header somewhere else.
    #[error("expected only one `header` line, but found another; split the file before it")]
    SecondHeader,
    /// Another format altogether.
    #[error("expected the format `clampbook-recording`, but found `{found}`; nothing is read")]
    WrongFormat {
        /// The name found.
        found: String,
    },
    /// A version from after this program.
    #[error(
        "expected version 1 of the recording format, but found version {found}; \
         nothing is read: use the program that wrote it, or a newer one"
    )]
    WrongVersion {
        /// The version found.
        found: u64,
    },
    /// The file could not be read further.
    #[error("expected to read on, but the system says: {reason}")]
    Unreadable {
        /// What the system says.
        reason: String,
    },
}

impl Fault {
    /// True if nothing after it can be trusted or read.
    #[must_use]
    pub const fn is_fatal(&self) -> bool {
        matches!(
            self,
            Self::WrongFormat { .. } | Self::WrongVersion { .. } | Self::Unreadable { .. }
        )
    }
}

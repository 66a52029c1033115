//! What is wrong with a plan file, and where.

use serde::Serialize;
use std::fmt;

/// One thing wrong, doubtful or worth knowing in a plan file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fault {
    /// How bad.
    pub severity: Severity,
    /// What kind; stable, for programs.
    pub code: Code,
    /// Counted from 1.
    pub line: usize,
    /// Counted from 1, in characters.
    pub column: usize,
    /// What was expected and what was found.
    pub message: String,
    /// What to do about it.
    pub remedy: String,
}

/// A place in a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// Counted from 1.
    pub line: usize,
    /// Counted from 1, in characters.
    pub column: usize,
}

/// How bad a [`Fault`] is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// The plan cannot be used.
    Error,
    /// The plan can be used, but this is probably not meant.
    Warning,
    /// Worth knowing.
    Note,
}

/// What kind of [`Fault`]. More may be added; these keep their meaning.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Code {
    /// Not TOML.
    Syntax,
    /// The file is larger than any plan.
    TooLarge,
    /// A value of another kind than wanted: a number where text belongs.
    Kind,
    /// A key that means nothing here.
    UnknownKey,
    /// A key, a joint or a member given twice.
    Duplicate,
    /// Something that must be there is not.
    Missing,
    /// A name with characters that names do not have, or a reserved one.
    Name,
    /// A name that nothing in the file carries.
    Unresolved,
    /// Text with control characters, or octets that are no text.
    Text,
    /// A torque that cannot be read, or lies outside all reason.
    Figure,
    /// A tolerance that cannot be read, or leaves no window.
    Tolerance,
    /// A count of fasteners out of range, or two patterns at once.
    Pattern,
    /// An order that is no permutation of the members.
    Order,
    /// Passes that contradict the target or each other.
    Passes,
    /// Joints that wait for each other.
    Cycle,
    /// A value still to be looked up.
    LookUp,
    /// A vehicle identification number that does not check.
    Vin,
    /// Something declared and never used.
    Unused,
    /// A length, an angle or a time that cannot be read.
    Measure,
    /// A file named by `include` that cannot be taken in.
    Include,
    /// Values without a word on where they come from.
    NoSource,
    /// A thread or a class that is not known here.
    UnknownThread,
    /// A target that is small for its thread.
    LowForThread,
    /// A target at which its bolt may yield.
    HighForThread,
    /// A target that looks as if it were meant in another unit.
    UnitMixUp,
    /// No adapter measures this target.
    Range,
    /// The target lies outside what the adapter is calibrated for.
    Calibrated,
    /// The adapter is not calibrated in the direction of this thread.
    Direction,
    /// The adapter's calibration is due.
    CalibrationDue,
    /// The tolerance is too narrow for the adapter.
    CannotVerify,
    /// Readings near a limit pass only on condition.
    GuardBand,
    /// A part that is used once, and nothing about its replacement.
    NoReplacement,
    /// Left and right are not alike.
    SidesDiffer,
    /// A wheel without a word on its recheck.
    NoRecheck,
    /// A crowfoot or a joint between adapter and fastener that changes what a reading means.
    Fixture,
    /// A castle nut whose least torque is not stated.
    CastleNut,
    /// A check round on thread locker without its working time.
    ThreadLocker,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Error => "error",
            Self::Warning => "warning",
            Self::Note => "note",
        })
    }
}

/// `line:column: severity: message; remedy`: put the file's name and a colon in front.
impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { severity, line, column, message, remedy, .. } = self;
        write!(f, "{line}:{column}: {severity}: {message}; {remedy}")
    }
}

/// Faults while a text is being read: places are octet offsets here, lines and columns at the end.
pub(super) struct Faults<'t> {
    text: &'t str,
    line_starts: Vec<usize>,
    list: Vec<Fault>,
    /// How many more there were, and how bad the worst of them.
    more: usize,
    worst: Severity,
}

/// The most faults that are listed: nobody reads more, and their places cost time.
const MOST_FAULTS: usize = 500;

/// A message and its remedy, before its place is known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Complaint {
    pub(super) code: Code,
    pub(super) message: String,
    pub(super) remedy: String,
}

impl Complaint {
    pub(super) fn new(code: Code, message: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self { code, message: message.into(), remedy: remedy.into() }
    }
}

impl Complaint {
    /// The fault that it is at a place.
    pub(super) fn at(self, severity: Severity, place: Place) -> Fault {
        let Self { code, message, remedy } = self;
        let Place { line, column } = place;
        let (message, remedy) = (printable(&message), printable(&remedy));
        Fault { severity, code, line, column, message, remedy }
    }
}

impl<'t> Faults<'t> {
    pub(super) fn new(text: &'t str) -> Self {
        let starts = text.match_indices('\n').map(|(index, _)| index + 1);
        Self {
            text,
            line_starts: std::iter::once(0).chain(starts).collect(),
            list: Vec::new(),
            more: 0,
            worst: Severity::Note,
        }
    }

    pub(super) fn error(&mut self, at: usize, complaint: Complaint) {
        self.add(Severity::Error, at, complaint);
    }

    pub(super) fn warning(&mut self, at: usize, complaint: Complaint) {
        self.add(Severity::Warning, at, complaint);
    }

    pub(super) fn note(&mut self, at: usize, complaint: Complaint) {
        self.add(Severity::Note, at, complaint);
    }

    /// What the text says at `span`, short enough for a message.
    pub(super) fn excerpt(&self, span: std::ops::Range<usize>) -> String {
        let found = self.text.get(span).unwrap_or_default();
        short(found)
    }

    /// What the text says from `at` to the end of the line, short enough for a message.
    pub(super) fn rest_of_line(&self, at: usize) -> String {
        let rest = self.text.get(at..).unwrap_or_default();
        short(rest.lines().next().unwrap_or_default())
    }

    /// Line and column of an octet, each counted from 1; columns in characters.
    pub(super) fn place(&self, at: usize) -> Place {
        let mut at = at.min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        let line = self.line_starts.partition_point(|&start| start <= at);
        let column = self.text[self.line_starts[line - 1]..at].chars().count() + 1;
        Place { line, column }
    }

    /// The places of several octets.
    pub(super) fn places(&self, at: &[usize]) -> Vec<Place> {
        at.iter().map(|&at| self.place(at)).collect()
    }

    /// True if no line has a fault yet.
    pub(super) fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// All faults in file order. Where the text is no TOML on a line, only that is said of the line:
    /// what else is wrong there follows from it.
    pub(super) fn finish(self) -> Vec<Fault> {
        let mut list = self.list;
        let broken: std::collections::BTreeSet<usize> = list
            .iter()
            .filter(|fault| fault.code == Code::Syntax)
            .map(|fault| fault.line)
            .collect();
        list.retain(|fault| fault.code == Code::Syntax || !broken.contains(&fault.line));
        list.sort_by_key(|fault| (fault.line, fault.column));
        list.dedup();
        if self.more > 0 {
            list.push(Fault {
                severity: self.worst,
                code: Code::TooLarge,
                line: self.line_starts.len(),
                column: 1,
                message: format!(
                    "expected at most {MOST_FAULTS} faults, but found {} more",
                    self.more
                ),
                remedy: "mend those above first".to_owned(),
            });
        }
        list
    }

    fn add(&mut self, severity: Severity, at: usize, complaint: Complaint) {
        if self.list.len() >= MOST_FAULTS {
            self.more += 1;
            self.worst = self.worst.min(severity);
            return;
        }
        self.list.push(complaint.at(severity, self.place(at)));
    }
}

/// A text as part of a message: at most 40 characters.
pub(super) fn short(text: &str) -> String {
    let mut shown: String = text.chars().take(40).collect();
    if text.chars().nth(40).is_some() {
        shown.push('…');
    }
    shown
}

/// Names and values of the file get into messages: what could disturb a terminal is replaced.
fn printable(text: &str) -> String {
    text.chars().map(|c| if is_unprintable(c) { '\u{fffd}' } else { c }).collect()
}

/// Characters that would let a text disturb a terminal or pretend to read otherwise: controls and
/// the direction overrides and isolates of Unicode (UAX #9).
pub(super) fn is_unprintable(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

//! Values typed by a person, or by a device that poses as a keyboard: one a line.
//!
//! What is typed is a person's word about a tool that nobody listened to. It is checked against the plan
//! like a pull, and never counts as measured.

use crate::core::event::{AdapterInfo, Reports};
use crate::core::units::{TorqueUnit, UnitError, parse_number, split_number};
use thiserror::Error;

/// Short id and serial of the source that typed values come from.
pub const TYPED: &str = "typed";
/// The longest line that is understood, characters.
const LONGEST: usize = 500;

/// What one line says.
#[derive(Debug, Clone, PartialEq)]
pub struct Typed {
    /// What it says.
    pub what: TypedWhat,
    /// The fastener it speaks of, if it names one.
    pub at: Option<String>,
}

/// The kinds of [`Typed`].
#[derive(Debug, Clone, PartialEq)]
pub enum TypedWhat {
    /// A tool showed this torque.
    Value {
        /// Positive, in `unit`.
        number: f64,
        /// As written; none: the unit that is expected.
        unit: Option<TorqueUnit>,
    },
    /// It stayed below its torque.
    Low,
    /// Done with a tool that shows nothing.
    Done,
    /// I am at the fastener named.
    At,
    /// Takes back what was said or typed last.
    Undo,
    /// The condition asked for is met; or this hold's.
    Yes {
        /// Its name.
        hold: Option<String>,
        /// Why, where the opposite was told before: behind `because`.
        because: Option<String>,
    },
    /// A note for the record.
    Note(String),
    /// The value of a joint that the plan left to be looked up: `slide-pins 26 N·m`.
    Give(String),
    /// Close the job.
    Close,
}

/// Why a line is not understood.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum TypedError {
    /// It is none of the words.
    #[error(
        "expected a torque, `low`, `done`, `at NAME`, `yes`, `undo`, `note TEXT`, `value JOINT TORQUE` or `close`, but found `{0}`; write it like `102.5 N·m at wheel/3`"
    )]
    Unknown(String),
    /// It is longer than any of them.
    #[error(
        "expected at most {LONGEST} characters a line, but found more; put each value on a line of its own"
    )]
    TooLong,
    /// A word that needs something behind it.
    #[error("expected {1} behind `{0}`, but found nothing; write it like `{0} {2}`")]
    Bare(&'static str, &'static str, &'static str),
    /// The number or the unit is wrong.
    #[error(transparent)]
    Torque(#[from] UnitError),
}

/// Reads a line; none if there is nothing on it.
///
/// # Errors
/// What is wrong with it, and what would be right.
pub fn parse(line: &str) -> Result<Option<Typed>, TypedError> {
    let line = line.trim_matches(|c: char| c.is_whitespace() || c.is_control());
    if line.is_empty() {
        return Ok(None);
    }
    if line.chars().count() > LONGEST {
        return Err(TypedError::TooLong);
    }
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let rest = rest.trim();
    let plain = |what| Ok(Some(Typed { what, at: None }));
    match word.to_lowercase().as_str() {
        "at" if rest.is_empty() => return Err(TypedError::Bare("at", "a fastener", "wheel/3")),
        "at" => return Ok(Some(Typed { what: TypedWhat::At, at: Some(rest.to_owned()) })),
        "note" if rest.is_empty() => {
            return Err(TypedError::Bare("note", "a text", "stud looks stretched"));
        }
        "note" => return plain(TypedWhat::Note(rest.to_owned())),
        "value" if rest.is_empty() => {
            return Err(TypedError::Bare("value", "a joint and its torque", "slide-pins 26 N·m"));
        }
        "value" => return plain(TypedWhat::Give(rest.to_owned())),
        "yes" | "y" => {
            let (name, because) = match rest.split_once("because ") {
                Some((name, because)) => (name.trim(), Some(because.trim().to_owned())),
                None => (rest, None),
            };
            let hold = (!name.is_empty()).then(|| name.to_owned());
            return plain(TypedWhat::Yes { hold, because });
        }
        "undo" if rest.is_empty() => return plain(TypedWhat::Undo),
        "close" if rest.is_empty() => return plain(TypedWhat::Close),
        _ => {}
    }
    let (said, at) = split_at_name(line);
    let what = match said.to_lowercase().as_str() {
        "low" => TypedWhat::Low,
        "done" => TypedWhat::Done,
        _ => value(said, line)?,
    };
    Ok(Some(Typed { what, at: at.map(str::to_owned) }))
}

fn value(said: &str, line: &str) -> Result<TypedWhat, TypedError> {
    let (number, unit) = split_number(said);
    if number.is_empty() {
        return Err(TypedError::Unknown(line.to_owned()));
    }
    let number = parse_number(number)?;
    let unit = if unit.is_empty() { None } else { Some(unit.parse()?) };
    Ok(TypedWhat::Value { number, unit })
}

/// `102.5 at wheel/3` as `102.5` and `wheel/3`.
fn split_at_name(line: &str) -> (&str, Option<&str>) {
    let mut words = line.rsplitn(3, char::is_whitespace);
    match (words.next(), words.next(), words.next()) {
        (Some(name), Some(at), Some(said)) if at.eq_ignore_ascii_case("at") => {
            (said.trim_end(), Some(name))
        }
        _ => (line, None),
    }
}

/// Typed values as a source: it claims no range, no accuracy, and to measure nothing.
#[must_use]
pub fn typed_source() -> AdapterInfo {
    AdapterInfo {
        overdue_since: None,
        certificate: None,
        id: TYPED.to_owned(),
        serial: TYPED.to_owned(),
        drive: None,
        range: None,
        accuracy_pct: None,
        reports: Reports { peak: true, typed: true, ..Reports::default() },
    }
}

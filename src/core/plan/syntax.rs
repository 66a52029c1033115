//! From text to a TOML table, with every fault of syntax that can be found in one go.

use crate::core::plan::fault::{Code, Complaint, Faults};
use toml::de::{DeTable, Error};

/// The largest plan file that is read, octets: 500 joints of 500 octets each.
pub(super) const LARGEST_FILE: usize = 1 << 18;

/// Reads the text, or says that it is no plan at all.
pub(super) fn table<'t>(text: &'t str, faults: &mut Faults<'_>) -> Option<DeTable<'t>> {
    if text.len() > LARGEST_FILE {
        faults.error(
            0,
            Complaint::new(
                Code::TooLarge,
                format!(
                    "expected a plan of at most {LARGEST_FILE} octets, but found {}",
                    text.len()
                ),
                "check that this file is a plan",
            ),
        );
        return None;
    }
    let (table, errors) = DeTable::parse_recoverable(text);
    for error in &errors {
        let (at, complaint) = translate(error, faults);
        faults.error(at, complaint);
    }
    let table = table.into_inner();
    if table.is_empty() && errors.is_empty() {
        faults.error(
            0,
            Complaint::new(
                Code::Missing,
                "expected a plan, but found nothing in the file",
                "start from the commented plan that `clampbook plan new` prints",
            ),
        );
        return None;
    }
    Some(table)
}

/// The parser's words in ours: expected, found, remedy.
fn translate(error: &Error, faults: &Faults<'_>) -> (usize, Complaint) {
    let span = error.span().unwrap_or_default();
    let at = span.start;
    let excerpt = if span.is_empty() { faults.rest_of_line(at) } else { faults.excerpt(span) };
    let found = match excerpt.trim() {
        "" => "nothing".to_owned(),
        excerpt => format!("`{excerpt}`"),
    };
    let (what, expected) = match error.message().split_once(", expected ") {
        Some((what, expected)) => (what, Some(expected)),
        None => (error.message(), None),
    };
    if what == "duplicate key" {
        let complaint = Complaint::new(
            Code::Duplicate,
            format!("expected each key once, but found {found} again"),
            "keep one of the two, or give one another name",
        );
        return (at, complaint);
    }
    let quoted = "put the text in double quotes, like \"228 N·m\"";
    let (message, remedy) = match what {
        "string values must be quoted" if found != "nothing" => {
            (format!("expected text in quotes, but found {found}"), quoted)
        }
        "invalid basic string" | "unclosed basic string" => (
            format!("expected a closing double quote, but found {found}"),
            "end the text with a double quote on the same line",
        ),
        "missing assignment between key-value pairs" | "key with no value" => (
            format!("expected `=` and a value, but found {found}"),
            "write it like `hub-nut = \"228 N·m\"`",
        ),
        "missing value" | "missing value for key" | "string values must be quoted" => (
            format!("expected a value, but found {found}"),
            "write the value behind the `=`; `\"?\"` if it is still to be looked up",
        ),
        "invalid unquoted key" => (
            format!("expected a key of plain letters, digits and hyphens, but found {found}"),
            "write it without accents and spaces; text belongs in double quotes behind the `=`",
        ),
        "unexpected key or value" => (
            format!("expected the end of the line, but found {found}"),
            "begin a new line; several values stand in [ ] with commas",
        ),
        "cannot recurse further; max recursion depth met" | "recursion limit" => (
            "expected a few levels of brackets, but found far too many".to_owned(),
            "a plan needs two levels at most",
        ),
        _ => match (what.strip_prefix("missing "), expected) {
            (Some(missing), _) => (format!("expected {missing}, but found {found}"), GENERAL),
            (None, Some(expected)) if expected != "nothing" => {
                (format!("expected {expected}, but found {found} ({what})"), GENERAL)
            }
            (None, _) => (format!("expected valid TOML, but found {found} ({what})"), GENERAL),
        },
    };
    (at, Complaint::new(Code::Syntax, message, remedy))
}

const GENERAL: &str =
    "text stands in double quotes, lists in [ ], every key on its own line as `key = value`";

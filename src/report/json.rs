//! The report as JSON, for other programs. The fields are those of [`crate::report::model`].

use crate::report::Report;
use crate::report::seal::{Key, Seal, SealError};
use serde::Serialize;

/// What the file says it is.
pub const FORMAT: &str = "clampbook-report";
/// Version of the format; grows only when a field changes its meaning.
pub const VERSION: u32 = 1;

#[derive(Serialize)]
struct Document<'a> {
    format: &'static str,
    version: u32,
    #[serde(flatten)]
    report: &'a Report,
    /// Last, and only in a signed report.
    #[serde(skip_serializing_if = "Option::is_none")]
    signature: Option<Seal>,
}

/// The report as one JSON object, indented, with a line feed at the end.
#[must_use]
pub fn render(report: &Report) -> String {
    written(report, None)
}

/// The same, signed.
///
/// # Errors
/// It cannot be put into the form that is signed.
pub fn render_signed(report: &Report, key: &Key) -> Result<String, SealError> {
    let plain = serde_json::from_str(&render(report))
        .map_err(|error| SealError::NotCanonical(error.to_string()))?;
    Ok(written(report, Some(key.seal(&plain)?)))
}

fn written(report: &Report, signature: Option<Seal>) -> String {
    let document = Document { format: FORMAT, version: VERSION, report, signature };
    let mut text = serde_json::to_string_pretty(&document)
        .expect("a report has only string keys; this is a bug");
    text.push('\n');
    text
}

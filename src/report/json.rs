//! The report as JSON, for other programs. The fields are those of [`crate::report::model`].

use crate::report::Report;
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
}

/// The report as one JSON object, indented, with a line feed at the end.
#[must_use]
pub fn render(report: &Report) -> String {
    let document = Document { format: FORMAT, version: VERSION, report };
    let mut text = serde_json::to_string_pretty(&document)
        .expect("a report has only string keys; this is a bug");
    text.push('\n');
    text
}

//! The one place that prints: answers and events on standard output, one JSON object a line.

use std::io::Write;

use serde_json::{Value, json};

/// Prints one object as a line. A reader that has gone away is not this program's trouble.
pub(crate) fn say(object: &Value) {
    let mut out = std::io::stdout().lock();
    let _gone = writeln!(out, "{object}").and_then(|()| out.flush());
}

/// Prints something that happened.
pub(crate) fn event(name: &str, mut details: Value) {
    if let Some(details) = details.as_object_mut() {
        details.insert("event".to_owned(), json!(name));
    }
    say(&details);
}

/// Prints a message for a person on standard error.
pub(crate) fn complain(message: &str) {
    let mut err = std::io::stderr().lock();
    let _gone = writeln!(err, "clampbook-reference-adapter: {message}");
}

/// Prints plain text on standard output.
pub(crate) fn text(text: &str) {
    let mut out = std::io::stdout().lock();
    let _gone = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}

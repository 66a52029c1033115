//! `audit key`: the key that signs reports.

use crate::cli::args::KeyArgs;
use crate::cli::keys;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use serde::Serialize;

#[derive(Serialize)]
struct Shown<'a> {
    file: String,
    public_key: &'a str,
    new: bool,
}

/// Runs the verb.
///
/// # Errors
/// The key cannot be read or made.
pub(super) fn run(args: &KeyArgs, printer: Printer) -> Result<Done, Failure> {
    let path = keys::place(args.file.as_deref())?;
    let (key, new) = match keys::read(&path)? {
        Some(key) => (key, false),
        None => (keys::make(&path)?, true),
    };
    let public_key = key.public();
    if args.json {
        let file = path.display().to_string();
        printer.json(&Shown { file, public_key: &public_key, new })?;
        return Ok(Done::Fine);
    }
    printer.line(&public_key)?;
    let what = if new { "a new key is in" } else { "the key is in" };
    printer.talk(format_args!("{what} {}; keep that file to yourself", path.display()));
    Ok(Done::Fine)
}

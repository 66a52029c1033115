//! Reading the plan files that are named on the command line.

use crate::cli::outcome::Failure;
use crate::cli::printer::Printer;
use crate::core::plan::{self, Fault, Included, Plan, Setting};
use std::fs;
use std::path::{Component, Path, PathBuf};

/// Larger than any plan, so that a wrong file is not read whole.
const LARGEST_PLAN: u64 = 1 << 20;
/// Larger than any report.
const LARGEST_REPORT: u64 = 1 << 30;

/// A usable plan and the text it came from.
pub struct ReadPlan {
    /// The plan.
    pub plan: Plan,
    /// Its text, with all that it includes.
    pub text: String,
    /// What is in doubt about it, each with the file that it stands in.
    pub doubts: Vec<(String, Fault)>,
}

/// The text of a plan file, with all that it includes.
pub struct PlanText {
    /// The text, in one piece.
    pub text: String,
    included: Included,
}

impl PlanText {
    /// The file that a fault of the text stands in, and the fault with its place there.
    pub fn place(&self, path: &Path, fault: &Fault) -> (String, Fault) {
        let (file, fault) = self.included.place(fault);
        (file.map_or_else(|| path.display().to_string(), str::to_owned), fault)
    }

    fn named(&self, path: &Path, fault: &Fault) -> String {
        let (file, fault) = self.place(path, fault);
        format!("{file}:{fault}")
    }
}

/// The plan in that file. Its faults are named on standard error, warnings too.
///
/// # Errors
/// The file cannot be read, or has faults.
pub fn plan(path: &Path, printer: Printer) -> Result<ReadPlan, Failure> {
    let text = plan_text(path)?.map_err(|faults| {
        for (file, fault) in &faults {
            printer.plain_error(named(file, fault));
        }
        Failure::InputReported
    })?;
    match plan::parse(&text.text) {
        Ok(file) => {
            for fault in &file.faults {
                printer.talk(text.named(path, fault));
            }
            let doubts = plan::review(&file, &Setting::default());
            let doubts = doubts.iter().map(|fault| text.place(path, fault)).collect();
            Ok(ReadPlan { plan: file.plan, text: text.text, doubts })
        }
        Err(faults) => {
            for fault in &faults {
                printer.plain_error(text.named(path, fault));
            }
            Err(Failure::InputReported)
        }
    }
}

/// The text of the plan file at `path` with all that it includes; or what cannot be taken in, each with the
/// file that names it.
///
/// # Errors
/// The plan file itself cannot be read as text.
pub fn plan_text(path: &Path) -> Result<Result<PlanText, Vec<(PathBuf, Fault)>>, Failure> {
    let own = text(
        path,
        LARGEST_PLAN,
        "a plan file",
        "name a file, for example one made with `clampbook plan new`",
    )?;
    let mut read = |name: &str, base: &str| {
        let base = if base.is_empty() { path } else { Path::new(base) };
        fragment(&tidied(&base.parent().unwrap_or(Path::new("")).join(name)))
    };
    Ok(match plan::expand(&own, &mut read) {
        Ok(included) => Ok(PlanText { text: included.text.clone(), included }),
        Err(faults) => {
            let named = |(file, fault): (Option<String>, Fault)| {
                (file.map_or_else(|| path.to_owned(), PathBuf::from), fault)
            };
            Err(faults.into_iter().map(named).collect())
        }
    })
}

/// A fragment's name from here on, and its text.
fn fragment(path: &Path) -> Result<(String, String), String> {
    let size = fs::metadata(path).map_err(|error| error.to_string())?.len();
    if size > LARGEST_PLAN {
        return Err(format!("a file of {size} octets, more than any fragment"));
    }
    let octets = fs::read(path).map_err(|error| error.to_string())?;
    let text = String::from_utf8(octets).map_err(|_| "no text in UTF-8".to_owned())?;
    Ok((path.display().to_string(), text))
}

/// The same path without `.` and, where that is sure, without `..`.
fn tidied(path: &Path) -> PathBuf {
    let mut whole = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir
                if matches!(whole.components().next_back(), Some(Component::Normal(_))) =>
            {
                whole.pop();
            }
            part => whole.push(part),
        }
    }
    whole
}

/// The text of the adapter's sheet at `path`.
///
/// # Errors
/// It cannot be read as text.
pub fn sheet_text(path: &Path) -> Result<String, Failure> {
    text(path, LARGEST_PLAN, "an adapter's sheet", "name a file like those in samples/adapters")
}

/// The text of the table at `path`.
///
/// # Errors
/// It cannot be read as text.
pub fn table_text(path: &Path) -> Result<String, Failure> {
    text(path, LARGEST_PLAN, "a table", "name a file in CSV, one joint a row")
}

/// The text of the certificate at `path`.
///
/// # Errors
/// It cannot be read as text.
pub fn certificate_text(path: &Path) -> Result<String, Failure> {
    let remedy = "name a file, for example one made with `clampbook adapter certificate --example`";
    text(path, LARGEST_PLAN, "a certificate", remedy)
}

/// The text of the file of values at `path`.
///
/// # Errors
/// It cannot be read as text.
pub fn values_text(path: &Path) -> Result<String, Failure> {
    let remedy = "name a file with one value a line, or - for standard input";
    text(path, LARGEST_PLAN, "a file of values", remedy)
}

/// The text of the JSON report at `path`.
///
/// # Errors
/// It cannot be read as text.
pub fn report_text(path: &Path) -> Result<String, Failure> {
    text(path, LARGEST_REPORT, "a JSON report", "name the file")
}

fn text(path: &Path, largest: u64, what: &str, remedy: &str) -> Result<String, Failure> {
    let shown = path.display();
    let unusable = |error: &std::io::Error| {
        Failure::Input(format!("{shown}: expected {what}, but found: {error}; {remedy}"))
    };
    let metadata = fs::metadata(path).map_err(|error| unusable(&error))?;
    if metadata.is_dir() {
        return Err(Failure::Input(format!(
            "{shown}: expected {what}, but found a directory; name the file in it"
        )));
    }
    if metadata.len() > largest {
        return Err(Failure::Input(format!(
            "{shown}: expected {what} of at most {} MiB, but found {} octets; name the right file",
            largest >> 20,
            metadata.len()
        )));
    }
    let octets = fs::read(path).map_err(|error| unusable(&error))?;
    utf8(&shown.to_string(), octets)
}

/// Octets as text, or the line where they stop being text.
///
/// # Errors
/// They are no UTF-8.
pub fn utf8(shown: &str, octets: Vec<u8>) -> Result<String, Failure> {
    String::from_utf8(octets).map_err(|error| {
        let before = &error.as_bytes()[..error.utf8_error().valid_up_to()];
        let line = before.iter().filter(|octet| **octet == b'\n').count() + 1;
        Failure::Input(format!(
            "{shown}:{line}: expected text in UTF-8, but found other octets; save it as UTF-8 text"
        ))
    })
}

/// A fault with the file's name in front, as editors understand it.
#[must_use]
pub fn named(path: &Path, fault: &Fault) -> String {
    format!("{}:{fault}", path.display())
}

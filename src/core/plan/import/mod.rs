//! A plan from a table: one joint a row, columns by name, every row's problem named.

mod columns;
mod row;

use crate::core::plan::fault::{Code, Complaint, Fault, Severity, short};
use crate::core::plan::import::columns::Columns;
use crate::core::plan::values_list::{Problem, top_value};
use crate::core::plan::{Made, parse};
use crate::core::units::TorqueUnit;
use std::collections::HashMap;
use toml_edit::{DocumentMut, Item, Table};

/// The most rows that are read: more joints than a plan may have.
const MOST_ROWS: usize = 600;

/// How a table is read.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ImportOptions {
    /// What the plan is called.
    pub name: String,
    /// Columns that are named otherwise: heading, and what it is.
    pub columns: Vec<(String, String)>,
    /// The unit of numbers that have none.
    pub unit: Option<TorqueUnit>,
    /// The tolerance of every joint that states none.
    pub tolerance: Option<String>,
    /// Where the values come from.
    pub source: Option<String>,
    /// The vehicle, in free text.
    pub vehicle: Option<String>,
}

/// Makes a plan of the table in `text`, which people know as `file`. Columns are separated by commas,
/// semicolons or tabs, whichever the headings have most of.
///
/// # Errors
/// Everything that is wrong, each with its line; no plan is made then.
pub fn import_csv(file: &str, text: &str, options: &ImportOptions) -> Result<Made, Vec<Problem>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut problems = Vec::new();
    let top = top(options, &mut problems);
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter(text))
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let headings: Vec<String> = match reader.headers() {
        Ok(headings) => headings.iter().map(str::to_owned).collect(),
        Err(error) => return Err(vec![unreadable(file, &error)]),
    };
    let columns = match Columns::read(&headings, &options.columns) {
        Ok(columns) => columns,
        Err(complaints) => {
            let place = format!("{file}:1");
            problems.extend(complaints.into_iter().map(|one| Problem::new(&place, one)));
            return Err(problems);
        }
    };
    let mut joints = Table::new();
    joints.set_implicit(true);
    let mut lines: HashMap<String, u64> = HashMap::new();
    for (index, record) in reader.records().enumerate() {
        if index >= MOST_ROWS {
            let message = format!("expected at most {MOST_ROWS} rows, but found more");
            let complaint = Complaint::new(Code::TooLarge, message, "split the table");
            problems.push(Problem::new(file, complaint));
            break;
        }
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                problems.push(unreadable(file, &error));
                continue;
            }
        };
        let line = record.position().map_or(0, csv::Position::line);
        if record.iter().all(str::is_empty) {
            continue;
        }
        let place = format!("{file}:{line}");
        let cells: Vec<&str> = record.iter().collect();
        match row::read(&columns, &cells, options.unit) {
            Ok(row) => {
                if let Some(first) = lines.get(&row.name) {
                    problems.push(Problem::new(&place, again(&row.name, *first)));
                    continue;
                }
                problems.extend(alone(&row, &top).into_iter().map(|fault| of(&place, fault)));
                lines.insert(row.name.clone(), line);
                joints.insert(&row.name, Item::Table(row.table));
            }
            Err(complaints) => {
                problems.extend(complaints.into_iter().map(|one| Problem::new(&place, one)));
            }
        }
    }
    if lines.is_empty() && problems.is_empty() {
        let complaint = Complaint::new(
            Code::Missing,
            "expected a row for each joint below the headings, but found none",
            "write one row a joint",
        );
        problems.push(Problem::new(file, complaint));
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    let mut document = top;
    document.insert("joints", Item::Table(joints));
    let text = document.to_string();
    match parse(&text) {
        Ok(found) => Ok(Made { text, file: found, remarks: columns.remarks() }),
        Err(faults) => Err(whole(file, &text, faults, &lines)),
    }
}

/// The lines above the joints.
fn top(options: &ImportOptions, problems: &mut Vec<Problem>) -> DocumentMut {
    let mut document = DocumentMut::new();
    document.insert("plan", toml_edit::value(options.name.trim()));
    let given = [
        ("vehicle", &options.vehicle),
        ("tolerance", &options.tolerance),
        ("source", &options.source),
    ];
    for (key, text) in given {
        let Some(text) = text else { continue };
        match top_value(key, text) {
            Ok(()) => drop(document.insert(key, toml_edit::value(text.trim()))),
            Err(complaint) => problems.push(Problem::new(&format!("--{key}"), complaint)),
        }
    }
    document
}

/// What is wrong with a joint by itself: names of other joints are looked at with the whole plan.
fn alone(row: &row::Row, top: &DocumentMut) -> Vec<Fault> {
    let mut document = top.clone();
    let mut table = row.table.clone();
    table.remove("after");
    let mut joints = Table::new();
    joints.set_implicit(true);
    joints.insert(&row.name, Item::Table(table));
    document.insert("joints", Item::Table(joints));
    let faults = parse(&document.to_string()).err().unwrap_or_default();
    let errors = faults.into_iter().filter(|fault| fault.severity == Severity::Error);
    errors.collect()
}

/// What is wrong with the plan as a whole, each put to the row of the joint that it stands in.
fn whole(file: &str, text: &str, faults: Vec<Fault>, lines: &HashMap<String, u64>) -> Vec<Problem> {
    let header = |line: &str| {
        let name = line.trim().strip_prefix("[joints.")?.strip_suffix(']')?;
        lines.get(name.trim_matches('"')).copied()
    };
    let errors = faults.into_iter().filter(|fault| fault.severity == Severity::Error);
    errors
        .map(|fault| {
            let row = text.lines().take(fault.line).filter_map(header).last();
            let place = row.map_or_else(|| file.to_owned(), |line| format!("{file}:{line}"));
            of(&place, fault)
        })
        .collect()
}

fn of(place: &str, fault: Fault) -> Problem {
    Problem { place: place.to_owned(), message: fault.message, remedy: fault.remedy }
}

fn again(name: &str, first: u64) -> Complaint {
    Complaint::new(
        Code::Duplicate,
        format!("expected each joint once, but found `{}` again, as in line {first}", short(name)),
        "write one row a joint and give its number of fasteners in a column `count`; or name the side",
    )
}

fn unreadable(file: &str, error: &csv::Error) -> Problem {
    let place = error
        .position()
        .map_or_else(|| file.to_owned(), |position| format!("{file}:{}", position.line()));
    let complaint = Complaint::new(
        Code::Syntax,
        "expected rows of cells in UTF-8, but found other octets",
        "save the table as CSV in UTF-8",
    );
    Problem::new(&place, complaint)
}

/// Comma, semicolon or tab, whichever the first line has most of outside quotes.
fn delimiter(text: &str) -> u8 {
    let first = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let count = |wanted: char| {
        let mut quoted = false;
        first
            .chars()
            .filter(|&c| {
                quoted ^= c == '"';
                c == wanted && !quoted
            })
            .count()
    };
    [(',', b','), (';', b';'), ('\t', b'\t')]
        .into_iter()
        .max_by_key(|(sign, _)| (count(*sign), *sign == ','))
        .map_or(b',', |(_, octet)| octet)
}

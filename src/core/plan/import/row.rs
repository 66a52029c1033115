//! One row of a table: one joint.

use crate::core::plan::fault::{Code, Complaint, short};
use crate::core::plan::figure::{Figure, unit_complaint};
use crate::core::plan::import::columns::Columns;
use crate::core::plan::names;
use crate::core::units::{TorqueUnit, parse_number, split_number};
use toml_edit::{Array, Table, value};

/// Texts that go into the plan as they are.
const TEXTS: [&str; 11] = [
    "title",
    "tolerance",
    "order",
    "socket",
    "drive",
    "thread",
    "class",
    "condition",
    "lubrication",
    "recheck",
    "source",
];

/// Lists: several entries of a cell are separated by semicolons or bars.
const LISTS: [&str; 4] = ["after", "single-use", "new-parts", "notes"];

/// A joint as its row says.
pub(super) struct Row {
    /// Its name in the plan.
    pub(super) name: String,
    /// What the row says of it.
    pub(super) table: Table,
}

/// Reads a row; everything that is wrong with it otherwise.
pub(super) fn read(
    columns: &Columns,
    cells: &[&str],
    fallback: Option<TorqueUnit>,
) -> Result<Row, Vec<Complaint>> {
    let mut complaints = Vec::new();
    let cell = |what: &str| columns.cell(what, cells).map(|(text, _)| text);
    if cells.iter().skip(columns.headed()).any(|cell| !cell.is_empty()) {
        complaints.push(Complaint::new(
            Code::Pattern,
            format!("expected {} cells, but found {}", columns.headed(), cells.len()),
            "put a cell that has the separator in it into double quotes",
        ));
    }
    let shown = cell("joint").unwrap_or_default();
    let name = names::tidy(shown);
    if name.is_empty() {
        complaints.push(Complaint::new(
            Code::Missing,
            "expected the name of a joint, but found none",
            "name it like `rear-left-wheel`",
        ));
    }
    let mut table = Table::new();
    if shown != name && cell("title").is_none() && !shown.is_empty() {
        table.insert("title", value(shown));
    }
    match shape(cell("count"), cell("pattern")) {
        Ok(Some((key, count))) => drop(table.insert(key, value(i64::from(count)))),
        Ok(None) => {}
        Err(complaint) => complaints.push(complaint),
    }
    match figure(columns, cells, fallback) {
        Ok(figure) => drop(table.insert("target", value(figure))),
        Err(complaint) => complaints.push(complaint),
    }
    if let Some(angle) = cell("angle") {
        let plain = angle.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ','));
        let angle = if plain { format!("{angle}°") } else { angle.to_owned() };
        let passes: Array = ["final".to_owned(), angle].into_iter().collect();
        table.insert("passes", value(passes));
    }
    for key in TEXTS {
        if let Some(text) = cell(key) {
            table.insert(key, value(text));
        }
    }
    if let Some(tool) = cell("hold-with") {
        table.insert("hold-with", value(tool));
    }
    for key in LISTS {
        let Some(text) = cell(key) else { continue };
        let parts = text.split([';', '|']).map(str::trim).filter(|part| !part.is_empty());
        let parts =
            parts.map(|part| if key == "after" { names::tidy(part) } else { part.to_owned() });
        table.insert(key, value(parts.collect::<Array>()));
    }
    if complaints.is_empty() { Ok(Row { name, table }) } else { Err(complaints) }
}

/// `ring` or `line`, and how many.
fn shape(
    count: Option<&str>,
    pattern: Option<&str>,
) -> Result<Option<(&'static str, u16)>, Complaint> {
    let count = match count {
        None => None,
        Some(text) => match text.parse::<u16>() {
            Ok(count @ 1..=64) => Some(count),
            _ => {
                return Err(Complaint::new(
                    Code::Pattern,
                    format!("expected 1 to 64 for `count`, but found `{}`", short(text)),
                    "count the fasteners of one ring or row; split a larger group",
                ));
            }
        },
    };
    let key = match pattern.map(names::tidy).as_deref() {
        Some("ring" | "circle") => "ring",
        None | Some("line" | "row" | "single" | "one") => "line",
        Some(_) => {
            return Err(Complaint::new(
                Code::Kind,
                format!(
                    "expected `ring` or `line` for `pattern`, but found `{}`",
                    short(pattern.unwrap_or_default())
                ),
                "`ring` for a circle, `line` for any other layout",
            ));
        }
    };
    Ok(count.filter(|count| *count > 1).map(|count| (key, count)))
}

/// The figure as a plan writes it, from target, least, most, unit and tolerance.
fn figure(
    columns: &Columns,
    cells: &[&str],
    fallback: Option<TorqueUnit>,
) -> Result<String, Complaint> {
    let of_row = match columns.cell("unit", cells) {
        Some((text, _)) => {
            Some(text.parse::<TorqueUnit>().map_err(|error| unit_complaint(&error.to_string()))?)
        }
        None => None,
    };
    let with_unit = |what: &str| {
        columns.cell(what, cells).map(|(text, of_heading)| {
            // A cell that makes sense by itself needs no unit from elsewhere.
            let unit = of_row.or(of_heading).or(fallback).filter(|_| Figure::parse(text).is_err());
            let with_unit = unit.map(|unit| format!("{text} {unit}"));
            with_unit.filter(|text| Figure::parse(text).is_ok()).unwrap_or_else(|| text.to_owned())
        })
    };
    let (target, least, most) = (with_unit("target"), with_unit("min"), with_unit("max"));
    match (target, least, most) {
        (None, None, None) => Ok("?".to_owned()),
        (Some(target), None, None) => Ok(target),
        (None, Some(least), None) => Ok(format!("min {least}")),
        (None, Some(least), Some(most)) => Ok(format!("{} to {most}", in_unit_of(&least, &most))),
        (Some(target), Some(least), Some(most)) => around(&target, &least, &most),
        (_, _, Some(most)) => Err(Complaint::new(
            Code::Figure,
            format!("expected a least torque beside the most, but found only `{}`", short(&most)),
            "fill `min`, too; the least is what makes a joint hold",
        )),
        (Some(target), Some(least), None) => Err(Complaint::new(
            Code::Figure,
            format!(
                "expected both `min` and `max` beside {}, but found only `{}`",
                short(&target),
                short(&least)
            ),
            "fill `max`, too; or leave the target out if only a least is published",
        )),
    }
}

/// The number alone where both ends have the same unit.
fn in_unit_of<'l>(least: &'l str, most: &str) -> &'l str {
    let ((number, unit), (_, other)) = (split_number(least), split_number(most));
    if unit == other { number } else { least }
}

/// A target with its limits as a tolerance.
fn around(target: &str, least: &str, most: &str) -> Result<String, Complaint> {
    let parts = [target, least, most].map(split_number);
    let numbers = parts.map(|(number, _)| parse_number(number).ok());
    let [(Some(value), unit), (Some(low), of_low), (Some(high), of_high)] =
        [0, 1, 2].map(|index: usize| (numbers[index], parts[index].1))
    else {
        return Err(unlike(target, least, most));
    };
    if unit != of_low || unit != of_high || low > value || high < value {
        return Err(unlike(target, least, most));
    }
    let rounded = |delta: f64| (delta * 1e9).round() / 1e9;
    Ok(format!("{target} +{}/-{} {unit}", rounded(high - value), rounded(value - low)))
}

fn unlike(target: &str, least: &str, most: &str) -> Complaint {
    Complaint::new(
        Code::Figure,
        format!(
            "expected a target between its limits, all in one unit, but found `{}`, `{}` and `{}`",
            short(least),
            short(target),
            short(most)
        ),
        "correct the row",
    )
}

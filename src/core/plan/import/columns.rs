//! Which column is what, by its heading.

use crate::core::plan::fault::{Code, Complaint, short};
use crate::core::plan::names;
use crate::core::units::TorqueUnit;

/// What a column may hold, and the headings that say so.
const KNOWN: [(&str, &[&str]); 24] = [
    ("joint", &["joint", "name", "fastener", "position", "location", "item"]),
    ("title", &["title"]),
    ("target", &["target", "torque", "value"]),
    ("unit", &["unit", "units"]),
    ("min", &["min", "minimum", "least", "low"]),
    ("max", &["max", "maximum", "most", "high"]),
    ("tolerance", &["tolerance", "tol"]),
    ("count", &["count", "n", "qty", "quantity", "number", "pieces"]),
    ("pattern", &["pattern", "layout"]),
    ("order", &["order", "sequence"]),
    ("angle", &["angle", "degrees"]),
    ("after", &["after"]),
    ("socket", &["socket"]),
    ("drive", &["drive"]),
    ("thread", &["thread", "size"]),
    ("class", &["class", "grade", "property-class"]),
    ("condition", &["condition"]),
    ("lubrication", &["lubrication"]),
    ("hold-with", &["hold-with"]),
    ("single-use", &["single-use", "used-once"]),
    ("new-parts", &["new-parts", "parts"]),
    ("recheck", &["recheck"]),
    ("source", &["source"]),
    ("notes", &["notes", "note", "remarks", "remark", "comment", "comments"]),
];

/// The columns of a table.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Columns {
    /// What each column is, with the unit that its heading names.
    all: Vec<Column>,
    /// Headings that mean nothing here.
    unread: Vec<String>,
    headed: usize,
}

#[derive(Debug, Clone, PartialEq)]
struct Column {
    index: usize,
    what: &'static str,
    unit: Option<TorqueUnit>,
}

impl Columns {
    /// Reads the headings. `renamed` says of headings what they are.
    pub(super) fn read(
        headings: &[String],
        renamed: &[(String, String)],
    ) -> Result<Self, Vec<Complaint>> {
        let mut columns = Self { all: Vec::new(), unread: Vec::new(), headed: headings.len() };
        let mut complaints = Vec::new();
        for (heading, _) in renamed {
            if !headings.iter().any(|known| same(known, heading)) {
                let known: Vec<String> = headings.iter().map(|name| names::tidy(name)).collect();
                let known: Vec<&str> = known.iter().map(String::as_str).collect();
                complaints.push(Complaint::new(
                    Code::Unresolved,
                    format!("expected a heading of the table, but found `{}`", short(heading)),
                    names::did_you_mean(heading, &known),
                ));
            }
        }
        for (index, heading) in headings.iter().enumerate() {
            let (bare, unit) = split_unit(heading);
            let renamed = renamed.iter().find(|(named, _)| same(named, heading));
            let wanted = renamed.map_or(bare, |(_, what)| what.as_str());
            match known(wanted) {
                Some(what) if columns.all.iter().any(|column| column.what == what) => {
                    complaints.push(Complaint::new(
                        Code::Duplicate,
                        format!(
                            "expected one column for `{what}`, but found `{}`, too",
                            short(heading)
                        ),
                        "rename one of them",
                    ));
                }
                Some(what) => columns.all.push(Column { index, what, unit }),
                None if renamed.is_some() => complaints.push(Complaint::new(
                    Code::UnknownKey,
                    format!("expected what a column can be, but found `{}`", short(wanted)),
                    names::did_you_mean(wanted, &KNOWN.map(|(what, _)| what)),
                )),
                None if heading.is_empty() => {}
                None => columns.unread.push(heading.clone()),
            }
        }
        if complaints.is_empty() && !columns.has("joint") {
            complaints.push(Complaint::new(
                Code::Missing,
                "expected a column with the names of the joints, but found none",
                "head it `joint`, or say which it is with `--column HEADING=joint`",
            ));
        }
        if complaints.is_empty() && !["target", "min"].iter().any(|what| columns.has(what)) {
            complaints.push(Complaint::new(
                Code::Missing,
                "expected a column with the torques, but found none",
                "head it `torque`, or say which it is with `--column HEADING=target`",
            ));
        }
        if complaints.is_empty() { Ok(columns) } else { Err(complaints) }
    }

    fn has(&self, what: &str) -> bool {
        self.all.iter().any(|column| column.what == what)
    }

    /// The cell that holds `what`, unless it is empty, with the unit that its heading names.
    pub(super) fn cell<'c>(
        &self,
        what: &str,
        cells: &[&'c str],
    ) -> Option<(&'c str, Option<TorqueUnit>)> {
        let column = self.all.iter().find(|column| column.what == what)?;
        let cell = *cells.get(column.index)?;
        (!cell.is_empty()).then_some((cell, column.unit))
    }

    /// How many headings there are.
    pub(super) const fn headed(&self) -> usize {
        self.headed
    }

    /// What was left unread.
    pub(super) fn remarks(&self) -> Vec<String> {
        let remark = |heading: &String| {
            format!(
                "column `{}` was not read; `--column \"{}=notes\"` keeps it as a note",
                short(heading),
                short(heading)
            )
        };
        self.unread.iter().map(remark).collect()
    }
}

/// `Torque (lbf·ft)` and `Torque [Nm]`: the heading and its unit.
fn split_unit(heading: &str) -> (&str, Option<TorqueUnit>) {
    let split = heading.find(['(', '[']).and_then(|at| {
        let unit = heading[at + 1..].trim_end_matches([')', ']', ' ']);
        Some((heading[..at].trim(), unit.parse().ok()?))
    });
    split.map_or((heading, None), |(bare, unit)| (bare, Some(unit)))
}

fn known(heading: &str) -> Option<&'static str> {
    let tidied = names::tidy(heading);
    KNOWN
        .iter()
        .find(|(what, words)| *what == tidied || words.contains(&tidied.as_str()))
        .map(|(what, _)| *what)
}

fn same(a: &str, b: &str) -> bool {
    names::tidy(a) == names::tidy(b)
}

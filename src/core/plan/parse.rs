//! From the text of a plan file to a [`Plan`], or to everything that is wrong with it.

use crate::core::plan::around::Around;
use crate::core::plan::fault::{Code, Complaint, Fault, Faults, Place, Severity, short};
use crate::core::plan::holds::Holds;
use crate::core::plan::joint::{self, Common, Joint};
use crate::core::plan::section::{Located, Section, Value, wrong_kind};
use crate::core::plan::tolerance::Tolerance;
use crate::core::plan::{Expect, Plan, Step, Vehicle, include, links, names, syntax, values, vin};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use toml::de::DeValue;

/// What applies where a plan names no tolerance, per cent.
pub const DEFAULT_TOLERANCE_PER_CENT: f64 = 10.0;

/// The keys at the top of the file.
pub(super) const KEYS: [&str; 14] = [
    "plan",
    "vehicle",
    "vin",
    "plate",
    "tolerance",
    "source",
    "in-order",
    "include",
    "holds",
    "joints",
    "opened",
    "put-in",
    "as-found",
    "closing",
];

/// A plan file that can be used.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanFile {
    /// The plan.
    pub plan: Plan,
    /// The vehicle it was written for.
    pub vehicle: Vehicle,
    /// SHA-256 of the text, lower-case hexadecimal.
    pub hash: String,
    /// Warnings and notes, in file order.
    pub faults: Vec<Fault>,
    /// Where each step of the plan is named, in plan order.
    pub places: Vec<Place>,
}

/// Reads the text of a plan file.
///
/// # Errors
/// Every fault of the text, in file order, warnings and notes among them, if at least one is an error.
pub fn parse(text: &str) -> Result<PlanFile, Vec<Fault>> {
    let visible = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut faults = Faults::new(visible);
    let read = read(visible, &mut faults);
    let places: Vec<Place> = read.iter().flat_map(|read| faults.places(&read.2)).collect();
    let faults = faults.finish();
    let failed = faults.iter().any(|fault| fault.severity == Severity::Error);
    match read {
        Some((plan, vehicle, _)) if !failed => {
            Ok(PlanFile { plan, vehicle, hash: hash(text), faults, places })
        }
        _ => Err(faults),
    }
}

/// The text in the octets of a plan file.
///
/// # Errors
/// The place where they stop being UTF-8: a file saved in an older encoding has it at its first `·` or `±`.
pub fn text(octets: &[u8]) -> Result<&str, Vec<Fault>> {
    std::str::from_utf8(octets).map_err(|error| {
        let (good, rest) = octets.split_at(error.valid_up_to());
        let good = std::str::from_utf8(good).unwrap_or_default();
        let found = rest.first().copied().unwrap_or_default();
        let mut faults = Faults::new(good);
        faults.error(
            good.len(),
            Complaint::new(
                Code::Text,
                format!("expected UTF-8 text, but found the octet 0x{found:02x}"),
                "save the file as UTF-8",
            ),
        );
        faults.finish()
    })
}

/// The plan, its vehicle, and where its steps are named.
fn read(text: &str, faults: &mut Faults<'_>) -> Option<(Plan, Vehicle, Vec<usize>)> {
    let table = syntax::table(text, faults)?;
    let whole = faults.is_empty();
    let top = Section::new(&table, "the plan");
    check_top_keys(&top, faults);
    let name = top.text("plan", faults).map(|name| name.value);
    if name.is_none() && whole && top.get("plan").is_none_or(is_blank) {
        missing("a name for the plan", "write `plan = \"Rear left corner\"` at the top", faults);
    }
    let vehicle = read_vehicle(&top, faults);
    let source = top.text("source", faults).map(|source| source.value);
    let tolerance = values::tolerance(&top, faults).map(|tolerance| tolerance.value);
    let in_order = top.flag("in-order", false, faults);
    let mut holds = Holds::read(top.get("holds"), faults);
    let common = Common {
        tolerance: tolerance.unwrap_or(Tolerance::per_cent(DEFAULT_TOLERANCE_PER_CENT)),
        source: source.as_deref(),
    };
    let (joints, unread) = read_joints(top.get("joints"), &common, &mut holds, whole, faults);
    let mut hold = |named: &Located<String>, faults: &mut Faults<'_>| {
        holds.resolve(std::slice::from_ref(named), faults).first().copied()
    };
    let around = Around::read(&top, &mut hold, faults);
    if let Some(include) = top.get("include") {
        faults.error(include.span().start, include::unresolved());
    }
    if unread.is_empty() {
        holds.warn_unused(faults);
    }
    warn_missing(&top, &joints, faults);
    let linked = links::link(joints, &unread, in_order, faults);
    let (steps, places): (Vec<Step>, Vec<usize>) = linked.into_iter().unzip();
    let plan =
        Plan { name: name?, in_order, holds: holds.list, steps, around, already_tight: false };
    (!plan.steps.is_empty()).then_some((plan, vehicle, places))
}

fn check_top_keys(top: &Section<'_, '_>, faults: &mut Faults<'_>) {
    for (key, value) in top.table {
        let name: &str = key.get_ref();
        if KEYS.contains(&name) {
            continue;
        }
        let looks_like_joint = match value.get_ref() {
            DeValue::Table(table) => table.contains_key("target") || table.contains_key("passes"),
            DeValue::String(text) => text.starts_with(|c: char| c.is_ascii_digit() || c == '?'),
            _ => false,
        };
        let remedy = if looks_like_joint && names::nearest(name, &KEYS).is_none() {
            match value.get_ref() {
                DeValue::Table(_) => format!("joints are named `[joints.{}]`", short(name)),
                _ => "joints go below the line `[joints]`".to_owned(),
            }
        } else {
            names::did_you_mean(name, &KEYS)
        };
        faults.error(
            key.span().start,
            Complaint::new(
                Code::UnknownKey,
                format!("expected a key of the plan, but found `{}`", short(name)),
                remedy,
            ),
        );
    }
}

fn read_vehicle(top: &Section<'_, '_>, faults: &mut Faults<'_>) -> Vehicle {
    let text = top.text("vehicle", faults).map(|text| text.value);
    let vin = top.text("vin", faults);
    if let Some(vin) = &vin
        && let Some(remark) = vin::remark(&vin.value)
    {
        faults.note(vin.at, remark);
    }
    let plate = top.text("plate", faults).map(|plate| plate.value);
    Vehicle { text, vin: vin.map(|vin| vin.value), plate }
}

/// The joints, and the names of those that could not be read.
fn read_joints(
    value: Option<&Value<'_>>,
    common: &Common<'_>,
    holds: &mut Holds,
    whole: bool,
    faults: &mut Faults<'_>,
) -> (Vec<Joint>, Vec<String>) {
    let (mut joints, mut unread) = (Vec::new(), Vec::new());
    let table = match value.map(|value| (value, value.get_ref())) {
        Some((_, DeValue::Table(table))) => Some(table),
        Some((value, _)) => {
            wrong_kind(value, "joints", "a table", "write `[joints]` on a line of its own", faults);
            return (joints, unread);
        }
        None => None,
    };
    if whole && table.is_none_or(toml::map::Map::is_empty) {
        missing(
            "at least one joint",
            "write `[joints]` and below it a line such as `hub-nut = \"228 N·m\"`",
            faults,
        );
    }
    let count = table.map_or(0, toml::map::Map::len);
    for (key, value) in table.into_iter().flatten().take(links::MOST_STEPS) {
        let (name, at): (&str, usize) = (key.get_ref(), key.span().start);
        let belongs_above = KEYS.contains(&name) && !value.get_ref().is_table();
        let named = if belongs_above {
            faults.error(
                at,
                Complaint::new(
                    Code::Name,
                    format!("expected the name of a joint below `[joints]`, but found `{name}`"),
                    format!(
                        "move `{name}` to the top of the file, above the first line in brackets"
                    ),
                ),
            );
            None
        } else {
            names::check(name).map_err(|complaint| faults.error(at, complaint)).ok()
        };
        let joint =
            if belongs_above { None } else { joint::read(name, at, value, common, holds, faults) };
        match (named, joint) {
            (Some(()), Some(joint)) => joints.push(joint),
            _ => unread.push(name.to_owned()),
        }
    }
    if let Some((key, _)) = table.into_iter().flatten().nth(links::MOST_STEPS) {
        faults.error(key.span().start, links::too_many(count));
    }
    (joints, unread)
}

fn warn_missing(top: &Section<'_, '_>, joints: &[Joint], faults: &mut Faults<'_>) {
    if top.get("tolerance").is_none() && joints.iter().any(|joint| joint.leans_on_tolerance) {
        faults.warning(
            0,
            Complaint::new(
                Code::Missing,
                "expected a tolerance for the plan, but found none",
                format!(
                    "±{DEFAULT_TOLERANCE_PER_CENT} % is taken; write `tolerance = \"±{DEFAULT_TOLERANCE_PER_CENT} %\"` at the top if that is meant"
                ),
            ),
        );
    }
    let has_value = |joint: &Joint| {
        joint.step.passes.iter().any(|pass| matches!(pass.expect, Expect::Window(_)))
    };
    if joints.iter().any(|joint| joint.step.source.is_none() && has_value(joint)) {
        faults.warning(
            0,
            Complaint::new(
                Code::NoSource,
                "expected where the values come from, but found no `source`",
                "write `source = \"workshop sheet 31-04\"` at the top",
            ),
        );
    }
}

fn is_blank(value: &Value<'_>) -> bool {
    value.get_ref().as_str().is_some_and(|text| text.trim().is_empty())
}

fn missing(what: &str, remedy: &str, faults: &mut Faults<'_>) {
    faults.error(
        0,
        Complaint::new(Code::Missing, format!("expected {what}, but found none"), remedy),
    );
}

fn hash(text: &str) -> String {
    let mut hex = String::with_capacity(64);
    for octet in Sha256::digest(text.as_bytes()) {
        let _ = write!(hex, "{octet:02x}");
    }
    hex
}

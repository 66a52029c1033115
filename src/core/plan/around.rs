//! What belongs to a job beside its joints: what is opened without a torque, what is put in for the time
//! being, what is noted as found, and what is done before it is closed.

use crate::core::plan::fault::{Code, Complaint, Faults, short};
use crate::core::plan::rules_read::choice;
use crate::core::plan::section::{self, Section, Value, wrong_kind};
use crate::core::plan::{measure, names};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use toml::de::DeValue;

/// The most items in one of these lists.
const MOST_ITEMS: usize = 100;

/// What belongs to a job beside its joints.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Around {
    /// What the job opens that has no torque: hoses, clips, connectors.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub opened: Vec<Item>,
    /// What is put in and must come out again: straps, wedges, temporary nuts, a support jack.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub temporary: Vec<Item>,
    /// What is asked before anything is opened.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub as_found: Vec<AsFound>,
    /// What is done after the work.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub closing: Vec<Closing>,
}

/// A thing by its name, and in words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Item {
    /// Its name.
    pub name: String,
    /// In words.
    pub text: String,
}

/// A fact that is noted before anything is opened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AsFound {
    /// Its name.
    pub name: String,
    /// What is asked.
    pub text: String,
    /// How far a length may differ when it is compared again, millimetres; none for what is no length.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub within_mm: Option<f64>,
    /// The hold at which it is compared, as an index into the plan's holds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub compared_at: Option<usize>,
}

/// Something that is done after the work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Closing {
    /// Its name.
    pub name: String,
    /// What is asked.
    pub text: String,
    /// Who does it.
    pub by: By,
}

/// Who does a closing item.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum By {
    /// Whoever did the work.
    #[default]
    Us,
    /// Somebody else, who may open joints again.
    Others,
}

pub(super) const BY: [(&str, By); 2] = [("us", By::Us), ("others", By::Others)];

impl Around {
    /// True if the plan says nothing of it.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Reads the four tables. `hold` finds the index of a hold and counts it as asked for.
    pub(super) fn read(
        top: &Section<'_, '_>,
        hold: &mut dyn FnMut(&section::Located<String>, &mut Faults<'_>) -> Option<usize>,
        faults: &mut Faults<'_>,
    ) -> Self {
        let items = |key: &str, faults: &mut Faults<'_>| -> Vec<Item> {
            let read = |name: &str, value: &Value<'_>, faults: &mut Faults<'_>| {
                let text = words(value, name, faults)?;
                Some(Item { name: name.to_owned(), text })
            };
            entries(top, key, faults, read)
        };
        Self {
            opened: items("opened", faults),
            temporary: items("put-in", faults),
            as_found: entries(top, "as-found", faults, |name, value, faults| {
                as_found(name, value, hold, faults)
            }),
            closing: entries(top, "closing", faults, closing),
        }
    }
}

/// Every entry of the table under `key` that makes sense.
fn entries<T>(
    top: &Section<'_, '_>,
    key: &str,
    faults: &mut Faults<'_>,
    mut read: impl FnMut(&str, &Value<'_>, &mut Faults<'_>) -> Option<T>,
) -> Vec<T> {
    let Some(value) = top.get(key) else { return Vec::new() };
    let DeValue::Table(table) = value.get_ref() else {
        let remedy = format!("write `[{key}]` on a line of its own");
        wrong_kind(value, key, "a table", &remedy, faults);
        return Vec::new();
    };
    if let Some((name, _)) = table.iter().nth(MOST_ITEMS) {
        let message =
            format!("expected at most {MOST_ITEMS} in `[{key}]`, but found {}", table.len());
        faults.error(name.span().start, Complaint::new(Code::TooLarge, message, "split the plan"));
    }
    let mut list = Vec::new();
    for (name, value) in table.iter().take(MOST_ITEMS) {
        match names::check(name.get_ref()) {
            Ok(()) => list.extend(read(name.get_ref(), value, faults)),
            Err(complaint) => faults.error(name.span().start, complaint),
        }
    }
    list
}

/// Text that is not empty.
fn words(value: &Value<'_>, name: &str, faults: &mut Faults<'_>) -> Option<String> {
    let text = section::text(value, name, faults)?;
    if text.value.is_empty() {
        let message = format!("expected words for `{}`, but found none", short(name));
        let remedy = "write what it is, or what is asked";
        faults.error(text.at, Complaint::new(Code::Missing, message, remedy));
        return None;
    }
    Some(text.value)
}

/// The text under `ask` of a table, or the text itself.
fn ask(value: &Value<'_>, name: &str, keys: &[&str], faults: &mut Faults<'_>) -> Option<String> {
    let DeValue::Table(table) = value.get_ref() else {
        return words(value, name, faults);
    };
    Section::new(table, format!("`{}`", short(name))).check_keys(keys, faults);
    match table.get("ask") {
        Some(ask) => words(ask, name, faults),
        None => {
            let message = format!("expected what `{}` asks, but found nothing", short(name));
            let remedy = "write the question, like `ask = \"Hub to arch?\"`";
            let complaint = Complaint::new(Code::Missing, message, remedy);
            faults.error(value.span().start, complaint);
            None
        }
    }
}

/// The question, or `{ ask = "Hub to arch?", within = "5 mm", hold = "ride-height" }`.
fn as_found(
    name: &str,
    value: &Value<'_>,
    hold: &mut dyn FnMut(&section::Located<String>, &mut Faults<'_>) -> Option<usize>,
    faults: &mut Faults<'_>,
) -> Option<AsFound> {
    let text = ask(value, name, &["ask", "within", "hold"], faults)?;
    let (mut within_mm, mut compared_at) = (None, None);
    if let DeValue::Table(table) = value.get_ref() {
        let section = Section::new(table, format!("`{}`", short(name)));
        if let Some(within) = section.text("within", faults) {
            within_mm = measure::millimetres(within.value.trim_start_matches(['±', ' ']))
                .map_err(|complaint| faults.error(within.at, complaint))
                .ok();
        }
        compared_at = section.text("hold", faults).and_then(|named| hold(&named, faults));
    }
    Some(AsFound { name: name.to_owned(), text, within_mm, compared_at })
}

/// The question, or `{ ask = "Alignment done?", by = "others" }`.
fn closing(name: &str, value: &Value<'_>, faults: &mut Faults<'_>) -> Option<Closing> {
    let text = ask(value, name, &["ask", "by"], faults)?;
    let by = match value.get_ref() {
        DeValue::Table(table) => {
            let section = Section::new(table, format!("`{}`", short(name)));
            choice(&section, "by", &BY, faults).unwrap_or_default()
        }
        _ => By::default(),
    };
    Some(Closing { name: name.to_owned(), text, by })
}

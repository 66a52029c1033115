//! The `[holds]` table: conditions that the operator confirms.

use crate::core::plan::fault::{Code, Complaint, Faults, short};
use crate::core::plan::section::{Located, Section, Value, wrong_kind};
use crate::core::plan::{Cure, Hold, names};
use toml::de::DeValue;

/// The most holds in a plan.
const MOST_HOLDS: usize = 200;

/// The holds of the file, and which of them something asks for.
pub(super) struct Holds {
    pub(super) list: Vec<Hold>,
    at: Vec<usize>,
    used: Vec<bool>,
    /// Names that were declared but could not be read: asking for them is no further fault.
    broken: Vec<String>,
}

impl Holds {
    pub(super) fn read(value: Option<&Value<'_>>, faults: &mut Faults<'_>) -> Self {
        let mut holds =
            Self { list: Vec::new(), at: Vec::new(), used: Vec::new(), broken: Vec::new() };
        let Some(value) = value else {
            return holds;
        };
        let DeValue::Table(table) = value.get_ref() else {
            wrong_kind(value, "holds", "a table", "write `[holds]` on a line of its own", faults);
            return holds;
        };
        if let Some((key, _)) = table.iter().nth(MOST_HOLDS) {
            faults.error(
                key.span().start,
                Complaint::new(
                    Code::TooLarge,
                    format!("expected at most {MOST_HOLDS} holds, but found {}", table.len()),
                    "split the plan",
                ),
            );
        }
        for (key, value) in table.iter().take(MOST_HOLDS) {
            let at = key.span().start;
            let name: &str = key.get_ref();
            let good = match names::check(name) {
                Ok(()) => true,
                Err(complaint) => {
                    faults.error(at, complaint);
                    false
                }
            };
            match read_one(name, value, faults) {
                Some((text, cure)) if good => {
                    holds.list.push(Hold { name: name.to_owned(), text, cure });
                    holds.at.push(at);
                    holds.used.push(false);
                }
                _ => holds.broken.push(name.to_owned()),
            }
        }
        holds
    }

    /// Indices of the holds with these names, each once.
    pub(super) fn resolve(
        &mut self,
        names: &[Located<String>],
        faults: &mut Faults<'_>,
    ) -> Vec<usize> {
        let mut found = Vec::new();
        for Located { value: name, at } in names {
            match self.list.iter().position(|hold| hold.name == *name) {
                Some(index) => {
                    self.used[index] = true;
                    if !found.contains(&index) {
                        found.push(index);
                    }
                }
                None if self.broken.contains(name) => {}
                None => {
                    let known: Vec<&str> =
                        self.list.iter().map(|hold| hold.name.as_str()).collect();
                    let remedy = if known.is_empty() {
                        format!(
                            "declare it: `[holds]` and below `{} = \"What is asked?\"`",
                            short(name)
                        )
                    } else {
                        names::did_you_mean(name, &known)
                    };
                    faults.error(
                        *at,
                        Complaint::new(
                            Code::Unresolved,
                            format!("expected a name from `[holds]`, but found `{}`", short(name)),
                            remedy,
                        ),
                    );
                }
            }
        }
        found
    }

    /// A warning for each hold that nothing asks for.
    pub(super) fn warn_unused(&self, faults: &mut Faults<'_>) {
        for ((hold, at), used) in self.list.iter().zip(&self.at).zip(&self.used) {
            if !used {
                faults.warning(
                    *at,
                    Complaint::new(
                        Code::Unused,
                        format!(
                            "expected a joint or a pass that asks for `{}`, but found none",
                            hold.name
                        ),
                        format!("add `hold = \"{}\"` to it, or remove the hold", hold.name),
                    ),
                );
            }
        }
    }
}

fn read_one(name: &str, value: &Value<'_>, faults: &mut Faults<'_>) -> Option<(String, Cure)> {
    let (ask, cure) = match value.get_ref() {
        DeValue::Table(table) => {
            let section = Section::new(table, format!("the hold `{}`", short(name)));
            section.check_keys(&["ask", "cure"], faults);
            let cure = section.text("cure", faults);
            let ask = section.text("ask", faults);
            (ask, read_cure(cure, faults))
        }
        _ => (super::section::text(value, name, faults), Cure::default()),
    };
    if section_is_silent(value) || ask.as_ref().is_some_and(|ask| ask.value.is_empty()) {
        faults.error(
            value.span().start,
            Complaint::new(
                Code::Missing,
                format!("expected what the hold `{}` asks, but found nothing", short(name)),
                "write the question, like `\"Faces clean and dry?\"`",
            ),
        );
        return None;
    }
    ask.map(|ask| (ask.value, cure))
}

/// A hold's table without an `ask`, or with an empty one.
fn section_is_silent(value: &Value<'_>) -> bool {
    match value.get_ref() {
        DeValue::Table(table) => match table.get("ask").map(toml::Spanned::get_ref) {
            None => true,
            Some(DeValue::String(ask)) => ask.trim().is_empty(),
            Some(_) => false,
        },
        _ => false,
    }
}

fn read_cure(cure: Option<Located<String>>, faults: &mut Faults<'_>) -> Cure {
    match cure.as_ref().map(|cure| (cure.at, cure.value.as_str())) {
        None => Cure::default(),
        Some((_, "slacken")) => Cure::Slacken,
        Some((_, "pull-again")) => Cure::PullAgain,
        Some((at, other)) => {
            faults.error(
                at,
                Complaint::new(
                    Code::Kind,
                    format!(
                        "expected `slacken` or `pull-again` for `cure`, but found `{}`",
                        short(other)
                    ),
                    "leave it out if a pull made too early must be slackened first",
                ),
            );
            Cure::default()
        }
    }
}

//! One table of the file, read key by key: each value is of the wanted kind, or a fault says so.

use crate::core::plan::fault::{Code, Complaint, Faults, is_unprintable, short};
use crate::core::plan::names;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A value and where it stands, octets from the start of the file.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Located<T> {
    pub(super) value: T,
    pub(super) at: usize,
}

/// A value of the file.
pub(super) type Value<'t> = Spanned<DeValue<'t>>;

/// A table of the file and what people call it.
pub(super) struct Section<'a, 't> {
    pub(super) table: &'a DeTable<'t>,
    pub(super) what: String,
}

impl<'a, 't> Section<'a, 't> {
    pub(super) fn new(table: &'a DeTable<'t>, what: impl Into<String>) -> Self {
        Self { table, what: what.into() }
    }

    /// A fault for each key that is not in `known`; true if there is none.
    pub(super) fn check_keys(&self, known: &[&str], faults: &mut Faults<'_>) -> bool {
        let mut all_known = true;
        for (key, _) in self.table {
            let name: &str = key.get_ref();
            if !known.contains(&name) {
                all_known = false;
                faults.error(
                    key.span().start,
                    Complaint::new(
                        Code::UnknownKey,
                        format!("expected a key of {}, but found `{}`", self.what, short(name)),
                        names::did_you_mean(name, known),
                    ),
                );
            }
        }
        all_known
    }

    pub(super) fn get(&self, key: &str) -> Option<&'a Value<'t>> {
        self.table.get(key)
    }

    /// Text of one line, trimmed; nothing if it is absent, empty or no text.
    pub(super) fn text(&self, key: &str, faults: &mut Faults<'_>) -> Option<Located<String>> {
        let located = text(self.get(key)?, key, faults)?;
        (!located.value.is_empty()).then_some(located)
    }

    /// Text alone, or a list of text.
    pub(super) fn texts(&self, key: &str, faults: &mut Faults<'_>) -> Vec<Located<String>> {
        match self.get(key) {
            None => Vec::new(),
            Some(value) => match value.get_ref() {
                DeValue::Array(items) => {
                    items.iter().filter_map(|item| text(item, key, faults)).collect()
                }
                _ => text(value, key, faults).into_iter().collect(),
            },
        }
    }

    pub(super) fn flag(&self, key: &str, default: bool, faults: &mut Faults<'_>) -> bool {
        match self.get(key).map(|value| (value, value.get_ref())) {
            None => default,
            Some((_, DeValue::Boolean(flag))) => *flag,
            Some((value, _)) => {
                wrong_kind(
                    value,
                    key,
                    "true or false",
                    "write true or false, without quotes",
                    faults,
                );
                default
            }
        }
    }

    /// A whole number from 1 to `most`.
    pub(super) fn count(
        &self,
        key: &str,
        most: u16,
        faults: &mut Faults<'_>,
    ) -> Option<Located<u16>> {
        let value = self.get(key)?;
        let DeValue::Integer(integer) = value.get_ref() else {
            wrong_kind(value, key, "a whole number", "write it without quotes, like 6", faults);
            return None;
        };
        let at = value.span().start;
        match u16::from_str_radix(integer.as_str(), integer.radix()) {
            Ok(count) if (1..=most).contains(&count) => Some(Located { value: count, at }),
            _ => {
                faults.error(
                    at,
                    Complaint::new(
                        Code::Pattern,
                        format!(
                            "expected 1 to {most} in `{key}`, but found {}",
                            short(integer.as_str())
                        ),
                        "count the fasteners of one ring or row; split a larger group",
                    ),
                );
                None
            }
        }
    }
}

/// Text of one line, trimmed; nothing but a fault if it is no text.
pub(super) fn text(
    value: &Value<'_>,
    key: &str,
    faults: &mut Faults<'_>,
) -> Option<Located<String>> {
    let DeValue::String(found) = value.get_ref() else {
        wrong_kind(value, key, "text", "put it in double quotes", faults);
        return None;
    };
    let at = value.span().start;
    if found.trim().chars().any(is_unprintable) {
        faults.error(
            at,
            Complaint::new(
                Code::Text,
                format!(
                    "expected one line of plain text in `{}`, but found a control character",
                    short(key)
                ),
                "write it again by hand, on one line",
            ),
        );
        return None;
    }
    Some(Located { value: found.trim().to_owned(), at })
}

/// A fault for a value of another kind.
pub(super) fn wrong_kind(
    value: &Value<'_>,
    key: &str,
    expected: &str,
    remedy: &str,
    faults: &mut Faults<'_>,
) {
    let found = describe(value, faults);
    faults.error(
        value.span().start,
        Complaint::new(
            Code::Kind,
            format!("expected {expected} for `{}`, but found {found}", short(key)),
            remedy,
        ),
    );
}

/// A value in words.
pub(super) fn describe(value: &Value<'_>, faults: &Faults<'_>) -> String {
    let Range { start, end } = value.span();
    match value.get_ref() {
        DeValue::String(text) => format!("the text `{}`", short(text)),
        DeValue::Integer(_) | DeValue::Float(_) => {
            format!("the number {}", faults.excerpt(start..end))
        }
        DeValue::Boolean(flag) => flag.to_string(),
        DeValue::Datetime(_) => "a date".to_owned(),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    }
}

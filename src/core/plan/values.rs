//! Figures, tolerances and orders, read out of a section.

use crate::core::plan::fault::{Code, Complaint, Faults, short};
use crate::core::plan::figure::Figure;
use crate::core::plan::order::parse_order;
use crate::core::plan::section::{self, Located, Section, Value, wrong_kind};
use crate::core::plan::tolerance::Tolerance;
use toml::de::DeValue;

/// A figure, or a fault that says why not.
pub(super) fn figure(
    value: &Value<'_>,
    key: &str,
    faults: &mut Faults<'_>,
) -> Option<Located<Figure>> {
    let at = value.span().start;
    if let DeValue::Integer(_) | DeValue::Float(_) = value.get_ref() {
        let found = section::describe(value, faults);
        let number = faults.excerpt(value.span());
        faults.error(
            at,
            Complaint::new(
                Code::Kind,
                format!("expected a torque with its unit for `{}`, but found {found}", short(key)),
                format!("write it with its unit and in quotes, like `\"{number} N·m\"`"),
            ),
        );
        return None;
    }
    let text = section::text(value, key, faults)?;
    match Figure::parse(&text.value) {
        Ok(value) => Some(Located { value, at }),
        Err(complaint) => {
            faults.error(at, complaint);
            None
        }
    }
}

/// The section's `tolerance`.
pub(super) fn tolerance(
    section: &Section<'_, '_>,
    faults: &mut Faults<'_>,
) -> Option<Located<Tolerance>> {
    let text = section::text(section.get("tolerance")?, "tolerance", faults)?;
    match Tolerance::parse(&text.value) {
        Ok(value) => Some(Located { value, at: text.at }),
        Err(complaint) => {
            faults.error(text.at, complaint);
            None
        }
    }
}

/// The section's `order`, as text or as a list of numbers; not looked at without a count of members.
pub(super) fn order(
    section: &Section<'_, '_>,
    members: Option<u16>,
    faults: &mut Faults<'_>,
) -> Option<Located<Vec<u16>>> {
    let members = members?;
    let value = section.get("order")?;
    let at = value.span().start;
    let text = match value.get_ref() {
        DeValue::Array(items) => {
            let mut numbers = Vec::new();
            for item in items {
                let DeValue::Integer(number) = item.get_ref() else {
                    wrong_kind(item, "order", "whole numbers", "write it like \"1-3-2-4\"", faults);
                    return None;
                };
                numbers.push(number.as_str());
            }
            numbers.join(" ")
        }
        _ => section::text(value, "order", faults)?.value,
    };
    match parse_order(&text, members) {
        Ok(value) => Some(Located { value, at }),
        Err(complaint) => {
            faults.error(at, complaint);
            None
        }
    }
}

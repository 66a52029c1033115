//! Lengths, angles and times of a plan: `50 mm`, `2 in`, `90°`, `10 min`.

use crate::core::plan::fault::{Code, Complaint, short};
use crate::core::units::{parse_number, split_number};

/// A length in millimetres.
pub(super) fn millimetres(text: &str) -> Result<f64, Complaint> {
    read(text, "a length", "write it like `50 mm` or `2 in`", |unit| match unit {
        "mm" => Some(1.0),
        "cm" => Some(10.0),
        "in" | "\"" | "″" => Some(25.4),
        _ => None,
    })
}

/// An angle in degrees.
pub(super) fn degrees(text: &str) -> Result<f64, Complaint> {
    read(text, "an angle", "write it like `90°`", |unit| match unit {
        "°" | "deg" | "degrees" | "degree" => Some(1.0),
        "turn" | "turns" => Some(360.0),
        _ => None,
    })
}

/// A time in minutes.
pub(super) fn minutes(text: &str) -> Result<f64, Complaint> {
    read(text, "a time", "write it like `10 min`", |unit| match unit {
        "min" | "minutes" | "minute" => Some(1.0),
        "h" | "hours" | "hour" => Some(60.0),
        _ => None,
    })
}

fn read(
    text: &str,
    what: &str,
    remedy: &str,
    factor: impl Fn(&str) -> Option<f64>,
) -> Result<f64, Complaint> {
    let (number, unit) = split_number(text);
    let zero = number.chars().all(|c| matches!(c, '0' | '.' | ',')) && number.contains('0');
    let value = if zero { Some(0.0) } else { parse_number(number).ok() };
    value.zip(factor(&unit.to_lowercase())).map(|(value, factor)| value * factor).ok_or_else(|| {
        let message = format!("expected {what} with its unit, but found `{}`", short(text));
        Complaint::new(Code::Measure, message, remedy)
    })
}

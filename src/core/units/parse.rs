//! Torque from text, as people in workshops write it.
//!
//! Forgiving about case, spaces and the sign between force and length. Strict where a guess could
//! change the torque: a bare pound or kilogram, a millinewton, a joule, a comma that may separate
//! thousands.

use crate::core::units::{StatedTorque, TorqueUnit};
use std::str::FromStr;
use thiserror::Error;

/// Why a text is no torque.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum UnitError {
    /// There is no number in front.
    #[error("expected a number and a unit, but found `{0}`; write it like `228 N·m`")]
    NoNumber(String),
    /// A comma that may separate thousands or be a decimal sign.
    #[error("expected a plain number, but found `{0}`, which reads two ways; write `{1}` or `{2}`")]
    TwoReadings(String, String, String),
    /// Digits that make no number.
    #[error("expected a plain number, but found `{0}`; write it like `102.5`")]
    BadNumber(String),
    /// Zero or less.
    #[error(
        "expected more than zero, but found `{0}`; a torque is stated without a sign, whichever way the thread turns"
    )]
    NotPositive(String),
    /// A number alone.
    #[error(
        "expected a unit after `{0}`, but found none; write it like `{0} N·m`, or use lbf·ft, lbf·in, ozf·in, kgf·m or kgf·cm"
    )]
    NoUnit(String),
    /// Reads as millinewton.
    #[error("expected a torque unit, but found `{0}`, which reads as millinewton; write `N·m`")]
    Millinewton(String),
    /// A unit of energy.
    #[error("expected a torque unit, but found `{0}`, which measures energy; write `N·m`")]
    Energy(String),
    /// A pound without its lever.
    #[error(
        "expected a torque unit, but found `{0}`, which may mean foot or inch; write `lbf·ft` or `lbf·in`"
    )]
    BarePound(String),
    /// A kilogram without its lever.
    #[error(
        "expected a torque unit, but found `{0}`, which has no length; write `kgf·m` or `kgf·cm`"
    )]
    BareKilogram(String),
    /// Anything else.
    #[error(
        "expected a torque unit, but found `{0}`; use N·m, lbf·ft, lbf·in, ozf·in, kgf·m or kgf·cm"
    )]
    Unknown(String),
}

impl FromStr for TorqueUnit {
    type Err = UnitError;

    fn from_str(text: &str) -> Result<Self, UnitError> {
        let shown = || text.trim().to_owned();
        let bare: String = text.chars().filter(|c| !c.is_whitespace() && !is_joiner(*c)).collect();
        if bare.starts_with('m') && bare.eq_ignore_ascii_case("mn") {
            return Err(UnitError::Millinewton(shown()));
        }
        Ok(match bare.to_lowercase().as_str() {
            "nm" | "newtonmetre" | "newtonmetres" | "newtonmeter" | "newtonmeters" => {
                Self::NewtonMetre
            }
            "lbft" | "lbfft" | "lbsft" | "lbsfft" | "ftlb" | "ftlbs" | "ftlbf" | "ftlbsf"
            | "footpound" | "footpounds" | "poundfoot" | "poundfeet" | "poundsfeet" => {
                Self::PoundForceFoot
            }
            "lbin" | "lbfin" | "lbsin" | "lbsfin" | "inlb" | "inlbs" | "inlbf" | "inlbsf"
            | "inchpound" | "inchpounds" | "poundinch" | "poundinches" | "poundsinches" => {
                Self::PoundForceInch
            }
            "kgm" | "kgfm" | "kpm" | "mkg" | "mkgf" | "mkp" => Self::KilogramForceMetre,
            "kgcm" | "kgfcm" | "kpcm" | "cmkg" | "cmkgf" | "cmkp" => Self::KilogramForceCentimetre,
            "ozin" | "ozfin" | "inoz" | "inozf" | "ounceinch" | "ounceinches" | "inchounces" => {
                Self::OunceForceInch
            }
            "mn" => return Err(UnitError::Millinewton(shown())),
            "j" | "joule" | "joules" => return Err(UnitError::Energy(shown())),
            "lb" | "lbs" | "lbf" | "lbsf" | "pound" | "pounds" | "#" => {
                return Err(UnitError::BarePound(shown()));
            }
            "kg" | "kgf" | "kp" | "kgs" | "kilogram" | "kilograms" => {
                return Err(UnitError::BareKilogram(shown()));
            }
            _ => return Err(UnitError::Unknown(shown())),
        })
    }
}

impl FromStr for StatedTorque {
    type Err = UnitError;

    fn from_str(text: &str) -> Result<Self, UnitError> {
        let (number, unit) = split_number(text);
        if number.is_empty() {
            return Err(UnitError::NoNumber(text.trim().to_owned()));
        }
        let value = parse_number(number)?;
        if unit.is_empty() {
            return Err(UnitError::NoUnit(number.to_owned()));
        }
        Ok(Self { value, unit: unit.parse()? })
    }
}

/// Splits a text into the number it starts with and the rest, both trimmed.
pub(in crate::core) fn split_number(text: &str) -> (&str, &str) {
    let text = text.trim();
    let end = text
        .char_indices()
        .find(|(index, c)| {
            !(c.is_ascii_digit()
                || matches!(c, ',' | '\'')
                || (*c == '.' && text[index + 1..].starts_with(|next: char| next.is_ascii_digit()))
                || (*index == 0 && matches!(c, '+' | '-' | '−')))
        })
        .map_or(text.len(), |(index, _)| index);
    let (number, rest) = text.split_at(end);
    (number, rest.trim_start())
}

/// A positive decimal number with a point or a comma.
pub(in crate::core) fn parse_number(text: &str) -> Result<f64, UnitError> {
    let bad = || UnitError::BadNumber(text.to_owned());
    if let Some((whole, fraction)) = text.split_once(',')
        && fraction.len() == 3
        && (1..=3).contains(&whole.len())
        && !whole.starts_with('0')
        && whole.chars().chain(fraction.chars()).all(|c| c.is_ascii_digit())
    {
        return Err(UnitError::TwoReadings(
            text.to_owned(),
            format!("{whole}{fraction}"),
            format!("{whole}.{fraction}"),
        ));
    }
    let plain = text.replacen(',', ".", 1).replacen('−', "-", 1);
    let digits = plain.strip_prefix(['+', '-']).unwrap_or(&plain);
    if digits.is_empty()
        || digits.ends_with('.')
        || digits.chars().any(|c| !(c.is_ascii_digit() || c == '.'))
    {
        return Err(bad());
    }
    let value: f64 = plain.parse().map_err(|_| bad())?;
    if !value.is_finite() {
        return Err(bad());
    }
    if value <= 0.0 {
        return Err(UnitError::NotPositive(text.to_owned()));
    }
    Ok(value)
}

/// Signs that people put between force and length.
const fn is_joiner(c: char) -> bool {
    matches!(c, '·' | '⋅' | '•' | '∙' | '×' | '*' | '.' | '-' | '‐' | '‑' | '–')
}

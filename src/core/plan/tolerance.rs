//! Tolerances: `±10 %`, `±5 N·m`, `+5/-0 N·m`, `+10/-5 %`.

use crate::core::plan::fault::{Code, Complaint, short};
use crate::core::plan::figure::unit_complaint;
use crate::core::units::{StatedTorque, TorqueUnit};

/// How far above and below a target still counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tolerance {
    plus: f64,
    minus: f64,
    of: Of,
}

/// What the numbers of a [`Tolerance`] count.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Of {
    PerCent,
    Unit(TorqueUnit),
}

impl Tolerance {
    /// `per_cent` up and down.
    pub(super) const fn per_cent(per_cent: f64) -> Self {
        Self { plus: per_cent, minus: per_cent, of: Of::PerCent }
    }

    /// Its unit, unless it is a share.
    pub(super) const fn unit(&self) -> Option<TorqueUnit> {
        match self.of {
            Of::PerCent => None,
            Of::Unit(unit) => Some(unit),
        }
    }

    /// The share, per cent, if it is one and the same up and down.
    pub(super) fn symmetric_per_cent(&self) -> Option<f64> {
        (self.of == Of::PerCent && self.plus == self.minus).then_some(self.plus)
    }

    /// Lower and upper limit around `stated`, in the unit of `stated`.
    pub(super) fn limits(&self, stated: &StatedTorque) -> (f64, f64) {
        let delta = |amount: f64| match self.of {
            Of::PerCent => stated.value * amount / 100.0,
            Of::Unit(unit) => amount * unit.newton_metres() / stated.unit.newton_metres(),
        };
        (stated.value - delta(self.minus), stated.value + delta(self.plus))
    }

    /// Reads a tolerance.
    pub(super) fn parse(text: &str) -> Result<Self, Complaint> {
        let unreadable = || {
            Complaint::new(
                Code::Tolerance,
                format!("expected a tolerance, but found `{}`", short(text)),
                "write it like `±10 %` or `+5/-0 N·m`",
            )
        };
        let plain = text
            .replace('−', "-")
            .replace("+/-", "±")
            .replace("+-", "±")
            .replace(" /", "/")
            .replace("/ ", "/");
        let plain = plain.trim();
        let (sign, rest) = match plain.chars().next() {
            Some(sign @ ('±' | '+' | '-')) => (sign, plain[sign.len_utf8()..].trim_start()),
            Some(digit) if digit.is_ascii_digit() && plain.ends_with('%') => ('±', plain),
            _ => return Err(unreadable()),
        };
        let (first, rest) = number(rest).ok_or_else(unreadable)?;
        let (plus, minus, unit) = if sign == '±' {
            (first, first, rest)
        } else {
            let other = if sign == '+' { '-' } else { '+' };
            let start = rest.find(other).ok_or_else(|| {
                Complaint::new(
                    Code::Tolerance,
                    format!("expected both sides, but found only `{}`", short(text)),
                    "write the other side too, if only as zero: `+5/-0 N·m`",
                )
            })?;
            let between = rest[..start].trim().trim_end_matches('/').trim();
            let (second, unit) = number(rest[start + 1..].trim_start()).ok_or_else(unreadable)?;
            if !between.is_empty() && between != unit {
                return Err(unreadable());
            }
            if sign == '+' { (first, second, unit) } else { (second, first, unit) }
        };
        let of = match unit {
            "%" => Of::PerCent,
            "" => {
                return Err(Complaint::new(
                    Code::Tolerance,
                    format!(
                        "expected `%` or a unit behind the tolerance, but found `{}`",
                        short(text)
                    ),
                    "write it like `±10 %` or `±5 N·m`",
                ));
            }
            unit => Of::Unit(unit.parse().map_err(|error: crate::core::units::UnitError| {
                Complaint { code: Code::Tolerance, ..unit_complaint(&error.to_string()) }
            })?),
        };
        Self { plus, minus, of }.checked(text)
    }

    fn checked(self, text: &str) -> Result<Self, Complaint> {
        let complaint = |expected: &str, remedy: &str| {
            let message = format!("expected {expected}, but found `{}`", short(text));
            Err(Complaint::new(Code::Tolerance, message, remedy))
        };
        if self.plus + self.minus <= 0.0 {
            return complaint(
                "a window that a hand can hit",
                "give at least one side more than zero",
            );
        }
        if self.of == Of::PerCent && (self.minus >= 100.0 || self.plus > 100.0) {
            return complaint("less than 100 %", "give a smaller tolerance");
        }
        Ok(self)
    }
}

/// A number of zero or more, and what follows it.
fn number(text: &str) -> Option<(f64, &str)> {
    let (number, rest) = crate::core::units::split_number(text);
    if number.is_empty() || number.starts_with(['+', '-']) {
        return None;
    }
    let value: f64 = number.replacen(',', ".", 1).parse().ok()?;
    (value.is_finite() && value >= 0.0).then_some((value, rest))
}

//! When fasteners are to be pulled again, as a plan states it: `80 km`, `80 km, 14 days`, `none`.

use crate::core::plan::fault::{Code, Complaint, Faults, short};
use crate::core::plan::section::Section;
use crate::core::units::{parse_number, split_number};
use serde::{Deserialize, Serialize};
use std::fmt;

/// Kilometres in a mile (international yard and pound agreement of 1959: exactly 1.609344).
const KM_IN_MILE: f64 = 1.609_344;
/// Nobody drives further before looking at a wheel.
const LARGEST_KM: f64 = 100_000.0;
/// Nor waits longer.
const LARGEST_DAYS: f64 = 3650.0;

/// When fasteners are to be pulled again: after a distance, after a time, whichever comes first. Neither:
/// not at all.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Recheck {
    /// After so many kilometres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub km: Option<f64>,
    /// After so many days.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub days: Option<u16>,
}

impl Recheck {
    /// Never.
    pub const NONE: Self = Self { km: None, days: None };

    /// True if there is nothing to be done.
    #[must_use]
    pub fn is_none(&self) -> bool {
        *self == Self::NONE
    }
}

impl fmt::Display for Recheck {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.km, self.days) {
            (None, None) => f.write_str("none"),
            (Some(km), None) => write!(f, "{} km", rounded(km)),
            (None, Some(days)) => write!(f, "{}", day_text(days)),
            (Some(km), Some(days)) => write!(f, "{} km, {}", rounded(km), day_text(days)),
        }
    }
}

/// The section's `recheck`.
pub(super) fn read(section: &Section<'_, '_>, faults: &mut Faults<'_>) -> Option<Recheck> {
    let text = section.text("recheck", faults)?;
    match parse(&text.value) {
        Ok(recheck) => Some(recheck),
        Err(complaint) => {
            faults.error(text.at, complaint);
            None
        }
    }
}

fn parse(text: &str) -> Result<Recheck, Complaint> {
    if text.eq_ignore_ascii_case("none") {
        return Ok(Recheck::NONE);
    }
    let mut recheck = Recheck::NONE;
    let spaced = text.replace(" or ", ",").replace(" and ", ",");
    for part in spaced.split(',') {
        let part = part.trim();
        let (number, unit) = split_number(part);
        let value = parse_number(number).map_err(|_| unreadable(text))?;
        let unit = unit.trim().to_lowercase();
        let (distance, time) = match unit.as_str() {
            "km" => (Some(value), None),
            "mi" | "mile" | "miles" => (Some(value * KM_IN_MILE), None),
            "day" | "days" => (None, Some(value)),
            "week" | "weeks" => (None, Some(value * 7.0)),
            _ => return Err(unreadable(text)),
        };
        match (distance, time) {
            (Some(km), _) if recheck.km.is_none() && 0.0 < km && km <= LARGEST_KM => {
                recheck.km = Some(km);
            }
            (_, Some(days)) if recheck.days.is_none() && (1.0..=LARGEST_DAYS).contains(&days) => {
                recheck.days = Some(days.round() as u16);
            }
            _ => return Err(unreadable(text)),
        }
    }
    Ok(recheck)
}

fn unreadable(text: &str) -> Complaint {
    Complaint::new(
        Code::Recheck,
        format!("expected a distance and a time for `recheck`, but found `{}`", short(text)),
        "write it like `80 km`, `50 mi`, `80 km, 14 days`, or `none`",
    )
}

fn rounded(km: f64) -> f64 {
    (km * 10.0).round() / 10.0
}

fn day_text(days: u16) -> String {
    match days {
        1 => "1 day".to_owned(),
        _ => format!("{days} days"),
    }
}

#[cfg(test)]
mod tests {
    use super::{Recheck, parse};

    #[track_caller]
    fn check(text: &str, km: Option<f64>, days: Option<u16>) {
        assert_eq!(parse(text).unwrap(), Recheck { km, days }, "{text}");
    }

    #[test]
    fn distances_and_times_are_read_in_any_order() {
        check("80 km", Some(80.0), None);
        check("50 mi", Some(80.4672), None);
        check("14 days, 80 km", Some(80.0), Some(14));
        check("80 km or 2 weeks", Some(80.0), Some(14));
        check("none", None, None);
        for nonsense in ["", "80", "80 N·m", "80 km, 90 km", "0 km", "0 days", "soon", "-5 km"] {
            assert!(parse(nonsense).is_err(), "{nonsense}");
        }
    }

    #[test]
    fn it_reads_back_as_it_is_written() {
        for text in ["80 km", "80 km, 14 days", "1 day", "none", "80.5 km"] {
            assert_eq!(parse(text).unwrap().to_string(), text);
        }
    }
}

//! A distance and a time, as a plan states when fasteners are to be pulled again: `80 km, 14 days`.

use crate::core::units::{parse_number, split_number};
use serde::{Deserialize, Serialize};
use std::fmt;

/// Kilometres in a mile (international yard and pound agreement of 1959: exactly 1.609344).
const KM_IN_MILE: f64 = 1.609_344;
/// Nobody drives further before looking at a wheel.
const LARGEST_KM: f64 = 100_000.0;
/// Nor waits longer.
const LARGEST_DAYS: f64 = 3650.0;

/// A distance, a time, whichever comes first. Neither: nothing is stated.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Interval {
    /// After so many kilometres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub km: Option<f64>,
    /// After so many days.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub days: Option<u16>,
}

impl Interval {
    /// The first distance and the first time in a text for people: `cold, after 80 km or 2 weeks`.
    #[must_use]
    pub fn in_words(text: &str) -> Self {
        let words: Vec<&str> =
            text.split([' ', ',', ';']).filter(|word| !word.is_empty()).collect();
        let mut found = Self::default();
        for (place, word) in words.iter().enumerate() {
            let (number, attached) = split_number(word);
            let Ok(value) = parse_number(number) else { continue };
            let unit = match attached.trim() {
                "" => words.get(place + 1).copied().unwrap_or_default(),
                attached => attached,
            };
            found.take(value, &unit.to_lowercase());
        }
        found
    }

    /// True if neither is stated.
    #[must_use]
    pub fn is_none(&self) -> bool {
        *self == Self::default()
    }

    fn take(&mut self, value: f64, unit: &str) {
        let (km, days) = match unit {
            "km" => (Some(value), None),
            "mi" | "mile" | "miles" => (Some(value * KM_IN_MILE), None),
            "day" | "days" => (None, Some(value)),
            "week" | "weeks" => (None, Some(value * 7.0)),
            _ => return,
        };
        let km = km.filter(|km| 0.0 < *km && *km <= LARGEST_KM);
        let days = days.filter(|days| (1.0..=LARGEST_DAYS).contains(days));
        self.km = self.km.or(km);
        self.days = self.days.or(days.map(|days| days.round() as u16));
    }
}

impl fmt::Display for Interval {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.km, self.days) {
            (None, None) => f.write_str("not stated"),
            (Some(km), None) => write!(f, "{} km", rounded(km)),
            (None, Some(days)) => write!(f, "{}", day_text(days)),
            (Some(km), Some(days)) => write!(f, "{} km, {}", rounded(km), day_text(days)),
        }
    }
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
    use super::Interval;

    #[track_caller]
    fn check(text: &str, km: Option<f64>, days: Option<u16>) {
        assert_eq!(Interval::in_words(text), Interval { km, days }, "{text}");
    }

    #[test]
    fn distances_and_times_are_read_in_any_order() {
        check("80 km", Some(80.0), None);
        check("50 mi", Some(80.4672), None);
        check("14 days, 80km", Some(80.0), Some(14));
        check("cold, after 80 km or 2 weeks", Some(80.0), Some(14));
        check("80 km, then at 500 km", Some(80.0), None);
        for nothing in ["", "80", "80 N·m", "0 km", "0 days", "soon", "-5 km", "1e9 km", "km 80"] {
            check(nothing, None, None);
        }
    }

    #[test]
    fn it_reads_back_as_it_is_written() {
        for text in ["80 km", "80 km, 14 days", "1 day", "80.5 km"] {
            assert_eq!(Interval::in_words(text).to_string(), text);
        }
    }
}

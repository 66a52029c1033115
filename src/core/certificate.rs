//! An adapter's calibration certificate: what the laboratory wrote, and what follows from it for one pull.
//!
//! Nothing here says that an instrument complies with anything: the method is the laboratory's own text.

use crate::core::decision::{COVERAGE, Contribution, combined};
use crate::core::plan::Window;
use crate::core::units::Torque;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// The most points that a certificate has.
const MOST_POINTS: usize = 100;
/// No hand tool measures more, N·m.
const LARGEST_NM: f64 = 5000.0;
/// Most characters of a text.
const LONGEST: usize = 500;

/// What the laboratory wrote.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Certificate {
    /// Serial number of the adapter.
    pub serial: String,
    /// Number of the certificate.
    pub number: String,
    /// The method, in the laboratory's words.
    pub method: String,
    /// Who calibrated it, with what accreditation, if any.
    pub laboratory: String,
    /// When it was calibrated.
    pub date: Date,
    /// When it should be calibrated again.
    pub due: Date,
    /// Smallest and largest torque that was calibrated, N·m.
    pub range_nm: [f64; 2],
    /// In which directions.
    pub directions: Vec<Direction>,
    /// Step of what it shows, N·m, where the certificate states it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resolution_nm: Option<f64>,
    /// What was found, by rising torque.
    #[serde(default)]
    pub points: Vec<Point>,
}

/// A direction of turning, as seen from the operator.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Direction {
    /// Tightens a right-hand thread.
    Clockwise,
    /// Tightens a left-hand thread.
    CounterClockwise,
}

/// What was found at one torque.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// The torque, N·m.
    pub torque_nm: f64,
    /// How much more than that the adapter told, N·m.
    pub error_nm: f64,
    /// Expanded uncertainty of that (k = 2: about 95 %), N·m.
    pub uncertainty_nm: f64,
}

/// How a certificate stands to a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Calibrated before, and not due yet.
    Valid,
    /// Due before.
    Overdue,
    /// Calibrated only later.
    Later,
}

/// What a certificate says of one pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Assessed {
    /// How much more than the torque the adapter tells there, N·m.
    pub error_nm: f64,
    /// Expanded uncertainty (k = 2) of what it tells, not corrected for that error, N·m.
    pub uncertainty_nm: f64,
}

/// What is wrong with a certificate's text.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CertificateError {
    /// It cannot be read at all.
    #[error(
        "line {line}: expected a certificate, but found: {found}; `clampbook adapter certificate --example` shows one"
    )]
    Unreadable {
        /// Where, from 1.
        line: usize,
        /// What is wrong there.
        found: String,
    },
    /// Something in it makes no sense.
    #[error("expected {expected}, but found {found}; compare with the certificate")]
    Senseless {
        /// What is wanted.
        expected: &'static str,
        /// What is there.
        found: String,
    },
}

/// A certificate to be filled in.
pub const EXAMPLE: &str = r#"# What stands in the certificate of an adapter. Every value here is invented.
serial = "KB-0412"
number = "N-2031-0117"
method = "static torque on a lever with masses, after the laboratory's procedure 7"
laboratory = "Nennford Calibration, accreditation 0000"
date = "2031-02-03"
due = "2032-02-03"
range_nm = [40, 280]
directions = ["clockwise"]
# resolution_nm = 0.1: the step of what it shows, if the certificate states it; widens the uncertainty

# error_nm: what the adapter told, less the torque; uncertainty_nm: expanded, k = 2
[[points]]
torque_nm = 40
error_nm = 0.2
uncertainty_nm = 0.3

[[points]]
torque_nm = 280
error_nm = -0.9
uncertainty_nm = 1.4
"#;

impl Certificate {
    /// Reads a certificate's text (TOML, as [`EXAMPLE`]).
    ///
    /// # Errors
    /// It cannot be read, or makes no sense; with what is expected.
    pub fn parse(text: &str) -> Result<Self, CertificateError> {
        let mut certificate: Self =
            toml::from_str(text).map_err(|error| unreadable(text, &error))?;
        certificate.points.sort_by(|one, other| one.torque_nm.total_cmp(&other.torque_nm));
        certificate.check()?;
        Ok(certificate)
    }

    fn check(&self) -> Result<(), CertificateError> {
        let wrong = |expected, found: String| Err(CertificateError::Senseless { expected, found });
        for text in [&self.serial, &self.number, &self.method, &self.laboratory] {
            if text.trim().is_empty() || text.len() > LONGEST || text.chars().any(char::is_control)
            {
                return wrong("a text of one line", format!("`{}`", text.escape_debug()));
            }
        }
        if self.due <= self.date {
            return wrong("a due date behind the date", format!("{} and {}", self.due, self.date));
        }
        let [low, high] = self.range_nm;
        if !(0.0..=LARGEST_NM).contains(&low) || !(0.0..=LARGEST_NM).contains(&high) || low >= high
        {
            return wrong("a rising range of N·m", format!("{low} to {high}"));
        }
        if self.resolution_nm.is_some_and(|step| !(step > 0.0 && step <= high)) {
            let found = self.resolution_nm.unwrap_or_default().to_string();
            return wrong("a resolution above zero, N·m", found);
        }
        if self.directions.is_empty() {
            return wrong("a direction, clockwise or counter-clockwise", "none".to_owned());
        }
        if self.points.len() > MOST_POINTS {
            return wrong("at most 100 points", self.points.len().to_string());
        }
        for point in &self.points {
            let Point { torque_nm, error_nm, uncertainty_nm } = *point;
            if !(0.0..=LARGEST_NM).contains(&torque_nm)
                || error_nm.abs() > torque_nm
                || !(uncertainty_nm > 0.0 && uncertainty_nm <= torque_nm)
            {
                return wrong(
                    "points with an error smaller than their torque and an uncertainty above zero",
                    format!("error {error_nm}, uncertainty {uncertainty_nm} at {torque_nm} N·m"),
                );
            }
        }
        Ok(())
    }

    /// How it stands to `day`.
    #[must_use]
    pub fn standing(&self, day: Date) -> Standing {
        if day < self.date {
            Standing::Later
        } else if day > self.due {
            Standing::Overdue
        } else {
            Standing::Valid
        }
    }

    /// True if torque was calibrated in the direction of `peak` (signed, clockwise positive).
    #[must_use]
    pub fn covers_direction(&self, peak: Torque) -> bool {
        let direction =
            if peak.nm() < 0.0 { Direction::CounterClockwise } else { Direction::Clockwise };
        self.directions.contains(&direction)
    }

    /// From where to where something can be said by it, N·m: its range, and no further than its points reach,
    /// if it has any.
    #[must_use]
    pub fn span_nm(&self) -> (f64, f64) {
        let [low, high] = self.range_nm;
        match self.points.first().zip(self.points.last()) {
            Some((first, last)) => (low.max(first.torque_nm), high.min(last.torque_nm)),
            None => (low, high),
        }
    }

    /// True if something can be said by it of a pull that peaked at `peak` (signed, clockwise positive).
    #[must_use]
    pub fn covers(&self, peak: Torque) -> bool {
        let (low, high) = self.span_nm();
        self.covers_direction(peak) && (low..=high).contains(&peak.nm().abs())
    }

    /// What it says of a pull that peaked at `peak` (signed, clockwise positive): the nearest points on both
    /// sides, joined by a straight line, and the resolution. None outside its range, points or directions.
    #[must_use]
    pub fn assess(&self, peak: Torque) -> Option<Assessed> {
        let nm = peak.nm().abs();
        if !self.covers(peak) {
            return None;
        }
        let above = self.points.iter().position(|point| point.torque_nm >= nm)?;
        let high = self.points[above];
        let low = match above.checked_sub(1) {
            Some(below) => self.points[below],
            None if high.torque_nm == nm => high,
            None => return None,
        };
        let span = high.torque_nm - low.torque_nm;
        let share = if span > 0.0 { (nm - low.torque_nm) / span } else { 1.0 };
        let between = |low: f64, high: f64| low + share * (high - low);
        let error_nm = between(low.error_nm, high.error_nm);
        // The error is not taken off the peak, so that it adds to what is uncertain (ISO/IEC Guide
        // 98-3, F.2.4.5).
        let uncertainty_nm =
            self.with_resolution(between(low.uncertainty_nm, high.uncertainty_nm)) + error_nm.abs();
        Some(Assessed { error_nm, uncertainty_nm })
    }

    /// An expanded uncertainty (k = 2) together with what the step of the display adds.
    fn with_resolution(&self, expanded: f64) -> f64 {
        let Some(step) = self.resolution_nm else { return expanded };
        let calibrated = Contribution::Expanded { expanded, coverage: COVERAGE };
        COVERAGE * combined(&[calibrated, Contribution::Resolution(step)])
    }
}

impl Assessed {
    /// True if a pull in its window lies so near to a limit that the torque may have been outside. The
    /// verdict stays at face value (simple acceptance; ISO/IEC Guide 98-4, 8.2).
    #[must_use]
    pub fn is_close(&self, peak: Torque, window: &Window) -> bool {
        let nm = peak.nm().abs();
        let inside = nm >= window.low.nm() && window.high.is_none_or(|high| nm <= high.nm());
        let near = nm - self.uncertainty_nm < window.low.nm()
            || window.high.is_some_and(|high| nm + self.uncertainty_nm > high.nm());
        inside && near
    }
}

fn unreadable(text: &str, error: &toml::de::Error) -> CertificateError {
    let span = error.span().unwrap_or_default();
    let line = text.get(..span.start).unwrap_or_default().matches('\n').count() + 1;
    // What is missing from the whole stands in no line.
    let there = text.lines().nth(line - 1).map(str::trim).filter(|there| !there.is_empty());
    let there = there.filter(|_| !text.get(span).unwrap_or_default().contains('\n'));
    let found = match there {
        None => error.message().to_owned(),
        Some(there) => format!("{}, in `{}`", error.message(), there.escape_debug()),
    };
    CertificateError::Unreadable { line, found }
}

#[cfg(test)]
mod tests {
    use super::{Certificate, EXAMPLE, Standing};
    use crate::core::plan::Window;
    use crate::core::units::{StatedTorque, Torque, TorqueUnit};

    #[test]
    fn the_example_is_read_and_stands_to_days() {
        let certificate = Certificate::parse(EXAMPLE).unwrap();
        assert_eq!(certificate.points.len(), 2);
        for (day, standing) in [
            ("2031-02-02", Standing::Later),
            ("2031-02-03", Standing::Valid),
            ("2032-02-03", Standing::Valid),
            ("2032-02-04", Standing::Overdue),
        ] {
            assert_eq!(certificate.standing(day.parse().unwrap()), standing, "{day}");
        }
    }

    #[test]
    fn between_two_points_a_straight_line_and_nothing_beyond_them() {
        let certificate = Certificate::parse(EXAMPLE).unwrap();
        let at = |nm: f64| certificate.assess(Torque::from_nm(nm));
        let middle = at(160.0).unwrap();
        assert!((middle.error_nm + 0.35).abs() < 1e-9, "{middle:?}");
        assert!((middle.uncertainty_nm - 1.2).abs() < 1e-9, "{middle:?}");
        assert!((at(40.0).unwrap().uncertainty_nm - 0.5).abs() < 1e-9);
        assert_eq!(at(39.9), None);
        assert_eq!(at(280.1), None);
        assert_eq!(at(-160.0), None, "only clockwise was calibrated");
        let narrow = Certificate::parse(&EXAMPLE.replace("[40, 280]", "[100, 200]")).unwrap();
        assert_eq!(narrow.span_nm(), (100.0, 200.0));
        assert_eq!(narrow.assess(Torque::from_nm(90.0)), None, "beyond its range");
        assert_eq!(narrow.assess(Torque::from_nm(160.0)), Some(middle));
    }

    #[test]
    fn the_step_of_the_display_widens_the_uncertainty() {
        let coarse = EXAMPLE.replace("directions =", "resolution_nm = 1.0\ndirections =");
        let coarse = Certificate::parse(&coarse).unwrap();
        // 2 · √((0.85/2)² + (1/√12)²) + 0.35 at 160 N·m.
        let told = coarse.assess(Torque::from_nm(160.0)).unwrap().uncertainty_nm;
        assert!((told - 1.377_537_5).abs() < 1e-6, "{told}");
    }

    #[test]
    fn a_pull_near_a_limit_is_close_and_one_outside_is_no_less_outside() {
        let certificate = Certificate::parse(EXAMPLE).unwrap();
        let stated = StatedTorque { value: 160.0, unit: TorqueUnit::NewtonMetre };
        let [low, high] = [150.0, 170.0].map(Torque::from_nm);
        let window = Window { target: stated.torque(), low, high: Some(high), stated };
        let close = |nm: f64| {
            let peak = Torque::from_nm(nm);
            certificate.assess(peak).unwrap().is_close(peak, &window)
        };
        assert_eq!(
            [149.0, 150.5, 160.0, 169.5, 171.0].map(close),
            [false, true, false, true, false]
        );
    }

    #[test]
    fn what_makes_no_sense_is_named() {
        for (from, to, expected) in [
            ("due = \"2032-02-03\"", "due = \"2031-02-03\"", "a due date behind the date"),
            ("[40, 280]", "[280, 40]", "a rising range"),
            ("[\"clockwise\"]", "[]", "a direction"),
            ("[40, 280]", "[40, 280]\nresolution_nm = 0", "a resolution above zero"),
            ("uncertainty_nm = 0.3", "uncertainty_nm = 0", "an uncertainty above zero"),
            ("uncertainty_nm = 0.3", "uncertainty_nm = nan", "an uncertainty above zero"),
            ("number = \"N-2031-0117\"", "number = \"\"", "a text of one line"),
            ("serial = ", "seriall = ", "seriall"),
            ("date = \"2031-02-03\"", "date = \"soon\"", "date"),
        ] {
            let text = EXAMPLE.replacen(from, to, 1);
            assert_ne!(text, EXAMPLE);
            let error = Certificate::parse(&text).unwrap_err().to_string();
            assert!(error.contains(expected), "{to}: {error}");
        }
    }
}

//! Screw threads: their names and their geometry.

use serde::{Deserialize, Serialize};
use std::f64::consts::PI;
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// Millimetres in an inch, exact.
pub(super) const MM_PER_INCH: f64 = 25.4;

/// Height of the thread that counts for the stress area, in pitches: 13·√3 / 24 (ISO 898-1, 9.1.6.1).
const METRIC_STRESS: f64 = 0.938_194_080_716_252_5;
/// The same of unified threads, as ASME B1.1 rounds it.
const UNIFIED_STRESS: f64 = 0.9743;
/// Pitch diameter: d − this · P (ISO 724: 3·√3 / 8).
const PITCH_DIAMETER: f64 = 0.649_519;
/// Minor diameter of the bolt: d − this · P (ISO 724: 17·√3 / 24).
const MINOR_DIAMETER: f64 = 1.226_869;

/// Coarse pitches of ISO 261, millimetres: what `M12` alone means.
const COARSE: [(f64, f64); 19] = [
    (3.0, 0.5),
    (4.0, 0.7),
    (5.0, 0.8),
    (6.0, 1.0),
    (7.0, 1.0),
    (8.0, 1.25),
    (10.0, 1.5),
    (12.0, 1.75),
    (14.0, 2.0),
    (16.0, 2.0),
    (18.0, 2.5),
    (20.0, 2.5),
    (22.0, 2.5),
    (24.0, 3.0),
    (27.0, 3.0),
    (30.0, 3.5),
    (33.0, 3.5),
    (36.0, 4.0),
    (39.0, 4.0),
];

/// A 60° screw thread.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Thread {
    /// Which system of threads.
    pub series: Series,
    /// Nominal diameter in millimetres: 1 to 150.
    pub diameter_mm: f64,
    /// Pitch in millimetres: above zero, at most a quarter of the diameter.
    pub pitch_mm: f64,
}

/// A system of threads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Series {
    /// ISO metric.
    Metric,
    /// Unified inch.
    Unified,
}

/// Why a text names no thread.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("expected a thread, but found `{0}`; write it like `M12×1.5` or `1/2-20`")]
pub struct ThreadError(String);

impl Thread {
    /// A metric thread.
    #[must_use]
    pub const fn metric(diameter_mm: f64, pitch_mm: f64) -> Self {
        Self { series: Series::Metric, diameter_mm, pitch_mm }
    }

    /// A unified thread: nominal diameter in inches, threads per inch.
    #[must_use]
    pub const fn unified(diameter_in: f64, threads_per_inch: f64) -> Self {
        Self {
            series: Series::Unified,
            diameter_mm: diameter_in * MM_PER_INCH,
            pitch_mm: MM_PER_INCH / threads_per_inch,
        }
    }

    /// Pitch diameter d2, millimetres (ISO 724).
    #[must_use]
    pub fn pitch_diameter_mm(&self) -> f64 {
        self.diameter_mm - PITCH_DIAMETER * self.pitch_mm
    }

    /// Minor diameter of the bolt d3, millimetres (ISO 724).
    #[must_use]
    pub fn minor_diameter_mm(&self) -> f64 {
        self.diameter_mm - MINOR_DIAMETER * self.pitch_mm
    }

    /// Nominal stress area, mm²: ISO 898-1 for metric threads, ASME B1.1 for unified ones.
    #[must_use]
    pub fn stress_area_mm2(&self) -> f64 {
        let height = match self.series {
            Series::Metric => METRIC_STRESS,
            Series::Unified => UNIFIED_STRESS,
        };
        PI / 4.0 * (self.diameter_mm - height * self.pitch_mm).powi(2)
    }

    /// A thread within reason.
    fn checked(self, text: &str) -> Result<Self, ThreadError> {
        let sound = (1.0..=150.0).contains(&self.diameter_mm)
            && self.pitch_mm >= 0.2
            && self.pitch_mm <= self.diameter_mm / 4.0;
        if sound { Ok(self) } else { Err(ThreadError(shown(text))) }
    }
}

/// `M12×1.5`, `M12x1,5`, `M12` (coarse), `1/2-20`, `7/16-20 UNF`, `1 1/8-12`, `#10-32`.
impl FromStr for Thread {
    type Err = ThreadError;

    fn from_str(text: &str) -> Result<Self, ThreadError> {
        let wrong = || ThreadError(shown(text));
        let plain = text.trim().replace(',', ".").replace(['"', '″'], "");
        let found = match plain.strip_prefix(['M', 'm']) {
            Some(metric) => read_metric(metric),
            None => read_unified(&plain),
        };
        found.ok_or_else(wrong)?.checked(text)
    }
}

fn read_metric(text: &str) -> Option<Thread> {
    let mut parts = text.split(['×', 'x', 'X', '*']).map(str::trim);
    let diameter = number(parts.next()?)?;
    let pitch = match parts.next() {
        Some(pitch) => number(pitch)?,
        None => COARSE.iter().find(|(size, _)| *size == diameter).map(|(_, pitch)| *pitch)?,
    };
    parts.next().is_none().then(|| Thread::metric(diameter, pitch))
}

fn read_unified(text: &str) -> Option<Thread> {
    let mut words = text.split_whitespace().collect::<Vec<_>>();
    if words.last().is_some_and(|last| last.to_uppercase().starts_with("UN")) {
        words.pop();
    }
    let bare = words.join(" ");
    let (size, count) = bare.rsplit_once('-')?;
    let diameter = match size.trim().strip_prefix('#') {
        // Numbered sizes: 0.060 in, and 0.013 in more for each number (ASME B1.1).
        Some(size) => 0.060 + 0.013 * number(size)?,
        None => inches(size.trim())?,
    };
    let count = number(count.trim())?;
    (4.0..=80.0).contains(&count).then(|| Thread::unified(diameter, count))
}

/// `1/2`, `1`, `1 1/8` or `0.5`.
fn inches(text: &str) -> Option<f64> {
    let (whole, part) = match text.split_once(' ') {
        Some((whole, part)) => (number(whole)?, part.trim()),
        None => (0.0, text),
    };
    match part.split_once('/') {
        Some((above, below)) => {
            let below = number(below).filter(|below| *below > 0.0)?;
            Some(whole + number(above)? / below)
        }
        None => number(part),
    }
}

fn number(text: &str) -> Option<f64> {
    let plain = text.chars().all(|c| c.is_ascii_digit() || c == '.');
    plain.then(|| text.parse().ok()).flatten()
}

fn shown(text: &str) -> String {
    text.trim().chars().take(40).collect()
}

/// As a drawing writes it: `M12×1.5`, `0.5-20`.
impl fmt::Display for Thread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.series {
            Series::Metric => write!(f, "M{}×{}", self.diameter_mm, self.pitch_mm),
            Series::Unified => {
                let sixteenths = self.diameter_mm / MM_PER_INCH * 16.0;
                let count = (MM_PER_INCH / self.pitch_mm).round();
                if (sixteenths - sixteenths.round()).abs() > 1e-6 {
                    return write!(f, "{:.3}-{count}", self.diameter_mm / MM_PER_INCH);
                }
                write!(f, "{}-{count}", fraction(sixteenths.round()))
            }
        }
    }
}

/// So many sixteenths of an inch, as people write them.
fn fraction(sixteenths: f64) -> String {
    let (mut above, mut below) = (sixteenths % 16.0, 16.0);
    while above > 0.0 && above % 2.0 == 0.0 {
        (above, below) = (above / 2.0, below / 2.0);
    }
    match ((sixteenths / 16.0).floor(), above) {
        (whole, 0.0) => format!("{whole}"),
        (0.0, above) => format!("{above}/{below}"),
        (whole, above) => format!("{whole} {above}/{below}"),
    }
}

//! The standard uncertainty of one reading.

/// Coverage factor of an expanded uncertainty: U = 2 · u.
pub const COVERAGE: f64 = 2.0;

/// One thing that a reading may be off by, as it is usually stated. All in the unit of the reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Contribution {
    /// An expanded uncertainty with its coverage factor: a calibration certificate's.
    Expanded {
        /// U.
        expanded: f64,
        /// k.
        coverage: f64,
    },
    /// A half-width within which every value is as likely: a permissible deviation, side load, temperature.
    HalfWidth(f64),
    /// The step of a display.
    Resolution(f64),
}

impl Contribution {
    /// Its standard uncertainty (JCGM 100, 4.3).
    #[must_use]
    pub fn standard(self) -> f64 {
        match self {
            Self::Expanded { expanded, coverage } => expanded / coverage,
            Self::HalfWidth(half) => rectangular(half),
            Self::Resolution(step) => step / 12.0_f64.sqrt(),
        }
    }
}

/// Standard uncertainty of a rectangular distribution of this half-width.
#[must_use]
pub fn rectangular(half_width: f64) -> f64 {
    half_width / 3.0_f64.sqrt()
}

/// All of them together, independent of each other: the root of the sum of squares (JCGM 100, 5.1.2).
#[must_use]
pub fn combined(contributions: &[Contribution]) -> f64 {
    contributions.iter().map(|one| one.standard().powi(2)).sum::<f64>().sqrt()
}

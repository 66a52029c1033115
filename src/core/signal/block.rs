//! Samples as they arrive.

use super::constants::{ABSURD_NM, LEAST_RANGE_NM, MOST_ACCURACY_PCT, MOST_WIND_UP};
use crate::core::time::Stamp;
use crate::core::units::Torque;

/// Lowest sampling rate that is read, hertz. Below it a pull is a handful of samples.
pub const LEAST_RATE_HZ: f64 = 5.0;
/// Highest sampling rate that is read, hertz.
pub const MOST_RATE_HZ: f64 = 20_000.0;

/// A block of contiguous samples, of any length, as a recording's `trace` line holds it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Block<'a> {
    /// When the first sample was taken.
    pub start: Stamp,
    /// Samples a second.
    pub rate_hz: f64,
    /// Torque, N·m, clockwise positive. A sample that is missing or spoiled is not a number. Seven digits are more
    /// than any transducer gives.
    pub torque: &'a [f32],
    /// How far the drive has turned, degrees, clockwise positive: one for each torque, counted from
    /// the last sample of the block before. Taken on a grid of a millionth of a degree.
    pub turned_deg: Option<&'a [f64]>,
}

/// What is known of the adapter whose samples are read.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Source {
    /// Its largest torque, as a magnitude.
    pub range_max: Option<Torque>,
    /// Half-width of its calibrated 95 % interval, per cent of reading.
    pub accuracy_pct: Option<f64>,
    /// Wind-up of bars and handle, degrees a N·m, if the plan names it; otherwise it is estimated.
    pub wind_up_deg_per_nm: Option<f64>,
}

impl Source {
    /// The same without what no adapter and no bar can be.
    pub(super) fn believed(self) -> Self {
        let believe =
            |value: Option<f64>, most: f64| value.filter(|one| (0.0..=most).contains(one));
        let range =
            self.range_max.filter(|max| (LEAST_RANGE_NM..ABSURD_NM).contains(&max.nm().abs()));
        Self {
            range_max: range,
            accuracy_pct: believe(self.accuracy_pct, MOST_ACCURACY_PCT),
            wind_up_deg_per_nm: believe(self.wind_up_deg_per_nm, MOST_WIND_UP),
        }
    }
}

/// Something in the stream that cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum Nonsense {
    /// A rate nothing can be read at. The block is passed over.
    #[error(
        "expected a sampling rate of {LEAST_RATE_HZ} to {MOST_RATE_HZ} Hz, but found {rate_hz} Hz; \
         the block is passed over"
    )]
    Rate {
        /// The rate stated.
        rate_hz: f64,
    },
    /// A block that starts before the end of the one before. It is passed over.
    #[error(
        "expected a block of samples after {expected} µs, but found one that starts at {found} µs; \
         it is passed over", expected = expected.0, found = found.0
    )]
    Backwards {
        /// The earliest start that follows.
        expected: Stamp,
        /// The start found.
        found: Stamp,
    },
    /// Samples that are no torque: not a number, infinite, or beyond anything a hand can do.
    #[error(
        "expected torque as a number below {most} N·m, but found {count} samples that are not; \
         they count as missing",
        most = super::constants::ABSURD_NM
    )]
    Samples {
        /// How many in a row.
        count: u32,
    },
    /// As many rotations as torques are needed. The rotations of the block are passed over.
    #[error(
        "expected {expected} rotations, one a torque, but found {found}; \
         the block is read without rotation"
    )]
    Rotations {
        /// How many torques.
        expected: usize,
        /// How many rotations.
        found: usize,
    },
    /// A rotation that is not a number, or faster than any hand. It counts as standing still.
    #[error(
        "expected rotation in degrees, but found one that is not a number or faster than any hand; \
         it counts as standing still"
    )]
    Rotation,
}

impl Nonsense {
    /// What the operator can do about it.
    #[must_use]
    pub const fn next_step(&self) -> &'static str {
        match self {
            Self::Rate { .. } => "set the adapter's trace to a rate in that range",
            Self::Backwards { .. } => "check the clock of the adapter",
            Self::Samples { .. } => "check the adapter's cable and range",
            Self::Rotations { .. } => "check the adapter's trace",
            Self::Rotation => "check the adapter's rotation",
        }
    }
}

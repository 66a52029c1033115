//! Time as plain data.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};
use std::ops::{Add, Sub};
use utoipa::ToSchema;

/// A moment, in whole microseconds. In the daemon it counts from the Unix epoch; in a recording it
/// counts from the recording's start. Only differences matter to the core.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Default,
    Serialize,
    Deserialize,
    ToSchema,
)]
#[serde(transparent)]
pub struct Stamp(pub i64);

impl Stamp {
    /// The nearest moment to `seconds`; values that are not finite or out of range saturate.
    #[must_use]
    pub fn from_seconds(seconds: f64) -> Self {
        Self((seconds * 1e6).round() as i64)
    }

    /// Seconds since this stamp's origin.
    #[must_use]
    pub fn seconds(self) -> f64 {
        self.0 as f64 / 1e6
    }

    /// Seconds from `earlier` to `self`; negative if `self` comes first.
    #[must_use]
    pub fn seconds_since(self, earlier: Self) -> f64 {
        self.0.saturating_sub(earlier.0) as f64 / 1e6
    }

    /// The day (UTC) of a stamp that counts from the Unix epoch; none far outside the calendar.
    #[must_use]
    pub fn day(self) -> Option<Date> {
        let moment = Timestamp::from_microsecond(self.0).ok()?;
        Some(moment.to_zoned_datetime(TimeZone::UTC).date())
    }
}

impl Add<f64> for Stamp {
    type Output = Self;

    /// This moment moved by `seconds`.
    fn add(self, seconds: f64) -> Self {
        let Self(moved) = Self::from_seconds(seconds);
        Self(self.0.saturating_add(moved))
    }
}

impl Sub for Stamp {
    type Output = f64;

    fn sub(self, earlier: Self) -> f64 {
        self.seconds_since(earlier)
    }
}

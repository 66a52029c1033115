//! Moments as text, in local time and in UTC.

use crate::core::time::Stamp;
use jiff::Timestamp;
use jiff::tz::{Offset, TimeZone};
use serde::Serialize;
use utoipa::ToSchema;

/// A moment in the forms a report needs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Moment {
    /// RFC 3339, UTC, to the microsecond.
    pub utc: String,
    /// RFC 3339, local time with its offset.
    pub local: String,
    /// Local date and time to the second, for people; with the offset only if it is not the job's.
    #[serde(skip)]
    pub short: String,
}

impl Moment {
    /// The local date.
    #[must_use]
    pub fn day(&self) -> &str {
        self.short.split(' ').next().unwrap_or_default()
    }
}

/// Turns stamps into moments.
#[derive(Debug, Clone)]
pub struct Clockface {
    zone: TimeZone,
    usual: Option<Offset>,
}

impl Clockface {
    /// Local time in `zone`; the offset in force at `reference` needs no repeating.
    #[must_use]
    pub fn new(zone: TimeZone, reference: Stamp) -> Self {
        let usual = timestamp(reference).map(|at| zone.to_offset(at));
        Self { zone, usual }
    }

    /// The moment of a stamp. A stamp outside the calendar (years −9999..=9999) is said to be so.
    #[must_use]
    pub fn moment(&self, stamp: Stamp) -> Moment {
        let Some(at) = timestamp(stamp) else {
            let text = format!("outside the calendar ({} µs)", stamp.0);
            return Moment { utc: text.clone(), local: text.clone(), short: text };
        };
        let offset = self.zone.to_offset(at);
        let civil = offset.to_datetime(at);
        let mut short = format!("{} {}", civil.date(), civil.time().strftime("%H:%M:%S"));
        if self.usual != Some(offset) {
            short.push_str(&format!(" (UTC{offset})"));
        }
        Moment { utc: format!("{at:.6}"), local: at.display_with_offset(offset).to_string(), short }
    }
}

fn timestamp(stamp: Stamp) -> Option<Timestamp> {
    Timestamp::from_microsecond(stamp.0).ok()
}

//! How large the numbers of a recording can be.

use super::fault::Fault;
use crate::core::time::Stamp;

/// Some thirty years: far beyond any recording, and exact to a microsecond as a binary fraction.
pub(super) const LONGEST_SECONDS: f64 = 1e9;
/// Beyond any hand tool by far.
pub(super) const LARGEST_NM: f64 = 1e6;
pub(super) const LARGEST_DEG: f64 = 1e7;
pub(super) const LARGEST_MM: f64 = 1e6;
pub(super) const LONGEST_MS: f64 = 1e9;
pub(super) const FASTEST_HZ: f64 = 1e7;
const LARGEST_SEQ: u64 = u32::MAX as u64;

pub(super) fn stamp(t: f64) -> Result<Stamp, Fault> {
    Ok(Stamp::from_seconds(within("t", t, 0.0, LONGEST_SECONDS)?))
}

pub(super) fn sequence(key: &'static str, found: u64) -> Result<u64, Fault> {
    if found > LARGEST_SEQ {
        return Err(Fault::OutOfRange {
            key,
            low: 0.0,
            high: LARGEST_SEQ as f64,
            found: found as f64,
        });
    }
    Ok(found)
}

pub(super) fn within(key: &'static str, found: f64, low: f64, high: f64) -> Result<f64, Fault> {
    if (low..=high).contains(&found) {
        Ok(found)
    } else {
        Err(Fault::OutOfRange { key, low, high, found })
    }
}

//! The only place that reads the time.

use crate::core::time::Stamp;
use jiff::Timestamp;
use std::sync::Arc;

/// The present moment, in microseconds since the Unix epoch.
#[must_use]
pub fn now() -> Stamp {
    Stamp(Timestamp::now().as_microsecond())
}

/// [`now`], to be handed to parts that may not read the clock themselves.
#[must_use]
pub fn reader() -> Arc<dyn Fn() -> Stamp + Send + Sync> {
    Arc::new(now)
}

//! The device side: from what an adapter sends to what the core is told.
//!
//! [`recording`] reads and writes recordings.
//!
//! Guarantees: nothing an adapter or a file holds can make it panic; nothing is dropped silently.
//!
//! Deliberately absent: the clock (time comes from a [`Clock`] that is passed in), and judgement.

pub mod recording;

use crate::core::time::Stamp;
use std::sync::Arc;

/// Tells the present moment. The program's own clock is read in one place only; here it is passed in.
pub type Clock = Arc<dyn Fn() -> Stamp + Send + Sync>;

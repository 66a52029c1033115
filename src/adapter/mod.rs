//! The device side: from what an adapter sends to what the core is told.
//!
//! [`source`] says what all sources have in common, [`spec`] how one is written down. [`simulated`]
//! plays a recording, [`ble`] talks to a real adapter; both go through a [`session`]. [`live`] makes
//! readings of live torque, [`guiding`] says how an adapter guides the hand, [`presses`] counts those of
//! its button, [`translate`] alone knows both the wire and the core, and [`recording`] reads and writes
//! recordings.
//!
//! Guarantees: nothing an adapter or a file holds can make it panic; nothing is dropped silently.
//!
//! Deliberately absent: the clock (time comes from a [`Clock`] that is passed in), and judgement.

pub mod ble;
pub mod guiding;
pub mod live;
mod port;
pub mod presses;
pub mod recording;
pub mod session;
pub mod simulated;
pub mod source;
pub mod spec;
pub mod stretch;
pub mod traces;
pub mod translate;
pub mod trouble;

pub use source::{
    Errand, Guidance, Known, Shutdown, ShutdownTrigger, SourceEvent, SourceIo, Stored,
};
pub use spec::{Pin, SourceSpec};
pub use trouble::{Cause, Side, Trouble, TroubleClass};

use crate::core::time::Stamp;
use std::sync::Arc;

/// Tells the present moment. The program's own clock is read in one place only; here it is passed in.
pub type Clock = Arc<dyn Fn() -> Stamp + Send + Sync>;

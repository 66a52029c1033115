//! Bolted joints by formula: threads, strength, friction, and whether a target fits its thread.
//!
//! Pure numbers with the source of each formula. Nothing here is a value to tighten to, and no clamp
//! force that comes out of it was measured.

mod castle;
mod condition;
mod friction;
mod seat;
mod strength;
mod thread;
mod utilisation;

pub use castle::SlotPitch;
pub use condition::{Condition, NutFactor};
pub use friction::{Split, assembly_preload, iso16047_torque, nut_factor, split};
pub use seat::Seat;
pub use strength::Grade;
pub use thread::{Series, Thread, ThreadError};
pub use utilisation::{Fit, REFERENCE_NUT_FACTOR, reference_torque, utilisation};

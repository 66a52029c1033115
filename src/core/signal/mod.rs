//! From samples of torque to pulls.
//!
//! [`PeakHold`] turns a live torque value into one reading a pull: a threshold with hysteresis and the
//! highest value in between. It is for adapters that stream torque and send no readings of their own.
//! It allocates nothing a sample, reads no clock, and takes samples in blocks of any size.

mod peak_hold;

pub use peak_hold::{PeakHold, Pull};

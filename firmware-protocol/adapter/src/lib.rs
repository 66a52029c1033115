//! The logic of a torque adapter, without a radio, an allocator or a clock: what a microcontroller would
//! run. The binary beside it gives it a radio on Linux.
//!
//! Time comes in as milliseconds on a clock that only runs forward; the start of that clock means nothing.
#![no_std]
#![deny(missing_docs)]

#[cfg(test)]
extern crate std;

pub mod access;
pub mod device;
pub mod faults;
pub mod guide;
pub mod profile;
pub mod store;
#[cfg(test)]
mod tests;
pub mod trace;

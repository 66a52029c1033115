//! The live page in a real browser, over plain HTTP from a real daemon.
//!
//! `tests/browser/run` installs what is needed, and says where the pictures are.
// Helpers of tests may fail a test like the tests themselves.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod browser;
mod hands;
mod job;
mod kept;
mod latency;
mod look;
mod recording;
#[allow(dead_code)]
#[path = "../suite/rig.rs"]
mod rig;
mod trouble;

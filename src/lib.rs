//! Clampbook listens to a digital torque adapter while fasteners are tightened by hand, checks every
//! pull against the job's plan, and keeps a record that proves what was done.
//!
//! In reading order: [`core`] decides and is pure; `adapter` is the device side; `journal` keeps
//! what happened; `daemon` joins them; `web` and `cli` are how people reach it; `report` is what
//! is handed over.

pub mod adapter;
pub mod cli;
pub mod core;
pub mod daemon;
pub mod journal;
pub mod report;
pub mod web;

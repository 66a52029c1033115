//! The shell around the core: keeps the journal, answers callers.
//!
//! Deliberately absent: rules (they are the core's) and printing.

pub mod clock;
pub mod config;
pub mod engine;
pub mod rendezvous;

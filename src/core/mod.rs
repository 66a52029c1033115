//! What decides: units, plan, signal, tracker, and the facts that are kept.
//!
//! Guarantees: no clock, no input or output, no logging. Time comes in with every [`event::Input`].
//! The same inputs give the same effects, on any machine, at any speed; replay, recovery and the
//! live daemon are one code path.
//!
//! Deliberately absent: octets of the wire, rows of the journal, text meant for one screen.

pub mod certificate;
pub mod command;
pub mod decision;
pub mod event;
pub mod fixture;
pub mod guide;
pub mod joint;
pub mod language;
pub mod live;
pub mod park;
pub mod photo;
pub mod plan;
pub mod press;
pub mod prompt;
pub mod rebuild;
pub mod recheck;
pub mod signal;
pub mod snapshot;
pub mod time;
pub mod tracker;
pub mod typed;
pub mod units;
pub mod wording;

//! One file a verb, all with the same shape: typed arguments and a printer in, an end out.

pub mod adapter;
pub mod demo;
pub mod doctor;
pub mod help;
pub mod job;
pub mod loose;
pub mod next;
pub mod page;
pub mod plan;
pub mod plan_new;
pub mod record;
pub mod replay;
pub mod report;
pub mod serve;
pub mod typed;
pub mod wheels;

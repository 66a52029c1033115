//! One file a verb, all with the same shape: typed arguments and a printer in, an end out.

pub mod adapter;
pub mod amend;
pub mod audit;
pub mod backup;
pub mod demo;
pub mod doctor;
pub mod export;
pub mod help;
pub mod import;
pub mod job;
pub mod loose;
pub mod next;
pub mod page;
pub mod plan;
pub mod plan_check;
pub mod plan_import;
pub mod plan_new;
pub mod recheck;
pub mod record;
pub mod replay;
pub mod report;
pub mod serve;
pub mod typed;
pub mod wheels;

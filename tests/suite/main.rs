//! Everything fast: one binary, one module a topic.
// Helpers of tests may fail a test like the tests themselves.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod architecture;
mod bad_input;
#[cfg(target_os = "linux")]
mod bluez;
mod cli;
mod copies;
mod daemon;
mod decision;
#[cfg(target_os = "linux")]
mod doctor;
mod first_day;
mod fixture;
mod guide;
mod joint;
mod joint_rules;
mod journal;
#[cfg(target_os = "linux")]
mod link;
mod listeners;
mod motion;
mod orders;
mod photos;
mod plan;
mod plan_new;
mod plan_verbs;
mod proof;
mod recheck;
mod record;
mod recording;
mod report;
mod rig;
mod samples;
mod screens;
mod session;
mod signal;
mod source;
#[cfg(unix)]
mod speaker;
mod story;
mod traces;
mod tracker;
mod tracker_properties;
mod trouble;
mod units;
mod vehicle;
mod web;
mod wheels;
mod wording;
mod zero;

//! Everything fast: one binary, one module a topic.

// Helpers of tests are not seen as tests by the settings in clippy.toml.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod journal;
mod recording;
mod report;

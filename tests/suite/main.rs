//! Everything fast: one binary, one module a topic.

mod journal;
mod plan;
mod recording;
mod report;
mod session;

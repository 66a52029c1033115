//! Everything fast: one binary, one module a topic.

mod recording;
mod report;

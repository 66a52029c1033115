//! Everything fast: one binary, one module a topic.

//! Clampbook.

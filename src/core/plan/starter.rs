//! The plan that a new user starts from.

/// A commented plan. It parses with notes and warnings only, and holds no value: each is `"?"`.
#[must_use]
pub const fn starter() -> &'static str {
    include_str!("starter.toml")
}

//! Values that a plan left to be looked up, given while the work is under way.

use crate::core::event::Origin;
use crate::core::plan::Expect;
use serde::{Deserialize, Serialize};

/// A value was given.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Given {
    /// As it was said: `slide-pins 26 N·m ±10 %`.
    pub line: String,
    /// What follows for the plan: one group, or two where both sides take one value.
    pub steps: Vec<GivenStep>,
    /// By what means it was said.
    pub origin: Origin,
}

/// The passes of one group with the value.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GivenStep {
    /// The group's name.
    pub group: String,
    /// One for each pass of the plan, in order.
    pub passes: Vec<GivenPass>,
}

/// What a value changes of a pass.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GivenPass {
    /// What it is called.
    pub name: String,
    /// What a pull must reach.
    pub expect: Expect,
}

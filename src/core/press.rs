//! The adapter's own button: how it can be pressed, and what that means.

use crate::core::event::Say;
use crate::core::snapshot::Next;
use serde::{Deserialize, Serialize};

/// How a button was pressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Press {
    /// Once, and let go at once.
    Short,
    /// Held.
    Long,
    /// Twice in a row.
    Double,
}

/// What a press means.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Meaning {
    /// The operator says this.
    Said(Say),
    /// The operator wants to hear again what is next.
    Help,
    /// The operator answers, and nothing is asked: nothing is confirmed.
    NothingAsked,
}

/// What a press means while `next` is what the operator was told to do: short confirms what is asked, double takes
/// back, long asks for help.
#[must_use]
pub fn meaning(press: Press, next: Option<&Next>) -> Meaning {
    match (press, next) {
        (Press::Short, Some(Next::Confirm { hold, .. })) => {
            Meaning::Said(Say::Confirm { hold: hold.clone(), because: None })
        }
        (Press::Short, _) => Meaning::NothingAsked,
        (Press::Double, _) => Meaning::Said(Say::Retract),
        (Press::Long, _) => Meaning::Help,
    }
}

//! Counts the presses of an adapter's button, so that a lost one is noticed: no I/O, no clock.

use crate::adapter::trouble::{Trouble, TroubleClass};

/// The presses of one adapter, over all links.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Presses {
    /// Boot and counter of the last one.
    last: Option<(u32, u16)>,
}

/// What the counter tells of a press.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counted {
    /// It was heard before.
    Again,
    /// It is new, and so many before it were not heard.
    New {
        /// How many.
        missed: u16,
    },
}

impl Presses {
    /// Takes a press of a boot with its counter, which begins at 1, and has 65 535 followed by 0. What was before
    /// the first one that is heard is not known.
    pub fn count(&mut self, epoch: u32, counter: u16) -> Counted {
        let missed = match self.last {
            None => 0,
            Some((before, last)) if before == epoch => {
                let step = counter.wrapping_sub(last);
                // More than half round is a step back.
                if step == 0 || step > u16::MAX / 2 {
                    return Counted::Again;
                }
                step - 1
            }
            Some(_) => counter.wrapping_sub(1),
        };
        self.last = Some((epoch, counter));
        Counted::New { missed }
    }
}

/// What the operator is told of presses that were not heard.
#[must_use]
pub fn missed(adapter: &str, missed: u16) -> Trouble {
    let (presses, were) = if missed == 1 { ("press", "was") } else { ("presses", "were") };
    Trouble {
        class: TroubleClass::Note,
        adapter: Some(adapter.to_owned()),
        message: format!("{missed} {presses} of its button {were} not heard, and did nothing"),
        next_step: "look what is asked, and press again if it is still so".to_owned(),
    }
}

/// What the operator is told of a press in a way that is not known here.
#[must_use]
pub fn unknown(adapter: &str, way: u8) -> Trouble {
    Trouble {
        class: TroubleClass::Note,
        adapter: Some(adapter.to_owned()),
        message: format!("its button was pressed in a way that is not known here ({way})"),
        next_step: "press it once, twice, or hold it for a second".to_owned(),
    }
}

/// What the operator is told of a press that cannot be read.
#[must_use]
pub fn unreadable(adapter: &str, reason: &str) -> Trouble {
    Trouble {
        class: TroubleClass::BadData,
        adapter: Some(adapter.to_owned()),
        message: format!("told of a press of its button that cannot be read: {reason}"),
        next_step: "look for newer software for the adapter or for this program".to_owned(),
    }
}

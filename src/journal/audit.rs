//! The chain, and whatever has seen its head before: the file beside the journal, and reports.
//!
//! A chain alone cannot show that entries were cut off its end, nor that all of it was written anew;
//! whoever has seen its head can.

use crate::journal::error::JournalError;
use crate::journal::head::Head;
use crate::journal::query::Reader;
use crate::journal::verify::{ChainCheck, ChainFault};
use std::fmt;

/// What the walk found, and whether earlier heads agree with it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Audit {
    /// The chain by itself.
    pub chain: ChainCheck,
    /// What each earlier head says of it, in the order given.
    pub heads: Vec<Testimony>,
}

/// What an earlier head says of the chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Testimony {
    /// The entry it names is there, with the same hash: nothing up to it was changed.
    Agrees,
    /// Entries that were there are missing from the end.
    Cut {
        /// The first missing.
        first: u64,
        /// The last that was seen.
        last: u64,
    },
    /// The entry it names is another one now: that one, or one before it, was written anew.
    Rewritten {
        /// The entry it names.
        number: u64,
    },
    /// The chain does not hold as far as the entry it names.
    Unreached,
}

/// The first entry that does not fit, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unfit {
    /// By the chain itself.
    Chain(ChainFault),
    /// By an earlier head: the one at this place, counted from 0.
    Head {
        /// Which.
        place: usize,
        /// What it says.
        says: Testimony,
        /// Number of the entry.
        number: u64,
    },
}

impl Audit {
    /// The first entry that does not fit; none if all do.
    #[must_use]
    pub fn unfit(&self) -> Option<Unfit> {
        let by_heads = self.heads.iter().enumerate().filter_map(|(place, says)| {
            let number = match *says {
                Testimony::Cut { first, .. } => first,
                Testimony::Rewritten { number } => number,
                Testimony::Agrees | Testimony::Unreached => return None,
            };
            Some(Unfit::Head { place, says: *says, number })
        });
        let by_chain = self.chain.fault.clone().map(Unfit::Chain);
        by_chain.into_iter().chain(by_heads).min_by_key(Unfit::number)
    }
}

impl Unfit {
    /// Number of the entry.
    #[must_use]
    pub fn number(&self) -> u64 {
        match self {
            Self::Chain(fault) => fault.number,
            Self::Head { number, .. } => *number,
        }
    }
}

impl fmt::Display for Testimony {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Agrees => f.write_str("agrees"),
            Self::Cut { first, last } if first == last => {
                write!(f, "entry {first} was cut off the end")
            }
            Self::Cut { first, last } => {
                write!(f, "entries {first} to {last} were cut off the end")
            }
            Self::Rewritten { number } => {
                write!(
                    f,
                    "entry {number} is another one now: it, or one before it, was written anew"
                )
            }
            Self::Unreached => f.write_str("cannot be compared: the chain breaks before"),
        }
    }
}

impl Reader {
    /// Walks the chain and holds it against `heads`, seen before. `visit` is told how far the walk is.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn audit(&self, heads: &[Head], visit: &mut dyn FnMut(u64)) -> Result<Audit, JournalError> {
        let compare = |head: &Head, now: Head| match head.hash == now.hash {
            true => Testimony::Agrees,
            false => Testimony::Rewritten { number: head.length },
        };
        let at_once = |head: &Head| match head.length {
            0 => compare(head, Head::EMPTY),
            _ => Testimony::Unreached,
        };
        let mut said: Vec<Testimony> = heads.iter().map(at_once).collect();
        let chain = self.walk_chain(&mut |now| {
            visit(now.length);
            for (head, said) in heads.iter().zip(&mut said) {
                if head.length == now.length {
                    *said = compare(head, now);
                }
            }
        })?;
        if chain.sound_to_the_end() {
            for (head, said) in heads.iter().zip(&mut said) {
                if *said == Testimony::Unreached {
                    *said = Testimony::Cut { first: chain.sound.length + 1, last: head.length };
                }
            }
        }
        Ok(Audit { chain, heads: said })
    }
}

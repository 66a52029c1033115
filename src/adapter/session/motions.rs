//! Motions beside the readings that they lead to.

use super::words::Move;
use std::collections::{BTreeMap, VecDeque};

/// Motions that wait for their reading, at most, and readings that may still get their motion.
const MOST: usize = 64;

/// Brings motions and readings together, whichever comes first.
#[derive(Debug, Clone, Default)]
pub(super) struct Motions {
    /// By the boot and the number of the reading that is still to come.
    waiting: BTreeMap<(u32, u32), Move>,
    /// Readings that were told lately, all of one boot, without a motion so far.
    bare: VecDeque<(u32, u32)>,
}

impl Motions {
    /// A motion came: gives it back if it is to be told now. `waits`: its reading was not told yet.
    pub(super) fn heard(&mut self, motion: Move, waits: bool) -> Option<Move> {
        let key = (motion.epoch, motion.to);
        if waits {
            self.waiting.insert(key, motion);
            if self.waiting.len() > MOST {
                self.waiting.pop_first();
            }
            return None;
        }
        let place = self.bare.iter().position(|bare| *bare == key)?;
        self.bare.remove(place);
        Some(motion)
    }

    /// A reading is told: gives the motion that leads to it, if that has come.
    pub(super) fn told(&mut self, epoch: u32, sequence: u32) -> Option<Move> {
        let motion = self.waiting.remove(&(epoch, sequence));
        if motion.is_none() {
            // The numbers of an earlier boot mean other readings now.
            self.bare.retain(|(of, _)| *of == epoch);
            self.bare.push_back((epoch, sequence));
            if self.bare.len() > MOST {
                self.bare.pop_front();
            }
        }
        motion
    }
}

//! Trees side by side.

use super::answers::{Answers, Place};
use fearless_simd::prelude::*;
use fearless_simd::{Simd, u8x64};

/// Questions a tree asks.
pub(super) const DEPTH: usize = 4;
pub(super) const LEAVES: usize = 1 << DEPTH;
/// Trees that are asked side by side.
const TOGETHER: usize = 64;
/// Half of what an octet can name.
const HALF: u8 = 128;

/// Trees side by side, question by question; those that are missing say nothing.
#[derive(Debug, Clone, PartialEq)]
#[repr(align(64))]
pub(super) struct Grove {
    trees: usize,
    /// Octets of questions that must have been asked.
    asked: usize,
    /// Where the answers stand: octet, and bit in it.
    octets: [[u8; TOGETHER]; DEPTH],
    bits: [[u8; TOGETHER]; DEPTH],
    /// Thousandths of ln of odds for each row of answers, the first answer first.
    leaves: [[i16; LEAVES]; TOGETHER],
}

impl Grove {
    pub fn bare() -> Self {
        Self {
            trees: 0,
            asked: 0,
            octets: [[0; TOGETHER]; DEPTH],
            bits: [[0; TOGETHER]; DEPTH],
            leaves: [[0; LEAVES]; TOGETHER],
        }
    }

    pub fn is_full(&self) -> bool {
        self.trees == TOGETHER
    }

    /// One more tree, for which `asked` octets of questions must have been asked.
    pub fn plant(&mut self, places: [Place; DEPTH], leaves: [i16; LEAVES], asked: usize) {
        for (level, place) in places.into_iter().enumerate() {
            self.octets[level][self.trees] = place.octet;
            self.bits[level][self.trees] = place.bit;
        }
        self.leaves[self.trees] = leaves;
        self.trees += 1;
        self.asked = asked;
    }

    pub fn asked(&self) -> usize {
        self.asked
    }

    /// Thousandths of ln of odds of all of its trees.
    #[inline(always)]
    pub fn thousandths(&self, simd: impl Simd, answers: &Answers) -> i32 {
        let [first, second, third, fourth] = answers.vectors(simd);
        let none = u8x64::splat(simd, 0);
        let mut leaf = none;
        for (octets, bits) in self.octets.iter().zip(&self.bits) {
            let octets = u8x64::load_array_ref(simd, octets);
            let bits = u8x64::load_array_ref(simd, bits);
            let early = first.concat_swizzle_dyn(second, octets);
            let late = third.concat_swizzle_dyn(fourth, octets - HALF);
            let answers = octets.simd_lt(HALF).select(early, late);
            let yes = (answers & bits).simd_eq(none).select(none, u8x64::splat(simd, 1));
            leaf = leaf + leaf + yes;
        }
        let leaf = leaf.to_array();
        // Only so many as there are: of a number that is known beforehand, the compiler would put them into
        // lanes one after the other.
        let trees = self.trees.min(TOGETHER);
        let mut sum = 0;
        for (leaves, leaf) in self.leaves[..trees].iter().zip(&leaf[..trees]) {
            sum += i32::from(leaves[usize::from(*leaf) % LEAVES]);
        }
        sum
    }
}

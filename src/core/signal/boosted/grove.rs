//! Trees side by side.

use super::answers::{Answers, Place};
use fearless_simd::prelude::*;
use fearless_simd::{Simd, mask8x64, u8x64};

/// Questions a tree asks.
pub(super) const DEPTH: usize = 4;
pub(super) const LEAVES: usize = 1 << DEPTH;
/// Trees that are asked side by side.
const TOGETHER: usize = 64;
/// Half of what an octet can name.
const HALF: u8 = 128;
/// No leaf is lower: without a sign, octets add up at once.
const LOWEST: i16 = i16::MIN;

/// One octet a tree.
type Row = [u8; TOGETHER];

/// Trees side by side, question by question; those that are missing say nothing.
#[derive(Debug, Clone, PartialEq)]
#[repr(align(64))]
pub(super) struct Grove {
    /// Where the answers stand: octet, and bit in it.
    octets: [Row; DEPTH],
    bits: [Row; DEPTH],
    /// Thousandths of ln of odds for each row of answers, the first answer first, as far as they are above [`LOWEST`]:
    /// the lower octet, and the higher one.
    low: [Row; LEAVES],
    high: [Row; LEAVES],
    trees: usize,
    /// Octets of questions that must have been asked.
    asked: usize,
}

impl Grove {
    pub fn bare() -> Self {
        Self {
            octets: [[0; TOGETHER]; DEPTH],
            bits: [[0; TOGETHER]; DEPTH],
            low: [[0; TOGETHER]; LEAVES],
            high: [[HALF; TOGETHER]; LEAVES],
            trees: 0,
            asked: 0,
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
        for (answers, leaf) in leaves.into_iter().enumerate() {
            let [low, high] = leaf.wrapping_sub(LOWEST).to_le_bytes();
            self.low[answers][self.trees] = low;
            self.high[answers][self.trees] = high;
        }
        self.trees += 1;
        self.asked = asked;
    }

    pub fn asked(&self) -> usize {
        self.asked
    }

    /// Thousandths of ln of odds of all of its trees.
    #[inline(always)]
    pub fn thousandths(&self, simd: impl Simd, answers: &Answers) -> i32 {
        let yes = self.answered(simd, answers);
        let low: u32 = chosen(simd, &self.low, yes).to_array().into_iter().map(u32::from).sum();
        let high: u32 = chosen(simd, &self.high, yes).to_array().into_iter().map(u32::from).sum();
        let above = (high << u8::BITS) + low;
        above.cast_signed() + i32::from(LOWEST) * TOGETHER as i32
    }

    /// Which trees have a yes to their first question, their second, and so on.
    #[inline(always)]
    fn answered<S: Simd>(&self, simd: S, answers: &Answers) -> [mask8x64<S>; DEPTH] {
        let [first, second, third, fourth] = answers.vectors(simd);
        let none = u8x64::splat(simd, 0);
        let mut yes = [none.simd_gt(none); DEPTH];
        for ((yes, octets), bits) in yes.iter_mut().zip(&self.octets).zip(&self.bits) {
            let octets = u8x64::load_array_ref(simd, octets);
            let bits = u8x64::load_array_ref(simd, bits);
            let early = first.concat_swizzle_dyn(second, octets);
            let late = third.concat_swizzle_dyn(fourth, octets - HALF);
            let answers = octets.simd_lt(HALF).select(early, late);
            *yes = (answers & bits).simd_gt(none);
        }
        yes
    }
}

/// What each tree has in the row of its own answers: half of the rows are out with every answer.
#[inline(always)]
fn chosen<S: Simd>(simd: S, rows: &[Row; LEAVES], yes: [mask8x64<S>; DEPTH]) -> u8x64<S> {
    let mut left = rows.each_ref().map(
        #[inline(always)]
        |row| u8x64::load_array_ref(simd, row),
    );
    let mut count = LEAVES;
    for yes in yes {
        count /= 2;
        for row in 0..count {
            left[row] = yes.select(left[row + count], left[row]);
        }
    }
    left[0]
}

//! What trees ask, and the answers: each question is asked once, however many trees ask it.

use super::INPUTS;
use fearless_simd::prelude::*;
use fearless_simd::{Simd, f32x8, u8x64};

/// Values of one input that are asked about side by side, one for each bit of an octet.
const BITS: usize = 8;
/// Octets of answers, as many as an octet can name, in so many vectors.
const OCTETS: usize = VECTORS * VECTOR;
const VECTORS: usize = 4;
const VECTOR: usize = 64;

/// Every question of a model.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Questions {
    inputs: Vec<u8>,
    above: Vec<Values>,
}

/// The answer is yes above each of these; nothing is above what is missing.
#[derive(Debug, Clone, PartialEq)]
#[repr(align(32))]
struct Values([f32; BITS]);

/// Where the answer of a question stands.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    pub octet: u8,
    pub bit: u8,
}

/// The answers to the first questions of a model.
#[derive(Debug, Clone)]
pub(super) struct Answers {
    octets: [[u8; VECTOR]; VECTORS],
    asked: usize,
}

impl Questions {
    /// Octets of questions.
    pub fn count(&self) -> usize {
        self.inputs.len()
    }

    /// Where this question stands from now on, if there is room for it.
    pub fn place(&mut self, input: u8, above: f32) -> Option<Place> {
        let all = self.inputs.iter().zip(&mut self.above).enumerate();
        let mut alike = all.filter(|(_, (asked, _))| **asked == input);
        let found = alike.find_map(|(octet, (_, Values(values)))| {
            let free = |value: &f32| *value == above || *value == f32::INFINITY;
            let bit = values.iter().position(free)?;
            values[bit] = above;
            Some((octet, bit))
        });
        let (octet, bit) = found.unwrap_or_else(|| {
            let mut values = [f32::INFINITY; BITS];
            values[0] = above;
            self.inputs.push(input);
            self.above.push(Values(values));
            (self.inputs.len() - 1, 0)
        });
        Some(Place { octet: u8::try_from(octet).ok()?, bit: 1 << bit })
    }
}

impl Answers {
    pub const fn none() -> Self {
        Self { octets: [[0; VECTOR]; VECTORS], asked: 0 }
    }

    /// Asks the first `count` octets of questions, as far as they were not asked yet.
    #[inline(always)]
    pub fn ask(
        &mut self,
        simd: impl Simd,
        questions: &Questions,
        count: usize,
        inputs: &[f32; INPUTS],
    ) {
        let count = count.min(OCTETS);
        let places = self.asked..count.max(self.asked);
        let asked = questions.inputs.get(places.clone()).unwrap_or_default();
        let above = questions.above.get(places.clone()).unwrap_or_default();
        let octets = &mut self.octets.as_flattened_mut()[places];
        for ((octet, input), Values(above)) in octets.iter_mut().zip(asked).zip(above) {
            let input = f32x8::splat(simd, inputs[usize::from(*input)]);
            let above = f32x8::load_array_ref(simd, above);
            *octet = input.simd_gt(above).to_bitmask() as u8;
        }
        self.asked = count;
    }

    /// The octets of answers, in vectors.
    #[inline(always)]
    pub fn vectors<S: Simd>(&self, simd: S) -> [u8x64<S>; VECTORS] {
        let [first, second, third, fourth] = &self.octets;
        [first, second, third, fourth].map(|octets| u8x64::load_array_ref(simd, octets))
    }
}

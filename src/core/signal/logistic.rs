//! Probability from a few inputs: logistic regression with products of two inputs.

/// A fitted model of `N` inputs. Each input is first taken from its middle and over its spread, so
/// that the weights compare, and held within `reach`, so that nothing far outside of what was fitted
/// on makes anything sure.
#[derive(Debug, Clone, Copy)]
pub(in crate::core) struct Logistic<const N: usize> {
    pub middle: [f64; N],
    pub spread: [f64; N],
    /// Spreads from the middle beyond which an input says no more.
    pub reach: f64,
    pub bias: f64,
    pub linear: [f64; N],
    /// Weights of products; those with the second index below the first are 0.
    pub product: [[f64; N]; N],
}

/// A model, and the ln of the odds among the pulls that it was fitted on.
#[derive(Debug, Clone, Copy)]
pub(in crate::core) struct Fitted<const N: usize> {
    pub prior_ln_odds: f64,
    pub model: Logistic<N>,
}

/// No trace makes surer than this: 1 in 160 000.
pub(super) const MOST_LN_ODDS: f64 = 12.0;

impl<const N: usize> Logistic<N> {
    /// ln of the odds.
    #[inline(always)]
    pub fn ln_odds(&self, inputs: &[f64; N]) -> f64 {
        let mut taken = [0.0; N];
        for (index, input) in inputs.iter().enumerate() {
            let off = (input - self.middle[index]) / self.spread[index];
            taken[index] = off.clamp(-self.reach, self.reach);
        }
        // Whole rows, and as many of them whatever the row, are worked on side by side.
        let mut slopes = self.linear;
        for (row, one) in self.product.iter().zip(&taken) {
            for (slope, weight) in slopes.iter_mut().zip(row) {
                *slope += weight * one;
            }
        }
        let sum = slopes.iter().zip(&taken).fold(self.bias, |sum, (slope, one)| sum + slope * one);
        sum.clamp(-MOST_LN_ODDS, MOST_LN_ODDS)
    }

    #[inline(always)]
    pub fn probability(&self, inputs: &[f64; N]) -> f64 {
        1.0 / (1.0 + (-self.ln_odds(inputs)).exp())
    }
}

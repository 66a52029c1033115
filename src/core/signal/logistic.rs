//! Probability from a few inputs: logistic regression.

/// A fitted model of `N` inputs.
#[derive(Debug, Clone, Copy)]
pub(super) struct Logistic<const N: usize> {
    pub bias: f64,
    /// One a unit of each input.
    pub weights: [f64; N],
}

impl<const N: usize> Logistic<N> {
    /// ln of the odds.
    pub fn ln_odds(&self, inputs: &[f64; N]) -> f64 {
        let sum: f64 = self.weights.iter().zip(inputs).map(|(weight, input)| weight * input).sum();
        (self.bias + sum).clamp(-MOST_LN_ODDS, MOST_LN_ODDS)
    }

    pub fn probability(&self, inputs: &[f64; N]) -> f64 {
        1.0 / (1.0 + (-self.ln_odds(inputs)).exp())
    }
}

/// No trace makes surer than this: 1 in 160 000.
const MOST_LN_ODDS: f64 = 12.0;

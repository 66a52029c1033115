//! What bears on which fastener a pull was on. One file a source; each gives the natural logarithm of
//! a likelihood (or of a prior, for the order), so that independent sources add up.

pub(super) mod adapter;
pub(super) mod checks;
pub(super) mod known;
pub(super) mod lie;
pub(super) mod mark;
mod members;
pub(super) mod motion;
pub(super) mod order;
mod recipe;
pub(super) mod rotation;
pub(super) mod time;
pub(super) mod torque;
pub(super) mod trace;
pub(super) mod walk;

/// ln of the normal density.
fn ln_normal(x: f64, mean: f64, spread: f64) -> f64 {
    let z = (x - mean) / spread;
    -0.5 * z * z - spread.ln() - 0.918_938_533_204_672_7
}

/// ln of the sum of what `terms` are the logarithms of.
pub(super) fn ln_sum(terms: &[f64]) -> f64 {
    let largest = terms.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if largest == f64::NEG_INFINITY {
        return largest;
    }
    // e to nothing is one; the largest term needs no working out.
    let part = |term: &f64| if *term == largest { 1.0 } else { (term - largest).exp() };
    largest + terms.iter().map(part).sum::<f64>().ln()
}

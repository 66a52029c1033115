//! The normal distribution.

use std::f64::consts::{FRAC_2_SQRT_PI, SQRT_2};

/// Probability that a standard normal value lies below `z`; good to 14 digits.
#[must_use]
pub fn phi(z: f64) -> f64 {
    0.5 * complementary_error_function(-z / SQRT_2)
}

/// 1 − erf x: the power series near zero, the continued fraction of Laplace beyond
/// (DLMF 7.6.2 and 7.9.1).
fn complementary_error_function(x: f64) -> f64 {
    if x.is_nan() {
        return x;
    }
    if x < 0.0 {
        return 2.0 - complementary_error_function(-x);
    }
    if x < 2.5 {
        let (mut term, mut sum) = (x, x);
        for n in 1..200 {
            term *= 2.0 * x * x / f64::from(2 * n + 1);
            sum += term;
            if term < 1e-17 * sum {
                break;
            }
        }
        return 1.0 - FRAC_2_SQRT_PI * (-x * x).exp() * sum;
    }
    if x > 27.0 {
        return 0.0;
    }
    let fraction = (1..=120).rev().fold(x, |below, n| x + f64::from(n) / 2.0 / below);
    (-x * x).exp() * FRAC_2_SQRT_PI / 2.0 / fraction
}

//! Logarithms and powers to seven digits, in half the time: what they are taken of is measured to three.

pub(super) trait Rough {
    fn rough_ln(self) -> f64;
    fn rough_ln_1p(self) -> f64;
    fn rough_exp(self) -> f64;
}

impl Rough for f64 {
    fn rough_ln(self) -> f64 {
        f64::from((self as f32).ln())
    }

    fn rough_ln_1p(self) -> f64 {
        f64::from((self as f32).ln_1p())
    }

    fn rough_exp(self) -> f64 {
        f64::from((self as f32).exp())
    }
}

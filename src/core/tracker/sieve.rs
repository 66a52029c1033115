//! The heaviest of all that a pull could have been, and the weight of the rest.

use crate::core::tracker::evidence::ln_sum;
use crate::core::tracker::pull::Assignment;

/// Accounts looked at for those that have come to the same.
const CONSIDERED: usize = 64;

/// Something that a pull could have been, in one account.
pub(super) struct Candidate {
    /// Natural logarithm of its weight.
    pub ln: f64,
    /// The account's place.
    pub parent: usize,
    pub assignment: Assignment,
    /// Which one it was: of two alike the first is kept.
    number: usize,
}

pub(super) struct Sieve {
    kept: Vec<Candidate>,
    low: Vec<f64>,
    /// ln of the weight below which nothing is kept any more.
    pub least: f64,
    taken: usize,
}

impl Default for Sieve {
    fn default() -> Self {
        Self { kept: Vec::new(), low: Vec::new(), least: f64::MIN, taken: 0 }
    }
}

impl Sieve {
    pub fn take(&mut self, ln: f64, parent: usize, assignment: Assignment) {
        if ln > self.least {
            self.kept.push(Candidate { ln, parent, assignment, number: self.taken });
            self.taken += 1;
        } else if ln > f64::NEG_INFINITY {
            self.low.push(ln);
        }
    }

    /// Lets go of what cannot be among the heaviest any more, once it is much.
    pub fn shake(&mut self) {
        if self.kept.len() >= CONSIDERED + CONSIDERED / 2 {
            self.cut();
        }
    }

    fn cut(&mut self) {
        if self.kept.len() > CONSIDERED {
            self.kept.select_nth_unstable_by(CONSIDERED - 1, Candidate::heavier);
            self.low.extend(self.kept.drain(CONSIDERED..).map(|one| one.ln));
        }
        if let Some(last) = self.kept.get(CONSIDERED - 1) {
            self.least = last.ln;
        }
    }

    /// The heaviest, heaviest first, and ln of the weight of all others.
    pub fn sorted(mut self) -> (Vec<Candidate>, f64) {
        self.cut();
        self.kept.sort_unstable_by(Candidate::heavier);
        (self.kept, ln_sum(&self.low))
    }
}

impl Candidate {
    fn heavier(&self, other: &Self) -> std::cmp::Ordering {
        other.ln.total_cmp(&self.ln).then(self.number.cmp(&other.number))
    }
}

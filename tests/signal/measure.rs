//! Figures of merit.

use std::iter::Sum;

/// The value below which this share lies.
pub fn quantile(values: &mut [f64], share: f64) -> f64 {
    values.sort_unstable_by(f64::total_cmp);
    let last = values.len().saturating_sub(1);
    values.get((last as f64 * share).round() as usize).copied().unwrap_or(f64::NAN)
}

/// A judgement: a score, and whether it is so.
pub type Judged = (f64, bool);

/// Recall at the threshold that lets through at most this share of what is not so.
pub fn recall_at_false(judged: &[Judged], share: f64) -> f64 {
    let mut not_so: Vec<f64> = judged.iter().filter(|one| !one.1).map(|one| one.0).collect();
    not_so.sort_unstable_by(|a, b| b.total_cmp(a));
    let allowed = (not_so.len() as f64 * share) as usize;
    let threshold = not_so.get(allowed).copied().unwrap_or(f64::NEG_INFINITY);
    let (mut found, mut all) = (0.0, 0.0);
    for (score, so) in judged {
        if *so {
            all += 1.0;
            found += f64::from(u8::from(*score > threshold));
        }
    }
    found / all
}

/// Area under the curve of recall against false alarms.
pub fn area(judged: &[Judged]) -> f64 {
    let mut sorted = judged.to_vec();
    sorted.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let (mut below, mut pairs, mut so_count) = (0.0, 0.0, 0.0);
    for (_, so) in sorted {
        if so {
            pairs += below;
            so_count += 1.0;
        } else {
            below += 1.0;
        }
    }
    pairs / (below * so_count)
}

/// Precision and recall of "more probable than `threshold`".
pub fn precision_recall(judged: &[Judged], threshold: f64) -> (f64, f64) {
    let called = judged.iter().filter(|one| one.0 > threshold);
    let (right, called) = called
        .fold((0.0, 0.0), |(right, all), one| (right + f64::from(u8::from(one.1)), all + 1.0));
    let all = judged.iter().filter(|one| one.1).count() as f64;
    (right / f64::max(called, 1.0), right / all)
}

/// Recall at the lowest threshold with at least this precision.
pub fn recall_at_precision(judged: &[Judged], least: f64) -> f64 {
    let mut sorted = judged.to_vec();
    sorted.sort_unstable_by(|a, b| b.0.total_cmp(&a.0));
    let all = judged.iter().filter(|one| one.1).count() as f64;
    let (mut right, mut best) = (0.0, 0.0_f64);
    for (index, (score, so)) in sorted.iter().enumerate() {
        right += f64::from(u8::from(*so));
        let last_of_its_score = sorted.get(index + 1).is_none_or(|next| next.0 < *score);
        if last_of_its_score && right / (index + 1) as f64 >= least {
            best = best.max(right / all);
        }
    }
    best
}

/// Ten equal steps of probability: how many judgements, their sum, how many are so; and the squares of the errors.
#[derive(Debug, Default, Clone)]
pub struct Calibration {
    steps: [(f64, f64, f64); 10],
    squares: f64,
}

impl Calibration {
    pub fn of(judged: &[Judged]) -> Self {
        let mut found = Self::default();
        for (p, so) in judged {
            let so = f64::from(u8::from(*so));
            let step = &mut found.steps[((p * 10.0) as usize).min(9)];
            *step = (step.0 + 1.0, step.1 + p, step.2 + so);
            found.squares += (p - so).powi(2);
        }
        found
    }

    fn count(&self) -> f64 {
        self.steps.iter().map(|step| step.0).sum()
    }

    /// Expected calibration error: the steps' own, weighted by their judgements.
    pub fn error(&self) -> f64 {
        self.steps.iter().map(|(_, p, so)| (p - so).abs()).sum::<f64>() / self.count()
    }

    /// Brier score: the mean square of the error.
    pub fn brier(&self) -> f64 {
        self.squares / self.count()
    }
}

impl<'a> Sum<&'a Self> for Calibration {
    fn sum<I: Iterator<Item = &'a Self>>(all: I) -> Self {
        all.fold(Self::default(), |mut sum, one| {
            for (to, from) in sum.steps.iter_mut().zip(&one.steps) {
                *to = (to.0 + from.0, to.1 + from.1, to.2 + from.2);
            }
            sum.squares += one.squares;
            sum
        })
    }
}

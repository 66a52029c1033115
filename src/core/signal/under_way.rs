//! The pull under way, and when it is over.

use super::constants::{
    END_SHARE_OF_PEAK, END_SHARE_OF_START, LONGEST_S, LOW_SHARE, QUIET_S, RESTED_S, REVERSED_S,
};

#[derive(Debug, Clone, Copy)]
pub(super) struct UnderWay {
    /// +1 for clockwise.
    pub sign: f64,
    pub rate_hz: f64,
    pub turned_at_start: i64,
    pub missing: u32,
    pub saturated: u32,
    limits: Limits,
    peak_nm: f64,
    /// Samples since it began.
    age: u64,
    /// Samples in a row below the end, below the resting share, and against the pull.
    quiet: u64,
    low: u64,
    against: u64,
}

/// Samples after which it is over.
#[derive(Debug, Clone, Copy)]
struct Limits {
    quiet: u64,
    low: u64,
    against: u64,
    age: u64,
}

/// Whether a pull is over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Over {
    Not,
    /// Let go, or nobody pulls that long.
    LetGo,
    /// The next one goes the other way.
    Reversed,
}

impl UnderWay {
    /// One whose first `age` samples are those before it.
    pub fn begin(sign: f64, rate_hz: f64, turned_at_start: i64, age: usize) -> Self {
        let samples = |seconds: f64| ((seconds * rate_hz).ceil() as u64).max(1);
        let limits = Limits {
            quiet: samples(QUIET_S),
            low: samples(RESTED_S),
            against: samples(REVERSED_S),
            age: samples(LONGEST_S),
        };
        Self {
            sign,
            rate_hz,
            turned_at_start,
            missing: 0,
            saturated: 0,
            limits,
            peak_nm: 0.0,
            age: age as u64,
            quiet: 0,
            low: 0,
            against: 0,
        }
    }

    /// One more sample, along the pull. `full` if the adapter cannot show more.
    pub fn add(&mut self, pulled_nm: f64, full: bool) {
        self.age += 1;
        self.peak_nm = self.peak_nm.max(pulled_nm);
        self.saturated = self.saturated.saturating_add(u32::from(full));
    }

    /// Whether it is over with a sample that is yet to be added.
    pub fn over(&mut self, pulled_nm: f64, start_nm: f64) -> Over {
        let counted = |count: u64, more: bool| if more { count + 1 } else { 0 };
        self.against = counted(self.against, -pulled_nm >= start_nm);
        self.quiet = counted(self.quiet, pulled_nm < end_nm(self.peak_nm, start_nm));
        self.low = counted(self.low, pulled_nm < self.peak_nm * LOW_SHARE);
        let limits = self.limits;
        if self.against >= limits.against {
            Over::Reversed
        } else if self.quiet >= limits.quiet || self.low >= limits.low || self.age >= limits.age {
            Over::LetGo
        } else {
            Over::Not
        }
    }

    /// Adds samples one after the other, none of them full, up to the one with which it is over. How many.
    #[inline(always)]
    pub fn add_each(&mut self, pulled_nm: impl Iterator<Item = f64>, start_nm: f64) -> usize {
        let mut count = 0;
        for nm in pulled_nm {
            let mut with = *self;
            if with.over(nm, start_nm) != Over::Not {
                break;
            }
            with.add(nm, false);
            *self = with;
            count += 1;
        }
        count
    }

    /// Adds `count` samples between these ends, if all of them lie to the same side of every limit, and it
    /// is over with none.
    pub fn add_all(&mut self, low_nm: f64, high_nm: f64, count: usize, start_nm: f64) -> bool {
        let peak_nm = self.peak_nm.max(high_nm);
        // While the peak grows, limits do: only what lies above the last of them is plain.
        let grows = peak_nm > self.peak_nm;
        let counted = |so_far: u64, limit_nm: f64| {
            if low_nm >= limit_nm {
                Some(0)
            } else if high_nm < limit_nm && !grows {
                Some(so_far + count as u64)
            } else {
                None
            }
        };
        let quiet = counted(self.quiet, end_nm(peak_nm, start_nm));
        let low = counted(self.low, peak_nm * LOW_SHARE);
        let (Some(quiet), Some(low)) = (quiet, low) else { return false };
        let (age, limits) = (self.age + count as u64, self.limits);
        let goes_on = quiet < limits.quiet && low < limits.low && age < limits.age;
        if !goes_on || -low_nm >= start_nm {
            return false;
        }
        (self.peak_nm, self.age) = (peak_nm, age);
        (self.quiet, self.low, self.against) = (quiet, low, 0);
        true
    }
}

fn end_nm(peak_nm: f64, start_nm: f64) -> f64 {
    (start_nm * END_SHARE_OF_START).max(peak_nm * END_SHARE_OF_PEAK)
}

//! Where the drive stood at each of many samples.

/// In units of the grid, since the stream began.
#[derive(Debug, Clone, Copy)]
pub(super) enum Turns<'a> {
    /// At the same place at all of them.
    Still(i64),
    /// One for each.
    Each(&'a [i64]),
}

impl<'a> Turns<'a> {
    #[inline(always)]
    pub fn at(self, index: usize) -> i64 {
        match self {
            Self::Still(turned) => turned,
            Self::Each(all) => all[index],
        }
    }

    /// Those from this sample on.
    #[inline(always)]
    pub fn after(self, index: usize) -> Self {
        match self {
            Self::Still(_) => self,
            Self::Each(all) => Self::Each(&all[index..]),
        }
    }

    /// Those at `to.len()` samples, put there one for one, each as `what` has it.
    #[inline(always)]
    pub fn copy<T: Copy>(self, to: &mut [T], what: impl Fn(i64) -> T) {
        match self {
            Self::Still(turned) => to.fill(what(turned)),
            Self::Each(all) => {
                for (to, turned) in to.iter_mut().zip(all) {
                    *to = what(*turned);
                }
            }
        }
    }
}

//! What becomes of a job: right, or one fault.

use super::generator::random::Chance;

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    Right,
    /// Begun at another member than the plan says.
    StartElsewhere,
    /// The pattern mirrored, from the member that the plan names first.
    OtherDirection,
    /// The pattern mirrored, from any member.
    Reflected,
    /// Left for some time in the middle.
    Interrupted,
    RoundTheClock,
    /// Two members of the pattern change places, and the order is crooked for it.
    SwappedPair,
    /// One member is left out of every pass.
    Skipped,
    /// One member is pulled again while others wait.
    Doubled,
    /// One member is pulled again in the place of another: the count is right.
    SkippedAndDoubled,
    /// One member is left out of the last pass alone, by count or not.
    MissedLater,
    /// A finished fastener is turned back.
    LoosenedLater,
}

/// Shares of jobs, in hundredths. Half of them are clean.
pub const MIX: [(Kind, f64); 12] = [
    (Kind::Right, 28.0),
    (Kind::StartElsewhere, 6.0),
    (Kind::OtherDirection, 6.0),
    (Kind::Reflected, 5.0),
    (Kind::Interrupted, 7.0),
    (Kind::RoundTheClock, 6.0),
    (Kind::SwappedPair, 6.0),
    (Kind::Skipped, 9.0),
    (Kind::Doubled, 9.0),
    (Kind::SkippedAndDoubled, 9.0),
    (Kind::MissedLater, 6.0),
    (Kind::LoosenedLater, 3.0),
];

impl Kind {
    pub fn any(chance: &mut Chance) -> Self {
        let mut left = chance.even(0.0, MIX.iter().map(|(_, share)| share).sum());
        for (kind, share) in MIX {
            left -= share;
            if left < 0.0 {
                return kind;
            }
        }
        Self::Right
    }

    /// True if nothing is wrong with the job.
    pub fn clean(self) -> bool {
        matches!(
            self,
            Self::Right
                | Self::StartElsewhere
                | Self::OtherDirection
                | Self::Reflected
                | Self::Interrupted
        )
    }
}

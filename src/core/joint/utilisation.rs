//! Whether a target fits the size and strength of its thread.

use crate::core::joint::seat::Seat;
use crate::core::joint::strength::Grade;
use crate::core::joint::thread::Thread;
use crate::core::units::Torque;

/// The nut factor of the reference scale: plain steel as received. A scale, never a specification.
pub const REFERENCE_NUT_FACTOR: f64 = 0.20;

/// Torque that would bring the proof load at the reference nut factor: 0.20 · d · S_p · A_s.
/// `None` for a size that the grade's standard does not cover.
#[must_use]
pub fn reference_torque(thread: &Thread, grade: Grade) -> Option<Torque> {
    let load = grade.proof_load_n(thread)?;
    Some(Torque::from_nm(REFERENCE_NUT_FACTOR * thread.diameter_mm / 1000.0 * load))
}

/// How much of that torque a target is.
#[must_use]
pub fn utilisation(target: Torque, thread: &Thread, grade: Grade) -> Option<f64> {
    Some(target.nm() / reference_torque(thread, grade)?.nm())
}

/// What a utilisation says of a target. Bounds are for hexagon heads on a flat seat; a cone or a ball
/// raises the upper ones.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fit {
    /// Below 0.05: no clamped joint.
    Implausible,
    /// 0.05 to 0.15: perhaps another unit.
    Doubtful,
    /// 0.15 to 0.30: a soft joint, a thread in aluminium, a small head.
    Low,
    /// 0.30 to 0.92.
    Usual,
    /// 0.92 to 1.16: yields where friction is 0.14 to 0.20 or less.
    MayYield,
    /// 1.16 to 1.45: yields unless friction is unusually high.
    Yields,
    /// Above 1.45: yields at every friction up to 0.30.
    Beyond,
}

impl Fit {
    /// What this utilisation says on this seat.
    #[must_use]
    pub fn of(utilisation: f64, seat: Seat) -> Self {
        let upper = utilisation / seat.factor();
        if utilisation < 0.05 {
            Self::Implausible
        } else if utilisation < 0.15 {
            Self::Doubtful
        } else if utilisation < 0.30 {
            Self::Low
        } else if upper < 0.92 {
            Self::Usual
        } else if upper < 1.16 {
            Self::MayYield
        } else if upper <= 1.45 {
            Self::Yields
        } else {
            Self::Beyond
        }
    }
}

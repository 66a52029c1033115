//! Slots of a castle nut and holes of its bolt: how far to the next place for the pin.

use serde::{Deserialize, Serialize};

/// Degrees from one place for the pin to the next.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct SlotPitch(f64);

impl SlotPitch {
    /// Of a nut with `slots` slots on a bolt with `holes` cross-holes spread evenly over half a turn
    /// (DIN 935: 6 slots up to M39, 8 from M42). The two ends of one hole lie half a turn apart, so a
    /// place comes up every greatest common measure of slot and hole spacing.
    #[must_use]
    pub fn of(slots: u16, holes: u16) -> Option<Self> {
        if !(2..=24).contains(&slots) || !(1..=4).contains(&holes) {
            return None;
        }
        // In units of 360° / (slots · 2 · holes): a slot spans 2·holes of them, a hole end `slots`.
        let (mut a, mut b) = (u32::from(2 * holes), u32::from(slots));
        let turn = a * b;
        while b != 0 {
            (a, b) = (b, a % b);
        }
        Some(Self(360.0 * f64::from(a) / f64::from(turn)))
    }

    /// Degrees, above 0 and at most 180.
    #[must_use]
    pub fn from_degrees(degrees: f64) -> Option<Self> {
        (degrees > 0.0 && degrees <= 180.0).then_some(Self(degrees))
    }

    /// Degrees.
    #[must_use]
    pub const fn degrees(self) -> f64 {
        self.0
    }

    /// How far the nut goes on average, degrees: where torque is reached is anywhere between two places.
    #[must_use]
    pub const fn expected(self) -> f64 {
        self.0 / 2.0
    }
}

impl Default for SlotPitch {
    /// Six slots, one hole.
    fn default() -> Self {
        Self(60.0)
    }
}

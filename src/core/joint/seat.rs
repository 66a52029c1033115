//! What a nut or a bolt head bears on.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::f64::consts::FRAC_PI_4;

/// The shape of a seat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Seat {
    /// A flat face or a washer.
    #[default]
    Flat,
    /// A ball, at about 45° to the axis where it bears.
    Ball,
    /// A cone of 60° included angle.
    Cone,
}

impl Seat {
    /// Sine of the angle between the seat and the axis: what friction under the seat is divided by.
    #[must_use]
    pub fn sine(self) -> f64 {
        match self {
            Self::Flat => 1.0,
            Self::Ball => FRAC_PI_4.sin(),
            Self::Cone => 0.5,
        }
    }

    /// How much more torque than on a flat seat brings the same stretch, rounded as it is used to judge
    /// targets: K of the seat over K of a hexagon head, M12×1.5, friction 0.14.
    #[must_use]
    pub const fn factor(self) -> f64 {
        match self {
            Self::Flat => 1.0,
            Self::Ball => 1.25,
            Self::Cone => 1.5,
        }
    }
}

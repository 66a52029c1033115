//! Torque and its units.
//!
//! Everything is compared in N·m, unrounded. What a person entered is kept beside the converted value.
//! Reading text is in `parse`, writing it in `display`; neither ever feeds a comparison.

mod display;
mod parse;

pub use display::{Round, decimals, format_torque, format_value};
pub use parse::UnitError;
pub(in crate::core) use parse::{parse_number, split_number};

use serde::{Deserialize, Serialize};
use std::fmt;
use utoipa::ToSchema;

/// Torque in newton metres. Clockwise (tightening a right-hand thread) is positive.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize, ToSchema)]
#[serde(transparent)]
pub struct Torque(f64);

impl Torque {
    /// `nm` newton metres.
    #[must_use]
    pub const fn from_nm(nm: f64) -> Self {
        Self(nm)
    }

    /// The value in newton metres.
    #[must_use]
    pub const fn nm(self) -> f64 {
        self.0
    }
}

/// A unit that torque is stated in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, ToSchema)]
pub enum TorqueUnit {
    /// Newton metre.
    #[default]
    #[serde(rename = "N·m")]
    NewtonMetre,
    /// Pound-force foot.
    #[serde(rename = "lbf·ft")]
    PoundForceFoot,
    /// Pound-force inch.
    #[serde(rename = "lbf·in")]
    PoundForceInch,
    /// Kilogram-force metre.
    #[serde(rename = "kgf·m")]
    KilogramForceMetre,
    /// Kilogram-force centimetre.
    #[serde(rename = "kgf·cm")]
    KilogramForceCentimetre,
    /// Ounce-force inch.
    #[serde(rename = "ozf·in")]
    OunceForceInch,
}

impl TorqueUnit {
    /// Every unit, in the order in which help lists them.
    pub const ALL: [Self; 6] = [
        Self::NewtonMetre,
        Self::PoundForceFoot,
        Self::PoundForceInch,
        Self::KilogramForceMetre,
        Self::KilogramForceCentimetre,
        Self::OunceForceInch,
    ];

    /// Newton metres in one of this unit: exact, from 1 lb = 0.453 592 37 kg, g = 9.806 65 m/s²
    /// and 1 in = 0.0254 m (SI Brochure; NIST SP 811, appendix B).
    #[must_use]
    pub const fn newton_metres(self) -> f64 {
        match self {
            Self::NewtonMetre => 1.0,
            Self::PoundForceFoot => 1.355_817_948_331_400_4,
            Self::PoundForceInch => 0.112_984_829_027_616_7,
            Self::KilogramForceMetre => 9.806_65,
            Self::KilogramForceCentimetre => 0.098_066_5,
            Self::OunceForceInch => 0.007_061_551_814_226_044,
        }
    }

    /// The canonical symbol.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::NewtonMetre => "N·m",
            Self::PoundForceFoot => "lbf·ft",
            Self::PoundForceInch => "lbf·in",
            Self::KilogramForceMetre => "kgf·m",
            Self::KilogramForceCentimetre => "kgf·cm",
            Self::OunceForceInch => "ozf·in",
        }
    }
}

impl fmt::Display for TorqueUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

/// A torque as somebody entered it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct StatedTorque {
    /// The number in `unit`.
    pub value: f64,
    /// The unit it was entered in.
    pub unit: TorqueUnit,
}

impl StatedTorque {
    /// The same torque in newton metres, unrounded.
    #[must_use]
    pub fn torque(&self) -> Torque {
        Torque::from_nm(self.value * self.unit.newton_metres())
    }
}

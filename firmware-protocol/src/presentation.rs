//! Characteristic Presentation Format (descriptor 0x2904): in what unit a value is given.

use core::fmt;

use crate::error::{Error, Length};
use crate::fields::{Field, View};
use crate::octets::Octets;

const MESSAGE: &str = "presentation format";

mod field {
    use super::Field;

    pub(super) const FORMAT: Field = 0..1;
    pub(super) const EXPONENT: Field = FORMAT.end..FORMAT.end + 1;
    pub(super) const UNIT: Field = EXPONENT.end..EXPONENT.end + 2;
    pub(super) const NAMESPACE: Field = UNIT.end..UNIT.end + 1;
    pub(super) const DESCRIPTION: Field = NAMESPACE.end..NAMESPACE.end + 2;
}

/// How a value is to be read: integer × 10^exponent × unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct PresentationFormat {
    /// The integer's form, as assigned; [`PresentationFormat::SINT32`] for torque.
    pub format: u8,
    /// The power of ten.
    pub exponent: i8,
    /// The unit, as assigned; [`PresentationFormat::NEWTON_METRE`] for torque.
    pub unit: u16,
    /// Who assigned the description; 1 is the Bluetooth SIG.
    pub namespace: u8,
    /// A description as assigned, 0 for none.
    pub description: u16,
}

impl PresentationFormat {
    /// The octets of the descriptor.
    pub const LENGTH: usize = field::DESCRIPTION.end;
    /// The format of a signed integer of 32 bits.
    pub const SINT32: u8 = 0x10;
    /// The unit newton metre (moment of force).
    pub const NEWTON_METRE: u16 = 0x2741;
    /// The namespace of the Bluetooth SIG.
    pub const NAMESPACE_SIG: u8 = 1;
    /// What the descriptor of a torque value must say: sint32 in 0.01 N·m.
    pub const TORQUE: Self = Self {
        format: Self::SINT32,
        exponent: -2,
        unit: Self::NEWTON_METRE,
        namespace: Self::NAMESPACE_SIG,
        description: 0,
    };

    /// Reads the descriptor.
    ///
    /// # Errors
    ///
    /// [`Error::Length`] for anything but 7 octets.
    pub fn parse(octets: &[u8]) -> Result<Self, Error> {
        let view = View::new(MESSAGE, Length::Exactly(Self::LENGTH), octets)?;
        Ok(Self {
            format: view.u8(field::FORMAT),
            exponent: view.i8(field::EXPONENT),
            unit: view.u16(field::UNIT),
            namespace: view.u8(field::NAMESPACE),
            description: view.u16(field::DESCRIPTION),
        })
    }

    /// The octets of the descriptor.
    #[must_use]
    pub fn emit(self) -> Octets {
        Octets::new()
            .with(&[self.format])
            .with(&self.exponent.to_le_bytes())
            .with(&self.unit.to_le_bytes())
            .with(&[self.namespace])
            .with(&self.description.to_le_bytes())
    }

    /// Refuses a descriptor under which a torque value could not be read as 0.01 N·m.
    /// The description is not looked at.
    ///
    /// # Errors
    ///
    /// [`Error::Value`] naming the first of format, exponent and unit that differs.
    pub fn check_torque(self) -> Result<(), Error> {
        let refuse = |expected, found| Err(Error::Value { message: MESSAGE, expected, found });
        if self.format != Self::SINT32 {
            refuse("the format 16 (sint32)", self.format.into())
        } else if self.exponent != Self::TORQUE.exponent {
            refuse("the exponent -2", self.exponent.into())
        } else if self.unit != Self::NEWTON_METRE {
            refuse("the unit 10049 (0x2741, newton metre)", self.unit.into())
        } else {
            Ok(())
        }
    }
}

impl fmt::Display for PresentationFormat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "presentation format {:#04x}, exponent {}, unit {:#06x}, namespace {}, description {}",
            self.format, self.exponent, self.unit, self.namespace, self.description
        )
    }
}

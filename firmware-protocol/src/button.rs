//! Button: the operator pressed the adapter's own button (L2).

use core::fmt;

use crate::error::{Error, Length};
use crate::fields::{Field, View};
use crate::key::{Epoch, check_epoch};
use crate::octets::Octets;
use crate::tick::Tick;
use crate::versioned::Versioned;

const MESSAGE: &str = "button";

mod field {
    use super::Field;

    pub(super) const EPOCH: Field = 0..2;
    pub(super) const COUNTER: Field = EPOCH.end..EPOCH.end + 2;
    pub(super) const TICK: Field = COUNTER.end..COUNTER.end + 4;
    pub(super) const PRESS: Field = TICK.end..TICK.end + 1;
}

/// How the button was pressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Press {
    /// Once, under 0.8 s.
    Short,
    /// Once, from 0.8 s to under 3 s; a longer one enters pairing mode and is not told.
    Long,
    /// Twice within 0.5 s.
    Double,
    /// A way that this crate has no name for, 0 or 4 to 15.
    Other(u8),
}

impl Press {
    const fn from_raw(raw: u8) -> Self {
        match raw & 0x0F {
            1 => Self::Short,
            2 => Self::Long,
            3 => Self::Double,
            other => Self::Other(other),
        }
    }

    const fn raw(self) -> u8 {
        match self {
            Self::Short => 1,
            Self::Long => 2,
            Self::Double => 3,
            Self::Other(raw) => raw & 0x0F,
        }
    }
}

impl fmt::Display for Press {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Short => f.write_str("short"),
            Self::Long => f.write_str("long"),
            Self::Double => f.write_str("double"),
            Self::Other(raw) => write!(f, "press {raw}"),
        }
    }
}

/// One press of the button.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Button {
    /// The current boot.
    pub epoch: Epoch,
    /// Counts presses within the boot, 65 535 followed by 0: a lost one is noticed.
    pub counter: u16,
    /// When it was pressed.
    pub at: Tick,
    /// How it was pressed.
    pub press: Press,
}

impl Button {
    /// The octets of a press of this version.
    pub const LENGTH: usize = field::PRESS.end;
    /// The version, in the top four bits of the last octet.
    pub const VERSION: u8 = 1;

    /// Reads a press.
    ///
    /// # Errors
    ///
    /// [`Error::Length`] for fewer than 9 octets, or for more in this version; [`Error::Value`] for
    /// an epoch of zero.
    pub fn parse(octets: &[u8]) -> Result<Versioned<'_, Self>, Error> {
        let view = View::new(MESSAGE, Length::AtLeast(Self::LENGTH), octets)?;
        let version = view.u8(field::PRESS) >> 4;
        if version != Self::VERSION {
            return Ok(Versioned::Unknown { version, octets });
        }
        Length::Exactly(Self::LENGTH).check(MESSAGE, octets)?;
        Ok(Versioned::Known(Self {
            epoch: check_epoch(MESSAGE, view.u16(field::EPOCH))?,
            counter: view.u16(field::COUNTER),
            at: Tick(view.u32(field::TICK)),
            press: Press::from_raw(view.u8(field::PRESS)),
        }))
    }

    /// The octets of the press.
    #[must_use]
    pub fn emit(&self) -> Octets {
        Octets::new()
            .with(&self.epoch.get().to_le_bytes())
            .with(&self.counter.to_le_bytes())
            .with(&self.at.0.to_le_bytes())
            .with(&[(Self::VERSION << 4) | self.press.raw()])
    }
}

impl fmt::Display for Button {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "button epoch {}, press {}, at {}, {}",
            self.epoch, self.counter, self.at, self.press
        )
    }
}

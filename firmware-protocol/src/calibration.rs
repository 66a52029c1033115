//! Calibration: when the adapter was last compared with a reference, and what it has done since (L1).

use core::fmt;

use crate::error::{Error, Length};
use crate::fields::{Field, View};
use crate::flags::flags;
use crate::octets::Octets;
use crate::reading::{join_version, split_version};
use crate::versioned::Versioned;

const MESSAGE: &str = "calibration";

mod field {
    use super::Field;

    pub(super) const DONE: Field = 0..4;
    pub(super) const DUE: Field = DONE.end..DONE.end + 4;
    pub(super) const PULLS: Field = DUE.end..DUE.end + 4;
    pub(super) const OVERLOADS: Field = PULLS.end..PULLS.end + 2;
    pub(super) const FLAGS: Field = OVERLOADS.end..OVERLOADS.end + 2;
}

flags! {
    /// What else is to be known about the calibration: the lower 12 bits of its last field.
    CalibrationFlags(u16) {
        /// The scale was changed after the calibration named here.
        ADJUSTED_SINCE = 0, "adjusted-since";
    }
}

/// A date in the Gregorian calendar, or not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Date {
    year: u16,
    month: u8,
    day: u8,
}

impl Date {
    /// The date is not known.
    pub const NOT_KNOWN: Self = Self { year: 0, month: 0, day: 0 };

    /// A date, or `None` if the month has no such day. Years from 1582 to 9999.
    #[must_use]
    pub const fn new(year: u16, month: u8, day: u8) -> Option<Self> {
        let leap =
            year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
        let days = match month {
            1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
            4 | 6 | 9 | 11 => 30,
            2 if leap => 29,
            2 => 28,
            _ => 0,
        };
        if year >= 1582 && year <= 9999 && day >= 1 && day <= days {
            Some(Self { year, month, day })
        } else {
            None
        }
    }

    /// Year, month and day, or `None` where the date is not known.
    #[must_use]
    pub const fn year_month_day(self) -> Option<(u16, u8, u8)> {
        if self.year == 0 { None } else { Some((self.year, self.month, self.day)) }
    }

    fn from_raw(raw: u32) -> Result<Self, Error> {
        let [low, high, month, day] = raw.to_le_bytes();
        if raw == 0 {
            return Ok(Self::NOT_KNOWN);
        }
        Self::new(u16::from_le_bytes([low, high]), month, day).ok_or(Error::Value {
            message: MESSAGE,
            expected: "a date of the calendar as year, month, day, or all zero",
            found: raw.into(),
        })
    }

    fn octets(self) -> [u8; 4] {
        let [low, high] = self.year.to_le_bytes();
        [low, high, self.month, self.day]
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.year_month_day() {
            None => f.write_str("not known"),
            Some((year, month, day)) => write!(f, "{year:04}-{month:02}-{day:02}"),
        }
    }
}

/// When the adapter was last calibrated, and what it has done since.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Calibration {
    /// The day of the last calibration.
    pub done: Date,
    /// The day from which the calibration is no longer to be relied on.
    pub due: Date,
    /// Pulls since the last calibration.
    pub pulls: u32,
    /// Overloads since the last calibration; 65 535 also stands for more.
    pub overloads: u16,
    /// What else is to be known.
    pub flags: CalibrationFlags,
}

impl Calibration {
    /// The octets that this version defines.
    pub const LENGTH: usize = field::FLAGS.end;
    /// The version of the message, in the top four bits of its last field.
    pub const VERSION: u8 = 1;

    /// Reads a calibration.
    ///
    /// # Errors
    ///
    /// [`Error::Length`] for fewer than 16 octets, or for more in this version; [`Error::Value`] for
    /// a date that the calendar does not have.
    pub fn parse(octets: &[u8]) -> Result<Versioned<'_, Self>, Error> {
        let view = View::new(MESSAGE, Length::AtLeast(Self::LENGTH), octets)?;
        let (version, flags) = split_version(view.u16(field::FLAGS));
        if version != Self::VERSION {
            return Ok(Versioned::Unknown { version, octets });
        }
        Length::Exactly(Self::LENGTH).check(MESSAGE, octets)?;
        Ok(Versioned::Known(Self {
            done: Date::from_raw(view.u32(field::DONE))?,
            due: Date::from_raw(view.u32(field::DUE))?,
            pulls: view.u32(field::PULLS),
            overloads: view.u16(field::OVERLOADS),
            flags: CalibrationFlags(flags),
        }))
    }

    /// The octets of the calibration.
    #[must_use]
    pub fn emit(&self) -> Octets {
        Octets::new()
            .with(&self.done.octets())
            .with(&self.due.octets())
            .with(&self.pulls.to_le_bytes())
            .with(&self.overloads.to_le_bytes())
            .with(&join_version(Self::VERSION, self.flags.bits()).to_le_bytes())
    }
}

impl fmt::Display for Calibration {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "calibration done {}, due {}, pulls {}, overloads {}, flags {}",
            self.done, self.due, self.pulls, self.overloads, self.flags
        )
    }
}

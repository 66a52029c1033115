//! Capability: what an adapter is and can tell (L1).

use core::fmt;

use crate::error::{Error, Length};
use crate::fields::{Field, View};
use crate::flags::flags;
use crate::octets::Octets;
use crate::versioned::Versioned;

const MESSAGE: &str = "capability";

mod field {
    use super::Field;

    pub(super) const MAJOR: Field = 0..1;
    pub(super) const MINOR: Field = MAJOR.end..MAJOR.end + 1;
    pub(super) const LEVELS: Field = MINOR.end..MINOR.end + 1;
    pub(super) const DRIVE: Field = LEVELS.end..LEVELS.end + 1;
    pub(super) const FEATURES: Field = DRIVE.end..DRIVE.end + 2;
    pub(super) const RANGE_LEAST: Field = FEATURES.end..FEATURES.end + 4;
    pub(super) const RANGE_MOST: Field = RANGE_LEAST.end..RANGE_LEAST.end + 4;
    pub(super) const ACCURACY: Field = RANGE_MOST.end..RANGE_MOST.end + 2;
    pub(super) const CAPACITY: Field = ACCURACY.end..ACCURACY.end + 2;
    pub(super) const TRACE_RATE: Field = CAPACITY.end..CAPACITY.end + 2;
}

flags! {
    /// The levels of the protocol that an adapter keeps in full.
    Levels(u8) {
        /// Live torque.
        L0 = 0, "L0";
        /// Reading records that are kept until released.
        L1 = 1, "L1";
        /// Trace, set-point, button.
        L2 = 2, "L2";
        /// Motion between readings.
        L3 = 3, "L3";
    }
}

flags! {
    /// What an adapter can tell or do.
    Features(u16) {
        /// Readings carry the peak of the pull.
        PEAK = 0, "peak";
        /// Readings carry the rotation of the drive.
        ROTATION = 1, "rotation";
        /// Sends a trace.
        TRACE = 2, "trace";
        /// A trace carries rotation as well.
        TRACE_ROTATION = 3, "trace-rotation";
        /// Sends motion between readings.
        MOTION = 4, "motion";
        /// Has a button for the host.
        BUTTON = 5, "button";
        /// Takes a set-point and guides the hand by it.
        SET_POINT = 6, "set-point";
        /// Shows or sounds a cue from the host.
        CUE = 7, "cue";
        /// Calibrated clockwise.
        CLOCKWISE = 8, "clockwise";
        /// Calibrated anticlockwise.
        ANTICLOCKWISE = 9, "anticlockwise";
    }
}

/// The nominal size of the adapter's square drive, in steps of 0.1 mm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Drive(pub u8);

impl Drive {
    /// The drive is not told, or is not a square.
    pub const NOT_KNOWN: Self = Self(0);
    /// 6.3 mm, called 1/4 inch.
    pub const QUARTER_INCH: Self = Self(63);
    /// 10 mm, called 3/8 inch.
    pub const THREE_EIGHTHS_INCH: Self = Self(100);
    /// 12.5 mm, called 1/2 inch.
    pub const HALF_INCH: Self = Self(125);
    /// 20 mm, called 3/4 inch.
    pub const THREE_QUARTERS_INCH: Self = Self(200);
    /// 25 mm, called 1 inch.
    pub const ONE_INCH: Self = Self(250);
}

impl fmt::Display for Drive {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            0 => f.write_str("not known"),
            size => write!(f, "{}.{} mm", size / 10, size % 10),
        }
    }
}

/// What an adapter is and can tell. It does not change while a link is up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Capability {
    /// The minor version of the protocol; the major one is [`Capability::MAJOR`].
    pub minor: u8,
    /// The levels kept.
    pub levels: Levels,
    /// The square drive.
    pub drive: Drive,
    /// What it can tell or do.
    pub features: Features,
    /// The least torque of the calibrated range, in hundredths of a newton metre, either direction.
    pub range_least: u32,
    /// The largest torque of the calibrated range, in hundredths of a newton metre, either direction.
    pub range_most: u32,
    /// The half-width of the calibrated interval in hundredths of a per cent of the reading, or
    /// `None` where it is not told.
    pub accuracy: Option<u16>,
    /// How many records the adapter can hold; 65 535 also stands for more.
    pub capacity: u16,
    /// The samples a second of its trace, 0 for no trace.
    pub trace_rate: u16,
}

impl Capability {
    /// The octets that this version defines; a later minor version may append more.
    pub const LENGTH: usize = field::TRACE_RATE.end;
    /// The major version that this layout belongs to.
    pub const MAJOR: u8 = crate::MAJOR;
    const NO_ACCURACY: u16 = 0xFFFF;

    /// Reads a capability. Octets beyond [`Capability::LENGTH`] belong to a later minor version and
    /// are not looked at.
    ///
    /// # Errors
    ///
    /// [`Error::Length`] for no octet, or for fewer than 20 in this major version; [`Error::Value`]
    /// for a range whose least torque is above its largest.
    pub fn parse(octets: &[u8]) -> Result<Versioned<'_, Self>, Error> {
        let version =
            View::new(MESSAGE, Length::AtLeast(field::MAJOR.end), octets)?.u8(field::MAJOR);
        if version != Self::MAJOR {
            return Ok(Versioned::Unknown { version, octets });
        }
        let view = View::new(MESSAGE, Length::AtLeast(Self::LENGTH), octets)?;
        let range_least = view.u32(field::RANGE_LEAST);
        let range_most = view.u32(field::RANGE_MOST);
        if range_least > range_most {
            return Err(Error::Value {
                message: MESSAGE,
                expected: "a least torque no higher than the largest of the range",
                found: range_least.into(),
            });
        }
        let accuracy = view.u16(field::ACCURACY);
        Ok(Versioned::Known(Self {
            minor: view.u8(field::MINOR),
            levels: Levels(view.u8(field::LEVELS)),
            drive: Drive(view.u8(field::DRIVE)),
            features: Features(view.u16(field::FEATURES)),
            range_least,
            range_most,
            accuracy: (accuracy != Self::NO_ACCURACY).then_some(accuracy),
            capacity: view.u16(field::CAPACITY),
            trace_rate: view.u16(field::TRACE_RATE),
        }))
    }

    /// The octets of the capability.
    #[must_use]
    pub fn emit(&self) -> Octets {
        Octets::new()
            .with(&[Self::MAJOR, self.minor, self.levels.bits(), self.drive.0])
            .with(&self.features.bits().to_le_bytes())
            .with(&self.range_least.to_le_bytes())
            .with(&self.range_most.to_le_bytes())
            .with(&self.accuracy.unwrap_or(Self::NO_ACCURACY).to_le_bytes())
            .with(&self.capacity.to_le_bytes())
            .with(&self.trace_rate.to_le_bytes())
    }
}

impl fmt::Display for Capability {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "capability version {}.{}, levels {}, drive {}, features {}, range {}.{:02} to {}.{:02} N·m, accuracy ",
            Self::MAJOR,
            self.minor,
            self.levels,
            self.drive,
            self.features,
            self.range_least / 100,
            self.range_least % 100,
            self.range_most / 100,
            self.range_most % 100,
        )?;
        match self.accuracy {
            None => f.write_str("not known")?,
            Some(value) => write!(f, "{}.{:02} %", value / 100, value % 100)?,
        }
        write!(f, ", capacity {}, trace {} Hz", self.capacity, self.trace_rate)
    }
}

//! Set-point: what the next pull should reach, so that the adapter can guide the hand (L2).

use core::fmt;

use crate::error::{Error, Length};
use crate::fields::{Field, View};
use crate::octets::Octets;
use crate::reading::{join_version, split_version};
use crate::rotation::Rotation;
use crate::torque::Torque;
use crate::versioned::Versioned;

const MESSAGE: &str = "set-point";

mod field {
    use super::Field;

    pub(super) const NUMBER: Field = 0..2;
    pub(super) const TARGET: Field = NUMBER.end..NUMBER.end + 4;
    pub(super) const LOW: Field = TARGET.end..TARGET.end + 4;
    pub(super) const HIGH: Field = LOW.end..LOW.end + 4;
    pub(super) const ROTATION: Field = HIGH.end..HIGH.end + 2;
    pub(super) const SECONDS: Field = ROTATION.end..ROTATION.end + 2;
    pub(super) const FLAGS: Field = SECONDS.end..SECONDS.end + 2;
}

/// A target and the window around it. All torques have the sign of the direction: positive for
/// clockwise, negative for anticlockwise. Low is the limit of smaller size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Window {
    target: Torque,
    low: Torque,
    high: Torque,
    rotation: Rotation,
}

impl Window {
    /// A window. A limit that is not known is not there: a castle nut has a low one only. The
    /// rotation is how far the drive should turn after the target was reached, if known.
    ///
    /// # Errors
    ///
    /// [`Error::Value`] for a target that is zero or not known, for a limit or a rotation in the
    /// other direction, or for limits that do not hold the target between them.
    pub fn new(
        target: Torque,
        low: Torque,
        high: Torque,
        rotation: Rotation,
    ) -> Result<Self, Error> {
        let refuse = |expected, found: Torque| {
            Err(Error::Value { message: MESSAGE, expected, found: found.raw().into() })
        };
        let Some(aim) = target.centinewton_metres().filter(|aim| *aim != 0) else {
            return refuse("a known target other than zero", target);
        };
        let along = |limit: Torque| {
            limit.centinewton_metres().map(|value| i64::from(value) * i64::from(aim.signum()))
        };
        let size = i64::from(aim).abs();
        if along(low).is_some_and(|low| low < 0 || low > size) {
            return refuse("a low limit from zero to the target", low);
        }
        if along(high).is_some_and(|high| high < size) {
            return refuse("a high limit at or beyond the target", high);
        }
        if let Some(turn) =
            rotation.tenths().filter(|turn| i32::from(turn.signum()) == -aim.signum())
        {
            return Err(Error::Value {
                message: MESSAGE,
                expected: "a rotation in the direction of the target",
                found: turn.into(),
            });
        }
        Ok(Self { target, low, high, rotation })
    }

    /// The torque to aim at.
    #[must_use]
    pub const fn target(&self) -> Torque {
        self.target
    }

    /// The limit below which a pull is low, or not known for none.
    #[must_use]
    pub const fn low(&self) -> Torque {
        self.low
    }

    /// The limit above which a pull is over, or not known for none.
    #[must_use]
    pub const fn high(&self) -> Torque {
        self.high
    }

    /// How far to turn after the target was reached, or not known for none.
    #[must_use]
    pub const fn rotation(&self) -> Rotation {
        self.rotation
    }

    /// Whether the target is in the clockwise direction.
    #[must_use]
    pub const fn is_clockwise(&self) -> bool {
        self.target.raw() > 0
    }
}

/// What the next pull should reach.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct SetPoint {
    /// The host's own number for it.
    pub number: u16,
    /// The window, or `None` for no guidance.
    pub window: Option<Window>,
    /// The seconds after which the adapter stops guiding, from 1.
    pub seconds: u16,
}

impl SetPoint {
    /// The octets of a set-point of this version.
    pub const LENGTH: usize = field::FLAGS.end;
    /// The version, in the top four bits of the last field.
    pub const VERSION: u8 = 1;

    /// Reads a set-point.
    ///
    /// # Errors
    ///
    /// [`Error::Length`] for fewer than 20 octets, or for more in this version; [`Error::Value`] for
    /// a window that cannot be, for a window without a target, for a window that lasts 0 s, or for a
    /// flag, as this version has none.
    pub fn parse(octets: &[u8]) -> Result<Versioned<'_, Self>, Error> {
        let view = View::new(MESSAGE, Length::AtLeast(Self::LENGTH), octets)?;
        let (version, flags) = split_version(view.u16(field::FLAGS));
        if version != Self::VERSION {
            return Ok(Versioned::Unknown { version, octets });
        }
        Length::Exactly(Self::LENGTH).check(MESSAGE, octets)?;
        let refuse = |expected, found| Err(Error::Value { message: MESSAGE, expected, found });
        if flags != 0 {
            return refuse("no flags", flags.into());
        }
        let torque = |field| Torque::from_centinewton_metres(view.i32(field));
        let (target, low, high) = (torque(field::TARGET), torque(field::LOW), torque(field::HIGH));
        let rotation = Rotation::from_raw(view.i16(field::ROTATION));
        let seconds = view.u16(field::SECONDS);
        let nothing =
            [target, low, high] == [Torque::NOT_KNOWN; 3] && rotation == Rotation::NOT_KNOWN;
        let window = if nothing { None } else { Some(Window::new(target, low, high, rotation)?) };
        if window.is_some() && seconds == 0 {
            return refuse("a window that lasts 1 s or more", seconds.into());
        }
        Ok(Versioned::Known(Self { number: view.u16(field::NUMBER), window, seconds }))
    }

    /// The octets of the set-point.
    #[must_use]
    pub fn emit(&self) -> Octets {
        let torque = |of: fn(&Window) -> Torque| {
            self.window.as_ref().map_or(Torque::NOT_KNOWN, of).raw().to_le_bytes()
        };
        let rotation = self.window.map_or(Rotation::NOT_KNOWN, |window| window.rotation);
        Octets::new()
            .with(&self.number.to_le_bytes())
            .with(&torque(Window::target))
            .with(&torque(Window::low))
            .with(&torque(Window::high))
            .with(&rotation.raw().to_le_bytes())
            .with(&self.seconds.to_le_bytes())
            .with(&join_version(Self::VERSION, 0).to_le_bytes())
    }
}

impl fmt::Display for SetPoint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "set-point {}, ", self.number)?;
        match &self.window {
            None => f.write_str("no window")?,
            Some(window) => write!(
                f,
                "target {}, low {}, high {}, rotation {}",
                window.target, window.low, window.high, window.rotation
            )?,
        }
        write!(f, ", for {} s", self.seconds)
    }
}

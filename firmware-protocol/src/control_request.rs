//! Control point, from host to adapter (L1; cues L2).

use core::fmt;

use crate::error::{Error, Length};
use crate::fields::{Field, View};
use crate::octets::Octets;

const MESSAGE: &str = "control request";

pub(crate) const OP_ZERO: u8 = 1;
const OP_IDENTIFY: u8 = 2;
const OP_STAY_AWAKE: u8 = 3;
const OP_CUE: u8 = 4;

mod field {
    use super::Field;

    pub(super) const OP: Field = 0..1;
    pub(super) const PARAMETER: Field = OP.end..OP.end + 1;
}

/// What the adapter is to show or sound after the host has judged a pull.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Cue {
    /// Nothing: end the cue that is shown.
    Nothing,
    /// The pull is within its window.
    Reached,
    /// The pull ended below its window.
    Low,
    /// The pull went above its window: stop.
    Over,
    /// Something other than the torque is wrong: look at the host.
    Look,
    /// All fasteners of the step are done.
    StepDone,
    /// A cue that this crate has no name for.
    Other(u8),
}

impl Cue {
    const fn from_raw(raw: u8) -> Self {
        match raw {
            0 => Self::Nothing,
            1 => Self::Reached,
            2 => Self::Low,
            3 => Self::Over,
            4 => Self::Look,
            5 => Self::StepDone,
            other => Self::Other(other),
        }
    }

    const fn raw(self) -> u8 {
        match self {
            Self::Nothing => 0,
            Self::Reached => 1,
            Self::Low => 2,
            Self::Over => 3,
            Self::Look => 4,
            Self::StepDone => 5,
            Self::Other(raw) => raw,
        }
    }
}

impl fmt::Display for Cue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Nothing => f.write_str("nothing"),
            Self::Reached => f.write_str("reached"),
            Self::Low => f.write_str("low"),
            Self::Over => f.write_str("over"),
            Self::Look => f.write_str("look"),
            Self::StepDone => f.write_str("step done"),
            Self::Other(raw) => write!(f, "{raw}"),
        }
    }
}

/// What a host asks the adapter to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ControlRequest<'a> {
    /// Take the present torque as zero. The drive must be free.
    Zero,
    /// Draw attention (lamp, sound, vibration) for so many seconds; 0 ends it.
    Identify {
        /// Seconds.
        seconds: u8,
    },
    /// Do not fall asleep for so many minutes from now; 0 takes the wish back.
    StayAwake {
        /// Minutes.
        minutes: u8,
    },
    /// Show or sound a cue (L2).
    Cue(Cue),
    /// A request that this crate has no name for.
    Unknown {
        /// The op code.
        op: u8,
        /// All octets.
        octets: &'a [u8],
    },
}

impl<'a> ControlRequest<'a> {
    /// The op code on the wire.
    #[must_use]
    pub const fn op(&self) -> u8 {
        match self {
            Self::Zero => OP_ZERO,
            Self::Identify { .. } => OP_IDENTIFY,
            Self::StayAwake { .. } => OP_STAY_AWAKE,
            Self::Cue(_) => OP_CUE,
            Self::Unknown { op, .. } => *op,
        }
    }

    /// Reads a request.
    ///
    /// # Errors
    ///
    /// [`Error::Length`] for no octet, or for a length that the op code does not go with.
    pub fn parse(octets: &'a [u8]) -> Result<Self, Error> {
        let op = View::new(MESSAGE, Length::AtLeast(field::OP.end), octets)?.u8(field::OP);
        let parameter = || {
            View::new(MESSAGE, Length::Exactly(field::PARAMETER.end), octets)
                .map(|view| view.u8(field::PARAMETER))
        };
        match op {
            OP_ZERO => {
                Length::Exactly(field::OP.end).check(MESSAGE, octets)?;
                Ok(Self::Zero)
            }
            OP_IDENTIFY => Ok(Self::Identify { seconds: parameter()? }),
            OP_STAY_AWAKE => Ok(Self::StayAwake { minutes: parameter()? }),
            OP_CUE => Ok(Self::Cue(Cue::from_raw(parameter()?))),
            _ => Ok(Self::Unknown { op, octets }),
        }
    }

    /// The octets of the request. Of an unknown one, the first 20.
    #[must_use]
    pub fn emit(&self) -> Octets {
        match *self {
            Self::Zero => Octets::new().with(&[OP_ZERO]),
            Self::Identify { seconds } => Octets::new().with(&[OP_IDENTIFY, seconds]),
            Self::StayAwake { minutes } => Octets::new().with(&[OP_STAY_AWAKE, minutes]),
            Self::Cue(cue) => Octets::new().with(&[OP_CUE, cue.raw()]),
            Self::Unknown { octets, .. } => Octets::first_of(octets),
        }
    }
}

impl fmt::Display for ControlRequest<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Zero => f.write_str("zero"),
            Self::Identify { seconds } => write!(f, "identify for {seconds} s"),
            Self::StayAwake { minutes } => write!(f, "stay awake for {minutes} min"),
            Self::Cue(cue) => write!(f, "cue {cue}"),
            Self::Unknown { op, octets } => {
                write!(f, "unknown control request {op}, {} octets", octets.len())
            }
        }
    }
}

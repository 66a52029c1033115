//! Control point, from adapter to host (L1).

use core::fmt;

use crate::control_request::OP_ZERO;
use crate::error::{Error, Length};
use crate::fields::{Field, View};
use crate::octets::Octets;
use crate::torque::Torque;

const MESSAGE: &str = "control answer";

const OP_ANSWER: u8 = 0x80;
const RESULT_DONE: u8 = 1;

mod field {
    use super::Field;

    pub(super) const OP: Field = 0..1;
    pub(super) const REQUEST_OP: Field = OP.end..OP.end + 1;
    pub(super) const RESULT: Field = REQUEST_OP.end..REQUEST_OP.end + 1;
    pub(super) const OFFSET: Field = RESULT.end..RESULT.end + 4;
}

/// Why an adapter did not do what was asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Reason {
    /// The op code is not supported.
    OpNotSupported,
    /// The request has a length or a parameter that its op code does not allow.
    InvalidParameter,
    /// Not now: torque stands on the drive, or varies.
    NotNow,
    /// It was tried and did not succeed.
    Failed,
    /// A reason that this crate has no name for.
    Other(u8),
}

impl Reason {
    /// The reason for a number on the wire, or `None` for 1, which says that it was done.
    #[must_use]
    pub const fn from_raw(raw: u8) -> Option<Self> {
        Some(match raw {
            RESULT_DONE => return None,
            2 => Self::OpNotSupported,
            3 => Self::InvalidParameter,
            4 => Self::NotNow,
            5 => Self::Failed,
            other => Self::Other(other),
        })
    }

    /// The number on the wire.
    #[must_use]
    pub const fn raw(self) -> u8 {
        match self {
            Self::OpNotSupported => 2,
            Self::InvalidParameter => 3,
            Self::NotNow => 4,
            Self::Failed => 5,
            Self::Other(raw) => raw,
        }
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OpNotSupported => f.write_str("op code not supported"),
            Self::InvalidParameter => f.write_str("invalid parameter"),
            Self::NotNow => f.write_str("not now"),
            Self::Failed => f.write_str("failed"),
            Self::Other(raw) => write!(f, "reason {raw}"),
        }
    }
}

/// What an adapter answers to a control request.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ControlAnswer<'a> {
    /// The zero was taken.
    Zeroed {
        /// What the adapter showed without load before it.
        offset: Torque,
    },
    /// Another request was done.
    Done {
        /// The op code of the request, not that of zero.
        request: u8,
    },
    /// The request was not done.
    Refused {
        /// The op code of the request.
        request: u8,
        /// Why not.
        reason: Reason,
    },
    /// An answer that this crate has no name for.
    Unknown {
        /// The op code.
        op: u8,
        /// All octets.
        octets: &'a [u8],
    },
}

impl<'a> ControlAnswer<'a> {
    /// Reads an answer.
    ///
    /// # Errors
    ///
    /// [`Error::Length`] for no octet, for anything but 7 in the answer to a zero that was taken, or
    /// for anything but 3 in any other.
    pub fn parse(octets: &'a [u8]) -> Result<Self, Error> {
        let op = View::new(MESSAGE, Length::AtLeast(field::OP.end), octets)?.u8(field::OP);
        if op != OP_ANSWER {
            return Ok(Self::Unknown { op, octets });
        }
        let view = View::new(MESSAGE, Length::AtLeast(field::RESULT.end), octets)?;
        let request = view.u8(field::REQUEST_OP);
        let reason = Reason::from_raw(view.u8(field::RESULT));
        let length = match (request, reason) {
            (OP_ZERO, None) => field::OFFSET.end,
            _ => field::RESULT.end,
        };
        Length::Exactly(length).check(MESSAGE, octets)?;
        Ok(match (request, reason) {
            (OP_ZERO, None) => {
                Self::Zeroed { offset: Torque::from_centinewton_metres(view.i32(field::OFFSET)) }
            }
            (_, None) => Self::Done { request },
            (_, Some(reason)) => Self::Refused { request, reason },
        })
    }

    /// The octets of the answer. Of an unknown one, the first 20.
    #[must_use]
    pub fn emit(&self) -> Octets {
        match *self {
            Self::Zeroed { offset } => Octets::new()
                .with(&[OP_ANSWER, OP_ZERO, RESULT_DONE])
                .with(&offset.raw().to_le_bytes()),
            Self::Done { request } => Octets::new().with(&[OP_ANSWER, request, RESULT_DONE]),
            Self::Refused { request, reason } => {
                Octets::new().with(&[OP_ANSWER, request, reason.raw()])
            }
            Self::Unknown { octets, .. } => Octets::first_of(octets),
        }
    }
}

impl fmt::Display for ControlAnswer<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Zeroed { offset } => write!(f, "zeroed, offset {offset}"),
            Self::Done { request } => write!(f, "control request {request} done"),
            Self::Refused { request, reason } => {
                write!(f, "control request {request} refused: {reason}")
            }
            Self::Unknown { op, octets } => {
                write!(f, "unknown control answer {op}, {} octets", octets.len())
            }
        }
    }
}

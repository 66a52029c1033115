//! Record Access Control Point, from adapter to host (characteristic 0x2A52, L1).

use core::fmt;

use crate::error::{Error, Length};
use crate::fields::{Field, View};
use crate::octets::Octets;

const MESSAGE: &str = "record access response";

/// Op code of the number of records.
pub(crate) const OP_COUNT_RESPONSE: u8 = 5;
/// Op code of the answer to every other request.
pub(crate) const OP_RESPONSE_CODE: u8 = 6;

mod field {
    use super::Field;

    pub(super) const OP: Field = 0..1;
    pub(super) const OPERATOR: Field = OP.end..OP.end + 1;
    pub(super) const REQUEST_OP: Field = OPERATOR.end..OPERATOR.end + 1;
    pub(super) const CODE: Field = REQUEST_OP.end..REQUEST_OP.end + 1;
    pub(super) const COUNT: Field = OPERATOR.end..OPERATOR.end + 2;
}

/// How a procedure ended. The numbers are those of 0x2A52.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ResponseCode {
    /// Done.
    Success,
    /// The op code is not supported.
    OpNotSupported,
    /// The operator does not go with the op code.
    InvalidOperator,
    /// The operator is not supported.
    OperatorNotSupported,
    /// The operand breaks its layout, or names what cannot be.
    InvalidOperand,
    /// No record fits.
    NoRecordsFound,
    /// There was nothing to abort, or it could not be.
    AbortUnsuccessful,
    /// The procedure could not be completed.
    NotCompleted,
    /// The filter type of the operand is not supported.
    OperandNotSupported,
    /// A code that this crate has no name for.
    Other(u8),
}

impl ResponseCode {
    /// The code for a number on the wire.
    #[must_use]
    pub const fn from_raw(raw: u8) -> Self {
        match raw {
            1 => Self::Success,
            2 => Self::OpNotSupported,
            3 => Self::InvalidOperator,
            4 => Self::OperatorNotSupported,
            5 => Self::InvalidOperand,
            6 => Self::NoRecordsFound,
            7 => Self::AbortUnsuccessful,
            8 => Self::NotCompleted,
            9 => Self::OperandNotSupported,
            other => Self::Other(other),
        }
    }

    /// The number on the wire.
    #[must_use]
    pub const fn raw(self) -> u8 {
        match self {
            Self::Success => 1,
            Self::OpNotSupported => 2,
            Self::InvalidOperator => 3,
            Self::OperatorNotSupported => 4,
            Self::InvalidOperand => 5,
            Self::NoRecordsFound => 6,
            Self::AbortUnsuccessful => 7,
            Self::NotCompleted => 8,
            Self::OperandNotSupported => 9,
            Self::Other(raw) => raw,
        }
    }
}

impl fmt::Display for ResponseCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Success => f.write_str("success"),
            Self::OpNotSupported => f.write_str("op code not supported"),
            Self::InvalidOperator => f.write_str("invalid operator"),
            Self::OperatorNotSupported => f.write_str("operator not supported"),
            Self::InvalidOperand => f.write_str("invalid operand"),
            Self::NoRecordsFound => f.write_str("no records found"),
            Self::AbortUnsuccessful => f.write_str("abort unsuccessful"),
            Self::NotCompleted => f.write_str("procedure not completed"),
            Self::OperandNotSupported => f.write_str("operand not supported"),
            Self::Other(raw) => write!(f, "code {raw}"),
        }
    }
}

/// What an adapter answers to a request.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RecordResponse<'a> {
    /// The number of records that fit; 65 535 also stands for more.
    Count(u16),
    /// The end of the procedure that was asked for by `request`.
    Ended {
        /// The op code of the request.
        request: u8,
        /// How it ended.
        code: ResponseCode,
    },
    /// An answer that this crate has no name for.
    Unknown {
        /// The op code.
        op: u8,
        /// All octets.
        octets: &'a [u8],
    },
}

impl<'a> RecordResponse<'a> {
    /// The octets of an answer.
    pub const LENGTH: usize = field::CODE.end;

    /// Reads an answer.
    ///
    /// # Errors
    ///
    /// [`Error::Length`] for no octet, or for anything but 4 in an answer with a name;
    /// [`Error::Value`] for an operator other than null in one.
    pub fn parse(octets: &'a [u8]) -> Result<Self, Error> {
        let op = View::new(MESSAGE, Length::AtLeast(field::OP.end), octets)?.u8(field::OP);
        if op != OP_COUNT_RESPONSE && op != OP_RESPONSE_CODE {
            return Ok(Self::Unknown { op, octets });
        }
        let view = View::new(MESSAGE, Length::Exactly(Self::LENGTH), octets)?;
        let operator = view.u8(field::OPERATOR);
        if operator != 0 {
            return Err(Error::Value {
                message: MESSAGE,
                expected: "the operator 0 (null)",
                found: operator.into(),
            });
        }
        Ok(if op == OP_COUNT_RESPONSE {
            Self::Count(view.u16(field::COUNT))
        } else {
            Self::Ended {
                request: view.u8(field::REQUEST_OP),
                code: ResponseCode::from_raw(view.u8(field::CODE)),
            }
        })
    }

    /// The octets of the answer. Of an unknown one, the first 20.
    #[must_use]
    pub fn emit(&self) -> Octets {
        match *self {
            Self::Count(count) => {
                Octets::new().with(&[OP_COUNT_RESPONSE, 0]).with(&count.to_le_bytes())
            }
            Self::Ended { request, code } => {
                Octets::new().with(&[OP_RESPONSE_CODE, 0, request, code.raw()])
            }
            Self::Unknown { octets, .. } => Octets::first_of(octets),
        }
    }
}

impl fmt::Display for RecordResponse<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Count(count) => write!(f, "record count {count}"),
            Self::Ended { request, code } => write!(f, "record request {request} ended: {code}"),
            Self::Unknown { op, octets } => {
                write!(f, "unknown record response {op}, {} octets", octets.len())
            }
        }
    }
}

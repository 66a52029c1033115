//! Whatever an adapter sends of its own accord or in answer, by characteristic.

use crate::button::Button;
use crate::control_answer::ControlAnswer;
use crate::error::Error;
use crate::gatt::{assigned, characteristic};
use crate::motion::Motion;
use crate::reading::Reading;
use crate::record_response::RecordResponse;
use crate::status::Status;
use crate::torque::Torque;
use crate::trace::TraceBlock;
use crate::versioned::Versioned;

/// One notification or indication.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Notification<'a> {
    /// Live torque (L0).
    Torque(Torque),
    /// A reading record (L1).
    Reading(Versioned<'a, Reading>),
    /// A heartbeat (L1).
    Status(Versioned<'a, Status>),
    /// The answer to a record access request (L1).
    RecordResponse(RecordResponse<'a>),
    /// The answer to a control request (L1).
    ControlAnswer(ControlAnswer<'a>),
    /// A block of a trace (L2).
    Trace(Versioned<'a, TraceBlock<'a>>),
    /// A press of the button (L2).
    Button(Versioned<'a, Button>),
    /// A motion between two readings (L3).
    Motion(Versioned<'a, Motion>),
    /// A characteristic that this crate has no name for.
    Unknown {
        /// The characteristic.
        characteristic: u128,
        /// All octets.
        octets: &'a [u8],
    },
}

impl<'a> Notification<'a> {
    /// Reads what came from a characteristic, named by its UUID of 128 bits.
    ///
    /// # Errors
    ///
    /// Those of the message that belongs to the characteristic.
    pub fn parse(characteristic: u128, octets: &'a [u8]) -> Result<Self, Error> {
        const TORQUE: u128 = assigned(characteristic::TORQUE);
        const RECORDS: u128 = assigned(characteristic::RECORD_ACCESS_CONTROL_POINT);
        match characteristic {
            TORQUE => Torque::parse(octets).map(Self::Torque),
            RECORDS => RecordResponse::parse(octets).map(Self::RecordResponse),
            characteristic::READING => Reading::parse(octets).map(Self::Reading),
            characteristic::STATUS => Status::parse(octets).map(Self::Status),
            characteristic::CONTROL_POINT => ControlAnswer::parse(octets).map(Self::ControlAnswer),
            characteristic::TRACE => TraceBlock::parse(octets).map(Self::Trace),
            characteristic::BUTTON => Button::parse(octets).map(Self::Button),
            characteristic::MOTION => Motion::parse(octets).map(Self::Motion),
            _ => Ok(Self::Unknown { characteristic, octets }),
        }
    }
}

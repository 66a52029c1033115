#![no_std]
#![deny(missing_docs)]
#![forbid(unsafe_code)]
//! The wire protocol between a torque adapter and its host: octet layouts and their codec.
//!
//! `SPEC.md` beside this crate is normative; this crate follows it and adds nothing to it. The
//! folder `vectors/` holds octets and their meaning in a form that any language can read.
//!
//! # Order of reading
//!
//! [`gatt`] names services and characteristics. Each message then has a file of its own, and all of
//! them have the same shape: offsets named once, `parse` from octets, `emit` to [`Octets`], and
//! `Display` for the text that the vectors are written in.
//!
//! | level | messages |
//! | --- | --- |
//! | L0 | [`Torque`], [`PresentationFormat`] |
//! | L1 | [`Announcement`], [`Capability`], [`Calibration`], [`Reading`], [`Status`], [`RecordRequest`], [`RecordResponse`], [`ControlRequest`], [`ControlAnswer`] |
//! | L2 | [`TraceBlock`] (written by [`encode_trace`]), [`SetPoint`], [`Button`] |
//! | L3 | [`Motion`] |
//!
//! [`Notification`] gathers what an adapter sends, by characteristic.
//!
//! # Guarantees
//!
//! - **No panic.** `parse` accepts any octets of any length and never panics; `emit` never panics.
//! - **No loss.** For octets that `parse` accepts as known, `emit` gives the same octets again, as long as they have the length that this version defines.
//! - **No misreading.** A message of a version or kind that this crate does not know comes back as
//!   unknown, with its octets, and is never read by today's layout. A message that breaks the layout
//!   is refused with an [`Error`] that says what was expected and what was found.
//!
//! # What this crate does not do
//!
//! It keeps no state, reads no clock, allocates nothing, and knows neither a Bluetooth stack nor
//! what a torque value means to anybody.

mod announcement;
mod battery;
mod button;
mod calibration;
mod capability;
mod control_answer;
mod control_request;
mod duration;
mod error;
mod fields;
mod flags;
pub mod gatt;
mod key;
mod motion;
mod notification;
mod octets;
mod presentation;
mod reading;
mod record_request;
mod record_response;
mod rotation;
mod set_point;
mod status;
mod tick;
mod torque;
mod trace;
mod trace_encoder;
mod versioned;

pub use announcement::{Announcement, AnnouncementFlags};
pub use battery::Battery;
pub use button::{Button, Press};
pub use calibration::{Calibration, CalibrationFlags, Date};
pub use capability::{Capability, Drive, Features, Levels};
pub use control_answer::{ControlAnswer, Reason};
pub use control_request::{ControlRequest, Cue};
pub use duration::Duration;
pub use error::{Error, Length};
pub use key::{Epoch, Key, Sequence};
pub use motion::{Motion, Travel};
pub use notification::Notification;
pub use octets::Octets;
pub use presentation::PresentationFormat;
pub use reading::{Reading, ReadingFlags};
pub use record_request::{RecordRequest, Refusal, Selection};
pub use record_response::{RecordResponse, ResponseCode};
pub use rotation::Rotation;
pub use set_point::{SetPoint, Window};
pub use status::{State, Status, StatusFlags, Zero};
pub use tick::Tick;
pub use torque::Torque;
pub use trace::{Sample, TraceBlock, TraceFlags};
pub use trace_encoder::{TraceHead, TraceWritten, encode_trace};
pub use versioned::Versioned;

/// The major version of the protocol that this crate speaks.
pub const MAJOR: u8 = 1;
/// The minor version of the protocol that this crate speaks.
pub const MINOR: u8 = 0;

//! Record Access Control Point, from host to adapter (characteristic 0x2A52, L1).

use core::fmt;

use crate::error::{Error, Length};
use crate::fields::{Field, View};
use crate::key::{Epoch, Key, Sequence, check_sequence};
use crate::octets::Octets;
use crate::record_response::{RecordResponse, ResponseCode};

const MESSAGE: &str = "record access request";

const OP_REPORT: u8 = 1;
const OP_DELETE: u8 = 2;
const OP_ABORT: u8 = 3;
const OP_COUNT: u8 = 4;

const OPERATOR_NULL: u8 = 0;
const OPERATOR_ALL: u8 = 1;
const OPERATOR_UP_TO: u8 = 2;
const OPERATOR_FROM: u8 = 3;
const OPERATOR_RANGE: u8 = 4;
const OPERATOR_FIRST: u8 = 5;
const OPERATOR_LAST: u8 = 6;

/// The one filter type: by sequence number within an epoch.
const FILTER_SEQUENCE: u8 = 1;

mod field {
    use super::Field;

    pub(super) const OP: Field = 0..1;
    pub(super) const OPERATOR: Field = OP.end..OP.end + 1;
    pub(super) const FILTER: Field = OPERATOR.end..OPERATOR.end + 1;
    pub(super) const EPOCH: Field = FILTER.end..FILTER.end + 2;
    pub(super) const SEQUENCE: Field = EPOCH.end..EPOCH.end + 4;
    pub(super) const LAST: Field = SEQUENCE.end..SEQUENCE.end + 4;
}

/// Which of the held records are meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Selection {
    /// All, of every epoch.
    All,
    /// Those of the key's epoch with its sequence number or a lower one.
    UpTo(Key),
    /// Those of the key's epoch with its sequence number or a higher one.
    From(Key),
    /// Those of one epoch from the first to the last sequence number, both included.
    Range {
        /// The epoch.
        epoch: Epoch,
        /// The lowest sequence number.
        first: Sequence,
        /// The highest sequence number, not below the lowest.
        last: Sequence,
    },
    /// The oldest one: lowest sequence number of the oldest epoch held.
    First,
    /// The newest one: highest sequence number of the newest epoch held.
    Last,
}

impl Selection {
    /// Whether a record belongs to the selection, as far as its own key tells. `First` and `Last`
    /// depend on what else is held; of any key they say `true`.
    #[must_use]
    pub fn includes(self, key: Key) -> bool {
        match self {
            Self::All | Self::First | Self::Last => true,
            Self::UpTo(most) => key.epoch == most.epoch && key.sequence <= most.sequence,
            Self::From(least) => key.epoch == least.epoch && key.sequence >= least.sequence,
            Self::Range { epoch, first, last } => {
                key.epoch == epoch && first <= key.sequence && key.sequence <= last
            }
        }
    }
}

/// What a host asks of the adapter's memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum RecordRequest {
    /// Send these records as notifications of the reading characteristic.
    Report(Selection),
    /// Tell how many there are.
    Count(Selection),
    /// Delete the records of the key's epoch up to and with its sequence number: the host has
    /// committed them.
    Release(Key),
    /// Stop the procedure that is under way.
    Abort,
}

/// Why a request was refused, and what the adapter answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Refusal {
    /// The op code of the request, 0 if there was none.
    pub request: u8,
    /// What to answer.
    pub code: ResponseCode,
    /// What was expected and found.
    pub error: Error,
}

impl Refusal {
    /// The answer that an adapter owes to the request.
    #[must_use]
    pub const fn response(&self) -> RecordResponse<'static> {
        RecordResponse::Ended { request: self.request, code: self.code }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} (answer: {})", self.error, self.code)
    }
}

impl core::error::Error for Refusal {}

impl RecordRequest {
    /// The octets of the longest request.
    pub const MOST: usize = field::LAST.end;

    /// The op code on the wire.
    #[must_use]
    pub const fn op(&self) -> u8 {
        match self {
            Self::Report(_) => OP_REPORT,
            Self::Count(_) => OP_COUNT,
            Self::Release(_) => OP_DELETE,
            Self::Abort => OP_ABORT,
        }
    }

    /// Reads a request.
    ///
    /// # Errors
    ///
    /// A [`Refusal`] with the answer that the adapter owes: op code, operator or filter type not
    /// supported, an operator that does not go with the op code, an operand of another length, with
    /// a zero, or with a range that runs backwards.
    pub fn parse(octets: &[u8]) -> Result<Self, Refusal> {
        request(octets).map_err(|(code, error)| Refusal {
            request: octets.first().copied().unwrap_or(0),
            code,
            error,
        })
    }

    /// The octets of the request.
    #[must_use]
    pub fn emit(&self) -> Octets {
        let start = Octets::new().with(&[self.op()]);
        match *self {
            Self::Report(selection) | Self::Count(selection) => emit_selection(start, selection),
            Self::Release(key) => emit_selection(start, Selection::UpTo(key)),
            Self::Abort => start.with(&[OPERATOR_NULL]),
        }
    }
}

type Part<T> = Result<T, (ResponseCode, Error)>;

fn request(octets: &[u8]) -> Part<RecordRequest> {
    match sized(Length::AtLeast(field::OP.end), octets)?.u8(field::OP) {
        OP_REPORT => selection(octets).map(RecordRequest::Report),
        OP_COUNT => selection(octets).map(RecordRequest::Count),
        OP_DELETE => release(octets),
        OP_ABORT => abort(octets),
        other => refuse(ResponseCode::OpNotSupported, "an op code of 1 to 4", other.into()),
    }
}

fn sized(length: Length, octets: &[u8]) -> Part<View<'_>> {
    View::new(MESSAGE, length, octets).map_err(|error| (ResponseCode::InvalidOperand, error))
}

fn exactly(length: usize, octets: &[u8]) -> Part<View<'_>> {
    sized(Length::Exactly(length), octets)
}

fn refuse<T>(code: ResponseCode, expected: &'static str, found: i64) -> Part<T> {
    Err((code, Error::Value { message: MESSAGE, expected, found }))
}

fn operator(octets: &[u8]) -> Part<u8> {
    Ok(sized(Length::AtLeast(field::OPERATOR.end), octets)?.u8(field::OPERATOR))
}

/// The code for an operator that cannot be used: a missing one is invalid, another unsupported.
const fn operator_code(operator: u8) -> ResponseCode {
    match operator {
        OPERATOR_NULL => ResponseCode::InvalidOperator,
        _ => ResponseCode::OperatorNotSupported,
    }
}

fn release(octets: &[u8]) -> Part<RecordRequest> {
    match operator(octets)? {
        OPERATOR_UP_TO => {
            exactly(field::SEQUENCE.end, octets).and_then(key).map(RecordRequest::Release)
        }
        other => refuse(
            operator_code(other),
            "the operator 2 (less than or equal) to delete",
            other.into(),
        ),
    }
}

fn abort(octets: &[u8]) -> Part<RecordRequest> {
    match operator(octets)? {
        OPERATOR_NULL => exactly(field::OPERATOR.end, octets).map(|_| RecordRequest::Abort),
        other => {
            refuse(ResponseCode::InvalidOperator, "the operator 0 (null) to abort", other.into())
        }
    }
}

fn filter(view: View<'_>) -> Part<()> {
    match view.u8(field::FILTER) {
        FILTER_SEQUENCE => Ok(()),
        other => refuse(
            ResponseCode::OperandNotSupported,
            "the filter type 1 (epoch and sequence number)",
            other.into(),
        ),
    }
}

fn key(view: View<'_>) -> Part<Key> {
    filter(view)?;
    Key::check(MESSAGE, view.u16(field::EPOCH), view.u32(field::SEQUENCE))
        .map_err(|error| (ResponseCode::InvalidOperand, error))
}

fn selection(octets: &[u8]) -> Part<Selection> {
    let alone = || exactly(field::OPERATOR.end, octets);
    let one = || exactly(field::SEQUENCE.end, octets).and_then(key);
    match operator(octets)? {
        OPERATOR_ALL => alone().map(|_| Selection::All),
        OPERATOR_FIRST => alone().map(|_| Selection::First),
        OPERATOR_LAST => alone().map(|_| Selection::Last),
        OPERATOR_UP_TO => one().map(Selection::UpTo),
        OPERATOR_FROM => one().map(Selection::From),
        OPERATOR_RANGE => exactly(field::LAST.end, octets).and_then(range),
        other => refuse(operator_code(other), "an operator of 1 to 6", other.into()),
    }
}

fn range(view: View<'_>) -> Part<Selection> {
    let Key { epoch, sequence: first } = key(view)?;
    let last = check_sequence(MESSAGE, view.u32(field::LAST))
        .map_err(|error| (ResponseCode::InvalidOperand, error))?;
    if first > last {
        return refuse(
            ResponseCode::InvalidOperand,
            "a range whose last sequence number is not below its first",
            last.get().into(),
        );
    }
    Ok(Selection::Range { epoch, first, last })
}

fn emit_selection(start: Octets, selection: Selection) -> Octets {
    let with_key = |operator, key: Key| {
        start
            .with(&[operator, FILTER_SEQUENCE])
            .with(&key.epoch.get().to_le_bytes())
            .with(&key.sequence.get().to_le_bytes())
    };
    match selection {
        Selection::All => start.with(&[OPERATOR_ALL]),
        Selection::First => start.with(&[OPERATOR_FIRST]),
        Selection::Last => start.with(&[OPERATOR_LAST]),
        Selection::UpTo(key) => with_key(OPERATOR_UP_TO, key),
        Selection::From(key) => with_key(OPERATOR_FROM, key),
        Selection::Range { epoch, first, last } => {
            with_key(OPERATOR_RANGE, Key { epoch, sequence: first }).with(&last.get().to_le_bytes())
        }
    }
}

impl fmt::Display for Selection {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::All => f.write_str("all"),
            Self::UpTo(key) => write!(f, "up to {key}"),
            Self::From(key) => write!(f, "from {key}"),
            Self::Range { epoch, first, last } => write!(f, "{epoch}/{first} to {epoch}/{last}"),
            Self::First => f.write_str("first"),
            Self::Last => f.write_str("last"),
        }
    }
}

impl fmt::Display for RecordRequest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Report(selection) => write!(f, "report {selection}"),
            Self::Count(selection) => write!(f, "count {selection}"),
            Self::Release(key) => write!(f, "release up to {key}"),
            Self::Abort => f.write_str("abort"),
        }
    }
}

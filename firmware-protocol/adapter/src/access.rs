//! The record access procedures: report, count, release, abort.

use clampbook_protocol::{
    Epoch, Key, Reading, RecordRequest, RecordResponse, Refusal, ResponseCode, Selection,
};

use crate::store::Store;

/// What a written request leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Another procedure has not ended: the write itself is refused, with *procedure already in progress*.
    Busy,
    /// Readings follow: [`Access::next`] gives them, then the answer.
    Reporting,
    /// This is the answer, to be indicated.
    Answer(RecordResponse<'static>),
}

/// The current epoch and the number of its newest reading, 0 before the first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Newest {
    /// The current epoch.
    pub epoch: Epoch,
    /// The number of its newest reading.
    pub sequence: u32,
}

/// One step of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// Notify this reading.
    Notify(Reading),
    /// The report has ended: indicate this answer.
    Answer(RecordResponse<'static>),
}

/// A report under way. Places are counted from the first reading ever kept, so that one that is
/// overwritten meanwhile shifts nothing.
#[derive(Debug, Clone, Copy)]
struct Report {
    selection: Selection,
    next: u64,
    end: u64,
    found: bool,
}

/// The record access procedures of one link; at most one runs at a time.
#[derive(Debug, Default)]
pub struct Access {
    report: Option<Report>,
}

impl Access {
    /// Handles the octets of a request. `newest` is the newest reading of the current epoch.
    pub fn request<const N: usize>(
        &mut self,
        octets: &[u8],
        store: &mut Store<N>,
        newest: Newest,
    ) -> Outcome {
        let request = match RecordRequest::parse(octets) {
            Ok(request) => request,
            Err(_) if self.report.is_some() => return Outcome::Busy,
            Err(refusal) => return Outcome::Answer(Refusal::response(&refusal)),
        };
        if self.report.is_some() && request != RecordRequest::Abort {
            return Outcome::Busy;
        }
        match request {
            RecordRequest::Report(selection) => {
                let (first, end) = bounds(selection, store);
                self.report = Some(Report {
                    selection,
                    next: store.overwritten() + first,
                    end: store.overwritten() + end,
                    found: false,
                });
                Outcome::Reporting
            }
            RecordRequest::Count(selection) => {
                let (first, end) = bounds(selection, store);
                let count = (first..end)
                    .filter_map(|place| store.get(usize::try_from(place).ok()?))
                    .filter(|reading| selection.includes(reading.key))
                    .count();
                Outcome::Answer(RecordResponse::Count(count.try_into().unwrap_or(u16::MAX)))
            }
            RecordRequest::Release(key) if goes_beyond(key, store, newest) => {
                Outcome::Answer(ended(request, ResponseCode::InvalidOperand))
            }
            RecordRequest::Release(key) => {
                let selection = Selection::UpTo(key);
                let released = store.release(|reading| selection.includes(reading.key));
                Outcome::Answer(ended(request, found(released > 0)))
            }
            RecordRequest::Abort => {
                let code = match self.report.take() {
                    Some(_) => ResponseCode::Success,
                    None => ResponseCode::AbortUnsuccessful,
                };
                Outcome::Answer(ended(request, code))
            }
        }
    }

    /// True while a report is under way.
    #[must_use]
    pub fn is_reporting(&self) -> bool {
        self.report.is_some()
    }

    /// The next step of the report under way; `None` when there is none.
    pub fn next<const N: usize>(&mut self, store: &Store<N>) -> Option<Step> {
        let report = self.report.as_mut()?;
        report.next = report.next.max(store.overwritten());
        while report.next < report.end {
            let place = report.next - store.overwritten();
            report.next += 1;
            let reading = usize::try_from(place).ok().and_then(|place| store.get(place));
            if let Some(reading) = reading.filter(|reading| report.selection.includes(reading.key))
            {
                report.found = true;
                return Some(Step::Notify(*reading));
            }
        }
        let request = RecordRequest::Report(report.selection);
        let code = found(report.found);
        self.report = None;
        Some(Step::Answer(ended(request, code)))
    }
}

/// Whether a release names readings that were never made: then the host and the adapter do not speak of the
/// same memory, and nothing may go.
fn goes_beyond<const N: usize>(key: Key, store: &Store<N>, newest: Newest) -> bool {
    if key.epoch == newest.epoch {
        return key.sequence.get() > newest.sequence;
    }
    let held = store.readings().filter(|reading| reading.key.epoch == key.epoch);
    held.map(|reading| reading.key.sequence).max().is_some_and(|highest| key.sequence > highest)
}

/// First place and end of what a selection can reach.
fn bounds<const N: usize>(selection: Selection, store: &Store<N>) -> (u64, u64) {
    let length = store.len() as u64;
    match selection {
        Selection::First => (0, length.min(1)),
        Selection::Last => (length.saturating_sub(1), length),
        _ => (0, length),
    }
}

fn found(any: bool) -> ResponseCode {
    if any { ResponseCode::Success } else { ResponseCode::NoRecordsFound }
}

fn ended(request: RecordRequest, code: ResponseCode) -> RecordResponse<'static> {
    RecordResponse::Ended { request: request.op(), code }
}

//! The control point: one request of the operator at a time, and its answer.

use super::fault::LinkError;
use crate::adapter::source::Errand;
use crate::adapter::translate;
use crate::core::command::{Done, Refusal};
use crate::core::time::Stamp;
use btleplug::api::Characteristic;

/// The adapter has 5 s to answer; the way there and back takes a while, too.
const ANSWER_S: f64 = 8.0;

/// The request under way.
#[derive(Debug)]
pub(super) struct Control {
    serial: String,
    exists: bool,
    errand: Option<Errand>,
    due: Option<Stamp>,
}

impl Control {
    pub(super) fn new(serial: &str, characteristic: Option<&Characteristic>) -> Self {
        let exists = characteristic.is_some();
        Self { serial: serial.to_owned(), exists, errand: None, due: None }
    }

    /// Takes an errand, unless there is one already.
    pub(super) fn take(&mut self, errand: Errand) {
        let reason = if !self.exists {
            "it has no control point; look for newer software for it"
        } else if self.errand.is_some() {
            "another request is under way; ask again"
        } else {
            self.errand = Some(errand);
            return;
        };
        let _ = errand.answer.send(Err(self.refusal(reason)));
    }

    /// The octets to be written, once for each errand.
    pub(super) fn begin(&mut self, now: Stamp) -> Option<Vec<u8>> {
        let errand = self.errand.as_ref().filter(|_| self.due.is_none())?;
        self.due = Some(now + ANSWER_S);
        Some(translate::control(errand.ask))
    }

    /// When an answer is overdue.
    pub(super) fn due(&self) -> Option<Stamp> {
        self.due
    }

    /// The adapter answered.
    pub(super) fn answered(&mut self, octets: &[u8]) {
        let ask = self.errand.as_ref().map(|errand| errand.ask);
        let answer = ask.and_then(|ask| translate::control_answer(&self.serial, ask, octets));
        if let Some(answer) = answer {
            self.give(answer);
        }
    }

    /// Time has passed.
    pub(super) fn tick(&mut self, now: Stamp) {
        if self.due.is_some_and(|due| now >= due) {
            self.give(Err(self.refusal("it does not answer; ask again")));
        }
    }

    /// The request could not be written.
    pub(super) fn failed(&mut self, error: &LinkError) {
        tracing::debug!("a request to the adapter: {error}");
        self.give(Err(self.refusal("it does not take the request; ask again")));
    }

    /// The link is down.
    pub(super) fn broke_off(&mut self) {
        self.give(Err(Refusal::AdapterAway(self.serial.clone())));
    }

    fn give(&mut self, answer: Result<Done, Refusal>) {
        self.due = None;
        if let Some(errand) = self.errand.take() {
            // Whoever asked may have gone.
            let _ = errand.answer.send(answer);
        }
    }

    fn refusal(&self, reason: &str) -> Refusal {
        Refusal::AdapterRefused { adapter: self.serial.clone(), reason: reason.to_owned() }
    }
}

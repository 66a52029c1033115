//! The control point: one request at a time, of the operator or a cue for the hand, and its answer.

use super::fault::LinkError;
use crate::adapter::source::Errand;
use crate::adapter::translate;
use crate::core::command::{Done, Refusal};
use crate::core::guide::Cue;
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
    /// What is under way is a cue.
    is_cue: bool,
    due: Option<Stamp>,
}

impl Control {
    pub(super) fn new(serial: &str, characteristic: Option<&Characteristic>) -> Self {
        let exists = characteristic.is_some();
        Self { serial: serial.to_owned(), exists, errand: None, is_cue: false, due: None }
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

    /// Whether nothing is under way, and nothing of the operator waits.
    pub(super) fn is_free(&self) -> bool {
        self.due.is_none() && self.errand.is_none()
    }

    /// The octets to be written for a cue, once nothing else is under way.
    pub(super) fn begin_cue(&mut self, now: Stamp, cue: Cue) -> Vec<u8> {
        self.is_cue = true;
        self.due = Some(now + ANSWER_S);
        translate::cue(cue)
    }

    /// The request for a cue has ended, well or not: nobody waits for it.
    pub(super) fn cue_ended(&mut self, how: &str) {
        tracing::debug!("a cue: {how}");
        self.is_cue = false;
        self.due = None;
    }

    /// When an answer is overdue.
    pub(super) fn due(&self) -> Option<Stamp> {
        self.due
    }

    /// The adapter answered.
    pub(super) fn answered(&mut self, octets: &[u8]) {
        if self.is_cue {
            if let Some(answer) = translate::cue_answer(octets) {
                self.cue_ended(&answer.map_or_else(|reason| reason, |()| "begun".to_owned()));
            }
            return;
        }
        let ask = self.errand.as_ref().map(|errand| errand.ask);
        let answer = ask.and_then(|ask| translate::control_answer(&self.serial, ask, octets));
        if let Some(answer) = answer {
            self.give(answer);
        }
    }

    /// Time has passed.
    pub(super) fn tick(&mut self, now: Stamp) {
        let is_late = self.due.is_some_and(|due| now >= due);
        if is_late && self.is_cue {
            self.cue_ended("no answer");
        } else if is_late {
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
        self.is_cue = false;
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

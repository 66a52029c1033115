//! One simulated adapter: it keeps its readings until they are released.

use crate::adapter::session::{Answer, Beat, Heard, Order, Record, Wanted};
use std::collections::BTreeMap;

/// The adapter's side of a session.
#[derive(Debug, Clone)]
pub(super) struct Device {
    epoch: u32,
    newest: u32,
    held: BTreeMap<u32, Record>,
}

impl Device {
    pub(super) fn new(epoch: u32) -> Self {
        Self { epoch, newest: 0, held: BTreeMap::new() }
    }

    /// A reading was made.
    pub(super) fn make(&mut self, record: Record, lost: bool) {
        self.newest = self.newest.max(record.sequence);
        if !lost {
            self.held.insert(record.sequence, record);
        }
    }

    /// Whether the reading is still held.
    pub(super) fn holds(&self, sequence: u32) -> bool {
        self.held.contains_key(&sequence)
    }

    /// The adapter's status.
    pub(super) fn status(&self, asked: bool, asleep_soon: bool) -> Heard {
        Heard::Beat(Beat {
            asked,
            epoch: self.epoch,
            tick: None,
            newest: self.newest,
            older_epochs: false,
            asleep_soon,
        })
    }

    /// Carries out an order; gives what is sent back, in order.
    pub(super) fn obey(&mut self, order: Order) -> Vec<Heard> {
        match order {
            Order::ReadStatus => vec![self.status(true, false)],
            Order::Report(wanted) => self.report(wanted),
            Order::Release { epoch, up_to } => {
                if epoch == self.epoch {
                    self.held.retain(|sequence, _| *sequence > up_to);
                }
                vec![Heard::Answer(Answer::Done)]
            }
        }
    }

    fn report(&self, wanted: Wanted) -> Vec<Heard> {
        let (epoch, numbers) = match wanted {
            Wanted::All => (self.epoch, 0..=u32::MAX),
            Wanted::From { epoch, sequence } => (epoch, sequence..=u32::MAX),
            Wanted::Range { epoch, first, last } => (epoch, first..=last.max(first)),
        };
        if epoch != self.epoch {
            return vec![Heard::Answer(Answer::NoneFound)];
        }
        let records = self.held.range(numbers);
        let mut sent: Vec<Heard> =
            records.map(|(_, record)| Heard::Record(record.clone())).collect();
        let answer = if sent.is_empty() { Answer::NoneFound } else { Answer::Done };
        sent.push(Heard::Answer(answer));
        sent
    }
}

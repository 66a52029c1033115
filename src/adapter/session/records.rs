//! Fetching what is missing, and having forgotten what is committed.

use super::link::{Link, Procedure};
use super::words::{Answer, Order, Reason, Step, Wanted};
use super::{Session, troubles};
use crate::adapter::source::SourceEvent;
use crate::core::event::Gap;
use crate::core::time::Stamp;
use std::ops::RangeInclusive;

/// How long a number is missing before it is asked for, seconds: it may just be late.
const GRACE_S: f64 = 0.3;
/// How long to wait after the adapter was busy, seconds.
const BUSY_S: f64 = 1.0;
/// How long to wait after the adapter refused for good, seconds.
const REFUSED_S: f64 = 60.0;
/// How often an order may end without any effect.
const VAIN_ORDERS: u32 = 3;

impl Session {
    pub(super) fn answer(&mut self, now: Stamp, answer: Answer) {
        let Some(link) = &mut self.link else { return };
        // An answer to nothing of ours: another host's, or one that was given up.
        let Some(procedure) = link.procedure.take() else { return };
        link.refused = matches!(answer, Answer::Busy | Answer::Refused(_));
        match (&answer, procedure.order) {
            (Answer::Done | Answer::NoneFound, Order::ReadStatus) => {}
            (Answer::Done | Answer::NoneFound, Order::Release { epoch, up_to }) => {
                self.epoch(epoch).forgotten(up_to);
            }
            (
                Answer::Done | Answer::NoneFound,
                Order::Report(Wanted::All | Wanted::From { .. }),
            ) => link.fetched = true,
            (Answer::NoneFound, Order::Report(Wanted::Range { epoch, first, last })) => {
                self.gone(now, epoch, first..=last);
            }
            (Answer::Done, Order::Report(Wanted::Range { epoch, first, last })) => {
                self.range_done(now, epoch, first..=last, &procedure);
            }
            (Answer::Busy, _) => link.wait_until(now + BUSY_S),
            (Answer::Refused(reason), order) => {
                link.wait_until(now + REFUSED_S);
                let trouble = troubles::refused(&self.id, order, reason);
                self.tell(SourceEvent::Trouble { at: now, trouble });
            }
        }
    }

    fn range_done(
        &mut self,
        now: Stamp,
        epoch: u32,
        run: RangeInclusive<u32>,
        procedure: &Procedure,
    ) {
        let missing = self.epoch(epoch).count_missing(run.clone());
        let Some(link) = &mut self.link else { return };
        if missing < procedure.missing {
            link.vain_orders = 0;
            return;
        }
        link.vain_orders += 1;
        link.wait_until(now + BUSY_S);
        if link.vain_orders < VAIN_ORDERS {
            return;
        }
        link.vain_orders = 0;
        if procedure.garbled == 0 {
            self.steps.push(Step::TearDown(Reason::NotFlowing));
            return;
        }
        // Something came, but nothing that could be read as one of them.
        self.epoch(epoch).give_up(run.clone());
        let trouble = troubles::unreadable(&self.id, epoch, &run);
        self.tell(SourceEvent::Trouble { at: now, trouble });
    }

    /// The adapter does not have these readings any more.
    fn gone(&mut self, now: Stamp, number: u32, run: RangeInclusive<u32>) {
        for run in self.epoch(number).gone(run) {
            self.tell_gap(now, number, &run);
        }
    }

    pub(super) fn tell_gap(&mut self, now: Stamp, epoch: u32, run: &RangeInclusive<u32>) {
        let gap = Gap {
            adapter: self.id.clone(),
            epoch: Some(epoch),
            first: u64::from(*run.start()),
            last: u64::from(*run.end()),
        };
        self.tell(SourceEvent::Gap { at: now, gap });
    }

    /// What the adapter is to do next about its records, and when that may be asked.
    pub(super) fn next_order(&mut self, now: Stamp, link: &Link) -> Option<(Stamp, Order)> {
        let current = self.current.filter(|_| link.heard_status)?;
        if !link.fetched {
            let epoch = self.epoch(current);
            let sequence = epoch.first_wanted();
            let wanted = if link.older_epochs {
                Wanted::All
            } else {
                Wanted::From { epoch: current, sequence }
            };
            return Some((now, Order::Report(wanted)));
        }
        let mut earliest: Option<(Stamp, Order)> = None;
        for (number, epoch) in &mut self.epochs {
            let Some((since, run)) = epoch.missing(now) else { continue };
            let due = since + GRACE_S;
            let (first, last) = run.into_inner();
            let wanted = Wanted::Range { epoch: *number, first, last };
            if earliest.is_none_or(|(at, _)| due < at) {
                earliest = Some((due, Order::Report(wanted)));
            }
        }
        if earliest.is_some_and(|(due, _)| due <= now) {
            return earliest;
        }
        let release = self.epochs.iter().find_map(|(number, epoch)| {
            let up_to = epoch.releasable()?;
            Some((now, Order::Release { epoch: *number, up_to }))
        });
        release.or(earliest)
    }
}

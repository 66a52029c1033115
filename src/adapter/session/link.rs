//! One link of a session: what was asked and not yet answered, and whether the adapter is alive.

use super::Session;
use super::epoch::Epoch;
use super::words::{Beat, Order, Reason, Step, Wanted};
use crate::core::time::Stamp;

/// How long after a status the next one is asked for, if none came by itself, seconds: the adapter
/// sends one every 5 ± 0.5 s.
const HEARTBEAT_S: f64 = 6.0;
/// How long a status may take that was asked for, seconds. With two misses, a link without a status
/// for 12 s is dead, unless something else came meanwhile: then it is the system's service that is slow.
const REPLY_S: f64 = 3.0;
/// How long a link may be without a status, or an order without any effect, whatever else comes, seconds: a
/// transaction of the attribute protocol has failed by then (Core Specification, Vol 3, Part F, 3.3.3).
const TRANSACTION_S: f64 = 30.0;
/// How often a status is asked for even if they come by themselves, seconds: only an answer bounds
/// the adapter's time on both sides.
const MAPPING_S: f64 = 300.0;
/// So many misses in a row end the link.
const MISSES: u32 = 2;
/// How long nothing may happen before what is being fetched is no longer waited for, seconds.
const STALL_S: f64 = 3.0;
/// How long an order may go without any effect, seconds.
const ANSWER_S: f64 = 10.0;

/// One link.
#[derive(Debug, Clone)]
pub(super) struct Link {
    began: Stamp,
    /// Data has arrived.
    pub(super) flowing: bool,
    /// A status has arrived.
    pub(super) heard_status: bool,
    /// The adapter holds records of earlier boots.
    pub(super) older_epochs: bool,
    /// The adapter said that it is about to sleep.
    pub(super) asleep_soon: bool,
    /// All that the adapter held at the start of the link was asked for and sent.
    pub(super) fetched: bool,
    /// The adapter did not do what it was asked about its records.
    pub(super) refused: bool,
    /// Orders in a row that were carried out without effect.
    pub(super) vain_orders: u32,
    /// The order about records that is under way.
    pub(super) procedure: Option<Procedure>,
    /// When anything at all came last, and when a status did.
    alive_at: Stamp,
    beat_at: Stamp,
    /// When the status was asked for, while it has not come; and when it was for the first time.
    asked_at: Option<Stamp>,
    asked_since: Option<Stamp>,
    /// When the status is to be asked for next.
    ask_at: Stamp,
    /// When the status is to be asked for in any case.
    map_at: Stamp,
    misses: u32,
    /// No order about records before this.
    not_before: Stamp,
    /// When the next order about records is due.
    order_at: Option<Stamp>,
    torn_down: bool,
}

/// An order about records that is under way.
#[derive(Debug, Clone)]
pub(super) struct Procedure {
    /// The order.
    pub(super) order: Order,
    /// How many of the numbers asked for were missing.
    pub(super) missing: u64,
    /// Messages since then that could not be read.
    pub(super) garbled: u64,
    /// When something last happened.
    pub(super) progress_at: Stamp,
}

impl Link {
    pub(super) fn new(now: Stamp) -> Self {
        Self {
            began: now,
            flowing: false,
            heard_status: false,
            older_epochs: false,
            asleep_soon: false,
            fetched: false,
            refused: false,
            vain_orders: 0,
            procedure: None,
            alive_at: now,
            beat_at: now,
            asked_at: None,
            asked_since: None,
            ask_at: now,
            map_at: now,
            misses: 0,
            not_before: now,
            order_at: None,
            torn_down: false,
        }
    }

    /// Asks for the status as soon as possible.
    pub(super) fn want_status(&mut self) {
        self.ask_at = Stamp(i64::MIN);
    }

    /// Until when records that are missing are expected: they are on their way, or about to be asked
    /// for, and something has happened lately.
    pub(super) fn fetching_until(&self) -> Option<Stamp> {
        match &self.procedure {
            _ if self.torn_down => None,
            Some(Procedure { order: Order::Report(_), progress_at, .. }) => {
                Some(*progress_at + STALL_S)
            }
            Some(_) => None,
            None => (!self.fetched && !self.refused).then(|| self.began + STALL_S),
        }
    }

    /// No order about records before `at`.
    pub(super) fn wait_until(&mut self, at: Stamp) {
        self.not_before = at;
    }

    /// Something came.
    pub(super) fn alive(&mut self, now: Stamp) {
        self.alive_at = self.alive_at.max(now);
    }

    /// A status came; gives when it was asked for, if it was: the first time, for which of several it
    /// answers is not told.
    pub(super) fn beat(&mut self, now: Stamp, beat: &Beat) -> Option<Stamp> {
        let mut asked = None;
        if beat.asked {
            self.asked_at = None;
            asked = self.asked_since.take();
        }
        self.misses = 0;
        self.beat_at = now;
        if asked.is_some() {
            self.map_at = now + MAPPING_S;
        }
        self.ask_at = self.map_at.min(now + HEARTBEAT_S);
        self.older_epochs = beat.older_epochs;
        self.asleep_soon = beat.asleep_soon;
        // The first one has to be an answer: only that bounds the adapter's time on both sides.
        self.heard_status |= beat.asked;
        asked
    }

    /// When the next thing is due; nothing once the link is to be built anew.
    pub(super) fn wake_at(&self) -> Option<Stamp> {
        if self.torn_down {
            return None;
        }
        let status = match self.asked_at {
            Some(asked) => asked + REPLY_S,
            None => self.ask_at,
        };
        let records = match &self.procedure {
            Some(procedure) => Some(self.unanswered_at(procedure)),
            None => self.order_at,
        };
        Some(records.map_or(status, |at| at.min(status)))
    }

    /// When an order has gone without any effect for too long.
    fn unanswered_at(&self, procedure: &Procedure) -> Stamp {
        let since = procedure.progress_at;
        (since + ANSWER_S).max(self.dead_since(since))
    }

    /// When a link counts as dead on which what was expected did not come since then.
    fn dead_since(&self, since: Stamp) -> Stamp {
        (self.alive_at + REPLY_S).min(since + TRANSACTION_S)
    }

    pub(super) fn advance(&mut self, now: Stamp, session: &mut Session) {
        if self.torn_down {
            return;
        }
        self.ask_status(now, session);
        self.order_records(now, session);
        self.torn_down = session.steps.iter().any(|step| matches!(step, Step::TearDown(_)));
    }

    fn ask_status(&mut self, now: Stamp, session: &mut Session) {
        if let Some(asked) = self.asked_at {
            if now < asked + REPLY_S {
                return;
            }
            self.misses += 1;
            if self.misses >= MISSES && now >= self.dead_since(self.beat_at) {
                session.steps.push(Step::TearDown(Reason::Silent));
                return;
            }
        } else if now < self.ask_at {
            return;
        }
        self.asked_at = Some(now);
        self.asked_since.get_or_insert(now);
        session.epochs.values_mut().for_each(Epoch::asked);
        session.steps.push(Step::Order(Order::ReadStatus));
    }

    fn order_records(&mut self, now: Stamp, session: &mut Session) {
        if let Some(procedure) = &self.procedure {
            if now >= self.unanswered_at(procedure) {
                session.steps.push(Step::TearDown(Reason::Unanswered));
            }
            return;
        }
        let next = session.next_order(now, self);
        self.order_at = next.map(|(due, _)| due.max(self.not_before));
        let Some((due, order)) = next else { return };
        if now < due.max(self.not_before) {
            return;
        }
        let missing = match order {
            Order::Report(Wanted::Range { epoch, first, last }) => {
                session.epoch(epoch).count_missing(first..=last)
            }
            Order::Report(_) | Order::Release { .. } | Order::ReadStatus => 0,
        };
        self.procedure = Some(Procedure { order, missing, garbled: 0, progress_at: now });
        session.steps.push(Step::Order(order));
    }
}

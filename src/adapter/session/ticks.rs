//! From the adapter's own time to ours, with the error stated.

use crate::core::time::Stamp;

/// Length of a tick of the adapter, microseconds.
const TICK_US: i64 = 10_000;
/// How far the adapter's tick may drift: 250 parts per million.
const DRIFT: f64 = 250e-6;
/// How old the tick in a status may be when the status is sent, microseconds.
const STATUS_AGE_US: i64 = 20_000;
/// How far the adapter may be off about the moment of a peak, microseconds.
const PEAK_US: i64 = 20_000;
/// How long a message that was not asked for is under way, unless the computer is very busy, microseconds.
const LATEST_DELIVERY_US: i64 = 2_000_000;

/// What is known of the moment at which one epoch of an adapter began.
///
/// A status that was asked for was made between question and answer, which bounds that moment
/// strictly on both sides; the bounds of several statuses are intersected after widening the older
/// ones by the drift that may have happened since. A status that came by itself bounds it on one side: it was made
/// before it came, and may have been under way for any time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TickClock {
    earliest_us: i64,
    latest_us: i64,
    known_at: Stamp,
}

impl TickClock {
    /// From a status that says `tick`, asked for at `asked` and received at `received`. One that
    /// came by itself has no `asked`.
    #[must_use]
    pub fn new(tick: u32, asked: Option<Stamp>, received: Stamp) -> Self {
        let elapsed = i64::from(tick) * TICK_US;
        let asked = asked.map_or(received.0.saturating_sub(LATEST_DELIVERY_US), |asked| asked.0);
        Self {
            earliest_us: asked.min(received.0).saturating_sub(elapsed + TICK_US + STATUS_AGE_US),
            latest_us: received.0.saturating_sub(elapsed),
            known_at: received,
        }
    }

    /// Takes a further status into account. True if it came by itself and so late that either the computer
    /// is very busy or one of the clocks was set: an answer tells which.
    pub fn observe(&mut self, tick: u32, asked: Option<Stamp>, received: Stamp) -> bool {
        let new = Self::new(tick, asked, received);
        let is_late = asked.is_none() && new.earliest_us > self.latest_us;
        let drift = drift_us(received.0.saturating_sub(self.known_at.0));
        let earliest_us = self.earliest_us.saturating_sub(drift);
        let earliest_us = asked.map_or(earliest_us, |_| earliest_us.max(new.earliest_us));
        let latest_us = new.latest_us.min(self.latest_us.saturating_add(drift));
        *self = if earliest_us <= latest_us {
            Self { earliest_us, latest_us, known_at: received }
        } else {
            // No single moment fits: one of the clocks was set. The newest word counts.
            new
        };
        is_late
    }

    /// The moment of a peak at `tick`, and how far it can be off in microseconds.
    #[must_use]
    pub fn time_of(&self, tick: u32) -> (Stamp, u32) {
        let began = self.earliest_us + (self.latest_us - self.earliest_us) / 2;
        let at = began.saturating_add(i64::from(tick) * TICK_US).saturating_add(TICK_US / 2);
        let away = drift_us(self.known_at.0.saturating_sub(at));
        let half = (self.latest_us - self.earliest_us + 1) / 2;
        let error = half.saturating_add(TICK_US / 2 + PEAK_US).saturating_add(away);
        (Stamp(at), u32::try_from(error).unwrap_or(u32::MAX))
    }

    /// The latest moment at which the epoch can have begun.
    #[must_use]
    pub fn latest_start(&self) -> Stamp {
        Stamp(self.latest_us)
    }
}

fn drift_us(span_us: i64) -> i64 {
    (span_us.unsigned_abs() as f64 * DRIFT).ceil() as i64
}

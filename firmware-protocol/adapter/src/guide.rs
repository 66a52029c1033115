//! Guiding the hand (L2): the set-point in force, what is shown of a pull, and the host's cues.
//!
//! It never changes what is measured, numbered or kept.

use clampbook_protocol::gatt::att_error;
use clampbook_protocol::{Cue, Error, Rotation, Sample, SetPoint, Torque, Versioned, Window};

/// A cue lasts for so long, unless something ends it sooner.
pub const CUE_MS: u64 = 5_000;
/// A pull has ended once the torque was gone for so long.
const GONE_MS: u64 = 100;
/// Tenths of the target from which it is shown that it comes near.
const NEAR: i64 = 7;

/// What is shown of a pull. Each stands out from the others without colour, by its rhythm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Shown {
    /// Nothing: it is far from the target, or nothing guides.
    #[default]
    Nothing,
    /// The target comes near.
    Near,
    /// The low limit is reached, or what takes its place.
    Reached,
    /// The high limit is passed.
    Over,
}

/// Why a set-point is not taken; the one before it stays in force.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refused {
    /// It has a length that its version does not have.
    Length,
    /// That of another link is in force.
    Busy,
    /// Its version is not known here.
    Version,
    /// Its values make no sense, or its target is beyond the range.
    Value,
}

impl Refused {
    /// The ATT error that says so.
    #[must_use]
    pub const fn att_error(self) -> u8 {
        match self {
            Self::Length => att_error::INVALID_LENGTH,
            Self::Busy => att_error::PROCEDURE_IN_PROGRESS,
            Self::Version => att_error::UNSUPPORTED_VERSION,
            Self::Value => att_error::INVALID_VALUE,
        }
    }
}

/// Why a set-point is not in force any more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// Its seconds were over.
    Time,
    /// Its host withdrew it.
    Host,
    /// Its link is gone.
    Link,
    /// The adapter sleeps.
    Sleep,
    /// The adapter has booted, or has no power.
    Boot,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct InForce {
    number: u16,
    window: Window,
    link: u16,
    until_ms: u64,
}

/// The set-point in force, the pull that it guides, and the cue that is shown.
#[derive(Debug)]
pub struct Guide {
    /// Largest torque of the range, in 0.01 N·m.
    range_most: u32,
    in_force: Option<InForce>,
    ended: Option<(u16, End)>,
    shown: Shown,
    cue: Option<(Cue, u64)>,
    /// The direction of the pull that is on: 1 or -1.
    pull: Option<i64>,
    /// Since when the torque of the pull is gone.
    gone_ms: Option<u64>,
    /// The rotation when the target was reached.
    turned_from: Option<i32>,
}

impl Guide {
    /// Nothing guides. `range_most` is the largest torque of the range, in 0.01 N·m.
    #[must_use]
    pub fn new(range_most: u32) -> Self {
        Self {
            range_most,
            in_force: None,
            ended: None,
            shown: Shown::Nothing,
            cue: None,
            pull: None,
            gone_ms: None,
            turned_from: None,
        }
    }

    /// A host writes a set-point over a link.
    ///
    /// # Errors
    /// It is refused, and whatever was in force stays so.
    pub fn write(&mut self, octets: &[u8], link: u16, now_ms: u64) -> Result<SetPoint, Refused> {
        self.settle(now_ms);
        let parsed = SetPoint::parse(octets);
        if let Err(Error::Length { .. }) = parsed {
            return Err(Refused::Length);
        }
        if self.in_force.is_some_and(|one| one.link != link) {
            return Err(Refused::Busy);
        }
        let set_point = match parsed {
            Ok(Versioned::Known(set_point)) => set_point,
            Ok(Versioned::Unknown { .. }) => return Err(Refused::Version),
            Err(_) => return Err(Refused::Value),
        };
        let Some(window) = set_point.window else {
            self.end(End::Host);
            return Ok(set_point);
        };
        if window.target().raw().unsigned_abs() > self.range_most {
            return Err(Refused::Value);
        }
        // Written anew with the same window it goes on, so that a pull that is on sees no change.
        if self.in_force.is_none_or(|one| one.window != window) {
            self.shown = Shown::Nothing;
            self.turned_from = None;
        }
        let until_ms = now_ms.saturating_add(u64::from(set_point.seconds) * 1_000);
        self.in_force = Some(InForce { number: set_point.number, window, link, until_ms });
        Ok(set_point)
    }

    /// What a host reads: the set-point in force with the seconds that remain.
    #[must_use]
    pub fn read(&self, now_ms: u64) -> SetPoint {
        match self.in_force.filter(|one| now_ms < one.until_ms) {
            None => SetPoint { number: 0, window: None, seconds: 0 },
            Some(InForce { number, window, until_ms, .. }) => {
                let remaining = (until_ms - now_ms).div_ceil(1_000);
                let seconds = u16::try_from(remaining).unwrap_or(u16::MAX);
                SetPoint { number, window: Some(window), seconds }
            }
        }
    }

    /// What is shown of the pull that is on.
    #[must_use]
    pub fn shown(&self) -> Shown {
        self.shown
    }

    /// The cue that is shown.
    #[must_use]
    pub fn cue(&self) -> Option<Cue> {
        self.cue.map(|(cue, _)| cue)
    }

    /// The number of the set-point that ended since this was last asked, and why.
    pub fn take_ended(&mut self) -> Option<(u16, End)> {
        self.ended.take()
    }

    /// A cue of the host begins, in place of the one before it.
    pub fn begin_cue(&mut self, cue: Cue, now_ms: u64) {
        self.cue = (cue != Cue::Nothing).then(|| (cue, now_ms.saturating_add(CUE_MS)));
    }

    /// Stops guiding.
    pub fn end(&mut self, why: End) {
        if let Some(one) = self.in_force.take() {
            self.ended = Some((one.number, why));
        }
        self.shown = Shown::Nothing;
        self.turned_from = None;
    }

    /// Lets time do what it does: the seconds of a set-point and of a cue end.
    pub fn settle(&mut self, now_ms: u64) {
        if self.in_force.is_some_and(|one| now_ms >= one.until_ms) {
            self.end(End::Time);
        }
        self.cue = self.cue.filter(|(_, until_ms)| now_ms < *until_ms);
    }

    /// Takes a sample of the sensors. What is shown of a pull only rises while the pull is on.
    pub fn feel(&mut self, sample: Sample, at_ms: u64) {
        let Some(torque) = sample.torque.centinewton_metres() else { return };
        let torque = i64::from(torque);
        self.follow(torque, at_ms);
        let Some((InForce { window, .. }, _)) = self.in_force.zip(self.pull) else { return };
        self.shown = self.shown.max(self.judge(&window, torque, sample.rotation));
    }

    /// Follows pulls from their beginning to their end.
    fn follow(&mut self, torque: i64, at_ms: u64) {
        let target = self.in_force.map(|one| i64::from(one.window.target().raw()).abs());
        let begins = i64::from(self.range_most / 50).min(target.unwrap_or(i64::MAX) / 5).max(1);
        let size = torque.abs();
        if size >= begins && self.pull != Some(torque.signum()) {
            self.pull = Some(torque.signum());
            self.rest();
            self.cue = None;
        }
        if size * 2 >= begins {
            self.gone_ms = None;
        } else if at_ms.saturating_sub(*self.gone_ms.get_or_insert(at_ms)) >= GONE_MS {
            self.pull = None;
            self.rest();
        }
    }

    fn rest(&mut self) {
        self.shown = Shown::Nothing;
        self.turned_from = None;
    }

    /// What is to be shown of this torque alone. Torque in the other direction is not guided.
    fn judge(&mut self, window: &Window, torque: i64, rotation: Rotation) -> Shown {
        let sign = i64::from(window.target().raw().signum());
        let along = |value: i64| value * sign;
        let limit = |limit: Torque| limit.centinewton_metres().map(|limit| along(limit.into()));
        let (torque, target) = (along(torque), along(window.target().raw().into()));
        if limit(window.high()).is_some_and(|high| torque > high) {
            return Shown::Over;
        }
        let turn = window.rotation().tenths().map(|turn| along(turn.into()));
        let reached = match turn {
            None => torque >= limit(window.low()).unwrap_or(target),
            Some(turn) => {
                let turned = rotation.tenths().map(i32::from);
                if torque >= target && self.turned_from.is_none() {
                    self.turned_from = turned;
                }
                let since = self.turned_from.zip(turned).map(|(from, now)| i64::from(now - from));
                since.is_some_and(|since| along(since) >= turn)
            }
        };
        if reached {
            Shown::Reached
        } else if torque * 10 >= target * NEAR {
            Shown::Near
        } else {
            Shown::Nothing
        }
    }
}

#[cfg(test)]
mod tests;

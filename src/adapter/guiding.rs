//! Guiding the hand through one linked adapter: what is written to it when, and what its answers mean: no I/O, no
//! clock.
//!
//! Guarantees: of several wishes the newest counts; what is shown is not changed while a pull is on, but what is asked
//! no more is withdrawn at once; a set-point is renewed before its time is over, and a new one is read back; what was
//! refused is told once and not asked again on the same link; that a pull went over is cued without waiting for
//! anybody.

use crate::adapter::trouble::{Trouble, TroubleClass};
use crate::core::guide::{Aim, Cue};
use crate::core::time::Stamp;
use crate::core::units::{Torque, TorqueUnit, format_torque};

/// For how long a set-point is written: so long it may outlive a program that hangs.
const GUIDES_S: u16 = 60;
/// A set-point is renewed after this.
const RENEWED_S: f64 = 30.0;
/// After a write that failed in passing, or while another host guides, nothing is written for so long.
const REST_S: f64 = 5.0;
/// A pull is on from this share of the largest torque of the range,
const PULL_SHARE: f64 = 0.02;
/// or from this where the range is not known, N·m.
const PULL_NM: f64 = 4.0;

/// What is to be done at the adapter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Wish {
    /// Write this set-point.
    Guide {
        /// Its number.
        number: u16,
        /// What the next pull should reach.
        aim: Aim,
        /// For how long.
        seconds: u16,
    },
    /// Withdraw whatever is in force.
    Withdraw {
        /// The number of the withdrawal.
        number: u16,
    },
    /// Read what is in force.
    ReadBack,
}

/// Why a set-point was not taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Refused {
    /// It guides for another host.
    Busy,
    /// For good, with a reason in words.
    For(String),
    /// In passing; whether it was taken is not known.
    Passing,
}

/// How one linked adapter guides.
#[derive(Debug, Clone)]
pub struct Guiding {
    adapter: String,
    pull_from: f64,
    aim: Option<Aim>,
    number: u16,
    under_way: Option<Wish>,
    /// What it was last given, and when.
    in_force: Option<(Aim, Stamp)>,
    /// What it was given is still to be read back.
    unread: bool,
    /// What it did not take.
    refused: Option<Aim>,
    rests_until: Option<Stamp>,
    /// It was told that it does not guide.
    told: bool,
    /// Torque stands on the drive.
    pulling: bool,
    /// It tells its torque, which is newer than what a status says.
    tells_torque: bool,
    cue: Option<Cue>,
    /// This pull was cued as over.
    over: bool,
    /// The reading of this pull has come: what torque still stands is its end.
    ends: bool,
}

impl Guiding {
    /// Of an adapter that was just linked; nothing is in force. `most`: the largest torque of its range.
    #[must_use]
    pub fn new(adapter: &str, most: Option<Torque>) -> Self {
        Self {
            adapter: adapter.to_owned(),
            pull_from: most.map_or(PULL_NM, |most| most.nm() * PULL_SHARE),
            aim: None,
            number: 0,
            under_way: None,
            in_force: None,
            unread: false,
            refused: None,
            rests_until: None,
            told: false,
            pulling: false,
            tells_torque: false,
            cue: None,
            over: false,
            ends: false,
        }
    }

    /// What the next pull should reach from now on.
    pub fn aim_at(&mut self, aim: Option<Aim>) {
        self.aim = aim;
    }

    /// A cue is wanted. One that comes when the next pull has begun is too late, and one that says over was given.
    pub fn want_cue(&mut self, cue: Cue) {
        let is_vain = if cue == Cue::Over { self.over } else { self.pulling && !self.ends };
        if !is_vain {
            self.cue = Some(cue);
        }
    }

    /// The cue to be asked for, once; unless `idle`, only one that cannot wait.
    pub fn take_cue(&mut self, idle: bool) -> Option<Cue> {
        self.cue.take_if(|cue| idle || *cue == Cue::Over)
    }

    /// Torque stands on the drive.
    pub fn felt(&mut self, torque: Torque) {
        self.tells_torque = true;
        self.stands(torque.nm().abs() >= self.pull_from);
        if self.pulling {
            self.judge(torque);
        }
    }

    /// A status says whether torque stands on the drive.
    pub fn status(&mut self, under_torque: bool) {
        if !self.tells_torque {
            self.stands(under_torque);
        }
    }

    fn stands(&mut self, pulling: bool) {
        if pulling && !self.pulling {
            (self.over, self.ends) = (false, false);
            self.cue = None;
        }
        self.pulling = pulling;
    }

    /// A pull that ended just now reached this peak.
    pub fn peaked(&mut self, peak: Torque) {
        self.ends = true;
        // Without torque it is a pull of which nothing was known.
        self.over &= self.tells_torque;
        self.judge(peak);
    }

    fn judge(&mut self, torque: Torque) {
        if !self.over && self.aim.is_some_and(|aim| aim.is_passed_by(torque)) {
            self.over = true;
            self.cue = Some(Cue::Over);
        }
    }

    /// Whether it guides as it should.
    #[must_use]
    pub fn guides(&self) -> bool {
        self.in_force.is_some_and(|(aim, _)| self.aim == Some(aim)) && !self.unread
    }

    /// What is to be done now, once; then [`Guiding::written`] or [`Guiding::read`] is due.
    pub fn next(&mut self, now: Stamp) -> Option<Wish> {
        if self.under_way.is_some() || self.rests_until.is_some_and(|until| now < until) {
            return None;
        }
        self.rests_until = None;
        let aim = self.aim.filter(|aim| self.refused != Some(*aim));
        let wish = match (aim, self.in_force) {
            (None, None) => return None,
            (None, Some(_)) => Wish::Withdraw { number: self.count() },
            (Some(aim), Some((held, _))) if aim == held && self.unread => Wish::ReadBack,
            (Some(aim), Some((held, since))) if aim == held => {
                if now < since + RENEWED_S {
                    return None;
                }
                Wish::Guide { number: self.number, aim, seconds: GUIDES_S }
            }
            (Some(_), _) if self.pulling => return None,
            (Some(aim), _) => Wish::Guide { number: self.count(), aim, seconds: GUIDES_S },
        };
        self.under_way = Some(wish);
        Some(wish)
    }

    /// When [`Guiding::next`] is due, if nothing else happens.
    #[must_use]
    pub fn due(&self) -> Option<Stamp> {
        if self.under_way.is_some() || self.rests_until.is_some() {
            return self.rests_until.filter(|_| self.under_way.is_none());
        }
        let (held, since) = self.in_force?;
        (self.aim == Some(held)).then(|| since + RENEWED_S)
    }

    /// What became of a write; what the operator has to know of it.
    pub fn written(&mut self, now: Stamp, outcome: Result<(), Refused>) -> Option<Trouble> {
        match (self.under_way.take()?, outcome) {
            (Wish::Guide { aim, .. }, Ok(())) => {
                self.unread |= self.in_force.is_none_or(|(held, _)| held != aim);
                self.in_force = Some((aim, now));
                None
            }
            (Wish::Withdraw { .. }, Ok(())) => {
                self.in_force = None;
                self.unread = false;
                None
            }
            (_, Err(Refused::Passing)) => {
                self.rests_until = Some(now + REST_S);
                None
            }
            (_, Err(Refused::Busy)) => {
                // What is in force is another host's.
                self.in_force = None;
                self.rests_until = Some(now + REST_S);
                self.tell(
                    "guides for another host, which asks for something else".to_owned(),
                    "end the other host's job; until then do not go by its lamp",
                )
            }
            // What it had stays in force, and is withdrawn next.
            (Wish::Guide { aim, .. }, Err(Refused::For(reason))) => {
                self.refused = Some(aim);
                let target = format_torque(aim.target, TorqueUnit::NewtonMetre);
                self.tell(
                    format!("did not take the set-point {target} ({reason}): it does not guide"),
                    "go by the screen; its readings are taken as ever",
                )
            }
            (Wish::Withdraw { .. } | Wish::ReadBack, Err(Refused::For(_))) => {
                self.rests_until = Some(now + REST_S);
                None
            }
            (Wish::ReadBack, Ok(())) => None,
        }
    }

    /// The set-point was read back: whether it is the one that was written; none if it could not be read.
    pub fn read(&mut self, now: Stamp, agrees: Option<bool>) -> Option<Trouble> {
        self.under_way = None;
        match agrees {
            Some(true) => {
                self.unread = false;
                self.told = false;
                None
            }
            Some(false) => {
                self.unread = false;
                self.refused = self.in_force.map(|(aim, _)| aim);
                self.tell(
                    "shows another set-point than it was given: it is not guided by".to_owned(),
                    "go by the screen; its readings are taken as ever",
                )
            }
            None => {
                self.rests_until = Some(now + REST_S);
                None
            }
        }
    }

    /// What it was last given, with its number.
    #[must_use]
    pub fn given(&self) -> Option<(u16, Aim)> {
        self.in_force.map(|(aim, _)| (self.number, aim))
    }

    /// The next number; 0 is that of no set-point.
    fn count(&mut self) -> u16 {
        self.number = self.number.checked_add(1).unwrap_or(1);
        self.number
    }

    fn tell(&mut self, message: String, next_step: &str) -> Option<Trouble> {
        (!std::mem::replace(&mut self.told, true)).then(|| Trouble {
            class: TroubleClass::Unsupported,
            adapter: Some(self.adapter.clone()),
            message,
            next_step: next_step.to_owned(),
        })
    }
}

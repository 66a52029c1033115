//! A physical generator of pulls: a joint, a hand, an adapter, and an evening's work with them.
//!
//! It knows nothing of how pulls are read, and the reading knows nothing of its figures.

pub mod adapter;
pub mod hand;
pub mod joint;
pub mod knocks;
pub mod pull;
pub mod random;
pub mod session;

/// Steps a second of the simulation: ten times what the fastest adapter samples.
pub const STEPS_HZ: f64 = 5_000.0;

/// What really happened in one pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Truth {
    /// Seconds since the session began, from a tenth of the peak to a tenth of the peak.
    pub from_s: f64,
    pub to_s: f64,
    /// Highest torque at the fastener, signed, N·m.
    pub peak_nm: f64,
    /// The same as the adapter would show it without noise, zero and rate: times its gain.
    pub shown_nm: f64,
    pub act: Act,
    /// Torque that the fastener held before, as a share of the peak.
    pub held: f64,
    /// How far the fastener turned, degrees.
    pub turned_deg: f64,
    pub faults: Faults,
    /// The pull is too faint to insist on it.
    pub faint: bool,
    pub known: Known,
}

/// What no trace tells: the figures that the pull was made with. Only a bound of what can be told at
/// all may use them.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Known {
    /// N·m a second while the nut is stuck, and while it turns in its linear part.
    pub stuck_nm_s: f64,
    pub turning_nm_s: f64,
    /// N·m over which the parts come together.
    pub toe_nm: f64,
    pub prevailing_nm: f64,
    /// Unevenness of the hand's pace, as a share.
    pub uneven: f64,
    /// The spread of break-aways around what was held, as a ratio's ln.
    pub grip_spread: f64,
    /// N·m a degree in the linear part, and degrees a N·m of all that winds up.
    pub stiffness: f64,
    pub compliance: f64,
    /// What the hand was up to: N·m to reach, seconds to hold it and to let go.
    pub stop_nm: f64,
    pub hold_s: f64,
    pub release_s: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Act {
    Fresh,
    Tight,
    Loosen,
    Trial,
}

/// What was wrong with a pull.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Faults {
    pub slip: Degree,
    /// Full: a rough thread let torque drop three times and more, by 5 % and more, above 40 % of the peak.
    /// Slight: once or twice.
    pub stick_slip: Degree,
    pub snatch: Degree,
    /// Full: turned by more than 10° beyond where it yields. Slight: by less, but it did yield.
    pub yielding: Degree,
    /// Full: torque that it can bear fell by more than a fifth. Slight: by less, but it did give.
    pub thread_damage: Degree,
    /// Full: met its bottom in this pull, or turned by more than 15° askew in its thread. Slight: it was
    /// already on the bottom and turned on, or turned by less.
    pub bottomed_or_crossed: Degree,
    pub impact: Degree,
    /// Full: torque stays within 2 % of its peak for less than the time between two samples, so that all of
    /// them may miss it by more. Slight: for less than one and a half, so that they may miss it by 1.3 %.
    pub under_sampled: Degree,
    /// Anything else than a sound joint pulled at the hand's own pace.
    pub odd: bool,
}

/// How much of a fault there was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Degree {
    #[default]
    None,
    /// It was there, but less than what it is called by: to call it is no false accusation, and not to
    /// call it is no miss.
    Slight,
    Full,
}

impl Degree {
    pub fn of(full: bool, slight: bool) -> Self {
        match (full, slight) {
            (true, _) => Self::Full,
            (_, true) => Self::Slight,
            _ => Self::None,
        }
    }

    pub fn is_full(self) -> bool {
        self == Self::Full
    }
}

impl From<bool> for Degree {
    fn from(full: bool) -> Self {
        Self::of(full, false)
    }
}

/// Torque and turn over time, in steps of the simulation.
#[derive(Debug, Clone, Default)]
pub struct Curve {
    pub torque: Vec<f32>,
    /// Turn of the drive, degrees, wind-up included.
    pub turned: Vec<f32>,
}

impl Curve {
    pub fn push(&mut self, torque: f64, turned: f64) {
        self.torque.push(torque as f32);
        self.turned.push(turned as f32);
    }

    pub fn seconds(&self) -> f64 {
        self.torque.len() as f64 / STEPS_HZ
    }

    pub fn peak(&self) -> f64 {
        self.torque.iter().fold(0.0_f32, |most, nm| most.max(nm.abs())).into()
    }
}

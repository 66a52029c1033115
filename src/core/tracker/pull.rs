//! One pull: as the evidence sees it, and what it may have been.

use crate::core::event::Act;
use crate::core::time::Stamp;
use crate::core::tracker::evidence::motion::Move;
use crate::core::tracker::looks::Looks;

/// A pull as the evidence sees it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Seen {
    /// Peak in N·m, clockwise positive.
    pub nm: f64,
    /// Magnitude of the drive's rotation in degrees, if the adapter tells.
    pub turned_deg: Option<f64>,
    /// What the trace shows, if there is one.
    pub looks: Option<Looks>,
    /// What that tells in the account that it is weighed in, as [`Looks::ln_tight`].
    pub ln_tight: Option<f64>,
    /// When its peak was.
    pub at: Stamp,
    /// Seconds since the pull before; none for the first.
    pub gap_s: Option<f64>,
    /// The adapter's range in N·m.
    pub range: Option<(f64, f64)>,
    /// Its expanded uncertainty (k = 2) at this peak, per cent of the reading.
    pub accuracy_pct: Option<f64>,
    /// A person typed it: nothing was measured.
    pub typed: bool,
    /// Its trace shows the blows of an impact tool.
    pub hit: bool,
    /// Its trace shows torque that sinks while the fastener turns on.
    pub gives: bool,
    /// What the adapter shows too much since its zero jumped, N·m.
    pub zero_off_nm: Option<f64>,
    /// How the tool came here, if the adapter tells.
    pub moved: Option<Move>,
}

/// What one pull was, in one account.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Assignment {
    /// Index of the fastener; none for a pull on nothing in the plan.
    pub fastener: Option<usize>,
    /// Index of the pass.
    pub pass: usize,
    pub act: Act,
    /// The fastener had been slackened before, unseen.
    pub slackened: bool,
    /// It reached torque without turning, and nothing accepted explains it.
    pub unturned: bool,
    /// A round over what is tight begins with it, though somebody waits.
    pub begins: bool,
}

impl Assignment {
    pub const TRIAL: Self = Self {
        fastener: None,
        pass: 0,
        act: Act::Trial,
        slackened: false,
        unturned: false,
        begins: false,
    };

    pub fn new(fastener: usize, pass: usize, act: Act) -> Self {
        Self { fastener: Some(fastener), pass, act, ..Self::TRIAL }
    }

    /// The same, the fastener counted from this one.
    pub fn counted_from(self, first: usize) -> Self {
        Self { fastener: self.fastener.map(|fastener| fastener - first), ..self }
    }

    /// The same of the fastener that is so many further `on`.
    pub fn further(self, on: usize) -> Self {
        Self { fastener: self.fastener.map(|fastener| fastener + on), ..self }
    }

    /// The same fastener, pass and act.
    pub fn same(&self, other: &Self) -> bool {
        (self.fastener, self.pass, self.act) == (other.fastener, other.pass, other.act)
    }
}

/// What tells which fastener a pull was on, beyond the plan's order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Told {
    /// It turned: it is one that had not been tight.
    Turning,
    /// The operator's word, or how the tool moved.
    Place,
}

/// True if a torque lies outside what the adapter measures.
pub(super) fn out_of_range((low, high): (f64, f64), nm: f64) -> bool {
    nm < low || nm > high
}

//! What single joints ask beside their torque, obeyed: one file a rule. Each acts on one fastener in one account, from
//! what the plan and the reading tell for certain; which fastener a pull was on is left to the evidence.

pub(super) mod acceptance;
pub(super) mod access;
pub(super) mod angle;
pub(super) mod bearing;
pub(super) mod by_hand;
pub(super) mod calibration;
pub(super) mod castle;
pub(super) mod closing;
pub(super) mod height;
pub(super) mod locker;
pub(super) mod overload;
pub(super) mod prevailing;
pub(super) mod renewal;
pub(super) mod sides;
pub(super) mod slack_first;
pub(super) mod soundness;
pub(super) mod threads;
pub(super) mod trace;
pub(super) mod units;
pub(super) mod words;
pub(super) mod zero;

use crate::core::time::Stamp;

/// What the rules keep of one fastener in one account.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Kept {
    /// What secures it was said to be in place, and it has not been turned since.
    pub secured: bool,
    /// It was turned back after its torque, although it may only go forward.
    pub backed_off: bool,
    /// Degrees that it went on after its least torque, as far as the adapter told.
    pub forward_deg: f64,
    /// It went on further than to its slot, and that is the only limit there is.
    pub past_slot: bool,
    /// When it was pulled first, if its thread locker sets.
    pub first: Option<Stamp>,
    /// It was pulled after its thread locker had set.
    pub cured: bool,
    /// Turned on after its torque: in this pass, by so many degrees.
    pub turned: Option<(usize, f64)>,
    /// It was turned further than its angle.
    pub too_far: bool,
    /// It reached its angle without the torque that comes with it.
    pub weak: bool,
    /// Its angle: which adapter or person vouches for it.
    pub angle: Angle,
    /// It lies so near its upper limit that it may be over it, where the plan asks for proof.
    pub may_be_high: bool,
    /// It needs a new part before it may be closed.
    pub needs_new: bool,
    /// It was turned back, or said to be opened.
    pub opened: bool,
    /// Whether it may have been hurt.
    pub harm: Harm,
}

/// Whether thread, seat or part may have been hurt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Harm {
    /// Nothing says so.
    #[default]
    None,
    /// They may have been.
    Suspected,
    /// They were looked at since, and are sound.
    LookedAt,
}

/// What vouches for an angle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Angle {
    /// The adapter told it, or there is none.
    #[default]
    Told,
    /// Nothing: the adapter tells no angle.
    Unknown,
    /// The operator's word.
    Said,
}

impl Kept {
    /// What is left of it once the fastener is slack.
    pub fn when_slack(self) -> Self {
        let Self { backed_off, needs_new, opened, harm, .. } = self;
        Self { backed_off, needs_new, opened, harm, ..Self::default() }
    }
}

//! How fasteners, passes and whoever works on them stand, in one account of what happened.

use crate::core::event::Act;
use crate::core::tracker::looks::Usual;
use crate::core::tracker::pull::Assignment;
use crate::core::tracker::rules::Kept;
use crate::core::tracker::shared::Row;

/// Why a pull that was made does not count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Spoiled {
    /// It came before this hold was confirmed; only slackening and pulling again cures it.
    Hold(usize),
    /// Its threads were not as its value asks; the same cures it, once they are.
    Threads,
    /// An impact tool drove it, and it is by hand only.
    Driven,
    /// It reached torque without turning.
    Unturned,
}

/// A tightening that has not reached its window.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Partial {
    pub pass: usize,
    /// Highest torque so far, N·m.
    pub nm: f64,
    /// Number of the pull that began it.
    pub since: u64,
}

/// How one fastener stands.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Member {
    /// The first pass that no accepted pull covers.
    pub next_pass: usize,
    pub partial: Option<Partial>,
    /// Highest torque it was brought to since it was last slack, N·m.
    pub held_nm: f64,
    /// Last peak that counts, N·m.
    pub peak_nm: Option<f64>,
    pub over: bool,
    pub spoiled: Option<Spoiled>,
    /// A finished fastener was turned back.
    pub loosened: bool,
    /// A reading known to be missing may have been on it.
    pub unseen: bool,
    /// Something tells that the accepted pull was on this one.
    pub told: bool,
    /// What tells is about the place: the operator's word, or how the tool moved.
    pub placed: bool,
    /// What it was brought to was typed, not measured.
    pub typed: bool,
    /// What the rules of its joint keep of it.
    pub kept: Kept,
}

impl Member {
    /// Torque gone, whatever was wrong with it: it must be pulled from the start.
    pub fn slacken(&mut self) {
        *self = Self { loosened: self.loosened, kept: self.kept.when_slack(), ..Self::default() };
    }
}

/// What has been pulled in the pass under way of one step.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Round {
    /// The pass; none before the first pull.
    pub pass: Option<usize>,
    /// Members tightened in it, in order, each once.
    pub pulled: Row,
    /// Places in `pulled`, one bit each, before which one that was tight already was pulled instead.
    pub instead: u128,
    /// The same of the pass before it.
    pub before: Row,
    /// Where one was pulled instead of another in this pass first, and in the pass before if one was left out there.
    pub lapse: Option<Lapse>,
    pub lapse_before: Option<Lapse>,
    /// Tightenings and repeats in it, several swings of one counting once.
    pub efforts: usize,
    /// Passes of this step that were begun before it.
    pub earlier: usize,
    /// Members rechecked since the step was finished, in order.
    pub rechecked: Row,
    /// What turned of slack members, and of those that an earlier pass left half tight.
    pub slack: Turned,
    pub half_tight: Turned,
    /// Pulls of the pass under way that turned, and that reached torque without turning although
    /// nothing accepted explains it.
    pub did_turn: u32,
    pub did_not: u32,
}

/// One that was tight already was pulled instead of another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Lapse {
    /// So many members had been pulled in the pass.
    pub place: usize,
    /// Which member was pulled.
    pub member: u16,
}

/// How far pulls turned.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Turned {
    pub count: u32,
    /// Sum of ln(degrees a N·m), and of its squares.
    pub ln_compliance: f64,
    pub squares: f64,
}

/// Share of its target below which a pull on what is tight shows little of how it holds.
pub(super) const WEAK: f64 = 0.95;

/// The pull before.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Last {
    pub fastener: usize,
    pub pass: usize,
    pub act: Act,
    /// It stayed below the window.
    pub short: bool,
    /// It stayed well below the target.
    pub weak: bool,
    /// The same fastener was pulled twice at once.
    pub double: bool,
}

impl Last {
    /// True if it was on what was tight and shows little: one goes on with it.
    pub fn proves_little(&self) -> bool {
        self.act == Act::Recheck && (self.short || self.weak)
    }
}

/// One pull of an account's past.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Past {
    pub was: Assignment,
    /// Probability, within this account, that it was on this fastener: accounts that came to the same
    /// state were made one.
    pub sure: f64,
    /// The same of the likeliest other that it may have been on.
    pub otherwise: Option<(Option<usize>, f64)>,
}

impl Past {
    /// Probability, within this account, that it was on this fastener, or on none.
    pub fn share_of(&self, fastener: Option<usize>) -> f64 {
        if self.was.fastener == fastener {
            return self.sure;
        }
        self.otherwise.filter(|(other, _)| *other == fastener).map_or(0.0, |(_, share)| share)
    }

    /// Takes in the same pull of another account, `share` being what this one weighs of the two.
    pub fn join(&mut self, other: &Self, share: f64) {
        let of = |fastener: Option<usize>| {
            share * self.share_of(fastener) + (1.0 - share) * other.share_of(fastener)
        };
        let others = [
            Some(other.was.fastener),
            self.otherwise.map(|one| one.0),
            other.otherwise.map(|one| one.0),
        ];
        let others = others.into_iter().flatten().filter(|one| *one != self.was.fastener);
        let otherwise = others.map(|one| (one, of(one))).max_by(|a, b| a.1.total_cmp(&b.1));
        let sure = of(self.was.fastener);
        (self.sure, self.otherwise) = (sure, otherwise);
    }
}

/// How somebody works.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Habit {
    /// How often they pulled twice at once, and could have.
    pub doubles: u16,
    pub chances: u16,
    /// ln of the odds that they have room to move, by the pauses they make.
    pub ln_with_room: f64,
    /// What their pulls look like that turn the fastener.
    pub usual: Usual,
    /// What traces told of pulls that turned, and of those on what was tight already.
    pub turned: Told,
    pub tight: Told,
}

/// What the traces of some pulls told.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Told {
    pub count: u16,
    pub sum: f64,
}

impl Told {
    pub fn learn(&mut self, told: f64) {
        self.count = self.count.saturating_add(1);
        self.sum += told;
    }
}

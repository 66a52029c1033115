//! Accounts that differ only in how they came to where they are.

use crate::core::tracker::evidence::ln_sum;
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::member::{Member, Round};
use crate::core::tracker::scene::Scene;
use rustc_hash::FxHasher;
use std::hash::{Hash, Hasher};

/// Torques held that differ by no more than this share are told apart by nothing.
const HELD_ALIKE: f64 = 0.05;

impl Hypothesis {
    /// True if whatever comes next is as likely in the other account as in this one: they differ only
    /// in how they came to where they are, or in torques of no weight.
    pub fn stands_as(&self, other: &Self) -> bool {
        let alike = |one: &Member, other: &Member| {
            let close = (one.held_nm - other.held_nm).abs() <= HELD_ALIKE * one.held_nm;
            let strip = |member: &Member| Member { held_nm: 0.0, peak_nm: None, ..*member };
            close && strip(one) == strip(other)
        };
        self.last == other.last
            && self.lies.all_alike(&other.lies, PartialEq::eq)
            && self.missed == other.missed
            && self.members.all_alike(&other.members, alike)
            && self.rounds.all_alike(&other.rounds, Round::stands_as)
    }

    /// A number that is the same for accounts that stand alike.
    pub fn stand(&self) -> u64 {
        let mut hasher = FxHasher::default();
        self.last.hash(&mut hasher);
        self.missed.hash(&mut hasher);
        for (step, round) in self.rounds.iter().enumerate().filter(|(_, one)| one.pass.is_some()) {
            (step, &round.pass, &round.pulled, round.efforts, &round.rechecked).hash(&mut hasher);
        }
        hasher.finish()
    }

    /// A number that is the same for accounts in which every fastener stands alike.
    pub fn outcome(&self, scene: &Scene) -> u64 {
        let mut hasher = FxHasher::default();
        // Where nothing was begun, nothing differs.
        let begun = self.rounds.iter().enumerate().filter(|(_, one)| one.pass.is_some());
        for (step, round) in begun {
            (step, round.pass).hash(&mut hasher);
            for one in scene.fasteners_of(step).map(|one| &self.members[one]) {
                let state = (one.next_pass, one.partial.is_some(), one.spoiled);
                let told = (one.told, one.placed, one.typed);
                (state, told, one.over, one.loosened, one.unseen).hash(&mut hasher);
            }
        }
        self.missed.hash(&mut hasher);
        hasher.finish()
    }

    /// Takes in an account that is no heavier, and stands as this one or in all but how it came to that.
    pub fn join(&mut self, other: &Self) {
        let (own, others) = (self.ln.exp(), other.ln.exp());
        let share = own / (own + others);
        for (past, its) in self.history.iter_mut().zip(&other.history) {
            past.join(its, share);
        }
        self.ln = ln_sum(&[self.ln, other.ln]);
    }
}

impl Round {
    /// The same but for how far pulls turned.
    fn stands_as(&self, other: &Self) -> bool {
        let place = |one: &Self| {
            let lapses = (one.lapse, one.lapse_before);
            (one.pass, one.efforts, one.earlier, one.did_turn, one.did_not, one.instead, lapses)
        };
        place(self) == place(other)
            && self.pulled == other.pulled
            && self.before == other.before
            && self.rechecked == other.rechecked
    }
}

//! Accounts that differ only in how they came to where they are.

use crate::core::tracker::evidence::ln_sum;
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::member::{Member, Round};
use std::hash::{DefaultHasher, Hash, Hasher};

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
            && self.lies == other.lies
            && self.missed == other.missed
            && self.members.iter().zip(&other.members).all(|(one, other)| alike(one, other))
            && self.rounds.iter().zip(&other.rounds).all(|(one, other)| one.stands_as(other))
    }

    /// A number that is the same for accounts that stand alike.
    pub fn stand(&self) -> u64 {
        let mut hasher = DefaultHasher::new();
        self.last.hash(&mut hasher);
        self.missed.hash(&mut hasher);
        for (step, round) in self.rounds.iter().enumerate().filter(|(_, one)| one.pass.is_some()) {
            (step, &round.pass, &round.pulled, round.efforts, &round.rechecked).hash(&mut hasher);
        }
        hasher.finish()
    }

    /// Takes in an account that stands as this one, and is no heavier.
    pub fn join(&mut self, other: &Self) {
        let (own, others) = (self.ln.exp(), other.ln.exp());
        let share = own / (own + others);
        for (past, its) in self.history.iter_mut().zip(&other.history) {
            let same = past.was.fastener == its.was.fastener;
            past.sure = share * past.sure + if same { (1.0 - share) * its.sure } else { 0.0 };
        }
        self.ln = ln_sum(&[self.ln, other.ln]);
    }
}

impl Round {
    /// The same but for how far pulls turned.
    fn stands_as(&self, other: &Self) -> bool {
        let place = |one: &Self| (one.pass, one.efforts, one.earlier, one.did_turn, one.did_not);
        place(self) == place(other)
            && self.pulled == other.pulled
            && self.before == other.before
            && self.rechecked == other.rechecked
    }
}

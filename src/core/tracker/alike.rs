//! Accounts that differ only in how they came to where they are.

use crate::core::tracker::evidence::ln_sum;
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::member::{Member, Round};

/// Torques held that differ by no more than this share are told apart by nothing.
const HELD_ALIKE: f64 = 0.05;

impl Hypothesis {
    /// True if whatever comes next is as likely in the other account as in this one: they differ only
    /// in how they came to where they are, or in torques of no weight.
    pub fn stands_as(&self, other: &Self) -> bool {
        let alike = |one: &Member, other: &Member| {
            let close = (one.held_nm - other.held_nm).abs() <= HELD_ALIKE * one.held_nm;
            let short = |member: &Member| member.partial.map(|partial| (partial.pass, partial.nm));
            let as_short = match (short(one), short(other)) {
                (Some(one), Some(other)) => {
                    one.0 == other.0 && (one.1 - other.1).abs() <= HELD_ALIKE * one.1
                }
                (one, other) => one.is_none() && other.is_none(),
            };
            let strip =
                |member: &Member| Member { held_nm: 0.0, peak_nm: None, partial: None, ..*member };
            close && as_short && strip(one) == strip(other)
        };
        let group = |step: usize| {
            let shared = self.members.shares(&other.members, step);
            let mut members = self.members.group(step).iter().zip(other.members.group(step));
            shared || members.all(|(one, other)| alike(one, other))
        };
        let round = |step: usize| {
            let shared = self.rounds.shares(&other.rounds, step);
            shared || self.rounds[step].stands_as(&other.rounds[step])
        };
        self.last == other.last
            && self.missed == other.missed
            && (0..self.rounds.len()).all(|step| round(step) && group(step))
            && self.lies == other.lies
    }

    /// A number that is the same for accounts that stand alike.
    pub fn stand(&self) -> u64 {
        let mut sum = Mixed(self.pulls);
        if let Some(last) = self.last {
            sum.add(last.fastener).add(last.pass).add(usize::from(last.short));
        }
        for (fastener, pass) in &self.missed {
            sum.add(*fastener).add(*pass);
        }
        for step in 0..self.rounds.len() {
            let round = &self.rounds[step];
            let Some(pass) = round.pass else { continue };
            sum.add(step).add(pass).add(round.efforts);
            for member in round.pulled.iter().chain(&round.rechecked) {
                sum.add(usize::from(*member));
            }
            for member in self.members.group(step) {
                sum.add(4 * member.next_pass + usize::from(member.over))
                    .add(usize::from(member.partial.is_some()));
            }
        }
        sum.0
    }

    /// Takes in an account that stands as this one, and is no heavier.
    pub fn join(&mut self, other: &Self) {
        let (own, others) = (self.ln.exp(), other.ln.exp());
        let share = own / (own + others);
        for (past, its) in self.history.iter_mut().zip(&other.history) {
            past.join(share, its);
        }
        self.ln = ln_sum(&[self.ln, other.ln]);
    }
}

impl Round {
    /// The same but for how far pulls turned, and how many did.
    fn stands_as(&self, other: &Self) -> bool {
        let place = |one: &Self| (one.pass, one.efforts, one.earlier > 0, one.did_not > 0);
        place(self) == place(other)
            && self.pulled == other.pulled
            && self.before == other.before
            && self.rechecked == other.rechecked
    }
}

/// Small numbers mixed into one, by multiplying and turning: quick, and no matter if two come out alike.
struct Mixed(u64);

impl Mixed {
    fn add(&mut self, value: usize) -> &mut Self {
        // An odd number whose bits look drawn by lot: 2⁶⁴ over the golden ratio.
        self.0 = (self.0.rotate_left(5) ^ value as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        self
    }
}

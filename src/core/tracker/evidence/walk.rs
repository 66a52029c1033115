//! How a pass goes on: every order that somebody may be following, each as likely as what was pulled so
//! far makes it.
//!
//! A walk follows one order member by member, passes one over now and then, comes back to it, and takes
//! one out of its turn. Shares of habit: a judgement to start from, not fitted to records.

use crate::core::tracker::images::image;

/// Whoever follows an order goes on with one out of its turn: any that waits, in this share of pulls.
const SLIP: f64 = 0.012;
/// Share of passes in which one is passed over, at any place alike.
const PASSED_OVER: f64 = 0.06;
/// Of pulls on one that was tight already, those in place of the one whose turn it was.
const IN_PLACE: f64 = 0.4;
/// Who has left somebody out comes back, pull by pull;
const BACK: f64 = 0.04;
/// and where the place has come of the one that was taken instead.
const BACK_IN_TURN: f64 = 0.6;

/// Share of passes over so many members in which a certain one is passed over.
pub(in crate::core::tracker) fn passed_over(members: usize) -> f64 {
    PASSED_OVER / members as f64
}

/// Orders that may be followed.
#[derive(Debug, Clone, Copy)]
pub(super) enum Way<'a> {
    /// Members one by one.
    Listed(&'a [u16]),
    /// An order of a ring of `n` in a rotation and, `mirrored`, a reflection.
    Image { order: &'a [u16], n: u16, mirrored: bool, turn: u16 },
    /// Round a ring of `n` from a member, forward or back.
    Clock { n: u16, from: u16, back: bool },
    /// Any that waits, as it comes.
    Loose,
}

impl Way<'_> {
    fn at(&self, place: usize) -> Option<u16> {
        match *self {
            Way::Listed(order) => order.get(place).copied(),
            Way::Image { order, n, mirrored, turn } => {
                order.get(place).map(|member| image(n, *member, mirrored, turn))
            }
            Way::Clock { n, from, back } => (place < usize::from(n)).then(|| {
                let place = place as u16 % n;
                let on = if back { n - place } else { place };
                (from - 1 + on) % n + 1
            }),
            Way::Loose => None,
        }
    }
}

/// Most members of a group whose walks are followed.
pub(super) const MOST: u16 = 128;

/// A pass under way.
pub(super) struct Walk<'a> {
    /// Members pulled in it, in order, each once; at least one.
    pub pulled: &'a [u16],
    /// Places in `pulled`, one bit each, before which one that was tight already was pulled instead.
    pub instead: u128,
    /// Members that wait and were not tried, up to [`MOST`].
    pub fresh: &'a [u16],
    /// The last pull was one on a member that was tight already.
    pub repeated: bool,
}

/// Where a walk along one way stands. Members are bits.
#[derive(Default)]
struct Stand {
    /// Place in the way up to which it has come.
    place: usize,
    done: u128,
    /// Members that it has gone past.
    left: u128,
}

/// What a walk does next.
struct Next {
    /// The member whose turn it is, and its place.
    turn: (u16, usize),
    /// The one after that.
    after: Option<(u16, usize)>,
    /// The way has come to a member that was taken before its turn.
    taken: bool,
}

impl Walk<'_> {
    /// Of what falls to members that wait, the share of each of `fresh`; they sum to 1. `ways`: each with
    /// how likely it was before anything was pulled.
    pub fn shares(&self, ways: &[(Way<'_>, f64)]) -> Vec<f64> {
        let mut shares = vec![0.0; self.fresh.len()];
        let there = mask(self.pulled) | mask(self.fresh);
        for (way, prior) in ways {
            let mut stand = Stand::default();
            let mut likely = *prior;
            for (place, member) in self.pulled.iter().copied().enumerate() {
                let next = stand.next(way, there);
                // Every way but a listed one begins where the pass began.
                if place > 0 || matches!(way, Way::Listed(_)) {
                    let over = self.passed_over(self.instead >> place & 1 == 1);
                    likely *= self.share(&stand, next.as_ref(), place, member, over);
                }
                stand.take(next.as_ref(), member);
            }
            let next = stand.next(way, there);
            let over = self.passed_over(self.repeated);
            for (share, member) in shares.iter_mut().zip(self.fresh) {
                let pulled = self.pulled.len();
                *share += likely * self.share(&stand, next.as_ref(), pulled, *member, over);
            }
        }
        let all: f64 = shares.iter().sum();
        if all > 0.0 {
            shares.iter_mut().for_each(|share| *share /= all);
        }
        shares
    }

    fn members(&self) -> usize {
        self.pulled.len() + self.fresh.len()
    }

    fn passed_over(&self, instead: bool) -> f64 {
        if instead { IN_PLACE } else { passed_over(self.members()) }
    }

    /// The share of one member that waits, once `pulled` are pulled and one is passed over in `over` of pulls.
    fn share(
        &self,
        stand: &Stand,
        next: Option<&Next>,
        pulled: usize,
        member: u16,
        over: f64,
    ) -> f64 {
        let anyone = 1.0 / (self.members() - pulled).max(1) as f64;
        let left = f64::from(stand.left.count_ones());
        let is_left = stand.left & bit(member) != 0;
        let Some(next) = next else {
            return match (left > 0.0, is_left) {
                (false, _) => anyone,
                (true, true) => (1.0 - SLIP) / left + SLIP * anyone,
                (true, false) => SLIP * anyone,
            };
        };
        let back = match (left > 0.0, next.taken) {
            (false, _) => 0.0,
            (true, true) => BACK_IN_TURN,
            (true, false) => BACK,
        };
        let over = next.after.map_or(0.0, |_| over);
        let on = (1.0 - SLIP) * (1.0 - back);
        let of_turn = match next.after {
            _ if member == next.turn.0 => on * (1.0 - over),
            Some((after, _)) if member == after => on * over,
            _ if is_left => (1.0 - SLIP) * back / left,
            _ => 0.0,
        };
        of_turn + SLIP * anyone
    }
}

impl Stand {
    fn next(&self, way: &Way<'_>, there: u128) -> Option<Next> {
        let mut taken = false;
        let mut turn = None;
        for place in self.place.. {
            let Some(member) = way.at(place) else { break };
            let waits = there & !self.done & bit(member) != 0;
            match turn {
                None if waits => turn = Some((member, place)),
                Some(turn) if waits => {
                    return Some(Next { turn, after: Some((member, place)), taken });
                }
                None => taken |= self.done & bit(member) != 0,
                Some(_) => {}
            }
        }
        turn.map(|turn| Next { turn, after: None, taken })
    }

    fn take(&mut self, next: Option<&Next>, member: u16) {
        self.done |= bit(member);
        let was_left = self.left & bit(member) != 0;
        self.left &= !bit(member);
        let Some(next) = next.filter(|_| !was_left) else { return };
        if member == next.turn.0 {
            self.place = next.turn.1 + 1;
            return;
        }
        // Another in the place of the one whose turn it was.
        self.left |= bit(next.turn.0);
        self.place = match next.after {
            Some((after, place)) if member == after => place + 1,
            _ => next.turn.1 + 1,
        };
    }
}

fn bit(member: u16) -> u128 {
    1_u128.checked_shl(u32::from(member) - 1).unwrap_or(0)
}

fn mask(members: &[u16]) -> u128 {
    members.iter().fold(0, |mask, member| mask | bit(*member))
}

#[cfg(test)]
mod tests {
    use super::{Walk, Way};

    /// The likeliest next in a ring that may be gone through as written, mirrored or round the clock.
    fn next(order: &[u16], pulled: &[u16], instead: u128, repeated: bool) -> u16 {
        let n = order.len() as u16;
        let fresh: Vec<u16> = (1..=n).filter(|one| !pulled.contains(one)).collect();
        let turn = (pulled[0] + order[0] + n - 1) % n;
        let ways = [
            (Way::Listed(order), 1.0),
            (Way::Loose, 0.003),
            (Way::Image { order, n, mirrored: true, turn }, 0.07),
            (Way::Clock { n, from: pulled[0], back: false }, 0.05),
        ];
        let shares = Walk { pulled, instead, fresh: &fresh, repeated }.shares(&ways);
        assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-12, "{shares:?}");
        let most = fresh.iter().zip(&shares).max_by(|a, b| a.1.total_cmp(b.1));
        *most.unwrap().0
    }

    #[test]
    fn the_next_member_follows_from_what_was_pulled() {
        let (six, eight) = ([1, 4, 2, 5, 3, 6], [1, 5, 3, 7, 2, 6, 4, 8]);
        for (order, pulled, instead, expected, why) in [
            (&six[..], &[1, 4][..], 0, 2, "as written"),
            (&six, &[1, 4, 6], 0, 3, "mirrored"),
            (&six, &[1, 2, 3], 0, 4, "round the clock"),
            (&six, &[1, 4, 5], 0, 3, "one passed over"),
            (&six, &[1, 4, 3, 5], 0, 2, "two have changed places"),
            (&eight, &[1, 5, 7], 0, 3, "mirrored rather than one passed over"),
            (&eight, &[1, 5, 7], 0b100, 2, "one passed over while another was pulled again"),
        ] {
            assert_eq!(next(order, pulled, instead, false), expected, "{why}");
        }
    }

    #[test]
    fn who_pulls_one_again_may_have_done_so_in_the_place_of_the_next() {
        let fresh = [3, 2, 6];
        let share = |repeated| {
            let walk = Walk { pulled: &[1, 4, 5], instead: 0, fresh: &fresh, repeated };
            walk.shares(&[(Way::Listed(&[1, 4, 5, 2, 6, 3]), 1.0)])[2]
        };
        assert!(share(false) < 0.02 && share(true) > 0.3);
    }
}

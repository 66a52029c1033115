//! A plan's order and those that are as good: of a ring in every rotation and reflection, of a row or a cover from
//! either end of its numbers.

/// Which orders are as good as the one written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Alike {
    /// None: it is a list, and binds nobody.
    None,
    /// The same from the other end of the numbers.
    FromEitherEnd,
    /// Every rotation and reflection of the ring.
    RoundTheRing,
}

/// The order of a group's members in a pass.
#[derive(Debug, Clone, Copy)]
pub(super) struct Order<'a> {
    /// Members as the plan writes them: a permutation of 1..=n.
    pub written: &'a [u16],
    pub alike: Alike,
}

impl Order<'_> {
    /// True if `pulled` is the beginning of the order, in some image of it.
    pub fn begins_with(self, pulled: &[u16]) -> bool {
        self.images().any(|image| image.starts_with(pulled))
    }

    /// True if `pulled` follows the order, in some image of it, with just one member left out so far: something was
    /// skipped, but nothing is crooked yet.
    pub fn leaves_out_one(self, pulled: &[u16]) -> bool {
        self.images().any(|image| skips_one(&image, pulled))
    }

    /// Which member comes next if `pulled` is the beginning of some image of the order; the order as written first,
    /// then every other fit, without repeats.
    pub fn next(self, pulled: &[u16]) -> Vec<u16> {
        let fits = self.images().filter(|image| image.starts_with(pulled));
        each_once(fits.filter_map(|image| image.get(pulled.len()).copied()))
    }

    /// Which members come next if `pulled` follows some image of the order with one member left out.
    pub fn next_after_gap(self, pulled: &[u16]) -> Vec<u16> {
        let fits = self.images().filter(|image| skips_one(image, pulled));
        let mut found: Vec<u16> =
            fits.filter_map(|image| image.get(pulled.len() + 1).copied()).collect();
        found.dedup();
        found
    }

    /// Which member comes next if `pulled` is the beginning of some image of the order but for one or two members out
    /// of their turn; the nearest first, without repeats.
    pub fn next_if_near(self, pulled: &[u16]) -> Vec<u16> {
        let mut near: Vec<(usize, u16)> = self
            .images()
            .filter_map(|image| {
                let off = image.iter().zip(pulled).filter(|(one, other)| one != other).count();
                let next = image[pulled.len().min(image.len())..]
                    .iter()
                    .chain(&image)
                    .find(|member| !pulled.contains(member))?;
                (off <= 2 && off + 1 < pulled.len()).then_some((off, *next))
            })
            .collect();
        near.sort_by_key(|(off, _)| *off);
        each_once(near.into_iter().map(|(_, next)| next))
    }

    /// The order with its members counted from the other end.
    pub fn mirrored(self) -> Vec<u16> {
        let n = u16::try_from(self.written.len()).unwrap_or(u16::MAX);
        self.written.iter().map(|member| image(n, *member, true, 0)).collect()
    }

    /// The order as written, then all that are as good.
    fn images(self) -> impl Iterator<Item = Vec<u16>> {
        let n = u16::try_from(self.written.len()).unwrap_or(u16::MAX);
        let (turns, mirrored) = match self.alike {
            Alike::None => (1, &[false][..]),
            Alike::FromEitherEnd => (1, &[false, true][..]),
            Alike::RoundTheRing => (n, &[false, true][..]),
        };
        mirrored.iter().flat_map(move |mirrored| {
            (0..turns).map(move |turn| {
                self.written.iter().map(|member| image(n, *member, *mirrored, turn)).collect()
            })
        })
    }
}

fn each_once(members: impl Iterator<Item = u16>) -> Vec<u16> {
    let mut found = Vec::new();
    for member in members {
        if !found.contains(&member) {
            found.push(member);
        }
    }
    found
}

/// True if `pulled` is the beginning of `image` but for one member.
fn skips_one(image: &[u16], pulled: &[u16]) -> bool {
    let Some(begun) = image.get(..=pulled.len()) else { return false };
    let mut left = pulled.iter().peekable();
    for member in begun {
        left.next_if_eq(&member);
    }
    left.peek().is_none()
}

fn image(n: u16, member: u16, mirrored: bool, turn: u16) -> u16 {
    let zero = if mirrored { n - member % n } else { member - 1 };
    (zero + turn) % n + 1
}

#[cfg(test)]
mod tests {
    use super::{Alike, Order};

    const RING: Order<'static> = Order { written: &[1, 4, 2, 5, 3, 6], alike: Alike::RoundTheRing };
    /// From the middle of a row of five.
    const ROW: Order<'static> = Order { written: &[3, 4, 2, 5, 1], alike: Alike::FromEitherEnd };
    /// A cover of three by three, numbered row by row.
    const SPIRAL: Order<'static> =
        Order { written: &[5, 6, 9, 8, 7, 4, 1, 2, 3], alike: Alike::FromEitherEnd };
    const CLAMP: Order<'static> = Order { written: &[1, 2], alike: Alike::FromEitherEnd };

    #[test]
    fn the_next_member_is_predicted_from_wherever_the_operator_started() {
        for (order, pulled, next) in [
            (RING, &[][..], &[1, 2, 3, 4, 5, 6][..]),
            (RING, &[1], &[4]),
            (RING, &[3, 6], &[4, 2]),
            (RING, &[1, 4, 2], &[5]),
            (RING, &[1, 4, 6], &[3]),
            (RING, &[1, 2], &[]),
            (ROW, &[], &[3]),
            (ROW, &[3], &[4, 2]),
            (ROW, &[3, 2], &[4]),
            (ROW, &[4], &[]),
            (SPIRAL, &[5], &[6, 4]),
            (SPIRAL, &[5, 4, 1], &[2]),
            (CLAMP, &[2], &[1]),
            (Order { alike: Alike::None, ..ROW }, &[3], &[4]),
        ] {
            assert_eq!(order.next(pulled), next, "{order:?}: {pulled:?}");
        }
    }

    #[test]
    fn a_member_left_out_is_no_crooked_order() {
        for (order, pulled, one) in [
            (RING, &[1, 4, 5][..], true),
            (RING, &[1, 4, 5, 3, 6], true),
            (RING, &[1, 4, 5, 3, 6, 2], false),
            (RING, &[1, 4, 5, 2], false),
            (RING, &[1, 2, 3], false),
            (RING, &[1, 4, 3, 6], false),
            (ROW, &[3, 2, 5], true),
            (ROW, &[3, 4, 5, 1], true),
            (ROW, &[1], false),
            (ROW, &[3, 4, 1], false),
            (SPIRAL, &[5, 6, 8], true),
            (SPIRAL, &[5, 6, 7], false),
            (SPIRAL, &[1, 2], false),
        ] {
            assert_eq!(order.leaves_out_one(pulled), one, "{order:?}: {pulled:?}");
        }
    }

    #[test]
    fn a_row_that_is_numbered_from_its_other_end_is_judged_alike() {
        for (order, n) in [(ROW, 5), (SPIRAL, 9), (CLAMP, 2)] {
            for pulled in [&[3, 4][..], &[3, 2, 5], &[1], &[2, 1], &[5, 6, 9], &[2], &[5, 4]] {
                let mirrored: Vec<u16> = pulled.iter().map(|one| n + 1 - one).collect();
                let judged =
                    |pulled: &[u16]| (order.begins_with(pulled), order.leaves_out_one(pulled));
                if pulled.iter().all(|one| *one <= n) {
                    assert_eq!(judged(pulled), judged(&mirrored), "{order:?}: {pulled:?}");
                }
            }
        }
    }
}

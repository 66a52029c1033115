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
        let n = pulled.len();
        self.images().any(|image| image.len() >= n && image.take(n).eq(pulled.iter().copied()))
    }

    /// True if `pulled` follows the order, in some image of it, with just one member left out so far: something was
    /// skipped, but nothing is crooked yet.
    pub fn leaves_out_one(self, pulled: &[u16]) -> bool {
        self.images().any(|image| skips_one(image, pulled))
    }

    /// The order with its members counted from the other end.
    pub fn mirrored(self) -> Vec<u16> {
        let n = u16::try_from(self.written.len()).unwrap_or(u16::MAX);
        self.written.iter().map(|member| image(n, *member, true, 0)).collect()
    }

    /// The order as written, then all that are as good.
    fn images(self) -> impl Iterator<Item = impl ExactSizeIterator<Item = u16>> {
        let Self { written, .. } = self;
        let n = u16::try_from(written.len()).unwrap_or(u16::MAX);
        let (turns, mirrored) = match self.alike {
            Alike::None => (1, &[false][..]),
            Alike::FromEitherEnd => (1, &[false, true][..]),
            Alike::RoundTheRing => (n, &[false, true][..]),
        };
        mirrored.iter().flat_map(move |mirrored| {
            (0..turns).map(move |turn| {
                written.iter().map(move |member| image(n, *member, *mirrored, turn))
            })
        })
    }
}

/// True if `pulled` is the beginning of `image` but for one member.
fn skips_one(image: impl ExactSizeIterator<Item = u16>, pulled: &[u16]) -> bool {
    if image.len() <= pulled.len() {
        return false;
    }
    let mut left = pulled.iter().copied().peekable();
    for member in image.take(pulled.len() + 1) {
        left.next_if_eq(&member);
    }
    left.peek().is_none()
}

/// One member in a rotation and reflection of a ring of `n`; not turned, of a row from its other end.
pub(super) fn image(n: u16, member: u16, mirrored: bool, turn: u16) -> u16 {
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
            (ROW, &[3, 4, 1], true),
            (ROW, &[3, 5, 1], false),
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
                if pulled.iter().any(|one| *one > n) {
                    continue;
                }
                let mirrored: Vec<u16> = pulled.iter().map(|one| n + 1 - one).collect();
                let judged =
                    |pulled: &[u16]| (order.begins_with(pulled), order.leaves_out_one(pulled));
                assert_eq!(judged(pulled), judged(&mirrored), "{order:?}: {pulled:?}");
            }
        }
    }
}

//! Which names a ring's members could as well have.

use super::class::Class;

/// Member by member (from 1), what another numbering calls it.
pub type Renaming = Vec<u16>;

/// Every numbering that leaves the evidence of the class unchanged, the plan's own first.
pub fn renamings(class: &Class, n: u16, ring: bool) -> Vec<Renaming> {
    let own = (1..=n).collect();
    if class.marks || !ring {
        return vec![own];
    }
    let mirrors = class.motion.is_none_or(|sense| !sense.direction);
    images(n).filter(|(mirrored, _)| mirrors || !mirrored).map(|(_, names)| names).collect()
}

/// The rotations of a ring, then its reflections.
pub fn images(n: u16) -> impl Iterator<Item = (bool, Renaming)> {
    [false, true].into_iter().flat_map(move |mirrored| {
        (0..n).map(move |turn| {
            let name = |member: u16| {
                let place = if mirrored { n - member + 1 } else { member };
                (place - 1 + turn) % n + 1
            };
            (mirrored, (1..=n).map(name).collect())
        })
    })
}

/// True if `pulled` is the beginning of `order` in some rotation or reflection of the ring.
pub fn begins_an_image(n: u16, order: &[u16], pulled: &[u16]) -> bool {
    images(n).any(|(_, names)| {
        pulled.len() <= order.len()
            && pulled.iter().zip(order).all(|(one, named)| *one == names[usize::from(named - 1)])
    })
}

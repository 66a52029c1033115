//! Joints that adapter and socket do not get to, and those with something between that allows no reading: they are done by
//! another tool and stated.

use crate::core::event::WarningCode;
use crate::core::plan::Access;
use crate::core::tracker::rules::words;
use crate::core::tracker::scene::Scene;
use crate::core::tracker::warn::{Reason, Speaker};

/// Why a pull with the adapter proves nothing of a joint.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::core::tracker) enum Blocked {
    /// Adapter and socket are too long for it.
    TooLong,
    /// The key that holds it stands where the socket would, and no crowfoot goes past it.
    KeyInTheWay,
    /// The crowfoot or universal joint that the plan names lets no reading be relied on.
    Between,
}

/// What keeps the adapter from a joint, if anything does.
pub(in crate::core::tracker) fn blocked(scene: &Scene, step: usize) -> Option<Blocked> {
    let rules = &scene.step(step).rules;
    match rules.access {
        Access::TooLong => return Some(Blocked::TooLong),
        Access::KeyInTheWay if rules.fixture.offset.is_none() => return Some(Blocked::KeyInTheWay),
        Access::KeyInTheWay | Access::Fits => {}
    }
    rules.fixture.effect().is_err().then_some(Blocked::Between)
}

impl Speaker<'_> {
    /// A pull was taken to be on a joint that the adapter does not get to.
    pub(in crate::core::tracker) fn no_access(&mut self, index: usize, fastener: usize) {
        let step = self.scene().step_of(fastener);
        let measured = !self.state.readings[index].seen.typed;
        let Some(why) = blocked(self.scene(), step).filter(|_| measured) else { return };
        let about = self.named(index, fastener);
        let text = words::no_access(self.scene(), about.fastener, fastener, why);
        let code = WarningCode::NoAccess;
        self.say(Reason::OfReading { code, index }, code, about, text);
    }
}

//! The models that are boosted trees.

use super::boosted::{Boosted, Fault, read};
use std::sync::LazyLock;

/// All of them.
#[derive(Debug, Default)]
pub(super) struct Judges {
    /// The fastener stood still.
    pub standing: Boosted,
    /// The same by the pull itself.
    pub stood: Boosted,
    pub stick_slip: Boosted,
    pub under_sampled: Boosted,
    pub yielding: Boosted,
    pub yielding_turned: Boosted,
    pub thread_damage: Boosted,
    pub thread_damage_turned: Boosted,
    pub bottomed: Boosted,
    pub bottomed_turned: Boosted,
}

impl Judges {
    /// Those that were fitted; reading them takes memory once.
    pub fn fitted() -> &'static Self {
        static FITTED: LazyLock<Judges> =
            LazyLock::new(|| Judges::of(include_str!("fitted.trees")).unwrap_or_default());
        &FITTED
    }

    fn of(text: &str) -> Result<Self, Fault> {
        let mut judges = Self::default();
        for (name, model) in read(text)? {
            match name {
                "standing" => judges.standing = model,
                "stood" => judges.stood = model,
                "stick-slip" => judges.stick_slip = model,
                "under-sampled" => judges.under_sampled = model,
                "yielding" => judges.yielding = model,
                "yielding-turned" => judges.yielding_turned = model,
                "thread-damage" => judges.thread_damage = model,
                "thread-damage-turned" => judges.thread_damage_turned = model,
                "bottomed" => judges.bottomed = model,
                "bottomed-turned" => judges.bottomed_turned = model,
                _ => {}
            }
        }
        Ok(judges)
    }
}

#[cfg(test)]
mod tests {
    use super::{Boosted, Judges};

    #[test]
    fn every_model_is_in_the_file_of_trees() {
        let judges = Judges::of(include_str!("fitted.trees")).unwrap();
        let never = Boosted::default();
        let Judges {
            standing,
            stood,
            stick_slip,
            under_sampled,
            yielding,
            yielding_turned,
            thread_damage,
            thread_damage_turned,
            bottomed,
            bottomed_turned,
        } = &judges;
        for model in [
            standing,
            stood,
            stick_slip,
            under_sampled,
            yielding,
            yielding_turned,
            thread_damage,
            thread_damage_turned,
            bottomed,
            bottomed_turned,
        ] {
            assert_ne!(*model, never);
        }
    }
}

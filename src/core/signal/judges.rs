//! The models that are boosted trees.

use super::acts::probability;
use super::boosted::{Boosted, Fault, Inputs, read};
use super::description::Description;
use super::inputs::{self, TRACE};
use fearless_simd::Simd;
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

/// What they say of a pull: ln of the odds that its fastener stood still, and probabilities of what may be wrong.
#[derive(Debug, Clone, Copy)]
pub(super) struct Judged {
    pub ln_standing: f64,
    pub stick_slip: f64,
    pub under_sampled: f64,
    pub yielding: f64,
    pub thread_damage: f64,
    pub bottomed: f64,
}

impl Judges {
    /// `ln_shape` is ln of the odds by the shape of the pull alone.
    #[inline(always)]
    pub fn judge(&self, simd: impl Simd, pull: &Description, ln_shape: f64) -> Judged {
        let trace = inputs::trace(pull);
        let mut shown = Inputs::of(&trace);
        let turned = inputs::trace_turned(pull, &trace).map(|turned| {
            shown.put(TRACE, &turned[TRACE..]);
            let models = [
                &self.stick_slip,
                &self.under_sampled,
                &self.yielding_turned,
                &self.thread_damage_turned,
                &self.bottomed_turned,
            ];
            Boosted::ln_odds(simd, models, &shown)
        });
        shown.put(TRACE, &inputs::beyond(pull, ln_shape));
        let (ln_standing, faults) = if let Some(turned) = turned {
            let [ln_standing] = Boosted::ln_odds(simd, [&self.standing], &shown);
            (ln_standing, turned)
        } else {
            let models = [
                &self.standing,
                &self.stick_slip,
                &self.under_sampled,
                &self.yielding,
                &self.thread_damage,
                &self.bottomed,
            ];
            let [ln_standing, faults @ ..] = Boosted::ln_odds(simd, models, &shown);
            (ln_standing, faults)
        };
        let [stick_slip, under_sampled, yielding, thread_damage, bottomed] =
            faults.map(probability);
        Judged { ln_standing, stick_slip, under_sampled, yielding, thread_damage, bottomed }
    }

    /// ln of the odds that the fastener stood still, by the pull itself.
    pub fn ln_stood(&self, simd: impl Simd, pull: &Description) -> f64 {
        let [ln_stood] = Boosted::ln_odds(simd, [&self.stood], &Inputs::of(&inputs::stood(pull)));
        ln_stood
    }

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

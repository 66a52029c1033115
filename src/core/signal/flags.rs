//! What may be wrong with a pull.

use super::boosted::{Boosted, Fault, read};
use super::constants::{LEAST_S, SNATCH_LN_SPREAD, SNATCH_S};
use super::description::{Description, Flags, twentieths};
use super::inputs;
use super::weights::{IMPACT, SLIP};
use std::sync::LazyLock;

/// The models that are boosted trees.
#[derive(Debug, Default)]
pub(super) struct Judges {
    stick_slip: Boosted,
    under_sampled: Boosted,
    yielding: Boosted,
    yielding_turned: Boosted,
    thread_damage: Boosted,
    thread_damage_turned: Boosted,
    bottomed: Boosted,
    bottomed_turned: Boosted,
}

impl Judges {
    /// Those that were fitted; reading them takes memory once.
    pub fn fitted() -> &'static Self {
        static FITTED: LazyLock<Judges> =
            LazyLock::new(|| Judges::of(include_str!("flags.trees")).unwrap_or_default());
        &FITTED
    }

    fn of(text: &str) -> Result<Self, Fault> {
        let mut judges = Self::default();
        for (name, model) in read(text)? {
            match name {
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

    pub fn judge(&self, pull: &Description) -> Flags {
        let texture = inputs::texture(pull);
        let trace = inputs::trace(pull);
        let (yielding, thread_damage, bottomed_or_crossed) =
            match inputs::trace_turned(pull, &trace) {
                Some(turned) => (
                    self.yielding_turned.probability(&turned),
                    self.thread_damage_turned.probability(&turned),
                    self.bottomed_turned.probability(&turned),
                ),
                None => (
                    self.yielding.probability(&trace),
                    self.thread_damage.probability(&trace),
                    self.bottomed.probability(&trace),
                ),
            };
        // Torque that sinks while the fastener turns is what loosening looks like.
        let tightens = f64::from(u8::from(pull.peak.torque.nm() > 0.0));
        Flags {
            slip: SLIP.model.probability(&texture),
            stick_slip: self.stick_slip.probability(&trace),
            snatch: snatch(pull),
            yielding: yielding * tightens,
            thread_damage: thread_damage * tightens,
            bottomed_or_crossed: bottomed_or_crossed * tightens,
            impact: IMPACT.model.probability(&texture),
            under_sampled: self.under_sampled.probability(&trace),
        }
    }
}

/// The limit is a definition; only how well the time is resolved is uncertain.
fn snatch(pull: &Description) -> f64 {
    let at = |level: usize| pull.rise.reached_s[twentieths(level)];
    let took = (at(4) - at(18)).max(LEAST_S);
    let spread = (0.3 / pull.seen.rate_hz / took).hypot(SNATCH_LN_SPREAD);
    let z = (SNATCH_S / took).ln() / spread;
    // A logistic curve within 0.01 of the normal distribution.
    1.0 / (1.0 + (-1.702 * z).exp())
}

#[cfg(test)]
mod tests {
    use super::{Boosted, Judges};

    #[test]
    fn every_model_is_in_the_file_of_trees() {
        let judges = Judges::of(include_str!("flags.trees")).unwrap();
        let never = Boosted::default();
        let Judges {
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

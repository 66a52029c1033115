//! Plans and their numbers as they come back from where they were kept: whoever writes there may write anything.

use super::{Plan, Step, StepIndex, Turn};
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::collections::HashSet;

impl Serialize for Plan {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        Self::serialize(self, to)
    }
}

impl<'de> Deserialize<'de> for Plan {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let plan = Self::deserialize(from)?;
        match plan.unsound() {
            Some(fault) => Err(D::Error::custom(format_args!("a plan in which {fault}"))),
            None => Ok(plan),
        }
    }
}

impl Plan {
    /// What the parser would never have let through; none of what it made.
    fn unsound(&self) -> Option<&'static str> {
        let mut groups = HashSet::new();
        let faults = [
            (!self.steps.iter().all(|step| groups.insert(&step.group)), "two groups have one name"),
            (!self.holds_resolve(), "a hold is asked for that is none"),
            (self.steps.iter().any(|step| !step.is_sound()), "a step is not whole"),
            (!self.can_begin(), "steps wait for each other, or for one that is none"),
        ];
        faults.into_iter().find(|(is_so, _)| *is_so).map(|(_, fault)| fault)
    }

    fn holds_resolve(&self) -> bool {
        let of_steps = self.steps.iter().flat_map(|step| {
            let of_passes = step.passes.iter().flat_map(|pass| &pass.holds);
            step.holds.iter().chain(of_passes)
        });
        let as_found = self.around.as_found.iter().filter_map(|fact| fact.compared_at.as_ref());
        of_steps.chain(as_found).all(|hold| *hold < self.holds.len())
    }

    /// True if every step comes up once all that it waits for is done.
    fn can_begin(&self) -> bool {
        let mut done = vec![false; self.steps.len()];
        let waits_for = |step: &Step, done: &[bool]| {
            step.after.iter().any(|StepIndex(before)| done.get(*before) != Some(&true))
        };
        for _ in 0..self.steps.len() {
            let mut open = (0..done.len()).filter(|index| !done[*index]);
            let next = open.find(|index| !waits_for(&self.steps[*index], &done));
            let Some(next) = next else { return false };
            done[next] = true;
        }
        true
    }
}

impl Step {
    fn is_sound(&self) -> bool {
        let above_zero = |number: f64| number.is_finite() && number > 0.0;
        let all = |order: &[u16]| {
            let mut order = order.to_vec();
            order.sort_unstable();
            order.into_iter().eq(1..=self.members)
        };
        self.members > 0
            && !self.passes.is_empty()
            && self.pitch_circle_mm.is_none_or(above_zero)
            && self.passes.iter().all(|pass| {
                let turn = match pass.turn {
                    Some(Turn::Angle { degrees }) => above_zero(degrees),
                    Some(Turn::BackOff { degrees }) => degrees.is_none_or(above_zero),
                    None => true,
                };
                all(&pass.order) && turn && pass.expect.is_sound()
            })
    }
}

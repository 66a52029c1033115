//! Which joints of a plan are left and right of each other.

use crate::core::plan::Plan;
use std::collections::HashMap;

impl Plan {
    /// Joints that are left and right of each other by their names, `lower-arm-left` and `lower-arm-right`: pairs of indices
    /// of steps, the left one first.
    #[must_use]
    pub fn sides(&self) -> Vec<(usize, usize)> {
        let mirrored = |name: &str| {
            let words = name.split('-').map(|word| if word == "left" { "right" } else { word });
            words.collect::<Vec<_>>().join("-")
        };
        let steps = || self.steps.iter().enumerate();
        let index: HashMap<&str, usize> =
            steps().map(|(at, step)| (step.group.as_str(), at)).collect();
        let pair = |(at, group): (usize, &String)| {
            let other = *index.get(mirrored(group).as_str())?;
            (other != at).then_some((at, other))
        };
        steps().map(|(at, step)| (at, &step.group)).filter_map(pair).collect()
    }
}

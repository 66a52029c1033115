//! The pulls of a group, gathered into the efforts that they are swings of, and what was told of each.

use super::densities::Densities;
use crate::class::Class;
use crate::job::{Job, Pull};
use clampbook::core::event::{Input, Motion, Moved, Say, What};
use clampbook::core::signal::Description;
use std::collections::BTreeMap;

/// A tightening, check or repeat: one or more pulls on one fastener.
pub struct Effort<'a> {
    pub pulls: Vec<(usize, &'a Pull)>,
    /// ln of the density of what its first pull shows, of a slack and of a tight fastener.
    pub shows: [f64; 2],
    /// How the tool came to it.
    pub moved: Option<(Moved, f64)>,
    pub said: Vec<u16>,
    /// Since the group's last pull before it, seconds.
    pub rested_s: f64,
}

impl Effort<'_> {
    /// True if what it shows depends on where the ring lies.
    pub fn is_placed(&self) -> bool {
        matches!(self.moved, Some((Moved::Axes { .. }, _)))
    }
}

/// What was told, by number of the reading.
pub struct Heard {
    motions: BTreeMap<u64, Motion>,
    marks: BTreeMap<u64, String>,
    shapes: BTreeMap<u64, Description>,
}

impl Heard {
    pub fn of(inputs: &[Input]) -> Self {
        let mut heard =
            Self { motions: BTreeMap::new(), marks: BTreeMap::new(), shapes: BTreeMap::new() };
        let mut said = None;
        for input in inputs {
            match &input.what {
                What::Motion(motion) => {
                    heard.motions.insert(motion.to_seq, motion.clone());
                }
                What::Mark(mark) => {
                    if let Say::At { fastener } = &mark.say {
                        said = Some(fastener.clone());
                    }
                }
                What::Reading(reading) => {
                    if let Some(said) = said.take() {
                        heard.marks.insert(reading.seq, said);
                    }
                    if let Some(shape) = &reading.description {
                        heard.shapes.insert(reading.seq, **shape);
                    }
                }
                What::Described(described) => {
                    heard.shapes.insert(described.seq, *described.description);
                }
                _ => {}
            }
        }
        heard
    }
}

/// Those of a group up to its last pass; what comes after that is not gone through.
pub fn efforts<'a>(
    job: &'a Job,
    class: &Class,
    group: usize,
    heard: &Heard,
    densities: &Densities,
) -> Vec<Effort<'a>> {
    let after = job.plan.steps[group].passes.len();
    let within = |pull: &&'a Pull| pull.group == group && pull.pass <= after;
    let mut found: Vec<Effort<'a>> = Vec::new();
    let mut ended_s = f64::NEG_INFINITY;
    for (place, pull) in job.pulls.iter().enumerate().filter(|(_, pull)| within(pull)) {
        let seq = place as u64 + 1;
        let member = |name: &String| name.rsplit('/').next()?.parse().ok();
        let said: Option<u16> = heard.marks.get(&seq).and_then(member);
        let (began_s, end_s) = pull.told.within_s(job.adapter.rate_hz);
        let rested_s = began_s - ended_s;
        ended_s = end_s;
        if let Some(last) = found.last_mut().filter(|last| last.pulls[0].1.effort == pull.effort) {
            last.pulls.push((place, pull));
            last.said.extend(said);
            continue;
        }
        let tells = job.groups[group].ring && !job.groups[group].turned_to_reach;
        let motion = heard.motions.get(&seq).filter(|_| tells);
        found.push(Effort {
            pulls: vec![(place, pull)],
            shows: densities.shows(job, class, pull, heard.shapes.get(&seq)),
            moved: motion.map(|motion| (motion.moved, motion.sd_mm)),
            said: said.into_iter().collect(),
            rested_s,
        });
    }
    for effort in &mut found {
        let pulls: Vec<&Pull> = effort.pulls.iter().map(|(_, pull)| *pull).collect();
        let swings = densities.swings.ln(job, &pulls);
        effort.shows.iter_mut().zip(swings).for_each(|(ln, more)| *ln += more);
    }
    found
}

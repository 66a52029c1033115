//! What accounts hold in common: a group is copied only once an account changes it, so that what a pull
//! costs does not grow with the rest of the plan.

use crate::core::tracker::member::{Member, Round};
use crate::core::tracker::scene::Scene;
use std::ops::{Index, IndexMut};
use std::sync::Arc;

/// How every fastener stands, by its index.
#[derive(Debug, Clone)]
pub(super) struct Members {
    groups: Vec<Arc<Vec<Member>>>,
    /// Of each fastener: its group, and its place there.
    places: Arc<[(usize, usize)]>,
}

impl Members {
    pub fn new(scene: &Scene) -> Self {
        let steps = 0..scene.plan.steps.len();
        let fresh = |step| Arc::new(vec![Member::default(); scene.fasteners_of(step).len()]);
        let place = |fastener| {
            let id = scene.id(fastener);
            (id.step.0, usize::from(id.member) - 1)
        };
        Self { groups: steps.map(fresh).collect(), places: (0..scene.count()).map(place).collect() }
    }

    pub fn iter(&self) -> impl Iterator<Item = &Member> {
        self.groups.iter().flat_map(|group| group.iter())
    }

    /// The members of a group.
    pub fn group(&self, step: usize) -> &[Member] {
        &self.groups[step]
    }

    /// True if both have the very same group, uncopied.
    pub fn shares(&self, other: &Self, step: usize) -> bool {
        Arc::ptr_eq(&self.groups[step], &other.groups[step])
    }
}

impl Index<usize> for Members {
    type Output = Member;

    fn index(&self, fastener: usize) -> &Member {
        let (group, place) = self.places[fastener];
        &self.groups[group][place]
    }
}

impl IndexMut<usize> for Members {
    fn index_mut(&mut self, fastener: usize) -> &mut Member {
        let (group, place) = self.places[fastener];
        &mut Arc::make_mut(&mut self.groups[group])[place]
    }
}

/// What has been pulled, step by step.
#[derive(Debug, Clone)]
pub(super) struct Rounds(Vec<Arc<Round>>);

impl Rounds {
    pub fn new(steps: usize) -> Self {
        let fresh = Arc::new(Round::default());
        Self(vec![fresh; steps])
    }

    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// True if both have the very same round, uncopied.
    pub fn shares(&self, other: &Self, step: usize) -> bool {
        Arc::ptr_eq(&self.0[step], &other.0[step])
    }
}

impl Index<usize> for Rounds {
    type Output = Round;

    fn index(&self, step: usize) -> &Round {
        &self.0[step]
    }
}

impl IndexMut<usize> for Rounds {
    fn index_mut(&mut self, step: usize) -> &mut Round {
        Arc::make_mut(&mut self.0[step])
    }
}

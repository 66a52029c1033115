//! What is certain: the plan, what the operator said of fasteners and holds, and the adapters.

use crate::core::event::AdapterInfo;
use crate::core::plan::{Expect, FastenerId, Pass, Pattern, Plan, Step, StepIndex, Window};
use crate::core::tracker::ring;
use crate::core::units::Torque;
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

/// What the operator said of one fastener.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Said {
    /// Done without the adapter.
    pub stated: bool,
    /// Left out on purpose.
    pub skipped: bool,
}

#[derive(Debug, Clone)]
pub(super) struct Scene {
    pub plan: Arc<Plan>,
    pub said: Vec<Said>,
    pub confirmed: Vec<bool>,
    pub adapters: Vec<AdapterInfo>,
    /// Where the operator said they are, and has not yet finished a pull.
    pub at: Option<usize>,
    /// The fastener that the operator spoke of last, while no pull has come since.
    pub focus: Option<usize>,
    first: Arc<[usize]>,
    ids: Arc<[FastenerId]>,
    /// By step and pass: the pass's order in every rotation and reflection, if it is a ring's.
    images: Arc<[Vec<Images>]>,
}

type Images = Arc<Vec<Vec<u16>>>;

impl Scene {
    pub fn new(plan: Plan) -> Self {
        let ids: Vec<FastenerId> = plan.fasteners().collect();
        let mut first = Vec::with_capacity(plan.steps.len() + 1);
        let mut next = 0;
        for step in &plan.steps {
            first.push(next);
            next += usize::from(step.members);
        }
        first.push(next);
        let images = images(&plan);
        Self {
            said: vec![Said::default(); ids.len()],
            confirmed: vec![false; plan.holds.len()],
            adapters: Vec::new(),
            at: None,
            focus: None,
            plan: Arc::new(plan),
            first: first.into(),
            ids: ids.into(),
            images,
        }
    }

    /// How many fasteners the plan has.
    pub fn count(&self) -> usize {
        self.ids.len()
    }

    pub fn index(&self, id: FastenerId) -> usize {
        self.first[id.step.0] + usize::from(id.member) - 1
    }

    pub fn id(&self, fastener: usize) -> FastenerId {
        self.ids[fastener]
    }

    pub fn name(&self, fastener: usize) -> String {
        self.plan.fastener_name(self.ids[fastener])
    }

    /// Fasteners of a step, in order of member.
    pub fn fasteners_of(&self, step: usize) -> Range<usize> {
        self.first[step]..self.first[step + 1]
    }

    pub fn step_of(&self, fastener: usize) -> usize {
        self.ids[fastener].step.0
    }

    pub fn step(&self, step: usize) -> &Step {
        self.plan.step(StepIndex(step))
    }

    pub fn pass(&self, step: usize, pass: usize) -> &Pass {
        &self.step(step).passes[pass]
    }

    /// A pass's order in every rotation and reflection of its ring; none of what is no ring.
    pub fn images(&self, step: usize, pass: usize) -> &[Vec<u16>] {
        &self.images[step][pass]
    }

    pub fn window(&self, step: usize, pass: usize) -> Option<&Window> {
        match &self.step(step).passes.get(pass)?.expect {
            Expect::Window(window) => Some(window),
            Expect::ByHand | Expect::NoFigure | Expect::ToBeLookedUp => None,
        }
    }

    /// The pass that finishes a fastener of the step: the last one that is neither done by hand nor a
    /// check of the others, if it has a figure.
    pub fn closing_pass(&self, step: usize) -> Option<usize> {
        let passes = &self.step(step).passes;
        let last = passes.iter().rposition(|pass| pass.expect != Expect::ByHand && !pass.check)?;
        self.window(step, last).map(|_| last)
    }

    /// The torque that a fastener of the step ends at, if a figure is known.
    pub fn final_window(&self, step: usize) -> Option<&Window> {
        self.window(step, self.closing_pass(step)?)
    }

    /// The first hold that the pass needs and that is not confirmed.
    pub fn unconfirmed_hold(&self, step: usize, pass: usize) -> Option<usize> {
        let of_step = self.step(step).holds.iter();
        of_step.chain(&self.pass(step, pass).holds).copied().find(|hold| !self.confirmed[*hold])
    }

    /// Torque in the tightening direction of the fastener, N·m.
    pub fn tightening(&self, step: usize, torque: Torque) -> f64 {
        if self.step(step).left_hand { -torque.nm() } else { torque.nm() }
    }

    pub fn adapter(&self, id: &str) -> Option<&AdapterInfo> {
        self.adapters.iter().find(|adapter| adapter.id == id)
    }

    pub fn settled_by_word(&self, fastener: usize) -> bool {
        self.said[fastener].stated || self.said[fastener].skipped
    }
}

/// Rings of one size that are pulled in one order share their images.
fn images(plan: &Plan) -> Arc<[Vec<Images>]> {
    let mut known: BTreeMap<(u16, &[u16]), Images> = BTreeMap::new();
    let mut found = Vec::with_capacity(plan.steps.len());
    for step in &plan.steps {
        let mut of_step = Vec::with_capacity(step.passes.len());
        for pass in &step.passes {
            of_step.push(match step.pattern {
                Pattern::Ring => {
                    let all = known.entry((step.members, &pass.order));
                    let images = || Arc::new(ring::images(step.members, &pass.order));
                    Arc::clone(all.or_insert_with(images))
                }
                Pattern::Single | Pattern::Line => Images::default(),
            });
        }
        found.push(of_step);
    }
    found.into()
}

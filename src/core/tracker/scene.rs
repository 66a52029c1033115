//! What is certain: the plan, what the operator said of fasteners and holds, and the adapters.

use crate::core::event::{AdapterInfo, GivenStep};
use crate::core::fixture::wind_up_degrees;
use crate::core::joint;
use crate::core::plan::{
    Condition, Expect, FastenerId, Pass, Pattern, Plan, Step, StepIndex, Window,
};
use crate::core::tracker::images::{Alike, Order};
use crate::core::tracker::rules::overload::Overloaded;
use crate::core::tracker::rules::zero::ZeroOff;
use crate::core::units::Torque;
use std::collections::{BTreeMap, BTreeSet};
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
    /// Kept by reference: states are copied pull by pull.
    pub plan: Arc<Plan>,
    pub said: Vec<Said>,
    pub confirmed: Vec<bool>,
    /// How each fastener's nut grips its thread, N·m, as far as it was told.
    pub grip_nm: Vec<Option<f64>>,
    /// What else was opened, and whether it was closed again.
    pub also: Vec<(String, bool)>,
    /// Adapters that were overloaded or hit, or whose zero jumped.
    pub overloaded: Vec<Overloaded>,
    /// Adapters whose zero jumped, and was not put right.
    pub zeros_off: Vec<ZeroOff>,
    /// Lengths noted as found, in the order of the plan, millimetres.
    pub found: Vec<Option<f64>>,
    /// Items of the job's own lists that are confirmed.
    pub met: BTreeSet<Condition>,
    /// Steps whose threads were told to be something else than the value asks, and what.
    pub unlike: BTreeMap<usize, joint::Condition>,
    pub adapters: Vec<AdapterInfo>,
    /// Where the operator said they are, and has not yet finished a pull.
    pub at: Option<usize>,
    /// The fastener that the operator spoke of last, while no pull has come since.
    pub focus: Option<usize>,
    /// Steps that are left and right of each other.
    pub sides: Vec<(usize, usize)>,
    first: Vec<usize>,
    ids: Vec<FastenerId>,
    /// For each step the first that is like it.
    kin: Vec<usize>,
}

/// For each step the first that is like it in all that bears on how it is pulled.
fn kin(plan: &Plan) -> Vec<usize> {
    let like = |one: &Step, other: &Step| {
        let shape = |step: &Step| (step.pattern, step.members, step.left_hand);
        // What a nut grips is told of each one.
        let grips = one.rules.prevailing.is_some();
        !grips
            && shape(one) == shape(other)
            && one.passes == other.passes
            && one.rules == other.rules
    };
    let first = |(place, step): (usize, &Step)| {
        plan.steps[..place].iter().position(|one| like(one, step)).unwrap_or(place)
    };
    plan.steps.iter().enumerate().map(first).collect()
}

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
        Self {
            said: vec![Said::default(); ids.len()],
            confirmed: vec![false; plan.holds.len()],
            found: vec![None; plan.around.as_found.len()],
            met: BTreeSet::new(),
            unlike: BTreeMap::new(),
            also: Vec::new(),
            grip_nm: vec![None; ids.len()],
            overloaded: Vec::new(),
            zeros_off: Vec::new(),
            adapters: Vec::new(),
            at: None,
            focus: None,
            sides: plan.sides(),
            kin: kin(&plan),
            plan: Arc::new(plan),
            first,
            ids,
        }
    }

    /// Puts values in the place of those that were to be looked up.
    pub fn give(&mut self, given: &[GivenStep]) {
        let plan = Arc::make_mut(&mut self.plan);
        for GivenStep { group, passes } in given {
            let step = plan.steps.iter_mut().find(|step| step.group == *group);
            let step = step.filter(|step| step.passes.len() == passes.len());
            let pairs = step.into_iter().flat_map(|step| step.passes.iter_mut().zip(passes));
            for (pass, given) in pairs {
                // What has a value keeps it.
                if pass.expect == Expect::ToBeLookedUp && given.expect.is_sound() {
                    pass.name.clone_from(&given.name);
                    pass.expect.clone_from(&given.expect);
                }
            }
        }
        self.kin = kin(plan);
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

    /// The first step that is like this one: a pull on either is as likely, as long as neither was begun.
    pub fn kin(&self, step: usize) -> usize {
        self.kin[step]
    }

    pub fn pass(&self, step: usize, pass: usize) -> &Pass {
        &self.step(step).passes[pass]
    }

    /// The order of a pass, and which are as good. That of a row binds only where the plan writes one.
    pub fn order(&self, step: usize, pass: usize) -> Order<'_> {
        let shape = self.pass(step, pass);
        let alike = match self.step(step).pattern {
            Pattern::Ring => Alike::RoundTheRing,
            Pattern::Line if shape.ordered => Alike::FromEitherEnd,
            Pattern::Line | Pattern::Single => Alike::None,
        };
        Order { written: &shape.order, alike }
    }

    pub fn window(&self, step: usize, pass: usize) -> Option<&Window> {
        match &self.step(step).passes.get(pass)?.expect {
            Expect::Window(window) => Some(window),
            Expect::ByHand | Expect::NoFigure | Expect::ToBeLookedUp => None,
        }
    }

    /// The pass that finishes a fastener of the step: the last one that is neither done by hand nor a
    /// check of the others, if it has a figure or an angle.
    pub fn closing_pass(&self, step: usize) -> Option<usize> {
        let passes = &self.step(step).passes;
        let last = passes.iter().rposition(|pass| pass.expect != Expect::ByHand && !pass.check)?;
        (self.window(step, last).is_some() || passes[last].turn.is_some()).then_some(last)
    }

    /// The check of the whole step that the plan ends it with, if it does.
    pub fn final_check(&self, step: usize) -> Option<usize> {
        let passes = &self.step(step).passes;
        passes.len().checked_sub(1).filter(|last| passes[*last].check)
    }

    /// The torque that a fastener of the step ends at, if a figure is known.
    pub fn final_window(&self, step: usize) -> Option<&Window> {
        let closing = self.closing_pass(step)?;
        (0..=closing).rev().find_map(|pass| self.window(step, pass))
    }

    /// The first hold that the pass needs and that is not confirmed.
    pub fn unconfirmed_hold(&self, step: usize, pass: usize) -> Option<usize> {
        let of_step = self.step(step).holds.iter();
        of_step.chain(&self.pass(step, pass).holds).copied().find(|hold| !self.confirmed[*hold])
    }

    /// How far the bars that the plan names wind up under `nm`, degrees.
    pub fn wind_up(&self, step: usize, nm: f64) -> f64 {
        wind_up_degrees(&self.step(step).rules.fixture.bars, Torque::from_nm(nm))
    }

    /// Torque in the tightening direction of the fastener, N·m.
    pub fn tightening(&self, step: usize, torque: Torque) -> f64 {
        if self.step(step).left_hand { -torque.nm() } else { torque.nm() }
    }

    /// True if a torque would turn some fastener of the plan back.
    pub fn turns_back(&self, nm: f64) -> bool {
        let torque = Torque::from_nm(nm);
        (0..self.plan.steps.len()).any(|step| self.tightening(step, torque) < 0.0)
    }

    pub fn adapter(&self, id: &str) -> Option<&AdapterInfo> {
        self.adapters.iter().find(|adapter| adapter.id == id)
    }

    /// True if an adapter tells how it moved.
    pub fn tells_motion(&self) -> bool {
        self.adapters.iter().any(|one| one.reports.motion)
    }

    pub fn settled_by_word(&self, fastener: usize) -> bool {
        self.said[fastener].stated || self.said[fastener].skipped
    }
}

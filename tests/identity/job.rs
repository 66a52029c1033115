//! A whole job: a plan, what was really done, and what an adapter could tell of it.

use super::class::Class;
use super::doing::Doing;
use super::generator::adapter::Adapter;
use super::generator::joint::Group;
use super::generator::random::Chance;
use super::kind::Kind;
use super::person::Person;
use super::plan::{PASSES, PlanText, plan};
use super::work::{Bench, Told};
use clampbook::core::event::Act;
use clampbook::core::plan::{Pattern, Plan};
use std::collections::BTreeSet;
use std::f64::consts::TAU;

#[derive(Debug)]
pub struct Job {
    pub seed: u64,
    pub plan: Plan,
    pub kind: Kind,
    pub adapter: Adapter,
    pub person: Person,
    /// What the joints of all groups have in common.
    pub figures: Group,
    pub groups: Vec<Truth>,
    pub pulls: Vec<Pull>,
    pub end_s: f64,
}

/// One pull and what it really was.
#[derive(Debug)]
pub struct Pull {
    pub told: Told,
    pub group: usize,
    /// From 1.
    pub member: u16,
    /// Index of the plan's pass; beyond them for what comes after the last.
    pub pass: usize,
    /// Number of the tightening, check or repeat within the group that it is a swing of.
    pub effort: usize,
    pub act: Act,
    /// An already tight one again, while others waited.
    pub repeat: bool,
    /// The same one again at once, by habit.
    pub habit: bool,
    /// The group's order of first tightenings still fits the plan's, in some rotation or reflection.
    pub by_order: bool,
}

/// What really became of a group.
#[derive(Debug, Clone)]
pub struct Truth {
    pub name: String,
    pub members: u16,
    pub ring: bool,
    pub turned_to_reach: bool,
    pub radius_mm: f64,
    /// Where member 1 lies, clockwise from the top, radians.
    pub lies: f64,
    /// By member: brought to its window, never over it, not turned back since.
    pub done: Vec<bool>,
    /// Members that a pass was finished without.
    pub left_out: BTreeSet<u16>,
    /// Members that were given up below their window.
    pub given_up: BTreeSet<u16>,
    /// The order of a pass was wrong.
    pub crooked: bool,
    /// What was done wrong here, if anything.
    pub kind: Kind,
}

impl Truth {
    /// Where a member lies: right and up of the centre, millimetres.
    pub fn place(&self, member: u16) -> (f64, f64) {
        let angle = self.lies + TAU * f64::from(member - 1) / f64::from(self.members);
        (self.radius_mm * angle.sin(), self.radius_mm * angle.cos())
    }

    /// True if a member is left out, or given up.
    pub fn is_open(&self, member: u16) -> bool {
        self.left_out.contains(&member) || self.given_up.contains(&member)
    }

    /// True if the fastener of a pull can be known at all: something tells the place, or the plan's order
    /// does in some rotation or reflection.
    pub fn knows(&self, class: &Class, pull: &Pull) -> bool {
        self.placed(class) || pull.by_order && pull.act == Act::Tighten
    }

    /// True if the class tells how the tool moves and nothing else, and that says nothing here: a line of
    /// which the layout is not known, or a part that is turned to reach.
    pub fn blind(&self, class: &Class) -> bool {
        let other = class.rotation || class.trace || class.marks;
        class.motion.is_some() && !other && !self.placed(class)
    }

    /// True if something tells which member is which: marks, or how the tool moved on a ring that stands
    /// still.
    pub fn placed(&self, class: &Class) -> bool {
        class.marks || class.motion.is_some() && self.ring && !self.turned_to_reach
    }
}

impl Job {
    pub fn seeded(seed: u64) -> Self {
        let mut chance = Chance::seeded(seed);
        let adapter = Adapter::any(true, false, &mut chance);
        let person = Person::any(&mut chance);
        let kind = Kind::any(&mut chance);
        let mut group = Group::any(adapter.range_nm, false, &mut chance);
        group.target_nm = group.target_nm.round();
        let count = if chance.happens(0.3) { 2 } else { 1 };
        let members =
            chance.one_of(&[4, 4, 4, 5, 5, 5, 5, 5, 6, 6, 6, 6, 8, 8, 8, 3, 7, 9, 10, 2, 4, 3]);
        let line = members == 2 || chance.happens(0.04);
        let turned_to_reach = !line && chance.happens(0.05);
        let radius_mm = (chance.even(50.0, 75.0) * 2.0).round() / 2.0;
        let circle = chance.happens(0.5).then_some(radius_mm * 2.0);
        let plan = plan(&PlanText {
            count,
            members,
            line,
            turned_to_reach,
            circle,
            target_nm: group.target_nm,
            passes: chance.one_of(&PASSES),
        });
        let bench = Bench { chance, adapter, person, now_s: 5.0 };
        let mut doing = Doing { bench, pulls: Vec::new(), pass: 0, effort: 0 };
        let at_fault = (doing.bench.chance.even(0.0, count as f64)) as usize;
        let mut groups = Vec::new();
        for (index, step) in plan.steps.iter().enumerate() {
            let lies = doing.bench.chance.even(0.0, TAU);
            let mut truth = Truth {
                name: step.group.clone(),
                members: step.members,
                ring: step.pattern == Pattern::Ring,
                turned_to_reach: step.turned_to_reach,
                radius_mm,
                lies,
                done: vec![false; usize::from(step.members)],
                left_out: BTreeSet::new(),
                given_up: BTreeSet::new(),
                crooked: false,
                kind: if index == at_fault { kind } else { Kind::Right },
            };
            doing.group(index, step, &group, &mut truth);
            groups.push(truth);
            doing.bench.pause((20.0, 90.0));
        }
        let Doing { bench, pulls, .. } = doing;
        let end_s = bench.now_s + 10.0;
        let Bench { adapter, person, .. } = bench;
        Self { seed, plan, kind, adapter, person, figures: group, groups, pulls, end_s }
    }
}

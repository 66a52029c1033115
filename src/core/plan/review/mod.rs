//! Checks before the first pull: what a plan asks, held against its threads, the adapters and itself.
//!
//! A check speaks only where the plan states the fact that it needs. Nothing is put right silently.

mod adapters;
mod fit;
mod fixtures;
mod parts;
mod rechecks;
mod sides;

use crate::core::plan::adapter_sheet::AdapterSheet;
use crate::core::plan::fault::{Complaint, Fault, Place, Severity};
use crate::core::plan::{Expect, PlanFile, Step, Turn, Window};

/// What a plan is held against, beside itself.
#[derive(Debug, Clone, Copy, Default)]
pub struct Setting<'s> {
    /// The adapters at hand; where there are none, nothing is said of them.
    pub adapters: &'s [AdapterSheet],
    /// Today, `2026-11-28`; without it no date is compared.
    pub today: Option<&'s str>,
}

/// Every doubt about a plan that can be used, in the order of its joints.
#[must_use]
pub fn review(file: &PlanFile, setting: &Setting<'_>) -> Vec<Fault> {
    let plan = &file.plan;
    let mut remarks = Remarks { places: &file.places, list: Vec::new() };
    adapters::due(setting, &mut remarks);
    for (index, step) in plan.steps.iter().enumerate() {
        fit::check(index, step, &mut remarks);
        fixtures::check(index, step, &mut remarks);
        parts::check(index, step, &mut remarks);
        rechecks::check(index, step, &mut remarks);
        adapters::check(index, step, setting, &mut remarks);
    }
    sides::check(plan, &mut remarks);
    remarks.list.sort_by_key(|fault| (fault.line, fault.column));
    remarks.list
}

/// Doubts while they are being collected.
struct Remarks<'f> {
    places: &'f [Place],
    list: Vec<Fault>,
}

impl Remarks<'_> {
    /// A doubt about the step of that index.
    fn add(&mut self, step: usize, severity: Severity, complaint: Complaint) {
        let start = Place { line: 1, column: 1 };
        let place = self.places.get(step).copied().unwrap_or(start);
        self.list.push(complaint.at(severity, place));
    }

    /// A doubt about the plan as a whole.
    fn whole(&mut self, severity: Severity, complaint: Complaint) {
        self.list.push(complaint.at(severity, Place { line: 1, column: 1 }));
    }
}

/// The window of the pass at the target, if it has one.
fn target(step: &Step) -> Option<&Window> {
    step.passes.iter().rev().filter(|pass| !pass.check && pass.turn.is_none()).find_map(|pass| {
        match &pass.expect {
            Expect::Window(window) => Some(window),
            Expect::ByHand | Expect::NoFigure | Expect::ToBeLookedUp => None,
        }
    })
}

/// True if the joint is turned by an angle: its torque is then no measure of its strength.
fn is_angled(step: &Step) -> bool {
    step.passes.iter().any(|pass| matches!(pass.turn, Some(Turn::Angle { .. })))
}

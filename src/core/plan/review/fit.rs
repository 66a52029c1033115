//! Whether a target fits its thread, its class and its seat; and whether it was meant in another unit.

use super::{Remarks, is_angled, target};
use crate::core::decision::MIX_UPS;
use crate::core::joint::{Fit, Grade, Thread, reference_torque, utilisation};
use crate::core::plan::fault::{Code, Complaint, Severity};
use crate::core::plan::{Kind, Step, Window};
use crate::core::units::{Round, StatedTorque, Torque, TorqueUnit, decimals, format_value};

pub(super) fn check(index: usize, step: &Step, remarks: &mut Remarks<'_>) {
    let Some(window) = target(step).filter(|_| !is_angled(step)) else { return };
    let Some(thread) = step.rules.thread else {
        unknown(index, step, remarks);
        return;
    };
    let judged = Judged { step, window, thread };
    let (grade, assumed) = match step.rules.grade {
        Some(grade) => (grade, false),
        None => (Grade::weakest(thread.series), true),
    };
    // A joint of unknown class is only refused where the strongest would yield.
    let refuse = if assumed { Grade::strongest(thread.series) } else { grade };
    let Some(fit) = judged.fit(grade) else { return };
    let beyond = judged.fit(refuse) == Some(Fit::Beyond);
    let severity = match fit {
        Fit::Usual => return,
        Fit::Low if assumed || judged.may_be_low() => return,
        Fit::Low => Severity::Note,
        Fit::Implausible | Fit::Doubtful if judged.may_be_low() => return,
        Fit::Implausible | Fit::Doubtful => Severity::Warning,
        Fit::MayYield | Fit::Yields | Fit::Beyond if step.rules.kind == Kind::TorqueToYield => {
            return;
        }
        Fit::Beyond if beyond => Severity::Error,
        Fit::MayYield | Fit::Yields | Fit::Beyond => Severity::Warning,
    };
    if let Some(complaint) = judged.mix_up(fit, grade) {
        remarks.add(index, severity, complaint);
    } else {
        remarks.add(index, severity, judged.complaint(fit, grade, assumed));
    }
}

/// A thread that was named and is not known.
fn unknown(index: usize, step: &Step, remarks: &mut Remarks<'_>) {
    let Some(named) = step.thread.as_ref().filter(|named| !named.starts_with("class ")) else {
        return;
    };
    let message =
        format!("expected a thread like `M12×1.5` for `{}`, but found `{named}`", step.group);
    let remedy = "write it so, if it is one; its target is not held against it otherwise";
    remarks.add(index, Severity::Note, Complaint::new(Code::UnknownThread, message, remedy));
}

/// A target with its thread.
struct Judged<'j> {
    step: &'j Step,
    window: &'j Window,
    thread: Thread,
}

impl Judged<'_> {
    fn fit(&self, grade: Grade) -> Option<Fit> {
        self.fit_of(self.window.target, grade)
    }

    fn fit_of(&self, torque: Torque, grade: Grade) -> Option<Fit> {
        let share = utilisation(torque, &self.thread, grade)?;
        Some(Fit::of(share, self.step.rules.seat))
    }

    /// Where a small torque may be right.
    fn may_be_low(&self) -> bool {
        matches!(
            self.step.rules.kind,
            Kind::Pivot | Kind::Bearing | Kind::Plug | Kind::Sensor | Kind::Plastic
        )
    }

    /// The same number in units that it may have been meant in, where that would be usual.
    fn mix_up(&self, fit: Fit, grade: Grade) -> Option<Complaint> {
        if !matches!(fit, Fit::Implausible | Fit::Doubtful | Fit::Yields | Fit::Beyond) {
            return None;
        }
        let stated = &self.window.stated;
        let meant: Vec<String> = confused_with(stated.unit)
            .map(|unit| StatedTorque { value: stated.value, unit })
            .filter(|other| self.fit_of(other.torque(), grade) == Some(Fit::Usual))
            .map(|other| other.to_string())
            .collect();
        if meant.is_empty() {
            return None;
        }
        Some(Complaint::new(
            Code::UnitMixUp,
            format!(
                "expected a usual torque for {} in `{}`, but found {}",
                self.named(grade),
                self.step.group,
                self.window.target_text()
            ),
            format!("was {} meant? look at the unit in the source", meant.join(" or ")),
        ))
    }

    fn complaint(&self, fit: Fit, grade: Grade, assumed: bool) -> Complaint {
        let factor = self.step.rules.seat.factor();
        let bound = |share: f64| {
            let nm = reference_torque(&self.thread, grade).map_or(0.0, Torque::nm) * share;
            let unit = self.window.stated.unit;
            let value = nm / unit.newton_metres();
            let torque = Torque::from_nm(nm);
            format!("{} {unit}", format_value(torque, unit, decimals(value), Round::Nearest))
        };
        let found = format!(
            "for {} in `{}`, but found {}",
            self.named(grade),
            self.step.group,
            self.window.target_text()
        );
        let class = if assumed { "the class, " } else { "" };
        let (code, message, remedy) = match fit {
            Fit::Implausible | Fit::Doubtful => (
                Code::LowForThread,
                format!("expected at least {} {found}", bound(0.15)),
                "look at the value and its unit again; if it is right, say what sort of joint it is, like `kind = \"pivot\"`".to_owned(),
            ),
            Fit::Low | Fit::Usual => (
                Code::LowForThread,
                format!("expected {} or more {found}", bound(0.30)),
                "usual for soft parts, a thread in aluminium or a small head; otherwise look again".to_owned(),
            ),
            Fit::MayYield => (
                Code::HighForThread,
                format!("expected at most {} {found}", bound(0.92 * factor)),
                format!("a bolt with little friction yields there: confirm {class}the condition of the threads and the seat; or write `kind = \"torque-to-yield\"`"),
            ),
            Fit::Yields => (
                Code::HighForThread,
                format!("expected at most {} {found}", bound(0.92 * factor)),
                format!("a bolt yields there unless friction is unusually high: confirm the source, {class}the thread and the seat; or write `kind = \"torque-to-yield\"`"),
            ),
            Fit::Beyond => (
                Code::HighForThread,
                format!("expected at most {} {found}", bound(1.45 * factor)),
                "a bolt yields there at every friction: correct the value, its unit or the thread; if it is meant to yield, write `kind = \"torque-to-yield\"`".to_owned(),
            ),
        };
        Complaint::new(code, message, remedy)
    }

    fn named(&self, grade: Grade) -> String {
        match self.step.rules.grade {
            Some(_) => format!("{}, {grade}", self.thread),
            None => format!("{}, class not stated", self.thread),
        }
    }
}

/// The units whose numbers are taken for those of `unit`.
fn confused_with(unit: TorqueUnit) -> impl Iterator<Item = TorqueUnit> {
    MIX_UPS.into_iter().filter_map(move |(a, b)| match (a == unit, b == unit) {
        (true, _) => Some(b),
        (_, true) => Some(a),
        _ => None,
    })
}

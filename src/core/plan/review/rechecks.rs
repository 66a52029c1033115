//! Whether, when and how a joint is pulled again.

use super::{Remarks, target};
use crate::core::plan::Step;
use crate::core::plan::fault::{Code, Complaint, Severity};

pub(super) fn check(index: usize, step: &Step, remarks: &mut Remarks<'_>) {
    let name = &step.group;
    let noted = step.notes.iter().any(|note| {
        let note = note.to_lowercase();
        note.contains("recheck") || note.contains("retorque")
    });
    if step.is_wheel() && target(step).is_some() && step.rules.recheck.is_none() && !noted {
        remarks.add(
            index,
            Severity::Note,
            Complaint::new(
                Code::NoRecheck,
                format!("expected when `{name}` is checked again, but found nothing"),
                "write it as its data say, like `recheck = \"cold, after 80 km\"`",
            ),
        );
    }
    let timed = step.rules.locker.as_ref().map(|locker| locker.working_minutes.is_some());
    if timed == Some(false) && step.passes.iter().any(|pass| pass.check) {
        remarks.add(
            index,
            Severity::Warning,
            Complaint::new(
                Code::ThreadLocker,
                format!("expected the working time of the thread locker of `{name}`, but found a check round without it"),
                "write `thread-locker = { working-time = \"10 min\" }`; a pull after it has set breaks the bond",
            ),
        );
    }
}

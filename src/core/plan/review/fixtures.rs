//! What stands between adapter and fastener, and nuts with slots.

use super::{Remarks, target};
use crate::core::plan::fault::{Code, Complaint, Severity};
use crate::core::plan::{Access, Kind, Step};
use crate::core::units::{Torque, format_torque};

pub(super) fn check(index: usize, step: &Step, remarks: &mut Remarks<'_>) {
    let name = &step.group;
    match step.rules.fixture.effect() {
        Err(error) => {
            remarks.add(
                index,
                Severity::Warning,
                Complaint::new(
                    Code::Fixture,
                    format!("{error}, for `{name}`"),
                    "a reading proves nothing there: set the crowfoot square to the handle, take another way in, or say that it was done",
                ),
            );
        }
        Ok(effect) if effect.factor != 1.0 => {
            let unit = target(step).map(|window| window.stated.unit).unwrap_or_default();
            let shown = |torque: Torque| format_torque(torque, unit);
            let read = target(step).map_or_else(
                || format!("the reading times {:.3}", effect.factor),
                |window| {
                    let read = Torque::from_nm(effect.reading_for(window.target.nm()));
                    format!("{} read for {} at the nut", shown(read), shown(window.target))
                },
            );
            remarks.add(
                index,
                Severity::Note,
                Complaint::new(
                    Code::Fixture,
                    format!("expected a crowfoot square to the handle for `{name}`, but found a correction: {read}"),
                    "square to the handle none is needed; with a second hand at the head none applies",
                ),
            );
        }
        Ok(_) => {}
    }
    if step.rules.access == Access::KeyInTheWay && step.rules.fixture.offset.is_none() {
        remarks.add(
            index,
            Severity::Note,
            Complaint::new(
                Code::Fixture,
                format!("expected a way past the key that holds `{name}`, but found none"),
                "write `crowfoot = { offset = \"50 mm\", angle = \"90°\" }`, or it will end as stated",
            ),
        );
    }
    if step.rules.access == Access::TooLong {
        remarks.add(
            index,
            Severity::Note,
            Complaint::new(
                Code::Fixture,
                format!("expected adapter and socket to get to `{name}`, but found them too long for it"),
                "take a short socket or a crowfoot and leave `access` out, or it will end as stated",
            ),
        );
    }
    // A bearing is set within its tolerance, and its nut goes on from there.
    if step.rules.castle.is_some()
        && step.rules.kind != Kind::Bearing
        && let Some(window) = target(step).filter(|window| window.low < window.target)
    {
        remarks.add(
            index,
            Severity::Warning,
            Complaint::new(
                Code::CastleNut,
                format!(
                    "expected the least torque of the castle nut `{name}`, but found {} with a tolerance below it",
                    window.target_text()
                ),
                "write `min 32 N·m`, and `max 44 N·m` if one is published; the nut only ever goes forward to the next slot",
            ),
        );
    }
}

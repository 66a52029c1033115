//! What a class of adapter and operator tells of a job, as a recording does; never the truth.

use super::class::{Class, Sense};
use super::generator::random::Chance;
use super::job::{Job, Pull};
use clampbook::adapter::recording::{Item, Line, Recording};
use clampbook::core::event::{
    AdapterInfo, Input, LinkChange, LinkState, Mark, Motion, Moved, Origin, Reading, Reports, Say,
    Trace,
};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;

/// The adapter's short id.
const ADAPTER: &str = "A";
/// Share of marks that name another member than the one pulled.
pub const MIS_SAID: f64 = 0.01;
/// Share of moves that are told wrong by far more than their deviation, and by how much more.
pub const WRONG: (f64, f64) = (0.01, 6.0);

/// What the core is told of the job, by the way that `replay` takes.
pub fn inputs(job: &Job, class: &Class) -> Vec<Input> {
    let mut lines = vec![Item::Adapter { at: Stamp(0), info: info(job, class) }];
    let mut chance = Chance::seeded(job.seed ^ 0x5EED);
    let mut traced_to_s = f64::NEG_INFINITY;
    let sd_mm = class.motion.map(|sense| chance.even(sense.sd_mm.0, sense.sd_mm.1));
    for (index, pull) in job.pulls.iter().enumerate() {
        let seq = index as u64 + 1;
        let told = &pull.told;
        let at = Stamp::from_seconds(told.at_s);
        if class.marks {
            let fastener = said(job, pull, &mut chance);
            let mark = Mark { say: Say::At { fastener }, origin: Origin::Recording };
            lines.push(Item::Mark { at: Stamp::from_seconds(told.from_s), mark });
        }
        let before = index.checked_sub(1).map(|before| &job.pulls[before]);
        if let (Some(sense), Some(sd_mm), Some(before)) = (class.motion, sd_mm, before) {
            let moved = moved(job, before, pull, sense, sd_mm, &mut chance);
            if let Some(moved) = moved {
                let adapter = ADAPTER.to_owned();
                let motion = Motion { adapter, from_seq: seq - 1, to_seq: seq, moved, sd_mm };
                lines.push(Item::Motion { at, motion });
            }
        }
        lines.push(Item::Reading {
            at,
            reading: Reading {
                adapter: ADAPTER.to_owned(),
                seq,
                peak: Torque::from_nm(told.peak_nm),
                rotation_deg: class.rotation.then_some(told.rotation_deg),
                duration_ms: Some(told.duration_ms),
                description: None,
            },
        });
        if class.trace {
            // An adapter tells each moment once.
            let rate_hz = job.adapter.rate_hz;
            let told_already = ((traced_to_s - told.from_s) * rate_hz).ceil().max(0.0);
            let first = (told_already as usize).min(told.torque.len());
            let start_s = told.from_s + first as f64 / rate_hz;
            traced_to_s = start_s + (told.torque.len() - first) as f64 / rate_hz;
            let trace = Trace {
                start: Stamp::from_seconds(start_s),
                rate_hz,
                torque: told.torque[first..].iter().map(|nm| Torque::from_nm(*nm)).collect(),
                turned_deg: class.rotation.then(|| told.turned[first..].to_vec()),
            };
            lines.push(Item::Trace { adapter: ADAPTER.to_owned(), trace });
        }
    }
    let change = LinkChange { adapter: ADAPTER.to_owned(), state: LinkState::Asleep };
    lines.push(Item::Link { at: Stamp::from_seconds(job.end_s), change });
    let number = |(index, item)| Line { number: index as u64 + 1, item };
    let lines = lines.into_iter().enumerate().map(number).collect();
    Recording { lines, problems: Vec::new() }.convert().inputs
}

fn info(job: &Job, class: &Class) -> AdapterInfo {
    let range_nm = job.adapter.range_nm;
    AdapterInfo {
        overdue_since: None,
        certificate: None,
        id: ADAPTER.to_owned(),
        serial: "EV-0001".to_owned(),
        drive: None,
        range: Some((Torque::from_nm(range_nm * 0.04), Torque::from_nm(range_nm))),
        accuracy_pct: Some(job.adapter.accuracy_pct),
        reports: Reports {
            peak: true,
            rotation: class.rotation,
            trace: class.trace,
            motion: class.motion.is_some(),
            ..Reports::default()
        },
    }
}

fn said(job: &Job, pull: &Pull, chance: &mut Chance) -> String {
    let group = &job.groups[pull.group];
    let mut member = pull.member;
    if chance.happens(MIS_SAID) {
        let others: Vec<u16> = (1..=group.members).filter(|one| *one != member).collect();
        member = chance.one_of(&others);
    }
    format!("{}/{member}", group.name)
}

/// How the tool is told to have moved; nothing between two groups.
fn moved(
    job: &Job,
    before: &Pull,
    pull: &Pull,
    sense: Sense,
    sd_mm: f64,
    chance: &mut Chance,
) -> Option<Moved> {
    if before.group != pull.group {
        return None;
    }
    let group = &job.groups[pull.group];
    let (from, to) = (group.place(before.member), group.place(pull.member));
    // Members of a line lie a hand apart; a part that is turned brings each to the same place.
    let (right, up) = if group.turned_to_reach {
        (0.0, 0.0)
    } else if group.ring {
        (to.0 - from.0, to.1 - from.1)
    } else {
        (90.0 * (f64::from(pull.member) - f64::from(before.member)), 0.0)
    };
    let sd = if chance.happens(WRONG.0) { sd_mm * WRONG.1 } else { sd_mm };
    let (right_mm, up_mm) = (right + sd * chance.normal(), up + sd * chance.normal());
    Some(if sense.direction {
        Moved::Axes { right_mm, up_mm }
    } else {
        Moved::Distance { mm: right_mm.hypot(up_mm) }
    })
}

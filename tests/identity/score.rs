//! One job's verdicts, warnings and endings set against the truth.

use super::class::Class;
use super::ideal::Ideal;
use super::job::{Job, Truth};
use super::kind::Kind;
use super::measure::Judged;
use super::run::Concluded;
use super::symmetry::{Renaming, renamings};
use clampbook::core::event::{Conclusion, Ending, Verdict, Warning, WarningCode};
use std::collections::BTreeMap;

/// What came of one job.
#[derive(Debug, Default)]
pub struct Score {
    pub seed: u64,
    pub kind: Option<Kind>,
    pub members: u16,
    /// Confidence and whether it is right, of every reading whose fastener can be known.
    pub known: Vec<Judged>,
    /// The same of every reading.
    pub all: Vec<Judged>,
    /// Somebody pulled twice at once by habit.
    pub habit: bool,
    pub repeat: Heard,
    pub skipped: Heard,
    /// Given up below its window, in a group in which nobody was left out: to be called low, or left out.
    pub given_up: Heard,
    pub order: Heard,
    /// The same of groups in which nothing that the class tells bears on it; only whether it was said.
    pub blind_repeat: Heard,
    pub blind_skipped: Heard,
    /// Shown though not done, by the names that fit the readings best.
    pub untrue_shown: usize,
    /// The same by the plan's own names, and by whichever of the two is kinder.
    pub untrue_by_plan: usize,
    pub untrue_by_both: usize,
    pub shown: usize,
    pub done: usize,
    /// Members that were not left out.
    pub kept: usize,
    /// Said to be complete, and something is not done.
    pub false_complete: bool,
    /// What an idealised matcher makes of it, if it was asked.
    pub ideal: Option<Ideal>,
    /// Everything that was said, for a look at what went wrong.
    pub words: String,
}

/// Something that happened, or did not, and whether it was said.
#[derive(Debug, Clone, Copy, Default)]
pub struct Heard {
    pub happened: bool,
    /// It was said of a group in which it happened.
    pub heard: bool,
    /// How often it was said of a group in which it did not.
    pub needless: usize,
}

pub fn score(job: &Job, class: &Class, concluded: &Concluded) -> Score {
    let mut score = Score {
        seed: job.seed,
        kind: Some(job.kind),
        members: job.groups[0].members,
        habit: job.pulls.iter().any(|pull| pull.habit),
        ..Score::default()
    };
    let mut last: BTreeMap<u64, &Verdict> = BTreeMap::new();
    let mut warnings: Vec<&Warning> = Vec::new();
    for conclusion in &concluded.conclusions {
        match conclusion {
            Conclusion::Verdict(verdict) => {
                last.insert(verdict.seq, verdict);
            }
            Conclusion::Warning(warning) => warnings.push(warning),
        }
    }
    for (index, group) in job.groups.iter().enumerate() {
        let readings: Vec<Told<'_>> = job
            .pulls
            .iter()
            .enumerate()
            .filter(|(_, pull)| pull.group == index)
            .map(|(place, pull)| {
                let known = group.knows(class, pull);
                Told { member: pull.member, known, verdict: last.get(&(place as u64 + 1)).copied() }
            })
            .collect();
        let names = best_renaming(class, group, &readings);
        for one in &readings {
            let judged = one
                .verdict
                .map_or((0.0, false), |verdict| (verdict.confidence, one.right(group, &names)));
            score.all.push(judged);
            if one.known {
                score.known.push(judged);
            }
        }
        let own: Renaming = (1..=group.members).collect();
        let untrue = |names: &Renaming| {
            let untrue = group.done.iter().zip(names).filter(|(done, name)| {
                let name = format!("{}/{name}", group.name);
                !**done && concluded.summary.fasteners[&name] == Ending::Shown
            });
            untrue.count()
        };
        let (by_fit, by_plan) = (untrue(&names), untrue(&own));
        score.untrue_shown += by_fit;
        score.untrue_by_plan += by_plan;
        score.untrue_by_both += by_fit.min(by_plan);
        score.done += group.done.iter().filter(|done| **done).count();
        score.kept += usize::from(group.members) - group.left_out.len();
        let all = (1..=group.members).map(|member| format!("{}/{member}", group.name));
        score.shown +=
            all.filter(|name| concluded.summary.fasteners[name] == Ending::Shown).count();
        // Names are the tracker's own; what is said of a group belongs to it.
        let said: Vec<&Warning> =
            warnings.iter().copied().filter(|one| of_group(job, group, index, one)).collect();
        let repeats = job.pulls.iter().any(|pull| pull.group == index && pull.repeat);
        let left_out = !group.left_out.is_empty();
        let named_wrongly = |warning: &Warning| {
            group.placed(class)
                && warning.fastener.as_deref().is_some_and(|fastener| {
                    group.left_out.iter().all(|one| {
                        fastener != format!("{}/{}", group.name, names[usize::from(one - 1)])
                    })
                })
        };
        let blind = group.blind(class);
        let of_repeat = match blind && repeats {
            true => &mut score.blind_repeat,
            false => &mut score.repeat,
        };
        let of_skipped = match blind && left_out {
            true => &mut score.blind_skipped,
            false => &mut score.skipped,
        };
        hear(of_repeat, repeats, &said, WarningCode::Repeat, |_| true);
        if left_out || group.given_up.is_empty() {
            hear(of_skipped, left_out, &said, WarningCode::Skipped, |one| !named_wrongly(one));
        } else {
            score.given_up.happened = true;
            score.given_up.heard |= said
                .iter()
                .any(|one| matches!(one.code, WarningCode::LowTorque | WarningCode::Skipped));
        }
        hear(&mut score.order, group.crooked && !blind, &said, WarningCode::Order, |_| true);
    }
    score.false_complete =
        concluded.summary.complete && job.groups.iter().any(|group| group.done.contains(&false));
    score.words = words(job, &last, &warnings, concluded);
    score
}

struct Told<'a> {
    member: u16,
    known: bool,
    verdict: Option<&'a Verdict>,
}

impl Told<'_> {
    fn right(&self, group: &Truth, names: &Renaming) -> bool {
        let name = format!("{}/{}", group.name, names[usize::from(self.member - 1)]);
        self.verdict.is_some_and(|verdict| verdict.fastener.as_ref() == Some(&name))
    }
}

/// The numbering under which most of what can be known is right.
fn best_renaming(class: &Class, group: &Truth, readings: &[Told<'_>]) -> Renaming {
    let mut best = (0, Vec::new());
    for names in renamings(class, group.members, group.ring) {
        let right = readings.iter().filter(|one| one.known && one.right(group, &names)).count();
        if best.1.is_empty() || right > best.0 {
            best = (right, names);
        }
    }
    best.1
}

fn of_group(job: &Job, group: &Truth, index: usize, warning: &Warning) -> bool {
    match (&warning.fastener, warning.seq) {
        (Some(fastener), _) => fastener.split('/').next() == Some(group.name.as_str()),
        (None, Some(seq)) => {
            job.pulls.get(seq as usize - 1).is_some_and(|pull| pull.group == index)
        }
        (None, None) => warning.text.contains(&group.name),
    }
}

fn hear(
    heard: &mut Heard,
    happened: bool,
    said: &[&Warning],
    code: WarningCode,
    right: impl Fn(&Warning) -> bool,
) {
    let said: Vec<&&Warning> = said.iter().filter(|one| one.code == code).collect();
    heard.happened |= happened;
    if happened {
        heard.heard |= said.iter().any(|one| right(one));
    } else {
        heard.needless += said.len();
    }
}

fn words(
    job: &Job,
    last: &BTreeMap<u64, &Verdict>,
    warnings: &[&Warning],
    concluded: &Concluded,
) -> String {
    let mut text = String::new();
    for (place, pull) in job.pulls.iter().enumerate() {
        let seq = place as u64 + 1;
        let truth = format!("{}/{} {:?}", job.groups[pull.group].name, pull.member, pull.act);
        let verdict = last.get(&seq).map_or_else(String::new, |verdict| {
            format!(
                "{} pass {} {:?} {:.3}{}",
                verdict.fastener.as_deref().unwrap_or("-"),
                verdict.pass.unwrap_or(0),
                verdict.act,
                verdict.confidence,
                if verdict.revised { " revised" } else { "" }
            )
        });
        text += &format!(
            "  {seq:>3} {:>7.1} s {:>6.1} N·m {:>6.1}°  {truth:<20} {verdict}\n",
            pull.told.at_s, pull.told.peak_nm, pull.told.rotation_deg
        );
        for warning in warnings.iter().filter(|one| one.seq == Some(seq)) {
            text += &format!("      ! {:?} {:?}\n", warning.code, warning.fastener);
        }
    }
    for warning in warnings.iter().filter(|one| one.seq.is_none()) {
        text += &format!(
            "  ! {:.0} s {:?} {:?}\n",
            warning.at.seconds(),
            warning.code,
            warning.fastener
        );
    }
    for group in &job.groups {
        text += &format!(
            "  {} done {:?}, left out {:?}, crooked {}\n",
            group.name, group.done, group.left_out, group.crooked
        );
    }
    text + &format!("  {:?}\n", concluded.summary.fasteners)
}

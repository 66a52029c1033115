//! What stands out: what is open and why, which warnings still count, what could not be known.

use crate::core::event::{Act, Ending, Summary, TorqueVerdict, Warning, WarningCode};
use crate::core::plan::{Condition, FastenerId, Identity, Plan, checked_adapter, closed_name};
use crate::report::gather::Facts;
use crate::report::model::{
    AdapterReport, CertificateReport, CertificateStanding, Expectation, FastenerReport, HoldReport,
    Inferred, MarkReport, OpenReport, Outcome, Pull, PutRight, StepReport, WarningReport,
};
use crate::report::number;
use crate::report::words::{self, Saying};

/// What stands out.
pub(crate) fn of(
    steps: &[StepReport],
    holds: &[HoldReport],
    warnings: &[WarningReport],
    facts: &Facts<'_>,
) -> Outcome {
    let fasteners = || {
        steps.iter().flat_map(|step| step.fasteners.iter().map(move |fastener| (step, fastener)))
    };
    let ended = |ending| fasteners().filter(|(_, fastener)| fastener.ending == ending).count();
    let open: Vec<OpenReport> = fasteners()
        .filter(|(_, fastener)| fastener.ending == Ending::Open)
        .map(|(step, fastener)| OpenReport {
            fastener: fastener.name.clone(),
            title: step.title.clone(),
            life_critical: step.life_critical,
            do_not_move: step.life_critical && !as_driven(fastener, facts),
            because: because(step, fastener, holds, warnings, facts),
        })
        .collect();
    let item = |hold: &&HoldReport| {
        let item = matches!(facts.plan.condition(&hold.name), Some(Condition::Item { .. }));
        item || checked_adapter(&hold.name).or(closed_name(&hold.name)).is_some()
    };
    let items = holds.iter().filter(|hold| !hold.confirmed).filter(item).count();
    let headline = match (open.len(), items) {
        (0, 0) => Saying::new("nothing-open"),
        (0, n) => words::count(n as u64, "unconfirmed-one", "unconfirmed-many"),
        (n, _) => words::count(n as u64, "open-one", "open-many"),
    };
    Outcome {
        headline,
        complete: open.is_empty() && items == 0,
        identified: ended(Ending::Counted) == 0,
        open,
        shown: ended(Ending::Shown),
        counted: ended(Ending::Counted),
        stated: ended(Ending::Stated),
        holds_not_confirmed: holds
            .iter()
            .filter(|hold| !hold.confirmed)
            .map(|hold| hold.name.clone())
            .collect(),
        warnings_that_count: warnings.iter().filter(|warning| warning.counts).count(),
    }
}

/// True if it was tight before the job, and nothing is on record that changed it.
fn as_driven(fastener: &FastenerReport, facts: &Facts<'_>) -> bool {
    let opened =
        |mark: &MarkReport| mark.say == "opened" && mark.fastener.as_ref() == Some(&fastener.name);
    facts.plan.already_tight && fastener.pulls.is_empty() && !facts.marks.iter().any(opened)
}

/// What is known about why a fastener is open.
fn because(
    step: &StepReport,
    fastener: &FastenerReport,
    holds: &[HoldReport],
    warnings: &[WarningReport],
    facts: &Facts<'_>,
) -> Vec<Saying> {
    let mut sentences = Vec::new();
    if let Some(last) = step.passes.last() {
        match last.expect {
            Expectation::ToBeLookedUp => sentences.push(Saying::new("never-looked-up")),
            Expectation::NoFigure | Expectation::ByHand => {
                sentences.push(Saying::new("nobody-stated"));
            }
            Expectation::Window => {}
        }
    }
    match fastener.last_pull() {
        Some((pull, verdict)) => sentences.push(last_pull(step, pull, verdict)),
        None => sentences.push(Saying::new("no-pull")),
    }
    let skipped = facts
        .marks
        .iter()
        .any(|mark| mark.say == "skip" && mark.fastener.as_ref() == Some(&fastener.name));
    if skipped {
        sentences.push(Saying::new("left-out-as-stated"));
    }
    for hold in holds.iter().filter(|hold| !hold.confirmed) {
        let about = hold.name.split_once(':').is_some_and(|(_, about)| about == fastener.name);
        if about {
            sentences.push(Saying::new("not-confirmed-because").english("asked", &hold.text));
        }
    }
    let mut codes: Vec<WarningCode> = warnings
        .iter()
        .filter(|warning| warning.counts && warning.fastener.as_ref() == Some(&fastener.name))
        .map(|warning| warning.code)
        .collect();
    codes.sort();
    codes.dedup();
    sentences.extend(codes.into_iter().map(|code| Saying::new(code.sentence())));
    if step.identity == Identity::Shown && fastener.last_pull().is_some_and(good) {
        sentences.push(Saying::new("count-not-enough"));
    }
    sentences
}

/// What a certificate leaves open that was not valid on the day.
fn stands_badly(id: &str, certificate: &CertificateReport) -> Option<Saying> {
    let CertificateReport { date, due, .. } = certificate;
    match certificate.standing {
        CertificateStanding::Valid => None,
        CertificateStanding::Overdue => {
            Some(Saying::new("certificate-overdue").text("adapter", id).text("due", due))
        }
        CertificateStanding::Later => {
            Some(Saying::new("certificate-later").text("adapter", id).text("date", date))
        }
    }
}

fn good((_, verdict): (&Pull, &Inferred)) -> bool {
    verdict.torque == TorqueVerdict::In
}

fn last_pull(step: &StepReport, pull: &Pull, verdict: &Inferred) -> Saying {
    let saying = match verdict.pass {
        Some(pass) if step.passes.len() > 1 => {
            Saying::new("last-pull-of-pass").text("pass", pass).text("passes", step.passes.len())
        }
        _ => Saying::new("last-pull"),
    };
    saying
        .peak("peak", pull.measured.peak_nm, step.unit(), step.window(verdict.pass))
        .saying("verdict", Saying::new(words::torque(verdict.torque)))
}

/// How long a warning bears on how the job ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Bears {
    /// Until its fastener is no longer open: only a good end puts it right.
    UntilClosed,
    /// The same of the whole group.
    UntilGroupClosed,
    /// It was for the moment.
    Never,
    /// Damage, lost readings and wrong measuring.
    Always,
}

fn bears(code: WarningCode) -> Bears {
    use WarningCode as Code;
    match code {
        Code::LowTorque
        | Code::LowAngle
        | Code::GuardBand
        | Code::Skipped
        | Code::Loosened
        | Code::HoldOpen
        | Code::RedoSlack
        | Code::Driven
        | Code::NoAccess
        | Code::Unconfirmed => Bears::UntilClosed,
        Code::Repeat => Bears::UntilGroupClosed,
        Code::Unexpected | Code::LinkLost | Code::UnknownName => Bears::Never,
        Code::HighTorque
        | Code::Order
        | Code::DidNotTurn
        | Code::BackedOff
        | Code::UnitMixUp
        | Code::SidesDiffer
        | Code::AdapterRange
        | Code::CalibrationDue
        | Code::NotCertified
        | Code::Slipped
        | Code::ThreadDamage
        | Code::Yielding
        | Code::PastSlot
        | Code::Cured
        | Code::AdapterSuspect
        | Code::OverAngle
        | Code::Gap => Bears::Always,
    }
}

/// True if a warning still bears on how the job ended.
pub(crate) fn counts(plan: &Plan, summary: &Summary, warning: &Warning) -> bool {
    let open = |name: &str| summary.fasteners.get(name) == Some(&Ending::Open);
    let of_group = |id: FastenerId| {
        let members = 1..=plan.step(id.step).members;
        members.into_iter().any(|member| open(&plan.fastener_name(FastenerId { member, ..id })))
    };
    match bears(warning.code) {
        Bears::UntilClosed => warning.fastener.as_deref().is_none_or(open),
        Bears::UntilGroupClosed => {
            let id = warning.fastener.as_deref().and_then(|name| plan.fastener(name));
            id.is_none_or(of_group)
        }
        Bears::Never => false,
        Bears::Always => true,
    }
}

/// What put right a warning that no longer counts: the last pull of its fastener that reached its window, or what was
/// said of it, whichever came later, and only if that came after the warning.
pub(crate) fn put_right(
    steps: &[StepReport],
    marks: &[MarkReport],
    warning: &WarningReport,
) -> Option<PutRight> {
    let was_open = bears(warning.code) == Bears::UntilClosed && !warning.counts;
    let name = warning.fastener.as_deref().filter(|_| was_open)?;
    let fastener = steps.iter().flat_map(|step| &step.fasteners).find(|one| one.name == name)?;
    let reached = |pull: &&Pull| {
        pull.stands().is_some_and(|stands| {
            stands.torque == TorqueVerdict::In && matches!(stands.act, Act::Tighten | Act::Recheck)
        })
    };
    let pull = fastener.pulls.iter().rev().find(reached).map(|pull| PutRight {
        at: pull.measured.at.clone(),
        adapter: Some(pull.measured.adapter.clone()),
        seq: Some(pull.measured.seq),
        entry: None,
    });
    let said =
        marks.iter().rfind(|mark| mark.say == "stated" && mark.fastener.as_deref() == Some(name));
    let said = said.filter(|_| fastener.ending == Ending::Stated).map(|mark| PutRight {
        at: mark.at.clone(),
        adapter: None,
        seq: None,
        entry: Some(mark.entry),
    });
    said.or(pull).filter(|one| one.at.utc > warning.at.utc)
}

/// What could not be known, in sentences.
pub(crate) fn not_known(facts: &Facts<'_>, adapters: &[AdapterReport]) -> Vec<Saying> {
    let mut sentences = Vec::new();
    for adapter in adapters {
        let id = &adapter.id;
        let of = |name| Saying::new(name).text("adapter", id);
        if adapter.numbers_readings == Some(false) {
            sentences.push(of("not-numbered-lost"));
        }
        if !adapter.reports.motion && !adapter.reports.rotation && adapter.readings > 0 {
            sentences.push(of("not-which-nor-turn"));
        } else if !adapter.reports.motion && adapter.readings > 0 {
            sentences.push(of("not-which"));
        }
        match &adapter.certificate {
            None => sentences.push(of("no-certificate")),
            Some(certificate) => sentences.extend(stands_badly(id, certificate)),
        }
    }
    let typed = facts.pulls.iter().filter(|pull| pull.measured.typed).count();
    if typed > 0 {
        sentences.push(words::count(typed as u64, "typed-one", "typed-many"));
    }
    let worst = facts.pulls.iter().filter_map(|pull| pull.measured.at_error_us).max();
    if let Some(error) = worst.filter(|&error| error >= 1_000_000) {
        let span = number::duration((f64::from(error) / 1e6).ceil());
        sentences.push(Saying::new("times-off").figure("span", span));
    }
    let lost: u64 = facts
        .gaps
        .iter()
        .map(|gap| gap.last.saturating_sub(gap.first).saturating_add(1))
        .fold(0, u64::saturating_add);
    if lost > 0 {
        sentences.push(words::count(lost, "lost-one", "lost-many"));
    }
    if facts.job.closed.is_none() {
        sentences.push(Saying::new("more-may-follow"));
    }
    sentences
}

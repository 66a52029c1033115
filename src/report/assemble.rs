//! Puts a job's facts in the order of its plan, and says what stands out.

use crate::core::event::{Basis, Ending, Summary, TorqueVerdict, Warning, WarningCode};
use crate::core::plan::{Expect, FastenerId, Identity, Pass, Plan, Step, StepIndex, Window};
use crate::report::gather::Facts;
use crate::report::model::{
    AdapterReport, Chain, Expectation, FastenerReport, HoldReport, Inferred, OpenReport, Outcome,
    PassReport, PlanReport, Pull, Report, StepReport, WarningReport, WindowReport, Withdrawn,
};
use crate::report::{ReportContext, ReportError, number, words};
use std::collections::BTreeMap;

/// The document.
pub(crate) fn assemble(
    mut facts: Facts<'_>,
    summary: &Summary,
    context: &ReportContext,
) -> Result<Report, ReportError> {
    check(facts.plan, summary)?;
    let plan = facts.plan;
    let adapters = adapters(&facts);
    let holds = holds(&facts, summary);
    let warnings: Vec<_> = facts
        .warnings
        .iter()
        .map(|(entry, warning)| WarningReport {
            entry: *entry,
            at: facts.clockface.moment(warning.at),
            code: warning.code,
            fastener: warning.fastener.clone(),
            adapter: warning.adapter.clone(),
            seq: warning.seq,
            text: warning.text.clone(),
            counts: counts(plan, summary, warning),
        })
        .collect();

    let mut shelves = Shelves::sort(plan, std::mem::take(&mut facts.pulls));
    let mut steps = Vec::with_capacity(plan.steps.len());
    for (index, step) in plan.steps.iter().enumerate() {
        let fasteners = (1..=step.members)
            .map(|member| {
                let id = FastenerId { step: StepIndex(index), member };
                shelves.fastener(plan, id, summary)
            })
            .collect();
        steps.push(step_report(plan, step, fasteners, &adapters));
    }
    let not_known = not_known(&facts, &adapters);
    let outcome = outcome(&steps, &holds, &warnings, &facts);
    Ok(Report {
        outcome,
        vehicle: facts.vehicle,
        plan: PlanReport {
            name: plan.name.clone(),
            sha256: facts.plan_hash.to_owned(),
            in_order: plan.in_order,
        },
        adapters,
        holds,
        steps,
        unassigned: shelves.unassigned,
        operator_said: facts.marks,
        warnings,
        link_breaks: facts.link_breaks,
        gaps: facts.gaps,
        loose: facts.loose,
        not_known,
        cautions: words::CAUTIONS.to_vec(),
        printed_at: facts.clockface.moment(context.printed_at),
        software_version: context.software_version.clone(),
        chain: Chain {
            length: context.chain_head.0,
            head: context.chain_head.1.iter().map(|octet| format!("{octet:02x}")).collect(),
        },
        job: facts.job,
    })
}

/// The summary must name this plan's fasteners, all of them and no others.
fn check(plan: &Plan, summary: &Summary) -> Result<(), ReportError> {
    let names: Vec<String> = plan.fasteners().map(|id| plan.fastener_name(id)).collect();
    if let Some(fastener) = names.iter().find(|name| !summary.fasteners.contains_key(*name)) {
        let fastener = fastener.clone();
        return Err(ReportError::SummaryLacks { fastener });
    }
    match summary.fasteners.keys().find(|name| plan.fastener(name).is_none()) {
        Some(fastener) => Err(ReportError::SummaryStrange { fastener: fastener.clone() }),
        None => Ok(()),
    }
}

fn adapters(facts: &Facts<'_>) -> Vec<AdapterReport> {
    let report = |id: &str| {
        let readings = facts.pulls.iter().filter(|pull| pull.measured.adapter == id);
        let readings = readings.filter(|pull| pull.measured.key.is_some()).count();
        let numbered = (readings > 0).then(|| !facts.unnumbered.contains(id));
        (readings, numbered)
    };
    let known = facts.adapters.iter().map(|info| {
        let (readings, numbers_readings) = report(&info.id);
        AdapterReport {
            id: info.id.clone(),
            serial: info.serial.clone(),
            drive: info.drive.clone(),
            range_nm: info.range.map(|(low, high)| [low.nm(), high.nm()]),
            accuracy_pct: info.accuracy_pct,
            certificate: None,
            reports: info.reports,
            numbers_readings,
            readings,
        }
    });
    known.collect()
}

fn holds(facts: &Facts<'_>, summary: &Summary) -> Vec<HoldReport> {
    let report = |hold: &crate::core::plan::Hold| {
        let confirmed = summary.holds.get(&hold.name).copied().unwrap_or(false);
        let mark = facts
            .marks
            .iter()
            .rfind(|mark| mark.say == "confirm" && mark.hold.as_deref() == Some(&*hold.name))
            .filter(|_| confirmed);
        HoldReport {
            name: hold.name.clone(),
            text: hold.text.clone(),
            cure: hold.cure,
            confirmed,
            confirmed_at: mark.map(|mark| mark.at.clone()),
            origin: mark.map(|mark| mark.origin),
        }
    };
    facts.plan.holds.iter().map(report).collect()
}

/// True if a warning still bears on how the job ended. What only a good end puts right stops to count
/// once its fastener is no longer open; damage, lost readings and wrong measuring never do.
fn counts(plan: &Plan, summary: &Summary, warning: &Warning) -> bool {
    use WarningCode as Code;
    let open = |name: &str| summary.fasteners.get(name) == Some(&Ending::Open);
    let own = || warning.fastener.as_deref().is_none_or(open);
    let group = || {
        let id = warning.fastener.as_deref().and_then(|name| plan.fastener(name));
        id.is_none_or(|id| {
            let members = 1..=plan.step(id.step).members;
            members.into_iter().any(|member| open(&plan.fastener_name(FastenerId { member, ..id })))
        })
    };
    match warning.code {
        Code::LowTorque | Code::Skipped | Code::Loosened | Code::HoldOpen | Code::RedoSlack => {
            own()
        }
        Code::Repeat => group(),
        Code::Unexpected | Code::LinkLost | Code::UnknownName => false,
        Code::HighTorque
        | Code::Order
        | Code::DidNotTurn
        | Code::BackedOff
        | Code::UnitMixUp
        | Code::AdapterRange
        | Code::CalibrationDue
        | Code::Slipped
        | Code::ThreadDamage
        | Code::Yielding
        | Code::Gap => true,
    }
}

/// Pulls by the fastener that they are taken for.
struct Shelves {
    pulls: BTreeMap<String, Vec<Pull>>,
    withdrawn: BTreeMap<String, Vec<Withdrawn>>,
    unassigned: Vec<Pull>,
}

impl Shelves {
    fn sort(plan: &Plan, pulls: Vec<Pull>) -> Self {
        let mut shelves =
            Self { pulls: BTreeMap::new(), withdrawn: BTreeMap::new(), unassigned: Vec::new() };
        for pull in pulls {
            let now = pull.stands().and_then(|verdict| verdict.fastener.clone());
            let now = now.filter(|name| plan.fastener(name).is_some());
            let mut earlier: Vec<_> =
                pull.inferred.iter().filter_map(|verdict| verdict.fastener.clone()).collect();
            earlier.sort();
            earlier.dedup();
            for name in earlier.into_iter().filter(|name| Some(name) != now.as_ref()) {
                shelves.withdrawn.entry(name).or_default().push(Withdrawn {
                    at: pull.measured.at.clone(),
                    adapter: pull.measured.adapter.clone(),
                    seq: pull.measured.seq,
                    now: now.clone(),
                });
            }
            match now {
                Some(name) => shelves.pulls.entry(name).or_default().push(pull),
                None => shelves.unassigned.push(pull),
            }
        }
        shelves
    }

    fn fastener(&mut self, plan: &Plan, id: FastenerId, summary: &Summary) -> FastenerReport {
        let name = plan.fastener_name(id);
        let ending = summary.fasteners.get(&name).copied().unwrap_or(Ending::Open);
        FastenerReport {
            member: id.member,
            ending,
            ending_words: words::ending(ending),
            pulls: self.pulls.remove(&name).unwrap_or_default(),
            withdrawn: self.withdrawn.remove(&name).unwrap_or_default(),
            name,
        }
    }
}

fn step_report(
    plan: &Plan,
    step: &Step,
    fasteners: Vec<FastenerReport>,
    adapters: &[AdapterReport],
) -> StepReport {
    let hold_names = |indices: &[usize]| -> Vec<String> {
        indices.iter().filter_map(|&index| Some(plan.holds.get(index)?.name.clone())).collect()
    };
    let passes = step.passes.iter().zip(1..).map(|(pass, number)| PassReport {
        holds: hold_names(&pass.holds),
        ..pass_report(pass, number)
    });
    StepReport {
        group: step.group.clone(),
        title: step.title.clone(),
        pattern: step.pattern,
        pitch_circle_mm: step.pitch_circle_mm,
        life_critical: step.life_critical,
        identity: step.identity,
        turned_to_reach: step.turned_to_reach,
        no_recheck: step.no_recheck,
        left_hand: step.left_hand,
        source: step.source.clone(),
        socket: step.socket.clone(),
        thread: step.thread.clone(),
        condition: step.condition.clone(),
        notes: step.notes.clone(),
        after: step
            .after
            .iter()
            .filter_map(|index| Some(plan.steps.get(index.0)?.group.clone()))
            .collect(),
        holds: hold_names(&step.holds),
        passes: passes.collect(),
        position: position(&fasteners, adapters),
        fasteners,
    }
}

fn pass_report(pass: &Pass, number: usize) -> PassReport {
    let (expect, window) = match &pass.expect {
        Expect::Window(window) => (Expectation::Window, Some(window_report(window))),
        Expect::ByHand => (Expectation::ByHand, None),
        Expect::NoFigure => (Expectation::NoFigure, None),
        Expect::ToBeLookedUp => (Expectation::ToBeLookedUp, None),
    };
    PassReport {
        number,
        name: pass.name.clone(),
        expect,
        window,
        order: pass.order.clone(),
        ordered: pass.ordered,
        check: pass.check,
        holds: Vec::new(),
    }
}

fn window_report(window: &Window) -> WindowReport {
    WindowReport {
        unit: window.stated.unit,
        target: window.stated.value,
        target_nm: window.target.nm(),
        low_nm: window.low.nm(),
        high_nm: window.high.map(|high| high.nm()),
    }
}

/// Says so if no pull of the step has better evidence of its place than the plan.
fn position(fasteners: &[FastenerReport], adapters: &[AdapterReport]) -> Option<&'static str> {
    let pulls = || fasteners.iter().flat_map(|fastener| &fastener.pulls);
    let located = |pull: &Pull| {
        pull.stands().is_some_and(|verdict| {
            verdict.basis.iter().any(|basis| matches!(basis, Basis::Mark | Basis::Motion))
        })
    };
    if pulls().next().is_none() || pulls().any(located) {
        return None;
    }
    let could_tell = pulls().any(|pull| {
        let adapter = adapters.iter().find(|adapter| adapter.id == pull.measured.adapter);
        adapter.is_some_and(|adapter| adapter.reports.motion)
    });
    Some(match could_tell {
        true => words::POSITION_ASSUMED,
        false => words::POSITION_UNKNOWN,
    })
}

fn not_known(facts: &Facts<'_>, adapters: &[AdapterReport]) -> Vec<String> {
    let mut sentences = Vec::new();
    for adapter in adapters {
        let id = &adapter.id;
        if adapter.numbers_readings == Some(false) {
            sentences.push(format!(
                "Adapter {id} does not number its readings: what was not heard is lost."
            ));
        }
        if !adapter.reports.motion && !adapter.reports.rotation && adapter.readings > 0 {
            sentences.push(format!(
                "Adapter {id} tells how tight, not which fastener nor whether it turned."
            ));
        } else if !adapter.reports.motion && adapter.readings > 0 {
            sentences.push(format!("Adapter {id} tells how tight, not which fastener."));
        }
        if adapter.certificate.is_none() {
            sentences.push(format!("No calibration certificate of adapter {id} is on record."));
        }
    }
    let worst = facts.pulls.iter().filter_map(|pull| pull.measured.at_error_us).max();
    if let Some(error) = worst.filter(|&error| error >= 1_000_000) {
        let span = number::duration(f64::from(error) / 1e6);
        sentences.push(format!("Times of pulls may be off by up to {span}."));
    }
    let lost: u64 = facts
        .gaps
        .iter()
        .map(|gap| gap.last.saturating_sub(gap.first).saturating_add(1))
        .fold(0, u64::saturating_add);
    if lost > 0 {
        sentences.push(match lost {
            1 => "1 reading is known to be missing for good.".to_owned(),
            _ => format!("{lost} readings are known to be missing for good."),
        });
    }
    if facts.job.closed.is_none() {
        sentences.push("The job was still open when this was made: more may follow.".to_owned());
    }
    sentences
}

fn outcome(
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
            because: because(step, fastener, warnings, facts),
        })
        .collect();
    let headline = match open.len() {
        0 => "Nothing of the plan is open".to_owned(),
        n => format!("Open: {}", words::count(n as u64, "fastener", "fasteners")),
    };
    Outcome {
        headline,
        complete: open.is_empty(),
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

/// What is known about why a fastener is open.
fn because(
    step: &StepReport,
    fastener: &FastenerReport,
    warnings: &[WarningReport],
    facts: &Facts<'_>,
) -> Vec<String> {
    let mut sentences = Vec::new();
    if let Some(last) = step.passes.last() {
        match last.expect {
            Expectation::ToBeLookedUp => sentences.push("its value was never looked up".to_owned()),
            Expectation::NoFigure | Expectation::ByHand => {
                sentences.push("nobody stated that it is done".to_owned());
            }
            Expectation::Window => {}
        }
    }
    match fastener.last_pull() {
        Some((pull, verdict)) => sentences.push(last_pull(step, pull, verdict)),
        None => sentences.push("no pull on record".to_owned()),
    }
    let skipped = facts
        .marks
        .iter()
        .any(|mark| mark.say == "skip" && mark.fastener.as_ref() == Some(&fastener.name));
    if skipped {
        sentences.push("left out on purpose, as stated".to_owned());
    }
    let mut codes: Vec<WarningCode> = warnings
        .iter()
        .filter(|warning| warning.counts && warning.fastener.as_ref() == Some(&fastener.name))
        .map(|warning| warning.code)
        .collect();
    codes.sort();
    codes.dedup();
    sentences.extend(codes.into_iter().map(|code| words::warning(code).to_owned()));
    if step.identity == Identity::Shown && fastener.last_pull().is_some_and(good) {
        sentences.push("the plan asks that each one is shown; a count is not enough".to_owned());
    }
    sentences
}

fn good((_, verdict): (&Pull, &Inferred)) -> bool {
    verdict.torque == TorqueVerdict::In
}

fn last_pull(step: &StepReport, pull: &Pull, verdict: &Inferred) -> String {
    let window = step.window(verdict.pass);
    let peak = number::peak(pull.measured.peak_nm, step.unit(), window);
    let place = match verdict.pass {
        Some(pass) if step.passes.len() > 1 => {
            format!(" of pass {pass} of {}", step.passes.len())
        }
        _ => String::new(),
    };
    format!("last pull {peak}, {}{place}", words::torque(verdict.torque))
}

//! Puts a job's facts in the order of its plan, and says what stands out.

use crate::core::event::{Basis, Ending, Summary};
use crate::core::plan::{
    Condition, Cure, Expect, FastenerId, List, Pass, Plan, Step, StepIndex, Window, also_text,
    check_text, checked_adapter, closed_name,
};
use crate::report::gather::Facts;
use crate::report::model::{
    AdapterReport, Chain, Expectation, FastenerReport, HoldReport, MarkReport, PassReport,
    PlanReport, Pull, Report, StepReport, WarningReport, WindowReport, Withdrawn,
};
use crate::report::words::{self, Saying};
use crate::report::{ReportContext, ReportError, certificate, outcome, zero};
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
    let mut warnings: Vec<_> = facts
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
            counts: outcome::counts(plan, summary, warning),
            put_right: None,
        })
        .collect();

    let not_known = outcome::not_known(&facts, &adapters);
    certificate::apply(&mut facts);
    zero::apply(&mut facts);
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
    for warning in &mut warnings {
        warning.put_right = outcome::put_right(&steps, &facts.marks, warning);
    }
    let outcome = outcome::of(&steps, &holds, &warnings, &facts);
    Ok(Report {
        outcome,
        redacted: false,
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
        photos: facts.photos,
        corrections: facts.corrections,
        warnings,
        link_breaks: facts.link_breaks,
        rechecks: facts.rechecks,
        pauses: facts.pauses,
        gaps: facts.gaps,
        loose: facts.loose,
        decision_rule: words::decision_rule(plan),
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
    let measuring = facts.adapters.iter().filter(|info| !info.reports.typed);
    let known = measuring.map(|info| {
        let (readings, numbers_readings) = report(&info.id);
        AdapterReport {
            id: info.id.clone(),
            serial: info.serial.clone(),
            drive: info.drive.clone(),
            range_nm: info.range.map(|(low, high)| [low.nm(), high.nm()]),
            accuracy_pct: info.accuracy_pct,
            certificate: certificate::of(facts, &info.serial).map(certificate::report),
            reports: info.reports,
            numbers_readings,
            readings,
        }
    });
    known.collect()
}

fn holds(facts: &Facts<'_>, summary: &Summary) -> Vec<HoldReport> {
    let plan = facts.plan;
    let report = |name: &str, of_group: Option<&str>, text: String, cure: Option<Cure>| {
        let confirmed = summary.holds.get(name).copied().unwrap_or(false);
        let its = |said: &str| said == name || Some(said) == of_group;
        let mark = facts
            .marks
            .iter()
            .rfind(|mark| confirms(mark) && mark.hold.as_deref().is_some_and(its))
            .filter(|_| confirmed);
        HoldReport {
            name: name.to_owned(),
            text,
            in_english: cure.is_none() && !is_plans_own(plan, name),
            cure,
            confirmed,
            confirmed_at: mark.map(|mark| mark.at.clone()),
            origin: mark.map(|mark| mark.origin),
        }
    };
    let holds = plan.holds.iter();
    let holds = holds.map(|hold| report(&hold.name, None, hold.text.clone(), Some(hold.cure)));
    let conditions = summary.holds.keys().filter_map(|name| {
        if let Some(adapter) = checked_adapter(name) {
            return Some(report(name, None, check_text(adapter), None));
        }
        let also = closed_name(name).filter(|_| plan.condition(name).is_none());
        if let Some(opened) = also {
            return Some(report(name, None, also_text(opened), None));
        }
        let condition = plan.condition(name)?;
        let of_group = condition.of_group().map(|group| plan.condition_name(group));
        Some(report(name, of_group.as_deref(), plan.condition_text(condition), None))
    });
    holds.chain(conditions).collect()
}

/// True if what is asked is in the plan's own words alone.
fn is_plans_own(plan: &Plan, name: &str) -> bool {
    matches!(plan.condition(name), Some(Condition::Item { list: List::Closing, .. }))
}

/// True if a mark may confirm what it is about.
fn confirms(mark: &MarkReport) -> bool {
    matches!(mark.say, "confirm" | "figure")
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
            ending_words: words::ending_in_full(ending),
            probability: summary
                .probability
                .get(&name)
                .copied()
                .filter(|_| ending != Ending::Stated),
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
        named: pass.is_named(),
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
        window: window.clone(),
    }
}

/// Says so if a pull of the step has no better evidence of its place than the plan.
fn position(fasteners: &[FastenerReport], adapters: &[AdapterReport]) -> Option<Saying> {
    let located = |pull: &&Pull| {
        pull.stands().is_some_and(|verdict| {
            verdict.basis.iter().any(|basis| matches!(basis, Basis::Mark | Basis::Motion))
        })
    };
    let pulls = fasteners.iter().flat_map(|fastener| &fastener.pulls);
    let (located, assumed): (Vec<&Pull>, Vec<&Pull>) = pulls.partition(located);
    let could_tell = |pull: &&Pull| {
        let adapter = adapters.iter().find(|adapter| adapter.id == pull.measured.adapter);
        adapter.is_some_and(|adapter| adapter.reports.motion)
    };
    match (assumed.is_empty(), located.is_empty()) {
        (true, _) => None,
        _ if assumed.iter().any(could_tell) => Some(words::POSITION_ASSUMED),
        (_, true) => Some(words::POSITION_UNKNOWN),
        _ => Some(words::POSITION_PARTLY_UNKNOWN),
    }
}

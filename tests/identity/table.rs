//! The figures, each beside its goal and with its 95 % interval.

use super::class::Class;
use super::generator::random::Chance;
use super::ideal::Ideal;
use super::job::Job;
use super::kind::{Kind, MIX};
use super::measure::{Calibration, Judged, quantile, recall_at_false};
use super::score::{Heard, Score};
use clampbook::core::event::Act;
use std::collections::BTreeMap;
use std::io::{Result, Write};

/// Jobs whose mix is told.
const MIXED: u64 = 1_000;
/// Drawings of the jobs, with repeats, from which the interval of a calibration error is taken
/// (percentile bootstrap; Efron and Tibshirani 1993, chapter 13).
const DRAWINGS: usize = 200;

/// What the jobs are: kinds and base rates, from the first thousand.
pub fn mix(out: &mut impl Write, seeds: std::ops::Range<u64>) -> Result<()> {
    let mut kinds: BTreeMap<Kind, u64> = BTreeMap::new();
    let mut members: BTreeMap<u16, u64> = BTreeMap::new();
    let (mut jobs, mut pulls, mut repeats, mut rechecks, mut left_out, mut crooked) =
        (0, 0, 0, 0, 0, 0);
    for seed in seeds.take(MIXED as usize) {
        let job = Job::seeded(seed);
        *kinds.entry(job.kind).or_default() += 1;
        *members.entry(job.groups[0].members).or_default() += 1;
        jobs += 1;
        pulls += job.pulls.len();
        repeats += job.pulls.iter().filter(|pull| pull.repeat).count();
        rechecks += job.pulls.iter().filter(|pull| pull.act != Act::Tighten).count();
        left_out += job.groups.iter().filter(|group| !group.left_out.is_empty()).count();
        crooked += job.groups.iter().filter(|group| group.crooked).count();
    }
    writeln!(out, "mix of the first {jobs} jobs: {kinds:?}")?;
    writeln!(out, "  members: {members:?}")?;
    writeln!(
        out,
        "  per 100 jobs: {:.0} pulls, {:.0} of them no tightening; {:.1} repeats while others wait, \
         {:.1} groups with one left out, {:.1} out of order\n",
        per(pulls, jobs),
        per(rechecks, jobs),
        per(repeats, jobs),
        per(left_out, jobs),
        per(crooked, jobs)
    )
}

fn per(count: usize, jobs: usize) -> f64 {
    100.0 * count as f64 / jobs as f64
}

/// The figures of one class.
pub fn class(out: &mut impl Write, class: &Class, scores: &[Score]) -> Result<()> {
    let clean: Vec<&Score> =
        scores.iter().filter(|one| one.kind.is_some_and(Kind::clean)).collect();
    writeln!(out, "== {}: {} jobs, {} of them clean", class.name, scores.len(), clean.len())?;
    let goals = &class.goals;
    let known = scores.iter().flat_map(|one| &one.known);
    let right = known.clone().filter(|one| one.1).count();
    let text = "pull -> fastener, where it can be known";
    share(out, text, right, known.count(), goals.accuracy)?;
    ideal_known(out, scores)?;
    let all = scores.iter().flat_map(|one| &one.all);
    let right = all.clone().filter(|one| one.1).count();
    share(out, "  the same, every pull", right, all.count(), None)?;
    heard(out, "repeat", scores, &clean, |one| &one.repeat, goals.repeat)?;
    ideal(
        out,
        scores,
        |one| !one.habit,
        |one| (one.repeat, Some(one.repeat_at_once)),
        |one| one.repeat.needless,
        goals.repeat,
    )?;
    blind(out, scores, |one| &one.blind_repeat)?;
    heard(out, "skipped", scores, &clean, |one| &one.skipped, goals.skipped)?;
    ideal(
        out,
        scores,
        |_| true,
        |one| (one.skipped, Some(one.skipped_at_once)),
        |one| one.skipped.needless,
        goals.skipped,
    )?;
    blind(out, scores, |one| &one.blind_skipped)?;
    let given_up = || scores.iter().map(|one| one.given_up).filter(|one| one.happened);
    let said = given_up().filter(|one| one.heard).count();
    share(out, "  given up below the window: said", said, given_up().count(), None)?;
    order(out, class, scores, &clean)?;
    if class.tells_place() {
        ideal(
            out,
            scores,
            |_| true,
            |one| (one.crooked, None),
            |one| one.order.needless,
            goals.order.map(|one| (one.0, one.3)),
        )?;
    }
    let untrue: usize = scores.iter().map(|one| one.untrue_shown).sum();
    rate(
        out,
        "untrue shown, per 1 000 jobs",
        untrue,
        scores.len(),
        1000.0,
        Some(goals.untrue_shown),
    )?;
    let by_plan = scores.iter().map(|one| one.untrue_by_plan).sum();
    rate(out, "  by the plan's own names", by_plan, scores.len(), 1000.0, None)?;
    let by_both = scores.iter().map(|one| one.untrue_by_both).sum();
    rate(out, "  by either", by_both, scores.len(), 1000.0, None)?;
    let ideals = || scores.iter().filter_map(|one| one.ideal.as_ref());
    let least = ideals().map(|ideal| ideal.untrue).sum();
    if ideals().next().is_some() {
        rate(out, "  an idealised matcher", least, scores.len(), 1000.0, None)?;
    }
    let (shown, done) =
        scores.iter().fold((0, 0), |(shown, done), one| (shown + one.shown, done + one.done));
    share(out, "  shown, of those done", shown - untrue, done, None)?;
    if ideals().next().is_some() {
        let told = ideals().map(|ideal| ideal.shown).sum::<usize>() - least;
        let held = scores.iter().map(|one| one.kept).sum();
        share(out, "  an idealised matcher, of those not left out", told, held, None)?;
    }
    let complete = scores.iter().filter(|one| one.false_complete).count();
    rate(out, "  complete though it is not, per 1 000 jobs", complete, scores.len(), 1000.0, None)?;
    calibration(out, "expected calibration error", scores, |one| &one.known, Some(0.03))?;
    calibration(out, "  the same, every pull", scores, |one| &one.all, None)?;
    writeln!(out)
}

/// What was said of groups in which nothing that the class tells bears on it.
fn blind(out: &mut impl Write, scores: &[Score], of: impl Fn(&Score) -> &Heard) -> Result<()> {
    let happened = scores.iter().filter(|one| of(one).happened).count();
    let heard = scores.iter().filter(|one| of(one).heard).count();
    match happened {
        0 => Ok(()),
        _ => share(out, "  where motion says nothing", heard, happened, None),
    }
}

/// How an idealised matcher finds the fasteners that can be known.
fn ideal_known(out: &mut impl Write, scores: &[Score]) -> Result<()> {
    let known = || scores.iter().filter_map(|one| one.ideal.as_ref()).flat_map(|one| &one.known);
    let (right, all) = (known().filter(|one| one.1).count(), known().count());
    if all == 0 {
        return Ok(());
    }
    share(out, "  an idealised matcher", right, all, None)
}

/// What an idealised matcher finds where it may be wrong as often as the goal allows, and as often as the
/// tracker is: when all is over, and if it speaks at once, as the tracker does.
fn ideal(
    out: &mut impl Write,
    scores: &[Score],
    counts: impl Fn(&Score) -> bool,
    of: impl Fn(&Ideal) -> (Judged, Option<Judged>),
    needless: impl Fn(&Score) -> usize,
    goal: Option<(f64, f64)>,
) -> Result<()> {
    let clean = |one: &Score| one.kind.is_some_and(Kind::clean) && counts(one);
    let (mut judged, mut at_once): (Vec<Judged>, Vec<Judged>) = (Vec::new(), Vec::new());
    for one in scores {
        let Some((late, early)) = one.ideal.as_ref().map(&of) else { continue };
        if late.1 || clean(one) {
            judged.push(late);
            at_once.extend(early);
        }
    }
    if judged.is_empty() {
        return Ok(());
    }
    let all = judged.iter().filter(|one| one.1).count();
    let needless: usize = scores.iter().filter(|one| clean(one)).map(needless).sum();
    let as_ours = per(needless, judged.len() - all);
    for (allowed, name) in [(goal.map_or(1.0, |goal| goal.1), ""), (as_ours, ", as ours")] {
        for (judged, when) in
            [(&judged, "an idealised matcher"), (&at_once, "  that speaks at once")]
        {
            if judged.is_empty() {
                continue;
            }
            let recall = recall_at_false(judged, allowed / 100.0);
            let name = format!("  {when}, {allowed:.1} false{name}");
            share(out, &name, (recall * all as f64).round() as usize, all, None)?;
        }
    }
    Ok(())
}

/// The figures of a class kind by kind.
pub fn kinds(out: &mut impl Write, scores: &[Score]) -> Result<()> {
    for (kind, _) in MIX {
        let all: Vec<&Score> = scores.iter().filter(|one| one.kind == Some(kind)).collect();
        let known = all.iter().flat_map(|one| &one.known);
        let right = known.clone().filter(|one| one.1).count();
        let told = |of: &dyn Fn(&Score) -> Heard| {
            let happened = all.iter().filter(|one| of(one).happened).count();
            let heard = all.iter().filter(|one| of(one).heard).count();
            let needless: usize = all.iter().map(|one| of(one).needless).sum();
            format!("{heard}/{happened} +{needless}")
        };
        let untrue: usize = all.iter().map(|one| one.untrue_shown).sum();
        writeln!(
            out,
            "  {kind:?}: {} jobs, right {right}/{}; repeat {}, skipped {}, order {}; untrue {untrue}",
            all.len(),
            known.count(),
            told(&|one| one.repeat),
            told(&|one| one.skipped),
            told(&|one| one.order),
        )?;
    }
    let mut steps = [(0, 0, 0.0); 10];
    for (sure, right) in scores.iter().flat_map(|one| &one.known) {
        let step = &mut steps[((sure * 10.0) as usize).min(9)];
        *step = (step.0 + 1, step.1 + usize::from(*right), step.2 + sure);
    }
    for (count, right, sure) in steps.into_iter().filter(|step| step.0 > 0) {
        let (all, right) = (f64::from(count), right as f64);
        writeln!(out, "  said {:.3}: {count}, right {:.3}", sure / all, right / all)?;
    }
    Ok(())
}

fn heard(
    out: &mut impl Write,
    name: &str,
    scores: &[Score],
    clean: &[&Score],
    of: impl Fn(&Score) -> &Heard,
    goal: Option<(f64, f64)>,
) -> Result<()> {
    let happened: Vec<&Score> = scores.iter().filter(|one| of(one).happened).collect();
    let said = happened.iter().filter(|one| of(one).heard).count();
    share(out, &format!("{name}: recall"), said, happened.len(), goal.map(|goal| goal.0))?;
    // Whoever pulls twice by habit is no case of a repeat, nor of none.
    let counted: Vec<&&Score> = clean.iter().filter(|one| name != "repeat" || !one.habit).collect();
    let needless = counted.iter().map(|one| of(one).needless).sum();
    rate(
        out,
        &format!("{name}: false, per 100 clean jobs"),
        needless,
        counted.len(),
        100.0,
        goal.map(|goal| goal.1),
    )?;
    let faulty = scores.iter().filter(|one| !one.kind.is_some_and(Kind::clean) && !one.habit);
    let others: Vec<&Score> = faulty.filter(|one| !of(one).happened).collect();
    let needless = others.iter().map(|one| of(one).needless).sum();
    rate(out, "  in 100 jobs with another fault", needless, others.len(), 100.0, None)?;
    if name == "repeat" {
        let habit: Vec<&&Score> = clean.iter().filter(|one| one.habit).collect();
        let said = habit.iter().map(|one| one.repeat.needless).sum();
        rate(out, "  in 100 clean jobs with habitual doubles", said, habit.len(), 100.0, None)?;
    }
    Ok(())
}

fn order(out: &mut impl Write, class: &Class, scores: &[Score], clean: &[&Score]) -> Result<()> {
    let goal = class.goals.order;
    let kinds: [(&str, Kind, bool, Option<f64>); 3] = [
        (
            "order: recall, round the clock, n <> 4",
            Kind::RoundTheClock,
            false,
            goal.map(|one| one.0),
        ),
        ("order: recall, round the clock, n = 4", Kind::RoundTheClock, true, goal.map(|one| one.1)),
        ("order: recall, one swapped pair", Kind::SwappedPair, false, goal.map(|one| one.2)),
    ];
    for (name, kind, four, goal) in kinds {
        let of_kind = |one: &&Score| {
            let fits = kind == Kind::SwappedPair || (one.members == 4) == four;
            one.kind == Some(kind) && fits && one.order.happened
        };
        let happened: Vec<&Score> = scores.iter().filter(of_kind).collect();
        let said = happened.iter().filter(|one| one.order.heard).count();
        if !happened.is_empty() {
            share(out, name, said, happened.len(), goal)?;
        }
    }
    let needless = clean.iter().map(|one| one.order.needless).sum();
    rate(
        out,
        "order: false, per 100 clean jobs",
        needless,
        clean.len(),
        100.0,
        goal.map(|one| one.3),
    )
}

fn calibration(
    out: &mut impl Write,
    name: &str,
    scores: &[Score],
    of: impl Fn(&Score) -> &[Judged],
    goal: Option<f64>,
) -> Result<()> {
    let jobs: Vec<Calibration> = scores.iter().map(|one| Calibration::of(of(one))).collect();
    let whole: Calibration = jobs.iter().sum();
    let mut chance = Chance::seeded(1);
    let mut drawn: Vec<f64> = (0..DRAWINGS)
        .map(|_| {
            let picks =
                (0..jobs.len()).map(|_| &jobs[chance.even(0.0, jobs.len() as f64) as usize]);
            picks.sum::<Calibration>().error()
        })
        .collect();
    let (low, high) = (quantile(&mut drawn, 0.025), quantile(&mut drawn, 0.975));
    let error = whole.error();
    line(
        out,
        name,
        &format!("{error:.3}"),
        &format!("{low:.3} to {high:.3}; Brier {:.3}", whole.brier()),
        goal.map(|goal| (format!("<= {goal}"), error <= goal)),
    )
}

/// A share with its interval (Wilson 1927).
fn share(out: &mut impl Write, name: &str, so: usize, all: usize, goal: Option<f64>) -> Result<()> {
    let (k, n, z) = (so as f64, all as f64, 1.96);
    let p = k / n;
    let middle = (p + z * z / (2.0 * n)) / (1.0 + z * z / n);
    let half = z / (1.0 + z * z / n) * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
    line(
        out,
        name,
        &format!("{p:.4}"),
        &format!("{:.4} to {:.4}; {so} of {all}", from_zero(middle - half), middle + half),
        goal.map(|goal| (format!(">= {goal}"), p >= goal)),
    )
}

/// Not below 0, nor its negative.
fn from_zero(value: f64) -> f64 {
    if value > 0.0 { value } else { 0.0 }
}

/// A rate with its interval (score interval of a Poisson count).
fn rate(
    out: &mut impl Write,
    name: &str,
    count: usize,
    jobs: usize,
    per: f64,
    goal: Option<f64>,
) -> Result<()> {
    let (k, z) = (count as f64, 1.96_f64);
    let scale = per / jobs as f64;
    let (middle, half) = (k + z * z / 2.0, z * (k + z * z / 4.0).sqrt());
    line(
        out,
        name,
        &format!("{:.2}", k * scale),
        &format!(
            "{:.2} to {:.2}; {count} in {jobs}",
            from_zero(middle - half) * scale,
            (middle + half) * scale
        ),
        goal.map(|goal| (format!("<= {goal}"), k * scale <= goal)),
    )
}

fn line(
    out: &mut impl Write,
    name: &str,
    result: &str,
    interval: &str,
    goal: Option<(String, bool)>,
) -> Result<()> {
    let goal = goal.map_or_else(String::new, |(goal, met)| {
        format!("{goal:<9} {}", if met { "met" } else { "MISSED" })
    });
    writeln!(out, "{name:<44} {result:>8}   [{interval}]   {goal}")
}

/// What went wrong, job by job.
pub fn wrong(out: &mut impl Write, scores: &[Score]) -> Result<()> {
    for one in scores {
        let mut faults = Vec::new();
        for (name, heard) in
            [("repeat", &one.repeat), ("skipped", &one.skipped), ("order", &one.order)]
        {
            if heard.happened && !heard.heard {
                faults.push(format!("{name} missed"));
            }
            if heard.needless > 0 && one.kind.is_some_and(Kind::clean) {
                faults.push(format!("{name} needless"));
            }
        }
        if one.untrue_shown > 0 {
            faults.push("untrue shown".to_owned());
        }
        let right = one.known.iter().filter(|one| one.1).count();
        if right < one.known.len() {
            faults.push(format!("{} of {} wrong", one.known.len() - right, one.known.len()));
        }
        if !faults.is_empty() {
            writeln!(out, "{} {:?}: {}\n{}", one.seed, one.kind, faults.join(", "), one.words)?;
        }
    }
    Ok(())
}

//! What is said, in one place: endings, verdicts, evidence, warnings, cautions.

use crate::core::decision::Rule;
use crate::core::event::{Act, Basis, Ending, LinkState, Origin, TorqueVerdict, WarningCode};
use crate::core::plan::{Cure, Pattern, Plan};
use crate::report::model::{CertificateStanding, Expectation, MarkReport, Personal, RecheckReport};
use crate::report::number;

/// How a fastener ended, in full. *Counted* never stands alone.
#[must_use]
pub const fn ending(ending: Ending) -> &'static str {
    match ending {
        Ending::Shown => "shown tight to plan",
        Ending::Counted => "counted (count only: which one is not known)",
        Ending::Stated => "stated by the operator, not measured",
        Ending::Open => "open",
    }
}

/// The one word of an ending.
#[must_use]
pub const fn ending_word(ending: Ending) -> &'static str {
    match ending {
        Ending::Shown => "shown",
        Ending::Counted => "counted",
        Ending::Stated => "stated",
        Ending::Open => "open",
    }
}

/// How a peak compares with its window.
#[must_use]
pub const fn torque(verdict: TorqueVerdict) -> &'static str {
    match verdict {
        TorqueVerdict::In => "in the window",
        TorqueVerdict::Low => "below the window",
        TorqueVerdict::High => "above the window",
        TorqueVerdict::Na => "no window",
    }
}

/// What a pull was.
#[must_use]
pub const fn act(act: Act) -> &'static str {
    match act {
        Act::Tighten => "tightening",
        Act::Recheck => "already tight, pulled again",
        Act::Loosen => "loosening",
        Act::Trial => "on nothing in the plan",
    }
}

/// A source of evidence.
#[must_use]
pub const fn basis(basis: Basis) -> &'static str {
    match basis {
        Basis::PlanOrder => "the plan's order",
        Basis::Mark => "the operator's word",
        Basis::Motion => "how far the tool moved",
        Basis::Rotation => "how far the drive turned",
        Basis::Trace => "the shape of the pull",
        Basis::Torque => "how the torque fits",
        Basis::Time => "the time between pulls",
    }
}

/// Several sources of evidence.
#[must_use]
pub fn bases(all: &[Basis]) -> String {
    match all {
        [] => "nothing".to_owned(),
        _ => all.iter().copied().map(basis).collect::<Vec<_>>().join(", "),
    }
}

/// A kind of warning, in a few words.
#[must_use]
pub const fn warning(code: WarningCode) -> &'static str {
    match code {
        WarningCode::LowTorque => "left below its window",
        WarningCode::HighTorque => "over its window",
        WarningCode::Order => "out of order",
        WarningCode::Repeat => "pulled again while another waits",
        WarningCode::DidNotTurn => "did not turn",
        WarningCode::Skipped => "skipped",
        WarningCode::Loosened => "loosened",
        WarningCode::HoldOpen => "pulled before its hold was confirmed",
        WarningCode::RedoSlack => "must be slackened and redone",
        WarningCode::BackedOff => "turned back after reaching torque",
        WarningCode::UnitMixUp => "units may be mixed up",
        WarningCode::AdapterRange => "outside the adapter's range",
        WarningCode::CalibrationDue => "calibration due",
        WarningCode::Unexpected => "fits nothing open in the plan",
        WarningCode::Slipped => "slipped",
        WarningCode::ThreadDamage => "thread may be damaged",
        WarningCode::Yielding => "fastener may be yielding",
        WarningCode::LinkLost => "link lost",
        WarningCode::Gap => "readings missing",
        WarningCode::UnknownName => "a name that the plan has not",
        WarningCode::PastSlot => "further than to the next slot",
        WarningCode::LowAngle => "left short of its angle",
        WarningCode::OverAngle => "turned further than its angle",
        WarningCode::Unconfirmed => "not confirmed before the end",
        WarningCode::AdapterSuspect => "adapter overloaded",
        WarningCode::GuardBand => "too near a limit to be proven",
        WarningCode::Cured => "pulled after its thread locker had set",
    }
}

/// By what means the operator spoke.
#[must_use]
pub const fn origin(origin: Origin) -> &'static str {
    match origin {
        Origin::CommandLine => "on the command line",
        Origin::Page => "on the page",
        Origin::Button => "with the adapter's button",
        Origin::Recording => "in a recording",
        Origin::Typed => "typed",
    }
}

/// What became of a link.
#[must_use]
pub const fn link(state: LinkState) -> &'static str {
    match state {
        LinkState::Lost => "lost",
        LinkState::Back => "back",
        LinkState::Asleep => "asleep (normal)",
    }
}

/// What cures a pull that came before its hold.
#[must_use]
pub const fn cure(cure: Cure) -> &'static str {
    match cure {
        Cure::Slacken => "slacken, let it settle, pull again",
        Cure::PullAgain => "pull again once it is met",
    }
}

/// How members lie.
#[must_use]
pub const fn pattern(pattern: Pattern) -> &'static str {
    match pattern {
        Pattern::Single => "one fastener",
        Pattern::Ring => "a ring, numbered clockwise",
        Pattern::Line => "a row",
    }
}

/// What a pass without a window expects.
#[must_use]
pub const fn expectation(expect: Expectation) -> &'static str {
    match expect {
        Expectation::Window => "a torque",
        Expectation::ByHand => "by hand, no reading expected",
        Expectation::NoFigure => "no figure published, the operator's word counts",
        Expectation::ToBeLookedUp => "value never looked up",
    }
}

/// Text that may have been erased; `none` where it was never given.
#[must_use]
pub fn personal<'a>(text: &'a Personal, none: &'a str) -> &'a str {
    match text {
        Personal::NotGiven => none,
        Personal::Given(text) => text,
        Personal::Removed => "removed",
        Personal::LeftOut => "left out",
    }
}

/// What the operator said, without names (those stand beside it).
#[must_use]
pub fn said(mark: &MarkReport) -> &'static str {
    match mark.say {
        "at" => "I am at",
        "confirm" => "condition met",
        "stated" => "done without the adapter",
        "opened" => "opened or slackened",
        "low" => "stayed below its torque",
        "also-opened" => "opened, too",
        "spoiled" => "needs a new part",
        "figure" => "measured by hand",
        "skip" => "left out on purpose",
        "retract" => "took back what was said or assigned last",
        _ => "note",
    }
}

/// When something is to be pulled again.
#[must_use]
pub fn recheck(recheck: &RecheckReport) -> String {
    let distance = recheck.km.map(|km| format!("after {} km", number::nearest(km, 1)));
    let by = recheck.by.as_ref().map(|by| format!("by {}", by.day()));
    let when: Vec<String> = [distance, by].into_iter().flatten().collect();
    let whose = match recheck.in_plan {
        true => "",
        false => ", as is usual for a wheel; the maker's distance comes first",
    };
    format!("{}{whose}", when.join(" or "))
}

/// How a certificate stood to the day.
#[must_use]
pub const fn standing(standing: CertificateStanding) -> &'static str {
    match standing {
        CertificateStanding::Valid => "valid on the day",
        CertificateStanding::Overdue => "overdue on the day",
        CertificateStanding::Later => "calibrated only after the job",
    }
}

/// Several things in one phrase.
#[must_use]
pub fn count(n: u64, one: &str, many: &str) -> String {
    match n {
        1 => format!("1 {one}"),
        _ => format!("{n} {many}"),
    }
}

/// How a pull is judged, and where otherwise.
#[must_use]
pub fn decision_rule(plan: &Plan) -> String {
    let guarded = plan.steps.iter().filter(|step| step.rules.acceptance == Rule::Guarded);
    let guarded: Vec<&str> = guarded.map(|step| step.group.as_str()).collect();
    match guarded.as_slice() {
        [] => DECISION_RULE.to_owned(),
        all => format!("{DECISION_RULE} At {}: {}.", all.join(", "), Rule::Guarded.name()),
    }
}

/// How a pull is judged unless its joint asks for more.
const DECISION_RULE: &str = "A pull is judged by its peak at face value (simple acceptance): in the window \
     if it lies between the limits, limits included. What is uncertain about the peak stands beside it and never \
     widens a window.";

/// Position came from the plan, and the adapter has no means to know better.
pub const POSITION_UNKNOWN: &str = "Position taken from plan order; this adapter cannot tell.";
/// The same, but for some pulls somebody or something did tell.
pub const POSITION_PARTLY_UNKNOWN: &str =
    "Where nothing else told, position taken from plan order; this adapter cannot tell.";
/// Position came from the plan although the adapter can report motion.
pub const POSITION_ASSUMED: &str = "Where nothing else told, position taken from plan order.";

/// What to bear in mind, whatever the job.
pub const CAUTIONS: [&str; 8] = [
    "Torque is not clamp load. Friction in the thread and under the head decides how much of a correct \
     torque becomes clamp, and it varies widely.",
    "The values are those of the plan. The right ones come from the maker's current service information \
     for this very vehicle; compare them before you rely on this page.",
    "This page records readings and what was said. It is no finding of roadworthiness, and it does not \
     replace an inspection.",
    "An adapter measures as well as its last calibration. Where no certificate is on record, take its \
     readings as an indication.",
    "No adapter sees a missing washer, a dirty seat, the wrong part or the state of a thread. For those, \
     this page has only what the operator confirmed.",
    "A fastener that was pulled too far, or slackened, may be spent. Replace what is made for one use.",
    "Stands carry the vehicle and chocks hold it, never the jack alone, and full torque can rock it. Keep \
     the adapter off impact tools.",
    "Local codes come first, and so does licensed practice where the law asks for it. Check wheels again after \
     the distance their maker gives.",
];

//! What a person is told when a joint's own rule is broken, and the remedy of that kind of joint.

use crate::core::decision::MixUp;
use crate::core::joint::Condition;
use crate::core::plan::{Kind, Window};
use crate::core::tracker::rules::acceptance::Proof;
use crate::core::tracker::rules::access::Blocked;
use crate::core::tracker::scene::Scene;
use crate::core::tracker::words::{against, group, who};
use crate::core::units::Torque;
use jiff::civil::Date;

fn name(scene: &Scene, named: Option<usize>, fastener: usize) -> String {
    let step = scene.step_of(fastener);
    who(scene, named, &format!("a fastener of {}", group(scene, step)))
}

/// The same at the beginning of a sentence.
fn opening(scene: &Scene, named: Option<usize>, fastener: usize) -> String {
    let step = scene.step_of(fastener);
    who(scene, named, &format!("A fastener of {}", group(scene, step)))
}

/// What puts right a fastener that went over its torque.
pub(in crate::core::tracker) fn remedy(scene: &Scene, step: usize) -> &'static str {
    let joint = scene.step(step);
    if joint.goes_forward_only() {
        "slacken it, change nut or washer, and pull again from the least torque on"
    } else if joint.back_off().is_some() {
        "slacken it, turn the hub by hand and feel for a mark, and set the bearing from the start"
    } else if joint.angles().next().is_some() || joint.rules.kind == Kind::TorqueToYield {
        "take it out and fit a new one"
    } else if joint.rules.kind == Kind::Wheel {
        "slacken it, look at stud and seat, then pull again"
    } else {
        "slacken, look at thread and seat, fit a new part if it is single-use, then pull again"
    }
}

pub(super) fn backed_off(scene: &Scene, named: Option<usize>, fastener: usize) -> String {
    let name = opening(scene, named, fastener);
    format!(
        "{name} was turned back after it had its torque. It goes forward only: pull it again, on to the \
         next slot, or start with a new nut."
    )
}

pub(super) fn past_slot(scene: &Scene, fastener: usize, went: f64, pitch: f64) -> String {
    let name = scene.name(fastener);
    format!(
        "{name} went on by {went:.0}° after its least torque; the next slot is at most {pitch:.0}° away, and \
         no most is published. Slacken it, look at thread and washer, and pull again to the first slot."
    )
}

pub(super) fn over_angle(
    scene: &Scene,
    named: Option<usize>,
    fastener: usize,
    turned: f64,
    asked: f64,
) -> String {
    let name = name(scene, named, fastener);
    format!(
        "Stop. {name} was turned too far: {turned:.0}°, but {asked:.0}° is asked. Turning back does not cure it: \
         take it out and fit a new one."
    )
}

pub(super) fn low_angle(
    scene: &Scene,
    named: Option<usize>,
    fastener: usize,
    turned: f64,
    asked: f64,
) -> String {
    let name = opening(scene, named, fastener);
    let more = asked - turned;
    format!(
        "{name} was left short of its angle: {turned:.0}°, but {asked:.0}° is asked. Turn it on by \
         {more:.0}°."
    )
}

pub(super) fn weak(
    scene: &Scene,
    named: Option<usize>,
    fastener: usize,
    window: &Window,
    nm: f64,
) -> String {
    let name = name(scene, named, fastener);
    format!(
        "Stop. {name} has its angle without the torque that comes with it: {}. It may be yielding, or its \
         thread may be going: take it out, look at the thread, fit a new one.",
        against(window, nm)
    )
}

pub(super) fn zero_moved(adapter: &str, nm: f64) -> String {
    let way = if nm > 0.0 { "more" } else { "less" };
    format!(
        "Adapter {adapter} shows {:.1} N·m {way} with nothing on it than at its first pull of this job, and peaks that it \
         tells may be off by as much. Zero it with nothing on it, and compare it with a known torque.",
        nm.abs()
    )
}

pub(super) fn zero_jumped(adapter: &str, nm: f64, ways: usize, touched: &[String]) -> String {
    let again = match touched {
        [] => String::new(),
        names => format!(" Inside only by that: {}. Pull again.", names.join(", ")),
    };
    format!(
        "Adapter {adapter}: its zero jumped. It showed {nm:.1} N·m with nothing on it before each of its last {ways} pulls, and \
         peaks that it tells are off by as much. Do not trust it before its zero is right and it agrees with a known torque; \
         then say checked:{adapter}.{again}"
    )
}

pub(super) fn only_by_zero(
    scene: &Scene,
    named: Option<usize>,
    fastener: usize,
    adapter: &str,
    nm: f64,
    off: f64,
) -> String {
    let name = opening(scene, named, fastener);
    format!(
        "{name}: {} is inside its window only because the zero of adapter {adapter} is off by {off:.1} N·m. It does not \
         count: zero the adapter with nothing on it, then pull again.",
        Torque::from_nm(nm)
    )
}

pub(super) fn sides_differ(
    scene: &Scene,
    (left, right): (usize, usize),
    (one, other): (f64, f64),
) -> String {
    let name = |step: usize| &scene.step(step).group;
    format!(
        "{} turned {one:.0}° for its torque and {} turned {other:.0}°. Look at both: the same parts, the same on their \
         threads, seated, and none run down by a gun further than the others?",
        name(left),
        name(right)
    )
}

pub(super) fn threads(group: &str, asked: Condition, found: Condition) -> String {
    let more = (found.preload_ratio(asked) - 1.0) * 100.0;
    let load = match more {
        more if more >= 1.0 => format!(
            " The same torque then clamps some {more:.0} % harder, going by usual tables, which are rough."
        ),
        more if more <= -1.0 => format!(
            " The same torque then clamps some {:.0} % less, going by usual tables, which are rough.",
            -more
        ),
        _ => String::new(),
    };
    let (asked, found) = (asked.of_threads(), found.of_threads());
    format!(
        "Stop. {group}: its value is for threads that are {asked}, and these are {found}.{load} Nothing was worked out \
         anew: make them so, or look up the value for what they are. What was pulled so is slackened first. It is not \
         confirmed."
    )
}

/// A bare yes does not take back what was told of threads.
pub(super) fn threads_by_a_word(group: &str, asked: Condition, found: Condition) -> String {
    let remedy = format!(
        "say what is on them now (figure threads:{group} \"{asked}\"), or confirm it with the reason"
    );
    let (asked, found) = (asked.of_threads(), found.of_threads());
    format!(
        "The threads of {group} were told to be {found}, and are asked to be {asked}: a bare yes does not take that back. \
         Make them so, then {remedy}."
    )
}

/// The same, as the question that stands until they are.
pub(super) fn threads_asked(group: &str, asked: Condition, found: Condition) -> String {
    format!(
        "{group}: its threads are {}. Make them {}, then tell it (`figure threads:{group} \"{asked}\"`), or confirm it \
         with the reason.",
        found.of_threads(),
        asked.of_threads()
    )
}

pub(super) fn pulled_with(
    scene: &Scene,
    named: Option<usize>,
    fastener: usize,
    asked: Condition,
    found: Condition,
) -> String {
    let name = name(scene, named, fastener);
    format!(
        "Stop. {name} was pulled while its threads are {}, and its value is for threads that are {}. This pull does not \
         count: slacken it, make them so, pull again.",
        found.of_threads(),
        asked.of_threads()
    )
}

pub(super) fn unconfirmed(asked: &str) -> String {
    format!("Not confirmed: \"{asked}\" The job is not closed before it is.")
}

pub(super) fn not_at_height(
    scene: &Scene,
    hold: usize,
    mm: f64,
    (found, within): (f64, f64),
) -> String {
    let name = &scene.plan.holds[hold].name;
    let way = if mm < found { "too low" } else { "too high" };
    format!(
        "{name}: {mm:.0} mm, but it was found at {found:.0} mm, and {within:.0} mm more or less is all that may \
         be. It stands {way} by {:.0} mm: set it right and measure again. It is not confirmed.",
        (mm - found).abs()
    )
}

pub(super) fn units(adapter: &str, ratio: f64, pair: MixUp) -> String {
    let MixUp { meant, taken_for } = pair;
    format!(
        "Every pull of adapter {adapter} so far came to {ratio:.2} of what is asked, as if {meant} had been \
         taken for {taken_for}. Look at the unit on the adapter and in the plan. Nothing was put right."
    )
}

pub(super) fn overloaded(adapter: &str, most: f64, nm: f64) -> String {
    format!(
        "Adapter {adapter} was overloaded: {nm:.0} N·m, and it measures up to {most:.0}. Do not trust it before \
         its zero is right and it agrees with a known torque; then say checked:{adapter}."
    )
}

pub(super) fn hit(adapter: &str) -> String {
    format!(
        "Adapter {adapter} was hit by an impact tool. Do not trust it before its zero is right and it agrees with a \
         known torque; then say checked:{adapter}."
    )
}

pub(super) fn driven(scene: &Scene, named: Option<usize>, fastener: usize) -> String {
    let name = name(scene, named, fastener);
    let remedy = remedy(scene, scene.step_of(fastener));
    format!(
        "Stop. {name} was driven by an impact tool, and is by hand only. It does not count: {remedy}."
    )
}

pub(super) fn slipped(scene: &Scene, named: Option<usize>, fastener: usize) -> String {
    let name = opening(scene, named, fastener);
    format!(
        "{name}: by its trace the tool slipped. Is the socket all the way on, and are the corners whole? What it reached \
         counts as it was measured."
    )
}

pub(super) fn gives(scene: &Scene, named: Option<usize>, fastener: usize) -> String {
    let name = name(scene, named, fastener);
    format!(
        "Stop. {name}: by its trace torque sank while it turned on. Its thread may be giving way: slacken it, take it out, \
         look at both threads, fit new parts if they are not whole."
    )
}

pub(super) fn no_access(
    scene: &Scene,
    named: Option<usize>,
    fastener: usize,
    why: Blocked,
) -> String {
    let name = opening(scene, named, fastener);
    let why = match why {
        Blocked::TooLong => "adapter and socket are too long for it",
        Blocked::KeyInTheWay => "the key that holds it stands where the socket would",
        Blocked::Between => "what stands between lets no reading be relied on",
    };
    format!(
        "{name} was pulled with the adapter, and by its plan {why}. The reading proves nothing of it: say that it was done \
         (stated), or put into the plan what you reached it with."
    )
}

pub(super) fn not_slackened(scene: &Scene, named: Option<usize>, fastener: usize) -> String {
    let name = opening(scene, named, fastener);
    format!(
        "{name} was pulled as it stood, and its recheck asks that it is slackened first. It does not count: slacken it, \
         then pull it again."
    )
}

pub(super) fn overdue(adapter: &str, since: Date) -> String {
    format!(
        "Adapter {adapter} was due to be calibrated on {since}: what it tells is kept, under no valid certificate. \
         Take another for what has to be proved, and have it calibrated."
    )
}

pub(super) fn uncovered(
    scene: &Scene,
    named: Option<usize>,
    fastener: usize,
    (adapter, peak): (&str, Torque),
    span: Option<(f64, f64)>,
) -> String {
    let name = opening(scene, named, fastener);
    let peak_nm = peak.nm().abs();
    match span {
        Some((low, high)) => format!(
            "{name}: {peak_nm:.1} N·m is outside what the certificate of adapter {adapter} covers, {low:.1}–{high:.1} \
             N·m. It is kept, and nothing certified is said of it."
        ),
        None if peak.nm() < 0.0 => format!(
            "{name} was pulled counter-clockwise, and adapter {adapter} was not calibrated that way. It is kept, and \
             nothing certified is said of it."
        ),
        None => format!(
            "{name} was pulled clockwise, and adapter {adapter} was not calibrated that way. It is kept, and nothing \
             certified is said of it."
        ),
    }
}

pub(super) fn unproven(
    scene: &Scene,
    named: Option<usize>,
    fastener: usize,
    adapter: &str,
    nm: f64,
    (proof, zone): (Proof, Option<(Torque, Option<Torque>)>),
) -> String {
    let name = opening(scene, named, fastener);
    let reading = Torque::from_nm(nm);
    let Some((low, high)) = zone else {
        return format!(
            "{name}: {reading} is inside its window, but the plan asks for proof, and adapter {adapter} is not \
             sure enough to give it. It does not count: use one that is."
        );
    };
    let asked = match high {
        Some(high) => format!("{:.1}–{:.1} N·m", low.nm(), high.nm()),
        None => format!("at least {:.1} N·m", low.nm()),
    };
    let cure = match proof {
        Proof::MayBeHigh => {
            "Slacken it and pull again, or compare it with an adapter that is surer"
        }
        Proof::MayBeLow | Proof::Enough => "Pull it on a little",
    };
    format!(
        "{name}: {reading} is inside its window by less than adapter {adapter} is sure of, and the plan asks for \
         proof (guarded acceptance): {asked} counts. {cure}."
    )
}

pub(super) fn cured(
    scene: &Scene,
    named: Option<usize>,
    fastener: usize,
    minutes: f64,
    allowed: f64,
) -> String {
    let name = opening(scene, named, fastener);
    format!(
        "{name} was pulled {minutes:.0} min after its first pull, and its thread locker may be worked for \
         {allowed:.0} min: it is broken now. Take it out, clean it, put on new, pull again."
    )
}

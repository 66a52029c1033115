//! What is said of a change.

use crate::core::event::{Act, LinkState, TorqueVerdict, Verdict, Warning, WarningCode};
use crate::core::live::{Live, PullNow};
use crate::core::prompt::{Cue, Line, Said, Words};
use crate::core::snapshot::{Asked, GroupState, Next};
use crate::core::units::TorqueUnit;

/// Below this a battery may not last the job, per cent.
const LOW_BATTERY: u8 = 10;
/// Below this share of its target a pull is a swing of a ratchet on the way: nobody takes it for done.
const NEAR_SHARE: f64 = 0.7;
/// The sentence at the end of all work.
const NOTHING_OPEN: &str = "nothing-open";
/// From here on a tenth of a unit is not said.
const WHOLE_FROM: f64 = 20.0;

/// What is said of a torque just felt.
#[must_use]
pub fn felt(before: Option<PullNow>, live: &Live, now: PullNow) -> Option<Said> {
    let asked = live.next_group().and_then(|group| group.asked.as_ref())?;
    if now.over && !before.is_some_and(|before| before.over) {
        let over = Line::new("over").with("reading", digits(now.peak_nm / asked.unit_nm));
        return Some(Said::new(Cue::Over, Words::of(&[over])));
    }
    let news = now.reached && !before.is_some_and(|before| before.reached);
    news.then(|| Said::new(Cue::Reached, Words::of(&[Line::new("reached")])))
}

/// What is said when `before` has become `after`: the most urgent.
#[must_use]
pub fn after(before: &Live, after: &Live) -> Option<Said> {
    let mut said: Vec<(Cue, Vec<Line>, Option<&Warning>)> = Vec::new();
    if after.trouble.is_some() && before.trouble.is_none() {
        said.push((Cue::Attention, vec![Line::new("not-kept")], None));
    }
    said.extend(links(before, after).into_iter().map(|(cue, lines)| (cue, lines, None)));
    if before.job == after.job {
        let comes_late = |one: &&Warning| one.code == WarningCode::Repeat && !waits(after, one);
        said.extend(warnings(before, after).iter().filter(|one| !comes_late(one)).map(warning));
    }
    said.extend(work(before, after).map(|(cue, lines)| (cue, lines, None)));
    // Of those alike the first.
    let (cue, lines, warning) = said.into_iter().rev().max_by_key(|(cue, ..)| *cue)?;
    let whole = warning.map(|warning| Words::told(&warning.text));
    // What is next follows what a pull came to; that nothing is open is told with it.
    let has_next = lines.get(1).is_some_and(|line| line.id != NOTHING_OPEN);
    let of_pull = has_next.then(|| Words::of(&lines[..1]));
    Some(Said { whole, of_pull, ..Said::new(cue, Words::of(&lines)) })
}

fn links(before: &Live, after: &Live) -> Vec<(Cue, Vec<Line>)> {
    let mut said = Vec::new();
    for adapter in &after.adapters {
        let was = before.adapters.iter().find(|one| one.id == adapter.id).and_then(|one| one.link);
        match (was, adapter.link) {
            (Some(LinkState::Back), Some(LinkState::Lost)) if before.is_pulling() => {
                said.push((Cue::Attention, vec![Line::new("no-reading")]));
            }
            (Some(LinkState::Lost | LinkState::Asleep), Some(LinkState::Back)) => {
                said.push((Cue::Next, vec![Line::new("ready")]));
            }
            _ => {}
        }
    }
    let low = |live: &Live, wanted: &str| {
        let link = live.links.iter().find(|link| link.wanted == wanted);
        link.and_then(|link| link.battery_pct).filter(|charge| *charge <= LOW_BATTERY)
    };
    for link in &after.links {
        if let Some(charge) = low(after, &link.wanted)
            && low(before, &link.wanted).is_none()
        {
            let line = Line::new("battery-low").with("charge", charge.to_string());
            said.push((Cue::Attention, vec![line]));
        }
    }
    said
}

fn warnings<'a>(before: &Live, after: &'a Live) -> &'a [Warning] {
    let known = before.snapshot.as_ref().map_or(0, |snapshot| snapshot.warnings.len());
    let all = after.snapshot.as_ref().map_or(&[][..], |snapshot| &snapshot.warnings);
    all.get(known..).unwrap_or_default()
}

/// True if somebody of the group that a warning is about is still open: if not, that one was pulled twice is to be
/// read, and no reason to put the tool away.
fn waits(live: &Live, warning: &Warning) -> bool {
    let group = warning.fastener.as_deref().and_then(|name| name.split('/').next());
    let open = live.snapshot.as_ref().map_or(&[][..], |snapshot| &snapshot.open);
    open.iter().any(|name| group.is_none_or(|group| name.split('/').next() == Some(group)))
}

fn warning(warning: &Warning) -> (Cue, Vec<Line>, Option<&Warning>) {
    let cue = match warning.code {
        WarningCode::HighTorque | WarningCode::OverAngle => Cue::Over,
        _ => Cue::Attention,
    };
    let name = warning.fastener.as_deref().map_or_else(String::new, spoken);
    (cue, vec![Line::new(warning.code.sentence()).with("name", name)], Some(warning))
}

/// What a pull came to, and what is next.
fn work(before: &Live, after: &Live) -> Option<(Cue, Vec<Line>)> {
    let snapshot = after.snapshot.as_ref()?;
    let old = before.snapshot.as_ref().filter(|_| before.job == after.job);
    let mut cue = Cue::Next;
    let mut lines = Vec::new();
    let pulled = news(before, after);
    if let Some((of_pull, line)) = pulled.and_then(|verdict| pull(before, verdict)) {
        cue = of_pull;
        lines.push(line);
    }
    let is_done = snapshot.open.is_empty();
    if is_done && old.is_some_and(|old| !old.open.is_empty()) {
        lines.push(Line::new(NOTHING_OPEN));
        return Some((cue.max(Cue::Accepted), lines));
    }
    let old_next = old.and_then(|old| old.next.as_ref());
    if snapshot.next.as_ref() != old_next
        && let Some((of_next, line)) = snapshot.next.as_ref().and_then(|next| {
            next_line(next, after.next_group(), before.next_group().filter(|_| old.is_some()))
        })
    {
        cue = cue.max(of_next);
        lines.push(line);
    }
    (!lines.is_empty()).then_some((cue, lines))
}

/// The verdict on a pull that was not known before.
fn news<'a>(before: &Live, after: &'a Live) -> Option<&'a Verdict> {
    let key = |verdict: &Verdict| (verdict.adapter.clone(), verdict.seq, verdict.at);
    let latest = after.latest.as_ref().filter(|verdict| !verdict.revised)?;
    (before.latest.as_ref().map(key) != Some(key(latest))).then_some(latest)
}

fn pull(before: &Live, verdict: &Verdict) -> Option<(Cue, Line)> {
    let group = before.snapshot.as_ref().and_then(|snapshot| {
        snapshot.groups.iter().find(|group| Some(&group.name) == verdict.step.as_ref())
    });
    let asked = group.and_then(|group| group.asked.as_ref());
    let reading = digits(verdict.peak.nm().abs() / asked.map_or(1.0, |asked| asked.unit_nm));
    let line = |id| Line::new(id).with("reading", reading.clone());
    match (verdict.torque, verdict.act) {
        (TorqueVerdict::In, Act::Recheck) => Some((Cue::Accepted, line("checked"))),
        (TorqueVerdict::In, _) => Some((Cue::Accepted, line("accepted"))),
        (TorqueVerdict::Low, _) => {
            let is_near = |asked: &Asked| verdict.peak.nm().abs() >= asked.target_nm * NEAR_SHARE;
            asked.is_none_or(is_near).then(|| (Cue::More, line("more")))
        }
        (TorqueVerdict::High, _) => Some((Cue::Over, line("over"))),
        (TorqueVerdict::Na, _) => None,
    }
}

fn next_line(
    next: &Next,
    group: Option<&GroupState>,
    before: Option<&GroupState>,
) -> Option<(Cue, Line)> {
    match next {
        Next::Confirm { text, .. } => {
            Some((Cue::Attention, Line::new("hold").with_english("text", text)))
        }
        Next::LookUp { group } => {
            Some((Cue::Attention, Line::new("look-up").with("name", spoken(group))))
        }
        Next::State { fastener } => {
            Some((Cue::Next, Line::new("state").with("name", spoken(fastener))))
        }
        Next::Pull { fastener, .. } => {
            let group = group?;
            let member = fastener.rsplit_once('/').map_or("", |(_, member)| member);
            let same = before.is_some_and(|before| {
                before.name == group.name && before.asked == group.asked && group.members.len() > 1
            });
            if same {
                return Some((Cue::Next, Line::new("next-member").with("member", member)));
            }
            let name = name_of(group, member);
            Some((
                Cue::Next,
                match &group.asked {
                    Some(asked) => target(asked).with("name", name),
                    None => Line::new("next-by-hand").with("name", name),
                },
            ))
        }
    }
}

fn target(asked: &Asked) -> Line {
    let id = match asked.unit {
        TorqueUnit::NewtonMetre => "next-newton-metre",
        TorqueUnit::PoundForceFoot => "next-pound-foot",
        TorqueUnit::PoundForceInch => "next-pound-inch",
        TorqueUnit::KilogramForceMetre => "next-kilogram-metre",
        TorqueUnit::KilogramForceCentimetre => "next-kilogram-centimetre",
        TorqueUnit::OunceForceInch => "next-ounce-inch",
    };
    Line::new(id).with("target", asked.target.to_string())
}

fn name_of(group: &GroupState, member: &str) -> String {
    let name = group.title.clone().unwrap_or_else(|| spoken(&group.name));
    if group.members.len() > 1 { format!("{name}, {member}") } else { name }
}

/// `front-left-wheel/3` as it is said.
fn spoken(name: &str) -> String {
    let name = name.strip_suffix("/1").unwrap_or(name);
    name.replace('-', " ").replace('/', ", ")
}

/// A figure digit by digit: `1 2 0`. One with a tenth cannot be mistaken.
fn digits(value: f64) -> String {
    if value < WHOLE_FROM {
        return format!("{value:.1}");
    }
    let digits: Vec<String> = format!("{value:.0}").chars().map(String::from).collect();
    digits.join(" ")
}

#[cfg(test)]
mod tests {
    use super::{after, digits, spoken};
    use crate::core::event::{JobId, LinkState, Warning, WarningCode};
    use crate::core::live::{AdapterState, LinkHealth, Live, PullNow, TorqueNow};
    use crate::core::plan::parse;
    use crate::core::prompt::Cue;
    use crate::core::time::Stamp;
    use crate::core::tracker::Tracker;

    /// Before, after, and what is said of it.
    type Case = (Live, Live, Option<(Cue, &'static str)>);

    fn with_link(link: LinkState) -> Live {
        let id = "LK-1".to_owned();
        let adapter = AdapterState { id: id.clone(), serial: id, link: Some(link) };
        Live { adapters: vec![adapter], ..Live::default() }
    }

    fn with_battery(charge: Option<u8>) -> Live {
        let link = LinkHealth { battery_pct: charge, ..LinkHealth::default() };
        Live { links: vec![link], ..Live::default() }
    }

    fn job(text: &str) -> Live {
        let plan = format!("plan = \"P\"\ntolerance = \"±8 %\"\nsource = \"sheet\"\n{text}");
        let tracker = Tracker::new(parse(&plan).unwrap().plan);
        Live { job: Some(JobId(1)), snapshot: Some(tracker.snapshot()), ..Live::default() }
    }

    fn pulling(live: Live) -> Live {
        let pull = Some(PullNow { peak_nm: 60.0, reached: false, over: false });
        let torque = TorqueNow { adapter: "LK-1".to_owned(), at: Stamp(0), nm: 60.0, pull };
        Live { torque: vec![torque], ..live }
    }

    #[test]
    fn what_changes_is_said_and_what_stays_is_not() {
        let (back, lost) = (with_link(LinkState::Back), with_link(LinkState::Lost));
        let full = Live { trouble: Some("disk full".to_owned()), ..Live::default() };
        let hold = "[holds]\nride-height = \"At height?\"\n[joints.pivot]\ntarget = \"178 N·m\"\nhold = \"ride-height\"\n";
        let cases: Vec<Case> = vec![
            (Live::default(), Live::default(), None),
            (back.clone(), lost.clone(), None),
            (pulling(back.clone()), lost.clone(), Some((Cue::Attention, "Stop. No reading."))),
            (lost, back.clone(), Some((Cue::Next, "Ready."))),
            (with_link(LinkState::Asleep), back.clone(), Some((Cue::Next, "Ready."))),
            (back.clone(), with_link(LinkState::Asleep), None),
            (Live::default(), back, None),
            (
                with_battery(Some(11)),
                with_battery(Some(10)),
                Some((Cue::Attention, "Adapter battery low: 10 per cent.")),
            ),
            (with_battery(Some(10)), with_battery(Some(9)), None),
            (
                Live::default(),
                full.clone(),
                Some((Cue::Attention, "Stop. Nothing is kept. Disk full?")),
            ),
            (full.clone(), full, None),
            (
                Live::default(),
                job("[joints]\ndamper-eye = \"122 N·m\"\n"),
                Some((Cue::Next, "Next: damper eye. 122 newton metres.")),
            ),
            (
                Live::default(),
                job("[joints]\nhub-nut = \"90 lbf·ft\"\n"),
                Some((Cue::Next, "Next: hub nut. 90 pound feet.")),
            ),
            (
                Live::default(),
                job(hold),
                Some((Cue::Attention, "Hold. At height? Press to confirm.")),
            ),
            (
                Live::default(),
                job("[joints]\nhub-nut = \"?\"\n"),
                Some((Cue::Attention, "Value missing: hub nut.")),
            ),
            (
                Live::default(),
                job("[joints]\nclip = \"none\"\n"),
                Some((Cue::Next, "Next: clip, without the adapter.")),
            ),
        ];
        for (before, now, expected) in cases {
            let said = after(&before, &now).map(|said| (said.cue, said.words.en));
            assert_eq!(said, expected.map(|(cue, text)| (cue, text.to_owned())));
        }
    }

    #[test]
    fn one_pulled_twice_is_heard_only_while_another_of_its_group_is_open() {
        let heard = |open: &[&str], code: WarningCode| {
            let before = job("[joints.wheel]\nring = 4\ntarget = \"120 N·m\"\n");
            let mut now = before.clone();
            let snapshot = now.snapshot.as_mut().unwrap();
            snapshot.open = open.iter().map(|name| (*name).to_owned()).collect();
            snapshot.warnings.push(Warning {
                at: Stamp(0),
                code,
                fastener: Some("wheel/1".to_owned()),
                adapter: None,
                seq: None,
                text: String::new(),
            });
            after(&before, &now).is_some_and(|said| said.cue == Cue::Attention)
        };
        assert!(heard(&["wheel/4"], WarningCode::Repeat));
        assert!(!heard(&[], WarningCode::Repeat));
        assert!(!heard(&["hub-nut"], WarningCode::Repeat));
        assert!(heard(&[], WarningCode::Skipped));
    }

    #[test]
    fn figures_are_spelled_and_names_are_said() {
        assert_eq!(digits(119.6), "1 2 0");
        assert_eq!(digits(9.54), "9.5");
        assert_eq!(spoken("front-left-wheel/3"), "front left wheel, 3");
        assert_eq!(spoken("hub-nut/1"), "hub nut");
    }
}

//! Jobs put together fact by fact.

use clampbook::core::event::{
    Act, AdapterInfo, Basis, Ending, Entry, Event, Gap, JobId, LinkChange, LinkState, Mark, Origin,
    PersonalField, Reading, ReadingKey, Reports, Say, Summary, TorqueVerdict, Verdict, Warning,
    WarningCode,
};
use clampbook::core::plan::{
    Around, Cure, Expect, Hold, Identity, Pass, Pattern, Plan, Rules, Step, StepIndex, Window,
};
use clampbook::core::signal::Description;
use clampbook::core::time::Stamp;
use clampbook::core::units::{StatedTorque, Torque, TorqueUnit};
use clampbook::report::{Report, ReportContext};
use jiff::tz::{Offset, TimeZone};
use std::collections::BTreeMap;

/// 2031-03-14 17:00:00 UTC.
pub(super) const START: i64 = 1_931_274_000_000_000;
pub(super) const JOB: JobId = JobId(7);

/// A job put together fact by fact.
pub(super) struct Job {
    pub(super) plan: Plan,
    pub(super) entries: Vec<Entry>,
    pub(super) endings: BTreeMap<String, Ending>,
    pub(super) probability: BTreeMap<String, f64>,
    pub(super) confirmed: Vec<String>,
    pub(super) seq: u64,
}

impl Job {
    /// A job on `steps`, one second a fact from 17:00 UTC on.
    pub(super) fn on(name: &str, holds: Vec<Hold>, steps: Vec<Step>) -> Self {
        let plan = Plan {
            name: name.to_owned(),
            in_order: true,
            holds,
            steps,
            around: Around::default(),
            already_tight: false,
        };
        let endings = plan.fasteners().map(|id| (plan.fastener_name(id), Ending::Open)).collect();
        let started = Event::JobStarted {
            plan: plan.clone(),
            plan_hash: "5e".repeat(32),
            uuid: "0197a6f0-0000-7000-8000-000000000007".to_owned(),
        };
        let job = Self {
            plan,
            entries: Vec::new(),
            endings,
            probability: BTreeMap::new(),
            confirmed: Vec::new(),
            seq: 0,
        };
        job.fact(started)
    }

    pub(super) fn now(&self) -> Stamp {
        Stamp(START + self.entries.len() as i64 * 1_000_000)
    }

    pub(super) fn fact(self, event: Event) -> Self {
        self.kept(Some(JOB), event, Vec::new())
    }

    pub(super) fn kept(
        mut self,
        job: Option<JobId>,
        event: Event,
        personal: Vec<(PersonalField, Option<String>)>,
    ) -> Self {
        let number = self.entries.len() as u64 + 1;
        self.entries.push(Entry {
            number,
            at: self.now(),
            job,
            event,
            personal,
            raw: None,
            hash: [number as u8; 32],
        });
        self
    }

    pub(super) fn personal(mut self, field: PersonalField, text: Option<&str>) -> Self {
        let entry = self.entries.last_mut().unwrap();
        entry.personal.push((field, text.map(str::to_owned)));
        self
    }

    pub(super) fn adapter(self, id: &str, reports: Reports) -> Self {
        self.fact(Event::Adapter(AdapterInfo {
            overdue_since: None,
            certificate: None,
            id: id.to_owned(),
            serial: format!("SY-{id}"),
            drive: Some("1/2\"".to_owned()),
            range: Some((Torque::from_nm(40.0), Torque::from_nm(280.0))),
            accuracy_pct: Some(1.5),
            reports,
        }))
    }

    pub(super) fn reading(mut self, adapter: &str, peak: f64) -> Self {
        self.seq += 1;
        let (at, seq) = (self.now(), self.seq);
        self.fact(Event::Reading {
            key: ReadingKey::Numbered {
                serial: format!("SY-{adapter}"),
                epoch: 3,
                sequence: seq as u32,
            },
            at,
            at_error_us: Some(20_000),
            reading: Reading {
                adapter: adapter.to_owned(),
                seq,
                peak: Torque::from_nm(peak),
                rotation_deg: None,
                duration_ms: Some(640.0),
                description: None,
            },
        })
    }

    /// The last reading had this trace.
    pub(super) fn described(mut self, description: Description) -> Self {
        if let Some(Event::Reading { reading, .. }) =
            self.entries.last_mut().map(|entry| &mut entry.event)
        {
            reading.description = Some(Box::new(description));
        }
        self
    }

    /// The verdict on the last reading.
    pub(super) fn verdict(
        self,
        on: (&str, u32),
        torque: TorqueVerdict,
        act: Act,
        revised: bool,
    ) -> Self {
        let last = self.entries.iter().rev().find_map(|entry| match &entry.event {
            Event::Reading { at, reading, .. } => Some((*at, reading.clone())),
            _ => None,
        });
        let (at, reading) = last.unwrap();
        let (fastener, pass) = on;
        let group = fastener.rsplit_once('/').map(|(group, _)| group.to_owned());
        self.fact(Event::Verdict(Verdict {
            at,
            adapter: reading.adapter,
            seq: reading.seq,
            step: group.clone(),
            pass: group.as_ref().map(|_| pass),
            fastener: group.map(|_| fastener.to_owned()),
            confidence: if revised { 0.97 } else { 0.9 },
            basis: match revised {
                true => vec![Basis::Mark],
                false => vec![Basis::PlanOrder, Basis::Torque],
            },
            peak: reading.peak,
            interval: Some((
                Torque::from_nm(reading.peak.nm() * 0.98),
                Torque::from_nm(reading.peak.nm() * 1.02),
            )),
            torque,
            act,
            revised,
            surer: false,
        }))
    }

    pub(super) fn good(self, adapter: &str, fastener: &str, pass: u32, peak: f64) -> Self {
        self.reading(adapter, peak).verdict(
            (fastener, pass),
            TorqueVerdict::In,
            Act::Tighten,
            false,
        )
    }

    pub(super) fn warn(self, code: WarningCode, fastener: &str, text: &str) -> Self {
        let (at, seq) = (self.now(), self.seq);
        self.fact(Event::Warning(Warning {
            at,
            code,
            fastener: Some(fastener.to_owned()),
            adapter: Some("large".to_owned()),
            seq: Some(seq),
            text: text.to_owned(),
        }))
    }

    pub(super) fn say(self, say: Say) -> Self {
        self.fact(Event::Mark(Mark { say, origin: Origin::Page }))
    }

    pub(super) fn confirm(mut self, hold: &str) -> Self {
        self.confirmed.push(hold.to_owned());
        self.say(Say::Confirm { hold: hold.to_owned(), because: None })
    }

    pub(super) fn ends(mut self, ending: Ending, fasteners: &[&str]) -> Self {
        for fastener in fasteners {
            self.endings.insert((*fastener).to_owned(), ending);
        }
        self
    }

    pub(super) fn surely(mut self, probability: f64, fasteners: &[&str]) -> Self {
        for fastener in fasteners {
            self.probability.insert((*fastener).to_owned(), probability);
        }
        self
    }

    pub(super) fn summary(&self) -> Summary {
        let open = |name: &String| self.endings[name] == Ending::Open;
        let names = self.plan.fasteners().map(|id| self.plan.fastener_name(id));
        let open: Vec<String> = names.filter(open).collect();
        let holds = self.plan.holds.iter().map(|hold| {
            let confirmed = self.confirmed.contains(&hold.name);
            (hold.name.clone(), confirmed)
        });
        Summary {
            complete: open.is_empty(),
            identified: self.endings.values().all(|ending| *ending != Ending::Counted),
            fasteners: self.endings.clone(),
            probability: self.probability.clone(),
            open,
            holds: holds.collect(),
            verdicts: 0,
            warnings: BTreeMap::new(),
        }
    }

    pub(super) fn close(self, reason: Option<&str>) -> Self {
        let summary = self.summary();
        self.fact(Event::JobClosed { open_reason: reason.map(str::to_owned), summary })
    }

    pub(super) fn report(&self) -> Report {
        Report::build(&self.entries, &self.plan, &self.summary(), &context(JOB)).unwrap()
    }
}

pub(super) fn context(job: JobId) -> ReportContext {
    ReportContext {
        printed_at: Stamp(START + 3_600_000_000),
        time_zone: TimeZone::fixed(Offset::constant(1)),
        software_version: "0.1.0".to_owned(),
        chain_head: (41, [0xab; 32]),
        job,
    }
}

pub(super) fn window(value: f64, unit: TorqueUnit, share: f64) -> Expect {
    let limit = |share: f64| {
        let value = (value * (1.0 + share) * 1e9).round() / 1e9;
        StatedTorque { value, unit }.torque()
    };
    Expect::Window(Window {
        stated: StatedTorque { value, unit },
        target: limit(0.0),
        low: limit(-share),
        high: Some(limit(share)),
    })
}

pub(super) fn pass(name: &str, expect: Expect, order: &[u16]) -> Pass {
    Pass {
        name: name.to_owned(),
        expect,
        order: order.to_vec(),
        ordered: order.len() > 1,
        check: false,
        turn: None,
        holds: Vec::new(),
    }
}

pub(super) fn step(group: &str, pattern: Pattern, passes: Vec<Pass>) -> Step {
    Step {
        group: group.to_owned(),
        title: None,
        pattern,
        members: passes[0].order.len() as u16,
        pitch_circle_mm: None,
        passes,
        holds: Vec::new(),
        after: Vec::new(),
        life_critical: false,
        identity: Identity::Counted,
        turned_to_reach: false,
        no_recheck: false,
        left_hand: false,
        source: Some("shop sheet 4".to_owned()),
        socket: None,
        thread: None,
        condition: None,
        notes: Vec::new(),
        rules: Rules::default(),
    }
}

/// A ring of five in two passes with one nut never pulled to the end and one taken for another first, a
/// slide pin low and put right, an arm pivot behind a hold that nobody confirmed.
pub(super) fn wheel_and_pin() -> Job {
    let hold = |name: &str, text: &str| Hold {
        name: name.to_owned(),
        text: text.to_owned(),
        cure: Cure::Slacken,
    };
    let star = [1, 3, 5, 2, 4];
    let pin = step(
        "slide-pin",
        Pattern::Single,
        vec![pass("final", window(26.0, TorqueUnit::NewtonMetre, 0.1), &[1])],
    );
    let pivot = Step {
        title: Some("Trailing-arm pivot".to_owned()),
        holds: vec![1],
        after: vec![StepIndex(0)],
        life_critical: true,
        thread: Some("M16×1.5, 10.9".to_owned()),
        notes: vec!["new prevailing nut".to_owned()],
        ..step(
            "arm-pivot",
            Pattern::Single,
            vec![pass("final", window(178.0, TorqueUnit::NewtonMetre, 0.06), &[1])],
        )
    };
    let mut wheel = Step {
        title: Some("Rear-left wheel".to_owned()),
        pitch_circle_mm: Some(130.0),
        life_critical: true,
        socket: Some("22".to_owned()),
        condition: Some("clean, dry".to_owned()),
        ..step(
            "wheel",
            Pattern::Ring,
            vec![
                pass("snug", Expect::ByHand, &star),
                pass("final", window(122.0, TorqueUnit::PoundForceFoot, 0.1), &star),
            ],
        )
    };
    wheel.passes[1].holds = vec![0];
    let holds = vec![
        hold("tyre-touching", "Tyre just touching the ground, wheels chocked?"),
        hold("ride-height", "Hub to arch 512 ± 5 mm, supported under the knuckle?"),
    ];
    let peak_only = Reports { peak: true, ..Reports::default() };
    Job::on("Orvane Dray 3, rear left", holds, vec![pin, pivot, wheel])
        .personal(PersonalField::Vehicle, Some("Orvane Dray 3, 2024"))
        .personal(PersonalField::Vin, None)
        .adapter("small", peak_only)
        .adapter("large", peak_only)
        .reading("small", 21.03)
        .verdict(("slide-pin/1", 1), TorqueVerdict::Low, Act::Tighten, false)
        .warn(WarningCode::LowTorque, "slide-pin/1", "Slide pin was left at 21.0 N·m.")
        .good("small", "slide-pin/1", 1, 26.2)
        .ends(Ending::Shown, &["slide-pin/1"])
        .confirm("tyre-touching")
        .good("large", "wheel/1", 2, 164.9)
        .good("large", "wheel/3", 2, 166.0)
        .good("large", "wheel/5", 2, 163.4)
        .verdict(("wheel/2", 2), TorqueVerdict::In, Act::Tighten, true)
        .fact(Event::Link(LinkChange { adapter: "large".to_owned(), state: LinkState::Lost }))
        .fact(Event::Gap(Gap { adapter: "large".to_owned(), epoch: Some(3), first: 6, last: 7 }))
        .fact(Event::Link(LinkChange { adapter: "large".to_owned(), state: LinkState::Back }))
        .say(Say::Stated { fastener: "wheel/4".to_owned() })
        .reading("large", 88.4)
        .verdict(("-", 0), TorqueVerdict::Na, Act::Trial, false)
        .say(Say::Note { text: String::new() })
        .personal(PersonalField::Note, Some("New slide-pin bolts"))
        .ends(Ending::Counted, &["wheel/1", "wheel/2", "wheel/3"])
        .ends(Ending::Stated, &["wheel/4"])
        .surely(0.998, &["slide-pin/1"])
        .surely(0.934, &["wheel/1", "wheel/2", "wheel/3"])
        .surely(0.06, &["wheel/4", "wheel/5"])
        .warn(WarningCode::Skipped, "wheel/5", "Wheel nut 5 was not pulled.")
        .close(Some("nut ordered"))
}

/// Two hundred fasteners in four rings, each pulled twice and warned of.
pub(super) fn flanges() -> Job {
    let order: Vec<u16> = (1..=50).collect();
    let steps = (0..4).map(|place| {
        let passes = [40.0, 80.0]
            .map(|target| pass("round", window(target, TorqueUnit::NewtonMetre, 0.1), &order));
        step(&format!("flange-{place}"), Pattern::Ring, passes.to_vec())
    });
    let mut job =
        Job::on("Flanges", Vec::new(), steps.collect()).adapter("large", Reports::default());
    let endings = [Ending::Shown, Ending::Counted, Ending::Stated, Ending::Open];
    let names: Vec<String> = job.endings.keys().cloned().collect();
    for (name, ending) in names.iter().zip(endings.into_iter().cycle()) {
        job = job.good("large", name, 1, 40.0).good("large", name, 2, 80.0);
        job = job.warn(WarningCode::Order, name, "out of order");
        job = job.ends(ending, &[name]).surely(0.93, &[name]);
    }
    job
}

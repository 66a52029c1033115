//! Whatever can be an event comes back as it was.

use super::{Rig, assert_sound};
use clampbook::core::certificate::{Certificate, Direction, Point};
use clampbook::core::event::{
    Act, AdapterInfo, Basis, Draft, Ending, Event, Gap, JobId, LinkChange, LinkState, Mark, Origin,
    PersonalField, Reading, ReadingKey, Reports, Say, Summary, TorqueVerdict, Verdict, Warning,
    WarningCode,
};
use clampbook::core::plan::{
    Around, Cure, Expect, Hold, Identity, Pass, Pattern, Plan, Rules, Step, StepIndex, Window,
};
use clampbook::core::recheck::Due;
use clampbook::core::time::Stamp;
use clampbook::core::units::{StatedTorque, Torque, TorqueUnit};
use proptest::collection::{btree_map, vec};
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::select;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn an_event_comes_back_as_it_was(drafts in vec(draft(), 1..20)) {
        let rig = Rig::new();
        let mut journal = rig.open();
        let appended = journal.append(drafts.clone()).unwrap();
        let skipped: Vec<usize> = appended.duplicates.iter().map(|it| it.draft).collect();
        let kept = drafts.into_iter().enumerate().filter(|(index, _)| !skipped.contains(index));
        let read = journal.reader().entries_after(0, u32::MAX).unwrap();
        let mut count = 0;
        for ((_, draft), entry) in kept.zip(&read) {
            let entry = entry.clone().unwrap();
            let personal = draft.personal.into_iter().map(|(field, text)| (field, Some(text)));
            prop_assert_eq!(entry.at, draft.at);
            prop_assert_eq!(entry.job, draft.job);
            prop_assert_eq!(entry.event, draft.event);
            prop_assert_eq!(entry.personal, personal.collect::<Vec<_>>());
            prop_assert_eq!(entry.raw, draft.raw);
            count += 1;
        }
        prop_assert_eq!(count, read.len());
        prop_assert_eq!(count, appended.entries.len());
        assert_sound(journal.reader());
    }
}

fn draft() -> impl Strategy<Value = Draft> {
    let personal = vec((field(), text()), 0..3);
    (any::<i64>(), of(1..5_u32), event(), personal, of(any::<Vec<u8>>())).prop_map(
        |(at, job, event, personal, raw)| Draft {
            at: Stamp(at),
            job: job.map(JobId),
            event,
            personal,
            raw,
        },
    )
}

fn event() -> impl Strategy<Value = Event> {
    prop_oneof![
        (plan(), text(), text()).prop_map(|(plan, plan_hash, uuid)| Event::JobStarted {
            plan,
            plan_hash,
            uuid
        }),
        adapter().prop_map(Event::Adapter),
        (key(), any::<i64>(), of(any::<u32>()), reading()).prop_map(
            |(key, at, at_error_us, reading)| Event::Reading {
                key,
                at: Stamp(at),
                at_error_us,
                reading
            }
        ),
        (any::<u64>(), key(), any::<i64>(), of(any::<u32>()), reading()).prop_map(
            |(entry, key, at, at_error_us, reading)| Event::Claimed {
                entry,
                key,
                at: Stamp(at),
                at_error_us,
                reading
            }
        ),
        vec(text(), 0..3).prop_map(|open| Event::JobParked { open }),
        (vec(field(), 0..3), any::<u64>())
            .prop_map(|(fields, texts)| Event::Erased { fields, texts }),
        (any::<u64>(), field()).prop_map(|(entry, field)| Event::Corrected { entry, field }),
        certificate().prop_map(|certificate| Event::Certificate(Box::new(certificate))),
        (any::<u32>(), text()).prop_map(|(job, uuid)| Event::RecheckOf { job: JobId(job), uuid }),
        vec((text(), of(finite()), [of(any::<i64>()), of(any::<i64>())], any::<bool>()), 0..3)
            .prop_map(|due| {
                let due = due.into_iter().map(|(group, km, [by, reminder], in_plan)| Due {
                    group,
                    km,
                    by: by.map(Stamp),
                    reminder: reminder.map(Stamp),
                    in_plan,
                });
                Event::RecheckDue { due: due.collect() }
            }),
        Just(Event::JobResumed),
        (say(), origin()).prop_map(|(say, origin)| Event::Mark(Mark { say, origin })),
        (text(), link_state())
            .prop_map(|(adapter, state)| Event::Link(LinkChange { adapter, state })),
        (text(), of(any::<u32>()), any::<u64>(), any::<u64>()).prop_map(
            |(adapter, epoch, first, last)| Event::Gap(Gap { adapter, epoch, first, last })
        ),
        verdict().prop_map(Event::Verdict),
        warning().prop_map(Event::Warning),
        (of(text()), summary())
            .prop_map(|(open_reason, summary)| Event::JobClosed { open_reason, summary }),
    ]
}

/// Any text: quotes, line ends, NUL and characters beyond the first plane included.
fn text() -> impl Strategy<Value = String> {
    prop_oneof!["[a-z-]{1,8}/[1-9]", ".*", "[\u{0}-\u{1f}\"\\\\]{0,6}"]
}

fn finite() -> impl Strategy<Value = f64> {
    use proptest::num::f64::{NEGATIVE, NORMAL, POSITIVE, SUBNORMAL, ZERO};
    prop_oneof![POSITIVE | NEGATIVE | NORMAL | SUBNORMAL | ZERO, -500.0..500.0]
}

fn torque() -> impl Strategy<Value = Torque> {
    finite().prop_map(Torque::from_nm)
}

fn field() -> impl Strategy<Value = PersonalField> {
    select(vec![
        PersonalField::PlanText,
        PersonalField::Vehicle,
        PersonalField::Vin,
        PersonalField::Plate,
        PersonalField::Operator,
        PersonalField::Note,
    ])
}

fn key() -> impl Strategy<Value = ReadingKey> {
    prop_oneof![
        (text(), any::<u32>(), any::<u32>()).prop_map(|(serial, epoch, sequence)| {
            ReadingKey::Numbered { serial, epoch, sequence }
        }),
        any::<u32>().prop_map(|number| ReadingKey::Typed { number }),
        (text(), any::<i64>(), any::<u32>()).prop_map(|(serial, connection, arrival)| {
            ReadingKey::Arrival { serial, connection, arrival }
        }),
    ]
}

fn reading() -> impl Strategy<Value = Reading> {
    (text(), any::<u64>(), torque(), of(finite()), of(finite())).prop_map(
        |(adapter, seq, peak, rotation_deg, duration_ms)| Reading {
            adapter,
            seq,
            peak,
            rotation_deg,
            duration_ms,
            description: None,
        },
    )
}

fn adapter() -> impl Strategy<Value = AdapterInfo> {
    let reports = any::<[bool; 6]>().prop_map(|[peak, rotation, trace, motion, button, typed]| {
        Reports { peak, rotation, trace, motion, button, typed }
    });
    (text(), text(), of(text()), of((torque(), torque())), of(finite()), reports).prop_map(
        |(id, serial, drive, range, accuracy_pct, reports)| AdapterInfo {
            overdue_since: None,
            certificate: None,
            id,
            serial,
            drive,
            range,
            accuracy_pct,
            reports,
        },
    )
}

fn say() -> impl Strategy<Value = Say> {
    prop_oneof![
        text().prop_map(|fastener| Say::At { fastener }),
        (text(), proptest::option::of(text()))
            .prop_map(|(hold, because)| Say::Confirm { hold, because }),
        text().prop_map(|fastener| Say::Stated { fastener }),
        text().prop_map(|fastener| Say::Opened { fastener }),
        text().prop_map(|fastener| Say::Spoiled { fastener }),
        text().prop_map(|name| Say::AlsoOpened { name }),
        (text(), text()).prop_map(|(of, value)| Say::Figure { of, value }),
        text().prop_map(|fastener| Say::Low { fastener }),
        (text(), text()).prop_map(|(fastener, reason)| Say::Skip { fastener, reason }),
        Just(Say::Retract),
        text().prop_map(|text| Say::Note { text }),
    ]
}

fn origin() -> impl Strategy<Value = Origin> {
    select(vec![
        Origin::CommandLine,
        Origin::Page,
        Origin::Button,
        Origin::Recording,
        Origin::Typed,
        Origin::Pedal,
    ])
}

fn certificate() -> impl Strategy<Value = Certificate> {
    let date = (1990..2090_i16, 1..=12_i8, 1..=28_i8)
        .prop_map(|(year, month, day)| jiff::civil::date(year, month, day));
    let point = (finite(), finite(), finite()).prop_map(|(torque_nm, error_nm, uncertainty_nm)| {
        Point { torque_nm, error_nm, uncertainty_nm }
    });
    let direction = select(vec![Direction::Clockwise, Direction::CounterClockwise]);
    let texts = (text(), text(), text(), text());
    let rest = ((finite(), finite()), vec(direction, 0..3), vec(point, 0..3));
    (texts, (date.clone(), date), rest).prop_map(
        |((serial, number, method, laboratory), (date, due), (range, directions, points))| {
            Certificate {
                serial,
                number,
                method,
                laboratory,
                date,
                due,
                range_nm: [range.0, range.1],
                directions,
                resolution_nm: None,
                points,
            }
        },
    )
}

fn link_state() -> impl Strategy<Value = LinkState> {
    select(vec![LinkState::Lost, LinkState::Back, LinkState::Asleep])
}

fn verdict() -> impl Strategy<Value = Verdict> {
    let basis = select(vec![
        Basis::PlanOrder,
        Basis::Mark,
        Basis::Motion,
        Basis::Rotation,
        Basis::Trace,
        Basis::Torque,
        Basis::Time,
    ]);
    let torque_verdict =
        select(vec![TorqueVerdict::In, TorqueVerdict::Low, TorqueVerdict::High, TorqueVerdict::Na]);
    let act = select(vec![Act::Tighten, Act::Recheck, Act::Loosen, Act::Trial]);
    let place = (of(text()), of(any::<u32>()), of(text()), finite());
    (any::<i64>(), reading(), place, vec(basis, 0..4), torque_verdict, act, any::<bool>()).prop_map(
        |(at, reading, (step, pass, fastener, confidence), basis, torque, act, revised)| Verdict {
            at: Stamp(at),
            adapter: reading.adapter,
            seq: reading.seq,
            step,
            pass,
            fastener,
            confidence,
            basis,
            peak: reading.peak,
            interval: reading.rotation_deg.map(|_| (reading.peak, reading.peak)),
            torque,
            act,
            revised,
            surer: revised && confidence > 0.5,
        },
    )
}

fn code() -> impl Strategy<Value = WarningCode> {
    select(vec![
        WarningCode::LowTorque,
        WarningCode::HighTorque,
        WarningCode::HoldOpen,
        WarningCode::UnitMixUp,
        WarningCode::Gap,
        WarningCode::UnknownName,
    ])
}

fn warning() -> impl Strategy<Value = Warning> {
    (any::<i64>(), code(), of(text()), of(text()), of(any::<u64>()), text()).prop_map(
        |(at, code, fastener, adapter, seq, text)| Warning {
            at: Stamp(at),
            code,
            fastener,
            adapter,
            seq,
            text,
        },
    )
}

fn summary() -> impl Strategy<Value = Summary> {
    let ending = select(vec![Ending::Shown, Ending::Counted, Ending::Stated, Ending::Open]);
    (
        any::<(bool, bool)>(),
        btree_map(text(), (ending, 0.0..=1.0), 0..4),
        vec(text(), 0..3),
        btree_map(text(), any::<bool>(), 0..3),
        any::<u64>(),
        btree_map(code(), any::<u64>(), 0..4),
    )
        .prop_map(|((complete, identified), ends, open, holds, verdicts, warnings)| {
            let probability = ends.iter().map(|(name, (_, sure))| (name.clone(), *sure)).collect();
            let fasteners = ends.into_iter().map(|(name, (ending, _))| (name, ending)).collect();
            Summary {
                complete,
                identified,
                fasteners,
                probability,
                open,
                holds,
                verdicts,
                warnings,
            }
        })
}

fn plan() -> impl Strategy<Value = Plan> {
    let cure = select(vec![Cure::Slacken, Cure::PullAgain]);
    let hold = (text(), text(), cure).prop_map(|(name, text, cure)| Hold { name, text, cure });
    (text(), any::<(bool, bool)>(), vec(hold, 1..3), vec(step(), 1..3)).prop_map(
        |(name, (in_order, already_tight), holds, mut steps)| {
            for (index, step) in steps.iter_mut().enumerate() {
                step.group = format!("{} {index}", step.group);
                step.after = (0..index).map(StepIndex).collect();
            }
            Plan { name, in_order, holds, steps, around: Around::default(), already_tight }
        },
    )
}

fn step() -> impl Strategy<Value = Step> {
    let pattern = select(vec![Pattern::Single, Pattern::Ring, Pattern::Line]);
    let identity = select(vec![Identity::Counted, Identity::Shown]);
    let circle = of(1.0..1e4);
    let shape = (1..12_u16).prop_flat_map(move |members| {
        (text(), pattern.clone(), Just(members), circle.clone(), vec(pass(members), 1..3))
    });
    let words = (of(text()), of(text()), of(text()), vec(text(), 0..3));
    (shape, words, identity, any::<[bool; 4]>()).prop_map(
        |(
            (group, pattern, members, pitch_circle_mm, passes),
            (title, source, socket, notes),
            identity,
            [life_critical, turned_to_reach, no_recheck, left_hand],
        )| Step {
            group,
            title,
            pattern,
            members,
            pitch_circle_mm,
            passes,
            holds: vec![0],
            after: Vec::new(),
            life_critical,
            identity,
            turned_to_reach,
            no_recheck,
            left_hand,
            source: source.clone(),
            socket,
            thread: None,
            condition: source,
            notes,
            rules: Rules::default(),
        },
    )
}

fn pass(members: u16) -> impl Strategy<Value = Pass> {
    let stated = (finite(), select(TorqueUnit::ALL.to_vec()))
        .prop_map(|(value, unit)| StatedTorque { value, unit });
    let window = (stated, 1e-3..1e4, 1.0..2.0, of(1.0..2.0)).prop_map(
        |(stated, low, above, high): (_, f64, f64, Option<f64>)| {
            let nm = Torque::from_nm;
            let high = high.map(|more| nm(low * above * more));
            Window { stated, target: nm(low * above), low: nm(low), high }
        },
    );
    let expect = prop_oneof![
        window.prop_map(Expect::Window),
        Just(Expect::ByHand),
        Just(Expect::NoFigure),
        Just(Expect::ToBeLookedUp),
    ];
    let order = Just((1..=members).collect::<Vec<u16>>()).prop_shuffle();
    (text(), expect, order, any::<(bool, bool)>()).prop_map(
        |(name, expect, order, (ordered, check))| Pass {
            name,
            expect,
            order,
            ordered,
            check,
            turn: None,
            holds: Vec::new(),
        },
    )
}

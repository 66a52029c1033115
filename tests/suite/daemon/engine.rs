//! What the engine keeps and what it refuses.

use super::{PLAN, adapter, answer, at, engine, kinds, pull, say, start};
use crate::rig::Rig;
use clampbook::core::command::{Command, Done, Refusal, StartJob};
use clampbook::core::event::{
    Conclusion, Event, JobId, LinkChange, LinkState, Origin, PersonalField, Say, WarningCode,
};
use clampbook::core::guide::Cue;
use clampbook::core::press::Press;
use clampbook::core::rebuild::rebuild;
use clampbook::core::snapshot::Next;
use clampbook::daemon::engine::Engine;
use clampbook::daemon::wake::{Heard, Outcome, Wake};
use clampbook::journal::Reader;

#[test]
fn a_reading_and_what_is_concluded_of_it_are_kept_before_they_are_told() {
    let rig = Rig::new();
    let path = rig.path("journal.sqlite");
    let mut engine = engine(&path);
    assert_eq!(answer(engine.handle(start())), Ok(Done::Started { job: JobId(1) }));
    engine.handle(adapter());
    let outcomes = engine.handle(pull(1, 10.0, 122.0));
    assert!(matches!(outcomes[0], Outcome::Kept), "{outcomes:?}");
    assert!(outcomes.iter().any(|outcome| matches!(outcome, Outcome::Concluded(_))));
    assert_eq!(kinds(&path, 1), ["job-started", "adapter", "reading", "verdict"]);
}

#[test]
fn a_reading_delivered_again_is_acknowledged_and_kept_once() {
    let rig = Rig::new();
    let path = rig.path("journal.sqlite");
    let mut engine = engine(&path);
    engine.handle(start());
    engine.handle(pull(1, 10.0, 122.0));
    let before = kinds(&path, 1);
    let again = engine.handle(pull(1, 10.0, 122.0));
    assert!(matches!(again[..], [Outcome::Kept, Outcome::Again(_)]), "{again:?}");
    assert_eq!(kinds(&path, 1), before);
}

#[test]
fn the_state_after_a_restart_is_the_state_before_it() {
    let rig = Rig::new();
    let path = rig.path("journal.sqlite");
    let mut running = engine(&path);
    let script = [
        start(),
        adapter(),
        say(5.0, Say::At { fastener: "damper-eye".into() }),
        pull(1, 10.0, 122.0),
        pull(3, 30.0, 140.0),
        pull(2, 20.0, 90.0),
        say(40.0, Say::Note { text: "seized".into() }),
        say(50.0, Say::Skip { fastener: "arm-pivot".into(), reason: "no nut".into() }),
        say(51.0, Say::Retract),
    ];
    for wake in script {
        running.handle(wake);
        let before = running.live();
        drop(running);
        running = engine(&path);
        let after = running.live();
        assert_eq!(after.job, before.job);
        assert_eq!(after.snapshot, before.snapshot);
    }
    let entries: Vec<_> = Reader::open(&path)
        .unwrap()
        .entries_of_job(JobId(1))
        .unwrap()
        .into_iter()
        .map(Result::unwrap)
        .collect();
    assert_eq!(rebuild(&entries).unwrap().snapshot(), running.live().snapshot.unwrap());
}

#[test]
fn what_people_write_freely_lies_beside_the_chain() {
    let rig = Rig::new();
    let path = rig.path("journal.sqlite");
    let mut engine = engine(&path);
    engine.handle(start());
    engine.handle(say(1.0, Say::Note { text: "Ida helped".into() }));
    engine.handle(say(
        2.0,
        Say::Skip { fastener: "arm-pivot".into(), reason: "Ida has the nut".into() },
    ));
    let close = Command::Close { open_reason: Some("Ida went home".into()) };
    assert!(matches!(
        answer(engine.handle(Wake::Asked(at(3.0), close, None))),
        Ok(Done::Closed { job: JobId(1), .. })
    ));
    let entries = Reader::open(&path).unwrap().entries_of_job(JobId(1)).unwrap();
    let mut texts = Vec::new();
    for entry in entries {
        let entry = entry.unwrap();
        let event = serde_json::to_string(&entry.event).unwrap();
        assert!(!event.contains("Ida") && !event.contains("Orvane"), "{event}");
        texts.extend(entry.personal);
    }
    assert_eq!(
        texts,
        [
            (PersonalField::PlanText, Some(PLAN.to_owned())),
            (PersonalField::Vehicle, Some("Orvane Dray 3".to_owned())),
            (PersonalField::Note, Some("Ida helped".to_owned())),
            (PersonalField::Note, Some("Ida has the nut".to_owned())),
            (PersonalField::Note, Some("Ida went home".to_owned())),
        ]
    );
}

#[test]
fn a_reading_with_no_job_is_kept_loose() {
    let rig = Rig::new();
    let path = rig.path("journal.sqlite");
    let mut engine = engine(&path);
    let outcomes = engine.handle(pull(1, 10.0, 122.0));
    assert!(matches!(outcomes[..], [Outcome::Kept, Outcome::Loose(_)]), "{outcomes:?}");
    let loose = Reader::open(&path).unwrap().loose_readings().unwrap();
    assert_eq!(loose.len(), 1);
    assert!(matches!(loose[0].as_ref().unwrap().event, Event::Reading { .. }));
    assert_eq!(engine.live().loose, 1);
}

#[test]
fn commands_that_make_no_sense_are_refused_and_change_nothing() {
    let rig = Rig::new();
    let path = rig.path("journal.sqlite");
    let mut engine = engine(&path);
    let close = |open_reason| Wake::Asked(at(9.0), Command::Close { open_reason }, None);
    assert_eq!(answer(engine.handle(say(1.0, Say::Retract))), Err(Refusal::NoJob));
    assert_eq!(answer(engine.handle(close(None))), Err(Refusal::NoJob));
    engine.handle(start());
    let before = (kinds(&path, 1), engine.live().snapshot);
    assert_eq!(answer(engine.handle(start())), Err(Refusal::JobUnderWay(JobId(1))));
    assert_eq!(
        answer(engine.handle(say(1.0, Say::At { fastener: "damper-eyes/1".into() }))),
        Err(Refusal::UnknownName {
            kind: "a fastener",
            name: "damper-eyes/1".into(),
            nearest: vec!["damper-eye/1".into(), "arm-pivot/1".into()],
        })
    );
    assert_eq!(
        answer(engine.handle(close(None))),
        Err(Refusal::StillOpen { open: vec!["damper-eye/1".into(), "arm-pivot/1".into()] })
    );
    assert_eq!((kinds(&path, 1), engine.live().snapshot), before);
}

#[test]
fn a_second_engine_on_the_same_journal_is_refused() {
    let rig = Rig::new();
    let path = rig.path("journal.sqlite");
    let first = engine(&path);
    let refused = Engine::open(&path).unwrap_err().to_string();
    assert!(refused.contains("only writer"), "{refused}");
    drop(first);
    engine(&path);
}

const HELD: &str = r#"plan = "Held"
tolerance = "±8 %"
source = "my sheet"
in-order = true
[holds]
chocked = "Chocked?"
[joints]
arm-pivot = { target = "178 N·m", hold = "chocked" }
damper-eye = "122 N·m"
"#;

fn start_held() -> Wake {
    let start = StartJob::new(HELD.to_owned(), [7; 16]).unwrap();
    Wake::Asked(at(0.0), Command::Start(Box::new(start)), None)
}

fn press(seconds: f64, press: Press) -> Wake {
    Wake::Heard(at(seconds), Heard::Press(press))
}

/// Without that it is kept, and what was concluded.
fn told(outcomes: Vec<Outcome>) -> Vec<Outcome> {
    let is_plain = |outcome: &Outcome| {
        matches!(outcome, Outcome::Kept | Outcome::Concluded(_) | Outcome::WakeAt(_))
    };
    outcomes.into_iter().filter(|outcome| !is_plain(outcome)).collect()
}

#[test]
fn a_press_of_the_button_confirms_what_is_asked_takes_back_and_asks_and_nothing_else() {
    let rig = Rig::new();
    let path = rig.path("journal.sqlite");
    let mut engine = engine(&path);
    let without = told(engine.handle(press(0.0, Press::Short)));
    assert!(matches!(&without[..], [Outcome::Trouble(text)] if text.contains("no job")));
    engine.handle(start_held());
    let confirm = Say::Confirm { hold: "chocked".into(), because: None };
    let next = || {
        Some(Next::Pull {
            fastener: "arm-pivot/1".into(),
            pass: 1,
            passes: 1,
            target: "178 N·m (163.8–192.2 N·m)".into(),
        })
    };
    let cases = [
        (press(1.0, Press::Short), vec![Outcome::Marked(at(1.0), confirm.clone())]),
        (press(2.0, Press::Short), vec![Outcome::NothingAsked(at(2.0))]),
        // It is said once, until something else happens.
        (press(3.0, Press::Short), vec![]),
        (press(4.0, Press::Long), vec![Outcome::Help(at(4.0), next())]),
        (press(5.0, Press::Double), vec![Outcome::Marked(at(5.0), Say::Retract)]),
        (press(6.0, Press::Short), vec![Outcome::Marked(at(6.0), confirm)]),
        (press(7.0, Press::Short), vec![Outcome::NothingAsked(at(7.0))]),
    ];
    for (wake, expected) in cases {
        let what = format!("{wake:?}");
        assert_eq!(told(engine.handle(wake)), expected, "{what}");
    }
    let entries = Reader::open(&path).unwrap().entries_of_job(JobId(1)).unwrap();
    let origins: Vec<Origin> = entries
        .into_iter()
        .filter_map(|entry| match entry.unwrap().event {
            Event::Mark(mark) => Some(mark.origin),
            _ => None,
        })
        .collect();
    assert_eq!(origins, [Origin::Button; 3]);
}

/// The codes of what the operator is warned of, and when the first pull is said to have been.
fn held_then_pulled(confirmed: f64, pulled: f64, error_us: u32) -> (Vec<WarningCode>, f64) {
    let rig = Rig::new();
    let path = rig.path("journal.sqlite");
    let mut running = engine(&path);
    running.handle(start_held());
    running.handle(say(confirmed, Say::Confirm { hold: "chocked".into(), because: None }));
    let mut heard = pull(1, pulled, 178.0);
    if let Wake::Heard(_, Heard::Reading(reading)) = &mut heard {
        reading.at_error_us = Some(error_us);
    }
    let outcomes = running.handle(heard);
    let state = running.live();
    drop(running);
    assert_eq!(engine(&path).live().snapshot, state.snapshot);
    let mut codes = Vec::new();
    let mut when = f64::NAN;
    for outcome in outcomes {
        match outcome {
            Outcome::Concluded(Conclusion::Warning(warning)) => codes.push(warning.code),
            Outcome::Concluded(Conclusion::Verdict(verdict)) => {
                when = verdict.at.seconds_since(at(0.0));
            }
            _ => {}
        }
    }
    (codes, when)
}

#[test]
fn a_clock_that_cannot_tell_whether_a_pull_came_before_the_last_word_accuses_nobody() {
    let early = vec![WarningCode::RedoSlack];
    for (confirmed, pulled, error_us, told) in [
        (10.0, 9.7, 100_000, (early.clone(), 9.7)),
        (10.0, 9.7, 300_000, (vec![], 10.0)),
        (10.0, 9.7, 900_000, (vec![], 10.0)),
        (10.0, 10.2, 900_000, (vec![], 10.2)),
        (10.0, 3.0, 900_000, (early, 3.0)),
    ] {
        assert_eq!(held_then_pulled(confirmed, pulled, error_us), told, "{pulled} ± {error_us} µs");
    }
}

#[test]
fn the_linked_adapter_guides_by_what_is_asked_and_a_fresh_pull_leads_to_a_cue() {
    let rig = Rig::new();
    let mut engine = engine(&rig.path("journal.sqlite"));
    let link = |seconds, state| {
        let change = LinkChange { adapter: "LK-1".into(), state };
        Wake::Heard(at(seconds), Heard::Link(change))
    };
    let guided =
        |engine: &Engine| engine.guided().map(|(serial, aim)| (serial.to_owned(), aim.target.nm()));
    let by = |target| Some(("LK-1".to_owned(), target));
    engine.handle(adapter());
    engine.handle(start());
    assert_eq!(guided(&engine), None, "no data has flowed");
    engine.handle(link(1.0, LinkState::Back));
    assert_eq!(guided(&engine), by(122.0));
    for state in [LinkState::Asleep, LinkState::Back, LinkState::Lost, LinkState::Back] {
        engine.handle(link(2.0, state));
        assert_eq!(guided(&engine), by(122.0).filter(|_| state == LinkState::Back));
    }
    let cues = |outcomes: Vec<Outcome>| {
        let cues = outcomes.into_iter().filter(|outcome| matches!(outcome, Outcome::Cue(..)));
        cues.collect::<Vec<_>>()
    };
    assert_eq!(cues(engine.handle(pull(1, 10.0, 90.0))), [Outcome::Cue("LK-1".into(), Cue::Low)]);
    assert_eq!(guided(&engine), by(122.0));
    let done = [Outcome::Cue("LK-1".into(), Cue::StepDone)];
    assert_eq!(cues(engine.handle(pull(2, 20.0, 122.0))), done);
    assert_eq!(guided(&engine), by(178.0));
    // A pull that is heard of late is over for the hand.
    let Wake::Heard(_, Heard::Reading(late)) = pull(3, 30.0, 178.0) else { unreachable!() };
    assert_eq!(cues(engine.handle(Wake::Heard(at(60.0), Heard::Reading(late)))), []);
    assert_eq!(guided(&engine), None, "nothing is left");
    engine.handle(say(70.0, Say::Retract));
    assert_eq!(guided(&engine), by(178.0));
    engine.handle(Wake::Asked(at(80.0), Command::Park, None));
    assert_eq!(guided(&engine), None);
    engine.handle(Wake::Asked(at(81.0), Command::Resume { job: None }, None));
    assert_eq!(guided(&engine), by(178.0));
    let close = Command::Close { open_reason: Some("end".into()) };
    engine.handle(Wake::Asked(at(90.0), close, None));
    assert_eq!(guided(&engine), None);
}

#[test]
fn outside_what_a_certificate_covers_nothing_certified_is_said_once_an_adapter_and_joint() {
    let certificate = |range: &str, directions: &str| {
        format!(
            "serial = \"LK-1\"\nnumber = \"N-1\"\nmethod = \"lever and masses\"\nlaboratory = \"Nennford\"\n\
             date = \"2026-02-03\"\ndue = \"2027-02-03\"\nrange_nm = {range}\ndirections = [\"{directions}\"]\n\
             points = [{{ torque_nm = 40, error_nm = 1, uncertainty_nm = 2 }}, \
             {{ torque_nm = 280, error_nm = 1, uncertainty_nm = 2 }}]\n"
        )
    };
    let half = |nm: f64, by: f64| Some(((nm - by) * 10.0).round() as i64);
    // By ±3 % of the adapter's own, where there is no certificate; by ±(2 + 1) N·m with it.
    let without = vec![half(122.0, 3.66), half(178.0, 5.34), half(178.0, 5.34)];
    for (sheet, intervals, warned) in [
        (None, without, vec![]),
        (
            Some(certificate("[40, 280]", "clockwise")),
            vec![half(122.0, 3.0), half(178.0, 3.0), half(178.0, 3.0)],
            vec![],
        ),
        (
            Some(certificate("[40, 150]", "clockwise")),
            vec![half(122.0, 3.0), None, None],
            vec![
                "178.0 N·m is outside what the certificate of adapter LK-1 covers, 40.0–150.0 N·m.",
            ],
        ),
        (
            Some(certificate("[40, 280]", "counter-clockwise")),
            vec![None, None, None],
            vec![
                "damper-eye/1 was pulled clockwise, and adapter LK-1 was not calibrated that way.",
                "arm-pivot/1 was pulled clockwise, and adapter LK-1 was not calibrated that way.",
            ],
        ),
    ] {
        let rig = Rig::new().file("sheet.toml", sheet.as_deref().unwrap_or_default());
        drop(engine(&rig.path("journal.sqlite")));
        if sheet.is_some() {
            let put = rig.output(&["adapter", "certificate", "sheet.toml"]);
            assert!(put.status.success(), "{}", String::from_utf8_lossy(&put.stderr));
        }
        let mut engine = engine(&rig.path("journal.sqlite"));
        let (mut told, mut said) = (Vec::new(), Vec::new());
        let pulls = [pull(1, 10.0, 122.0), pull(2, 30.0, 178.0), pull(3, 40.0, 178.0)];
        for wake in [start(), adapter()].into_iter().chain(pulls) {
            for outcome in engine.handle(wake) {
                match outcome {
                    Outcome::Concluded(Conclusion::Warning(warning))
                        if warning.code == WarningCode::NotCertified =>
                    {
                        said.push(warning.text);
                    }
                    Outcome::Concluded(Conclusion::Verdict(verdict)) if !verdict.revised => {
                        told.push(
                            verdict.interval.map(|(low, _)| (low.nm() * 10.0).round() as i64),
                        );
                    }
                    _ => {}
                }
            }
        }
        assert_eq!(told, intervals, "{sheet:?}");
        assert_eq!(said.len(), warned.len(), "{said:?}");
        for (said, warned) in said.iter().zip(warned) {
            assert!(said.contains(warned), "{said}");
        }
    }
}

#[test]
fn an_adapter_that_is_overdue_for_calibration_is_spoken_of_once_a_job() {
    let certificate = |serial: &str, date: &str, due: &str| {
        format!(
            "serial = \"{serial}\"\nnumber = \"N-1\"\nmethod = \"lever and masses\"\nlaboratory = \"Nennford\"\n\
             date = \"{date}\"\ndue = \"{due}\"\nrange_nm = [40, 280]\ndirections = [\"clockwise\"]\n"
        )
    };
    for (serial, date, due, expected) in [
        ("LK-1", "2024-02-03", "2025-02-03", vec![WarningCode::CalibrationDue]),
        ("LK-1", "2026-02-03", "2027-02-03", vec![]),
        ("LK-2", "2024-02-03", "2025-02-03", vec![]),
    ] {
        let rig = Rig::new().file("sheet.toml", certificate(serial, date, due));
        drop(engine(&rig.path("journal.sqlite")));
        let put = rig.output(&["adapter", "certificate", "sheet.toml"]);
        assert!(put.status.success(), "{}", String::from_utf8_lossy(&put.stderr));
        let mut engine = engine(&rig.path("journal.sqlite"));
        let mut said = Vec::new();
        for wake in [start(), adapter(), pull(1, 10.0, 122.0), pull(2, 30.0, 178.0)] {
            for outcome in engine.handle(wake) {
                if let Outcome::Concluded(Conclusion::Warning(warning)) = outcome {
                    said.push(warning.code);
                }
            }
        }
        assert_eq!(said, expected, "{serial}, due {due}");
    }
}

//! What the engine keeps and what it refuses.

use super::{PLAN, adapter, answer, at, engine, kinds, pull, say, start};
use crate::rig::Rig;
use clampbook::core::command::{Command, Done, Refusal};
use clampbook::core::event::{Event, JobId, PersonalField, Say};
use clampbook::core::rebuild::rebuild;
use clampbook::daemon::engine::Engine;
use clampbook::daemon::wake::{Outcome, Wake};
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
        answer(engine.handle(Wake::Asked(at(3.0), close))),
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
    let close = |open_reason| Wake::Asked(at(9.0), Command::Close { open_reason });
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

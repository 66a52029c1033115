//! The journal: what it keeps, what it refuses, and what survives.

pub(crate) mod disk;
mod events;
mod keeping;
mod opening;
mod torn;

use clampbook::core::event::{
    Draft, Entry, Event, JobId, Mark, Origin, PersonalField, Reading, ReadingKey, Say, Summary,
};
use clampbook::core::plan::{Around, Plan};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;
use clampbook::journal::query::Listed;
use clampbook::journal::{Journal, Reader};
use std::collections::BTreeMap;
use std::path::PathBuf;
use tempfile::TempDir;

/// A journal in a folder of its own.
struct Rig {
    folder: TempDir,
}

impl Rig {
    fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("journal.sqlite")
    }

    fn open(&self) -> Journal {
        Journal::open_writer(&self.path()).unwrap()
    }

    /// The database as any other program sees it.
    fn raw(&self) -> rusqlite::Connection {
        rusqlite::Connection::open(self.path()).unwrap()
    }
}

fn draft(at: i64, job: Option<u32>, event: Event) -> Draft {
    Draft { at: Stamp(at), job: job.map(JobId), event, personal: Vec::new(), raw: None }
}

fn started(job: u32, name: &str) -> Draft {
    let plan = Plan {
        name: name.to_owned(),
        in_order: false,
        holds: Vec::new(),
        steps: Vec::new(),
        around: Around::default(),
    };
    let mut draft = draft(
        i64::from(job) * 1000,
        Some(job),
        Event::JobStarted { plan, plan_hash: "00".repeat(32), uuid: format!("uuid-{job}") },
    );
    draft.personal = vec![
        (PersonalField::PlanText, format!("name = \"{name}\"")),
        (PersonalField::Vin, "VIN-OF-NOBODY-0001".to_owned()),
    ];
    draft
}

fn closed(job: u32, complete: bool, reason: Option<&str>) -> Draft {
    let summary = Summary {
        complete,
        identified: complete,
        fasteners: BTreeMap::new(),
        open: Vec::new(),
        holds: BTreeMap::new(),
        verdicts: 0,
        warnings: BTreeMap::new(),
    };
    draft(
        i64::from(job) * 1000 + 900,
        Some(job),
        Event::JobClosed { open_reason: reason.map(str::to_owned), summary },
    )
}

fn numbered(serial: &str, epoch: u32, sequence: u32) -> ReadingKey {
    ReadingKey::Numbered { serial: serial.to_owned(), epoch, sequence }
}

fn reading(job: Option<u32>, key: ReadingKey, peak: f64) -> Draft {
    let seq = match &key {
        ReadingKey::Numbered { sequence, .. } => u64::from(*sequence),
        ReadingKey::Arrival { arrival: number, .. } | ReadingKey::Typed { number } => {
            u64::from(*number)
        }
    };
    let at = Stamp(5_000 + seq as i64);
    let mut draft = draft(
        at.0,
        job,
        Event::Reading {
            key,
            at,
            at_error_us: Some(200),
            reading: Reading {
                adapter: "A".to_owned(),
                seq,
                peak: Torque::from_nm(peak),
                rotation_deg: Some(12.5),
                duration_ms: None,
                description: None,
            },
        },
    );
    draft.raw = Some(vec![0xc1, seq as u8]);
    draft
}

fn note(job: Option<u32>, text: &str) -> Draft {
    draft(
        7_000,
        job,
        Event::Mark(Mark { say: Say::Note { text: text.to_owned() }, origin: Origin::Page }),
    )
}

/// Every entry, in order; fails on one that cannot be understood.
fn all(reader: &Reader) -> Vec<Entry> {
    listed(reader).into_iter().collect::<Result<_, _>>().unwrap()
}

fn listed(reader: &Reader) -> Vec<Listed> {
    reader.entries_after(0, u32::MAX).unwrap()
}

fn numbers(entries: &[Entry]) -> Vec<u64> {
    entries.iter().map(|entry| entry.number).collect()
}

#[track_caller]
fn assert_sound(reader: &Reader) {
    let check = reader.verify_chain().unwrap();
    assert_eq!(check.fault, None);
    assert_eq!(check.sound, reader.head().unwrap());
}

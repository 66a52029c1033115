//! Events to rows and back: the only place that knows both.
//!
//! A payload is the event as JSON. Each kind has its own version; a change that an older program would
//! misread raises it, and [`decode`] keeps reading the older ones.

use crate::core::event::{Entry, Event, JobId, Mark, Origin, PersonalField, ReadingKey, Say};
use crate::core::time::Stamp;
use crate::core::typed::TYPED;
use crate::journal::chain::{Link, hex};
use crate::journal::error::{EntryError, JournalError};
use rusqlite::Connection;
use serde::{Deserialize, Serialize};

/// The columns of a whole row, in the order that [`Row::read`] expects.
pub(super) const COLUMNS: &str = "number, at_us, job, kind, version, payload, \
     serial, epoch, sequence, connection, arrival, raw, digests, prev, hash";

/// An event as columns.
#[derive(Debug)]
pub(super) struct Encoded {
    pub(super) kind: &'static str,
    pub(super) version: i64,
    pub(super) payload: String,
    pub(super) key: KeyColumns,
}

/// A reading's key as columns; all none for other events.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub(super) struct KeyColumns {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) serial: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) epoch: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) sequence: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) connection: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) arrival: Option<i64>,
}

impl KeyColumns {
    pub(super) fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// A row of table `event` as it lies there.
#[derive(Debug)]
pub(super) struct Row {
    pub(super) number: i64,
    pub(super) at_us: i64,
    pub(super) job: Option<i64>,
    pub(super) kind: String,
    pub(super) version: i64,
    pub(super) payload: String,
    pub(super) key: KeyColumns,
    pub(super) raw: Option<Vec<u8>>,
    pub(super) digests: String,
    pub(super) prev: [u8; 32],
    pub(super) hash: [u8; 32],
}

/// The event as columns.
///
/// # Errors
/// [`JournalError::NotKeepable`] if it would not read back as it is (a number that is not finite).
pub(super) fn encode(event: &Event) -> Result<Encoded, JournalError> {
    let kind = kind_of(event);
    let refused = || JournalError::NotKeepable { kind };
    let version = version_of(event);
    let payload = serde_json::to_string(event).map_err(|_| refused())?;
    match decode(version, &payload) {
        Ok(read_back) if read_back == *event => {
            Ok(Encoded { kind, version, payload, key: key_columns(event) })
        }
        _ => Err(refused()),
    }
}

/// Fields and digests as the column that is hashed.
pub(super) fn encode_digests(digests: &[(PersonalField, [u8; 32])]) -> String {
    let pairs: Vec<[String; 2]> = digests
        .iter()
        .map(|(field, digest)| [field_name(*field).to_owned(), hex(digest)])
        .collect();
    serde_json::to_string(&pairs).expect("pairs of text are always JSON; this is a bug")
}

/// The column of digests, as pairs of field name and hexadecimal digest; none if it is not that.
pub(super) fn decode_digests(column: &str) -> Option<Vec<[String; 2]>> {
    serde_json::from_str(column).ok()
}

/// The key as columns.
pub(super) fn columns_of(key: &ReadingKey) -> KeyColumns {
    match key {
        ReadingKey::Numbered { serial, epoch, sequence } => KeyColumns {
            serial: Some(serial.clone()),
            epoch: Some(i64::from(*epoch)),
            sequence: Some(i64::from(*sequence)),
            ..KeyColumns::default()
        },
        ReadingKey::Arrival { serial, connection, arrival } => KeyColumns {
            serial: Some(serial.clone()),
            connection: Some(*connection),
            arrival: Some(i64::from(*arrival)),
            ..KeyColumns::default()
        },
        // No adapter was connected at the beginning of time.
        ReadingKey::Typed { number } => KeyColumns {
            serial: Some(TYPED.to_owned()),
            connection: Some(0),
            arrival: Some(i64::from(*number)),
            ..KeyColumns::default()
        },
    }
}

/// The field's name in columns and digests.
pub(super) fn field_name(field: PersonalField) -> &'static str {
    match field {
        PersonalField::PlanText => "plan-text",
        PersonalField::Vehicle => "vehicle",
        PersonalField::Vin => "vin",
        PersonalField::Plate => "plate",
        PersonalField::Operator => "operator",
        PersonalField::Note => "note",
        PersonalField::Trace => "trace",
        PersonalField::Photo => "photo",
    }
}

impl Row {
    /// Reads [`COLUMNS`].
    pub(super) fn read(row: &rusqlite::Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            number: row.get(0)?,
            at_us: row.get(1)?,
            job: row.get(2)?,
            kind: row.get(3)?,
            version: row.get(4)?,
            payload: row.get(5)?,
            key: KeyColumns {
                serial: row.get(6)?,
                epoch: row.get(7)?,
                sequence: row.get(8)?,
                connection: row.get(9)?,
                arrival: row.get(10)?,
            },
            raw: row.get(11)?,
            digests: row.get(12)?,
            prev: row.get(13)?,
            hash: row.get(14)?,
        })
    }

    /// Puts the row into table `event`.
    pub(super) fn insert(&self, conn: &Connection) -> rusqlite::Result<()> {
        conn.prepare_cached(&format!(
            "INSERT INTO event ({COLUMNS}) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15)"
        ))?
        .execute(rusqlite::params![
            self.number,
            self.at_us,
            self.job,
            self.kind,
            self.version,
            self.payload,
            self.key.serial,
            self.key.epoch,
            self.key.sequence,
            self.key.connection,
            self.key.arrival,
            self.raw,
            self.digests,
            self.prev,
            self.hash,
        ])
        .map(drop)
    }

    /// The place in the chain. SQL keeps numbers from 1, so none is negative.
    pub(super) fn number(&self) -> u64 {
        self.number.unsigned_abs()
    }

    /// What the row's hash should be.
    pub(super) fn expected_hash(&self) -> [u8; 32] {
        Link {
            prev: &self.prev,
            number: self.number,
            at_us: self.at_us,
            job: self.job,
            kind: &self.kind,
            version: self.version,
            payload: &self.payload,
            raw: self.raw.as_deref(),
            digests: &self.digests,
        }
        .hash()
    }

    /// The event in the row.
    pub(super) fn event(&self) -> Result<Event, EntryError> {
        let number = self.number();
        let Some(known) = newest_version(&self.kind) else {
            return Err(EntryError::UnknownKind { number, kind: self.kind.clone() });
        };
        if !(1..=known).contains(&self.version) {
            return Err(EntryError::UnknownVersion {
                number,
                kind: self.kind.clone(),
                found: self.version,
                known,
            });
        }
        let event = decode(self.version, &self.payload)
            .map_err(|error| self.malformed(format!("its payload does not parse: {error}")))?;
        if kind_of(&event) != self.kind {
            return Err(self.malformed(format!("its payload is a `{}`", kind_of(&event))));
        }
        if key_columns(&event) != self.key {
            return Err(self.malformed("its key columns differ from its payload".to_owned()));
        }
        Ok(event)
    }

    /// The whole entry, with the texts that are still there by their place.
    pub(super) fn entry(self, mut texts: Vec<(usize, String)>) -> Result<Entry, EntryError> {
        let event = self.event()?;
        let job = match self.job.map(u32::try_from) {
            None => None,
            Some(Ok(job)) => Some(JobId(job)),
            Some(Err(_)) => return Err(self.malformed("its job is out of range".to_owned())),
        };
        let digests = decode_digests(&self.digests)
            .ok_or_else(|| self.malformed("its digests do not parse".to_owned()))?;
        let mut personal = Vec::with_capacity(digests.len());
        for (place, [name, _]) in digests.iter().enumerate() {
            let field = field_of(name)
                .ok_or_else(|| self.malformed(format!("its personal field `{name}` is unknown")))?;
            let text = texts
                .iter()
                .position(|(at, _)| *at == place)
                .map(|index| texts.swap_remove(index).1);
            personal.push((field, text));
        }
        Ok(Entry {
            number: self.number(),
            at: Stamp(self.at_us),
            job,
            event,
            personal,
            raw: self.raw,
            hash: self.hash,
        })
    }

    fn malformed(&self, reason: String) -> EntryError {
        EntryError::Malformed { number: self.number(), kind: self.kind.clone(), reason }
    }
}

fn kind_of(event: &Event) -> &'static str {
    match event {
        Event::JobStarted { .. } => "job-started",
        Event::Adapter(_) => "adapter",
        Event::Reading { .. } => "reading",
        Event::Claimed { .. } => "claimed",
        Event::Described { .. } => "described",
        Event::Motion(_) => "motion",
        Event::Mark(_) => "mark",
        Event::Given(_) => "given",
        Event::Link(_) => "link",
        Event::Gap(_) => "gap",
        Event::Verdict(_) => "verdict",
        Event::Warning(_) => "warning",
        Event::JobParked { .. } => "job-parked",
        Event::JobResumed => "job-resumed",
        Event::JobClosed { .. } => "job-closed",
        Event::Erased { .. } => "erased",
        Event::Corrected { .. } => "corrected",
        Event::Certificate(_) => "certificate",
        Event::Photo(_) => "photo",
        Event::RecheckOf { .. } => "recheck-of",
        Event::RecheckDue { .. } => "recheck-due",
    }
}

/// The version that a payload is written in: the oldest that says all of it, so that older programs
/// go on reading what they always could.
fn version_of(event: &Event) -> i64 {
    let of_joints = |say: &Say| {
        matches!(say, Say::Spoiled { .. } | Say::AlsoOpened { .. } | Say::Figure { .. })
    };
    match event {
        Event::Mark(Mark { say: Say::Confirm { because: Some(_), .. }, .. }) => return 4,
        Event::Mark(mark) if of_joints(&mark.say) => return 3,
        _ => {}
    }
    let typed = match event {
        Event::Reading { key, .. } => matches!(key, ReadingKey::Typed { .. }),
        Event::Adapter(info) => info.reports.typed,
        Event::Mark(mark) => mark.origin == Origin::Typed || matches!(mark.say, Say::Low { .. }),
        _ => false,
    };
    let names = |field: PersonalField| match event {
        Event::Erased { fields, .. } => fields.contains(&field),
        Event::Corrected { field: corrected, .. } => *corrected == field,
        _ => false,
    };
    match event {
        Event::Erased { .. } if names(PersonalField::Plate) => 3,
        _ if typed || names(PersonalField::Photo) || names(PersonalField::Plate) => 2,
        _ => 1,
    }
}

fn newest_version(kind: &str) -> Option<i64> {
    match kind {
        "mark" => Some(4),
        "erased" => Some(3),
        "adapter" | "reading" | "corrected" => Some(2),
        "job-started" | "claimed" | "described" | "motion" | "given" | "link" | "gap"
        | "verdict" | "warning" | "job-parked" | "job-resumed" | "job-closed" | "recheck-of"
        | "recheck-due" | "certificate" | "photo" => Some(1),
        _ => None,
    }
}

/// Reads a payload of a known version. Version 2 of `reading`, `adapter` and `mark` is what typed values
/// brought, version 3 of `mark` has more that can be said, version 4 a reason with what is confirmed; version 2 of
/// `erased` knows photos, version 3 plates, as version 2 of `corrected` does; version 1 reads the same.
fn decode(_version: i64, payload: &str) -> serde_json::Result<Event> {
    serde_json::from_str(payload)
}

fn key_columns(event: &Event) -> KeyColumns {
    match event {
        Event::Reading { key, .. } => columns_of(key),
        Event::JobStarted { .. }
        | Event::Adapter(_)
        | Event::Claimed { .. }
        | Event::Described { .. }
        | Event::Motion(_)
        | Event::Mark(_)
        | Event::Given(_)
        | Event::Link(_)
        | Event::Gap(_)
        | Event::Verdict(_)
        | Event::Warning(_)
        | Event::JobParked { .. }
        | Event::JobResumed
        | Event::Erased { .. }
        | Event::Corrected { .. }
        | Event::Certificate(_)
        | Event::Photo(_)
        | Event::RecheckOf { .. }
        | Event::RecheckDue { .. }
        | Event::JobClosed { .. } => KeyColumns::default(),
    }
}

fn field_of(name: &str) -> Option<PersonalField> {
    [
        PersonalField::PlanText,
        PersonalField::Vehicle,
        PersonalField::Vin,
        PersonalField::Plate,
        PersonalField::Operator,
        PersonalField::Note,
        PersonalField::Trace,
        PersonalField::Photo,
    ]
    .into_iter()
    .find(|field| field_name(*field) == name)
}

//! `record`: a job, as it was heard, as a recording that `replay` reads.

use crate::adapter::recording::{Header, Item, Writer};
use crate::cli::access::Access;
use crate::cli::args::Record;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::put;
use crate::core::event::{
    AdapterInfo, Entry, Event, LinkState, Mark, PersonalField, Reading, ReadingKey, Say, Trace,
};
use crate::core::time::Stamp;
use crate::core::typed::typed_source;
use crate::journal::{EntryError, JournalError, Reader};
use jiff::Timestamp;
use std::collections::BTreeMap;
use std::path::Path;

/// Runs the verb.
///
/// # Errors
/// The journal cannot be read or has no such job, or the file cannot be written.
pub fn run(args: &Record, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    let access = Access::find(journal)?;
    access.check_readable()?;
    let unreadable =
        |error: &dyn std::error::Error| Failure::failed("the journal cannot be read", error);
    let job = match args.loose {
        true => None,
        false => Some(access.job_or_newest(args.job)?),
    };
    let reader = Reader::open(access.journal()).map_err(|error| unreadable(&error))?;
    let listed = match job {
        Some(job) => reader.entries_of_job(job),
        None => reader.loose_readings(),
    }
    .map_err(|error| unreadable(&error))?;
    let entries = listed
        .into_iter()
        .collect::<Result<Vec<Entry>, EntryError>>()
        .map_err(|error| unreadable(&error))?;
    if entries.is_empty() {
        return Err(Failure::Input(match job {
            Some(job) => format!(
                "expected a job of the journal, but found no job {}; see `clampbook job list`",
                job.0
            ),
            None => "expected readings without a job, but found none".to_owned(),
        }));
    }
    let adapters = match job {
        Some(_) => Vec::new(),
        None => adapters(&reader, &entries).map_err(|error| unreadable(&error))?,
    };
    let recording = recording(&adapters, &entries)?;
    match &args.out {
        Some(file) => {
            put::put(file, &recording)?;
            printer.line(file.display())?;
        }
        None => printer.raw(&recording)?,
    }
    Ok(Done::Fine)
}

/// What made loose readings. A job has its own word of each adapter.
fn adapters(reader: &Reader, entries: &[Entry]) -> Result<Vec<AdapterInfo>, JournalError> {
    let mut infos: BTreeMap<String, AdapterInfo> = BTreeMap::new();
    for info in reader.adapters()?.into_iter().chain([typed_source()]) {
        infos.insert(info.id.clone(), info);
    }
    let made = |id: &str| {
        entries.iter().any(
            |entry| matches!(&entry.event, Event::Reading { reading, .. } if reading.adapter == id),
        )
    };
    Ok(infos.into_values().filter(|info| made(&info.id)).collect())
}

fn recording(adapters: &[AdapterInfo], entries: &[Entry]) -> Result<Vec<u8>, Failure> {
    let unwritable =
        |error: &dyn std::error::Error| Failure::failed("the recording cannot be written", error);
    let times = entries.iter().map(|entry| match &entry.event {
        Event::Reading { at, .. } | Event::Claimed { at, .. } => (*at).min(entry.at),
        _ => entry.at,
    });
    let start = times.min().unwrap_or_default();
    let started = Timestamp::from_microsecond(start.0).map_err(|error| unwritable(&error))?;
    let mut writer =
        Writer::begin(Vec::new(), Header { started }).map_err(|error| unwritable(&error))?;
    let mut boots = Boots::default();
    for info in adapters {
        boots.infos.insert(info.id.clone(), info.clone());
        let item = Item::Adapter { at: Stamp(0), info: info.clone() };
        writer.write(&item).map_err(|error| unwritable(&error))?;
    }
    for entry in entries {
        for item in items(entry, start).into_iter().flat_map(|item| boots.rename(entry, item)) {
            writer.write(&item).map_err(|error| unwritable(&error))?;
        }
    }
    Ok(writer.into_inner())
}

/// Adapters that were switched off and on count their readings anew. In a recording a number stands for
/// one reading of one adapter, so each further boot is written as an adapter of its own, `ID#2` and so on.
#[derive(Default)]
struct Boots {
    infos: BTreeMap<String, AdapterInfo>,
    seen: BTreeMap<String, Vec<u32>>,
}

impl Boots {
    fn rename(&mut self, entry: &Entry, mut item: Item) -> Vec<Item> {
        if let Item::Adapter { info, .. } = &item {
            self.infos.insert(info.id.clone(), info.clone());
        }
        let at = item.at().unwrap_or_default();
        let (adapter, epoch) = match (&entry.event, &mut item) {
            (
                Event::Reading { key, .. } | Event::Claimed { key, .. },
                Item::Reading { reading: Reading { adapter, .. }, .. },
            )
            | (Event::Described { key, .. }, Item::Trace { adapter, .. }) => match key {
                ReadingKey::Numbered { epoch, .. } => (adapter, Some(*epoch)),
                _ => return vec![item],
            },
            // It leads to a reading of the newest boot.
            (_, Item::Motion { motion, .. }) => (&mut motion.adapter, None),
            _ => return vec![item],
        };
        let boots = self.seen.entry(adapter.clone()).or_default();
        let known = match epoch {
            Some(epoch) => boots.iter().position(|boot| *boot == epoch),
            None => Some(boots.len().saturating_sub(1)),
        };
        if known.is_none() {
            boots.extend(epoch);
        }
        let boot = known.unwrap_or(boots.len() - 1);
        if boot == 0 {
            return vec![item];
        }
        let id = format!("{adapter}#{}", boot + 1);
        let info = self.infos.get(adapter).filter(|_| known.is_none()).cloned();
        adapter.clone_from(&id);
        let again = info.map(|info| Item::Adapter { at, info: AdapterInfo { id, ..info } });
        again.into_iter().chain([item]).collect()
    }
}

/// The lines that tell of this entry; none for what was concluded and what the format has no line for.
fn items(entry: &Entry, start: Stamp) -> Vec<Item> {
    if let Event::Described { described, .. } = &entry.event {
        return traced(&described.adapter, entry, start);
    }
    item(entry, start).into_iter().collect()
}

/// The samples beside an entry: a line for each stretch of which none is missing.
fn traced(adapter: &str, entry: &Entry, start: Stamp) -> Vec<Item> {
    let line = |trace: Trace| Item::Trace {
        adapter: adapter.to_owned(),
        trace: Trace { start: Stamp(trace.start.0.saturating_sub(start.0)), ..trace },
    };
    entry.trace().iter().flat_map(Trace::stretches).map(line).collect()
}

fn item(entry: &Entry, start: Stamp) -> Option<Item> {
    let since = |at: Stamp| Stamp(at.0.saturating_sub(start.0));
    let at = since(entry.at);
    match &entry.event {
        Event::Adapter(info) => Some(Item::Adapter { at, info: info.clone() }),
        Event::Reading { at, reading, .. } | Event::Claimed { at, reading, .. } => {
            Some(Item::Reading { at: since(*at), reading: reading.clone() })
        }
        Event::Motion(motion) => Some(Item::Motion { at, motion: motion.clone() }),
        Event::Mark(mark) => Some(Item::Mark { at, mark: spoken(mark, entry) }),
        Event::Given(given) => Some(Item::Given { at, given: given.clone() }),
        Event::Link(change) if change.state != LinkState::Asleep => {
            Some(Item::Link { at, change: change.clone() })
        }
        Event::Link(_)
        | Event::Gap(_)
        | Event::Described { .. }
        | Event::JobStarted { .. }
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
        | Event::JobClosed { .. } => None,
    }
}

/// The mark with the words that are kept beside the chain, unless they were erased.
fn spoken(mark: &Mark, entry: &Entry) -> Mark {
    let words = entry.text(PersonalField::Note).map(str::to_owned);
    let say = match (mark.say.clone(), words) {
        (Say::Note { .. }, Some(text)) => Say::Note { text },
        (Say::Skip { fastener, .. }, Some(reason)) => Say::Skip { fastener, reason },
        (Say::Confirm { hold, because: Some(_) }, Some(reason)) => {
            Say::Confirm { hold, because: Some(reason) }
        }
        (say, _) => say,
    };
    Mark { say, ..mark.clone() }
}

//! Readings that came while no job was under way, claimed by one.

use crate::core::command::{Done, Refusal};
use crate::core::event::{AdapterInfo, Draft, Event, Input, What};
use crate::core::time::Stamp;
use crate::core::typed::{TYPED, typed_source};
use crate::daemon::drafts;
use crate::daemon::engine::{Engine, not_kept, warnings_in};
use crate::daemon::wake::Outcome;
use std::collections::{BTreeMap, BTreeSet};

impl Engine {
    /// Puts loose readings, by the numbers of their entries, into the job under way: all or none.
    pub(super) fn claim(
        &mut self,
        now: Stamp,
        wanted: &[u64],
    ) -> Result<(Done, Vec<Outcome>), Refusal> {
        let Some(current) = &self.current else {
            return Err(Refusal::NoJob);
        };
        let job = current.job;
        let reader = self.journal.reader();
        let wanted: BTreeSet<u64> = wanted.iter().copied().collect();
        let mut loose = BTreeMap::new();
        for entry in reader.loose_readings().map_err(not_kept)?.into_iter().flatten() {
            loose.insert(entry.number, entry);
        }
        let mut shown = BTreeMap::new();
        for entry in reader.loose_descriptions().map_err(not_kept)?.into_iter().flatten() {
            if let Event::Described { key, described, .. } = &entry.event {
                let texts = entry.personal.into_iter();
                let personal: Vec<_> =
                    texts.filter_map(|(field, text)| Some((field, text?))).collect();
                shown.insert(key.clone(), (described.clone(), entry.event, personal));
            }
        }
        let mut infos: BTreeMap<String, AdapterInfo> = BTreeMap::new();
        for info in reader.adapters().map_err(not_kept)? {
            infos.insert(info.id.clone(), info);
        }
        infos.insert(TYPED.to_owned(), typed_source());
        let mut told: BTreeSet<String> = current.told.keys().cloned().collect();
        let at_entry = current.latest.max(now);
        let (mut drafts, mut inputs) = (Vec::new(), Vec::new());
        for number in &wanted {
            let Some(entry) = loose.remove(number) else {
                let claimed = reader.claims().map_err(not_kept)?;
                let by = claimed.into_iter().find(|(entry, _)| entry == number);
                return Err(Refusal::NotLoose { entry: *number, job: by.map(|(_, job)| job) });
            };
            let Event::Reading { key, at, at_error_us, reading } = entry.event else {
                return Err(Refusal::NotLoose { entry: *number, job: None });
            };
            if told.insert(reading.adapter.clone())
                && let Some(info) = infos.get(&reading.adapter)
            {
                inputs.push(Input { at: at_entry, what: What::Adapter(info.clone()) });
                drafts.push(drafts::plain(at_entry, Some(job), Event::Adapter(info.clone())));
            }
            inputs.push(Input { at, what: What::Reading(reading.clone()) });
            let shown = shown.remove(&key);
            let event = Event::Claimed { entry: *number, key, at, at_error_us, reading };
            drafts.push(drafts::plain(at_entry, Some(job), event));
            if let Some((described, event, personal)) = shown {
                inputs.push(Input { at, what: What::Described(described) });
                drafts.push(Draft { at: at_entry, job: Some(job), event, personal, raw: None });
            }
        }
        let outcomes = self.commit(drafts, inputs).map_err(not_kept)?;
        let warnings = warnings_in(&outcomes);
        let readings = u32::try_from(wanted.len()).unwrap_or(u32::MAX);
        Ok((Done::Claimed { job, readings, warnings }, outcomes))
    }
}

//! What an adapter showed with nothing on it: pulls of which the zero had moved since its first.

use crate::core::signal::Description;
use crate::report::gather::Facts;
use crate::report::model::Pull;
use std::collections::{BTreeMap, BTreeSet};

/// Says of each pull by how much the zero of its adapter had moved since the job's first pull with it. Where peaks are
/// found in the trace, the zero is taken off them, and nothing is off.
pub(crate) fn apply(facts: &mut Facts<'_>) {
    let tells_peaks = facts.adapters.iter().filter(|info| info.reports.peak);
    let tells_peaks: BTreeSet<&str> = tells_peaks.map(|info| info.id.as_str()).collect();
    let mut first: BTreeMap<String, Description> = BTreeMap::new();
    let mut order: Vec<usize> = (0..facts.pulls.len()).collect();
    order.sort_by(|one, other| time(&facts.pulls[*one]).cmp(time(&facts.pulls[*other])));
    for place in order {
        let pull = &mut facts.pulls[place];
        let id = &pull.measured.adapter;
        let Some(now) = pull.measured.description.as_deref() else { continue };
        if !tells_peaks.contains(id.as_str()) {
            continue;
        }
        let first = first.entry(id.clone()).or_insert(*now);
        pull.zero_moved_nm = now.zero_moved_since(first);
    }
}

fn time(pull: &Pull) -> &str {
    &pull.measured.at.utc
}

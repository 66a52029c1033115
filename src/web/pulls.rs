//! `/v1/jobs/{job}/pulls`: every pull of a job, with its trace.

use crate::core::event::{Event, JobId, ReadingKey, Trace, Verdict};
use crate::core::time::Stamp;
use crate::core::units::Torque;
use crate::journal::query::Reader;
use crate::web::Shared;
use crate::web::description::UNREADABLE;
use crate::web::problem::Problem;
use crate::web::reading::{kept, off_thread};
use crate::web::request::Named;
use axum::Json;
use axum::extract::State;
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::Path;
use utoipa::ToSchema;

/// As many points of a trace are told: more than a screen of a workshop can show.
const POINTS: usize = 240;

/// A pull and what was concluded of it.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct PullRow {
    /// What was concluded last.
    verdict: Verdict,
    /// A person typed it: nothing was measured.
    typed: bool,
    /// Its samples; none if there are none, or they were erased.
    trace: Option<TraceRow>,
}

/// The samples of a pull, thinned out such that each peak stays.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct TraceRow {
    /// When the first was taken.
    start: Stamp,
    /// From the first to the last, seconds.
    seconds: f64,
    /// Torque, N·m, clockwise positive, evenly spaced; null where a sample is missing.
    nm: Vec<Option<f64>>,
}

/// Every pull of a job, oldest first.
#[utoipa::path(get, path = "/v1/jobs/{job}/pulls", operation_id = "pulls", tag = "jobs",
    params(("job" = u32, Path, description = "Number of the job", maximum = 4_294_967_295_u64)),
    responses(
        (status = 200, description = "The pulls, oldest first", body = Vec<PullRow>),
        (status = 404, description = "No such job"),
        (status = 500, description = UNREADABLE)
    ))]
pub(super) async fn list(
    State(shared): State<Shared>,
    Named(job): Named<u32>,
) -> Result<Json<Vec<PullRow>>, Problem> {
    off_thread(move || pulls(&shared.journal, JobId(job))).await.map(Json)
}

fn pulls(journal: &Path, job: JobId) -> Result<Vec<PullRow>, Problem> {
    let reader = Reader::open(journal).map_err(|error| Problem::journal(error.to_string()))?;
    let entries = kept(&reader, job)?.entries;
    let mut readings: BTreeMap<(String, u64, Stamp), ReadingKey> = BTreeMap::new();
    let mut traces: BTreeMap<ReadingKey, Trace> = BTreeMap::new();
    let mut verdicts: BTreeMap<(Stamp, String, u64), Verdict> = BTreeMap::new();
    for entry in entries {
        let samples = entry.trace();
        match entry.event {
            Event::Reading { key, at, reading, .. } | Event::Claimed { key, at, reading, .. } => {
                readings.insert((reading.adapter, reading.seq, at), key);
            }
            Event::Described { key, .. } => {
                if let Some(samples) = samples {
                    traces.insert(key, samples);
                }
            }
            Event::Verdict(verdict) => {
                let place = (verdict.at, verdict.adapter.clone(), verdict.seq);
                verdicts.insert(place, verdict);
            }
            _ => {}
        }
    }
    let row = |verdict: Verdict| {
        let key = readings.get(&(verdict.adapter.clone(), verdict.seq, verdict.at));
        let trace = key.and_then(|key| traces.get(key)).map(thin);
        PullRow { typed: matches!(key, Some(ReadingKey::Typed { .. })), trace, verdict }
    };
    Ok(verdicts.into_values().map(row).collect())
}

/// Of each stretch of samples the one of the largest magnitude.
fn thin(trace: &Trace) -> TraceRow {
    let each = trace.torque.len().div_ceil(POINTS).max(1);
    let largest = |samples: &[Torque]| {
        let known = samples.iter().map(|torque| torque.nm()).filter(|nm| nm.is_finite());
        known.max_by(|a, b| a.abs().total_cmp(&b.abs()))
    };
    TraceRow {
        start: trace.start,
        seconds: trace.torque.len() as f64 / trace.rate_hz,
        nm: trace.torque.chunks(each).map(largest).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::{POINTS, thin};
    use crate::core::event::Trace;
    use crate::core::units::Torque;

    #[test]
    fn a_long_trace_is_thinned_out_and_keeps_its_peak() {
        let nm = |index: usize| if index == 777 { 131.5 } else { (index % 100) as f64 };
        let mut torque: Vec<Torque> = (0..1000).map(|index| Torque::from_nm(nm(index))).collect();
        torque[..5].fill(Torque::from_nm(f64::NAN));
        let row = thin(&Trace { rate_hz: 500.0, torque, ..Trace::default() });
        assert_eq!(row.seconds, 2.0);
        assert!(row.nm.len() <= POINTS);
        assert_eq!(row.nm[0], None);
        assert_eq!(row.nm.iter().flatten().copied().fold(0.0, f64::max), 131.5);
    }
}

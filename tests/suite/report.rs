//! The report: what it says of a job, and what it refuses.

mod formats;
mod hostile;
mod job;
mod page;
#[cfg(feature = "pdf")]
mod pdf;
mod tongues;

use clampbook::core::event::{
    Ending, Event, JobId, Reading, ReadingKey, Reports, Summary, WarningCode,
};
use clampbook::core::plan::Pattern;
use clampbook::core::time::Stamp;
use clampbook::core::units::{Torque, TorqueUnit};
use clampbook::report::words::Saying;
use clampbook::report::{Report, ReportError, json};
use job::{JOB, Job, START, context, pass, step, wheel_and_pin, window};

#[test]
fn the_json_form_holds_every_fact() {
    insta::assert_snapshot!(json::render(&wheel_and_pin().report()));
}

#[test]
fn a_warning_counts_until_a_good_end_puts_it_right_and_damage_always_counts() {
    let own = [true, false, false];
    let cases = [
        (WarningCode::LowTorque, own),
        (WarningCode::Skipped, own),
        (WarningCode::Loosened, own),
        (WarningCode::HoldOpen, own),
        (WarningCode::RedoSlack, own),
        (WarningCode::Repeat, [true, true, false]),
        (WarningCode::Order, [true; 3]),
        (WarningCode::HighTorque, [true; 3]),
        (WarningCode::DidNotTurn, [true; 3]),
        (WarningCode::Gap, [true; 3]),
        (WarningCode::AdapterRange, [true; 3]),
        (WarningCode::LinkLost, [false; 3]),
        (WarningCode::Unexpected, [false; 3]),
    ];
    for (code, expected) in cases {
        let with = |open: &[&str]| {
            let line = pass("final", window(20.0, TorqueUnit::NewtonMetre, 0.1), &[1, 2]);
            Job::on("Cover", Vec::new(), vec![step("cover", Pattern::Line, vec![line])])
                .warn(code, "cover/1", "said")
                .ends(Ending::Shown, &["cover/1", "cover/2"])
                .ends(Ending::Open, open)
                .report()
                .warnings[0]
                .counts
        };
        let counts = [with(&["cover/1"]), with(&["cover/2"]), with(&[])];
        assert_eq!(counts, expected, "{code:?}");
    }
}

#[test]
fn numbers_that_start_again_with_a_boot_are_told_apart_by_time() {
    let line = pass("final", window(20.0, TorqueUnit::NewtonMetre, 0.1), &[1, 2]);
    let mut job = Job::on("Cover", Vec::new(), vec![step("cover", Pattern::Line, vec![line])])
        .good("small", "cover/1", 1, 20.1);
    job.seq = 0;
    let job = job.good("small", "cover/2", 1, 19.9);
    let report = job.report();
    let peaks = report.steps[0].fasteners.iter().map(|fastener| {
        let peaks = fastener.pulls.iter().map(|pull| pull.measured.peak_nm);
        (fastener.name.as_str(), peaks.collect::<Vec<_>>())
    });
    let expected = [("cover/1", vec![20.1]), ("cover/2", vec![19.9])];
    assert_eq!(peaks.collect::<Vec<_>>(), expected);
}

#[test]
fn readings_outside_the_job_stay_outside_it() {
    let reading = |seq: u64| Event::Reading {
        key: ReadingKey::Arrival {
            serial: "SY-live".to_owned(),
            connection: START,
            arrival: seq as u32,
        },
        at: Stamp(START + 500_000),
        at_error_us: None,
        reading: Reading {
            adapter: "live".to_owned(),
            seq,
            peak: Torque::from_nm(-31.0),
            rotation_deg: None,
            duration_ms: None,
            description: None,
        },
    };
    let job = wheel_and_pin();
    let before_close = job.entries.len() - 1;
    let mut job =
        job.kept(None, reading(1), Vec::new()).kept(Some(JobId(8)), reading(2), Vec::new());
    let closed = job.entries.remove(before_close);
    job.entries.push(closed);
    for (entry, number) in job.entries.iter_mut().zip(1..) {
        entry.number = number;
    }
    job.entries.reverse();
    let report = job.report();
    let loose: Vec<String> = report.loose.iter().map(|fact| fact.text.to_string()).collect();
    assert_eq!(loose, ["reading 1 of adapter live: 31.0 N·m counter-clockwise"]);
    assert_eq!(report.steps, wheel_and_pin().report().steps);
}

#[test]
fn an_adapter_without_numbers_is_said_to_lose_what_was_not_heard() {
    let line = pass("final", window(20.0, TorqueUnit::NewtonMetre, 0.1), &[1]);
    let live = Job::on("Cover", Vec::new(), vec![step("cover", Pattern::Line, vec![line])])
        .adapter("live", Reports::default());
    let at = live.now();
    let job = live.fact(Event::Reading {
        key: ReadingKey::Arrival { serial: "SY-live".to_owned(), connection: START, arrival: 1 },
        at,
        at_error_us: Some(2_500_000),
        reading: Reading {
            adapter: "live".to_owned(),
            seq: 1,
            peak: Torque::from_nm(20.0),
            rotation_deg: None,
            duration_ms: None,
            description: None,
        },
    });
    assert_eq!(
        said(&job.report().not_known),
        [
            "Adapter live does not number its readings: what was not heard is lost.",
            "Adapter live tells how tight, not which fastener nor whether it turned.",
            "No calibration certificate of adapter live is on record.",
            "Times of pulls may be off by up to 3 s.",
            "The job was still open when this was made: more may follow.",
        ]
    );
}

/// Sentences of the report, in English.
fn said(sentences: &[Saying]) -> Vec<String> {
    sentences.iter().map(ToString::to_string).collect()
}

#[test]
fn what_cannot_be_reported_is_refused_with_a_remedy() {
    let job = wheel_and_pin();
    let refusal = |summary: &Summary, job_asked: JobId| {
        Report::build(&job.entries, &job.plan, summary, &context(job_asked)).unwrap_err()
    };
    assert_eq!(
        refusal(&job.summary(), JobId(9)).to_string(),
        "expected the start of job 9 among 25 entries, but found none; check the number of the job, and \
         give every entry of it"
    );
    let mut lacking = job.summary();
    lacking.fasteners.remove("wheel/2");
    let fastener = "wheel/2".to_owned();
    assert_eq!(refusal(&lacking, JOB), ReportError::SummaryLacks { fastener });
    let mut strange = job.summary();
    strange.fasteners.insert("wheel/6".to_owned(), Ending::Open);
    let fastener = "wheel/6".to_owned();
    assert_eq!(refusal(&strange, JOB), ReportError::SummaryStrange { fastener });
}

//! The report in its other forms: table, plain text, schema; redacted, for a customer, with certificates.

use super::hostile::hostile_job;
use super::job::{Job, pass, step, wheel_and_pin, window};
use super::said;
use clampbook::core::certificate::{Certificate, EXAMPLE};
use clampbook::core::event::{
    Act, Ending, Event, Mark, Origin, PersonalField, Reports, Say, TorqueVerdict, Warning,
    WarningCode,
};
use clampbook::core::language::Language;
use clampbook::core::photo::{Photo, PhotoKind};
use clampbook::core::plan::{Pattern, also_name, also_text};
use clampbook::core::signal::{Block, Description, Found, PullFinder, Source};
use clampbook::core::time::Stamp;
use clampbook::core::units::{Torque, TorqueUnit};
use clampbook::report::{Extent, Report, html, json, plain, schema, table};
use serde_json::Value;
use std::collections::BTreeMap;

/// Each row as its cells by column.
pub(super) fn rows(report: &Report) -> Vec<BTreeMap<String, String>> {
    let text = table::render(report);
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let head = reader.headers().unwrap().clone();
    let row = |record: csv::StringRecord| -> BTreeMap<String, String> {
        head.iter().map(str::to_owned).zip(record.iter().map(str::to_owned)).collect()
    };
    reader.records().map(|record| row(record.unwrap())).collect()
}

#[test]
fn a_table_has_a_row_for_each_pull_and_for_each_fastener_without_one() {
    let report = wheel_and_pin().report();
    let rows = rows(&report);
    let pulls: usize =
        report.steps.iter().flat_map(|step| &step.fasteners).map(|one| one.pulls.len()).sum();
    let without = report
        .steps
        .iter()
        .flat_map(|step| &step.fasteners)
        .filter(|fastener| fastener.pulls.is_empty())
        .count();
    assert_eq!(rows.len(), pulls + without + report.unassigned.len());
    let first = &rows[0];
    assert_eq!(first["fastener"], "slide-pin/1");
    assert_eq!(
        [&first["known"], &first["peak_nm"], &first["verdict"], &first["low_nm"]],
        ["measured", "21.03", "below the window", "23.4"]
    );
    assert_eq!(first["time_utc"], "2031-03-14T17:00:03.000000Z");
    assert!(rows.iter().any(|row| row["row"] == "none" && row["fastener"] == "wheel/5"));
    assert!(rows.iter().all(|row| row["journal_head"] == "ab".repeat(32)));
}

#[test]
fn plain_text_says_what_is_open_first() {
    let text = plain::render(&wheel_and_pin().report(), Extent::Full, Language::English);
    insta::assert_snapshot!(text);
}

#[test]
fn a_redacted_report_has_nothing_of_people_in_any_form() {
    let secret = "Zuzanna-Quillfeather";
    let photo = Photo { about: "nut/1".to_owned(), format: PhotoKind::Png, octets: 4 };
    let job =
        hostile_job("plain").personal(PersonalField::Note, Some(secret)).fact(Event::Photo(photo));
    let mut report = job.report();
    report.vehicle.text = clampbook::report::model::Personal::Given(secret.to_owned());
    report.vehicle.vin = clampbook::report::model::Personal::Given(secret.to_owned());
    report.vehicle.plate = clampbook::report::model::Personal::Given(secret.to_owned());
    report.job.operator = clampbook::report::model::Personal::Given(secret.to_owned());
    for mark in &mut report.operator_said {
        mark.text = clampbook::report::model::Personal::Given(secret.to_owned());
        mark.by = Some(clampbook::report::model::Personal::Given(secret.to_owned()));
    }
    for photo in &mut report.photos {
        photo.by = Some(clampbook::report::model::Personal::Given(secret.to_owned()));
        photo.packed = clampbook::report::model::Personal::Given(secret.to_owned());
    }
    for correction in &mut report.corrections {
        correction.text = clampbook::report::model::Personal::Given(secret.to_owned());
    }
    let forms = |report: &Report| {
        [
            html::render(report, Extent::Full, Language::English),
            html::render(report, Extent::Customer, Language::French),
            json::render(report),
            table::render(report),
            plain::render(report, Extent::Full, Language::German),
            plain::render(report, Extent::Customer, Language::Spanish),
        ]
    };
    assert!(forms(&report)[0].contains(secret));
    let redacted = report.redacted();
    for form in forms(&redacted) {
        assert!(!form.contains(secret), "{form}");
    }
    let parsed: Value = serde_json::from_str(&json::render(&redacted)).unwrap();
    assert_eq!(parsed["redacted"], true);
    assert_eq!(parsed["vehicle"]["vin"]["state"], "left-out");
    assert_eq!(parsed["vehicle"]["plate"]["state"], "left-out");
}

#[test]
fn names_and_figures_that_people_made_up_are_left_out_of_a_redacted_report() {
    let secret = "zuzannas-clip";
    let told = |say| Event::Mark(Mark { say, origin: Origin::CommandLine });
    let warned = |code, text: String| {
        Event::Warning(Warning {
            at: Stamp(1),
            code,
            fastener: None,
            adapter: None,
            seq: None,
            text,
        })
    };
    let job = hostile_job("plain")
        .fact(told(Say::AlsoOpened { name: secret.to_owned() }))
        .fact(told(Say::Confirm { hold: also_name(secret), because: None }))
        .fact(told(Say::At { fastener: "zuzanna".to_owned() }))
        .fact(told(Say::Figure { of: "closed:x".to_owned(), value: "zuzanna".to_owned() }))
        .fact(warned(WarningCode::UnknownName, "\"zuzanna\" is not in the plan; noted.".to_owned()))
        .fact(warned(
            WarningCode::Unconfirmed,
            format!("Not confirmed: \"{}\" The job is not closed.", also_text(secret)),
        ))
        .fact(Event::Photo(Photo { about: secret.to_owned(), format: PhotoKind::Png, octets: 4 }));
    let full = json::render(&job.report());
    assert!(full.matches("zuzanna").count() >= 7, "{full}");
    let redacted = job.report().redacted();
    for form in [
        html::render(&redacted, Extent::Full, Language::English),
        json::render(&redacted),
        table::render(&redacted),
        plain::render(&redacted, Extent::Full, Language::German),
    ] {
        assert!(!form.to_lowercase().contains("zuzanna"), "{form}");
    }
    let told: Vec<_> = redacted.operator_said.iter().filter_map(|mark| mark.hold.clone()).collect();
    assert!(told.contains(&also_name("left-out-2")), "the same is called the same: {told:?}");
}

#[test]
fn the_customers_copy_has_every_ending_and_no_course_of_work() {
    let report = wheel_and_pin().report();
    let [full, copy] = [Extent::Full, Extent::Customer]
        .map(|extent| html::render(&report, extent, Language::English));
    assert!(full.contains("How sure") && !copy.contains("How sure"));
    assert!(!copy.contains("What the operator said"));
    for fastener in report.steps.iter().flat_map(|step| &step.fasteners) {
        assert!(copy.contains(&fastener.name), "{}", fastener.name);
    }
    assert!(copy.contains("Open: 2 fasteners"));
}

#[test]
fn every_member_of_the_json_report_is_in_the_schema() {
    let schema: Value = serde_json::from_str(&schema::render()).unwrap();
    assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
    let job = wheel_and_pin()
        .kept(None, certificate("SY-large", EXAMPLE), Vec::new())
        .fact(Event::Corrected { entry: 1, field: PersonalField::Vin })
        .personal(PersonalField::Vin, Some("NEW"));
    let report: Value = serde_json::from_str(&json::render(&job.report())).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let faults: Vec<String> = validator.iter_errors(&report).map(|one| one.to_string()).collect();
    assert_eq!(faults, Vec::<String>::new());
    // With every object closed to what it does not name, so that nothing is left out of the schema.
    let mut closed = schema.clone();
    close(&mut closed, 0);
    let strict = jsonschema::validator_for(&closed).unwrap();
    let strange: Vec<String> =
        strict.iter_errors(&report).map(|one| format!("{}: {one}", one.instance_path())).collect();
    assert_eq!(strange, Vec::<String>::new());
    for (place, value) in [
        ("/outcome/shown", Value::from("many")),
        ("/steps/0/fasteners/0/name", Value::Null),
        ("/adapters/0/readings", Value::from("none")),
        ("/vehicle/vin/state", Value::from("gone")),
    ] {
        let mut wrong = report.clone();
        *wrong.pointer_mut(place).unwrap_or_else(|| panic!("no {place}")) = value;
        assert!(!validator.is_valid(&wrong), "{place}");
    }
    let mut more = report;
    more["outcome"]["more"] = Value::Bool(true);
    assert!(validator.is_valid(&more) && !strict.is_valid(&more));
}

/// Lets every object with named members have no others. Parts of an `allOf` stay open.
fn close(schema: &mut Value, parts: usize) {
    match schema {
        Value::Object(members) => {
            if parts == 0 && members.get("properties").is_some_and(Value::is_object) {
                members.insert("unevaluatedProperties".to_owned(), Value::Bool(false));
            }
            for (name, member) in members {
                close(member, if name == "allOf" { parts + 1 } else { parts });
            }
        }
        Value::Array(members) => members.iter_mut().for_each(|member| close(member, parts)),
        _ => {}
    }
}

#[test]
fn the_schema_is_printed_without_a_job() {
    let output = crate::rig::Rig::new().output(&["report", "--schema"]);
    assert!(output.status.success());
    assert_eq!(String::from_utf8(output.stdout).unwrap(), schema::render());
}

pub(super) fn certificate(serial: &str, text: &str) -> Event {
    let text = text.replace("KB-0412", serial);
    Event::Certificate(Box::new(Certificate::parse(&text).unwrap()))
}

#[test]
fn a_certificate_is_named_and_says_how_near_a_limit_a_pull_lies() {
    let line = || pass("final", window(160.0, TorqueUnit::NewtonMetre, 0.05), &[1, 2]);
    let job = |text: &str| {
        Job::on("Cover", Vec::new(), vec![step("cover", Pattern::Line, vec![line()])])
            .adapter("large", Reports { peak: true, ..Reports::default() })
            .kept(None, certificate("SY-large", text), Vec::new())
            .good("large", "cover/1", 1, 160.0)
            .good("large", "cover/2", 1, 152.5)
            .ends(Ending::Counted, &["cover/1", "cover/2"])
    };
    let report = job(EXAMPLE).report();
    let of = |report: &Report, member: usize| report.steps[0].fasteners[member].pulls[0].certified;
    assert!(!of(&report, 0).unwrap().close_to_limit);
    assert!(of(&report, 1).unwrap().close_to_limit);
    assert!(!said(&report.not_known).join(" ").contains("calibration"));
    let page = html::render(&report, Extent::Full, Language::English);
    assert!(page.contains("Nennford Calibration") && page.contains("close to a limit"));
    let text = plain::render(&report, Extent::Full, Language::English);
    let unwrapped = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for stated in
        ["covers 40 to 280 N·m, clockwise", "at 40 N·m +0.2 ±0.3 N·m", "at 280 N·m −0.9 ±1.4 N·m"]
    {
        assert!(page.contains(stated) && unwrapped.contains(stated), "{stated}: {unwrapped}");
    }
    for form in [page, text, json::render(&report)] {
        assert!(!form.to_lowercase().contains("complian"), "nothing is called compliant");
    }

    let overdue =
        job(&EXAMPLE.replace("2031-02-03", "2029-02-03").replace("2032-02-03", "2030-02-03"));
    let report = overdue.report();
    assert_eq!(of(&report, 0), None, "what is overdue says nothing of a pull");
    assert!(said(&report.not_known).contains(
        &"The calibration of adapter large was due on 2030-02-03: take its readings as an indication.".to_owned()
    ));
    let page = html::render(&report, Extent::Full, Language::English);
    assert!(page.contains("overdue on the day"));
}

#[test]
fn a_correction_takes_the_place_of_what_was_said_and_both_are_shown() {
    let report = Job::on(
        "Cover",
        Vec::new(),
        vec![step(
            "cover",
            Pattern::Single,
            vec![pass("final", window(20.0, TorqueUnit::NewtonMetre, 0.1), &[1])],
        )],
    )
    .personal(PersonalField::Vin, Some("OLD-VIN"))
    .fact(Event::Corrected { entry: 1, field: PersonalField::Vin })
    .personal(PersonalField::Vin, Some("NEW-VIN"))
    .report();
    let parsed: Value = serde_json::from_str(&json::render(&report)).unwrap();
    assert_eq!(parsed["vehicle"]["vin"]["text"], "NEW-VIN");
    assert_eq!(parsed["corrections"][0]["before"]["text"], "OLD-VIN");
    assert_eq!(parsed["corrections"][0]["corrects"], 1);
    let page = html::render(&report, Extent::Full, Language::English);
    assert!(page.contains("OLD-VIN") && page.contains("NEW-VIN"));
}

/// What the trace of a pull shows whose adapter shows `zero_nm` with nothing on it.
fn pulled_over(zero_nm: f64, peak_nm: f64) -> Description {
    let rest = (0..300).map(|at| if at % 2 == 0 { 0.05 } else { -0.05 });
    let rise = (0..100).map(|at| peak_nm * f64::from(at) / 99.0);
    let end = (0..50).map(|_| 0.0);
    let torque: Vec<f32> = rest.chain(rise).chain(end).map(|nm| (nm + zero_nm) as f32).collect();
    let source = Source {
        range_max: Some(Torque::from_nm(280.0)),
        accuracy_pct: Some(1.0),
        wind_up_deg_per_nm: None,
    };
    let block = Block { start: Stamp(0), rate_hz: 100.0, torque: &torque, turned_deg: None };
    let mut finder = PullFinder::new(source);
    let mut pull = None;
    let mut take = |found| {
        if let Found::Pull(description) = found {
            pull = Some(description);
        }
    };
    finder.feed(&block, &mut take);
    finder.finish(&mut take);
    pull.unwrap()
}

#[test]
fn a_zero_that_has_moved_is_noted_beside_the_pulls_that_it_touches() {
    let line = || pass("final", window(160.0, TorqueUnit::NewtonMetre, 0.05), &[1, 2, 3]);
    let job = |reports: Reports| {
        let mut job =
            Job::on("Cover", Vec::new(), vec![step("cover", Pattern::Line, vec![line()])])
                .adapter("large", reports);
        for (fastener, zero_nm) in [("cover/1", 0.0), ("cover/2", 0.3), ("cover/3", -1.9)] {
            job = job.reading("large", 160.0).described(pulled_over(zero_nm, 160.0)).verdict(
                (fastener, 1),
                TorqueVerdict::In,
                Act::Tighten,
                false,
            );
        }
        job.ends(Ending::Counted, &["cover/1", "cover/2", "cover/3"]).report()
    };
    let tells_peaks = Reports { peak: true, trace: true, ..Reports::default() };
    let report = job(tells_peaks);
    let moved = |report: &Report| -> Vec<Option<f64>> {
        let all = report.steps[0].fasteners.iter();
        all.map(|one| one.pulls[0].zero_moved_nm.map(|nm| (nm * 10.0).round() / 10.0)).collect()
    };
    assert_eq!(moved(&report), [None, None, Some(-1.9)]);
    let note = "its adapter's zero had moved by −1.9 N·m";
    let count =
        |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ").matches(note).count();
    assert_eq!(count(&html::render(&report, Extent::Full, Language::English)), 1);
    assert_eq!(count(&plain::render(&report, Extent::Full, Language::English)), 1);
    let told: Value = serde_json::from_str(&json::render(&report)).unwrap();
    let of = |member: usize| &told["steps"][0]["fasteners"][member]["pulls"][0]["zero_moved_nm"];
    assert!(of(0).is_null() && of(1).is_null() && of(2).as_f64().is_some_and(|nm| nm < -1.5));
    let cells: Vec<bool> =
        rows(&report).iter().map(|row| row["zero_moved_nm"].is_empty()).collect();
    assert_eq!(cells, [true, true, false]);

    let from_the_trace = job(Reports { trace: true, ..Reports::default() });
    assert_eq!(moved(&from_the_trace), [None, None, None], "its zero is taken off the peaks");
}

//! Rechecks: due when a job closes, listed, in a calendar, done by a job of their own.

use crate::rig::Rig;
use clampbook::core::event::{
    AdapterInfo, Conclusion, Ending, Input, Reading, Reports, WarningCode, What,
};
use clampbook::core::plan::parse;
use clampbook::core::recheck;
use clampbook::core::time::Stamp;
use clampbook::core::tracker::Tracker;
use clampbook::core::units::Torque;
use ical::IcalParser;
use serde_json::Value;
use std::fs;

pub(crate) const CORNER: &str = r#"plan = "Rear left, second evening"
vehicle = "Orvane Dray 3; \"the blue one\", workshop"
vin = "ORV4NE0DR4Y000007"
tolerance = "±10 %"
source = "sheet 12"

[joints.rear-left-wheel]
ring = 2
target = "90 N·m"

[joints.clamp]
target = "9 N·m"
recheck = "500 km"

[joints.sump]
target = "38 N·m"
"#;

/// A job that is closed.
pub(crate) fn closed() -> Rig {
    Rig::new().file("corner.toml", CORNER).run("job start corner.toml").run_with(
        "typed",
        "90 at rear-left-wheel/1\n91 at rear-left-wheel/2\n9 at clamp\n38 at sump\nclose\n",
    )
}

fn lines(rig: &Rig, args: &[&str]) -> Vec<Value> {
    let output = rig.output(args);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

fn report(rig: &Rig, job: &str) -> Value {
    serde_json::from_slice(&rig.output(&["report", job, "--json", "-"]).stdout).unwrap()
}

#[test]
fn what_is_to_be_pulled_again_is_listed_with_its_day_until_it_was_done() {
    let rig = closed();
    let told = rig.told();
    assert!(told.contains("job 1 closed"), "{told}");
    let listed = lines(&rig, &["recheck", "list", "--json"]);
    let groups: Vec<_> = listed.iter().map(|row| row["group"].as_str().unwrap()).collect();
    assert_eq!(groups, ["rear-left-wheel", "clamp"]);
    let wheel = &listed[0];
    assert_eq!((&wheel["state"], &wheel["km"]), (&Value::from("due"), &Value::from(80.0)));
    let day: jiff::civil::Date =
        report(&rig, "1")["job"]["closed"]["local"].as_str().unwrap()[..10].parse().unwrap();
    let by: jiff::civil::Date = wheel["by"].as_str().unwrap().parse().unwrap();
    assert_eq!(by, day + jiff::Span::new().days(14));
    assert_eq!(wheel["in_plan"], false);
    assert_eq!(wheel["reminder"], Value::Null, "a day that is set is the only one");
    let clamp = &listed[1];
    assert_eq!((&clamp["by"], &clamp["in_plan"]), (&Value::Null, &Value::Bool(true)));
    let reminder = day + jiff::Span::new().days(7);
    assert_eq!(clamp["reminder"], reminder.to_string());
    let shown = String::from_utf8(rig.output(&["recheck", "list"]).stdout).unwrap();
    let line = format!(
        "   1  clamp                due       after 500 km; reminder {reminder} (date by Clampbook, the \
         distance counts)  Orvane Dray 3"
    );
    assert!(shown.contains(&line), "{shown}");
    let told = rig.told();
    let closing = "pull again: clamp, after 500 km; reminder in 7 days (date by Clampbook, the distance counts)";
    assert!(told.contains(closing), "{told}");

    let rig = rig.run("job start --recheck 1");
    assert_eq!(lines(&rig, &["recheck", "list", "--json"])[0]["state"], "under-way");
    let rig = rig
        .run_with("typed", "90 at rear-left-wheel/1\n90 at rear-left-wheel/2\n9 at clamp\nclose\n");
    assert_eq!(lines(&rig, &["recheck", "list", "--json"]), Vec::<Value>::new());
    let done = lines(&rig, &["recheck", "list", "--all", "--json"]);
    assert_eq!(
        (&done[0]["state"], &done[0]["recheck_job"]),
        (&Value::from("done"), &Value::from(2))
    );

    let (first, second) = (report(&rig, "1"), report(&rig, "2"));
    assert_eq!(first["rechecks"][0]["group"], "rear-left-wheel");
    let told = &first["rechecks"][1];
    assert_eq!((&told["km"], &told["by"]), (&Value::from(500.0), &Value::Null));
    assert!(told["reminder"]["local"].as_str().unwrap().starts_with(&reminder.to_string()));
    assert!(first["rechecks"][0].get("reminder").is_none());
    assert_eq!(second["job"]["recheck_of"]["uuid"], first["job"]["uuid"]);
    assert_eq!(second["vehicle"], first["vehicle"]);
    assert_eq!(second["rechecks"], Value::Array(Vec::new()), "a recheck asks for no other");
    let groups = second["steps"].as_array().unwrap();
    assert_eq!(groups.len(), 2, "the sump is not pulled again");
    assert_eq!(first["steps"][0]["fasteners"][0]["pulls"].as_array().unwrap().len(), 1, "no edit");
}

#[test]
fn a_calendar_is_read_by_another_program() {
    let rig = closed();
    let text = String::from_utf8(rig.output(&["recheck", "calendar"]).stdout).unwrap();
    assert!(text.lines().all(|line| line.len() <= 75), "{text}");
    assert!(text.split('\n').all(|line| line.is_empty() || line.ends_with('\r')), "{text}");
    let mut calendars = IcalParser::new(text.as_bytes());
    let calendar = calendars.next().unwrap().unwrap();
    assert!(calendars.next().is_none());
    assert_eq!(calendar.events.len(), 2, "what has no day has one to remember it by");
    let of = |event: usize, name: &str| {
        let found = calendar.events[event].properties.iter().find(|property| property.name == name);
        found.unwrap_or_else(|| panic!("no {name}: {text}")).clone()
    };
    let property = |name: &str| of(0, name);
    let listed = lines(&rig, &["recheck", "list", "--json"]);
    let day = listed[0]["by"].as_str().unwrap().replace('-', "");
    assert_eq!(property("DTSTART").value, Some(day));
    let reminder = listed[1]["reminder"].as_str().unwrap().replace('-', "");
    assert_eq!(of(1, "DTSTART").value, Some(reminder));
    let summary = of(1, "SUMMARY").value.unwrap();
    assert!(summary.starts_with("Reminder to pull again: clamp\\, Orvane"), "{summary}");
    let description = of(1, "DESCRIPTION").value.unwrap();
    assert!(description.contains("(date by Clampbook\\, the distance counts)"), "{description}");
    let end = calendar.events[0].properties.iter().find(|property| property.name == "DTEND");
    assert!(end.is_none(), "an end would have to be later than the start (RFC 5545, 3.8.2.2)");
    let summary = property("SUMMARY").value.unwrap();
    assert_eq!(
        summary, "Pull again: rear-left-wheel\\, Orvane Dray 3\\; \"the blue one\"\\, workshop",
        "commas and semicolons are escaped (RFC 5545, 3.3.11)"
    );
    let uuid = report(&rig, "1")["job"]["uuid"].as_str().unwrap().to_owned();
    assert_eq!(property("UID").value, Some(format!("{uuid}-rear-left-wheel@clampbook")));
    assert!(property("DTSTAMP").value.is_some());
    let again = String::from_utf8(rig.output(&["recheck", "calendar"]).stdout).unwrap();
    assert_eq!(again, text, "the same days stay the same");
}

#[test]
fn a_vehicle_is_called_what_was_put_right_last() {
    let rig =
        closed().run("job correct 1 --vehicle=Dray").run("job correct 1 --vin=ORV4NE0DR4Y000008");
    let vehicles: Vec<_> = lines(&rig, &["recheck", "list", "--json"])
        .iter()
        .map(|row| row["vehicle"].clone())
        .collect();
    assert_eq!(vehicles, ["Dray", "Dray"]);
}

#[test]
fn a_calendar_says_how_by_the_joints_own_method() {
    let rig = Rig::new()
        .file(
            "mixed.toml",
            "plan = \"Mixed\"\nvehicle = \"Dray 3\"\nsource = \"s\"\ntolerance = \"±10 %\"\n\
             [joints.roue-avant-gauche]\nring = 2\ntarget = \"90 N·m\"\n\
             [joints.clamp]\ntarget = \"9 N·m\"\nrecheck = { method = \"back-off-and-pull\", when = \"2 weeks\" }\n\
             [joints.link]\ntarget = \"30 N·m\"\nrecheck = \"500 km\"\n",
        )
        .run("job start mixed.toml")
        .run_with("typed", "90 at roue-avant-gauche/1\n91 at roue-avant-gauche/2\n9 at clamp\n30 at link\nclose\n");
    assert!(rig.told().contains("job 1 closed"), "{}", rig.told());
    let output = rig.output(&["recheck", "calendar"]);
    let text = String::from_utf8(output.stdout).unwrap();
    let unfolded = text.replace("\r\n ", "");
    let calendar = IcalParser::new(text.as_bytes()).next().unwrap().unwrap();
    assert_eq!(calendar.events.len(), 3, "{text}");
    assert!(
        unfolded
            .contains("The wheel cold. Pull it to its final torque as it stands\\, never slacken"),
        "{unfolded}"
    );
    assert!(
        unfolded.contains(". Slacken it first\\, then pull it to its final torque."),
        "{unfolded}"
    );
    assert!(!text.contains(|c: char| c.is_control() && c != '\r' && c != '\n'), "{text:?}");
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "", "nothing is left out");
}

#[test]
fn what_cannot_be_pulled_again_is_refused() {
    let rig = Rig::new()
        .file(
            "sump.toml",
            "plan = \"Sump\"\nsource = \"s\"\ntolerance = \"±5 %\"\n[joints]\nsump = \"38 N·m\"\n",
        )
        .run("job start sump.toml");
    for (job, expected) in [("1", "job 1 is not closed"), ("7", "found no job 7")] {
        let output = rig.output(&["job", "start", "--recheck", job]);
        assert_eq!(output.status.code(), Some(2), "{job}");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(said.contains(expected), "{said}");
    }
    let rig = rig.run("job close --open tried");
    let output = rig.output(&["job", "start", "--recheck", "1"]);
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(said.contains("the plan of job 1 asks for no recheck"), "{said}");
    assert!(fs::metadata(rig.path("journal.sqlite")).is_ok());
}

#[test]
fn a_recheck_at_the_roadside_is_claimed_from_what_the_adapter_had_stored() {
    let rig = closed();
    let lines = [
        r#"{"kind":"header","format":"clampbook-recording","version":1,"started":"2026-05-16T17:00:00Z"}"#.to_owned(),
        r#"{"kind":"adapter","t":0,"adapter":"A","serial":"LK-0007","drive":null,"range_nm":[5,340],"accuracy_pct":2,"reports":["peak"]}"#.to_owned(),
    ];
    let pulls = [(5.0, 90.5), (9.0, 91.5), (20.0, 9.1)].into_iter().zip(1..).map(|((t, nm), seq)| {
        format!(r#"{{"kind":"reading","t":{t},"adapter":"A","seq":{seq},"peak_nm":{nm},"rotation_deg":null,"duration_ms":null}}"#)
    });
    let stored: String = lines.into_iter().chain(pulls).map(|line| line + "\n").collect();
    let rig = rig.file("stored.ndjson", stored);
    // No job is under way when the adapter hands over what it had stored.
    let mut served = rig.serve(&["--adapter", "sim:stored.ndjson,fast"]);
    let journal = rusqlite::Connection::open(rig.path("journal.sqlite")).unwrap();
    let loose = || -> i64 {
        let sql = "SELECT count(*) FROM event WHERE kind = 'reading' AND job IS NULL";
        journal.query_row(sql, [], |row| row.get(0)).unwrap()
    };
    for _ in 0..400 {
        if loose() == 3 {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
    assert_eq!(loose(), 3, "{}", rig.log());
    served.signal("TERM");
    let rig = rig.run("job start --recheck 1").run("job claim --all").run("job close");
    let told = rig.told();
    let second = report(&rig, "2");
    assert_eq!(second["job"]["recheck_of"]["number"], 1, "{told}");
    let peaks: Vec<f64> = second["steps"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|step| step["fasteners"].as_array().unwrap())
        .flat_map(|one| one["pulls"].as_array().unwrap())
        .map(|pull| pull["measured"]["peak_nm"].as_f64().unwrap())
        .collect();
    assert_eq!(peaks, [90.5, 91.5, 9.1], "{told}");
    assert_eq!(second["outcome"]["complete"], true, "{told}");
    let waiting = self::lines(&rig, &["recheck", "list", "--json"]);
    assert_eq!(waiting, Vec::<Value>::new());
    assert_eq!(report(&rig, "1")["steps"][0]["fasteners"][0]["pulls"].as_array().unwrap().len(), 1);
}

#[test]
fn the_daemon_starts_a_recheck_too() {
    let rig = closed();
    let served = rig.serve(&[]);
    let (status, _) = served.post("/v1/jobs/9/recheck", &Value::Null);
    assert_eq!(status, 404);
    let started = rig.output(&["job", "start", "--recheck", "1", "--json"]);
    assert!(started.status.success(), "{}", String::from_utf8_lossy(&started.stderr));
    let (status, body) = served.post("/v1/jobs/1/recheck", &Value::Null);
    assert_eq!(status, 409, "{body}");
}

#[test]
fn a_nut_that_does_not_turn_in_a_recheck_is_no_trouble() {
    let text = "plan = \"W\"\nsource = \"s\"\ntolerance = \"±10 %\"\n[joints.wheel]\nring = 5\ntarget = \"120 N·m\"\n";
    let plan = parse(text).unwrap().plan;
    let warned = |plan| {
        let mut tracker = Tracker::new(plan);
        let reports = Reports { peak: true, rotation: true, ..Reports::default() };
        let info = AdapterInfo {
            overdue_since: None,
            certificate: None,
            id: "a".into(),
            serial: "a".into(),
            drive: None,
            range: None,
            accuracy_pct: None,
            reports,
        };
        let mut codes = Vec::new();
        let mut tell = |tracker: &mut Tracker, at: f64, what| {
            for conclusion in tracker.step(Input { at: Stamp::from_seconds(at), what }).conclusions
            {
                if let Conclusion::Warning(warning) = conclusion {
                    codes.push(warning.code);
                }
            }
        };
        tell(&mut tracker, 0.0, What::Adapter(info));
        for seq in 1..=5 {
            let reading = Reading {
                adapter: "a".into(),
                seq,
                peak: Torque::from_nm(121.0),
                rotation_deg: Some(0.4),
                duration_ms: None,
                description: None,
            };
            tell(&mut tracker, 10.0 * seq as f64, What::Reading(reading));
        }
        tell(&mut tracker, 100.0, What::End);
        (codes, tracker.summary())
    };
    let (codes, _) = warned(plan.clone());
    assert!(codes.contains(&WarningCode::DidNotTurn), "{codes:?}");
    let (codes, summary) = warned(recheck::plan(&plan).unwrap());
    assert_eq!(codes, Vec::new());
    assert!(summary.complete);
    assert!(summary.fasteners.values().all(|ending| *ending == Ending::Counted));
}

//! Text that would act: markup, formulas, marks that reorder or hide, codes of terminals, lines that look like our own.
//! In every place where text can stand, and in every form of the report.

use super::formats::rows;
use super::job::{JOB, Job, context, pass, step, window};
use super::page::check_well_formed;
use super::tongues::everything;
use clampbook::core::event::{Entry, Event, PersonalField, Reports, Say, Summary, WarningCode};
use clampbook::core::language::Language;
use clampbook::core::plan::{Cure, Hold, Pattern, Plan, Step};
use clampbook::core::units::TorqueUnit;
use clampbook::report::{Extent, Report, html, json, plain};
use serde_json::Value;
use std::collections::BTreeSet;

/// Stands at the beginning of every text while nothing is hostile.
const MARKED: &str = "Qqq";

/// What stands there otherwise.
const HOSTILE: [&str; 13] = [
    "=HYPERLINK(\"x\",\"y\")",
    "+cmd|' /C calc'!A0",
    "-2+3",
    "@SUM(1,1)",
    "\t=1",
    "</style><script>alert(\"1\")</script>&amp;",
    "\" onload=\"alert(1)\" '><img src=x>",
    "]]></svg><!-- &#60;",
    "a\"b',;\r\n\"=1",
    "\nOpen: 0 fasteners\n",
    "pin\u{202E}gnp.exe\u{0000}\u{200B}\u{2066}\u{FEFF}\u{E0041}",
    "\u{1b}]0;title\u{7}\u{1b}[31mred\u{9b}2J",
    "{ $who } { \"{\" }",
];

/// A job in which everything that people and adapters can write is `hostile`.
pub(super) fn hostile_job(hostile: &str) -> Job {
    let hold = Hold { name: hostile.to_owned(), text: hostile.to_owned(), cure: Cure::PullAgain };
    let ring = Step {
        title: Some(hostile.to_owned()),
        source: Some(hostile.to_owned()),
        socket: Some(hostile.to_owned()),
        thread: Some(hostile.to_owned()),
        condition: Some(hostile.to_owned()),
        notes: vec![hostile.to_owned()],
        holds: vec![0],
        ..step(
            hostile,
            Pattern::Ring,
            vec![pass(hostile, window(20.0, TorqueUnit::NewtonMetre, 0.1), &[1, 2, 3])],
        )
    };
    let first = format!("{hostile}/1");
    Job::on(hostile, vec![hold], vec![ring])
        .personal(PersonalField::Vehicle, Some(hostile))
        .personal(PersonalField::Vin, Some(hostile))
        .personal(PersonalField::Plate, Some(hostile))
        .personal(PersonalField::Operator, Some(hostile))
        .adapter(hostile, Reports::default())
        .good(hostile, &first, 1, 20.0)
        .warn(WarningCode::Order, &first, hostile)
        .confirm(hostile)
        .say(Say::Note { text: String::new() })
        .personal(PersonalField::Note, Some(hostile))
        .fact(Event::Corrected { entry: 1, field: PersonalField::Note })
        .personal(PersonalField::Note, Some(hostile))
        .close(Some(hostile))
}

#[test]
fn hostile_text_is_only_text_in_every_form() {
    let long = "n".repeat(10_240);
    for hostile in HOSTILE.into_iter().chain([long.as_str()]) {
        let report = hostile_job(hostile).report();
        for row in rows(&report) {
            for (column, cell) in row {
                let number = cell.is_empty() || cell.parse::<f64>().is_ok();
                let acts = cell.trim_start().starts_with(['=', '+', '-', '@']);
                assert!(number || !acts, "{hostile:?} acts in {column}: {cell:?}");
                let hidden = |c: char| c.is_control() || ('\u{202A}'..='\u{202E}').contains(&c);
                assert!(!cell.contains(hidden), "{hostile:?} hides in {column}: {cell:?}");
            }
        }
        let copies = [Extent::Full, Extent::Customer]
            .into_iter()
            .flat_map(|extent| Language::ALL.map(|language| (extent, language)));
        for (extent, language) in copies {
            let text = plain::render(&report, extent, language);
            let acts = |c: char| {
                c != '\n'
                    && (c.is_control() || ('\u{202A}'..='\u{202E}').contains(&c) || c == '\u{200B}')
            };
            assert!(!text.contains(acts), "{hostile:?} acts on a terminal: {text:?}");
            let words: Vec<&str> = text.split_whitespace().collect();
            let ended = match language {
                Language::English => "/3: open",
                Language::German => "/3: offen",
                Language::Spanish => "/3: abierto",
                Language::French => "/3 : ouvert",
            };
            assert!(words.join(" ").contains(ended), "{text}");
            let page = html::render(&report, extent, language);
            assert!(!page.contains("<script"), "markup came through");
        }
        let parsed: Value = serde_json::from_str(&json::render(&report)).unwrap();
        assert_eq!(parsed["vehicle"]["text"]["text"], hostile);
    }
}

/// The entries with `mark` before every text in them. Whatever takes any text is found by trying: a word of a closed set,
/// a number or a day no longer reads back.
fn marked(job: &Job, mark: &str) -> Vec<Entry> {
    let mut entries = job.entries.clone();
    for entry in &mut entries {
        let mut value = serde_json::to_value(&entry.event).unwrap();
        let mut places = Vec::new();
        texts(&value, &mut String::new(), &mut places);
        for place in places {
            let before = value.clone();
            put(&mut value, &place, mark);
            let reads_back = serde_json::from_value::<Event>(value.clone())
                .is_ok_and(|event| serde_json::to_value(event).unwrap() == value);
            if !reads_back {
                value = before;
            }
        }
        entry.event = serde_json::from_value(value).unwrap();
        for (field, text) in &mut entry.personal {
            let packed = matches!(field, PersonalField::Photo | PersonalField::Trace);
            if let Some(text) = text.as_mut().filter(|_| !packed) {
                text.insert_str(0, mark);
            }
        }
    }
    entries
}

/// Where a text stands, or a name (then with `true`) that is one.
type Place = (String, bool);

fn texts(value: &Value, at: &mut String, found: &mut Vec<Place>) {
    let length = at.len();
    match value {
        Value::String(_) => found.push((at.clone(), false)),
        Value::Array(members) => {
            for (index, member) in members.iter().enumerate() {
                *at += &format!("/{index}");
                texts(member, at, found);
                at.truncate(length);
            }
        }
        Value::Object(members) => {
            for (name, member) in members {
                *at += &format!("/{}", name.replace('~', "~0").replace('/', "~1"));
                texts(member, at, found);
                // Behind what stands in it, for its place changes.
                found.push((at.clone(), true));
                at.truncate(length);
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

fn put(value: &mut Value, (place, is_name): &Place, mark: &str) {
    if !is_name {
        let Some(Value::String(text)) = value.pointer_mut(place) else { return };
        return text.insert_str(0, mark);
    }
    let (parent, name) = place.rsplit_once('/').unwrap();
    let name = name.replace("~1", "/").replace("~0", "~");
    if let Some(Value::Object(members)) = value.pointer_mut(parent)
        && let Some(member) = members.remove(&name)
    {
        members.insert(format!("{mark}{name}"), member);
    }
}

/// The report of a job with `mark` before every text.
fn report(job: &Job, mark: &str) -> Report {
    let entries = marked(job, mark);
    let plan = |entry: &Entry| -> Option<Plan> {
        match &entry.event {
            Event::JobStarted { plan, .. } => Some(plan.clone()),
            _ => None,
        }
    };
    let summary = |entry: &Entry| -> Option<Summary> {
        match &entry.event {
            Event::JobClosed { summary, .. } => Some(summary.clone()),
            _ => None,
        }
    };
    let plan = entries.iter().find_map(plan).unwrap();
    let summary = entries.iter().find_map(summary).unwrap();
    Report::build(&entries, &plan, &summary, &context(JOB)).unwrap()
}

/// The elements of a page with the names of their attributes, in order.
fn skeleton(page: &str) -> Vec<String> {
    let tags = page.split('<').skip(1).map(|piece| piece.split_once('>').unwrap().0);
    tags.map(|tag| tag.split('"').step_by(2).collect()).collect()
}

fn acts_or_hides(c: char) -> bool {
    let hides = ['\u{200B}', '\u{2066}', '\u{FEFF}', '\u{E0041}'];
    (c.is_control() && c != '\n') || ('\u{202A}'..='\u{202E}').contains(&c) || hides.contains(&c)
}

#[test]
fn a_text_before_every_text_changes_nothing_but_the_texts() {
    let job = everything();
    let plain_one = report(&job, MARKED);
    let plain_json = json::render(&plain_one);
    let plain_rows = rows(&plain_one);
    let pages =
        Language::ALL.map(|language| skeleton(&html::render(&plain_one, Extent::Full, language)));
    let long = "n".repeat(10_240);
    for hostile in HOSTILE.into_iter().chain([long.as_str()]) {
        let report = report(&job, hostile);
        let quoted = |text: &str| serde_json::to_string(text).unwrap().trim_matches('"').to_owned();
        assert_eq!(
            json::render(&report),
            plain_json.replace(MARKED, &quoted(hostile)),
            "{hostile:?}"
        );

        let rows = rows(&report);
        assert_eq!(rows.len(), plain_rows.len(), "{hostile:?}");
        for (column, cell) in rows.into_iter().flatten() {
            let number = cell.is_empty() || cell.parse::<f64>().is_ok();
            let acts = cell.trim_start().starts_with(['=', '+', '-', '@']);
            assert!(number || !acts, "{hostile:?} acts in {column}: {cell:?}");
            assert!(!cell.contains(acts_or_hides), "{hostile:?} hides in {column}: {cell:?}");
        }

        for (language, skeleton_of_plain) in Language::ALL.into_iter().zip(&pages) {
            let page = html::render(&report, Extent::Full, language);
            check_well_formed(&page);
            assert!(skeleton(&page) == *skeleton_of_plain, "{hostile:?} made an element");
            let hides = |c: char| c != '\t' && acts_or_hides(c);
            let hidden = page.find(hides).map(|at| page[at..].chars().take(60).collect::<String>());
            assert_eq!(hidden, None, "{hostile:?} hides on the page");
            for extent in [Extent::Full, Extent::Customer] {
                let text = plain::render(&report, extent, language);
                assert!(!text.contains(acts_or_hides), "{hostile:?} acts on a terminal: {text:?}");
                let forged = text.lines().any(|line| line.starts_with("Open: 0 fasteners"));
                assert!(!forged, "a line of ours was forged: {text}");
            }
        }
    }
}

#[test]
fn every_text_of_a_report_comes_from_outside_or_is_a_word_of_ours() {
    let told: Value = serde_json::from_str(&json::render(&report(&everything(), MARKED))).unwrap();
    let mut places = Vec::new();
    texts(&told, &mut String::new(), &mut places);
    let is_number = |part: &&str| part.bytes().all(|octet| octet.is_ascii_digit());
    let ours: BTreeSet<String> = places
        .into_iter()
        .filter(|(place, is_name)| {
            !is_name && !told.pointer(place).unwrap().as_str().unwrap().contains(MARKED)
        })
        .map(|(place, _)| {
            place
                .split('/')
                .skip(1)
                .map(|part| if is_number(&part) { "*" } else { part })
                .collect::<Vec<_>>()
                .join("/")
        })
        .collect();
    // A place that is new here is either of a closed set, or was forgotten in what is hostile above.
    insta::assert_snapshot!(ours.into_iter().collect::<Vec<_>>().join("\n"));
}

//! The report in the languages of the prompts: nothing is left in English, nothing is said wrongly.

use super::formats::certificate;
use super::job::{JOB, Job, context, pass, step, window};
use super::page::{check_well_formed, words_of};
use clampbook::core::certificate::{Direction, EXAMPLE};
use clampbook::core::decision::Rule;
use clampbook::core::event::{
    Act, Basis, Ending, Event, Gap, Given, JobId, LinkChange, LinkState, Mark, Origin,
    PersonalField, Reading, ReadingKey, Reports, Say, TorqueVerdict, Verdict, Warning, WarningCode,
};
use clampbook::core::language::Language;
use clampbook::core::photo::{Photo, PhotoKind};
use clampbook::core::plan::{Cure, Expect, Hold, Identity, Pattern, Step, StepIndex, check_name};
use clampbook::core::prompt::page_words;
use clampbook::core::recheck::Due;
use clampbook::core::time::Stamp;
use clampbook::core::units::{Torque, TorqueUnit};
use clampbook::report::{Extent, Report, html, json, plain, table};
use std::fs;
use std::path::Path;

/// What was said of a pull, in words of no language.
const SAID: &str = "Zur-7.";

const WARNINGS: [WarningCode; 31] = [
    WarningCode::LowTorque,
    WarningCode::HighTorque,
    WarningCode::Order,
    WarningCode::Repeat,
    WarningCode::DidNotTurn,
    WarningCode::Skipped,
    WarningCode::Loosened,
    WarningCode::HoldOpen,
    WarningCode::RedoSlack,
    WarningCode::BackedOff,
    WarningCode::UnitMixUp,
    WarningCode::SidesDiffer,
    WarningCode::Driven,
    WarningCode::NoAccess,
    WarningCode::AdapterRange,
    WarningCode::CalibrationDue,
    WarningCode::NotCertified,
    WarningCode::Unexpected,
    WarningCode::Slipped,
    WarningCode::ThreadDamage,
    WarningCode::Yielding,
    WarningCode::LinkLost,
    WarningCode::Gap,
    WarningCode::UnknownName,
    WarningCode::PastSlot,
    WarningCode::LowAngle,
    WarningCode::OverAngle,
    WarningCode::Unconfirmed,
    WarningCode::AdapterSuspect,
    WarningCode::GuardBand,
    WarningCode::Cured,
];

const BASES: [Basis; 7] = [
    Basis::PlanOrder,
    Basis::Mark,
    Basis::Motion,
    Basis::Rotation,
    Basis::Trace,
    Basis::Torque,
    Basis::Time,
];

fn steps() -> Vec<Step> {
    let Expect::Window(mut least) = window(90.5, TorqueUnit::PoundForceFoot, 0.0) else {
        unreachable!("a window was asked for");
    };
    least.high = None;
    let mut nut = Step {
        title: Some("Nave".to_owned()),
        holds: vec![0],
        life_critical: true,
        identity: Identity::Shown,
        turned_to_reach: true,
        no_recheck: true,
        left_hand: true,
        socket: Some("36".to_owned()),
        thread: Some("M24×1,5".to_owned()),
        condition: Some("sicca".to_owned()),
        ..step("nave", Pattern::Single, vec![pass("ultima", Expect::Window(least), &[1])])
    };
    nut.rules.acceptance = Rule::Guarded;
    let order = [1, 3, 2, 4];
    let mut again = pass("iterum", window(81.5, TorqueUnit::NewtonMetre, 0.1), &order);
    (again.check, again.ordered) = (true, false);
    let mut ring = Step {
        pitch_circle_mm: Some(130.5),
        after: vec![StepIndex(0)],
        ..step(
            "rota",
            Pattern::Ring,
            vec![
                pass("manu", Expect::ByHand, &order),
                pass("ultima", window(81.5, TorqueUnit::NewtonMetre, 0.1), &order),
                again,
            ],
        )
    };
    ring.passes[1].holds = vec![1];
    let row = step("linea", Pattern::Line, vec![pass("sola", Expect::NoFigure, &[1, 2])]);
    let clip = Step {
        source: None,
        ..step("fibula", Pattern::Single, vec![pass("sola", Expect::ToBeLookedUp, &[1])])
    };
    vec![nut, ring, row, clip]
}

/// A reading, and what was concluded of it from all that there is.
fn pulled(
    mut job: Job,
    key: Option<ReadingKey>,
    adapter: &str,
    peak: f64,
    on: &str,
    act: Act,
) -> Job {
    job.seq += 1;
    let (at, seq) = (job.now(), job.seq);
    let key = key.unwrap_or_else(|| ReadingKey::Arrival {
        serial: format!("SY-{adapter}"),
        connection: at.0,
        arrival: seq as u32,
    });
    let reading = Reading {
        adapter: adapter.to_owned(),
        seq,
        peak: Torque::from_nm(peak),
        rotation_deg: Some(12.5),
        duration_ms: None,
        description: None,
    };
    let fastener = (on != "-").then(|| on.to_owned());
    let job = job.fact(Event::Reading {
        key,
        at,
        at_error_us: Some(2_500_000),
        reading: reading.clone(),
    });
    job.fact(Event::Verdict(Verdict {
        at,
        adapter: reading.adapter,
        seq,
        step: fastener.as_ref().map(|_| "rota".to_owned()),
        pass: fastener.as_ref().map(|_| 2),
        fastener,
        confidence: 0.999,
        basis: if on == "-" { Vec::new() } else { BASES.to_vec() },
        peak: reading.peak,
        interval: None,
        torque: if on == "-" { TorqueVerdict::Na } else { TorqueVerdict::High },
        act,
        revised: false,
        surer: false,
    }))
}

fn said(job: Job, say: Say, origin: Origin) -> Job {
    job.fact(Event::Mark(Mark { say, origin }))
}

/// A certificate of that adapter with these days.
fn paper(serial: &str, date: &str, due: &str) -> Event {
    let text = EXAMPLE.replace("2031-02-03", date).replace("2032-02-03", due);
    let (method, laboratory) = ("static torque on a lever with masses, after", ", accreditation");
    assert!(text.contains(method) && text.contains(laboratory));
    let text = text.replace(method, "vectis").replace(" the laboratory's procedure", "");
    certificate(serial, &text.replace(" Calibration, accreditation", ""))
}

/// The same without points, and in both directions.
fn bare(serial: &str, date: &str, due: &str) -> Event {
    let mut event = paper(serial, date, due);
    if let Event::Certificate(certificate) = &mut event {
        certificate.points.clear();
        certificate.directions.push(Direction::CounterClockwise);
    }
    event
}

/// A job with whatever a report can tell of. What comes from outside is of no language.
pub(super) fn everything() -> Job {
    let hold =
        |name: &str, cure| Hold { name: name.to_owned(), text: "512 ± 5 mm?".to_owned(), cure };
    let holds = vec![hold("altus", Cure::Slacken), hold("humi", Cure::PullAgain)];
    let one = || "rota/1".to_owned();
    let all = Reports {
        peak: true,
        rotation: true,
        trace: true,
        motion: true,
        button: true,
        typed: false,
    };
    let turning = Reports { motion: false, trace: false, button: false, ..all };
    let peak_only = Reports { peak: true, ..Reports::default() };
    let photo = Photo { about: "rota/1".to_owned(), format: PhotoKind::Png, octets: 3 };
    let seen = vec![
        (PersonalField::Photo, Some("AAAA".to_owned())),
        (PersonalField::Operator, Some("Quinta".to_owned())),
    ];
    let shift = |days: i64| Stamp(super::job::START + days * 86_400_000_000);
    let mut job = Job::on("Orvane Dray 3", holds, steps())
        .personal(PersonalField::Vehicle, Some("Orvane Dray 3, 2024"))
        .personal(PersonalField::Vin, None)
        .personal(PersonalField::Plate, None)
        .fact(Event::RecheckOf { job: JobId(3), uuid: "0197a6f0-3".to_owned() })
        .adapter("ada", peak_only)
        .adapter("adb", turning)
        .adapter("adc", all)
        .adapter("add", peak_only);
    if let Some(Event::Adapter(info)) = job.entries.last_mut().map(|entry| &mut entry.event) {
        info.accuracy_pct = None;
    }
    job = job
        .kept(None, paper("SY-adb", "2031-02-03", "2032-02-03"), Vec::new())
        .kept(None, paper("SY-adc", "2029-02-03", "2030-02-03"), Vec::new())
        .kept(None, bare("SY-add", "2031-06-03", "2032-02-03"), Vec::new())
        .kept(Some(JOB), Event::Photo(photo), seen)
        .confirm("altus");
    job = pulled(job, Some(ReadingKey::Typed { number: 1 }), "typed", 95.5, "rota/1", Act::Tighten);
    job = pulled(job, None, "ada", 96.5, "rota/1", Act::Recheck);
    job = pulled(job, None, "adc", -31.5, "rota/2", Act::Loosen);
    job = pulled(job, None, "adc", -31.5, "-", Act::Trial);
    job = job
        .good("adb", "rota/2", 2, 89.2)
        .verdict(("rota/3", 2), TorqueVerdict::In, Act::Tighten, true)
        .reading("adb", 60.5)
        .verdict(("-", 0), TorqueVerdict::Na, Act::Trial, false)
        .verdict(("rota/4", 2), TorqueVerdict::Low, Act::Tighten, true)
        .reading("adb", 62.5)
        .verdict(("rota/4", 2), TorqueVerdict::Low, Act::Tighten, false)
        .verdict(("-", 0), TorqueVerdict::Na, Act::Trial, true)
        .good("adc", "nave/1", 1, 124.5)
        .good("adb", "rota/4", 2, 72.5)
        .reading("adb", 61.5);
    let says = [
        (Say::At { fastener: one() }, Origin::CommandLine),
        (Say::Stated { fastener: "linea/1".to_owned() }, Origin::Page),
        (Say::Opened { fastener: one() }, Origin::Button),
        (Say::Low { fastener: one() }, Origin::Recording),
        (Say::AlsoOpened { name: "krk".to_owned() }, Origin::Page),
        (Say::Spoiled { fastener: one() }, Origin::Page),
        (Say::Figure { of: "altus".to_owned(), value: "512 mm".to_owned() }, Origin::Page),
        (Say::Skip { fastener: "linea/2".to_owned(), reason: "caret".to_owned() }, Origin::Typed),
        (Say::Retract, Origin::Pedal),
        (Say::Note { text: "nova".to_owned() }, Origin::Page),
    ];
    for (say, origin) in says {
        job = said(job, say, origin);
    }
    job = job.fact(Event::Given(Given {
        line: "fibula 12".to_owned(),
        origin: Origin::Typed,
        steps: Vec::new(),
    }));
    job = WARNINGS.into_iter().fold(job, |job, code| job.warn(code, "rota/1", SAID));
    let at = job.now();
    job = job.fact(Event::Warning(Warning {
        at,
        code: WarningCode::CalibrationDue,
        fastener: None,
        adapter: None,
        seq: None,
        text: SAID.to_owned(),
    }));
    let adapter = || "ada".to_owned();
    for state in [LinkState::Lost, LinkState::Back, LinkState::Asleep] {
        job = job.fact(Event::Link(LinkChange { adapter: adapter(), state }));
    }
    let gap = |first, last| Event::Gap(Gap { adapter: adapter(), epoch: None, first, last });
    let loose = |key, at| Event::Reading {
        key,
        at,
        at_error_us: None,
        reading: Reading {
            adapter: adapter(),
            seq: 9,
            peak: Torque::from_nm(-20.5),
            rotation_deg: None,
            duration_ms: None,
            description: None,
        },
    };
    let numbered = ReadingKey::Arrival { serial: "SY-ada".to_owned(), connection: 1, arrival: 1 };
    let at = job.now();
    job = job
        .fact(gap(6, 7))
        .fact(gap(9, 9))
        .kept(None, gap(11, 12), Vec::new())
        .kept(None, loose(ReadingKey::Typed { number: 2 }, at), Vec::new())
        .kept(None, loose(numbered, at), Vec::new())
        .fact(Event::JobParked { open: vec![one()] })
        .fact(Event::JobResumed)
        .fact(Event::JobParked { open: Vec::new() })
        .ends(Ending::Shown, &["rota/3"])
        .ends(Ending::Counted, &["rota/1", "rota/2"])
        .ends(Ending::Stated, &["linea/1"])
        .surely(0.999, &["rota/3"])
        .surely(0.934, &["rota/1", "rota/2"])
        .surely(0.001, &["rota/4"])
        .close(Some("deest"));
    for field in [
        PersonalField::Vehicle,
        PersonalField::Vin,
        PersonalField::Plate,
        PersonalField::Operator,
        PersonalField::Note,
    ] {
        job = job.fact(Event::Corrected { entry: 1, field }).personal(field, Some("Orvane Dray 4"));
    }
    let due = |km, by: Option<Stamp>, in_plan| {
        let reminder = by.is_none().then(|| shift(7));
        Due { group: "rota".to_owned(), km, by, reminder, in_plan }
    };
    let due = vec![
        due(Some(80.5), Some(shift(14)), false),
        due(Some(80.0), None, true),
        due(None, Some(shift(14)), true),
        due(None, None, true),
    ];
    job.fact(Event::RecheckDue { due })
}

/// Jobs that together make a report say all that it can say.
pub(super) fn reports() -> Vec<Report> {
    let small = || {
        let plug = window(38.5, TorqueUnit::NewtonMetre, 0.1);
        vec![step("plug", Pattern::Single, vec![pass("ultima", plug, &[1])])]
    };
    let redacted = everything().personal(PersonalField::Note, Some("nova")).report().redacted();
    let mut untouched = Job::on("Nave", Vec::new(), small()).report();
    untouched.chain.length = 1;
    let begun = Job::on("Nave", Vec::new(), small()).warn(WarningCode::LowTorque, "plug/1", SAID);
    let lost = Gap { adapter: "ada".to_owned(), epoch: None, first: 6, last: 6 };
    let done = Job::on("Nave", Vec::new(), small())
        .good("ada", "plug/1", 1, 38.5)
        .fact(Event::Gap(lost))
        .ends(Ending::Shown, &["plug/1"]);
    let mut summary = done.summary();
    summary.holds.insert(check_name("ada"), false);
    let listed = Report::build(&done.entries, &done.plan, &summary, &context(JOB)).unwrap();
    vec![everything().report(), redacted, untouched, begun.report(), done.report(), listed]
}

/// Without what was said in English before, and is quoted so.
fn unquoted(text: &str) -> String {
    let without = |text: &str, open: &str, close: &str| {
        let mut pieces = text.split(open);
        let mut left = pieces.next().unwrap_or_default().to_owned();
        for piece in pieces {
            left += piece.split_once(close).expect("an end of the quotation").1;
        }
        left
    };
    without(&without(text, "<q lang=\"en\">", "</q>"), "“", "”").replace("[en]", "")
}

/// Everything of ours that a reader of that language can see of a report.
fn seen(report: &Report, language: Language) -> String {
    let mut seen = String::new();
    for extent in [Extent::Full, Extent::Customer] {
        let page = html::render(report, extent, language);
        check_well_formed(&page);
        let page = unquoted(&page);
        assert!(page.contains(&format!("<html lang=\"{language}\">")));
        seen += &words_of(&page.replace('<', " <"));
        for attribute in ["data-label=\"", "aria-label=\""] {
            let values = page.split(attribute).skip(1);
            let values = values.filter_map(|rest| rest.split_once('"'));
            values.for_each(|(value, _)| seen += &format!(" {value} "));
        }
        let title = page.split_once("<title>").and_then(|(_, rest)| rest.split_once("</title>"));
        seen += title.expect("a title").0;
        seen += &unquoted(&plain::render(report, extent, language));
    }
    plainly(&seen)
}

/// Words alone, in small letters, between single spaces.
fn plainly(text: &str) -> String {
    let part = |letter: char| letter.is_alphanumeric() || "'’-%°".contains(letter);
    let text: String = text.chars().map(|one| if part(one) { one } else { ' ' }).collect();
    format!(" {} ", text.to_lowercase().split_whitespace().collect::<Vec<_>>().join(" "))
}

fn file(name: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(name)).unwrap()
}

/// The table of a language: name and text.
fn words(language: Language) -> Vec<(String, String)> {
    let text = file(&format!("src/report/words/{language}.ftl"));
    let pairs = text.lines().filter_map(|line| line.split_once(" = "));
    pairs.map(|(name, text)| (name.to_owned(), text.to_owned())).collect()
}

/// The pieces of a sentence between its places and marks.
fn pieces(text: &str) -> Vec<String> {
    let mut pieces = Vec::new();
    for rest in text.split("{ $") {
        let behind = rest.split_once(" }").map_or(rest, |(_, behind)| behind);
        let behind = behind.split(['.', ',', ';', ':', '(', ')', '[', ']']);
        pieces.extend(behind.map(plainly).filter(|piece| piece.chars().any(char::is_alphabetic)));
    }
    pieces
}

#[test]
fn the_same_job_is_told_in_every_language() {
    for language in Language::ALL {
        let text = plain::render(&everything().report(), Extent::Full, language);
        insta::assert_snapshot!(format!("everything_{language}"), text);
    }
}

#[test]
fn no_english_is_left_in_another_language() {
    let reports = reports();
    for language in Language::ALL.into_iter().filter(|one| *one != Language::English) {
        let own: String = words(language).iter().map(|(_, text)| plainly(text)).collect();
        for report in &reports {
            let seen = seen(report, language);
            for (name, english) in words(Language::English) {
                for piece in pieces(&english).into_iter().filter(|piece| !own.contains(piece)) {
                    assert!(!seen.contains(&piece), "{language}: {piece:?} of {name} in {seen}");
                }
            }
        }
    }
}

#[test]
fn every_word_of_the_table_reaches_its_reader() {
    let reports = reports();
    for language in Language::ALL {
        let seen: String = reports.iter().map(|report| seen(report, language)).collect();
        for (name, text) in words(language) {
            // Drawings of traces have a test of their own.
            let drawn = name.starts_with("plot-") || name.starts_with("trace");
            let several = text.contains("{ $");
            // A link that is back ends a time without one, and a pass with a window shows that.
            let silent = ["link-back", "expect-window"].contains(&name.as_str());
            if !drawn && !several && !silent {
                assert!(seen.contains(&plainly(&text)), "{language}: {name} is nowhere");
            }
        }
    }
}

/// Every text between quotation marks.
fn literals(text: &str) -> impl Iterator<Item = &str> {
    text.split('"').skip(1).step_by(2)
}

#[test]
fn whatever_is_said_is_in_the_table_and_the_table_has_nothing_else() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut sources: Vec<_> = ["report", "report/html", "report/pdf", "report/words", "core/event"]
        .iter()
        .flat_map(|part| fs::read_dir(folder.join(part)).unwrap())
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "rs"))
        .collect();
    sources.sort();
    let known = words(Language::English);
    let known: Vec<&str> = known.iter().map(|(name, _)| name.as_str()).collect();
    let mut quoted = Vec::new();
    for path in sources {
        let text = fs::read_to_string(&path).unwrap();
        let text: String = text
            .lines()
            .filter(|line| !line.contains('\''))
            .map(|line| format!("{line}\n"))
            .collect();
        quoted.extend(literals(&text).map(str::to_owned));
        for call in ["word(\"", "say(\"", "Saying::new(\"", "(words, \""] {
            for rest in text.split(call).skip(1) {
                let name = rest.split('"').next().unwrap();
                assert!(known.contains(&name), "{}: {name} is not in the table", path.display());
            }
        }
    }
    for name in known {
        assert!(quoted.iter().any(|one| one == name), "nobody says {name}");
    }
}

#[test]
fn endings_are_called_what_the_page_calls_them() {
    for language in Language::ALL {
        let page = page_words(language);
        let own = words(language);
        let word = |name: &str| own.iter().find(|(one, _)| one == name).unwrap().1.to_lowercase();
        for name in ["shown", "counted", "stated", "open"] {
            assert_eq!(word(name), page[name].to_lowercase(), "{language}");
        }
        assert_eq!(plainly(&word("count-only")), plainly(&page["counted-help"]), "{language}");
    }
}

#[test]
fn nothing_is_called_safe_in_any_language() {
    let safe = [
        "safe",
        "safely",
        "sicher",
        "sichere",
        "sicherheit",
        "seguro",
        "segura",
        "seguridad",
        "sûr",
        "sûre",
        "sécurité",
    ];
    for language in Language::ALL {
        for report in reports() {
            let seen = seen(&report, language);
            for word in safe {
                assert!(!seen.contains(&format!(" {word} ")), "{language}: {word}");
            }
        }
    }
}

#[test]
fn figures_have_the_comma_that_their_reader_expects_and_programs_the_point() {
    let report = everything().report();
    for (language, figure) in [
        (Language::English, "90.5 lbf·ft (122.7 N·m), at least 90.5 lbf·ft (at least 122.8 N·m)"),
        (
            Language::German,
            "90,5 lbf·ft (122,7 N·m), mindestens 90,5 lbf·ft (mindestens 122,8 N·m)",
        ),
        (Language::Spanish, "90,5 lbf·ft (122,7 N·m), al menos 90,5 lbf·ft (al menos 122,8 N·m)"),
        (Language::French, "90,5 lbf·ft (122,7 N·m), au moins 90,5 lbf·ft (au moins 122,8 N·m)"),
    ] {
        let text = plain::render(&report, Extent::Full, language);
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(figure), "{text}");
    }
    assert!(json::render(&report).contains("\"decision_rule\": \"A pull is judged by its peak"));
    assert!(table::render(&report).contains(",95.5,"));
}

#[test]
fn what_a_warning_told_is_told_in_the_language_of_the_report() {
    let english = "wheel/2 was left low: 81.5 N·m, but 108.0–132.0 N·m is asked. Pull it again.";
    let mut report = everything().report();
    report.warnings[0].text = english.to_owned();
    for (language, expected) in [
        (Language::English, english),
        (
            Language::German,
            "wheel/2 blieb zu niedrig: 81,5 N·m, gefordert ist 108,0–132,0 N·m. Nochmals ziehen.",
        ),
        (
            Language::Spanish,
            "wheel/2 quedó por debajo: 81,5 N·m, pero se pide 108,0–132,0 N·m. Vuelva a apretarlo.",
        ),
        (
            Language::French,
            "wheel/2 est resté trop bas : 81,5 N·m, demandé : 108,0–132,0 N·m. Resserrez-le.",
        ),
    ] {
        let page = html::render(&report, Extent::Full, language);
        assert!(page.contains(&format!("<bdi>{expected}</bdi>")), "{language}");
        let text = plain::render(&report, Extent::Full, language);
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(expected), "{language}: {text}");
    }
    assert!(json::render(&report).contains(english), "programs read it as it was said");
}

#[test]
fn what_was_said_in_english_is_quoted_as_english() {
    let report = everything().report();
    let page = |language| html::render(&report, Extent::Full, language);
    assert!(!page(Language::English).contains("lang=\"en\"><bdi>"));
    for language in [Language::German, Language::Spanish, Language::French] {
        let quoted = format!("<q lang=\"en\"><bdi>{SAID}</bdi></q>");
        // In the list, and above it while it counts.
        assert!(page(language).matches(&quoted).count() > WARNINGS.len(), "{language}");
        let text = plain::render(&report, Extent::Full, language);
        assert!(text.contains(&format!("“{SAID}” [en]")), "{text}");
    }
}

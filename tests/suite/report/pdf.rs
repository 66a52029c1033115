//! The report as PDF, as other programs read it: those of poppler-utils.

use super::hostile::hostile_job;
use super::job::{flanges, wheel_and_pin};
use super::page::words_of;
use super::tongues::reports;
use clampbook::core::event::Ending;
use clampbook::core::language::Language;
use clampbook::report::seal::{self, Key};
use clampbook::report::words::Words;
use clampbook::report::{Extent, Report, html, json, pdf};
use serde_json::Value;
use std::fs;
use std::process::Command;

/// Octets of a word that may take more than a line or two.
const LONG: usize = 300;

const COPIES: [Extent; 2] = [Extent::Full, Extent::Customer];

fn printed(report: &Report, extent: Extent, language: Language) -> Vec<u8> {
    pdf::render(report, extent, language, None).unwrap()
}

/// What a program of poppler-utils says of a document.
fn read_by(program: &str, args: &[&str], document: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("report.pdf");
    fs::write(&file, document).unwrap();
    let mut command = Command::new(program);
    let (before, after): (Vec<&str>, Vec<&str>) = args.iter().copied().partition(|arg| *arg != "-");
    let output = command.args(before).arg(&file).args(after).output();
    let output = output.unwrap_or_else(|error| {
        panic!("expected {program}, but found {error}; install poppler-utils")
    });
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// The text without what only parts it: spaces, ends of lines, places where a word may be cut.
fn squeezed(text: &str) -> String {
    let parts = |letter: &char| {
        letter.is_whitespace() || matches!(letter, '\u{200B}' | '\u{2068}' | '\u{2069}')
    };
    text.chars().filter(|letter| !parts(letter)).collect()
}

/// The words of a page that are not in the document.
fn missing(page: &str, document: &[u8]) -> Vec<String> {
    let text = squeezed(&read_by("pdftotext", &["-raw", "-"], document));
    let body = page.split_once("<body>").unwrap().1.replace("<", " <");
    let words = words_of(&format!("<body>{body}"));
    let words = words.split_whitespace().map(|word| squeezed(&word.replace("&amp;", "&")));
    // What is very long goes on on the next page, behind what stands at the foot of this one.
    words.filter(|word| word.len() < LONG && !text.contains(word.as_str())).collect()
}

#[test]
fn every_word_of_the_page_is_on_paper_in_every_language() {
    for language in Language::ALL {
        for report in reports().iter().chain([&wheel_and_pin().report()]) {
            for extent in COPIES {
                let page = html::render(report, extent, language);
                let lost = missing(&page, &printed(report, extent, language));
                assert_eq!(lost, Vec::<String>::new(), "{language:?} {extent:?}");
            }
        }
    }
}

#[test]
fn two_hundred_fasteners_are_found_with_their_endings() {
    let job = flanges();
    let report = job.report();
    for extent in COPIES {
        let text =
            read_by("pdftotext", &["-layout", "-"], &printed(&report, extent, Language::English));
        let lines: Vec<&str> = text.lines().collect();
        for (name, ending) in &job.endings {
            let word = match ending {
                Ending::Counted => "counted (count only: which one is not known)".into(),
                other => Words::ENGLISH.ending_word(*other),
            };
            let told = lines.iter().any(|line| {
                let rest = line.trim_start().strip_prefix(name.as_str());
                rest.is_some_and(|rest| rest.trim_start().starts_with(&*word))
            });
            assert!(told, "{name} {word} is not told");
        }
    }
}

#[test]
fn text_from_outside_is_shown_and_never_acts() {
    let long = "n".repeat(10_240);
    for hostile in [
        "</style><script>alert(\"1\")</script>&amp;",
        "#eval(\"1\") #panic() $ x^2 $ *b* _i_ `raw` @ref <label> = head\\ // no comment /* none */",
        "#let x = 1; #import \"@preview/x:1.0.0\" #read(\"/etc/passwd\")",
        "a\"b',;\r\n\"=1 \\u{41} \\",
        "pin\u{202E}gnp.exe\u{0000}\u{200B}\u{FEFF}\u{FFFF}",
        "\u{5E9}\u{5DC}\u{5D5}\u{5DD} \u{645}\u{631}\u{62D}\u{628}\u{627} 12",
        "\u{8F2A}\u{301} \u{1F6DE}\u{FE0F} a\u{301}\u{20DD} \u{25B3}\u{301} \u{E000}",
        "\u{1b}]0;title\u{7}\u{1b}[31mred\u{9b}2J",
        &long,
    ] {
        let report = hostile_job(hostile).report();
        for extent in COPIES {
            let document = printed(&report, extent, Language::English);
            let page = html::render(&report, extent, Language::English);
            let lost = missing(&page, &document);
            // What no font has is there as its code points.
            let lost: Vec<&String> = lost.iter().filter(|word| word.chars().all(letter)).collect();
            assert_eq!(lost, Vec::<&String>::new(), "{hostile:?}");
            if hostile == long {
                let text = read_by("pdftotext", &["-raw", "-"], &document);
                assert!(text.matches('n').count() > long.len(), "the long text is not there");
            }
        }
    }
}

/// What every font has.
fn letter(letter: char) -> bool {
    u32::from(letter) < 0x250 || "–…⟨⟩✓▽▲△◇↻○·".contains(letter)
}

#[test]
fn what_no_font_has_is_shown_by_its_code_point() {
    let mut report = wheel_and_pin().report();
    report.plan.name = "\u{8F2A} \u{1F6DE}".to_owned();
    let text = read_by("pdftotext", &["-"], &printed(&report, Extent::Full, Language::English));
    assert!(text.contains("⟨U+8F2A⟩ ⟨U+1F6DE⟩"), "{text}");
}

#[test]
fn a_document_says_which_standards_it_keeps_to_and_has_bookmarks() {
    let document = printed(&wheel_and_pin().report(), Extent::Full, Language::German);
    let said = read_by("pdfinfo", &["-meta"], &document);
    for mark in [
        "<pdfaid:part>2</pdfaid:part>",
        "<pdfaid:conformance>A</pdfaid:conformance>",
        "<pdfuaid:part>1</pdfuaid:part>",
    ] {
        assert!(said.contains(mark), "{mark} is not in {said}");
    }
    let said = read_by("pdfinfo", &["-isodates"], &document);
    assert!(said.contains("Tagged:          yes"), "{said}");
    assert!(said.contains("2031-03-14T18:00:00Z"), "{said}");
    let marks = read_by("pdftohtml", &["-xml", "-i", "-stdout"], &document);
    for mark in
        ["Offen: 2 Verschraubungen", "1 slide-pin", "3 Rear-left wheel wheel", "Zu bedenken"]
    {
        let marks = marks.split_once("<outline>").map_or("", |(_, marks)| marks);
        assert!(marks.contains(mark), "{mark:?} is no bookmark in {marks}");
    }
}

#[test]
fn the_same_report_gives_the_same_octets() {
    let report = wheel_and_pin().report();
    let document = printed(&report, Extent::Full, Language::French);
    assert!(document == printed(&report, Extent::Full, Language::French));
    assert!(document != printed(&report.redacted(), Extent::Full, Language::French));
}

#[test]
fn digest_key_and_signature_are_on_paper() {
    let report = wheel_and_pin().report();
    let key = Key::new([7; 32]);
    let document = pdf::render(&report, Extent::Full, Language::English, Some(&key)).unwrap();
    let text = squeezed(&read_by("pdftotext", &["-raw", "-"], &document));
    let signed: Value = serde_json::from_str(&json::render_signed(&report, &key).unwrap()).unwrap();
    let seal = &signed["signature"];
    let digest = seal::digest(&signed).unwrap();
    for said in [&digest, &key.public(), seal["value"].as_str().unwrap()] {
        assert!(text.contains(said), "{said} is not on paper: {text}");
    }
    let without = squeezed(&read_by(
        "pdftotext",
        &["-raw", "-"],
        &printed(&report, Extent::Full, Language::English),
    ));
    assert!(!without.contains(&key.public()));
}

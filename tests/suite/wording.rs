//! Whatever warnings tell and closing asks is told in every language.

use crate::rig::samples;
use clampbook::core::joint::Condition;
use clampbook::core::language::Language;
use clampbook::core::wording::told;
use serde_json::Value;
use std::fs;
use std::path::Path;

/// Where the sentences of warnings are made.
const SPEAKERS: [&str; 2] = ["src/core/tracker/words.rs", "src/core/tracker/rules/words.rs"];

fn file(name: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(name)).unwrap()
}

/// Every text between quotation marks, as the compiler reads it.
fn literals(source: &str) -> Vec<String> {
    let lines = source.lines().filter(|line| !line.trim_start().starts_with("//"));
    let code = lines.collect::<Vec<_>>().join("\n");
    let mut letters = code.chars().peekable();
    let (mut found, mut inside) = (Vec::new(), None::<String>);
    while let Some(letter) = letters.next() {
        match (&mut inside, letter) {
            (None, '"') => inside = Some(String::new()),
            (None, _) => {}
            (Some(_), '"') => found.extend(inside.take()),
            (Some(text), '\\') => match letters.next() {
                Some('\n') => while letters.next_if(|one| one.is_whitespace()).is_some() {},
                Some(other) => text.push(other),
                None => {}
            },
            (Some(text), letter) => text.push(letter),
        }
    }
    found
}

/// What stands between the places of a format.
fn pieces(text: &str) -> Vec<String> {
    let mut pieces = Vec::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('{') {
        pieces.push(before.to_owned());
        rest = after.split_once('}').map_or("", |(_, behind)| behind);
    }
    pieces.push(rest.to_owned());
    pieces.retain(|piece| piece.chars().any(char::is_alphabetic));
    pieces
}

#[test]
fn every_sentence_that_a_warning_is_made_of_is_in_the_table() {
    let table = file("src/core/wording/en.ftl");
    for speaker in SPEAKERS {
        let said = literals(&file(speaker));
        assert!(said.len() > 20, "{speaker} is read: {said:?}");
        for piece in said.iter().flat_map(|text| pieces(text)) {
            assert!(table.contains(piece.trim_end()), "{speaker}: {piece:?} is in no sentence");
        }
    }
}

#[test]
fn every_warning_of_the_samples_is_told_in_every_language() {
    let mut told_of = 0;
    for entry in fs::read_dir(samples().join("recordings")).unwrap() {
        let text = fs::read_to_string(entry.unwrap().path()).unwrap();
        let lines = text.lines().filter_map(|line| serde_json::from_str::<Value>(line).ok());
        for warning in lines.filter(|line| line["kind"] == "warning") {
            let english = warning["text"].as_str().unwrap();
            let all = Language::ALL.map(|language| told(english, language));
            let [same, german, spanish, french] = all.map(|text| text.expect(english));
            assert_eq!(same, english);
            for other in [german, spanish, french] {
                assert_ne!(other, english);
                assert!(!other.contains('$') && !other.contains('{'), "{other}");
            }
            told_of += 1;
        }
    }
    assert!(told_of > 50, "the samples warn: {told_of}");
}

#[test]
fn what_is_asked_of_threads_is_asked_in_every_language() {
    for condition in Condition::ALL {
        let asked = format!("hub-nut: {}", condition.question());
        let german = told(&asked, Language::German).expect(&asked);
        assert!(german.starts_with("hub-nut: ") && german != asked, "{german}");
    }
}

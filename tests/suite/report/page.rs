//! The page: what it shows first, that it is whole, and that nothing in it acts.

use super::hostile::hostile_job;
use super::job::{Job, flanges, pass, step, wheel_and_pin, window};
use clampbook::core::event::Ending;
use clampbook::core::language::Language;
use clampbook::core::plan::Pattern;
use clampbook::core::units::TorqueUnit;
use clampbook::report::{Extent, Report, html, json};
use std::collections::BTreeMap;
use std::time::{Duration, Instant};

/// The whole page in English.
fn english(report: &Report) -> String {
    html::render(report, Extent::Full, Language::English)
}

/// A page's elements must nest and close, its attributes be quoted, its text be escaped.
#[track_caller]
pub(super) fn check_well_formed(page: &str) {
    const VOID: [&str; 3] = ["meta", "col", "img"];
    let (head, rest) = page.split_once("<style>").unwrap();
    let (style, body) = rest.split_once("</style>").unwrap();
    assert!(!style.contains('<'), "markup in the style");
    let markup = format!("{head}<style></style>{body}");
    let mut open: Vec<&str> = Vec::new();
    let mut pieces = markup.strip_prefix("<!DOCTYPE html>").unwrap().split('<');
    assert_eq!(pieces.next(), Some(""));
    for piece in pieces {
        let (tag, text) = piece.split_once('>').unwrap_or_else(|| panic!("open end: <{piece}"));
        assert!(!text.contains('>'), "bare '>' in {text:?}");
        for entity in text.split('&').skip(1) {
            let known =
                ["amp;", "lt;", "gt;", "quot;"].iter().any(|known| entity.starts_with(known));
            assert!(known, "bare '&' in {text:?}");
        }
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name), "closed out of turn before {text:?}");
            continue;
        }
        let name = tag.split([' ', '\n']).next().unwrap();
        assert!(name.chars().all(|letter| letter.is_ascii_alphanumeric()), "element {name:?}");
        let attributes = &tag[name.len()..];
        assert_eq!(attributes.matches('"').count() % 2, 0, "quotes in <{tag}>");
        let outside: String = attributes.split('"').step_by(2).collect();
        let plain = |c: char| c.is_ascii_alphanumeric() || " -=".contains(c);
        assert!(outside.chars().all(plain), "unquoted attribute in <{tag}>");
        if !VOID.contains(&name) {
            open.push(name);
        }
    }
    assert_eq!(open, Vec::<&str>::new(), "never closed");
}

/// What a reader sees: the page without its elements.
pub(super) fn words_of(page: &str) -> String {
    let body = page.split_once("<body>").unwrap().1;
    let texts = body.split('<').filter_map(|piece| Some(piece.split_once('>')?.1));
    texts.collect::<String>().replace("&quot;", "\"").replace("&lt;", "<").replace("&gt;", ">")
}

#[test]
fn what_is_open_comes_first() {
    let page = english(&wheel_and_pin().report());
    check_well_formed(&page);
    let words = words_of(&page);
    let face = words.split_once("The job").unwrap().0;
    assert_eq!(
        face,
        "Job report 7, Orvane Dray 3, rear leftOpen: 2 fasteners\
         arm-pivot/1 Trailing-arm pivotLife-critical: do not move the vehicle. No pull on record.\
         wheel/5 Rear-left wheelLife-critical: do not move the vehicle. No pull on record; skipped.\
         1  shown 3  counted (count only: which one is not known) 1  stated 2  open \
         1 hold not confirmedride-height: Hub to arch 512 ± 5 mm, supported under the knuckle?\
         1 warning still counts△ wheel/5: skipped. Wheel nut 5 was not pulled."
    );
}

#[test]
fn every_fact_is_on_the_page() {
    let job = wheel_and_pin();
    let words = words_of(&english(&job.report()));
    let names = job.plan.fasteners().map(|id| job.plan.fastener_name(id));
    let facts = [
        "26 N·m23.4–28.6 N·m",
        "slide-pin/1  shown brought to its window: over 99 %",
        "wheel/4  statedNo pull on record.",
        "1counted93 %1.2counted93 %3.3counted93 %2.4stated5open6 %",
        "122 lbf·ft (165.4 N·m)109.8–134.2 lbf·ft (148.9–181.9 N·m)1-3-5-2-4tyre-touching",
        "2031-03-14 18:00:03 small no. 121.0 N·m 95 %: 20.6–21.5 N·m▽ below the windowtightening90 %",
        "121.6 lbf·ft (164.9 N·m) 95 %: 119.1–124.1 lbf·ft✓ in the window pass 2tightening90 %the plan's order, how the torque fits",
        "120.5 lbf·ft (163.4 N·m) 95 %: 118.1–123.0 lbf·ft✓ in the window pass 2tightening (revised)97 %the operator's word",
        "Replaced: first taken for wheel/5, tightening, ✓ in the window pass 2, 90 %",
        "Revised: the pull of 2031-03-14 18:00:13 (large no. 5) was first taken for this one; it is now \
         taken for wheel/2.",
        "2031-03-14 18:00:19: done without the adapter",
        "✓ confirmed 2031-03-14 18:00:08, on the page",
        "◇ not confirmed",
        "note: New slide-pin bolts",
        "VIN statedremoved",
        "Operator statednot given",
        "with something open: nut ordered",
        "local, UTC+01:00",
        "small, drive 1/2\"SY-small40 to 280 N·m±1.5 % of readingnot on recordpeak2",
        "Position taken from plan order; this adapter cannot tell.",
        "large lost from 2031-03-14 18:00:16 to 2031-03-14 18:00:18 (2 s).",
        "Missing for good: readings 6 to 7 of large",
        "2 readings are known to be missing for good.",
        "88.4 N·mon nothing in the plan",
        "The journal then held 41 entries, chained by their hashes. While the last of them still has the hash abababab",
        "Torque is not clamp load.",
    ];
    for fact in facts.map(str::to_owned).into_iter().chain(names) {
        assert!(words.contains(&fact), "not on the page: {fact:?}\n{words}");
    }
    assert!(!words.to_lowercase().contains("safe"), "nothing is called safe");
}

#[test]
fn a_page_fetches_and_runs_nothing() {
    let page = english(&wheel_and_pin().report()).replace("http-equiv", "");
    for outside in ["http", "//", "src=", "href", "url(", "@import", "<script", "<link", "<img"] {
        assert!(!page.contains(outside), "{outside:?} in the page");
    }
    for tag in page.split('<').filter_map(|piece| Some(piece.split_once('>')?.0)) {
        let handler = tag.split('"').step_by(2).any(|name| name.trim_start().starts_with("on"));
        assert!(!handler, "a handler in <{tag}>");
    }
    assert!(
        page.contains("content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:;")
    );
}

#[test]
fn a_finished_job_says_that_nothing_is_open() {
    let steps = vec![step(
        "drain-plug",
        Pattern::Single,
        vec![pass("final", window(38.0, TorqueUnit::NewtonMetre, 0.1), &[1])],
    )];
    let job = Job::on("Sump", Vec::new(), steps)
        .good("small", "drain-plug/1", 1, 38.4)
        .ends(Ending::Shown, &["drain-plug/1"]);
    let words = words_of(&english(&job.report()));
    assert!(
        words.starts_with(
            "Job report 7, Sump, job not closed yetNothing of the plan is open1  shown The job"
        ),
        "{words}"
    );
}

#[test]
fn text_from_outside_is_shown_and_never_acts() {
    let script = "</style><script>alert(\"1\")</script>&amp;";
    let turned = "pin\u{202E}gnp.exe\u{0000}\u{200B}";
    let long = "n".repeat(10_240);
    for hostile in [script, turned, &long] {
        let report = hostile_job(hostile).report();
        let page = english(&report);
        check_well_formed(&page);
        assert!(!page.contains("<script"), "markup came through");
        assert!(
            !page.contains(['\u{202E}', '\u{0000}', '\u{200B}']),
            "a hidden character came through"
        );
        assert!(words_of(&page).contains("/3  open"), "a name lost its member");
        let parsed: serde_json::Value = serde_json::from_str(&json::render(&report)).unwrap();
        assert_eq!(parsed["vehicle"]["text"]["text"], hostile);
        assert_eq!(parsed["steps"][0]["fasteners"][0]["name"], format!("{hostile}/1"));
    }
    let words =
        words_of(&english(&Job::on(turned, Vec::new(), wheel_and_pin().plan.steps).report()));
    assert!(words.contains("pin⟨U+202E⟩gnp.exe⟨U+0000⟩⟨U+200B⟩"));
}

#[test]
fn text_stands_out_from_its_ground_seven_to_one_in_light_and_dark() {
    let page = english(&wheel_and_pin().report());
    let palettes: Vec<BTreeMap<&str, &str>> = page
        .split(":root {")
        .skip(1)
        .take(3)
        .map(|block| {
            let block = block.split_once('}').unwrap().0;
            let pairs = block.split(';').filter_map(|pair| pair.trim().split_once(": "));
            pairs
                .filter_map(|(name, value)| Some((name.trim().strip_prefix("--")?, value)))
                .collect()
        })
        .collect();
    assert_eq!(palettes.len(), 3, "light, dark, print");
    for palette in palettes {
        let pairs = [
            ("paper", ["ink", "soft", "blue", "orange"]),
            ("wash", ["ink", "soft", "blue", "orange"]),
        ];
        for (ground, texts) in pairs {
            for text in texts {
                let ratio = contrast(palette[ground], palette[text]);
                assert!(ratio >= 7.0, "{text} on {ground}: {ratio:.2}");
            }
        }
        assert!(contrast(palette["on"], palette["blue"]) >= 7.0, "a number on a disc");
    }
}

/// Contrast ratio of two colours (WCAG 2.2, 1.4.6).
fn contrast(one: &str, other: &str) -> f64 {
    let luminance = |colour: &str| {
        let digits = colour.strip_prefix('#').unwrap();
        let long: String = match digits.len() {
            3 => digits.chars().flat_map(|digit| [digit, digit]).collect(),
            _ => digits.to_owned(),
        };
        let channel = |at: usize| {
            let value = f64::from(u8::from_str_radix(&long[at..at + 2], 16).unwrap()) / 255.0;
            match value <= 0.040_45 {
                true => value / 12.92,
                false => ((value + 0.055) / 1.055).powf(2.4),
            }
        };
        0.2126 * channel(0) + 0.7152 * channel(2) + 0.0722 * channel(4)
    };
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

#[test]
fn two_hundred_fasteners_are_written_at_once() {
    let job = flanges();
    let begun = Instant::now();
    let report = job.report();
    let page = english(&report);
    let text = json::render(&report);
    let took = begun.elapsed();
    assert_eq!(page.matches("<tr class=\"fastener\">").count(), 200);
    assert!(text.len() > 100_000);
    // A hundred times what a slow machine needs in a debug build.
    assert!(took < Duration::from_secs(10), "took {took:?}");
}

//! Jobs written as a few lines, told to the tracker, and what it makes of them as text.

use clampbook::core::event::{
    AdapterInfo, Conclusion, Gap, Input, LinkChange, LinkState, Mark, Origin, Reading, Reports,
    Say, What,
};
use clampbook::core::plan::{Plan, parse};
use clampbook::core::time::Stamp;
use clampbook::core::tracker::Tracker;
use clampbook::core::units::Torque;
use std::fmt::Write;

/// The plan of that name among the samples.
pub(crate) fn sample_plan(name: &str) -> Plan {
    let path = format!("{}/samples/plans/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    parse(&std::fs::read_to_string(path).unwrap()).unwrap().plan
}

/// The plan written in `text`.
pub(crate) fn plan(text: &str) -> Plan {
    parse(text).unwrap_or_else(|faults| panic!("{faults:#?}")).plan
}

/// Every input of a story. A line is `TIME WHAT…`; TIME is in seconds, `+N` counts from the line before:
/// `adapter ID LOW HIGH [rotation]`, `pull [ADAPTER] PEAK [turn DEG] [seq N]`, `at|stated|opened|spoiled NAME`,
/// `figure NAME VALUE`,
/// `confirm HOLD [because …]`, `retract`, `lost`, `gap FIRST LAST`, `end`.
pub(crate) fn inputs(story: &str) -> Vec<Input> {
    let mut seconds = 0.0;
    let mut adapter = "large".to_owned();
    let mut sequence = std::collections::BTreeMap::<String, u64>::new();
    let mut found = Vec::new();
    for line in story.lines().map(str::trim).filter(|line| !line.is_empty()) {
        let words: Vec<&str> = line.split_whitespace().collect();
        match words[0].strip_prefix('+') {
            Some(more) => seconds += more.parse::<f64>().unwrap(),
            None => seconds = words[0].parse().unwrap(),
        }
        let number = |word: &str| word.parse::<f64>().unwrap();
        let mark = |say| What::Mark(Mark { say, origin: Origin::Recording });
        let name = |place: usize| words[place].to_owned();
        let what = match words[1] {
            "adapter" => What::Adapter(AdapterInfo {
                overdue_since: None,
                certificate: None,
                id: name(2),
                serial: name(2),
                drive: None,
                range: Some((Torque::from_nm(number(words[3])), Torque::from_nm(number(words[4])))),
                accuracy_pct: Some(1.0),
                reports: Reports {
                    peak: true,
                    rotation: words.contains(&"rotation"),
                    ..Reports::default()
                },
            }),
            "pull" => {
                let peak = words[2].parse::<f64>().unwrap_or_else(|_| {
                    adapter = name(2);
                    number(words[3])
                });
                let after = |word| {
                    let place = words.iter().position(|one| *one == word)?;
                    Some(number(words[place + 1]))
                };
                let last = sequence.entry(adapter.clone()).or_default();
                let seq = after("seq").map_or(*last + 1, |seq| seq as u64);
                *last = seq.max(*last);
                What::Reading(Reading {
                    adapter: adapter.clone(),
                    seq,
                    peak: Torque::from_nm(peak),
                    rotation_deg: after("turn"),
                    duration_ms: None,
                    description: None,
                })
            }
            "at" => mark(Say::At { fastener: name(2) }),
            "stated" => mark(Say::Stated { fastener: name(2) }),
            "opened" => mark(Say::Opened { fastener: name(2) }),
            "spoiled" => mark(Say::Spoiled { fastener: name(2) }),
            "figure" => mark(Say::Figure { of: name(2), value: words[3..].join(" ") }),
            "skip" => mark(Say::Skip { fastener: name(2), reason: words[3..].join(" ") }),
            "confirm" => {
                let because = words.get(3).map(|_| words[4..].join(" "));
                mark(Say::Confirm { hold: name(2), because })
            }
            "retract" => mark(Say::Retract),
            "lost" => What::Link(LinkChange { adapter: adapter.clone(), state: LinkState::Lost }),
            "gap" => What::Gap(Gap {
                adapter: adapter.clone(),
                epoch: None,
                first: number(words[2]) as u64,
                last: number(words[3]) as u64,
            }),
            "end" => What::End,
            other => panic!("unknown word {other} in {line}"),
        };
        found.push(Input { at: Stamp::from_seconds(seconds), what });
    }
    found
}

/// What the tracker makes of a story: a line a verdict, a line a warning, and how everything ends.
pub(crate) fn account(plan: Plan, story: &str) -> String {
    let mut tracker = Tracker::new(plan);
    let mut text = String::new();
    for input in inputs(story) {
        for conclusion in tracker.step(input).conclusions {
            writeln!(text, "{}", line(&conclusion)).unwrap();
        }
    }
    let summary = tracker.summary();
    for (name, ending) in &summary.fasteners {
        writeln!(text, "{name}: {}", word(ending)).unwrap();
    }
    text
}

fn word(value: &impl serde::Serialize) -> String {
    serde_json::to_value(value).unwrap().as_str().unwrap().to_owned()
}

fn line(conclusion: &Conclusion) -> String {
    match conclusion {
        Conclusion::Verdict(verdict) => format!(
            "{}{}#{} {:.1} {} pass {} {} {} {:.2} ({})",
            if verdict.revised { "revised " } else { "" },
            verdict.adapter,
            verdict.seq,
            verdict.peak.nm(),
            verdict.fastener.as_deref().unwrap_or("nothing"),
            verdict.pass.unwrap_or(0),
            word(&verdict.act),
            word(&verdict.torque),
            verdict.confidence,
            verdict.basis.iter().map(word).collect::<Vec<_>>().join(", "),
        ),
        Conclusion::Warning(warning) => format!(
            "  ! {} {}: {}",
            word(&warning.code),
            warning.fastener.as_deref().unwrap_or("-"),
            warning.text
        ),
    }
}

//! The report as plain text, for a terminal or a mail: what is open first.

use crate::core::event::Ending;
use crate::core::language::Language;
use crate::core::units::TorqueUnit;
use crate::report::Extent;
use crate::report::model::{
    AdapterReport, FastenerReport, LinkBreak, OpenReport, PassReport, Personal, Pull, Report,
    StepReport, WarningReport,
};
use crate::report::visible::one_line;
use crate::report::words::Words;
use std::borrow::Cow;

/// Characters a line, unless a single word is longer.
const WIDTH: usize = 100;
/// Least room for what stands before a value.
const TERM: usize = 12;

/// The report in a language. No line acts on a terminal, whatever stands in it.
#[must_use]
pub fn render(report: &Report, extent: Extent, language: Language) -> String {
    let words = Words::new(language);
    let mut page = Page::default();
    face(words, report, &mut page);
    job(words, report, &mut page);
    for (index, step) in report.steps.iter().enumerate() {
        section(words, step, index, extent, &mut page);
    }
    if extent == Extent::Full {
        rest(words, report, &mut page);
    }
    if !report.not_known.is_empty() {
        page.head(&words.word("not-known"));
        report.not_known.iter().for_each(|sentence| page.item("-", &words.saying(sentence)));
    }
    page.head(&words.word("how-judged"));
    page.wrapped("", &words.saying(&report.decision_rule));
    page.head(&words.word("bear-in-mind"));
    report.cautions.iter().for_each(|caution| page.item("-", &words.saying(caution)));
    page.line("");
    let (when, version) = (&report.printed_at.short, &report.software_version);
    let made = words.say("made", &[("when", when), ("version", version)]);
    let entries = words.count(report.chain.length, "entry-one", "entry-many");
    let chain = words.say("chain-line", &[("entries", &entries), ("hash", &report.chain.head)]);
    page.wrapped("", &format!("{made} {chain}"));
    page.0
}

fn face(words: Words, report: &Report, page: &mut Page) {
    let outcome = &report.outcome;
    let name = if report.job.closed.is_none() { "report-not-closed" } else { "report" };
    let number = report.job.number.to_string();
    page.wrapped("", &words.say(name, &[("job", &number), ("plan", &report.plan.name)]));
    page.line("");
    page.wrapped("", &words.saying(&outcome.headline).to_uppercase());
    for open in &outcome.open {
        page.item("!", &open_line(words, open));
    }
    for (ending, count) in [
        (Ending::Shown, outcome.shown),
        (Ending::Counted, outcome.counted),
        (Ending::Stated, outcome.stated),
    ] {
        if count > 0 {
            page.line(&format!("  {count} {}", words.ending(ending)));
        }
    }
    for hold in report.holds.iter().filter(|hold| !hold.confirmed) {
        let text = match hold.in_english {
            true => Cow::Owned(words.quoted(&hold.text)),
            false => Cow::Borrowed(&*hold.text),
        };
        page.item("!", &words.say("hold-line", &[("hold", &hold.name), ("text", &text)]));
    }
    for recheck in &report.rechecks {
        let when = words.recheck(recheck);
        page.item("↻", &words.say("recheck-line", &[("group", &recheck.group), ("when", &when)]));
    }
    for warning in report.warnings.iter().filter(|warning| warning.counts) {
        page.item("△", &warned(words, "counting-line", warning));
    }
}

fn open_line(words: Words, open: &OpenReport) -> String {
    let because = words.joined(open.because.iter().map(|part| words.saying(part)));
    let because = match open.do_not_move {
        true => words.say("critical-line", &[("because", &because)]),
        false => because,
    };
    let title = open.title.as_ref().map_or_else(String::new, |title| format!(" ({title})"));
    let what = format!("{}{title}", open.fastener);
    words.say("pair", &[("term", &what), ("value", &because)])
}

fn warned(words: Words, name: &'static str, warning: &WarningReport) -> String {
    let job = words.word("whole-job");
    let about = warning.fastener.as_deref().unwrap_or(&job);
    let kind = words.warning(warning.code);
    let text = words.quoted(&warning.text);
    words.say(name, &[("about", about), ("warning", &kind), ("text", &text)])
}

fn job(words: Words, report: &Report, page: &mut Page) {
    let job = &report.job;
    let stated = |text: &Personal| {
        let told = match text {
            Personal::NotGiven => words.word("not-given"),
            text => words.personal(text),
        };
        format!("{told} [{}]", words.word("stated"))
    };
    let mut pairs = vec![
        ("vehicle", stated(&report.vehicle.text)),
        ("vin", stated(&report.vehicle.vin)),
        ("plate", stated(&report.vehicle.plate)),
        ("operator", stated(&job.operator)),
        ("plan", format!("{}, SHA-256 {}", report.plan.name, report.plan.sha256)),
        ("started", job.started.short.clone()),
    ];
    let not_yet = || words.word("not-yet").into_owned();
    pairs.push(("closed", job.closed.as_ref().map_or_else(not_yet, |closed| closed.short.clone())));
    if !matches!(job.open_reason, Personal::NotGiven) {
        pairs.push(("left-open", words.personal(&job.open_reason).into_owned()));
    }
    if let Some(of) = &job.recheck_of {
        let number = of.number.to_string();
        pairs.push(("pulls-again", words.say("what-job-tightened", &[("job", &number)])));
    }
    let mut lines: Vec<(String, String)> =
        pairs.into_iter().map(|(term, value)| (words.word(term).into_owned(), value)).collect();
    for adapter in &report.adapters {
        lines.push((words.word("adapter").into_owned(), adapter_line(words, adapter)));
        lines.push((String::new(), certificate_line(words, adapter)));
    }
    page.head(&words.word("the-job"));
    let widest = lines.iter().map(|(term, _)| term.chars().count()).max();
    let width = widest.unwrap_or(0).max(TERM);
    for (term, value) in lines {
        page.wrapped("", &format!("{term:<width$} {value}"));
    }
}

fn adapter_line(words: Words, adapter: &AdapterReport) -> String {
    let accuracy = match adapter.accuracy_pct {
        Some(share) => words.say("of-reading", &[("share", &words.number(share, 2))]),
        None => words.word("accuracy-not-on-record").into_owned(),
    };
    words.say(
        "adapter-line",
        &[("adapter", &adapter.id), ("serial", &adapter.serial), ("accuracy", &accuracy)],
    )
}

fn certificate_line(words: Words, adapter: &AdapterReport) -> String {
    let Some(certificate) = &adapter.certificate else {
        return words.word("certificate-not-on-record").into_owned();
    };
    let named = words.say(
        "certificate-full",
        &[
            ("number", &certificate.number),
            ("laboratory", &certificate.laboratory),
            ("date", &certificate.date),
            ("due", &certificate.due),
            ("standing", &words.standing(certificate.standing)),
            ("method", &certificate.method),
        ],
    );
    format!("{named}; {}", words.covered(certificate).join("; "))
}

fn section(words: Words, step: &StepReport, index: usize, extent: Extent, page: &mut Page) {
    let title = step.title.as_deref().unwrap_or(&step.group);
    page.head(&format!("{}. {title}", index + 1));
    for pass in &step.passes {
        page.wrapped("  ", &pass_line(words, pass));
    }
    let not_given = words.word("not-given");
    let source = step.source.as_deref().unwrap_or(&not_given);
    page.wrapped("  ", &words.say("source-line", &[("source", source)]));
    if let Some(position) = &step.position {
        page.wrapped("  ", &words.saying(position));
    }
    for fastener in &step.fasteners {
        page.item("*", &fastener_line(words, fastener));
        pulls(words, step, fastener, extent, page);
    }
}

fn pass_line(words: Words, pass: &PassReport) -> String {
    let target = match &pass.window {
        Some(window) => {
            format!("{}, {}", words.target(&window.window), words.window(&window.window))
        }
        None => words.expectation(pass.expect).into_owned(),
    };
    let mut label = pass.number.to_string();
    if pass.check {
        label = format!("{label}, {}", words.word("check-round"));
    }
    if pass.named {
        label = format!("{label}, {}", pass.name);
    }
    words.say("pass-line", &[("pass", &label), ("target", &target)])
}

fn fastener_line(words: Words, fastener: &FastenerReport) -> String {
    let ending = words.saying(&fastener.ending_words);
    match fastener.probability {
        None => words.say("pair", &[("term", &fastener.name), ("value", &ending)]),
        Some(sure) => {
            let sure = words.confidence(sure);
            words.say(
                "fastener-line",
                &[("fastener", &fastener.name), ("ending", &ending), ("share", &sure)],
            )
        }
    }
}

fn pulls(
    words: Words,
    step: &StepReport,
    fastener: &FastenerReport,
    extent: Extent,
    page: &mut Page,
) {
    if fastener.pulls.is_empty() {
        page.line(&format!("      {}", words.word("no-pull")));
    }
    let last = fastener.pulls.len().saturating_sub(1);
    let shown = match extent {
        Extent::Full => &fastener.pulls[..],
        Extent::Customer => &fastener.pulls[last..],
    };
    for pull in shown {
        page.wrapped("      ", &pull_line(words, step, pull));
    }
}

fn pull_line(words: Words, step: &StepReport, pull: &Pull) -> String {
    let measured = &pull.measured;
    let known = words.word(if measured.typed { "stated" } else { "measured" });
    let stands = pull.stands();
    let window = stands.and_then(|verdict| step.window(verdict.pass));
    let peak = words.peak(measured.peak_nm, step.unit(), window);
    let mut parts = vec![format!("{}  {peak} [{known}]", measured.at.short)];
    if let Some(moved) = pull.zero_moved_nm {
        parts.push(words.say("zero-moved", &[("moved", &words.signed(moved, 1))]));
    }
    if let Some(verdict) = stands {
        if let Some((low, high)) = verdict.interval_nm {
            let span = words.span(low, high, step.unit());
            parts.push(words.say("interval", &[("span", &span)]));
        }
        let torque = words.torque(verdict.torque);
        parts.push(match verdict.pass.filter(|_| step.passes.len() > 1) {
            Some(pass) => {
                let pass = pass.to_string();
                words.say("verdict-of-pass", &[("verdict", &torque), ("pass", &pass)])
            }
            None => torque.into_owned(),
        });
        parts.push(words.say(
            "concluded",
            &[
                ("act", &words.act(verdict.act)),
                ("share", &words.confidence(verdict.confidence)),
                ("basis", &words.bases(&verdict.basis)),
            ],
        ));
    }
    parts.join(", ")
}

fn rest(words: Words, report: &Report, page: &mut Page) {
    let headed = |head, kind| format!("{} [{}]", words.word(head), words.word(kind));
    if !report.unassigned.is_empty() {
        page.head(&words.word("no-fastener"));
        for pull in &report.unassigned {
            let peak = words.peak(pull.measured.peak_nm, TorqueUnit::NewtonMetre, None);
            page.item("*", &format!("{}  {peak}", pull.measured.at.short));
        }
    }
    page.head(&headed("operator-said", "stated"));
    for mark in &report.operator_said {
        let about = mark.fastener.as_deref().or(mark.hold.as_deref()).unwrap_or("");
        let (said, text) = (words.said(mark), words.personal(&mark.text));
        let means = words.means(mark);
        page.item("*", &format!("{}  {said} {about} {text} ({means})", mark.at.short));
    }
    if !report.photos.is_empty() {
        page.head(&headed("photos", "stated"));
    }
    for photo in &report.photos {
        let state = words.personal(&photo.packed);
        let state = if photo.state == "given" { photo.media_type.into() } else { state };
        let line = words.photo(photo);
        page.item("*", &format!("{}  {line}: {state}", photo.at.short));
    }
    if !report.corrections.is_empty() {
        page.head(&headed("corrected", "stated"));
        for correction in &report.corrections {
            let said = words.say(
                "correction-line",
                &[
                    ("entry", &correction.corrects.to_string()),
                    ("field", &words.field(correction.field)),
                    ("text", &words.personal(&correction.text)),
                ],
            );
            page.item("*", &format!("{}  {said}", correction.at.short));
        }
    }
    page.head(&headed("warnings", "inferred"));
    for warning in &report.warnings {
        let name = if warning.counts { "warning-line-counts" } else { "warning-line" };
        let mut told = format!("{}  {}", warning.at.short, warned(words, name, warning));
        if let Some(put_right) = words.put_right(warning) {
            told = format!("{told} {put_right}");
        }
        page.item("△", &told);
    }
    link(words, report, page);
}

fn link(words: Words, report: &Report, page: &mut Page) {
    if report.link_breaks.is_empty() && report.gaps.is_empty() {
        return;
    }
    page.head(&words.word("link"));
    for spell in &report.link_breaks {
        page.item("*", &link_line(words, spell));
    }
    for gap in &report.gaps {
        let (first, last) = (gap.first.to_string(), gap.last.to_string());
        let line = words
            .say("missing-line", &[("first", &first), ("last", &last), ("adapter", &gap.adapter)]);
        page.item("!", &line);
    }
}

fn link_line(words: Words, spell: &LinkBreak) -> String {
    let state = words.link(spell.state);
    let (adapter, from) =
        (("adapter", spell.adapter.as_str()), ("from", spell.from.short.as_str()));
    match &spell.until {
        Some(until) => {
            words.say("link-line", &[adapter, ("state", &state), from, ("to", &until.short)])
        }
        None => words.say("link-line-lasts", &[adapter, ("state", &state), from]),
    }
}

/// Text that is written line by line.
#[derive(Default)]
struct Page(String);

impl Page {
    fn line(&mut self, text: &str) {
        self.0.push_str(text.trim_end());
        self.0.push('\n');
    }

    fn head(&mut self, text: &str) {
        let text = one_line(text);
        let rule = "-".repeat(text.chars().count().min(WIDTH));
        self.line("");
        self.line(&text);
        self.line(&rule);
    }

    fn item(&mut self, mark: &str, text: &str) {
        self.filled(&format!("  {mark} "), "    ", text);
    }

    fn wrapped(&mut self, indent: &str, text: &str) {
        self.filled(indent, &format!("{indent}  "), text);
    }

    /// Words as many as fit a line; those behind the first begin with `hanging`.
    fn filled(&mut self, first: &str, hanging: &str, text: &str) {
        let text = one_line(text);
        let mut line = first.to_owned();
        let mut empty = true;
        for word in text.split(' ') {
            let length = line.chars().count() + 1 + word.chars().count();
            if length > WIDTH && !empty {
                self.line(&line);
                hanging.clone_into(&mut line);
                empty = true;
            }
            if !empty {
                line.push(' ');
            }
            line.push_str(word);
            empty = false;
        }
        self.line(&line);
    }
}

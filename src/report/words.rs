//! What is said, in one place and in every language: endings, verdicts, evidence, warnings, cautions.
//!
//! The sentences stand in a table (Fluent), one file a language. Codes of the machine forms are English
//! and have a decimal point; what people read has the point or the comma that is usual in its language.

mod certificate;
mod saying;

pub use saying::Saying;

use crate::core::decision::Rule;
use crate::core::event::{Act, Basis, Ending, LinkState, Origin, TorqueVerdict, WarningCode};
use crate::core::language::{Language, Table};
use crate::core::plan::{Cure, Pattern, Plan, Window};
use crate::core::units::TorqueUnit;
use crate::core::wording;
use crate::report::model::{
    Expectation, MarkReport, Personal, PhotoReport, RecheckReport, WarningReport,
};
use crate::report::number::{self, Share};
use std::borrow::Cow;

static TABLE: Table = Table::new([
    include_str!("words/en.ftl"),
    include_str!("words/de.ftl"),
    include_str!("words/es.ftl"),
    include_str!("words/fr.ftl"),
]);

/// The words of the report in one language.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Words(Language);

impl Words {
    /// Those of the machine forms.
    pub const ENGLISH: Self = Self(Language::English);

    /// Those of a language.
    #[must_use]
    pub const fn new(language: Language) -> Self {
        Self(language)
    }

    /// The language.
    #[must_use]
    pub const fn language(self) -> Language {
        self.0
    }

    /// A word or a sentence without places, by its name in the table.
    #[must_use]
    pub fn word(self, name: &'static str) -> Cow<'static, str> {
        TABLE.say(self.0, name, &[])
    }

    /// A sentence with its places filled.
    #[must_use]
    pub fn say(self, name: &'static str, places: &[(&'static str, &str)]) -> String {
        TABLE.say(self.0, name, places).into_owned()
    }

    /// A sentence of the document.
    #[must_use]
    pub fn saying(self, saying: &Saying) -> String {
        saying.in_language(self.0)
    }

    /// `one` for one of them, `many` with its place `n` filled otherwise.
    #[must_use]
    pub fn count(self, n: u64, one: &'static str, many: &'static str) -> String {
        match n {
            1 => self.word(one).into_owned(),
            _ => self.say(many, &[("n", &n.to_string())]),
        }
    }

    /// Several things in one phrase.
    #[must_use]
    pub fn joined(self, parts: impl IntoIterator<Item = String>) -> String {
        let both =
            |one: String, other: String| self.say("both", &[("one", &one), ("other", &other)]);
        parts.into_iter().reduce(both).unwrap_or_default()
    }

    /// A text of figures with its decimal points as the language writes them.
    #[must_use]
    pub fn figure(self, text: &str) -> String {
        self.0.figure(text)
    }

    /// A plain number with at most `decimals` decimals.
    #[must_use]
    pub fn number(self, value: f64, decimals: usize) -> String {
        self.figure(&number::nearest(value, decimals))
    }

    /// The same with its sign.
    #[must_use]
    pub fn signed(self, value: f64, decimals: usize) -> String {
        let sign = if value < 0.0 { "−" } else { "+" };
        format!("{sign}{}", self.number(value.abs(), decimals))
    }

    /// A peak in the unit of its window, with N·m second.
    #[must_use]
    pub fn peak(self, nm: f64, unit: TorqueUnit, window: Option<&Window>) -> String {
        let peak = self.figure(&number::peak(nm, unit, window));
        match nm < 0.0 {
            true => self.say("counter-clockwise", &[("peak", &peak)]),
            false => peak,
        }
    }

    /// From one torque to another.
    #[must_use]
    pub fn span(self, low_nm: f64, high_nm: f64, unit: TorqueUnit) -> String {
        self.figure(&number::span(low_nm, high_nm, unit))
    }

    /// A target as the plan's author wrote it, with N·m second.
    #[must_use]
    pub fn target(self, window: &Window) -> String {
        self.figure(&window.target_text())
    }

    /// A window in its author's unit, with N·m second.
    #[must_use]
    pub fn window(self, window: &Window) -> String {
        if window.high.is_some() {
            return self.figure(&window.to_string());
        }
        let least = |unit| {
            let limit = self.figure(&number::least(window, unit));
            self.say("at-least", &[("limit", &limit)])
        };
        match window.stated.unit {
            TorqueUnit::NewtonMetre => least(TorqueUnit::NewtonMetre),
            unit => format!("{} ({})", least(unit), least(TorqueUnit::NewtonMetre)),
        }
    }

    /// A probability as per cent, rounded down; never a claim of certainty.
    #[must_use]
    pub fn confidence(self, probability: f64) -> String {
        match number::share(probability) {
            Share::Over => self.say("share-over", &[("share", "99 %")]),
            Share::Under => self.say("share-under", &[("share", "1 %")]),
            Share::About(share) => format!("{share} %"),
        }
    }

    /// A length of time, coarse enough to read.
    #[must_use]
    pub fn duration(self, seconds: f64) -> String {
        self.figure(&number::duration(seconds))
    }

    /// How a fastener ended, in full. *Counted* never stands alone.
    #[must_use]
    pub fn ending(self, ending: Ending) -> String {
        self.saying(&ending_in_full(ending))
    }

    /// The one word of an ending.
    #[must_use]
    pub fn ending_word(self, ending: Ending) -> Cow<'static, str> {
        self.word(ending_name(ending))
    }

    /// How a peak compares with its window.
    #[must_use]
    pub fn torque(self, verdict: TorqueVerdict) -> Cow<'static, str> {
        self.word(torque(verdict))
    }

    /// What a pull was.
    #[must_use]
    pub fn act(self, act: Act) -> Cow<'static, str> {
        self.word(match act {
            Act::Tighten => "act-tighten",
            Act::Recheck => "act-recheck",
            Act::Loosen => "act-loosen",
            Act::Trial => "act-trial",
        })
    }

    /// A source of evidence.
    #[must_use]
    pub fn basis(self, basis: Basis) -> Cow<'static, str> {
        self.word(match basis {
            Basis::PlanOrder => "basis-plan-order",
            Basis::Mark => "basis-mark",
            Basis::Motion => "basis-motion",
            Basis::Rotation => "basis-rotation",
            Basis::Trace => "basis-trace",
            Basis::Torque => "basis-torque",
            Basis::Time => "basis-time",
        })
    }

    /// Several sources of evidence.
    #[must_use]
    pub fn bases(self, all: &[Basis]) -> String {
        match all {
            [] => self.word("basis-nothing").into_owned(),
            _ => all.iter().map(|basis| self.basis(*basis)).collect::<Vec<_>>().join(", "),
        }
    }

    /// A kind of warning, in a few words.
    #[must_use]
    pub fn warning(self, code: WarningCode) -> Cow<'static, str> {
        self.word(code.sentence())
    }

    /// By what means the operator spoke.
    #[must_use]
    pub fn origin(self, origin: Origin) -> Cow<'static, str> {
        self.word(match origin {
            Origin::CommandLine => "origin-command-line",
            Origin::Page => "origin-page",
            Origin::Button => "origin-button",
            Origin::Recording => "origin-recording",
            Origin::Typed => "origin-typed",
            Origin::Pedal => "origin-pedal",
        })
    }

    /// By what means the operator spoke, and on which screen.
    #[must_use]
    pub fn means(self, mark: &MarkReport) -> String {
        let origin = self.origin(mark.origin);
        match &mark.by {
            None => origin.into_owned(),
            Some(by) => self.say("origin-by", &[("origin", &origin), ("name", &self.personal(by))]),
        }
    }

    /// What a photo is of, and where it came from.
    #[must_use]
    pub fn photo(self, photo: &PhotoReport) -> String {
        match &photo.by {
            None => photo.about.clone(),
            Some(by) => {
                self.say("photo-by", &[("about", &photo.about), ("name", &self.personal(by))])
            }
        }
    }

    /// What became of a link.
    #[must_use]
    pub fn link(self, state: LinkState) -> Cow<'static, str> {
        self.word(match state {
            LinkState::Lost => "link-lost",
            LinkState::Back => "link-back",
            LinkState::Asleep => "link-asleep",
        })
    }

    /// What cures a pull that came before its hold.
    #[must_use]
    pub fn cure(self, cure: Cure) -> Cow<'static, str> {
        self.word(match cure {
            Cure::Slacken => "cure-slacken",
            Cure::PullAgain => "cure-pull-again",
        })
    }

    /// How members lie.
    #[must_use]
    pub fn pattern(self, pattern: Pattern) -> Cow<'static, str> {
        self.word(match pattern {
            Pattern::Single => "pattern-single",
            Pattern::Ring => "pattern-ring",
            Pattern::Line => "pattern-line",
        })
    }

    /// What a pass without a window expects.
    #[must_use]
    pub fn expectation(self, expect: Expectation) -> Cow<'static, str> {
        self.word(match expect {
            Expectation::Window => "expect-window",
            Expectation::ByHand => "expect-by-hand",
            Expectation::NoFigure => "expect-no-figure",
            Expectation::ToBeLookedUp => "expect-to-be-looked-up",
        })
    }

    /// Text that may have been erased; nothing where it was never given.
    #[must_use]
    pub fn personal(self, text: &Personal) -> Cow<'_, str> {
        match text {
            Personal::NotGiven => Cow::Borrowed(""),
            Personal::Given(text) => Cow::Borrowed(text),
            Personal::Removed => self.word("removed"),
            Personal::LeftOut => self.word("left-out"),
        }
    }

    /// What the operator said, without names (those stand beside it).
    #[must_use]
    pub fn said(self, mark: &MarkReport) -> Cow<'static, str> {
        self.word(match mark.say {
            "at" => "said-at",
            "confirm" => "said-confirm",
            "stated" => "said-stated",
            "opened" => "said-opened",
            "low" => "said-low",
            "also-opened" => "said-also-opened",
            "spoiled" => "said-spoiled",
            "figure" => "said-figure",
            "skip" => "said-skip",
            "retract" => "said-retract",
            "value" => "said-value",
            _ => "said-note",
        })
    }

    /// What a correction is of, by its code.
    #[must_use]
    pub fn field(self, field: &str) -> Cow<'static, str> {
        self.word(match field {
            "vehicle" => "field-vehicle",
            "vin" => "field-vin",
            "plate" => "field-plate",
            "operator" => "field-operator",
            _ => "field-note",
        })
    }

    /// When something is to be pulled again.
    #[must_use]
    pub fn recheck(self, recheck: &RecheckReport) -> String {
        let distance =
            recheck.km.map(|km| self.say("recheck-distance", &[("km", &self.number(km, 1))]));
        let day = recheck.by.as_ref().map(|by| self.say("recheck-day", &[("day", by.day())]));
        let when = match (distance, day) {
            (Some(distance), Some(day)) => {
                self.say("recheck-either", &[("distance", &distance), ("day", &day)])
            }
            (distance, day) => distance.or(day).unwrap_or_default(),
        };
        let when = match &recheck.reminder {
            None => when,
            Some(reminder) if recheck.km.is_none() => {
                self.say("recheck-reminder-alone", &[("day", reminder.day())])
            }
            Some(reminder) => {
                self.say("recheck-reminder", &[("when", &when), ("day", reminder.day())])
            }
        };
        match recheck.in_plan {
            true => when,
            false => self.say("recheck-usual", &[("when", &when)]),
        }
    }

    /// What put right what a warning told of; nothing where that is not known.
    #[must_use]
    pub fn put_right(self, warning: &WarningReport) -> Option<String> {
        let by = warning.put_right.as_ref()?;
        let at = by.at.short.as_str();
        Some(match (&by.adapter, by.seq) {
            (Some(adapter), Some(seq)) => self.say(
                "put-right-by-pull",
                &[("adapter", adapter), ("number", &seq.to_string()), ("at", at)],
            ),
            _ => self.say("put-right-by-word", &[("at", at)]),
        })
    }

    /// What the program said in English at the time, in the language of the report; as a quotation where the table
    /// of such sentences does not have it.
    #[must_use]
    pub fn quoted(self, english: &str) -> String {
        self.retold(english).unwrap_or_else(|| format!("“{english}” [en]"))
    }

    /// The same where it needs no quotation: in English everything.
    #[must_use]
    pub fn retold(self, english: &str) -> Option<String> {
        match self.0 {
            Language::English => Some(english.to_owned()),
            other => wording::told(english, other),
        }
    }
}

/// The name of an ending's one word, which is also its class on the page.
pub(crate) const fn ending_name(ending: Ending) -> &'static str {
    match ending {
        Ending::Shown => "shown",
        Ending::Counted => "counted",
        Ending::Stated => "stated",
        Ending::Open => "open",
    }
}

/// How a fastener ended, in full.
pub(crate) const fn ending_in_full(ending: Ending) -> Saying {
    Saying::new(match ending {
        Ending::Shown => "ending-shown",
        Ending::Counted => "ending-counted",
        Ending::Stated => "ending-stated",
        Ending::Open => "ending-open",
    })
}

/// The name of what is said of a peak and its window.
pub(crate) const fn torque(verdict: TorqueVerdict) -> &'static str {
    match verdict {
        TorqueVerdict::In => "torque-in",
        TorqueVerdict::Low => "torque-low",
        TorqueVerdict::High => "torque-high",
        TorqueVerdict::Na => "torque-none",
    }
}

/// So many of something that stand in a sentence.
pub(crate) fn count(n: u64, one: &'static str, many: &'static str) -> Saying {
    match n {
        1 => Saying::new(one),
        _ => Saying::new(many).text("n", n),
    }
}

/// How a pull is judged, and where otherwise.
pub(crate) fn decision_rule(plan: &Plan) -> Saying {
    let guarded = plan.steps.iter().filter(|step| step.rules.acceptance == Rule::Guarded);
    let guarded: Vec<&str> = guarded.map(|step| step.group.as_str()).collect();
    match guarded.as_slice() {
        [] => Saying::new("decision-rule"),
        all => Saying::new("decision-rule-guarded")
            .saying("rule", Saying::new("decision-rule"))
            .text("groups", all.join(", ")),
    }
}

/// Position came from the plan, and the adapter has no means to know better.
pub(crate) const POSITION_UNKNOWN: Saying = Saying::new("position-unknown");
/// The same, but for some pulls somebody or something did tell.
pub(crate) const POSITION_PARTLY_UNKNOWN: Saying = Saying::new("position-partly-unknown");
/// Position came from the plan although the adapter can report motion.
pub(crate) const POSITION_ASSUMED: Saying = Saying::new("position-assumed");

/// What to bear in mind, whatever the job.
pub(crate) const CAUTIONS: [Saying; 8] = [
    Saying::new("caution-load"),
    Saying::new("caution-values"),
    Saying::new("caution-record"),
    Saying::new("caution-calibration"),
    Saying::new("caution-unseen"),
    Saying::new("caution-spent"),
    Saying::new("caution-stands"),
    Saying::new("caution-law"),
];

#[cfg(test)]
mod tests {
    use super::{TABLE, Words};
    use crate::core::language::Language;

    #[test]
    fn every_language_has_every_word_with_the_same_places_and_no_fault() {
        TABLE.check();
    }

    #[test]
    fn only_decimal_points_become_commas() {
        let german = Words::new(Language::German);
        for (text, expected) in [
            ("120.5 lbf·ft (163.4 N·m)", "120,5 lbf·ft (163,4 N·m)"),
            ("26 N·m", "26 N·m"),
            ("99.9–100.1", "99,9–100,1"),
            ("1. 2 .3 4.", "1. 2 .3 4."),
            ("", ""),
        ] {
            assert_eq!(german.figure(text), expected);
            assert_eq!(Words::ENGLISH.figure(text), text);
        }
    }

    #[test]
    fn a_probability_never_reads_as_certainty() {
        let shown = [1.0, 0.994, 0.5, 0.29, 0.0].map(|one| Words::ENGLISH.confidence(one));
        assert_eq!(shown, ["over 99 %", "99 %", "50 %", "29 %", "under 1 %"]);
        let german = Words::new(Language::German);
        assert_eq!([0.999, 0.0].map(|one| german.confidence(one)), ["über 99 %", "unter 1 %"]);
    }
}

//! The lines of `replay --json`: names and order of keys are a contract with other programs.

use crate::core::event::{
    Act, Basis, Conclusion, Ending, Summary, TorqueVerdict, Verdict, Warning, WarningCode,
};
use crate::core::tracker::Explanation;
use serde::Serialize;
use std::collections::BTreeMap;

/// One line of the output.
#[derive(Debug, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Line<'a> {
    /// What is concluded of one pull.
    Verdict {
        /// Seconds since the recording started.
        t: f64,
        adapter: &'a str,
        seq: u64,
        step: Option<&'a str>,
        pass: Option<u32>,
        fastener: Option<&'a str>,
        confidence: f64,
        basis: &'a [Basis],
        peak_nm: f64,
        torque: TorqueVerdict,
        act: Act,
        /// Present only if it takes the place of an earlier line.
        #[serde(skip_serializing_if = "is_false")]
        revised: bool,
    },
    /// What a person is told.
    Warning {
        /// Seconds since the recording started.
        t: f64,
        code: WarningCode,
        fastener: Option<&'a str>,
        seq: Option<u64>,
        text: &'a str,
    },
    /// How the belief about one pull came about; only where it is asked for.
    Explanation {
        /// Seconds since the recording started.
        t: f64,
        adapter: &'a str,
        seq: u64,
        peak_nm: f64,
        turned_deg: Option<f64>,
        /// In the order in which they are taken.
        sources: &'a [Basis],
        guesses: Vec<Guessed<'a>>,
        /// Probability of all that is not followed any more, at most.
        not_followed: f64,
    },
    /// The last line.
    Summary {
        complete: bool,
        identified: bool,
        fasteners: &'a BTreeMap<String, Ending>,
        open: &'a [String],
        holds: &'a BTreeMap<String, bool>,
        verdicts: u64,
        warnings: &'a BTreeMap<WarningCode, u64>,
    },
}

/// Something that a pull could have been.
#[derive(Debug, Serialize)]
pub struct Guessed<'a> {
    fastener: Option<&'a str>,
    act: Act,
    /// Probability after each source.
    after: Vec<f64>,
    /// Probability by everything that is known in the end.
    now: f64,
}

impl<'a> From<&'a Explanation> for Line<'a> {
    fn from(explanation: &'a Explanation) -> Self {
        let guesses = explanation.guesses.iter().map(|guess| Guessed {
            fastener: guess.fastener.as_deref(),
            act: guess.act,
            after: guess.after.iter().copied().map(rounded).collect(),
            now: rounded(guess.now),
        });
        Self::Explanation {
            t: explanation.at.seconds(),
            adapter: &explanation.adapter,
            seq: explanation.seq,
            peak_nm: explanation.peak.nm(),
            turned_deg: explanation.turned_deg,
            sources: &explanation.sources,
            guesses: guesses.collect(),
            not_followed: rounded(explanation.let_go),
        }
    }
}

impl<'a> From<&'a Conclusion> for Line<'a> {
    fn from(conclusion: &'a Conclusion) -> Self {
        match conclusion {
            Conclusion::Verdict(verdict) => verdict.into(),
            Conclusion::Warning(warning) => warning.into(),
        }
    }
}

impl<'a> From<&'a Verdict> for Line<'a> {
    fn from(verdict: &'a Verdict) -> Self {
        Self::Verdict {
            t: verdict.at.seconds(),
            adapter: &verdict.adapter,
            seq: verdict.seq,
            step: verdict.step.as_deref(),
            pass: verdict.pass,
            fastener: verdict.fastener.as_deref(),
            confidence: rounded(verdict.confidence),
            basis: &verdict.basis,
            peak_nm: verdict.peak.nm(),
            torque: verdict.torque,
            act: verdict.act,
            revised: verdict.revised,
        }
    }
}

impl<'a> From<&'a Warning> for Line<'a> {
    fn from(warning: &'a Warning) -> Self {
        Self::Warning {
            t: warning.at.seconds(),
            code: warning.code,
            fastener: warning.fastener.as_deref(),
            seq: warning.seq,
            text: &warning.text,
        }
    }
}

impl<'a> From<&'a Summary> for Line<'a> {
    fn from(summary: &'a Summary) -> Self {
        Self::Summary {
            complete: summary.complete,
            identified: summary.identified,
            fasteners: &summary.fasteners,
            open: &summary.open,
            holds: &summary.holds,
            verdicts: summary.verdicts,
            warnings: &summary.warnings,
        }
    }
}

/// A probability to four decimals: more would only pretend.
fn rounded(probability: f64) -> f64 {
    (probability * 1e4).round() / 1e4
}

fn is_false(value: &bool) -> bool {
    !value
}

#[cfg(test)]
mod tests {
    use crate::cli::contract::Line;
    use crate::core::event::{
        Act, Basis, Conclusion, Ending, Summary, TorqueVerdict, Verdict, Warning, WarningCode,
    };
    use crate::core::time::Stamp;
    use crate::core::units::Torque;
    use std::collections::BTreeMap;

    #[track_caller]
    fn check<'a>(line: impl Into<Line<'a>>, expected: &str) {
        assert_eq!(serde_json::to_string(&line.into()).unwrap(), expected);
    }

    fn verdict() -> Verdict {
        Verdict {
            at: Stamp::from_seconds(12.345),
            adapter: "a".into(),
            seq: 7,
            step: Some("wheel".into()),
            pass: Some(2),
            fastener: Some("wheel/4".into()),
            confidence: 0.912_345,
            basis: vec![Basis::PlanOrder, Basis::Torque],
            peak: Torque::from_nm(165.2),
            interval: None,
            torque: TorqueVerdict::In,
            act: Act::Tighten,
            revised: false,
            surer: false,
        }
    }

    #[test]
    fn a_verdict_has_the_keys_of_the_contract_in_its_order() {
        check(
            &Conclusion::Verdict(verdict()),
            r#"{"kind":"verdict","t":12.345,"adapter":"a","seq":7,"step":"wheel","pass":2,"fastener":"wheel/4","confidence":0.9123,"basis":["plan-order","torque"],"peak_nm":165.2,"torque":"in","act":"tighten"}"#,
        );
    }

    #[test]
    fn a_revised_verdict_says_so_and_a_trial_names_nothing() {
        check(
            &Verdict {
                step: None,
                pass: None,
                fastener: None,
                torque: TorqueVerdict::Na,
                act: Act::Trial,
                revised: true,
                surer: false,
                basis: Vec::new(),
                ..verdict()
            },
            r#"{"kind":"verdict","t":12.345,"adapter":"a","seq":7,"step":null,"pass":null,"fastener":null,"confidence":0.9123,"basis":[],"peak_nm":165.2,"torque":"na","act":"trial","revised":true}"#,
        );
    }

    #[test]
    fn a_warning_does_not_tell_its_adapter() {
        check(
            &Conclusion::Warning(Warning {
                at: Stamp::from_seconds(3.0),
                code: WarningCode::LowTorque,
                fastener: None,
                adapter: Some("a".into()),
                seq: Some(2),
                text: "too low".into(),
            }),
            r#"{"kind":"warning","t":3.0,"code":"low-torque","fastener":null,"seq":2,"text":"too low"}"#,
        );
    }

    #[test]
    fn the_summary_counts_warnings_by_code() {
        check(
            &Summary {
                complete: false,
                identified: true,
                fasteners: BTreeMap::from([("wheel/1".to_owned(), Ending::Open)]),
                probability: BTreeMap::from([("wheel/1".to_owned(), 0.25)]),
                open: vec!["wheel/1".into()],
                holds: BTreeMap::from([("tyre-down".to_owned(), true)]),
                verdicts: 4,
                warnings: BTreeMap::from([(WarningCode::Order, 2)]),
            },
            r#"{"kind":"summary","complete":false,"identified":true,"fasteners":{"wheel/1":"open"},"open":["wheel/1"],"holds":{"tyre-down":true},"verdicts":4,"warnings":{"order":2}}"#,
        );
    }
}

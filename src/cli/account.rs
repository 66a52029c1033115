//! The readable account: one short line for whatever happens, the same in `replay`, `serve` and `demo`.

use crate::cli::printer::{Printer, Tone};
use crate::core::event::{
    Act, Basis, Conclusion, Ending, Say, Summary, TorqueVerdict, Verdict, Warning, WarningCode,
};
use std::io;

/// From this probability on a line does not say what it rests on.
const SURE: f64 = 0.8;

/// Prints one conclusion. `clock` is the time as the listener knows it.
pub fn conclusion(printer: Printer, clock: &str, conclusion: &Conclusion) -> io::Result<()> {
    match conclusion {
        // That it was right is no news.
        Conclusion::Verdict(verdict) if verdict.surer => Ok(()),
        Conclusion::Verdict(verdict) => {
            let tone = match verdict.torque {
                TorqueVerdict::High => Tone::Alarm,
                TorqueVerdict::In => Tone::Good,
                TorqueVerdict::Low | TorqueVerdict::Na => Tone::Plain,
            };
            printer.toned(tone, format_args!("{clock:>8}  {}", verdict_line(verdict)))
        }
        Conclusion::Warning(warning) => {
            printer.toned(Tone::Alarm, format_args!("{clock:>8}  {}", warning_line(warning)))
        }
    }
}

/// One verdict in words.
#[must_use]
pub fn verdict_line(verdict: &Verdict) -> String {
    let name = verdict.fastener.as_deref().unwrap_or("not in the plan");
    let pass = match verdict.pass {
        Some(pass) => format!("pass {pass}"),
        None => String::new(),
    };
    let torque = match verdict.torque {
        TorqueVerdict::In => "reached",
        TorqueVerdict::Low => "below",
        TorqueVerdict::High => "OVER",
        TorqueVerdict::Na => "",
    };
    let act = match verdict.act {
        Act::Tighten => "",
        Act::Recheck => "recheck",
        Act::Loosen => "loosened",
        Act::Trial => "trial",
    };
    let said: Vec<&str> = [torque, act].into_iter().filter(|word| !word.is_empty()).collect();
    let revised = if verdict.revised { "revised: " } else { "" };
    let basis: Vec<&str> = verdict.basis.iter().copied().map(basis_word).collect();
    // Short is read from afar; how it is known matters where it is in doubt.
    let basis = if basis.is_empty() || verdict.confidence >= SURE {
        String::new()
    } else {
        format!(", by {}", basis.join(" and "))
    };
    format!(
        "{name:<22} {:>7.1} N·m  {pass:<7} {revised}{:<16} {:.0} % sure{basis}",
        verdict.peak.nm(),
        said.join(", "),
        verdict.confidence * 100.0,
    )
    .trim_end()
    .to_owned()
}

/// One warning in words.
#[must_use]
pub fn warning_line(warning: &Warning) -> String {
    format!("! {}: {}", code_word(warning.code), warning.text)
}

/// What the operator said, in words.
#[must_use]
pub fn said_line(say: &Say) -> String {
    match say {
        Say::At { fastener } => format!("\"I am at {fastener}\""),
        Say::Confirm { hold, because: None } => format!("\"{hold}: yes\""),
        Say::Confirm { hold, because: Some(reason) } => {
            format!("\"{hold}: yes, because {reason}\"")
        }
        Say::Stated { fastener } => format!("\"{fastener}: done without the adapter\""),
        Say::Low { fastener } => format!("\"{fastener}: stayed low\""),
        Say::Opened { fastener } => format!("\"{fastener}: slackened\""),
        Say::AlsoOpened { name } => format!("\"{name}: opened, too\""),
        Say::Spoiled { fastener } => format!("\"{fastener}: needs a new part\""),
        Say::Figure { of, value } => format!("\"{of}: {value}\""),
        Say::Skip { fastener, reason } => format!("\"{fastener}: left out, {reason}\""),
        Say::Retract => "\"take that back\"".to_owned(),
        Say::Note { text } => format!("\"note: {text}\""),
    }
}

/// That the vehicle must stay where it is, if open joints make it so.
pub fn stays(printer: Printer, life_critical: &[String]) -> io::Result<()> {
    if life_critical.is_empty() {
        return Ok(());
    }
    let names = life_critical.join(", ");
    printer.toned(Tone::Alarm, format_args!("DO NOT MOVE THE VEHICLE: {names}"))
}

/// Where a job stands: what is open first, then how the rest ended.
pub fn summary(printer: Printer, summary: &Summary) -> io::Result<()> {
    if summary.complete {
        printer.toned(Tone::Good, "Nothing of the plan is open.")?;
    } else {
        printer.toned(Tone::Alarm, format_args!("OPEN: {}", summary.open.join(", ")))?;
    }
    let unconfirmed: Vec<&str> = summary
        .holds
        .iter()
        .filter(|(_, confirmed)| !**confirmed)
        .map(|(hold, _)| hold.as_str())
        .collect();
    if !unconfirmed.is_empty() {
        printer.toned(Tone::Alarm, format_args!("Not confirmed: {}", unconfirmed.join(", ")))?;
    }
    for (ending, words) in [
        (Ending::Shown, "Shown tight to plan"),
        (Ending::Counted, "Counted (count only: which one is not known)"),
        (Ending::Stated, "Stated by the operator"),
    ] {
        let count = summary.fasteners.values().filter(|e| **e == ending).count();
        if count > 0 {
            printer.line(format_args!("{words}: {count}"))?;
        }
    }
    let warnings: Vec<String> = summary
        .warnings
        .iter()
        .map(|(code, count)| format!("{} {count}", code_word(*code)))
        .collect();
    printer.line(format_args!(
        "Pulls judged: {}. Warnings: {}.",
        summary.verdicts,
        if warnings.is_empty() { "none".to_owned() } else { warnings.join(", ") }
    ))
}

/// Minutes and seconds since a beginning, as `m:ss`.
#[must_use]
pub fn elapsed(seconds: f64) -> String {
    let whole = seconds.max(0.0) as u64;
    format!("{}:{:02}", whole / 60, whole % 60)
}

/// A source of evidence in words.
#[must_use]
pub fn basis_word(basis: Basis) -> &'static str {
    match basis {
        Basis::PlanOrder => "plan order",
        Basis::Mark => "your word",
        Basis::Motion => "motion",
        Basis::Rotation => "rotation",
        Basis::Trace => "trace",
        Basis::Torque => "torque",
        Basis::Time => "time",
    }
}

fn code_word(code: WarningCode) -> &'static str {
    match code {
        WarningCode::LowTorque => "low torque",
        WarningCode::HighTorque => "over torque",
        WarningCode::Order => "order",
        WarningCode::Repeat => "pulled twice",
        WarningCode::DidNotTurn => "did not turn",
        WarningCode::Skipped => "skipped",
        WarningCode::Loosened => "loosened",
        WarningCode::HoldOpen => "hold",
        WarningCode::RedoSlack => "slacken and redo",
        WarningCode::BackedOff => "backed off",
        WarningCode::UnitMixUp => "units",
        WarningCode::AdapterRange => "adapter range",
        WarningCode::CalibrationDue => "calibration",
        WarningCode::Unexpected => "unexpected",
        WarningCode::Slipped => "slipped",
        WarningCode::ThreadDamage => "thread",
        WarningCode::Yielding => "yielding",
        WarningCode::LinkLost => "link lost",
        WarningCode::Gap => "readings missing",
        WarningCode::UnknownName => "unknown name",
        WarningCode::PastSlot => "past the slot",
        WarningCode::LowAngle => "low angle",
        WarningCode::OverAngle => "over angle",
        WarningCode::Unconfirmed => "not confirmed",
        WarningCode::AdapterSuspect => "adapter suspect",
        WarningCode::GuardBand => "guard band",
        WarningCode::Cured => "cured",
        WarningCode::SidesDiffer => "sides differ",
        WarningCode::Driven => "impact tool",
        WarningCode::NoAccess => "no access",
        WarningCode::NotCertified => "not certified",
    }
}

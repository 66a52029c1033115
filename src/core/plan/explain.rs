//! What each code means, for who wants to know more.

use crate::core::plan::fault::Code;
use crate::core::plan::names;
use std::fmt;
use thiserror::Error;

/// No fault has that code.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("expected the code of a fault, but found `{found}`; {remedy}")]
pub struct UnknownCode {
    found: String,
    remedy: String,
}

/// The code of that name; [`Code::meaning`] says what it means.
///
/// # Errors
/// There is none; the nearest name is proposed, or all are.
pub fn explain(name: &str) -> Result<Code, UnknownCode> {
    let found = Code::ALL.iter().find(|code| code.name() == name);
    found.copied().ok_or_else(|| {
        let known: Vec<&str> = Code::ALL.iter().map(|code| code.name()).collect();
        UnknownCode { found: name.to_owned(), remedy: names::did_you_mean(name, &known) }
    })
}

impl Code {
    /// Every code, from the reading of a text to the checks of a plan.
    pub const ALL: [Self; 37] = [
        Self::Syntax,
        Self::TooLarge,
        Self::Kind,
        Self::UnknownKey,
        Self::Duplicate,
        Self::Missing,
        Self::Name,
        Self::Unresolved,
        Self::Text,
        Self::Figure,
        Self::Tolerance,
        Self::Pattern,
        Self::Order,
        Self::Passes,
        Self::Cycle,
        Self::LookUp,
        Self::Vin,
        Self::Unused,
        Self::Measure,
        Self::Include,
        Self::NoSource,
        Self::UnknownThread,
        Self::LowForThread,
        Self::HighForThread,
        Self::UnitMixUp,
        Self::Range,
        Self::Calibrated,
        Self::Direction,
        Self::CalibrationDue,
        Self::CannotVerify,
        Self::GuardBand,
        Self::NoReplacement,
        Self::SidesDiffer,
        Self::NoRecheck,
        Self::Fixture,
        Self::CastleNut,
        Self::ThreadLocker,
    ];

    /// Its name, as programs and `--explain` know it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Syntax => "syntax",
            Self::TooLarge => "too-large",
            Self::Kind => "kind",
            Self::UnknownKey => "unknown-key",
            Self::Duplicate => "duplicate",
            Self::Missing => "missing",
            Self::Name => "name",
            Self::Unresolved => "unresolved",
            Self::Text => "text",
            Self::Figure => "figure",
            Self::Tolerance => "tolerance",
            Self::Pattern => "pattern",
            Self::Order => "order",
            Self::Passes => "passes",
            Self::Cycle => "cycle",
            Self::LookUp => "look-up",
            Self::Vin => "vin",
            Self::Unused => "unused",
            Self::Measure => "measure",
            Self::Include => "include",
            Self::NoSource => "no-source",
            Self::UnknownThread => "unknown-thread",
            Self::LowForThread => "low-for-thread",
            Self::HighForThread => "high-for-thread",
            Self::UnitMixUp => "unit-mix-up",
            Self::Range => "range",
            Self::Calibrated => "calibrated",
            Self::Direction => "direction",
            Self::CalibrationDue => "calibration-due",
            Self::CannotVerify => "cannot-verify",
            Self::GuardBand => "guard-band",
            Self::NoReplacement => "no-replacement",
            Self::SidesDiffer => "sides-differ",
            Self::NoRecheck => "no-recheck",
            Self::Fixture => "fixture",
            Self::CastleNut => "castle-nut",
            Self::ThreadLocker => "thread-locker",
        }
    }

    /// What it means, and why it is said.
    #[must_use]
    pub const fn meaning(self) -> &'static str {
        match self {
            Self::Syntax => {
                "The text is no TOML. Nothing else is read of such a line, so mend these first."
            }
            Self::TooLarge => {
                "There is more than any plan needs: octets, joints, holds, or faults to list."
            }
            Self::Kind => {
                "A value is of another kind than its key wants: a number where text belongs, a word that the key does not know."
            }
            Self::UnknownKey => {
                "A key means nothing where it stands. Most are misspelt or stand under the wrong line in brackets. Nothing is skipped silently."
            }
            Self::Duplicate => {
                "A key, a joint or a member is given twice, so that two values could be meant."
            }
            Self::Missing => {
                "Something must be there and is not, or a default was taken that should be written down."
            }
            Self::Name => {
                "Names are lower-case letters, digits and hyphens, so that they can be typed and spoken. `title` takes any words."
            }
            Self::Unresolved => "A name is used that nothing in the file carries.",
            Self::Text => "The text has octets or characters in it that no person typed.",
            Self::Figure => {
                "A torque cannot be read, has no unit, or lies outside all reason. A bare pound or kilogram is refused, because it may mean two things."
            }
            Self::Tolerance => {
                "A tolerance cannot be read, is given twice, or leaves no window that a hand can hit."
            }
            Self::Pattern => {
                "A count of fasteners is out of range, or two patterns contradict each other."
            }
            Self::Order => "An order must name each member of its group once.",
            Self::Passes => {
                "Passes contradict the target or each other: they rise, the target comes last, and only check rounds, turns by angle and passes by hand follow it. A pass above the target needs one that backs off between."
            }
            Self::Cycle => "Joints wait for each other, so that none could be first.",
            Self::LookUp => {
                "A value is still to be looked up. It is asked for before that joint is pulled, never guessed."
            }
            Self::Vin => {
                "The vehicle identification number does not check. Compare it with the plate: values hold for one vehicle."
            }
            Self::Unused => "Something is declared and nothing asks for it.",
            Self::Measure => "A length, an angle or a time needs its unit: 50 mm, 90°, 10 min.",
            Self::Include => {
                "A file named by `include` cannot be read, is no fragment, names itself, or brings a joint or a hold that is there already."
            }
            Self::NoSource => {
                "A torque without its source cannot be checked by anybody. Write where it was read, with page or sheet, once for the plan or for each joint."
            }
            Self::UnknownThread => {
                "A thread that is written otherwise than M12×1.5 or 1/2-20 is kept and shown, but the target is not held against it."
            }
            Self::LowForThread => {
                "Targets are compared with 0.20 · d · S_p · A_s, the torque that would bring a plain bolt to its proof load. Below 0.15 of it a clamped joint is rare and a wrong unit is likely; below 0.30 it is worth a second look. Pivots, bearings, plugs, sensors and plastic are left alone once `kind` says so."
            }
            Self::HighForThread => {
                "Targets are compared with 0.20 · d · S_p · A_s. From 0.92 of it on a bolt yields where friction is 0.14 or less, from 1.16 on where it is 0.20, above 1.45 at every friction up to 0.30; a ball seat takes 1.25 times as much, a cone 1.5 times. Without a class 8.8 is taken for warnings and 12.9 for refusal. In short or soft threads the thread strips first, and this check says nothing."
            }
            Self::UnitMixUp => {
                "The number would be usual in another unit, or left and right are as far apart as two units. It is asked, never put right: newton metres and pound-force feet are too close to be told apart by this."
            }
            Self::Range => {
                "No adapter at hand measures this torque. Below its range a reading is noise; above it the adapter may be overloaded."
            }
            Self::Calibrated => {
                "The target lies within what the adapter measures, but outside what its certificate covers."
            }
            Self::Direction => {
                "A left-hand thread tightens counter-clockwise, and most certificates cover clockwise alone."
            }
            Self::CalibrationDue => {
                "The day on which the adapter was to be calibrated has passed. Its owner decides the interval; failing that, twelve months or 5000 pulls are usual, less after an overload or a drop."
            }
            Self::CannotVerify => {
                "The tolerance is less than 1.5 times the adapter’s expanded uncertainty (k = 2) to either side, or guarded acceptance leaves no reading that would pass. A ±4 % tool cannot verify ±5 %. Widening the tolerance for the tool’s sake proves nothing."
            }
            Self::GuardBand => {
                "The plan asks for guarded acceptance: a reading passes without condition only if it lies inside by the adapter’s expanded uncertainty. The report names the rule."
            }
            Self::NoReplacement => {
                "The plan says or implies a part that is used once: a pin, a staked or gripping nut, a bolt turned by an angle. Whoever gathers parts the evening before needs the line that names the new one."
            }
            Self::SidesDiffer => {
                "The same fastener on both sides of a vehicle has the same value, with rare exceptions that a source names."
            }
            Self::NoRecheck => {
                "Wheels are pulled once more after some distance, cold, as their data say. Clamp is lost while faces and seats settle."
            }
            Self::Fixture => {
                "The adapter measures the torsion about its own axis. What is on the hand’s side of it or in line behind it changes nothing; a crowfoot between adapter and fastener does, by (L + E · cos θ) / L if one hand pulls, and not at all if two hands make a couple. Square to the handle both are 1. A correction above 10 %, an unknown lever or a universal joint bent beyond 15° proves nothing."
            }
            Self::CastleNut => {
                "A castle nut is pulled to its least torque and then goes forward to the next slot, never back. A tolerance below the value would let it stop short."
            }
            Self::ThreadLocker => {
                "Once a thread locker sets, a pull breaks the bond. A check round is only right within its working time, so the plan says how long that is."
            }
        }
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

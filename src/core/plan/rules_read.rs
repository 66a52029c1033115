//! The keys of a joint's table that make its [`Rules`].

use crate::core::decision::Rule;
use crate::core::fixture::{Bar, Offset, Place, UniversalJoint};
use crate::core::joint::{Condition, Seat, SlotPitch};
use crate::core::plan::fault::{Code, Complaint, Faults, short};
use crate::core::plan::rules::{
    Access, Fixture, Kind, Locker, Prevailing, PrevailingMode, Recheck, RecheckMethod, Reuse,
    Rules, SecuredBy, Turned,
};
use crate::core::plan::section::{self, Section, Value, wrong_kind};
use crate::core::plan::{measure, names};
use toml::de::DeValue;

/// The keys.
pub(super) const KEYS: [&str; 18] = [
    "kind",
    "seat",
    "lubrication",
    "drive",
    "hold-with",
    "turned",
    "access",
    "crowfoot",
    "universal-joint",
    "extension",
    "castle-nut",
    "prevailing",
    "thread-locker",
    "single-use",
    "new-parts",
    "secured-by",
    "recheck",
    "acceptance",
];

pub(super) const KINDS: [(&str, Kind); 8] = [
    ("clamp", Kind::Clamp),
    ("wheel", Kind::Wheel),
    ("pivot", Kind::Pivot),
    ("bearing", Kind::Bearing),
    ("plug", Kind::Plug),
    ("sensor", Kind::Sensor),
    ("plastic", Kind::Plastic),
    ("torque-to-yield", Kind::TorqueToYield),
];

pub(super) const SEATS: [(&str, Seat); 3] =
    [("flat", Seat::Flat), ("ball", Seat::Ball), ("cone", Seat::Cone)];

pub(super) const LUBRICATIONS: [(&str, Condition); 5] = [
    ("dry", Condition::Dry),
    ("as-supplied", Condition::AsSupplied),
    ("light-oil", Condition::LightOil),
    ("paste", Condition::Paste),
    ("thread-locker", Condition::ThreadLocker),
];

pub(super) const TURNED: [(&str, Turned); 2] = [("nut", Turned::Nut), ("head", Turned::Head)];

pub(super) const ACCESS: [(&str, Access); 3] = [
    ("fits", Access::Fits),
    ("too-long", Access::TooLong),
    ("key-in-the-way", Access::KeyInTheWay),
];

pub(super) const PREVAILING: [(&str, PrevailingMode); 3] = [
    ("as-published", PrevailingMode::AsPublished),
    ("add-measured", PrevailingMode::AddMeasured),
    ("add-if-a-third", PrevailingMode::AddIfAThird),
];

pub(super) const REUSE: [(&str, Reuse); 3] =
    [("single", Reuse::Single), ("limited", Reuse::Limited), ("unlimited", Reuse::Unlimited)];

pub(super) const SECURED_BY: [(&str, SecuredBy); 4] = [
    ("pin", SecuredBy::Pin),
    ("stake", SecuredBy::Stake),
    ("lock", SecuredBy::Lock),
    ("wire", SecuredBy::Wire),
];

pub(super) const RECHECKS: [(&str, RecheckMethod); 3] = [
    ("pull-to-torque", RecheckMethod::PullToTorque),
    ("back-off-and-pull", RecheckMethod::BackOffAndPull),
    ("none", RecheckMethod::None),
];

pub(super) const ACCEPTANCE: [(&str, Rule); 2] =
    [("simple", Rule::Simple), ("guarded", Rule::Guarded)];

pub(super) const PLACES: [(&str, Place); 2] =
    [("behind-adapter", Place::BehindAdapter), ("before-adapter", Place::BeforeAdapter)];

/// Reads all but what other keys bring: thread, grade and by-hand-only.
pub(super) fn read(section: &Section<'_, '_>, faults: &mut Faults<'_>) -> Rules {
    let texts = |key: &str, faults: &mut Faults<'_>| -> Vec<String> {
        let texts = section.texts(key, faults).into_iter().map(|text| text.value);
        texts.filter(|text| !text.is_empty()).collect()
    };
    let text =
        |key: &str, faults: &mut Faults<'_>| section.text(key, faults).map(|text| text.value);
    Rules {
        thread: None,
        grade: None,
        by_hand_only: false,
        kind: choice(section, "kind", &KINDS, faults).unwrap_or_default(),
        seat: choice(section, "seat", &SEATS, faults).unwrap_or_default(),
        lubrication: choice(section, "lubrication", &LUBRICATIONS, faults),
        drive: text("drive", faults),
        hold_with: text("hold-with", faults),
        turned: choice(section, "turned", &TURNED, faults),
        access: choice(section, "access", &ACCESS, faults).unwrap_or_default(),
        fixture: Fixture {
            offset: section.get("crowfoot").and_then(|value| crowfoot(value, faults)),
            universal: universal(section, faults),
            bars: section.get("extension").map(|value| bars(value, faults)).unwrap_or_default(),
        },
        castle: section.get("castle-nut").and_then(|value| castle(value, faults)),
        prevailing: section.get("prevailing").and_then(|value| prevailing(value, faults)),
        locker: section.get("thread-locker").and_then(|value| locker(value, faults)),
        single_use: texts("single-use", faults),
        new_parts: texts("new-parts", faults),
        secured_by: choice(section, "secured-by", &SECURED_BY, faults),
        recheck: section.get("recheck").and_then(|value| recheck(value, faults)),
        acceptance: choice(section, "acceptance", &ACCEPTANCE, faults).unwrap_or_default(),
    }
}

/// One of a few words.
pub(super) fn choice<T: Copy>(
    section: &Section<'_, '_>,
    key: &str,
    options: &[(&'static str, T)],
    faults: &mut Faults<'_>,
) -> Option<T> {
    let found = section.text(key, faults)?;
    let known: Vec<&str> = options.iter().map(|(word, _)| *word).collect();
    if let Some((_, value)) = options.iter().find(|(word, _)| *word == found.value) {
        return Some(*value);
    }
    faults.error(
        found.at,
        Complaint::new(
            Code::Kind,
            format!("expected one of a few words for `{key}`, but found `{}`", short(&found.value)),
            names::did_you_mean(&found.value, &known),
        ),
    );
    None
}

/// A number with its unit under this key.
fn measured(
    section: &Section<'_, '_>,
    key: &str,
    read: fn(&str) -> Result<f64, Complaint>,
    faults: &mut Faults<'_>,
) -> Option<f64> {
    let text = section::text(section.get(key)?, key, faults)?;
    read(&text.value).map_err(|complaint| faults.error(text.at, complaint)).ok()
}

/// `{ offset = "50 mm", angle = "90°", lever = "400 mm", place = "behind-adapter" }`
fn crowfoot(value: &Value<'_>, faults: &mut Faults<'_>) -> Option<Offset> {
    let example = "write it like `{ offset = \"50 mm\", angle = \"90°\" }`";
    let DeValue::Table(table) = value.get_ref() else {
        wrong_kind(value, "crowfoot", "a table", example, faults);
        return None;
    };
    let section = Section::new(table, "a crowfoot");
    section.check_keys(&["offset", "angle", "lever", "place"], faults);
    let angle = match section.get("angle") {
        Some(_) => measured(&section, "angle", measure::degrees, faults),
        None => Some(90.0),
    };
    let lever = measured(&section, "lever", measure::millimetres, faults);
    let place = choice(&section, "place", &PLACES, faults).unwrap_or_default();
    let offset = match section.get("offset") {
        Some(_) => measured(&section, "offset", measure::millimetres, faults),
        None => {
            let message = "expected an `offset` of the crowfoot, but found none";
            faults.error(value.span().start, Complaint::new(Code::Missing, message, example));
            None
        }
    };
    Some(Offset { offset_mm: offset?, angle_degrees: angle?, lever_mm: lever, place })
}

fn universal(section: &Section<'_, '_>, faults: &mut Faults<'_>) -> Option<UniversalJoint> {
    let angle_degrees = measured(section, "universal-joint", measure::degrees, faults)?;
    Some(UniversalJoint { angle_degrees })
}

/// `"250 mm × 12.7 mm"`, length and diameter, or a list of those.
fn bars(value: &Value<'_>, faults: &mut Faults<'_>) -> Vec<Bar> {
    let one = |value: &Value<'_>, faults: &mut Faults<'_>| {
        let text = section::text(value, "extension", faults)?;
        let sizes = text.value.split(['×', 'x']).map(str::trim).collect::<Vec<_>>();
        let read = |text: &str| measure::millimetres(text).ok();
        let found = match sizes.as_slice() {
            [length, diameter] => read(length).zip(read(diameter)),
            _ => None,
        };
        match found {
            Some((length_mm, diameter_mm))
                if (10.0..=2000.0).contains(&length_mm) && (4.0..=60.0).contains(&diameter_mm) =>
            {
                Some(Bar { length_mm, diameter_mm })
            }
            _ => {
                let message = format!(
                    "expected a bar of 10 to 2000 mm, 4 to 60 mm thick, but found `{}`",
                    short(&text.value)
                );
                let remedy = "write length and diameter like `250 mm × 12.7 mm`";
                faults.error(text.at, Complaint::new(Code::Measure, message, remedy));
                None
            }
        }
    };
    match value.get_ref() {
        DeValue::Array(items) => items.iter().filter_map(|item| one(item, faults)).collect(),
        _ => one(value, faults).into_iter().collect(),
    }
}

/// `true` for the usual six slots and one hole, or the pitch.
fn castle(value: &Value<'_>, faults: &mut Faults<'_>) -> Option<SlotPitch> {
    match value.get_ref() {
        DeValue::Boolean(flag) => flag.then(SlotPitch::default),
        DeValue::String(text) => {
            let found = measure::degrees(text.trim()).ok().and_then(SlotPitch::from_degrees);
            if found.is_none() {
                let message = format!(
                    "expected degrees from slot to slot for `castle-nut`, but found `{}`",
                    short(text)
                );
                let remedy = "write `\"60°\"`, or `\"30°\"` for two holes at a right angle";
                faults.error(value.span().start, Complaint::new(Code::Measure, message, remedy));
            }
            found
        }
        _ => {
            wrong_kind(value, "castle-nut", "true or degrees", "write `true` or `\"60°\"`", faults);
            None
        }
    }
}

/// A mode, or `{ mode = "add-measured", reuse = "limited" }`.
fn prevailing(value: &Value<'_>, faults: &mut Faults<'_>) -> Option<Prevailing> {
    let of_table = |section: &Section<'_, '_>, faults: &mut Faults<'_>| Prevailing {
        mode: choice(section, "mode", &PREVAILING, faults).unwrap_or_default(),
        reuse: choice(section, "reuse", &REUSE, faults).unwrap_or_default(),
    };
    match value.get_ref() {
        DeValue::Boolean(flag) => {
            flag.then(|| Prevailing { mode: PrevailingMode::default(), reuse: Reuse::default() })
        }
        DeValue::Table(table) => {
            let section = Section::new(table, "a prevailing-torque nut");
            section.check_keys(&["mode", "reuse"], faults);
            Some(of_table(&section, faults))
        }
        _ => {
            let text = section::text(value, "prevailing", faults)?;
            let known: Vec<&str> = PREVAILING.iter().map(|(word, _)| *word).collect();
            let mode = PREVAILING.iter().find(|(word, _)| *word == text.value);
            if mode.is_none() {
                faults.error(
                    text.at,
                    Complaint::new(
                        Code::Kind,
                        format!(
                            "expected one of a few words for `prevailing`, but found `{}`",
                            short(&text.value)
                        ),
                        names::did_you_mean(&text.value, &known),
                    ),
                );
            }
            mode.map(|(_, mode)| Prevailing { mode: *mode, reuse: Reuse::default() })
        }
    }
}

/// `true`, the product, or `{ product = "…", working-time = "10 min" }`.
fn locker(value: &Value<'_>, faults: &mut Faults<'_>) -> Option<Locker> {
    match value.get_ref() {
        DeValue::Boolean(flag) => flag.then(Locker::default),
        DeValue::Table(table) => {
            let section = Section::new(table, "a thread locker");
            section.check_keys(&["product", "working-time"], faults);
            Some(Locker {
                product: section.text("product", faults).map(|text| text.value),
                working_minutes: measured(&section, "working-time", measure::minutes, faults),
            })
        }
        _ => {
            let text = section::text(value, "thread-locker", faults)?;
            let product = (!text.value.is_empty()).then_some(text.value);
            Some(Locker { product, working_minutes: None })
        }
    }
}

/// When, in words; or `{ method = "pull-to-torque", when = "cold, after 80 km" }`.
fn recheck(value: &Value<'_>, faults: &mut Faults<'_>) -> Option<Recheck> {
    let DeValue::Table(table) = value.get_ref() else {
        let text = section::text(value, "recheck", faults)?;
        let method = RECHECKS.iter().find(|(word, _)| *word == text.value);
        return Some(match method {
            Some((_, method)) => Recheck { method: *method, when: None },
            None => Recheck {
                method: RecheckMethod::default(),
                when: (!text.value.is_empty()).then_some(text.value),
            },
        });
    };
    let section = Section::new(table, "a recheck");
    section.check_keys(&["method", "when"], faults);
    Some(Recheck {
        method: choice(&section, "method", &RECHECKS, faults).unwrap_or_default(),
        when: section.text("when", faults).map(|text| text.value),
    })
}

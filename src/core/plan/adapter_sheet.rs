//! What an adapter's papers say of it: a small file that plans are checked against.

use crate::core::decision::{COVERAGE, Contribution, combined};
use crate::core::plan::fault::{Code, Complaint, Fault, Faults, short};
use crate::core::plan::figure::{Amount, Figure, Limits, unit_complaint};
use crate::core::plan::rules_read::choice;
use crate::core::plan::section::{Located, Section};
use crate::core::plan::syntax;
use crate::core::plan::tolerance::Tolerance;
use crate::core::units::{StatedTorque, Torque};
use toml::de::DeValue;

const KEYS: [&str; 10] = [
    "adapter",
    "serial",
    "range",
    "calibrated",
    "directions",
    "uncertainty",
    "deviation",
    "resolution",
    "due",
    "method",
];

/// An adapter as its certificate or its data sheet describes it.
#[derive(Debug, Clone, PartialEq)]
pub struct AdapterSheet {
    /// What people call it.
    pub name: String,
    /// Its serial number.
    pub serial: Option<String>,
    /// Smallest and largest torque that it measures.
    pub range: (Torque, Torque),
    /// The interval that it is calibrated over; none if the papers do not say.
    pub calibrated: Option<(Torque, Torque)>,
    /// Which directions it is calibrated in.
    pub directions: Directions,
    /// Expanded uncertainty with k = 2, per cent of the reading: a calibration certificate's.
    pub uncertainty_per_cent: Option<f64>,
    /// Permissible deviation, per cent of the reading: a declaration's.
    pub deviation_per_cent: Option<f64>,
    /// Step of its display.
    pub resolution: Option<Torque>,
    /// The day on which it is due for calibration, `2027-03-01`.
    pub due: Option<String>,
    /// What it was calibrated by, as the certificate says.
    pub method: Option<String>,
}

/// Directions of a calibration.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Directions {
    /// Clockwise alone, as is usual.
    #[default]
    Clockwise,
    /// Both.
    Both,
}

impl AdapterSheet {
    /// Reads the text of such a file.
    ///
    /// # Errors
    /// Everything that is wrong with it, in file order.
    pub fn parse(text: &str) -> Result<Self, Vec<Fault>> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let mut faults = Faults::new(text);
        let sheet = syntax::table(text, &mut faults).and_then(|table| {
            let top = Section::new(&table, "the adapter's sheet");
            read(&top, &mut faults)
        });
        let clean = faults.is_empty();
        sheet.filter(|_| clean).ok_or_else(|| faults.finish())
    }

    /// Standard uncertainty of a reading at `torque`, as a share of it (JCGM 100); none if the papers do not say.
    ///
    /// A certificate's uncertainty and a permissible deviation both count where both are given, for no
    /// correction by the certificate is made.
    #[must_use]
    pub fn relative_uncertainty(&self, torque: Torque) -> Option<f64> {
        let of = |per_cent: f64| torque.nm() * per_cent / 100.0;
        let certificate = self
            .uncertainty_per_cent
            .map(|share| Contribution::Expanded { expanded: of(share), coverage: COVERAGE });
        let declared = self.deviation_per_cent.map(|share| Contribution::HalfWidth(of(share)));
        let step = self.resolution.map(|step| Contribution::Resolution(step.nm()));
        let known = certificate.is_some() || declared.is_some();
        let all: Vec<Contribution> = [certificate, declared, step].into_iter().flatten().collect();
        known.then(|| combined(&all) / torque.nm())
    }

    /// Whether its range has this torque in it.
    #[must_use]
    pub fn measures(&self, torque: Torque) -> bool {
        (self.range.0..=self.range.1).contains(&torque)
    }
}

fn read(top: &Section<'_, '_>, faults: &mut Faults<'_>) -> Option<AdapterSheet> {
    top.check_keys(&KEYS, faults);
    let name = top.text("adapter", faults).map(|text| text.value);
    if name.is_none() {
        missing("what the adapter is called", "write `adapter = \"large\"`", faults);
    }
    let range = span(top, "range", faults);
    if top.get("range").is_none() {
        missing("the adapter's range", "write `range = \"40..280 N·m\"`", faults);
    }
    let calibrated = span(top, "calibrated", faults);
    let directions = [("clockwise", Directions::Clockwise), ("both", Directions::Both)];
    let text = |key: &str, faults: &mut Faults<'_>| top.text(key, faults).map(|text| text.value);
    let sheet = AdapterSheet {
        serial: text("serial", faults),
        calibrated,
        directions: choice(top, "directions", &directions, faults).unwrap_or_default(),
        uncertainty_per_cent: per_cent(top, "uncertainty", faults),
        deviation_per_cent: per_cent(top, "deviation", faults),
        resolution: resolution(top, faults),
        due: due(top, faults),
        method: text("method", faults),
        name: name?,
        range: range?,
    };
    Some(sheet)
}

/// Both ends under this key.
fn span(top: &Section<'_, '_>, key: &str, faults: &mut Faults<'_>) -> Option<(Torque, Torque)> {
    let Located { value, at } = top.text(key, faults)?;
    match Figure::parse(&value) {
        Ok(Figure::Amount(Amount { stated, limits: Limits::Between(low, high) })) => {
            let torque = |value: f64| StatedTorque { value, unit: stated.unit }.torque();
            Some((torque(low), torque(high)))
        }
        Ok(_) => {
            let message = format!("expected both ends for `{key}`, but found `{}`", short(&value));
            faults.error(at, Complaint::new(Code::Figure, message, "write it like `40..280 N·m`"));
            None
        }
        Err(complaint) => {
            faults.error(at, complaint);
            None
        }
    }
}

fn per_cent(top: &Section<'_, '_>, key: &str, faults: &mut Faults<'_>) -> Option<f64> {
    let Located { value, at } = top.text(key, faults)?;
    let found = Tolerance::parse(&value).ok().and_then(|tolerance| tolerance.symmetric_per_cent());
    if found.is_none() {
        let message =
            format!("expected per cent of the reading for `{key}`, but found `{}`", short(&value));
        faults.error(at, Complaint::new(Code::Tolerance, message, "write it like `±1 %`"));
    }
    found
}

fn resolution(top: &Section<'_, '_>, faults: &mut Faults<'_>) -> Option<Torque> {
    let Located { value, at } = top.text("resolution", faults)?;
    match value.parse::<StatedTorque>() {
        Ok(stated) => Some(stated.torque()),
        Err(error) => {
            faults.error(at, unit_complaint(&error.to_string()));
            None
        }
    }
}

/// A date, in quotes or without.
fn due(top: &Section<'_, '_>, faults: &mut Faults<'_>) -> Option<String> {
    let value = top.get("due")?;
    let text = match value.get_ref() {
        DeValue::Datetime(date) => date.to_string(),
        _ => top.text("due", faults)?.value,
    };
    let digits = |part: Option<&str>, count: usize| {
        part.is_some_and(|part| part.len() == count && part.bytes().all(|b| b.is_ascii_digit()))
    };
    let mut parts = text.split('-');
    let sound = digits(parts.next(), 4)
        && digits(parts.next(), 2)
        && digits(parts.next(), 2)
        && parts.next().is_none();
    if !sound {
        let message = format!("expected a day for `due`, but found `{}`", short(&text));
        let complaint = Complaint::new(Code::Kind, message, "write it like `2027-03-01`");
        faults.error(value.span().start, complaint);
    }
    sound.then_some(text)
}

fn missing(what: &str, remedy: &str, faults: &mut Faults<'_>) {
    faults.error(
        0,
        Complaint::new(Code::Missing, format!("expected {what}, but found none"), remedy),
    );
}

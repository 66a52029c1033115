//! The report as PDF: the HTML page on paper, with bookmarks, a code for a camera and the signature.
//!
//! What is said comes from the page itself ([`super::html`]), element by element, so that both carry the same
//! facts; how it looks stands in `report.typ`. The exporter holds every document against PDF/A-2a (kept for
//! long) and PDF/UA-1 (read by everybody), and none comes out that does not conform. The same report gives
//! the same octets.

mod letters;
mod tree;
mod world;

use crate::core::language::Language;
use crate::report::html;
use crate::report::seal::{self, Key, SealError};
use crate::report::words::Words;
use crate::report::{Extent, Report, json};
use jiff::Timestamp;
use jiff::tz::Offset;
use maud::{Markup, html as markup};
use qrcode::QrCode;
use qrcode::render::svg;
use serde::Serialize;
use serde_json::Value;
use thiserror::Error;
use tree::Piece;
use typst::foundations::{Datetime, Smart};
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp as PdfMoment};

/// Why there is no PDF.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PdfError {
    /// It cannot be signed, or has no digest.
    #[error(transparent)]
    Seal(#[from] SealError),
    /// It has no time of printing that a document can have.
    #[error(
        "expected a time of printing in the years 1 to 9999, but found {0}; set the computer's clock"
    )]
    Time(String),
    /// It was not set, or does not conform to PDF/A-2a and PDF/UA-1.
    #[error("expected a document in PDF/A-2a and PDF/UA-1, but found: {0}; this is a bug")]
    Refused(String),
}

/// What the template is told.
#[derive(Serialize)]
struct Told {
    title: String,
    language: &'static str,
    /// Stands at the foot of every page.
    foot: String,
    code: Code,
    page: Vec<Piece>,
}

/// A code for a camera.
#[derive(Serialize)]
struct Code {
    svg: String,
    label: String,
}

/// The report as PDF in a language, telling so much; signed, if there is a key.
///
/// # Errors
/// It has no digest, or does not come out as PDF/A-2a and PDF/UA-1.
pub fn render(
    report: &Report,
    extent: Extent,
    language: Language,
    key: Option<&Key>,
) -> Result<Vec<u8>, PdfError> {
    let words = Words::new(language);
    let json: Value = serde_json::from_str(&json::render(report))
        .map_err(|error| SealError::NotCanonical(error.to_string()))?;
    let digest = seal::digest(&json)?;
    let signature = key.map(|key| key.seal(&json)).transpose()?;
    let foot = sealed(words, &digest, signature.as_ref());
    let page = html::page(report, extent, words, &foot).into_string();
    let told = Told {
        title: letters::shown(&html::title(words, report)),
        language: language.code(),
        foot: letters::shown(&name(words, report)),
        code: code(words, &report.job.uuid, &digest)?,
        page: tree::of(&page),
    };
    let told = serde_json::to_string(&told)
        .map_err(|error| PdfError::Refused(format!("data that are no JSON: {error}")))?;
    let options = PdfOptions {
        ident: Smart::Custom(format!("{} {digest}", report.job.uuid)),
        creator: Smart::Custom(Some(format!("Clampbook {}", report.software_version))),
        timestamp: Some(moment(&report.printed_at.utc)?),
        standards: PdfStandards::new(&[PdfStandard::A_2a, PdfStandard::Ua_1])
            .map_err(|error| PdfError::Refused(error.message().to_string()))?,
        ..PdfOptions::default()
    };
    world::set(told, &options)
}

/// What every page is of.
fn name(words: Words, report: &Report) -> String {
    let job = report.job.number.to_string();
    words.say("report", &[("job", &job), ("plan", &html::brief(&report.plan.name))])
}

/// What the record can be checked by, beside its chain.
fn sealed(words: Words, digest: &str, signature: Option<&seal::Seal>) -> Markup {
    let code = |text: &str| markup! { code { (text) } };
    markup! {
        p { (html::phrase(words, "digest", &[("digest", code(digest))])) }
        @if let Some(seal) = signature {
            p {
                (html::phrase(words, "signed", &[
                    ("algorithm", markup! { (seal.algorithm) }),
                    ("key", code(&seal.public_key)),
                    ("value", code(&seal.value)),
                ]))
            }
        }
    }
}

fn code(words: Words, job: &str, digest: &str) -> Result<Code, PdfError> {
    let text = format!("clampbook job {job} report sha256 {digest}");
    let code = QrCode::new(&text)
        .map_err(|error| PdfError::Refused(format!("a text that is no code: {error}")))?;
    let svg = code.render::<svg::Color<'_>>().quiet_zone(false).build();
    Ok(Code { svg, label: words.say("code-label", &[("text", &text)]) })
}

/// The time of printing, as the document's.
fn moment(utc: &str) -> Result<PdfMoment, PdfError> {
    let other = || PdfError::Time(utc.to_owned());
    let at: Timestamp = utc.parse().map_err(|_| other())?;
    let at = Offset::UTC.to_datetime(at);
    let small = |part: i8| u8::try_from(part).map_err(|_| other());
    let year = i32::from(at.year());
    Datetime::from_ymd_hms(
        year,
        small(at.month())?,
        small(at.day())?,
        small(at.hour())?,
        small(at.minute())?,
        small(at.second())?,
    )
    .filter(|_| year > 0)
    .map(PdfMoment::new_utc)
    .ok_or_else(other)
}

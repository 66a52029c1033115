//! The template with its data, set and exported. Nothing is read from anywhere else, not even the clock.

use super::PdfError;
use super::letters::{FONTS, Fonts};
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Dict, Duration, IntoValue};
use typst::syntax::{FileId, Source};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::PdfOptions;

const TEMPLATE: &str = include_str!("report.typ");

/// What the typesetter sees: one template, the data, our fonts.
struct Desk {
    library: LazyHash<Library>,
    template: Source,
    fonts: &'static Fonts,
}

/// The document whose data are that JSON.
pub(super) fn set(json: String, options: &PdfOptions) -> Result<Vec<u8>, PdfError> {
    let mut inputs = Dict::new();
    inputs.insert("report".into(), json.into_value());
    let desk = Desk {
        library: LazyHash::new(Library::builder().with_inputs(inputs).build()),
        template: Source::detached(TEMPLATE),
        fonts: &FONTS,
    };
    let refused = |errors: &[SourceDiagnostic]| {
        let errors: Vec<&str> = errors.iter().map(|error| error.message.as_str()).collect();
        PdfError::Refused(errors.join("; "))
    };
    let document = typst::compile::<PagedDocument>(&desk).output.map_err(|all| refused(&all))?;
    typst_pdf::pdf(&document, options).map_err(|all| refused(&all))
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.fonts.book
    }

    fn main(&self) -> FileId {
        self.template.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.template.id() {
            Ok(self.template.clone())
        } else {
            Err(FileError::AccessDenied)
        }
    }

    fn file(&self, _: FileId) -> FileResult<Bytes> {
        Err(FileError::AccessDenied)
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.fonts.fonts.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}

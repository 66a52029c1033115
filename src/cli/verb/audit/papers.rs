//! Reports as they were handed over, and the signatures under them.

use crate::cli::files;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::{Printer, Tone};
use crate::journal::chain;
use crate::journal::head::Head;
use crate::report::claim::{self, Claim};
use crate::report::seal;
use serde::Serialize;
use std::path::Path;

/// A JSON report.
#[derive(Debug)]
pub(super) struct Paper {
    file: String,
    pub(super) claim: Claim,
    /// The head that it claims to have seen.
    pub(super) head: Head,
}

/// What is found of the signature under a report.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Sealed {
    /// The report.
    pub(super) file: String,
    /// Who signed it; none if nobody did.
    pub(super) signed_by: Option<String>,
    /// SHA-256 of what is signed, which a PDF of the same report shows; none if it has no canonical form.
    pub(super) digest: Option<String>,
    /// In words.
    #[serde(skip)]
    pub(super) says: String,
    /// What is wrong with it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) trouble: Option<String>,
}

impl Paper {
    pub(super) fn read(path: &Path) -> Result<Self, Failure> {
        let file = path.display().to_string();
        let unusable = |found: String| Failure::Input(format!("{file}: {found}"));
        let text = files::report_text(path)?;
        let claim = claim::read(&text).map_err(|error| unusable(error.to_string()))?;
        let hash = chain::from_hex(&claim.head).ok_or_else(|| {
            unusable(format!(
                "expected a hash of 64 digits, but found `{}`; it was edited: find a copy",
                claim.head
            ))
        })?;
        let head = Head { length: claim.length, hash };
        Ok(Self { file, claim, head })
    }

    /// The signature, held against the key that must have made it, if one is named.
    pub(super) fn sealed(&self, wanted: Option<&str>) -> Sealed {
        let digest = seal::digest(&self.claim.document).ok();
        let sealed = |says, signed_by, trouble| Sealed {
            file: self.file.clone(),
            signed_by,
            digest: digest.clone(),
            says,
            trouble,
        };
        let good = |says: String, signed_by| sealed(says, signed_by, None);
        let bad = |trouble: String, signed_by| sealed(trouble.clone(), signed_by, Some(trouble));
        match (seal::verify(&self.claim.document), wanted) {
            (Err(error), _) => bad(error.to_string(), None),
            (Ok(None), None) => good("not signed".to_owned(), None),
            (Ok(None), Some(wanted)) => {
                bad(format!("expected the signature of {wanted}, but found none"), None)
            }
            (Ok(Some(key)), Some(wanted)) if !key.eq_ignore_ascii_case(wanted.trim()) => bad(
                format!("expected the signature of {wanted}, but found that of {key}"),
                Some(key),
            ),
            (Ok(Some(key)), Some(_)) => good(format!("signed by {key}, as expected"), Some(key)),
            (Ok(Some(key)), None) => {
                good(format!("signed by {key}: compare that with the key you know"), Some(key))
            }
        }
    }
}

/// Tells of signatures alone.
pub(super) fn tell(seals: &[Sealed], json: bool, printer: Printer) -> Result<Done, Failure> {
    for seal in seals {
        if json {
            printer.json(seal)?;
        } else {
            let tone = if seal.trouble.is_none() { Tone::Good } else { Tone::Alarm };
            printer.toned(tone, format_args!("{}: {}", seal.file, seal.says))?;
            if let Some(digest) = &seal.digest {
                printer.line(format_args!("  digest {digest}"))?;
            }
        }
    }
    if !json {
        printer.line(
            "A signature shows that whoever has the secret key made this very report, and that nobody changed it \
             since. It does not show that what it says is so.",
        )?;
    }
    match seals.iter().find_map(|seal| Some((&seal.file, seal.trouble.as_ref()?))) {
        Some((file, trouble)) => Err(Failure::Failed(format!("{file}: {trouble}"))),
        None => Ok(Done::Fine),
    }
}

//! Walking the hash chain.

use crate::journal::error::JournalError;
use crate::journal::head::Head;
use crate::journal::query::{Reader, texts_of};
use crate::journal::rows::{COLUMNS, Row, decode_digests};
use crate::journal::{EntryError, chain};
use std::fmt;

/// What the walk found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChainCheck {
    /// How far the chain holds, from entry 1; the whole journal if there is no fault.
    pub sound: Head,
    /// The first entry that does not fit.
    pub fault: Option<ChainFault>,
}

/// An entry that does not fit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChainFault {
    /// Its number.
    pub number: u64,
    /// What does not fit.
    pub what: FaultKind,
}

/// What does not fit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FaultKind {
    /// There is no such entry, but there are later ones.
    Missing,
    /// It does not follow from the entry before.
    Unlinked,
    /// Its content does not match its hash.
    Altered,
    /// Its key columns do not match its payload, or the payload does not parse.
    Inconsistent,
    /// A text beside the chain does not match its digest.
    Text {
        /// Name of the personal field.
        field: String,
    },
}

impl fmt::Display for ChainFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let number = self.number;
        match &self.what {
            FaultKind::Missing => write!(f, "entry {number} is missing, but later ones exist"),
            FaultKind::Unlinked => write!(f, "entry {number} does not follow from the one before"),
            FaultKind::Altered => write!(f, "entry {number} was changed after it was written"),
            FaultKind::Inconsistent => write!(f, "entry {number} contradicts itself"),
            FaultKind::Text { field } => {
                write!(f, "the {field} text of entry {number} was changed after it was written")
            }
        }
    }
}

impl Reader {
    /// Walks the chain from entry 1 to the first entry that does not fit. Entries of kinds unknown here
    /// are verified like all others; erased texts are no fault.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn verify_chain(&self) -> Result<ChainCheck, JournalError> {
        let failed = |error| self.failed(error);
        let mut statement = self
            .conn
            .prepare_cached(&format!("SELECT {COLUMNS} FROM event ORDER BY number"))
            .map_err(failed)?;
        let mut found = statement.query([]).map_err(failed)?;
        let mut sound = Head::EMPTY;
        while let Some(row) = found.next().map_err(failed)? {
            let row = Row::read(row).map_err(failed)?;
            let number = sound.length + 1;
            if let Some(what) = self.fault_of(&row, number, &sound.hash)? {
                let fault = Some(ChainFault { number, what });
                return Ok(ChainCheck { sound, fault });
            }
            sound = Head { length: number, hash: row.hash };
        }
        Ok(ChainCheck { sound, fault: None })
    }

    fn fault_of(
        &self,
        row: &Row,
        number: u64,
        prev: &[u8; 32],
    ) -> Result<Option<FaultKind>, JournalError> {
        if i64::try_from(number) != Ok(row.number) {
            return Ok(Some(FaultKind::Missing));
        }
        if row.prev != *prev {
            return Ok(Some(FaultKind::Unlinked));
        }
        if row.hash != row.expected_hash() {
            return Ok(Some(FaultKind::Altered));
        }
        if let Err(EntryError::Malformed { .. }) = row.event() {
            return Ok(Some(FaultKind::Inconsistent));
        }
        let Some(digests) = decode_digests(&row.digests) else {
            return Ok(Some(FaultKind::Inconsistent));
        };
        let texts = texts_of(&self.conn, row.number).map_err(|error| self.failed(error))?;
        Ok(texts.into_iter().find_map(|kept| {
            let digest = chain::personal_digest(&kept.salt, &kept.field, &kept.text);
            let expected = [kept.field, chain::hex(&digest)];
            let fits = digests.get(kept.place) == Some(&expected);
            let [field, _] = expected;
            (!fits).then_some(FaultKind::Text { field })
        }))
    }
}

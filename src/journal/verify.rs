//! Walking the hash chain.

use crate::core::event::{Event, PersonalField};
use crate::journal::chain;
use crate::journal::error::{EntryError, JournalError};
use crate::journal::head::Head;
use crate::journal::query::{KeptText, Reader};
use crate::journal::rows::{COLUMNS, Row, decode_digests, field_name};
use rusqlite::{ErrorCode, Rows};
use std::fmt;

/// What the walk found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChainCheck {
    /// How far the chain holds, from entry 1; the whole journal if there is no fault.
    pub sound: Head,
    /// The first entry that does not fit.
    pub fault: Option<ChainFault>,
    /// How many personal texts were erased, as the journal itself says.
    pub erased: u64,
}

impl ChainCheck {
    /// True if every entry that is there fits, even if a text beside the chain does not.
    #[must_use]
    pub fn sound_to_the_end(&self) -> bool {
        self.fault.as_ref().is_none_or(|fault| {
            matches!(fault.what, FaultKind::TextGone { .. } | FaultKind::StrayText { .. })
        })
    }
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
    /// It cannot be read at all.
    Illegible {
        /// What the database says.
        detail: String,
    },
    /// A text beside the chain does not match its digest.
    Text {
        /// Name of the personal field.
        field: String,
    },
    /// A text beside the chain is gone, and no entry says that it was erased.
    TextGone {
        /// Name of the personal field.
        field: String,
    },
    /// A text lies beside the chain for an entry that is not there.
    StrayText {
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
            FaultKind::Illegible { detail } => write!(f, "entry {number} cannot be read: {detail}"),
            FaultKind::Text { field } => {
                write!(f, "the {field} text of entry {number} was changed after it was written")
            }
            FaultKind::TextGone { field } => {
                write!(
                    f,
                    "the {field} text of entry {number} is gone, and nothing says that it was erased"
                )
            }
            FaultKind::StrayText { field } => {
                write!(f, "a {field} text was put beside entry {number}, which is not there")
            }
        }
    }
}

impl Reader {
    /// Walks the chain from entry 1 to the first entry that does not fit. Entries of kinds unknown here
    /// are verified like all others; texts that an entry says were erased are no fault.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn verify_chain(&self) -> Result<ChainCheck, JournalError> {
        self.walk_chain(&mut |_| {})
    }

    /// The same; `visit` is told of each entry that fits, in order, with its hash. The journal is seen as
    /// of one commit.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn walk_chain(&self, visit: &mut dyn FnMut(Head)) -> Result<ChainCheck, JournalError> {
        let failed = |error| self.failed(error);
        let _one_commit = self.conn.unchecked_transaction().map_err(failed)?;
        let mut entries = self
            .conn
            .prepare_cached(&format!("SELECT {COLUMNS} FROM event ORDER BY number"))
            .map_err(failed)?;
        let mut texts = self
            .conn
            .prepare_cached(
                "SELECT event, place, field, salt, text FROM personal ORDER BY event, place",
            )
            .map_err(failed)?;
        let mut walk = Walk {
            sound: Head::EMPTY,
            texts: Texts { rows: texts.query([]).map_err(failed)?, ahead: None },
            gone: Vec::new(),
            erased: 0,
        };
        let mut found = entries.query([]).map_err(failed)?;
        loop {
            let row = match found.next() {
                Ok(None) => break,
                Ok(Some(row)) => Row::read(row),
                Err(error) => Err(error),
            };
            if let Err(stop) = row.map_err(Stop::Database).and_then(|row| walk.take(&row)) {
                let fault = ChainFault { number: walk.sound.length + 1, what: stop.fault(self)? };
                return Ok(ChainCheck {
                    sound: walk.sound,
                    fault: Some(fault),
                    erased: walk.erased,
                });
            }
            visit(walk.sound);
        }
        let fault = walk.after_the_last().or_else(|stop| {
            let number = walk.sound.length;
            stop.fault(self).map(|what| Some(ChainFault { number, what }))
        })?;
        Ok(ChainCheck { sound: walk.sound, fault, erased: walk.erased })
    }
}

/// Why the walk does not go on.
enum Stop {
    Fault(FaultKind),
    Database(rusqlite::Error),
}

impl Stop {
    /// What is wrong with the entry; or why nothing can be said of it.
    fn fault(self, reader: &Reader) -> Result<FaultKind, JournalError> {
        match self {
            Self::Fault(what) => Ok(what),
            Self::Database(error) => {
                let damaged = error.sqlite_error().is_none_or(|failure| {
                    matches!(failure.code, ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase)
                });
                match damaged {
                    true => Ok(FaultKind::Illegible { detail: error.to_string() }),
                    false => Err(reader.failed(error)),
                }
            }
        }
    }
}

/// A text that is not there any more.
struct Gone {
    number: u64,
    job: Option<i64>,
    field: String,
}

struct Walk<'s> {
    sound: Head,
    texts: Texts<'s>,
    /// Texts of which no entry has said yet that they were erased.
    gone: Vec<Gone>,
    erased: u64,
}

impl Walk<'_> {
    /// Takes the next row, if it fits.
    fn take(&mut self, row: &Row) -> Result<(), Stop> {
        let number = self.sound.length + 1;
        let fault = |what| Err(Stop::Fault(what));
        if i64::try_from(number) != Ok(row.number) {
            return fault(FaultKind::Missing);
        }
        if row.prev != self.sound.hash {
            return fault(FaultKind::Unlinked);
        }
        if row.hash != row.expected_hash() {
            return fault(FaultKind::Altered);
        }
        let event = row.event();
        if let Err(EntryError::Malformed { .. }) = event {
            return fault(FaultKind::Inconsistent);
        }
        self.take_texts(row, number)?;
        if let Ok(Event::Erased { fields, .. }) = event {
            self.account_for(&fields, row.job);
        }
        self.sound = Head { length: number, hash: row.hash };
        Ok(())
    }

    fn take_texts(&mut self, row: &Row, number: u64) -> Result<(), Stop> {
        let Some(digests) = decode_digests(&row.digests) else {
            return Err(Stop::Fault(FaultKind::Inconsistent));
        };
        let mut there = vec![false; digests.len()];
        while let Some(kept) = self.texts.up_to(row.number).map_err(Stop::Database)? {
            let digest = chain::personal_digest(&kept.salt, &kept.field, &kept.text);
            let expected = [kept.field, chain::hex(&digest)];
            if digests.get(kept.place) != Some(&expected) {
                let [field, _] = expected;
                return Err(Stop::Fault(FaultKind::Text { field }));
            }
            there[kept.place] = true;
        }
        for ([field, _], there) in digests.into_iter().zip(there) {
            if !there {
                self.gone.push(Gone { number, job: row.job, field });
            }
        }
        Ok(())
    }

    /// What an entry says was erased need not be there.
    fn account_for(&mut self, fields: &[PersonalField], job: Option<i64>) {
        let before = self.gone.len();
        self.gone.retain(|gone| {
            gone.job != job || !fields.iter().any(|field| field_name(*field) == gone.field)
        });
        self.erased += (before - self.gone.len()) as u64;
    }

    /// What shows only once every entry was seen.
    fn after_the_last(&mut self) -> Result<Option<ChainFault>, Stop> {
        if let Some(Gone { number, field, .. }) = self.gone.first() {
            let what = FaultKind::TextGone { field: field.clone() };
            return Ok(Some(ChainFault { number: *number, what }));
        }
        let Some((number, kept)) = self.texts.next().map_err(Stop::Database)? else {
            return Ok(None);
        };
        let field = kept.map_or_else(|_| "illegible".to_owned(), |kept| kept.field);
        let what = FaultKind::StrayText { field };
        Ok(Some(ChainFault { number: number.unsigned_abs(), what }))
    }
}

/// The texts beside the chain, in order of their entries.
struct Texts<'s> {
    rows: Rows<'s>,
    /// A text that cannot be read is told when its entry's turn comes.
    ahead: Option<(i64, rusqlite::Result<KeptText>)>,
}

impl Texts<'_> {
    /// The next text of that entry, or of one before it that is not there.
    fn up_to(&mut self, number: i64) -> rusqlite::Result<Option<KeptText>> {
        match self.next()? {
            Some((of, kept)) if of <= number => kept.map(Some),
            later => {
                self.ahead = later;
                Ok(None)
            }
        }
    }

    fn next(&mut self) -> rusqlite::Result<Option<(i64, rusqlite::Result<KeptText>)>> {
        if let Some(ahead) = self.ahead.take() {
            return Ok(Some(ahead));
        }
        let Some(row) = self.rows.next()? else {
            return Ok(None);
        };
        Ok(Some((row.get(0)?, kept_text(row))))
    }
}

fn kept_text(row: &rusqlite::Row<'_>) -> rusqlite::Result<KeptText> {
    let place: u32 = row.get(1)?;
    Ok(KeptText { place: place as usize, field: row.get(2)?, salt: row.get(3)?, text: row.get(4)? })
}

//! The append-only store of what happened.
//!
//! Guarantees: [`Journal::append`] keeps all of a batch or nothing, and has committed it to the disk
//! when it returns; entries are numbered from 1 without holes and linked by a hash chain
//! ([`chain`]); one reading is one entry, however often it is delivered; text about people lies beside
//! the chain, so that erasing it leaves the chain whole; one process writes at a time, any number read.
//!
//! Deliberately absent: judgement. SQL appends, filters by key and orders; nothing here knows a plan,
//! a window or a verdict. No clock either: every time comes in with its draft.
//!
//! In reading order: `schema` (tables), `rows` (the only place where events and rows meet), [`chain`]
//! (the octets that are hashed), `writer`, [`query`], [`verify`], [`audit`]; `place`, `lock` and [`head`] are the
//! files around the database.

pub mod audit;
mod backup;
pub mod chain;
mod error;
mod export;
pub mod head;
mod import;
mod lines;
mod lock;
mod place;
pub mod query;
mod rows;
mod schema;
pub mod verify;
mod writer;

pub use backup::BackupError;
pub use error::{EntryError, Found, JournalError};
pub use export::ExportError;
pub use import::{Export, ImportError, Imported};
pub use place::beside;
pub use query::Reader;
pub use writer::{Appended, Duplicate, Erased, Journal};

//! Writing the journal out as lines of JSON.

use crate::journal::error::JournalError;
use crate::journal::head::Head;
use crate::journal::lines::{Header, Line};
use crate::journal::query::{Reader, head_of, texts_of};
use crate::journal::rows::{COLUMNS, Row};
use serde::Serialize;
use std::io::{self, Write};
use thiserror::Error;

/// Why not all was written.
#[derive(Debug, Error)]
pub enum ExportError {
    /// The journal cannot be read.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// The lines cannot be written.
    #[error("expected to write the export, but found: {0}")]
    Write(#[from] io::Error),
}

impl Reader {
    /// Writes the whole journal, as of one commit. `visit` is told how many entries are written. Nothing is
    /// verified here: whoever reads it back does that.
    ///
    /// # Errors
    /// The journal cannot be read, or `out` not written.
    pub fn export(
        &self,
        out: &mut dyn Write,
        visit: &mut dyn FnMut(u64),
    ) -> Result<Head, ExportError> {
        let failed = |error| self.failed(error);
        let _one_commit = self.conn.unchecked_transaction().map_err(failed)?;
        let head = head_of(&self.conn).map_err(failed)?;
        write(out, &Header::new(head))?;
        let mut statement = self
            .conn
            .prepare_cached(&format!("SELECT {COLUMNS} FROM event ORDER BY number"))
            .map_err(failed)?;
        let mut rows = statement.query([]).map_err(failed)?;
        let mut written = 0;
        while let Some(row) = rows.next().map_err(failed)? {
            let row = Row::read(row).map_err(failed)?;
            let texts = texts_of(&self.conn, row.number).map_err(failed)?;
            write(out, &Line::new(row, texts))?;
            written += 1;
            visit(written);
        }
        out.flush()?;
        Ok(head)
    }
}

fn write<T: Serialize>(out: &mut dyn Write, line: &T) -> io::Result<()> {
    let mut octets = serde_json::to_vec(line).map_err(io::Error::other)?;
    octets.push(b'\n');
    out.write_all(&octets)
}

//! A consistent copy of a journal while others write to it.

use crate::journal::error::JournalError;
use crate::journal::head;
use crate::journal::place;
use crate::journal::query::{Reader, head_of};
use crate::journal::verify::ChainCheck;
use rusqlite::backup::{Backup, StepResult};
use rusqlite::{Connection, OpenFlags};
use std::fs::{self, File};
use std::io;
use std::path::Path;
use std::time::Duration;
use thiserror::Error;

/// Pages copied at a time.
const PAGES: i32 = 256;
/// How long to wait for a writer that holds the journal.
const PAUSE: Duration = Duration::from_millis(20);

/// Why there is no copy.
#[derive(Debug, Error)]
pub enum BackupError {
    /// The journal cannot be read, or the copy not be filled.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// The copy cannot be put there.
    #[error("expected to write the copy, but found: {0}")]
    Write(#[from] io::Error),
}

impl Reader {
    /// Copies the journal, as of one commit, to a new file that only its owner may read, and walks the
    /// chain of the copy. A file of that name is replaced once the copy is whole. `visit` is told how many
    /// pages are copied, and of how many.
    ///
    /// # Errors
    /// What the database or the disk refuses; then there is no new file.
    pub fn back_up(
        &self,
        to: &Path,
        visit: &mut dyn FnMut(u64, u64),
    ) -> Result<ChainCheck, BackupError> {
        let part = place::beside(to, ".part");
        place::private().create(true).truncate(true).open(&part)?;
        let copied = self.copy(&part, to, visit);
        let done = copied.map_err(BackupError::from).and_then(|check| {
            File::open(&part).and_then(|file| file.sync_all())?;
            fs::rename(&part, to)?;
            head::write(to, check.sound)?;
            Ok(check)
        });
        if done.is_err() {
            let _ = fs::remove_file(&part);
        }
        done
    }

    fn copy(
        &self,
        part: &Path,
        to: &Path,
        visit: &mut dyn FnMut(u64, u64),
    ) -> Result<ChainCheck, JournalError> {
        let ours = |error| self.failed(error);
        let theirs = |error| JournalError::sqlite(to, error);
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut copy = Connection::open_with_flags(part, flags).map_err(theirs)?;
        {
            // Held open, so that the copy is of one commit and never has to begin again.
            let one_commit = self.conn.unchecked_transaction().map_err(ours)?;
            head_of(&one_commit).map_err(ours)?;
            let backup = Backup::new(&self.conn, &mut copy).map_err(theirs)?;
            loop {
                let step = backup.step(PAGES).map_err(theirs)?;
                let progress = backup.progress();
                let all = u64::try_from(progress.pagecount).unwrap_or(0);
                let left = u64::try_from(progress.remaining).unwrap_or(0);
                visit(all.saturating_sub(left), all);
                match step {
                    StepResult::Done => break,
                    StepResult::More => {}
                    _ => std::thread::sleep(PAUSE),
                }
            }
        }
        // A file by itself, without others beside it.
        copy.pragma_update_and_check(None, "journal_mode", "DELETE", |_| Ok(())).map_err(theirs)?;
        Self { conn: copy, path: to.to_owned() }.verify_chain()
    }
}

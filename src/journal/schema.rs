//! Tables and settings of the database. Migrations are only added, never edited.

use crate::journal::error::{Found, JournalError};
use rusqlite::Connection;
use rusqlite_migration::{M, Migrations};
use std::path::Path;
use std::time::Duration;

/// Marks the file as ours: "Clmp" in the header's application id.
pub(super) const APPLICATION_ID: i32 = 0x436c_6d70;

const STEPS: &[M<'static>] = &[M::up(include_str!("schema/0001_events.sql"))];
const MIGRATIONS: Migrations<'static> = Migrations::from_slice(STEPS);

/// How long to wait for another connection to let go.
const PATIENCE: Duration = Duration::from_secs(5);

/// Makes a connection ready to append: settings, then every migration that is still to come.
pub(super) fn prepare_writer(conn: &mut Connection, path: &Path) -> Result<(), JournalError> {
    let failed = |error| JournalError::sqlite(path, error);
    conn.busy_timeout(PATIENCE).map_err(failed)?;
    // Asked of SQLite, not of the file: a making that was cut short is rolled back to an empty file only now.
    let pages: i64 =
        conn.pragma_query_value(None, "page_count", |row| row.get(0)).map_err(failed)?;
    if pages == 0 {
        // Before write-ahead mode, so that the main file's own header says whose it is.
        conn.pragma_update(None, "application_id", APPLICATION_ID).map_err(failed)?;
    }
    let owner: i32 =
        conn.pragma_query_value(None, "application_id", |row| row.get(0)).map_err(failed)?;
    if owner != APPLICATION_ID {
        return Err(JournalError::NotAJournal {
            path: path.to_owned(),
            found: Found::OtherDatabase,
        });
    }
    refuse_newer(conn, path)?;
    let mode: String = conn
        .pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get(0))
        .map_err(failed)?;
    if mode != "wal" {
        return Err(JournalError::NoWriteAhead { path: path.to_owned(), found: mode });
    }
    for (name, value) in [
        ("synchronous", "FULL"),
        ("fullfsync", "ON"),
        ("foreign_keys", "ON"),
        ("trusted_schema", "OFF"),
        ("secure_delete", "ON"),
    ] {
        conn.pragma_update(None, name, value).map_err(failed)?;
    }
    MIGRATIONS.to_latest(conn).map_err(|error| match error {
        rusqlite_migration::Error::RusqliteError { err, .. } => failed(err),
        other => JournalError::Damaged { path: path.to_owned(), detail: other.to_string() },
    })
}

/// Makes a read-only connection ready.
pub(super) fn prepare_reader(conn: &Connection, path: &Path) -> Result<(), JournalError> {
    let failed = |error| JournalError::sqlite(path, error);
    conn.busy_timeout(PATIENCE).map_err(failed)?;
    conn.pragma_update(None, "trusted_schema", "OFF").map_err(failed)?;
    let found = refuse_newer(conn, path)?;
    if found < STEPS.len() {
        return Err(JournalError::OlderSchema { path: path.to_owned(), found, known: STEPS.len() });
    }
    Ok(())
}

fn refuse_newer(conn: &Connection, path: &Path) -> Result<usize, JournalError> {
    let found: i64 = conn
        .pragma_query_value(None, "user_version", |row| row.get(0))
        .map_err(|error| JournalError::sqlite(path, error))?;
    match usize::try_from(found) {
        Ok(found) if found <= STEPS.len() => Ok(found),
        _ => Err(JournalError::NewerSchema { path: path.to_owned(), found, known: STEPS.len() }),
    }
}

#[cfg(test)]
mod tests {
    use super::MIGRATIONS;

    #[test]
    fn every_migration_runs() {
        MIGRATIONS.validate().unwrap();
    }
}

//! One writer at a time: a lock on a file beside the journal. The system frees it when its holder ends,
//! however it ends. The file holds the writer's process number, for people.

use crate::journal::error::JournalError;
use crate::journal::place;
use std::fs::{File, TryLockError};
use std::io::{Read, Write};
use std::path::Path;
use std::time::Duration;

/// How often a lock is asked for, and how long is waited in between.
const TRIES: u32 = 15;
const PAUSE: Duration = Duration::from_millis(20);

/// Held for as long as the value lives.
#[derive(Debug)]
pub(super) struct WriterLock {
    _file: File,
}

impl WriterLock {
    /// Takes the lock of the journal at `path`. One that is held is asked for again for a moment: its
    /// holder may be ending, or may just have started another program, which has the lock until it runs.
    ///
    /// # Errors
    /// [`JournalError::Locked`] if another writer has it; or what the system refuses.
    pub(super) fn take(path: &Path) -> Result<Self, JournalError> {
        let name = place::beside(path, ".lock");
        let failed = |error: std::io::Error| JournalError::io(&name, &error);
        let mut file = place::private().create(true).truncate(false).open(&name).map_err(failed)?;
        let mut tries = 1;
        loop {
            match file.try_lock() {
                Ok(()) => break,
                Err(TryLockError::WouldBlock) if tries < TRIES => {
                    tries += 1;
                    std::thread::sleep(PAUSE);
                }
                Err(TryLockError::WouldBlock) => {
                    return Err(JournalError::Locked {
                        path: path.to_owned(),
                        holder: read_holder(&mut file),
                    });
                }
                Err(TryLockError::Error(error)) => return Err(failed(error)),
            }
        }
        // The number is a courtesy; a full disk must not keep the journal from opening.
        let _ = file.set_len(0).and_then(|()| writeln!(file, "{}", std::process::id()));
        Ok(Self { _file: file })
    }
}

fn read_holder(file: &mut File) -> Option<u32> {
    let mut text = String::new();
    file.take(32).read_to_string(&mut text).ok()?;
    text.trim().parse().ok()
}

//! A disk that takes nothing for a while, again and again: a small file system of its own that is frozen, where the
//! account may do that; otherwise the journal's own lock, which stops whoever writes, but nobody who reads or syncs.

use rusqlite::Connection;
use std::fmt;
use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// For so long at a time nothing can be written, and then for so long it can.
pub const STALL: Duration = Duration::from_secs(2);
const BETWEEN: Duration = Duration::from_secs(1);
/// Room for the journal, octets.
const ROOM: u64 = 256 << 20;

/// How the disk stalls.
pub enum Stall {
    /// The file system mounted there is frozen.
    Freeze(Mounted),
    /// The lock of the journal is held.
    Lock,
}

/// A file system of its own, until it is dropped.
pub struct Mounted(PathBuf);

impl Stall {
    /// The best that this account may do, in that folder.
    pub fn new(folder: &Path) -> Self {
        match Mounted::new(folder) {
            Ok(mounted) => Self::Freeze(mounted),
            Err(why) => {
                println!("no file system can be frozen here, the lock stands in: {why}");
                Self::Lock
            }
        }
    }

    /// Where the journal is to be kept, within the folder.
    pub fn journal(&self) -> &'static str {
        match self {
            Self::Freeze(_) => "disk/journal.sqlite",
            Self::Lock => "journal.sqlite",
        }
    }

    /// Stalls until `stop`; every stall is noted with its begin and end, microseconds since the Unix epoch.
    pub fn again_and_again(
        &self,
        folder: &Path,
        stalls: &Mutex<Vec<(f64, f64)>>,
        stop: &AtomicBool,
    ) {
        let journal = folder.join(self.journal());
        while !stop.load(Ordering::Relaxed) {
            let stalled = match self {
                Self::Freeze(mounted) => mounted.freeze(),
                Self::Lock => lock(&journal),
            };
            stalls.lock().unwrap().push(stalled);
            std::thread::sleep(BETWEEN);
        }
    }
}

impl fmt::Display for Stall {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Freeze(_) => "the journal's file system frozen",
            Self::Lock => "the journal's lock held",
        })
    }
}

impl Mounted {
    fn new(folder: &Path) -> Result<Self, String> {
        let (image, disk) = (folder.join("disk.img"), folder.join("disk"));
        let made = File::create(&image).and_then(|file| file.set_len(ROOM));
        made.and_then(|()| std::fs::create_dir_all(&disk)).map_err(|error| error.to_string())?;
        done(Command::new("mkfs.ext4").arg("-q").arg(&image))?;
        done(Command::new("mount").args(["-o", "loop"]).arg(&image).arg(&disk))?;
        let mounted = Self(disk);
        // Some file systems and some machines refuse.
        done(Command::new("fsfreeze").arg("--freeze").arg(&mounted.0))?;
        done(Command::new("fsfreeze").arg("--unfreeze").arg(&mounted.0))?;
        Ok(mounted)
    }

    fn freeze(&self) -> (f64, f64) {
        // One program does both, so that nothing stays frozen if this one ends in between.
        let script =
            "fsfreeze --freeze \"$0\" && echo frozen && sleep \"$1\"; fsfreeze --unfreeze \"$0\"";
        let mut child = Command::new("sh")
            .args(["-c", script])
            .arg(&self.0)
            .arg(STALL.as_secs_f64().to_string())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut told = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut told).unwrap();
        let from = now_us();
        assert_eq!(told, "frozen\n");
        assert!(child.wait().unwrap().success());
        (from, now_us())
    }
}

impl Drop for Mounted {
    fn drop(&mut self) {
        // A daemon that is ending may still have the journal open.
        let _ = Command::new("umount").arg("--lazy").arg(&self.0).status();
    }
}

fn done(command: &mut Command) -> Result<(), String> {
    let output = command.output().map_err(|error| format!("{command:?}: {error}"))?;
    if output.status.success() {
        return Ok(());
    }
    Err(String::from_utf8_lossy(&output.stderr).trim().to_owned())
}

fn lock(journal: &Path) -> (f64, f64) {
    let disk = Connection::open(journal).unwrap();
    disk.busy_timeout(Duration::from_secs(10)).unwrap();
    disk.execute_batch("BEGIN IMMEDIATE").unwrap();
    let from = now_us();
    std::thread::sleep(STALL);
    let until = now_us();
    disk.execute_batch("ROLLBACK").unwrap();
    (from, until)
}

/// The present moment, microseconds since the Unix epoch.
pub fn now_us() -> f64 {
    SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_micros() as f64
}

//! Disks that are full or read-only, and folders of others.

use super::{Rig, all, assert_sound, note, numbered, numbers, reading};
use clampbook::journal::{Journal, JournalError};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use tempfile::TempDir;

/// A small file system of its own, if this user may mount one.
pub(crate) struct SmallDisk {
    folder: TempDir,
}

impl SmallDisk {
    pub(crate) fn mount(size: &str) -> Option<Self> {
        let folder = tempfile::tempdir().unwrap();
        let mounted = cfg!(target_os = "linux")
            && Command::new("mount")
                .args(["-t", "tmpfs", "-o", &format!("size={size}"), "tmpfs"])
                .arg(folder.path())
                .output()
                .is_ok_and(|output| output.status.success());
        if !mounted {
            println!("skipped: a small disk can only be mounted by root on Linux");
        }
        mounted.then_some(Self { folder })
    }

    pub(crate) fn path(&self) -> PathBuf {
        self.folder.path().join("journal.sqlite")
    }

    pub(crate) fn filler(&self) -> PathBuf {
        self.folder.path().join("filler")
    }

    /// Takes all the room there is.
    pub(crate) fn fill(&self) {
        let mut octets = 1 << 16;
        let mut file = fs::File::create(self.filler()).unwrap();
        while octets > 0 {
            if std::io::Write::write_all(&mut file, &vec![1; octets]).is_err() {
                octets /= 2;
            }
        }
    }

    pub(crate) fn remount(&self, how: &str) {
        let done = Command::new("mount")
            .args(["-o", &format!("remount,{how}")])
            .arg(self.folder.path())
            .status();
        assert!(done.unwrap().success());
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.folder.path()).status();
    }
}

#[track_caller]
fn assert_full(error: &JournalError) {
    assert!(matches!(error, JournalError::DiskFull { .. }), "{error}");
}

#[test]
fn a_full_disk_costs_nothing_that_was_kept_and_the_batch_can_be_tried_again() {
    let Some(disk) = SmallDisk::mount("1m") else {
        return;
    };
    let mut journal = Journal::open_writer(&disk.path()).unwrap();
    let mut kept = journal.append(vec![note(None, "first")]).unwrap().entries;
    disk.fill();
    let mut refused = 0;
    for sequence in 1..=300 {
        let batch =
            || vec![reading(None, numbered("S", 0, sequence), 1.0), note(None, &"x".repeat(3000))];
        match journal.append(batch()) {
            Ok(appended) => kept.extend(appended.entries),
            Err(error) => {
                assert_full(&error);
                assert_eq!(all(journal.reader()), kept);
                refused += 1;
                if refused == 2 {
                    fs::remove_file(disk.filler()).unwrap();
                    kept.extend(journal.append(batch()).unwrap().entries);
                    break;
                }
            }
        }
    }
    assert_eq!(refused, 2, "the disk was full for two batches");
    drop(journal);
    let journal = Journal::open_writer(&disk.path()).unwrap();
    assert_eq!(all(journal.reader()), kept);
    assert_eq!(numbers(&kept), (1..=kept.len() as u64).collect::<Vec<_>>());
    assert_sound(journal.reader());
}

#[test]
fn a_journal_cannot_be_made_on_a_full_disk_and_can_be_once_there_is_room() {
    let Some(disk) = SmallDisk::mount("1m") else {
        return;
    };
    disk.fill();
    assert_full(&Journal::open_writer(&disk.path()).unwrap_err());
    fs::remove_file(disk.filler()).unwrap();
    let mut journal = Journal::open_writer(&disk.path()).unwrap();
    journal.append(vec![note(None, "first")]).unwrap();
    assert_sound(journal.reader());
}

#[test]
fn a_journal_that_was_closed_can_be_opened_again_after_the_disk_was_full() {
    let Some(disk) = SmallDisk::mount("1m") else {
        return;
    };
    let mut journal = Journal::open_writer(&disk.path()).unwrap();
    let kept = journal.append(vec![note(None, "first")]).unwrap().entries;
    drop(journal);
    disk.fill();
    assert_full(&Journal::open_writer(&disk.path()).unwrap_err());
    fs::remove_file(disk.filler()).unwrap();
    let journal = Journal::open_writer(&disk.path()).unwrap();
    assert_eq!(all(journal.reader()), kept);
}

#[test]
fn a_read_only_disk_is_named_as_such() {
    let Some(disk) = SmallDisk::mount("1m") else {
        return;
    };
    drop(Journal::open_writer(&disk.path()).unwrap());
    disk.remount("ro");
    for path in [disk.path(), disk.folder.path().join("new/other.sqlite")] {
        let error = Journal::open_writer(&path).unwrap_err();
        assert!(matches!(error, JournalError::ReadOnly { .. }), "{error}");
    }
    let error = Journal::open_reader(&disk.path()).unwrap_err();
    assert!(matches!(error, JournalError::ReadOnly { .. }), "{error}");
}

/// Root may do anything, so as root this test runs itself once more as somebody else.
#[cfg(unix)]
#[test]
fn a_folder_of_somebody_else_is_named_as_denied() {
    use std::os::unix::fs::{MetadataExt, PermissionsExt};
    use std::os::unix::process::CommandExt;
    const NOBODY: u32 = 65_534;
    const PLACE: &str = "CLAMPBOOK_TEST_DENIED";

    if let Some(folder) = std::env::var_os(PLACE) {
        return check_denied(Path::new(&folder));
    }
    let rig = Rig::new();
    drop(rig.open());
    fs::set_permissions(rig.path(), fs::Permissions::from_mode(0o000)).unwrap();
    fs::set_permissions(rig.folder.path(), fs::Permissions::from_mode(0o555)).unwrap();
    if fs::metadata(rig.folder.path()).unwrap().uid() == 0 {
        let stage = tempfile::tempdir().unwrap();
        let copy = stage.path().join("suite");
        fs::copy(std::env::current_exe().unwrap(), &copy).unwrap();
        for path in [stage.path(), &copy] {
            fs::set_permissions(path, fs::Permissions::from_mode(0o755)).unwrap();
        }
        let output = Command::new(&copy)
            .args(["--exact", "journal::disk::a_folder_of_somebody_else_is_named_as_denied"])
            .env(PLACE, rig.folder.path())
            .current_dir("/")
            .uid(NOBODY)
            .gid(NOBODY)
            .output()
            .unwrap();
        let told = String::from_utf8_lossy(&output.stdout);
        assert!(output.status.success(), "{told}");
        assert!(told.contains("1 passed"), "{told}");
    } else {
        check_denied(rig.folder.path());
    }
    fs::set_permissions(rig.folder.path(), fs::Permissions::from_mode(0o755)).unwrap();
}

#[cfg(unix)]
fn check_denied(folder: &Path) {
    for name in ["journal.sqlite", "new.sqlite", "new/journal.sqlite"] {
        let error = Journal::open_writer(&folder.join(name)).unwrap_err();
        assert!(matches!(error, JournalError::Denied { .. }), "{name}: {error}");
    }
    let error = Journal::open_reader(&folder.join("journal.sqlite")).unwrap_err();
    assert!(matches!(error, JournalError::Denied { .. }), "{error}");
}

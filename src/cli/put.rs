//! Writing the files that are named on the command line: whole, or not at all.

use crate::cli::outcome::Failure;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Write};
use std::path::Path;
use tempfile::NamedTempFile;

/// Puts octets into a file, in place of what may stand there; that is lost only once the new octets are all written.
///
/// # Errors
/// The file cannot be written.
pub fn put(path: &Path, octets: &[u8]) -> Result<(), Failure> {
    let written = match fs::metadata(path) {
        Ok(there) if there.is_file() => replace(path, octets, there.permissions()),
        // A terminal or a pipe takes what comes; a folder says that it is one.
        Ok(_) => fs::write(path, octets),
        Err(_) => {
            let file = File::create_new(path);
            file.and_then(|mut file| {
                file.write_all(octets).inspect_err(|_| drop(fs::remove_file(path)))
            })
        }
    };
    written.map_err(|error| cannot_write(path, &error))
}

/// Puts a text into a new file, or over an old one if that is wanted.
///
/// # Errors
/// The file is there already, or cannot be written.
pub fn put_new(path: &Path, text: &str, overwrite: bool) -> Result<(), Failure> {
    check_free(path, overwrite)?;
    put(path, text.as_bytes())
}

/// Whether a new file may be made there, or take the place of an old one if that is wanted.
///
/// # Errors
/// A file is there already, or something that is no file.
pub fn check_free(path: &Path, overwrite: bool) -> Result<(), Failure> {
    let shown = path.display();
    let refused = |found: &str| {
        Err(Failure::Input(format!("{shown}: expected a new file, but found {found}")))
    };
    match fs::metadata(path) {
        Err(_) => Ok(()),
        Ok(there) if there.is_dir() => refused("a directory; name a file in it"),
        Ok(there) if !there.is_file() => refused("what is no file; name another"),
        Ok(_) if overwrite => Ok(()),
        Ok(_) => refused("one with that name; name another, or add --force to overwrite it"),
    }
}

/// That a file, or its folder, cannot be written, and what helps.
pub fn cannot_write(path: &Path, error: &io::Error) -> Failure {
    let helps = helps(error);
    Failure::Failed(format!(
        "{}: expected to write it, but found: {error}; {helps}",
        path.display()
    ))
}

/// What helps where something cannot be written.
#[must_use]
pub fn helps(error: &io::Error) -> &'static str {
    match error.kind() {
        ErrorKind::NotFound | ErrorKind::NotADirectory => "make its folder first, or name another",
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            "name a file in a folder of your own"
        }
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => "free some space, then try again",
        ErrorKind::IsADirectory => "name a file in it",
        _ => "name another file",
    }
}

/// A file beside `path`, for what is to stand there once it is whole; only its owner may read it. Unless it is put
/// there, it goes; where the program is killed, its name tells what it was to be.
///
/// # Errors
/// The folder is not there, or cannot be written to.
pub fn part(path: &Path) -> io::Result<NamedTempFile> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let mut named = path.file_name().unwrap_or_default().to_owned();
    named.push(".");
    tempfile::Builder::new()
        .prefix(&named)
        .suffix(".part")
        .tempfile_in(folder.unwrap_or(Path::new(".")))
        // That name, which nobody has given, is left out of what is said.
        .map_err(|error| error.kind().into())
}

fn replace(path: &Path, octets: &[u8], permissions: fs::Permissions) -> io::Result<()> {
    // Behind a link, the file it points to.
    let path = path.canonicalize()?;
    let part = part(&path)?;
    part.as_file().write_all(octets)?;
    part.as_file().set_permissions(permissions)?;
    part.persist(&path)?;
    Ok(())
}

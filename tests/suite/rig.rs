//! A folder of its own, an account of its own, and the program run in it as a person would.

use assert_cmd::cargo::cargo_bin;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use tempfile::TempDir;

/// Where one test runs the program.
pub struct Rig {
    folder: TempDir,
    transcript: String,
}

impl Rig {
    pub fn new() -> Self {
        let folder = TempDir::new().unwrap();
        fs::create_dir(folder.path().join("runtime")).unwrap();
        Self { folder, transcript: String::new() }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn file(self, name: &str, text: impl AsRef<[u8]>) -> Self {
        fs::write(self.path(name), text).unwrap();
        self
    }

    /// A sample of the project under its own name.
    pub fn sample(self, name: &str) -> Self {
        let text = fs::read(samples().join(name)).unwrap();
        let name = Path::new(name).file_name().unwrap().to_str().unwrap().to_owned();
        self.file(&name, text)
    }

    /// The program with these arguments, in the rig's folder and account.
    pub fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(cargo_bin("clampbook"));
        command.current_dir(self.folder.path()).args(args).env_clear();
        for (name, value) in [
            ("HOME", self.folder.path().to_path_buf()),
            ("XDG_RUNTIME_DIR", self.path("runtime")),
            ("CLAMPBOOK_JOURNAL", PathBuf::from("journal.sqlite")),
            ("TZ", PathBuf::from("UTC")),
        ] {
            command.env(name, value);
        }
        command
    }

    pub fn output(&self, args: &[&str]) -> Output {
        self.command(args).output().unwrap()
    }

    /// Runs the program and adds all that it says to the transcript.
    pub fn run(mut self, line: &str) -> Self {
        let args = words(line);
        let output = self.output(&args.iter().map(String::as_str).collect::<Vec<_>>());
        let status = output.status.code().map_or("killed".to_owned(), |code| code.to_string());
        let _ = writeln!(self.transcript, "$ clampbook {line}  -> {status}");
        for (mark, octets) in [("", &output.stdout), ("! ", &output.stderr)] {
            for text in String::from_utf8_lossy(octets).lines() {
                let _ = writeln!(self.transcript, "{}", format!("{mark}{text}").trim_end());
            }
        }
        self
    }

    /// All that was said, without what differs from run to run.
    pub fn transcript(&self) -> String {
        let folder = self.folder.path().to_string_lossy().into_owned();
        let text = self.transcript.replace(&folder, "[FOLDER]");
        text.lines().map(|line| without_odds(&without_times(line)) + "\n").collect()
    }
}

pub fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("samples")
}

fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    for (index, part) in line.split('"').enumerate() {
        match index % 2 {
            0 => words.extend(part.split_whitespace().map(str::to_owned)),
            _ => words.push(part.to_owned()),
        }
    }
    words
}

/// `line` with every moment (RFC 3339, UTC) replaced.
fn without_times(line: &str) -> String {
    let octets = line.as_bytes();
    let is_date = |at: usize| {
        octets.len() >= at + 20
            && octets[at..at + 20].iter().enumerate().all(|(index, octet)| match index {
                4 | 7 => *octet == b'-',
                10 => *octet == b'T',
                13 | 16 => *octet == b':',
                19 => *octet == b'Z' || *octet == b'.',
                _ => octet.is_ascii_digit(),
            })
    };
    match (0..octets.len()).find(|at| line.is_char_boundary(*at) && is_date(*at)) {
        Some(at) => {
            let end = line[at..].find('Z').map_or(line.len(), |end| at + end + 1);
            format!("{}[TIME]{}", &line[..at], without_times(&line[end..]))
        }
        None => line.to_owned(),
    }
}

/// `line` without its probabilities: how sure the rules are is tested where they are.
fn without_odds(line: &str) -> String {
    let digits = |c: char| c.is_ascii_digit() || c == '.';
    if let Some((before, after)) = line.split_once("\"confidence\":") {
        return format!("{before}\"confidence\":[P]{}", after.trim_start_matches(digits));
    }
    match line.split_once(" % sure") {
        Some((before, after)) => {
            format!("{} [P] % sure{after}", before.trim_end_matches(digits).trim_end())
        }
        None => line.to_owned(),
    }
}

//! A folder of its own, an account of its own, and the program run in it as a person would.

use assert_cmd::cargo::cargo_bin;
use serde_json::Value;
use std::fmt::Write as _;
use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::Duration;
use tempfile::TempDir;

/// Where one test runs the program.
pub struct Rig {
    folder: TempDir,
    told: String,
}

impl Rig {
    pub fn new() -> Self {
        let folder = TempDir::new().unwrap();
        fs::create_dir(folder.path().join("runtime")).unwrap();
        Self { folder, told: String::new() }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn file(self, name: &str, text: impl AsRef<[u8]>) -> Self {
        fs::write(self.path(name), text).unwrap();
        self
    }

    /// A program that can be run.
    pub fn program(self, name: &str, text: &str) -> Self {
        let rig = self.file(name, text);
        fs::set_permissions(rig.path(name), fs::Permissions::from_mode(0o755)).unwrap();
        rig
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

    /// Runs the program and adds all that it says to the told.
    pub fn run(self, line: &str) -> Self {
        self.run_with(line, "")
    }

    /// The same, with something on standard input.
    pub fn run_with(mut self, line: &str, input: impl AsRef<[u8]>) -> Self {
        let args = words(line);
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        let mut command = self.command(&args);
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        // A program that has ended already reads nothing.
        let _ = child.stdin.take().unwrap().write_all(input.as_ref());
        let output = child.wait_with_output().unwrap();
        let status = output.status.code().map_or("killed".to_owned(), |code| code.to_string());
        let _ = writeln!(self.told, "$ clampbook {line}  -> {status}");
        for (mark, octets) in [("", &output.stdout), ("! ", &output.stderr)] {
            for text in String::from_utf8_lossy(octets).lines() {
                let _ = writeln!(self.told, "{}", format!("{mark}{text}").trim_end());
            }
        }
        self
    }

    /// All that was said, without what differs from run to run.
    pub fn told(&self) -> String {
        let folder = self.folder.path().to_string_lossy().into_owned();
        let text = self.told.replace(&folder, "[FOLDER]");
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

/// A daemon of its own, ended with the test.
pub struct Served {
    pub child: Child,
    pub token: String,
    address: SocketAddr,
}

impl Rig {
    /// Starts the daemon and waits until it answers.
    pub fn serve(&self, args: &[&str]) -> Served {
        self.serve_on("", args)
    }

    /// The same, with the system's bus at that address.
    pub fn serve_on(&self, bus: &str, args: &[&str]) -> Served {
        let mut all = vec!["serve"];
        all.extend(args);
        let mut command = self.command(&all);
        if !bus.is_empty() {
            command.env("DBUS_SYSTEM_BUS_ADDRESS", bus);
        }
        self.serve_by(command)
    }

    /// The same, by a command that becomes the daemon.
    pub fn serve_by(&self, mut command: Command) -> Served {
        let log =
            fs::File::options().create(true).append(true).open(self.path("serve.log")).unwrap();
        let account = log.try_clone().unwrap();
        let mut child = command.stdout(account).stderr(log).spawn().unwrap();
        let pid = child.id();
        for _ in 0..500 {
            if let Some((address, token)) = self.contact(pid)
                && TcpStream::connect(address).is_ok()
            {
                return Served { child, token, address };
            }
            assert!(child.try_wait().unwrap().is_none(), "{}", self.log());
            std::thread::sleep(Duration::from_millis(20));
        }
        panic!("the daemon did not come up: {}", self.log());
    }

    /// What the daemons of this rig logged and told.
    pub fn log(&self) -> String {
        fs::read_to_string(self.path("serve.log")).unwrap_or_default()
    }

    /// The file in which the daemon says how to reach it.
    pub fn contact_file(&self) -> Option<PathBuf> {
        let folder = fs::read_dir(self.path("runtime").join("clampbook")).ok()?;
        let mut files = folder.map(|entry| entry.unwrap().path());
        files.find(|path| path.extension().is_some_and(|ext| ext == "json"))
    }

    fn contact(&self, pid: u32) -> Option<(SocketAddr, String)> {
        let text = fs::read_to_string(self.contact_file()?).ok()?;
        let contact: Value = serde_json::from_str(&text).ok()?;
        if contact["pid"] != pid {
            return None;
        }
        Some((contact["address"].as_str()?.parse().ok()?, contact["token"].as_str()?.to_owned()))
    }
}

impl Served {
    /// Where it answers on this machine.
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    pub fn get(&self, path: &str) -> (u16, String) {
        self.raw(&self.head("GET", path), "")
    }

    pub fn post(&self, path: &str, body: &Value) -> (u16, String) {
        let head = format!("{}Content-Type: application/json\r\n", self.head("POST", path));
        self.raw(&head, &body.to_string())
    }

    /// One request as written, one answer: status and body.
    pub fn raw(&self, head: &str, body: &str) -> (u16, String) {
        let (status, _, body) = self.answer(head, body);
        (status, body)
    }

    /// One request as written, one answer: status, head in small letters, and body.
    pub fn answer(&self, head: &str, body: &str) -> (u16, String, String) {
        let mut answer = String::new();
        self.send(head, body).read_to_string(&mut answer).unwrap();
        let (head, body) = answer.split_once("\r\n\r\n").unwrap();
        let status: u16 = head.split(' ').nth(1).unwrap().parse().unwrap();
        if status >= 400 {
            assert!(head.contains("content-type: application/problem+json"), "{head}");
        }
        (status, head.to_lowercase(), body.to_owned())
    }

    pub fn stream(&self, path: &str) -> Stream {
        Stream::new(self.send(&self.head("GET", path), ""))
    }

    /// Ends the daemon as the system does, and gives its exit status.
    pub fn signal(&mut self, name: &str) -> Option<i32> {
        let pid = self.child.id().to_string();
        assert!(Command::new("kill").args(["-s", name, &pid]).status().unwrap().success());
        self.child.wait().unwrap().code()
    }

    /// The head of a request that is let in.
    pub fn head(&self, method: &str, path: &str) -> String {
        format!(
            "{method} {path} HTTP/1.1\r\nHost: {}\r\nAuthorization: Bearer {}\r\n",
            self.address, self.token
        )
    }

    fn send(&self, head: &str, body: &str) -> TcpStream {
        let mut stream = TcpStream::connect(self.address).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        let length = body.len();
        write!(stream, "{head}Connection: close\r\nContent-Length: {length}\r\n\r\n{body}")
            .unwrap();
        stream
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Server-sent events as they come, and the state that they make.
pub struct Stream {
    lines: BufReader<TcpStream>,
    state: Value,
}

impl Stream {
    pub fn new(connection: TcpStream) -> Self {
        Self { lines: BufReader::new(connection), state: Value::Null }
    }

    /// The name of the next event; none once the stream has ended.
    pub fn next(&mut self) -> Option<String> {
        let (mut event, mut id) = (String::new(), String::new());
        loop {
            let mut line = String::new();
            if self.lines.read_line(&mut line).unwrap() == 0 {
                return None;
            }
            let (name, value) = line.trim_end().split_once(": ").unwrap_or_default();
            match name {
                "event" => value.clone_into(&mut event),
                "id" => value.clone_into(&mut id),
                "data" => {
                    let told: Value = serde_json::from_str(value).unwrap();
                    assert_eq!(told["revision"].to_string(), id);
                    self.take(&event, told);
                    return Some(event);
                }
                _ => {}
            }
        }
    }

    fn take(&mut self, event: &str, told: Value) {
        if event == "snapshot" {
            self.state = told;
            return;
        }
        assert_eq!(event, "change");
        let before = self.state["revision"].as_u64().unwrap();
        assert_eq!(told["revision"], before + 1, "a change follows what was told before");
        let Value::Object(fields) = told else { panic!("a change has fields: {told}") };
        for (name, value) in fields {
            self.state[&name] = value;
        }
    }

    /// The state after the next event.
    pub fn next_state(&mut self) -> Value {
        self.next().expect("the stream goes on");
        self.state.clone()
    }

    /// The state as told so far.
    pub fn state(&self) -> &Value {
        &self.state
    }
}

//! Screens: who is let in, with what, from where, and who is not.

use crate::rig::{Rig, Served};
use clampbook::daemon::network;
use serde_json::{Value, json};
use std::fs;
use std::io::{Read, Write};
use std::net::{IpAddr, SocketAddr, TcpStream};
use std::sync::Arc;
use std::time::Duration;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::CertificateDer;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::{ClientConfig, ClientConnection, RootCertStore, StreamOwned};

const JSON: &str = "Content-Type: application/json\r\n";

/// A caller without the token, at an address of the daemon.
struct Caller {
    address: SocketAddr,
    /// Further lines of every request.
    lines: String,
    /// Over an encrypted link to whoever can show that they are these.
    trusted: Option<Arc<ClientConfig>>,
}

trait Stream: Read + Write {}
impl<T: Read + Write> Stream for T {}

impl Caller {
    fn here(served: &Served) -> Self {
        Self { address: served.address(), lines: String::new(), trusted: None }
    }

    fn at(served: &Served, ip: IpAddr) -> Self {
        let address = SocketAddr::new(ip, served.address().port());
        Self { address, lines: String::new(), trusted: None }
    }

    fn with(&self, lines: &str) -> Self {
        let lines = format!("{}{lines}", self.lines);
        Self { address: self.address, lines, trusted: self.trusted.clone() }
    }

    /// The same caller, over an encrypted link to the owner of this certificate (PEM).
    fn trusting(&self, certificate: &str) -> Self {
        let certificate = CertificateDer::from_pem_slice(certificate.as_bytes()).unwrap();
        let mut roots = RootCertStore::empty();
        roots.add(certificate).unwrap();
        let builder = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()));
        let builder = builder.with_safe_default_protocol_versions().unwrap();
        let config = builder.with_root_certificates(roots).with_no_client_auth();
        Self { trusted: Some(Arc::new(config)), ..self.with("") }
    }

    fn connect(&self) -> Box<dyn Stream> {
        let stream = TcpStream::connect(self.address).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        let Some(config) = &self.trusted else { return Box::new(stream) };
        let name = self.address.ip().into();
        let greeted = ClientConnection::new(Arc::clone(config), name).unwrap();
        Box::new(StreamOwned::new(greeted, stream))
    }

    /// Status, head in small letters, and body.
    fn call(&self, method: &str, path: &str, body: &str) -> (u16, String, String) {
        let host = self.address;
        self.call_as(&host.to_string(), method, path, body)
    }

    fn call_as(&self, host: &str, method: &str, path: &str, body: &str) -> (u16, String, String) {
        let mut stream = self.connect();
        let (lines, length) = (&self.lines, body.len());
        write!(
            stream,
            "{method} {path} HTTP/1.1\r\nHost: {host}\r\n{lines}Connection: close\r\n\
             Content-Length: {length}\r\n\r\n{body}"
        )
        .unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        let (head, body) = answer.split_once("\r\n\r\n").unwrap();
        let status = head.split(' ').nth(1).unwrap().parse().unwrap();
        (status, head.to_owned(), body.to_owned())
    }

    fn enter(&self, key: &str) -> (u16, String, String) {
        let body = json!({"key": key}).to_string();
        self.with(JSON).call("POST", "/v1/sessions", &body)
    }

    /// The same caller, let in.
    fn let_in(&self, served: &Served) -> Self {
        let (status, head, body) = self.enter(&new_key(served));
        assert_eq!(status, 201, "{body}");
        let line = head.lines().find_map(|line| line.strip_prefix("set-cookie: ")).unwrap();
        let secure = if self.trusted.is_some() { "; Secure" } else { "" };
        let ends = format!("; Path=/; HttpOnly; SameSite=Strict; Max-Age=2592000{secure}");
        assert!(line.ends_with(&ends), "{line}");
        self.with(&format!("Cookie: {}\r\n", line.split(';').next().unwrap()))
    }
}

fn new_key(served: &Served) -> String {
    let (status, body) = served.post("/v1/keys", &json!({}));
    assert_eq!(status, 201, "{body}");
    let told: Value = serde_json::from_str(&body).unwrap();
    told["key"].as_str().unwrap().to_owned()
}

#[track_caller]
fn kind(answer: &(u16, String, String), status: u16, kind: &str) {
    assert_eq!(answer.0, status, "{}", answer.2);
    let problem: Value = serde_json::from_str(&answer.2).unwrap();
    assert_eq!(problem["type"], format!("/problems/{kind}"));
}

#[test]
fn a_screen_is_let_in_once_with_a_key_and_sees_the_page_and_the_state() {
    let rig = Rig::new();
    let served = rig.serve(&[]);
    let stranger = Caller::here(&served);
    for path in ["/v1/state", "/v1/events", "/page/main.js", "/v1/sessions"] {
        kind(&stranger.call("GET", path, ""), 401, "token");
    }
    let (status, head, body) = stranger.with("Accept: text/html\r\n").call("GET", "/", "");
    assert_eq!(status, 401);
    assert!(head.contains("www-authenticate: Bearer") && body.contains("clampbook page"), "{head}");
    for path in ["/enter", "/page/enter.js", "/page/look.css", "/page/icon.svg"] {
        let (status, head, _) = stranger.call("GET", path, "");
        assert_eq!(status, 200, "{path}");
        assert!(head.contains("content-security-policy: default-src 'none'"), "{head}");
    }
    assert_eq!(stranger.call("GET", "/page/words/en", "").0, 200);
    let key = new_key(&served);
    let (status, head, _) = stranger.enter(&key);
    assert_eq!(status, 201, "{head}");
    kind(&stranger.enter(&key), 422, "key");
    let screen = stranger.let_in(&served);
    for path in ["/", "/page/main.js", "/page/words/de", "/v1/state", "/v1/pulse", "/v1/jobs"] {
        assert_eq!(screen.call("GET", path, "").0, 200, "{path}");
    }
    kind(&screen.with(JSON).call("POST", "/v1/keys", ""), 403, "not-yours");
    kind(&screen.call("GET", "/page/nothing.js", ""), 404, "not-found");
    kind(&screen.call("GET", "/page/words/xx", ""), 404, "not-found");
}

#[test]
fn guessed_keys_are_refused_and_then_nobody_is_heard_for_a_while() {
    let rig = Rig::new();
    let served = rig.serve(&[]);
    let stranger = Caller::here(&served);
    let key = new_key(&served);
    for number in 0..10 {
        kind(&stranger.enter(&format!("GUESS-{number}")), 422, "key");
    }
    let answer = stranger.enter(&key);
    kind(&answer, 429, "tries");
    assert!(answer.1.contains("retry-after: "), "{}", answer.1);
}

#[test]
fn what_a_page_of_somebody_else_asks_for_is_refused() {
    let rig = Rig::new();
    let served = rig.serve(&[]);
    let screen = Caller::here(&served).let_in(&served);
    let own = format!("{JSON}Origin: http://{}\r\n", served.address());
    let note = json!({"say": "note", "text": "x", "origin": "page"}).to_string();
    let mark = |lines: &str| screen.with(lines).call("POST", "/v1/jobs/current/marks", &note);
    kind(&mark(&own), 409, "no-job");
    for origin in ["http://example.org", "null", "http://127.0.0.1:1"] {
        kind(&mark(&format!("{JSON}Origin: {origin}\r\n")), 403, "origin");
    }
    kind(&screen.call_as("example.org", "GET", "/v1/state", ""), 421, "host");
}

#[test]
fn screens_are_listed_shut_out_and_outlive_the_daemon() {
    let rig = Rig::new();
    let mut served = rig.serve(&[]);
    let port = served.address().port();
    let (first, second) =
        (Caller::here(&served).let_in(&served), Caller::here(&served).let_in(&served));
    assert_eq!(served.signal("KILL"), None);
    let served = rig.serve(&[]);
    assert_eq!(served.address().port(), port, "pages find back");
    let listed: Value = serde_json::from_str(&second.call("GET", "/v1/sessions", "").2).unwrap();
    assert_eq!(listed["own"], 2);
    assert_eq!(listed["screens"].as_array().unwrap().len(), 2);
    assert_eq!(second.call("DELETE", "/v1/sessions/1", "").0, 204);
    kind(&second.call("DELETE", "/v1/sessions/1", ""), 404, "not-found");
    kind(&first.call("GET", "/v1/state", ""), 401, "token");
    assert_eq!(second.call("GET", "/v1/state", "").0, 200);
    let told = rig.run("page --list").run("page --shut-out 2").run("page --list --json").told();
    assert!(told.contains("screen 2 is shut out"), "{told}");
    assert!(told.ends_with("{\"screens\":[],\"own\":null}\n"), "{told}");
    kind(&second.call("GET", "/v1/state", ""), 401, "token");
}

#[test]
fn what_a_foot_pedal_says_is_kept_as_its_own_and_told_so() {
    let rig = Rig::new().sample("plans/arm-pivot.toml").run("job start arm-pivot.toml");
    let served = rig.serve(&[]);
    let screen = Caller::here(&served).let_in(&served).with(JSON);
    for origin in ["pedal", "page", "button", "typed"] {
        let note = json!({"say": "note", "text": "x", "origin": origin}).to_string();
        assert_eq!(screen.call("POST", "/v1/jobs/current/marks", &note).0, 200);
    }
    let rig = rig.run("job mark --pedal note y").run("job mark note z");
    let marks: Value = serde_json::from_str(&served.get("/v1/jobs/1/marks").1).unwrap();
    let origins: Vec<&str> =
        marks.as_array().unwrap().iter().map(|mark| mark["origin"].as_str().unwrap()).collect();
    assert_eq!(origins, ["pedal", "page", "page", "page", "pedal", "command-line"]);
    drop(served);
    let told = rig.run("report 1 --text").told();
    assert_eq!(told.matches("with a foot pedal").count(), 2, "{told}");
}

#[test]
fn what_is_said_on_a_screen_is_kept_with_its_name_and_the_name_can_be_left_out_and_erased() {
    let rig = Rig::new().sample("plans/arm-pivot.toml").run("job start arm-pivot.toml");
    let served = rig.serve(&[]);
    let here = Caller::here(&served);
    let body = json!({"key": new_key(&served), "name": " Ada "}).to_string();
    let (status, head, _) = here.with(JSON).call("POST", "/v1/sessions", &body);
    assert_eq!(status, 201);
    let cookie = head.lines().find_map(|line| line.strip_prefix("set-cookie: ")).unwrap();
    let cookie = format!("Cookie: {}\r\n", cookie.split(';').next().unwrap());
    let ada = here.with(&cookie).with(JSON);
    let other = here.let_in(&served).with(JSON);
    let note = |text: &str| json!({"say": "note", "text": text, "origin": "button"}).to_string();
    assert_eq!(ada.call("POST", "/v1/jobs/current/marks", &note("rust")).0, 200);
    assert_eq!(other.call("POST", "/v1/jobs/current/marks", &note("new pin")).0, 200);
    let named = other.call("PUT", "/v1/sessions/2/name", &json!({"name": "Bo"}).to_string());
    assert_eq!(named.0, 200, "{}", named.2);
    assert_eq!(other.call("POST", "/v1/typed", &json!({"line": "122 N·m"}).to_string()).0, 200);
    kind(
        &other.call("PUT", "/v1/sessions/1/name", &json!({"name": "Bo"}).to_string()),
        403,
        "not-yours",
    );
    kind(&other.call("PUT", "/v1/sessions/2/name", &json!({"name": " "}).to_string()), 422, "body");
    let long = json!({"key": new_key(&served), "name": "x".repeat(41)}).to_string();
    kind(&here.with(JSON).call("POST", "/v1/sessions", &long), 422, "body");
    assert_eq!(
        served
            .post("/v1/jobs/current/marks", &json!({"say": "retract", "origin": "command-line"}))
            .0,
        200
    );
    let marks: Value = serde_json::from_str(&served.get("/v1/jobs/1/marks").1).unwrap();
    let by = |marks: &Value| -> Vec<(String, String)> {
        let row = |mark: &Value| (mark["origin"].to_string(), mark["by"].to_string());
        marks.as_array().unwrap().iter().map(row).collect()
    };
    let pairs = |all: &[(&str, &str)]| -> Vec<(String, String)> {
        all.iter().map(|(origin, by)| ((*origin).to_owned(), (*by).to_owned())).collect()
    };
    let expected =
        [("\"page\"", "\"Ada\""), ("\"page\"", "\"unknown\""), ("\"command-line\"", "null")];
    assert_eq!(by(&marks), pairs(&expected));
    drop(served);
    let rig = rig
        .run("job list")
        .run("report 1 --text")
        .run("report 1 --text --redact")
        .run("job erase 1 --only operator --yes")
        .run("job list")
        .run("audit");
    let is_news =
        |line: &&str| ["said by", "(on the page", "erased"].iter().any(|part| line.contains(part));
    let plain = |line: &str| match line.trim_start().strip_prefix("* ") {
        // Moments of notes are local, without a zone.
        Some(line) => line.split_once("  ").map_or("", |(_, said)| said).to_owned(),
        None => line.to_owned(),
    };
    let told = rig.told();
    let told: Vec<String> = told.lines().filter(is_news).map(plain).collect();
    insta::assert_snapshot!(told.join("\n"));
}

#[test]
fn the_network_is_answered_only_when_that_is_asked_for() {
    let Some(ip) = network::own_address() else {
        println!("this machine is on no network: nothing to try");
        return;
    };
    let rig = Rig::new();
    let closed = rig.serve(&[]);
    let address = SocketAddr::new(ip, closed.address().port());
    assert!(TcpStream::connect_timeout(&address, Duration::from_secs(2)).is_err());
    drop(closed);
    let served = rig.serve(&["--lan"]);
    let stranger = Caller::at(&served, ip);
    kind(&stranger.call("GET", "/v1/state", ""), 401, "token");
    // The token of the account is not for the network, where it could be read on the way.
    let token = format!("Authorization: Bearer {}\r\n", served.token);
    kind(&stranger.with(&token).call("GET", "/v1/state", ""), 401, "token");
    for host in ["127.0.0.1", "localhost", "example.org"] {
        kind(&stranger.call_as(host, "GET", "/enter", ""), 421, "host");
    }
    let screen = stranger.let_in(&served);
    assert_eq!(screen.call("GET", "/v1/state", "").0, 200);
    let told: Value = serde_json::from_str(&served.post("/v1/keys", &json!({})).1).unwrap();
    let link = told["network"].as_str().unwrap();
    assert!(link.starts_with(&format!("http://{ip}:{}/enter#", served.address().port())), "{link}");
    let log = rig.log();
    assert!(log.contains(&format!("http://{ip}:")) && log.contains('█'), "{log}");
}

#[test]
fn over_an_encrypted_link_a_screen_is_let_in_and_a_plain_one_is_shown_the_way() {
    let Some(ip) = network::own_address() else {
        println!("this machine is on no network: nothing to try");
        return;
    };
    let rig = Rig::new();
    let mut served = rig.serve(&["--lan", "--tls"]);
    let authority = SocketAddr::new(ip, served.address().port());
    let plain = Caller::at(&served, ip);
    let (status, head, _) = plain.call("GET", "/enter", "");
    assert_eq!(status, 308);
    assert!(head.contains(&format!("location: https://{authority}/enter")), "{head}");
    assert_eq!(plain.enter(&new_key(&served)).0, 308, "no key is taken that could be read");
    let told =
        || -> Value { serde_json::from_str(&served.post("/v1/keys", &json!({})).1).unwrap() };
    let (link, fingerprint) = (told()["network"].clone(), told()["fingerprint"].clone());
    assert!(link.as_str().unwrap().starts_with(&format!("https://{authority}/enter#")), "{link}");
    assert!(told()["here"].as_str().unwrap().starts_with("http://127.0.0.1:"));
    assert!(rig.log().contains(fingerprint.as_str().unwrap()), "{}", rig.log());
    let kept = || -> Value {
        serde_json::from_slice(&fs::read(rig.path("journal.sqlite.tls.json")).unwrap()).unwrap()
    };
    let first = kept();
    let caller = plain.trusting(first["certificate"].as_str().unwrap());
    let screen = caller.let_in(&served);
    assert_eq!(screen.call("GET", "/v1/state", "").0, 200);
    let note = json!({"say": "note", "text": "x", "origin": "page"}).to_string();
    let mark = |scheme: &str| {
        let lines = format!("{JSON}Origin: {scheme}://{authority}\r\n");
        screen.with(&lines).call("POST", "/v1/jobs/current/marks", &note)
    };
    kind(&mark("https"), 409, "no-job");
    kind(&mark("http"), 403, "origin");
    assert_eq!(served.get("/v1/state").0, 200, "on this machine nobody is on the way");
    assert_eq!(served.signal("TERM"), Some(0));
    let _served = rig.serve(&["--lan", "--tls"]);
    assert_eq!(kept(), first, "it is trusted once");
    assert_eq!(screen.call("GET", "/v1/state", "").0, 200);
}

#[test]
fn a_certificate_that_is_none_is_told_with_its_file() {
    if network::own_address().is_none() {
        println!("this machine is on no network: nothing to try");
        return;
    }
    let told = Rig::new()
        .file("none.pem", "nothing")
        .run("serve --lan --tls-certificate none.pem --tls-key none.pem")
        .run("serve --lan --tls-certificate gone.pem --tls-key none.pem")
        .told();
    insta::assert_snapshot!(told);
}

#[test]
fn without_a_daemon_there_is_no_page() {
    let told = Rig::new().run("page").told();
    assert_eq!(
        told,
        "$ clampbook page  -> 2\n! error: expected the daemon of this journal, but nobody answers; start it \
         in a second terminal: `clampbook serve`\n"
    );
}

#[test]
fn the_pulls_of_a_job_are_told_with_their_traces() {
    let rig = Rig::new()
        .sample("plans/one-wheel.toml")
        .sample("recordings/trace-only.ndjson")
        .run("job start one-wheel.toml");
    let served = rig.serve(&["--adapter", "sim:trace-only.ndjson,fast"]);
    let pulls = || -> Value { serde_json::from_str(&served.get("/v1/jobs/1/pulls").1).unwrap() };
    let mut told = pulls();
    for _ in 0..200 {
        let traced = told.as_array().unwrap().iter().filter(|pull| !pull["trace"].is_null());
        if traced.count() == 5 {
            break;
        }
        std::thread::sleep(Duration::from_millis(50));
        told = pulls();
    }
    let told = told.as_array().unwrap().clone();
    assert_eq!(told.len(), 5);
    for pull in &told {
        assert_eq!(pull["verdict"]["torque"], "in");
        assert_eq!(pull["typed"], false);
        let peak = pull["verdict"]["peak"].as_f64().unwrap();
        let samples = pull["trace"]["nm"].as_array().unwrap();
        let highest = samples.iter().filter_map(Value::as_f64).fold(0.0, f64::max);
        assert!((highest - peak).abs() < 0.02 * peak, "{highest} {peak}");
    }
    assert_eq!(served.get("/v1/jobs/9/pulls").0, 404);
}

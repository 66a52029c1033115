//! The interface without a daemon behind it: those who listen to the events, be they eager, slow, silent or
//! too many, and what is answered when nothing can be done.

use crate::rig::Stream;
use clampbook::core::live::Live;
use clampbook::core::time::Stamp;
use clampbook::web::{Doors, Parts, Sessions, Token, serve};
use serde_json::Value;
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Weak};
use std::time::{Duration, Instant};
use tokio::net::TcpListener;
use tokio::runtime::{Builder, Runtime};
use tokio::sync::{mpsc, watch};

/// How long anything here may take.
const SOON: Duration = Duration::from_secs(30);
/// How much every change says, octets.
const SAYS: usize = 60_000;

/// The interface alone, with states of our own.
struct Hall {
    live: watch::Sender<Arc<Live>>,
    address: SocketAddr,
    token: Token,
    _runtime: Runtime,
}

impl Hall {
    fn open(patience: Duration) -> Self {
        let runtime = Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
        let (live, live_out) = watch::channel(Arc::new(Live::default()));
        let token = Token::random();
        let listener = runtime.block_on(TcpListener::bind("127.0.0.1:0")).unwrap();
        let address = listener.local_addr().unwrap();
        let parts = Parts {
            token: token.clone(),
            sessions: Arc::new(Sessions::of(Path::new(""))),
            doors: Doors { port: address.port(), network: None, encrypted: false },
            identity: None,
            commands: mpsc::channel(1).0,
            live: live_out,
            journal: PathBuf::new(),
            now: Arc::new(|| Stamp(0)),
            patience,
        };
        runtime.spawn(serve(parts, listener, std::future::pending()));
        Self { live, address, token, _runtime: runtime }
    }

    /// A connection over which the events were asked for.
    fn ask(&self) -> TcpStream {
        self.request("GET /v1/events")
    }

    fn request(&self, what: &str) -> TcpStream {
        let mut connection = TcpStream::connect(self.address).unwrap();
        connection.set_read_timeout(Some(SOON)).unwrap();
        let token = self.token.text();
        write!(
            connection,
            "{what} HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer {token}\r\n\r\n"
        )
        .unwrap();
        connection
    }

    #[track_caller]
    fn refuses(&self, what: &str, status: u16, kind: &str) {
        let mut answer = vec![0; 4096];
        let length = self.request(what).read(&mut answer).unwrap();
        let answer = String::from_utf8_lossy(&answer[..length]).into_owned();
        assert!(answer.starts_with(&format!("HTTP/1.1 {status} ")), "{answer}");
        assert!(answer.contains("content-type: application/problem+json"), "{answer}");
        assert!(answer.contains(&format!("\"type\":\"/problems/{kind}\"")), "{answer}");
    }

    /// Waits until `count` are listening.
    fn wait_for(&self, count: usize) {
        let start = Instant::now();
        // The interface keeps one receiver to make others of.
        while self.live.receiver_count() != count + 1 {
            assert!(start.elapsed() < SOON, "{} of {count} listen", self.live.receiver_count() - 1);
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    /// The next state is there.
    fn publish(&self) -> Weak<Live> {
        let revision = self.live.borrow().revision + 1;
        let trouble = Some(format!("{revision:0SAYS$}"));
        let live = Arc::new(Live { revision, trouble, ..Live::default() });
        let weak = Arc::downgrade(&live);
        self.live.send_replace(live);
        weak
    }

    fn state(&self) -> Value {
        serde_json::to_value(&**self.live.borrow()).unwrap()
    }
}

#[test]
fn nothing_is_held_for_those_who_read_nothing_and_all_others_hear_every_change() {
    // Of those an eager listener, the last telling and the channel may just hold.
    const FRESH: usize = 3;
    let hall = Hall::open(Duration::from_secs(600));
    let silent: Vec<TcpStream> = (0..8).map(|_| hall.ask()).collect();
    let mut eager = Stream::new(hall.ask());
    hall.wait_for(9);
    assert_eq!(eager.next().as_deref(), Some("snapshot"));
    // More than the system keeps for a connection.
    let mut states = Vec::new();
    for _ in 0..500 {
        states.push(hall.publish());
        assert_eq!(eager.next().as_deref(), Some("change"));
        let old = states.len().saturating_sub(FRESH);
        let start = Instant::now();
        while states[..old].iter().any(|state| state.strong_count() > 0) {
            assert!(start.elapsed() < SOON, "an old state is still held");
            std::thread::sleep(Duration::from_millis(1));
        }
    }
    assert_eq!(*eager.state(), hall.state());

    // One of them reads again: what it missed is left out, and it is told everything.
    let mut awake = Stream::new(silent.into_iter().next().unwrap());
    let mut told = Vec::new();
    while *awake.state() != hall.state() {
        told.push(awake.next().unwrap());
    }
    let snapshots = told.iter().filter(|name| *name == "snapshot").count();
    assert!(snapshots >= 2, "once at first, and after what was missed");
    assert!(told.len() < states.len(), "{} of {}", told.len(), states.len());
    hall.publish();
    assert_eq!(awake.next().as_deref(), Some("change"));
}

#[test]
fn who_reads_nothing_for_too_long_is_left_and_who_reads_is_not() {
    let hall = Hall::open(Duration::from_millis(300));
    let silent: Vec<TcpStream> = (0..3).map(|_| hall.ask()).collect();
    let mut eager = Stream::new(hall.ask());
    hall.wait_for(4);
    assert_eq!(eager.next().as_deref(), Some("snapshot"));
    let start = Instant::now();
    while hall.live.receiver_count() > 2 {
        assert!(start.elapsed() < SOON, "{} still listen", hall.live.receiver_count() - 1);
        hall.publish();
        assert_eq!(eager.next().as_deref(), Some("change"));
    }
    assert_eq!(*eager.state(), hall.state());
    // Nothing to say is no reason to leave anybody.
    std::thread::sleep(Duration::from_millis(600));
    hall.publish();
    assert_eq!(eager.next().as_deref(), Some("change"));
    drop(silent);
}

#[test]
fn only_so_many_may_listen_and_who_goes_makes_room() {
    let hall = Hall::open(SOON);
    let mut listening: Vec<Stream> = (0..32).map(|_| Stream::new(hall.ask())).collect();
    for stream in &mut listening {
        assert_eq!(stream.next().as_deref(), Some("snapshot"));
    }
    hall.refuses("GET /v1/events", 503, "crowded");
    drop(listening.pop());
    hall.wait_for(31);
    assert_eq!(Stream::new(hall.ask()).next().as_deref(), Some("snapshot"));
}

#[test]
fn a_daemon_that_stops_and_a_journal_that_cannot_be_read_are_told() {
    let hall = Hall::open(SOON);
    // Nobody takes commands any more, and there is no journal.
    hall.refuses("POST /v1/jobs/current/park", 503, "stopping");
    for path in ["/v1/jobs", "/v1/loose", "/v1/jobs/1", "/v1/jobs/1/report.html"] {
        hall.refuses(&format!("GET {path}"), 500, "journal");
    }
}

//! A browser of a certain size that was let in, and what can be asked of the page in it.

use crate::rig::{Rig, Served};
use fantoccini::elements::Element;
use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};
use std::fs;
use std::future::Future;
use std::io::{BufRead, BufReader};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::OnceLock;
use std::time::{Duration, Instant};
use tokio::sync::{Mutex, MutexGuard};

/// How long anything on the page may take that takes no time by itself.
pub const SOON: Duration = Duration::from_secs(15);

/// Has the page note whatever stands on it, with the moment at which it was drawn, and every sound and sentence:
/// phase, word, milliseconds since the Unix epoch, figure.
const WATCH: &str = "
    window.log = [];
    window.sounds = [];
    window.spoken = [];
    let last = '';
    const note = () => {
      const text = (id) => document.getElementById(id).textContent.trim();
      const [phase, word, figure] = [document.body.dataset.phase, text('word'), text('figure')];
      const entry = [phase, word, 0, figure];
      const key = [phase, word, phase === 'pull' ? '' : figure].join('|');
      if (key === last) return;
      last = key;
      window.log.push(entry);
      // The frame that shows it has been handed over before what is put off from within it.
      requestAnimationFrame(() => setTimeout(() => { entry[2] = Date.now(); }));
    };
    new MutationObserver(note).observe(document.body, {subtree: true, childList: true, characterData: true, attributes: true});
    const real = window.AudioContext;
    window.AudioContext = class extends real {
      createOscillator() {
        const one = super.createOscillator();
        const start = one.start.bind(one);
        one.start = (at) => { window.sounds.push(one.frequency.value); start(at); };
        return one;
      }
    };
    speechSynthesis.speak = (one) => window.spoken.push(one.text);
";

/// A screen: name, width and height in a browser's pixels, and whether fingers use it.
#[derive(Debug, Clone, Copy)]
pub struct Screen {
    pub name: &'static str,
    pub width: u32,
    pub height: u32,
    pub per_mm: f64,
    pub metres: f64,
}

pub const PHONE: Screen =
    Screen { name: "phone", width: 390, height: 760, per_mm: 6.0, metres: 3.0 };
pub const PHONE_ACROSS: Screen =
    Screen { name: "phone-across", width: 844, height: 390, per_mm: 6.0, metres: 3.0 };
pub const TABLET: Screen =
    Screen { name: "tablet", width: 1180, height: 820, per_mm: 5.2, metres: 3.0 };
pub const TABLET_UPRIGHT: Screen =
    Screen { name: "tablet-upright", width: 820, height: 1180, per_mm: 5.2, metres: 3.0 };

/// One browser after another: they would take the time from each other.
static TURN: OnceLock<Mutex<()>> = OnceLock::new();

pub struct Driver {
    child: Child,
    port: u16,
    _turn: MutexGuard<'static, ()>,
}

impl Driver {
    pub async fn start() -> Self {
        let turn = TURN.get_or_init(Mutex::default).lock().await;
        let mut child = Command::new("chromedriver")
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver is installed; tests/browser/run does so");
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let told = lines.by_ref().map_while(Result::ok).find_map(|line| {
            let (_, port) = line.split_once("started successfully on port ")?;
            port.trim_end_matches('.').parse().ok()
        });
        // It must not find nobody who listens when it says more.
        std::thread::spawn(move || lines.for_each(drop));
        Self { child, port: told.expect("it says its port"), _turn: turn }
    }

    pub async fn browser(&self, screen: Screen) -> Client {
        let options = json!({
            "args": [
                "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
                "--no-first-run", "--disable-background-networking", "--disable-sync",
                // Whatever is not this machine has no address.
                "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
            ],
            "mobileEmulation": {"deviceMetrics": {
                "width": screen.width, "height": screen.height, "pixelRatio": 2, "touch": true,
            }},
        });
        let capabilities = json!({"browserName": "chrome", "goog:chromeOptions": options});
        let Value::Object(capabilities) = capabilities else { unreachable!() };
        ClientBuilder::new(HttpConnector::new())
            .capabilities(capabilities)
            .connect(&format!("http://127.0.0.1:{}", self.port))
            .await
            .unwrap()
    }

    /// The page of the daemon, in a browser that was let in with a link of its own.
    pub async fn page(&self, rig: &Rig, screen: Screen) -> Page {
        self.page_with(rig, screen, json!({})).await
    }

    /// The same with further settings.
    pub async fn page_with(&self, rig: &Rig, screen: Screen, settings: Value) -> Page {
        let client = self.browser(screen).await;
        let link = rig.output(&["page"]).stdout;
        let link = String::from_utf8(link).unwrap().trim().to_owned();
        let (origin, _) = link.split_once("/enter").unwrap();
        let page = Page { client, screen, origin: origin.to_owned() };
        // The threshold is open to all, and of the same origin: settings can be left there.
        page.client.goto(&format!("{origin}/enter")).await.unwrap();
        let mut kept = json!({
            "language": "en", "distance": screen.metres, "perMm": screen.per_mm, "light": "dark",
        });
        for (name, value) in settings.as_object().unwrap() {
            kept[name] = value.clone();
        }
        page.run("localStorage.setItem('clampbook', arguments[0])", vec![json!(kept.to_string())])
            .await;
        page.client.goto("about:blank").await.unwrap();
        page.client.goto(&link).await.unwrap();
        page.until(
            "the page is there",
            "return document.body.dataset.view === 'now' && location.pathname === '/'",
        )
        .await;
        page.until("the state is there", "return !document.body.classList.contains('stale') && document.body.dataset.phase !== 'wait'").await;
        page
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

pub struct Page {
    pub client: Client,
    pub screen: Screen,
    pub origin: String,
}

impl Page {
    pub async fn run(&self, script: &str, arguments: Vec<Value>) -> Value {
        self.client.execute(script, arguments).await.unwrap()
    }

    /// From now on what the page shows and lets hear is noted.
    pub async fn watch(&self) {
        self.run(WATCH, Vec::new()).await;
    }

    /// From now on fields can be put in place of those that the daemon tells, with [`Page::feed`].
    pub async fn intercept(&self) {
        let script = "
            const real = window.EventSource;
            window.EventSource = class extends real {
              addEventListener(name, act) {
                if (name === 'error') { super.addEventListener(name, act); return; }
                super.addEventListener(name, (event) => {
                  const told = JSON.parse(event.data);
                  if (name === 'snapshot') { window.told = told; window.put = act; }
                  else Object.assign(window.told, told);
                  act({ data: JSON.stringify({ ...told, ...window.fed }) });
                });
              }
            };
            window.fed = {};
            // One pulse that fails, and the page listens anew.
            const answered = window.fetch;
            window.fetch = (...asked) => { window.fetch = answered; return Promise.reject(new Error('lost')); };";
        self.run(script, Vec::new()).await;
        self.until(
            "it listens anew",
            "return Boolean(window.put) && !document.body.classList.contains('stale')",
        )
        .await;
    }

    /// Lets the page hear these fields as if the daemon had told them, in place of the daemon's own.
    pub async fn feed(&self, fields: Value) {
        let script = "window.fed = arguments[0];
            window.put({ data: JSON.stringify({ ...window.told, ...window.fed }) });";
        self.run(script, vec![fields]).await;
    }

    /// When what was noted was drawn, milliseconds since the Unix epoch: each time that this phase and word came up.
    pub async fn drawn(&self, phase: &str, word: &str) -> Vec<f64> {
        let log = self.run("return window.log", Vec::new()).await;
        let noted = log.as_array().unwrap().iter();
        let noted = noted.filter(|one| one[0] == phase && one[1] == word);
        noted.filter_map(|one| one[2].as_f64()).filter(|at| *at > 0.0).collect()
    }

    /// Waits until a script says so.
    pub async fn until(&self, what: &str, script: &str) -> Duration {
        self.within(SOON, what, script).await
    }

    pub async fn within(&self, limit: Duration, what: &str, script: &str) -> Duration {
        let start = Instant::now();
        loop {
            let answer = self.client.execute(script, Vec::new()).await;
            if answer.is_ok_and(|answer| answer == Value::Bool(true)) {
                return start.elapsed();
            }
            if start.elapsed() > limit {
                self.picture("failed").await;
                let text = self.client.execute("return document.body.innerText", Vec::new()).await;
                panic!("not within {limit:?}: {what}; the page says {text:?}");
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }

    pub async fn until_phase(&self, phase: &str) -> Duration {
        let script = format!("return document.body.dataset.phase === '{phase}'");
        self.until(&format!("phase {phase}"), &script).await
    }

    pub async fn text(&self, id: &str) -> String {
        let script = "return document.getElementById(arguments[0]).innerText";
        self.run(script, vec![json!(id)]).await.as_str().unwrap_or_default().to_owned()
    }

    /// What a tap brings up may take a moment to come.
    pub async fn find(&self, css: &str) -> Element {
        let wait = self.client.wait().at_most(SOON);
        wait.for_element(Locator::Css(css)).await.unwrap()
    }

    pub async fn tap(&self, css: &str) {
        self.find(css).await.click().await.unwrap();
    }

    /// Taps the button of the menu with that text.
    pub async fn tap_text(&self, text: &str) {
        let script = "const one = [...document.querySelectorAll('button, a.button')]\
            .find((one) => one.innerText.trim() === arguments[0] && one.offsetParent);\
            one?.click(); return Boolean(one)";
        let found = self.run(script, vec![json!(text)]).await;
        assert_eq!(found, Value::Bool(true), "no button {text}");
    }

    pub async fn key(&self, keys: &str) {
        self.client.active_element().await.unwrap().send_keys(keys).await.unwrap();
        // A pedal that bounces means one answer.
        tokio::time::sleep(Duration::from_millis(400)).await;
    }

    /// Keeps a picture of the page.
    pub async fn picture(&self, name: &str) {
        let folder = pictures();
        fs::create_dir_all(&folder).unwrap();
        let picture = self.client.screenshot().await.unwrap();
        fs::write(folder.join(format!("{name}-{}.png", self.screen.name)), picture).unwrap();
    }

    /// That whatever was fetched came from the daemon.
    pub async fn stayed_here(&self) {
        let script = "return performance.getEntriesByType('resource').map((one) => one.name)";
        let names = self.run(script, Vec::new()).await;
        let names = names.as_array().unwrap();
        assert!(names.len() > 10, "{names:?}");
        for name in names {
            let name = name.as_str().unwrap();
            assert!(name.starts_with(&format!("{}/", self.origin)), "{name}");
        }
    }

    pub async fn close(self) {
        self.client.close().await.unwrap();
    }
}

/// Where the pictures are.
pub fn pictures() -> PathBuf {
    let target = std::env::var_os("CARGO_TARGET_DIR")
        .map_or_else(|| PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("target"), PathBuf::from);
    target.join("browser")
}

/// Runs a test to its end.
pub fn block_on(test: impl Future<Output = ()>) {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().unwrap();
    runtime.block_on(test);
}

/// A job on a plan, and a daemon that listens to no adapter yet.
pub fn job(plan: &str) -> (Rig, Served) {
    let rig = Rig::new().file("plan.toml", plan).run("job start plan.toml");
    let served = rig.serve(&[]);
    (rig, served)
}

/// The daemon anew, now with an adapter that plays a recording: whoever watches finds it again.
pub async fn play(rig: &Rig, served: Served, recording: &str, page: &Page) -> Served {
    drop(served);
    fs::write(rig.path("played.ndjson"), recording).unwrap();
    let served = rig.serve(&["--adapter", "sim:played.ndjson,speed=1"]);
    page.until("the daemon is found again", "return !document.body.classList.contains('stale') && document.getElementById('link').dataset.link === 'back'").await;
    served
}

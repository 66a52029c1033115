//! The daemon's own voice, with a program that writes down what it is to say and takes its time.

use crate::rig::Rig;
use clampbook::core::language::Language;
use clampbook::core::live::{Live, PullNow, TorqueNow};
use clampbook::core::prompt::{Cue, Prompt, Words};
use clampbook::core::time::Stamp;
use clampbook::daemon::speaker::{Speaker, SpeakerError};
use serde_json::json;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::watch;
use tokio::time::sleep;

/// A voice that writes down when it begins and, if it is let, when it ends.
const VOICE: &str =
    "#!/bin/sh\necho \"begin $2\" >> \"$1\"\nsleep 0.4\necho \"end $2\" >> \"$1\"\n";

struct Stage {
    rig: Rig,
    live: watch::Sender<Arc<Live>>,
    said: u64,
}

impl Stage {
    async fn new() -> Self {
        let rig = Rig::new().file("voice", VOICE);
        let voice = rig.path("voice");
        fs::set_permissions(&voice, fs::Permissions::from_mode(0o755)).unwrap();
        let command = format!("{} {}", voice.display(), rig.path("said").display());
        let speaker = Speaker::with(&command, Language::German).unwrap();
        let (live, watcher) = watch::channel(Arc::default());
        tokio::spawn(speaker.run(watcher));
        // What was said before it began to listen is not for it.
        sleep(Duration::from_millis(50)).await;
        Self { rig, live, said: 0 }
    }

    fn say(&mut self, cue: Cue, text: &str) {
        self.said += 1;
        let words = Words { de: text.to_owned(), ..Words::default() };
        let prompt = Prompt { number: self.said, at: Stamp(0), cue, words, whole: None };
        self.change(|live| live.prompts.push(prompt));
    }

    fn pull(&mut self, is_on: bool) {
        let on = PullNow { peak_nm: 50.0, reached: false, over: false };
        let pull = is_on.then_some(on);
        let torque = TorqueNow { adapter: "a".to_owned(), at: Stamp(0), nm: 50.0, pull };
        self.change(|live| live.torque = vec![torque]);
    }

    fn change(&mut self, change: impl FnOnce(&mut Live)) {
        self.live.send_modify(|shown| {
            let mut live = Live::clone(shown);
            change(&mut live);
            *shown = Arc::new(live);
        });
    }

    fn heard(&self) -> Vec<String> {
        let text = fs::read_to_string(self.rig.path("said")).unwrap_or_default();
        text.lines().map(str::to_owned).collect()
    }

    /// Waits until that was heard last.
    async fn hears(&self, last: &str) {
        for _ in 0..500 {
            if self.heard().last().is_some_and(|line| line == last) {
                return;
            }
            sleep(Duration::from_millis(10)).await;
        }
        panic!("not heard: {last}; heard was {:?}", self.heard());
    }
}

#[tokio::test]
async fn one_prompt_waits_at_most_and_the_urgent_one_stays() {
    let mut stage = Stage::new().await;
    stage.say(Cue::Accepted, "eins");
    stage.hears("begin eins").await;
    stage.say(Cue::Attention, "zwei");
    stage.say(Cue::Next, "drei");
    stage.say(Cue::More, "vier");
    stage.hears("end zwei").await;
    assert_eq!(stage.heard(), ["begin eins", "end eins", "begin zwei", "end zwei"]);
}

#[tokio::test]
async fn it_is_quiet_in_a_pull_and_what_is_over_silences_everything() {
    let mut stage = Stage::new().await;
    stage.pull(true);
    stage.say(Cue::Accepted, "eins");
    sleep(Duration::from_millis(300)).await;
    assert_eq!(stage.heard(), Vec::<String>::new());
    stage.pull(false);
    stage.hears("begin eins").await;
    stage.pull(true);
    stage.say(Cue::Over, "zu viel");
    stage.hears("end zu viel").await;
    assert_eq!(stage.heard(), ["begin eins", "begin zu viel", "end zu viel"]);
}

#[test]
fn a_voice_without_a_sound_card_is_told_of_once_even_if_it_ends_well() {
    let voice = "#!/bin/sh\necho 'noise' >&2\necho 'error: no card' >&2\n";
    let rig = Rig::new().file("voice", voice).sample("plans/arm-pivot.toml");
    fs::set_permissions(rig.path("voice"), fs::Permissions::from_mode(0o755)).unwrap();
    let rig = rig.run("job start arm-pivot.toml");
    let served = rig.serve(&["--speak-with", "./voice"]);
    let note = json!({"say": "confirm", "hold": "ride-height", "origin": "page"});
    assert_eq!(served.post("/v1/jobs/current/marks", &note).0, 200);
    let complaint = "complains: error: no card; perhaps nothing was heard";
    for _ in 0..500 {
        if rig.log().contains(complaint) {
            break;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    assert_eq!(served.post("/v1/repeat", &json!({})).0, 200);
    std::thread::sleep(Duration::from_millis(600));
    assert_eq!(rig.log().matches(complaint).count(), 1, "{}", rig.log());
}

#[test]
fn a_voice_that_is_not_there_is_named_with_a_remedy() {
    let refused = |command: &str| Speaker::with(command, Language::English).unwrap_err();
    assert!(matches!(refused(" "), SpeakerError::Empty));
    let missing = refused("no-such-voice -v en");
    assert_eq!(
        missing.to_string(),
        "expected a program named `no-such-voice`, but found none; install it, or write its whole path"
    );
    let path = PathBuf::from("/no/such/voice");
    assert!(matches!(refused(&path.display().to_string()), SpeakerError::NotFound(_)));
    let told = Rig::new().run("serve --speak-with no-such-voice").told();
    assert!(told.contains("-> 2\n! error: nobody can speak: expected a program named"), "{told}");
}

//! The daemon's own voice, with programs that write down what they are to say or play and take their time.

mod programs;

use crate::rig::Rig;
use clampbook::core::language::Language;
use clampbook::core::live::{Live, PullNow, TorqueNow};
use clampbook::core::prompt::{Cue, Prompt, Said, Talk, Words};
use clampbook::core::time::Stamp;
use clampbook::daemon::speaker::{Player, PlayerError, Speaker, SpeakerError, Voice};
use std::fs;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::watch;
use tokio::time::sleep;

/// A voice that writes down when it begins and, if it is let, when it ends.
const VOICE: &str =
    "#!/bin/sh\necho \"begin $2\" >> \"$1\"\nsleep 0.4\necho \"end $2\" >> \"$1\"\n";
/// A player that does the same beside where it stands.
const PLAYER: &str = "#!/bin/sh\nname=$(basename \"$1\" .wav)\necho \"sound $name\" >> \"$(dirname \"$0\")/said\"\n\
     sleep 0.05\necho \"silence after $name\" >> \"$(dirname \"$0\")/said\"\n";

struct Stage {
    rig: Rig,
    live: watch::Sender<Arc<Live>>,
    said: u64,
}

impl Stage {
    /// Words alone.
    async fn new() -> Self {
        Self::with(None, Talk::Everything).await
    }

    async fn with(player: Option<&str>, talk: Talk) -> Self {
        let mut rig = Rig::new().program("voice", VOICE);
        let mut plays = Err(PlayerError::NoProgram);
        if let Some(text) = player {
            rig = rig.program("player", text);
            plays = Player::with(&rig.path("player"), 80);
        }
        let command = format!("{} {}", rig.path("voice").display(), rig.path("said").display());
        let voice = Voice::with(&command).unwrap();
        let speaker = Speaker { voice, player: plays, language: Language::German, talk };
        let (live, watcher) = watch::channel(Arc::default());
        tokio::spawn(speaker.run(watcher));
        // What was said before it began to listen is not for it.
        sleep(Duration::from_millis(50)).await;
        Self { rig, live, said: 0 }
    }

    fn say(&mut self, cue: Cue, text: &str) {
        self.say_of_pull(cue, text, None);
    }

    /// The same, of which only a part is of the pull.
    fn say_of_pull(&mut self, cue: Cue, text: &str, of_pull: Option<&str>) {
        self.said += 1;
        let words = |text: &str| Words { de: text.to_owned(), ..Words::default() };
        let said = Said { of_pull: of_pull.map(words), ..Said::new(cue, words(text)) };
        let prompt = Prompt::new(self.said, Stamp(0), said);
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

#[tokio::test]
async fn a_rhythm_comes_before_its_words_and_what_is_next_has_none() {
    let mut stage = Stage::with(Some(PLAYER), Talk::Everything).await;
    for (cue, name, text) in [
        (Cue::Accepted, "accepted", "eins"),
        (Cue::Reached, "reached", "zwei"),
        (Cue::Attention, "attention", "drei"),
        (Cue::Over, "over", "vier"),
    ] {
        stage.say(cue, text);
        stage.hears(&format!("end {text}")).await;
        let heard = stage.heard();
        let expected = [
            format!("sound {name}"),
            format!("silence after {name}"),
            format!("begin {text}"),
            format!("end {text}"),
        ];
        assert_eq!(heard[heard.len() - 4..], expected);
    }
    stage.say(Cue::Next, "fünf");
    stage.hears("end fünf").await;
    assert!(!stage.heard().iter().any(|line| line.contains("next")), "{:?}", stage.heard());
}

#[tokio::test]
async fn what_is_over_sounds_at_once_whatever_is_played_or_said() {
    let mut stage = Stage::with(Some(PLAYER), Talk::Everything).await;
    stage.say(Cue::Attention, "eins");
    stage.hears("sound attention").await;
    stage.pull(true);
    stage.say(Cue::Over, "zu viel");
    stage.hears("end zu viel").await;
    let expected = ["sound attention", "sound over", "silence after over", "begin zu viel"];
    assert_eq!(stage.heard()[..4], expected);
    stage.pull(false);
    stage.say(Cue::Accepted, "zwei");
    stage.hears("begin zwei").await;
    stage.say(Cue::Over, "wieder");
    stage.hears("end wieder").await;
    assert!(!stage.heard().contains(&"end zwei".to_owned()), "{:?}", stage.heard());
}

#[tokio::test]
async fn a_player_that_hangs_or_fails_keeps_no_word_back() {
    for player in ["#!/bin/sh\nsleep 20\n", "#!/bin/sh\necho 'no card' >&2\nexit 1\n"] {
        let mut stage = Stage::with(Some(player), Talk::Everything).await;
        stage.say(Cue::Over, "zu viel");
        stage.hears("end zu viel").await;
        stage.say(Cue::Accepted, "eins");
        stage.hears("end eins").await;
        assert_eq!(stage.heard(), ["begin zu viel", "end zu viel", "begin eins", "end eins"]);
    }
}

#[tokio::test]
async fn a_player_that_lingers_is_let_and_words_begin_when_the_rhythm_has_sounded() {
    let slow = PLAYER.replace("sleep 0.05", "sleep 1.2");
    let mut stage = Stage::with(Some(&slow), Talk::Everything).await;
    stage.say(Cue::Accepted, "eins");
    stage.hears("silence after accepted").await;
    let words = ["begin eins", "end eins"];
    assert_eq!(
        stage.heard(),
        [&["sound accepted"], &words[..], &["silence after accepted"]].concat()
    );
}

#[tokio::test]
async fn more_sounds_after_every_pull_and_is_said_once_to_a_hand_that_rests() {
    let mut stage = Stage::with(Some(PLAYER), Talk::Everything).await;
    stage.say(Cue::More, "mehr 1");
    stage.hears("silence after more").await;
    stage.pull(true);
    sleep(Duration::from_millis(1700)).await;
    // A pull may be judged before its torque is seen to have gone.
    stage.say(Cue::More, "mehr 2");
    sleep(Duration::from_millis(100)).await;
    stage.pull(false);
    stage.hears("end mehr 2").await;
    stage.say(Cue::More, "mehr 3");
    sleep(Duration::from_millis(2200)).await;
    let swing = ["sound more", "silence after more"];
    let spoken = ["begin mehr 2", "end mehr 2"];
    assert_eq!(stage.heard(), [&swing[..], &swing, &spoken, &swing].concat());
}

#[tokio::test]
async fn how_much_is_spoken_is_chosen_and_every_rhythm_sounds() {
    for (talk, expected) in [(Talk::Values, &["begin Gilt.", "end Gilt."][..]), (Talk::Alarms, &[])]
    {
        let mut stage = Stage::with(Some(PLAYER), talk).await;
        stage.say_of_pull(Cue::Accepted, "Gilt. Weiter: 3.", Some("Gilt."));
        stage.hears(expected.last().unwrap_or(&"silence after accepted")).await;
        stage.say(Cue::Next, "Bereit.");
        stage.say(Cue::Attention, "Halt.");
        stage.hears("end Halt.").await;
        let sounds = ["sound accepted", "silence after accepted"];
        let alarm = ["sound attention", "silence after attention", "begin Halt.", "end Halt."];
        assert_eq!(stage.heard(), [&sounds[..], expected, &alarm].concat());
    }
}

#[test]
fn a_voice_that_is_not_there_is_named_with_a_remedy() {
    let refused = |command: &str| Voice::with(command).unwrap_err();
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

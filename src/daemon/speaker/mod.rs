//! The daemon's own voice: a program of the system that speaks, and one that plays a short rhythm before it.
//!
//! Guarantees: at most one prompt waits; no word but what cuts in is said while a pull is on; what is over
//! silences whatever is being said or played, and waits for nothing: its sound begins at once, its words follow.
//! A voice or a player that fails or complains is told of, once, and stops nothing.
//!
//! Deliberately absent: what is said, and what it sounds like. That is the core's.

mod player;
mod voice;
mod work;

pub use player::{Player, PlayerError};
pub use voice::{SpeakerError, Voice};

use crate::core::language::Language;
use crate::core::live::Live;
use crate::core::prompt::{Cue, Prompt, REST_S, Talk, Waiting};
use crate::daemon::speaker::work::{End, Work, ended};
use std::env;
use std::path::PathBuf;
use std::pin::Pin;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::watch;
use tokio::time::{Sleep, sleep};

/// What a player and a sound card may take until a rhythm begins, seconds.
const START_S: f64 = 0.2;

/// Who speaks, in which language, and how much.
pub struct Speaker {
    /// Says the words.
    pub voice: Voice,
    /// Plays the rhythms; without one there are words alone.
    pub player: Result<Player, PlayerError>,
    /// What language it speaks.
    pub language: Language,
    /// How much of what is said it speaks.
    pub talk: Talk,
}

impl Speaker {
    /// Speaks until nothing more can come.
    pub async fn run(self, mut live: watch::Receiver<Arc<Live>>) {
        let heard = live.borrow().prompts.last().map_or(0, |last| last.number);
        let mut desk = Desk::new(self, heard);
        loop {
            desk.take_in(&live.borrow_and_update());
            desk.begin();
            tokio::select! {
                changed = live.changed() => if changed.is_err() {
                    return;
                },
                end = ended(&mut desk.sounding) => desk.has_sounded(end),
                () = over(&mut desk.sounds) => desk.fade(),
                end = ended(&mut desk.fading) => desk.has_faded(end),
                end = ended(&mut desk.speaking) => desk.has_spoken(end),
                () = over(&mut desk.rest) => {
                    desk.rest = None;
                    desk.waiting.rested();
                }
            }
        }
    }
}

/// What is being said and played, and what waits.
struct Desk {
    voice: Voice,
    player: Option<Player>,
    language: Language,
    talk: Talk,
    /// The prompt that was taken in last.
    heard: u64,
    is_pulling: bool,
    waiting: Waiting,
    /// A rhythm that waits for the end of another.
    due: Option<Cue>,
    // Dropped, what is at work is ended.
    sounding: Option<Work>,
    /// Until its rhythm has sounded: players take their time to end.
    sounds: Option<Pin<Box<Sleep>>>,
    /// Its rhythm has sounded, and keeps nothing back any more.
    fading: Option<Work>,
    speaking: Option<Work>,
    /// Until the hand has rested.
    rest: Option<Pin<Box<Sleep>>>,
    has_complained: bool,
}

impl Desk {
    fn new(speaker: Speaker, heard: u64) -> Self {
        let Speaker { voice, player, language, talk } = speaker;
        let player = player.inspect_err(|none| tracing::warn!("words alone: {none}")).ok();
        Self {
            voice,
            player,
            language,
            talk,
            heard,
            is_pulling: false,
            waiting: Waiting::default(),
            due: None,
            sounding: None,
            sounds: None,
            fading: None,
            speaking: None,
            rest: None,
            has_complained: false,
        }
    }

    fn take_in(&mut self, live: &Live) {
        let heard = self.heard;
        for prompt in live.prompts.iter().filter(|prompt| prompt.number > heard) {
            self.hear(prompt);
        }
        self.heard = live.prompts.last().map_or(heard, |last| last.number);
        self.is_pulling = live.is_pulling();
    }

    fn hear(&mut self, prompt: &Prompt) {
        if prompt.cue == Cue::Over {
            (self.sounding, self.fading, self.speaking) = (None, None, None);
            (self.sounds, self.due) = (None, None);
        }
        if prompt.cue.rhythm().is_some() {
            self.due = self.due.max(Some(prompt.cue));
        }
        if self.talk.of(prompt).is_some() {
            self.waiting.offer(prompt.clone());
        }
        if prompt.cue == Cue::More && self.waiting.is_more() {
            self.rest = Some(Box::pin(sleep(Duration::from_secs_f64(REST_S))));
        }
    }

    /// Begins whatever may begin now: a rhythm at once, words once it has sounded.
    fn begin(&mut self) {
        if self.sounding.is_none()
            && let Some(cue) = self.due.take()
        {
            self.sounding = self.player.as_mut().and_then(|player| player.play(cue));
            let length = cue.rhythm().map_or(0.0, |rhythm| rhythm.length_s()) + START_S;
            self.sounds =
                self.sounding.as_ref().map(|_| Box::pin(sleep(Duration::from_secs_f64(length))));
        }
        if self.sounding.is_some() || self.speaking.is_some() {
            return;
        }
        if let Some(prompt) = self.waiting.take(self.is_pulling)
            && let Some(words) = self.talk.of(&prompt)
        {
            self.speaking = self.voice.say(words.in_language(self.language));
        }
    }

    fn fade(&mut self) {
        self.sounds = None;
        self.fading = self.sounding.take();
    }

    fn has_sounded(&mut self, end: End) {
        self.sounds = None;
        let played = self.sounding.take();
        self.judge(played, end);
    }

    fn has_faded(&mut self, end: End) {
        let played = self.fading.take();
        self.judge(played, end);
    }

    fn judge(&mut self, played: Option<Work>, end: End) {
        if let (End::Failed(why), Some(player), Some(played)) = (end, &mut self.player, played) {
            player.give_way(played.program(), &why);
        }
    }

    fn has_spoken(&mut self, end: End) {
        self.speaking = None;
        // A program without a sound card may well end as if all were right.
        if let End::Failed(why) | End::Complained(why) = end
            && !std::mem::replace(&mut self.has_complained, true)
        {
            tracing::warn!("{} complains: {why}; perhaps nothing was heard", self.voice);
        }
    }
}

async fn over(rest: &mut Option<Pin<Box<Sleep>>>) {
    match rest {
        Some(rest) => rest.await,
        None => std::future::pending().await,
    }
}

/// The program of that name or path.
fn program(name: &str) -> Option<PathBuf> {
    if name.contains(std::path::MAIN_SEPARATOR) {
        return Some(PathBuf::from(name)).filter(|path| path.is_file());
    }
    let folders = env::var_os("PATH")?;
    env::split_paths(&folders).map(|folder| folder.join(name)).find(|path| path.is_file())
}

//! Where everything stands, for whoever watches, and what is said of it.
//!
//! Guarantees: torque that is felt gets here without waiting for the disk, and so does a prompt to stop; each
//! state that is put up has the next revision; what is said is in the state, so that all who watch are told
//! the same.

use crate::adapter::Clock;
use crate::core::event::LinkState;
use crate::core::live::Live;
use crate::core::prompt::{self, Cue, Prompt, Said, Words};
use crate::core::time::Stamp;
use crate::core::units::Torque;
use std::sync::Arc;
use tokio::sync::watch;

/// So many prompts are kept, so that nobody who watches misses one.
const PROMPTS: usize = 4;
/// What was said already is not said again within so many seconds, unless another pull is felt to come to it.
const AGAIN_S: f64 = 4.0;
/// Torque is put up no more often than this, seconds, unless it changes what is said.
const TORQUE_S: f64 = 0.04;
/// Changes of torque between pulls that are noise, N·m.
const NOISE_NM: f64 = 0.3;

/// Where everything stands.
pub struct Board {
    live: watch::Sender<Arc<Live>>,
    clock: Clock,
}

impl Board {
    /// With that to begin with.
    #[must_use]
    pub fn new(live: Live, clock: Clock) -> Self {
        let live = Live { now: clock(), ..live };
        Self { live: watch::channel(Arc::new(live)).0, clock }
    }

    /// Somebody who watches.
    #[must_use]
    pub fn watcher(&self) -> watch::Receiver<Arc<Live>> {
        self.live.subscribe()
    }

    /// What is up now.
    #[must_use]
    pub fn live(&self) -> Arc<Live> {
        Arc::clone(&self.live.borrow())
    }

    /// Puts up a state. Prompts stay as they are, torque as long as data can flow, and what is new is said.
    pub fn publish(&self, live: Live) {
        let now = (self.clock)();
        self.live.send_modify(|shown| {
            let mut live = live;
            live.torque.clone_from(&shown.torque);
            live.prompts.clone_from(&shown.prompts);
            let links = &live.adapters;
            live.torque.retain(|torque| {
                let link =
                    links.iter().find(|one| one.id == torque.adapter).and_then(|one| one.link);
                matches!(link, None | Some(LinkState::Back))
            });
            let said = prompt::after(shown, &live);
            let said = said.and_then(|said| unless_said(&mut live.prompts, now, said));
            put_up(shown, live, now, said);
        });
    }

    /// Says again what was said last, and gives it: of a warning all that it tells. None if nothing was said.
    pub fn repeat(&self) -> Option<Words> {
        let now = (self.clock)();
        let mut said = None;
        self.live.send_if_modified(|shown| {
            let Some(last) = shown.prompts.last().cloned() else { return false };
            let mut live = Live::clone(shown);
            let words = last.whole.clone().unwrap_or(last.words);
            said = Some(words.clone());
            let said = Said { whole: last.whole, ..Said::new(last.cue, words) };
            push(&mut live.prompts, now, said);
            put_up(shown, live, now, None);
            true
        });
        said
    }

    /// Puts up the torque on a drive.
    pub fn feel(&self, at: Stamp, adapter: &str, torque: Torque) {
        let now = (self.clock)();
        self.live.send_if_modified(|shown| {
            let last = shown.torque.iter().find(|known| known.adapter == adapter);
            let before = last.and_then(|last| last.pull);
            let pause_s = last.map_or(f64::INFINITY, |last| at.seconds_since(last.at));
            let change_nm = last.map_or(f64::INFINITY, |last| (torque.nm() - last.nm).abs());
            let mut live = Live::clone(shown);
            live.feel(at, adapter, torque);
            let pull = live.torque.iter().find(|known| known.adapter == adapter);
            let pull = pull.and_then(|known| known.pull);
            let said = pull.and_then(|pull| prompt::felt(before, &live, pull));
            let is_news = before.is_some() != pull.is_some() || said.is_some();
            let is_idle = pull.is_none() && change_nm < NOISE_NM;
            if !is_news && (is_idle || pause_s.abs() < TORQUE_S) {
                return false;
            }
            put_up(shown, live, now, said);
            true
        });
    }
}

fn put_up(shown: &mut Arc<Live>, mut live: Live, now: Stamp, said: Option<Said>) {
    if let Some(said) = said {
        push(&mut live.prompts, now, said);
    }
    live.revision = shown.revision + 1;
    live.now = now;
    *shown = Arc::new(live);
}

fn push(prompts: &mut Vec<Prompt>, now: Stamp, said: Said) {
    let number = prompts.last().map_or(1, |last| last.number + 1);
    if prompts.len() == PROMPTS {
        prompts.remove(0);
    }
    prompts.push(Prompt::new(number, now, said));
}

/// What is to be said, unless it was just said: then all that a warning tells is put to that. Of one pull that is
/// over nobody is told twice, in whatever words.
fn unless_said(prompts: &mut [Prompt], now: Stamp, news: Said) -> Option<Said> {
    let mut recent =
        prompts.iter_mut().rev().filter(|said| now.seconds_since(said.at).abs() < AGAIN_S);
    let same = recent
        .find(|said| said.words == news.words || (news.cue, said.cue) == (Cue::Over, Cue::Over));
    let Some(same) = same else { return Some(news) };
    if same.whole.is_none() {
        same.whole = news.whole;
    }
    None
}

#[cfg(test)]
mod tests;

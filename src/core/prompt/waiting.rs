//! What waits to be said: one prompt at most.

use crate::core::prompt::{Cue, Prompt};

/// So long the hand rests before it is told "more", seconds: who swings a ratchet again goes on without being told.
pub const REST_S: f64 = 1.5;

/// The prompt that waits.
#[derive(Debug, Clone, Default)]
pub struct Waiting {
    prompt: Option<Prompt>,
    /// The pull that "more" is due of is seen to be over: it may be judged before its torque is.
    has_let_go: bool,
    /// No pull has begun for [`REST_S`] since "more" was due.
    has_rested: bool,
    /// "More" was said, and nothing else was due since.
    said_more: bool,
}

impl Waiting {
    /// Takes in what is to be said: the more urgent stays, and of two alike the newer. "More" is said once until
    /// something else is.
    pub fn offer(&mut self, prompt: Prompt) {
        if prompt.cue != Cue::More {
            self.said_more = false;
        } else if self.said_more && prompt.of_pull.is_none() {
            return;
        }
        let yields = |waiting: &Prompt| {
            waiting.cue <= prompt.cue || (waiting.cue, prompt.cue) == (Cue::More, Cue::Accepted)
        };
        if self.prompt.as_ref().is_none_or(yields) {
            self.prompt = Some(prompt);
            (self.has_let_go, self.has_rested) = (false, false);
        }
    }

    /// What is to be said now; while a pull is on only what cuts in.
    pub fn take(&mut self, is_pulling: bool) -> Option<Prompt> {
        if is_pulling && self.has_let_go && self.is_more() {
            self.prompt = None;
        }
        self.has_let_go |= !is_pulling;
        let has_rested = self.has_rested;
        let taken = self.prompt.take_if(|waiting| {
            (!is_pulling || waiting.cue.cuts_in()) && (waiting.cue != Cue::More || has_rested)
        });
        self.said_more |= taken.as_ref().is_some_and(|taken| taken.cue == Cue::More);
        taken
    }

    /// The hand has rested for [`REST_S`] since the last pull ended.
    pub fn rested(&mut self) {
        self.has_rested = true;
    }

    /// True if "more" waits for the hand to rest.
    #[must_use]
    pub fn is_more(&self) -> bool {
        self.prompt.as_ref().is_some_and(|waiting| waiting.cue == Cue::More)
    }
}

#[cfg(test)]
mod tests {
    use super::Waiting;
    use crate::core::prompt::{Cue, Prompt, Said, Words};
    use crate::core::time::Stamp;

    fn prompt(number: u64, cue: Cue) -> Prompt {
        Prompt::new(number, Stamp(0), Said::new(cue, Words::default()))
    }

    fn number(taken: Option<Prompt>) -> Option<u64> {
        taken.map(|one| one.number)
    }

    #[test]
    fn one_waits_at_most_and_the_more_urgent_stays() {
        let mut waiting = Waiting::default();
        waiting.offer(prompt(1, Cue::Accepted));
        waiting.offer(prompt(2, Cue::Attention));
        waiting.offer(prompt(3, Cue::Next));
        assert_eq!(waiting.take(true), None, "quiet in a pull");
        assert_eq!(number(waiting.take(false)), Some(2));
        assert_eq!(waiting.take(false), None);
        waiting.offer(prompt(4, Cue::Accepted));
        waiting.offer(prompt(5, Cue::Accepted));
        waiting.offer(prompt(6, Cue::Over));
        assert_eq!(number(waiting.take(true)), Some(6));
    }

    #[test]
    fn more_is_said_to_a_hand_that_rests_and_once() {
        let mut waiting = Waiting::default();
        waiting.offer(prompt(1, Cue::More));
        assert_eq!(waiting.take(true), None, "that pull itself is still felt");
        assert_eq!(waiting.take(false), None, "the hand may swing again");
        assert_eq!(waiting.take(true), None);
        waiting.rested();
        assert_eq!(waiting.take(false), None, "who has gone on is not told");
        waiting.offer(prompt(2, Cue::More));
        waiting.rested();
        assert_eq!(number(waiting.take(false)), Some(2));
        waiting.offer(prompt(3, Cue::More));
        waiting.rested();
        assert_eq!(waiting.take(false), None, "it is said once");
        waiting.offer(prompt(4, Cue::Accepted));
        assert_eq!(number(waiting.take(false)), Some(4));
        waiting.offer(prompt(5, Cue::More));
        waiting.offer(prompt(6, Cue::Accepted));
        assert_eq!(number(waiting.take(false)), Some(6), "it came to be enough");
        waiting.offer(prompt(7, Cue::More));
        waiting.rested();
        assert_eq!(number(waiting.take(false)), Some(7), "of another tightening it is said again");
    }
}

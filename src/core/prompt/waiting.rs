//! What waits to be said: one prompt at most.

use crate::core::prompt::{Cue, Prompt};

/// The prompt that waits.
#[derive(Debug, Clone, Default)]
pub struct Waiting(Option<Prompt>);

impl Waiting {
    /// Takes in what is to be said: the more urgent stays, and of two alike the newer.
    pub fn offer(&mut self, prompt: Prompt) {
        if self.0.as_ref().is_none_or(|waiting| waiting.cue <= prompt.cue) {
            self.0 = Some(prompt);
        }
    }

    /// What is to be said now; while a pull is on only what cuts in.
    pub fn take(&mut self, is_pulling: bool) -> Option<Prompt> {
        self.0.take_if(|waiting| !is_pulling || waiting.cue.cuts_in())
    }

    /// True if something that waits may not wait for the end of another.
    #[must_use]
    pub fn is_over(&self) -> bool {
        self.0.as_ref().is_some_and(|waiting| waiting.cue == Cue::Over)
    }
}

#[cfg(test)]
mod tests {
    use super::Waiting;
    use crate::core::prompt::{Cue, Prompt, Words};
    use crate::core::time::Stamp;

    fn prompt(number: u64, cue: Cue) -> Prompt {
        Prompt { number, at: Stamp(0), cue, words: Words::default(), whole: None }
    }

    #[test]
    fn one_waits_at_most_and_the_more_urgent_stays() {
        let mut waiting = Waiting::default();
        waiting.offer(prompt(1, Cue::Accepted));
        waiting.offer(prompt(2, Cue::Attention));
        waiting.offer(prompt(3, Cue::Next));
        assert_eq!(waiting.take(true), None, "quiet in a pull");
        assert_eq!(waiting.take(false).map(|one| one.number), Some(2));
        assert_eq!(waiting.take(false), None);
        waiting.offer(prompt(4, Cue::Accepted));
        waiting.offer(prompt(5, Cue::Accepted));
        waiting.offer(prompt(6, Cue::Over));
        assert!(waiting.is_over());
        assert_eq!(waiting.take(true).map(|one| one.number), Some(6));
    }
}

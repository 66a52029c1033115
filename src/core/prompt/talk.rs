//! How much is spoken. Every rhythm sounds all the same, and everything is written.

use crate::core::prompt::{Cue, Prompt, Words};
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// How much is spoken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Talk {
    /// What every pull came to, what needs somebody, and what is next.
    #[default]
    Everything,
    /// Not what is next.
    Values,
    /// Only what needs somebody.
    Alarms,
}

/// How much is to be spoken is not understood.
#[derive(Debug, Error)]
#[error("expected everything, values or alarms, but found `{0}`")]
pub struct UnknownTalk(String);

impl Talk {
    /// Every choice, and its name.
    const ALL: [(Self, &str); 3] =
        [(Self::Everything, "everything"), (Self::Values, "values"), (Self::Alarms, "alarms")];

    /// What is spoken of a prompt, if anything.
    #[must_use]
    pub fn of(self, prompt: &Prompt) -> Option<&Words> {
        match (self, prompt.cue) {
            (_, Cue::Attention | Cue::Over) | (Self::Everything, _) => Some(&prompt.words),
            (Self::Alarms, _) | (Self::Values, Cue::Next) => None,
            (Self::Values, Cue::Accepted | Cue::More | Cue::Reached) => {
                Some(prompt.of_pull.as_ref().unwrap_or(&prompt.words))
            }
        }
    }
}

impl fmt::Display for Talk {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = Self::ALL.iter().find(|(one, _)| one == self).map_or("", |(_, name)| name);
        f.write_str(name)
    }
}

impl FromStr for Talk {
    type Err = UnknownTalk;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let found = Self::ALL.iter().find(|(_, name)| *name == text).map(|(one, _)| *one);
        found.ok_or_else(|| UnknownTalk(text.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::Talk;
    use crate::core::prompt::{Cue, Prompt, Said, Words};
    use crate::core::time::Stamp;

    fn words(text: &str) -> Words {
        Words { en: text.to_owned(), ..Words::default() }
    }

    #[test]
    fn alarms_are_always_spoken_and_values_without_what_is_next() {
        let cases = [
            (Cue::Next, Some("all"), None, None),
            (Cue::Accepted, Some("all"), Some("pull"), None),
            (Cue::More, Some("all"), Some("pull"), None),
            (Cue::Reached, Some("all"), Some("pull"), None),
            (Cue::Attention, Some("all"), Some("all"), Some("all")),
            (Cue::Over, Some("all"), Some("all"), Some("all")),
        ];
        for (cue, everything, values, alarms) in cases {
            let said = Said { of_pull: Some(words("pull")), ..Said::new(cue, words("all")) };
            let prompt = Prompt::new(1, Stamp(0), said);
            for (name, expected) in
                [("everything", everything), ("values", values), ("alarms", alarms)]
            {
                let talk: Talk = name.parse().unwrap();
                assert_eq!(talk.to_string(), name);
                let said = talk.of(&prompt).map(|words| words.en.as_str());
                assert_eq!(said, expected, "{cue:?} {name}");
            }
        }
        let told = "loud".parse::<Talk>().unwrap_err().to_string();
        assert_eq!(told, "expected everything, values or alarms, but found `loud`");
    }
}

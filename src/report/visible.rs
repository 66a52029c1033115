//! Words from outside, made fit to be shown: what cannot be seen, or would reorder or act, becomes its
//! code point.

/// Invisible and reordering characters as their code points; line ends and tabs stay.
#[must_use]
pub fn visible(text: &str) -> String {
    shown(text, |character| matches!(character, '\n' | '\t').then_some(character))
}

/// The same on one line: line ends and tabs become spaces.
#[must_use]
pub fn one_line(text: &str) -> String {
    shown(text, |character| matches!(character, '\n' | '\t' | '\r').then_some(' '))
}

fn shown(text: &str, layout: impl Fn(char) -> Option<char>) -> String {
    let mut shown = String::with_capacity(text.len());
    for character in text.chars() {
        match layout(character) {
            Some(kept) => shown.push(kept),
            None if character.is_control() || reorders_or_hides(character) => {
                shown.push_str(&format!("⟨U+{:04X}⟩", u32::from(character)));
            }
            None => shown.push(character),
        }
    }
    shown
}

/// Unicode bidirectional controls (UAX #9), zero-width characters, line and paragraph separators, tags.
fn reorders_or_hides(character: char) -> bool {
    matches!(
        character,
        '\u{061C}' | '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}'
            | '\u{FEFF}' | '\u{FFF9}'..='\u{FFFB}' | '\u{E0000}'..='\u{E007F}'
    )
}

//! Which letters can be set. What no font at hand has becomes its code point, as in the other formats what
//! cannot be seen: a document that is to be kept may hold no letter without a shape.

use std::sync::LazyLock;
use typst::foundations::Bytes;
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use unicode_segmentation::UnicodeSegmentation;

/// The families in use: text; headings; codes, and signs that the others have not.
const FAMILIES: [&str; 2] = ["Libertinus Serif", "DejaVu Sans Mono"];

/// The fonts, and what is known of them.
pub(super) struct Fonts {
    pub(super) fonts: Vec<Font>,
    pub(super) book: LazyHash<FontBook>,
}

pub(super) static FONTS: LazyLock<Fonts> = LazyLock::new(|| {
    let text = [notosans::REGULAR_TTF, notosans::BOLD_TTF, notosans::ITALIC_TTF];
    let text = text.into_iter().filter_map(|font| Font::new(Bytes::new(font), 0));
    let others = typst_assets::fonts().filter_map(|font| Font::new(Bytes::new(font), 0));
    let others = others.filter(|font| FAMILIES.contains(&font.info().family.as_str()));
    let fonts: Vec<Font> = text.chain(others).collect();
    let book = LazyHash::new(FontBook::from_fonts(&fonts));
    Fonts { fonts, book }
});

/// The text with every sign that no font has whole as its code points.
pub(super) fn shown(text: &str) -> String {
    if text.is_ascii() {
        return text.to_owned();
    }
    let mut shown = String::with_capacity(text.len());
    for sign in text.graphemes(true) {
        if sign.is_ascii() || FONTS.fonts.iter().any(|font| has(font, sign)) {
            shown.push_str(sign);
        } else {
            sign.chars()
                .for_each(|letter| shown.push_str(&format!("⟨U+{:04X}⟩", u32::from(letter))));
        }
    }
    shown
}

fn has(font: &Font, sign: &str) -> bool {
    sign.chars().all(|letter| font.info().coverage.contains(u32::from(letter)))
}

#[cfg(test)]
mod tests {
    use super::{FONTS, shown};

    #[test]
    fn what_no_font_has_is_its_code_point() {
        for (text, expected) in [
            ("Radnabe ±5 % – ✓ ▽ ▲ △ ◇ ↻ ○ ⟨⟩ …", "Radnabe ±5 % – ✓ ▽ ▲ △ ◇ ↻ ○ ⟨⟩ …"),
            ("Ж ή é e\u{301} ñ ß", "Ж ή é e\u{301} ñ ß"),
            ("輪 🛞", "⟨U+8F2A⟩ ⟨U+1F6DE⟩"),
            ("輪\u{301}", "⟨U+8F2A⟩⟨U+0301⟩"),
        ] {
            assert_eq!(shown(text), expected);
        }
    }

    #[test]
    fn every_font_that_is_asked_for_is_there() {
        let families = FONTS.fonts.iter().map(|font| font.info().family.as_str());
        let mut families: Vec<&str> = families.collect();
        families.dedup();
        assert_eq!(families, ["Noto Sans", "Libertinus Serif", "DejaVu Sans Mono"]);
    }
}

//! The HTML page as a tree of plain data: elements, words, drawings.

use super::letters;
use scraper::node::Element;
use scraper::{ElementRef, Html, Node};
use serde::Serialize;

/// The look of drawings, whose colours a page has from its own style.
const LOOK: &str = include_str!("drawings.css");
/// Longest word that is not cut; columns are hardly narrower.
const LONGEST: usize = 20;
/// The same for codes, which stand by themselves.
const LONGEST_CODE: usize = 64;
/// Most letters of a label: a string of PDF/A has at most 32 767 octets, two or four a letter.
const LABEL: usize = 5000;
/// Where a word may be cut.
const CUT: char = '\u{200B}';
/// Text in brackets of these runs in a direction of its own (UAX #9).
const ISOLATE: (char, char) = ('\u{2068}', '\u{2069}');

/// A part of the page.
#[derive(Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub(super) enum Piece {
    /// Words without spaces at their ends; or one space.
    Text(String),
    Drawing {
        svg: String,
        class: Vec<String>,
        /// What it shows; null where a word beside it says so.
        label: Option<String>,
        /// Pixels; 0 where the page gives none.
        width: f64,
    },
    Element {
        tag: String,
        class: Vec<String>,
        /// Columns of a table that it takes.
        span: usize,
        kids: Vec<Piece>,
    },
}

/// What stands in the body of a page.
pub(super) fn of(page: &str) -> Vec<Piece> {
    let page = Html::parse_document(page);
    let body =
        page.root_element().child_elements().find(|element| element.value().name() == "body");
    body.map(|body| inside(body, false)).unwrap_or_default()
}

fn inside(element: ElementRef<'_>, code: bool) -> Vec<Piece> {
    let mut pieces = Vec::new();
    for child in element.children() {
        match child.value() {
            Node::Text(text) => words(text, code, &mut pieces),
            Node::Element(_) => {
                pieces.extend(ElementRef::wrap(child).map(|child| piece(child, code)));
            }
            _ => {}
        }
    }
    if element.value().name() == "bdi" && pieces.iter().any(turns) {
        pieces.insert(0, Piece::Text(ISOLATE.0.to_string()));
        pieces.push(Piece::Text(ISOLATE.1.to_string()));
    }
    pieces
}

fn piece(element: ElementRef<'_>, code: bool) -> Piece {
    let value = element.value();
    let tag = value.name();
    let class: Vec<String> = value.classes().map(str::to_owned).collect();
    if tag == "svg" {
        return drawing(element, class);
    }
    let span = value.attr("colspan").and_then(|span| span.parse().ok()).unwrap_or(1);
    Piece::Element {
        tag: tag.to_owned(),
        class,
        span,
        kids: inside(element, code || tag == "code"),
    }
}

fn drawing(element: ElementRef<'_>, class: Vec<String>) -> Piece {
    let value = element.value();
    // A trace is labelled by the figure that it stands in.
    let figure = element.parent().and_then(ElementRef::wrap).map(|parent| parent.value());
    let named = |element: &Element| element.attr("aria-label").map(letters::shown);
    let label = named(value).or_else(|| figure.and_then(named)).map(shortened);
    let width = value.attr("width").and_then(|width| width.parse().ok()).unwrap_or_default();
    // What is written is HTML; XML knows fewer names of letters, and asks whose elements these are.
    let svg = element.html().replace("&nbsp;", "\u{A0}");
    let open = svg.find('>').map_or(svg.len(), |end| end + 1);
    let (head, rest) = svg.split_at(open);
    let space = if head.contains("xmlns=") { "" } else { " xmlns=\"http://www.w3.org/2000/svg\"" };
    let head = head.replacen("<svg", &format!("<svg{space}"), 1);
    // A page works the height out from the shape; here the shape alone says both.
    let head = match (value.attr("width"), value.attr("height")) {
        (Some(width), None) => head.replacen(&format!(" width=\"{width}\""), "", 1),
        _ => head,
    };
    Piece::Drawing { svg: format!("{head}<style>{LOOK}</style>{rest}"), class, label, width }
}

fn shortened(label: String) -> String {
    match label.char_indices().nth(LABEL) {
        Some((end, _)) => format!("{}…", &label[..end]),
        None => label,
    }
}

/// Words with single spaces between them, as a page shows them; long ones can be cut.
fn words(text: &str, code: bool, pieces: &mut Vec<Piece>) {
    let longest = if code { LONGEST_CODE } else { LONGEST };
    let words: Vec<String> =
        text.split_ascii_whitespace().map(|word| cut(&letters::shown(word), longest)).collect();
    let edge = |at: Option<char>| at.is_some_and(|letter| letter.is_ascii_whitespace());
    let space = || Piece::Text(" ".to_owned());
    if edge(text.chars().next()) {
        pieces.push(space());
    }
    if !words.is_empty() {
        let unit =
            |text: String, unit: &str| text.replace(&format!(" {unit}"), &format!("\u{A0}{unit}"));
        pieces.push(Piece::Text(["%", "N·m"].into_iter().fold(words.join(" "), unit)));
        if edge(text.chars().next_back()) {
            pieces.push(space());
        }
    }
}

fn cut(word: &str, longest: usize) -> String {
    if word.chars().count() <= longest {
        return word.to_owned();
    }
    let mut whole = String::with_capacity(2 * word.len());
    for (place, letter) in word.chars().enumerate() {
        if place > 0 && place % 4 == 0 {
            whole.push(CUT);
        }
        whole.push(letter);
    }
    whole
}

/// Text that may run from right to left.
fn turns(piece: &Piece) -> bool {
    let Piece::Text(text) = piece else { return false };
    text.chars().any(|letter| {
        matches!(u32::from(letter), 0x0590..=0x08FF | 0xFB1D..=0xFDFF | 0xFE70..=0xFEFF | 0x10800..=0x10FFF | 0x1E800..=0x1EFFF)
    })
}

#[cfg(test)]
mod tests {
    use super::{Piece, of};

    fn text(text: &str) -> Piece {
        Piece::Text(text.to_owned())
    }

    fn element(tag: &str, class: &[&str], span: usize, kids: Vec<Piece>) -> Piece {
        let class = class.iter().map(|class| (*class).to_owned()).collect();
        Piece::Element { tag: tag.to_owned(), class, span, kids }
    }

    #[test]
    fn elements_words_and_spaces_are_kept() {
        let page = "<body><p class=\"a b\">one <em>two</em>\n three</p><table><tr><td colspan=\"6\">\
                    &lt;script&gt;</td></tr></table></body>";
        let cell = element("td", &[], 6, vec![text("<script>")]);
        let row = element("tr", &[], 1, vec![cell]);
        let expected = vec![
            element(
                "p",
                &["a", "b"],
                1,
                vec![
                    text("one"),
                    text(" "),
                    element("em", &[], 1, vec![text("two")]),
                    text(" "),
                    text("three"),
                ],
            ),
            element("table", &[], 1, vec![element("tbody", &[], 1, vec![row])]),
        ];
        assert_eq!(of(page), expected);
    }

    #[test]
    fn long_words_can_be_cut_and_what_runs_the_other_way_stands_alone() {
        let page = format!("<bdi>{}</bdi><bdi>שלום</bdi>", "x".repeat(21));
        let cut = "xxxx\u{200B}xxxx\u{200B}xxxx\u{200B}xxxx\u{200B}xxxx\u{200B}x";
        let other = ["\u{2068}", "שלום", "\u{2069}"].map(text).into();
        let expected = [element("bdi", &[], 1, vec![text(cut)]), element("bdi", &[], 1, other)];
        assert_eq!(of(&page), expected);
    }

    #[test]
    fn a_drawing_brings_its_look_and_its_label() {
        let page = "<figure aria-label=\"A trace\"><svg viewBox=\"0 0 9 9\" width=\"560\">\
                    <text>50&nbsp;%</text></svg></figure>";
        let [Piece::Element { kids, .. }] = <[Piece; 1]>::try_from(of(page)).unwrap() else {
            panic!("no figure")
        };
        let [Piece::Drawing { svg, label, width, .. }] = <[Piece; 1]>::try_from(kids).unwrap()
        else {
            panic!("no drawing")
        };
        assert!(
            svg.starts_with(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 9 9\"><style>"
            ),
            "{svg}"
        );
        assert!(svg.contains("50\u{A0}%"), "{svg}");
        assert_eq!((label.as_deref(), width), (Some("A trace"), 560.0));
    }
}

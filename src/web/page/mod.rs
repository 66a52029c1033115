//! The live page: files that are part of the program, and the words that it shows.
//!
//! Guarantees: a browser is told to fetch nothing from elsewhere and to run nothing that is not a file of
//! ours. What stands at the threshold is for those who are not let in yet, and tells nothing.

use crate::core::language::Language;
use crate::core::prompt::{Cue, REST_S, Rhythm, page_words};
use crate::web::problem::Problem;
use crate::web::request::Named;
use axum::Json;
use axum::http::{HeaderName, StatusCode, header};
use axum::response::{IntoResponse, Response};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// Where a screen is let in.
pub(super) const THRESHOLD: &str = "/enter";

/// What a browser may do with the page.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; \
     base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

const HTML: &str = "text/html; charset=utf-8";
const SCRIPT: &str = "text/javascript; charset=utf-8";
const STYLE: &str = "text/css; charset=utf-8";
const DRAWING: &str = "image/svg+xml";

/// A file of the page.
struct Part {
    name: &'static str,
    kind: &'static str,
    text: &'static str,
    /// It is there for those who are not let in yet.
    open: bool,
}

macro_rules! part {
    ($name:literal, $kind:expr) => {
        part!($name, $kind, false)
    };
    ($name:literal, $kind:expr, $open:literal) => {
        Part { name: $name, kind: $kind, text: include_str!($name), open: $open }
    };
}

const PARTS: &[Part] = &[
    part!("acts.js", SCRIPT),
    part!("draw.js", SCRIPT),
    part!("enter.js", SCRIPT, true),
    part!("fit.js", SCRIPT),
    part!("icon.svg", DRAWING, true),
    part!("job.js", SCRIPT),
    part!("keypad.js", SCRIPT),
    part!("keys.js", SCRIPT),
    part!("link.js", SCRIPT),
    part!("look.css", STYLE, true),
    part!("main.js", SCRIPT),
    part!("menu.js", SCRIPT),
    part!("now.js", SCRIPT),
    part!("photo.js", SCRIPT),
    part!("settings.js", SCRIPT, true),
    part!("sound.js", SCRIPT),
    part!("stage.js", SCRIPT),
    part!("words.js", SCRIPT, true),
];

/// The file of the page that is made: what cues sound like, from the core's own table.
const CUES: &str = "cues.js";

static CUES_TEXT: LazyLock<String> = LazyLock::new(|| {
    let cues: BTreeMap<Cue, Rhythm> =
        Cue::ALL.iter().filter_map(|cue| Some((*cue, cue.rhythm()?))).collect();
    let cues = serde_json::to_string(&cues).expect("plain figures under names; this is a bug");
    format!("export const CUES = {cues};\nexport const REST_S = {REST_S};\n")
});

/// True if `path` is for those who are not let in yet.
pub(super) fn is_threshold(path: &str) -> bool {
    path == THRESHOLD
        || path.starts_with("/page/words/")
        || path
            .strip_prefix("/page/")
            .is_some_and(|name| PARTS.iter().any(|part| part.open && part.name == name))
}

/// The live page.
#[utoipa::path(get, path = "/", operation_id = "page", tag = "page",
    responses((status = 200, description = "The live page", content_type = "text/html", body = String)))]
pub(super) async fn page() -> Response {
    file(HTML, include_str!("index.html"))
}

/// Where a screen is let in: it sends the key that stands behind the `#` of its address.
#[utoipa::path(get, path = "/enter", operation_id = "threshold", tag = "page", security(()),
    responses((status = 200, description = "The threshold", content_type = "text/html", body = String)))]
pub(super) async fn threshold() -> Response {
    file(HTML, include_str!("enter.html"))
}

/// What somebody sees who is not let in.
pub(super) fn shut() -> Response {
    let challenge = [(header::WWW_AUTHENTICATE, "Bearer")];
    (StatusCode::UNAUTHORIZED, challenge, file(HTML, include_str!("enter.html"))).into_response()
}

/// A file of the page.
#[utoipa::path(get, path = "/page/{part}", operation_id = "page-part", tag = "page",
    params(("part" = String, Path, description = "Its name", min_length = 1, example = "main.js")),
    responses(
        (status = 200, description = "A file of the page", content_type = "text/javascript", body = String),
        (status = 404, description = "No such file")
    ))]
pub(super) async fn part(Named(name): Named<String>) -> Result<Response, Problem> {
    if name == CUES {
        return Ok(file(SCRIPT, &CUES_TEXT));
    }
    let part = PARTS.iter().find(|part| part.name == name);
    let part = part.ok_or_else(|| Problem::not_found("the page has no file of that name"))?;
    Ok(file(part.kind, part.text))
}

/// The words of the page: name to text.
#[utoipa::path(get, path = "/page/words/{language}", operation_id = "page-words", tag = "page", security(()),
    params(("language" = String, Path, description = "`en`, `de`, `es` or `fr`", min_length = 1, example = "en")),
    responses(
        (status = 200, description = "The words", body = BTreeMap<String, String>),
        (status = 404, description = "The page does not speak it")
    ))]
pub(super) async fn words(
    Named(language): Named<String>,
) -> Result<Json<BTreeMap<&'static str, String>>, Problem> {
    let known = language.parse::<Language>();
    let language = known.map_err(|error| Problem::not_found(error.to_string()))?;
    Ok(Json(page_words(language)))
}

fn file(kind: &'static str, text: &'static str) -> Response {
    let headers: [(HeaderName, &str); 6] = [
        (header::CONTENT_TYPE, kind),
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        // A page of another version must not meet this daemon.
        (header::CACHE_CONTROL, "no-cache"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ];
    (headers, text).into_response()
}

#[cfg(test)]
mod tests {
    use crate::core::language::Language;
    use crate::core::prompt::page_words;
    use crate::web::page::{CUES, CUES_TEXT, PARTS, is_threshold};

    /// What the text names between quotes behind `before`.
    fn named<'t>(text: &'t str, before: &str) -> Vec<&'t str> {
        text.split(before).skip(1).filter_map(|rest| rest.split('"').next()).collect()
    }

    #[test]
    fn whatever_the_page_names_is_one_of_its_files() {
        let known = |name: &str| name == CUES || PARTS.iter().any(|part| part.name == name);
        for part in PARTS {
            for name in named(part.text, "from \"./") {
                assert!(known(name), "{} names {name}", part.name);
            }
        }
        for html in [include_str!("index.html"), include_str!("enter.html")] {
            for name in named(html, "=\"/page/") {
                assert!(known(name), "{name}");
            }
        }
        let threshold = [
            named(include_str!("enter.html"), "=\"/page/"),
            named(include_str!("enter.js"), "from \"./"),
            named(include_str!("settings.js"), "from \"./"),
            named(include_str!("words.js"), "from \"./"),
            vec!["words/de"],
        ];
        for name in threshold.concat() {
            assert!(is_threshold(&format!("/page/{name}")), "{name} is needed by who is not in");
        }
    }

    #[test]
    fn the_page_is_given_the_rhythms_that_the_speaker_plays() {
        let over = "\"over\":{\"loudness\":1.0,\"tones\":[{\"start_s\":0.0,\"length_s\":0.25,\"hertz\":800.0}";
        assert!(CUES_TEXT.starts_with("export const CUES = {\"accepted\""), "{}", *CUES_TEXT);
        assert!(CUES_TEXT.contains(over), "{}", *CUES_TEXT);
        assert!(CUES_TEXT.ends_with("};\nexport const REST_S = 1.5;\n"), "{}", *CUES_TEXT);
    }

    #[test]
    fn every_word_that_the_page_shows_is_in_the_table() {
        let known = page_words(Language::English);
        for part in PARTS {
            for before in ["word(\"", "button(\"", "chooser(\"", "ask(\""] {
                for name in named(part.text, before) {
                    assert!(known.contains_key(name), "{} shows {name}", part.name);
                }
            }
        }
        for name in named(include_str!("enter.html"), "data-word=\"") {
            assert!(known.contains_key(name), "the threshold shows {name}");
        }
        for name in ["suspect", "next", "waits", "round", "shown", "counted", "stated", "reached"] {
            assert!(known.contains_key(name), "{name}");
        }
    }

    #[test]
    fn no_file_of_the_page_names_another_place() {
        for part in PARTS {
            // The names of drawing and markup are no addresses.
            let text = part.text.replace("http://www.w3.org/", "");
            assert!(!text.contains("http://") && !text.contains("https://"), "{}", part.name);
        }
    }
}

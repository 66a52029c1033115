//! The walls between folders: who may name whom, and which crate is named where.

use std::fs;
use std::path::{Path, PathBuf};

/// Which of our folders may name which others.
const EDGES: &[(&str, &[&str])] = &[
    ("core", &[]),
    ("adapter", &["core"]),
    ("journal", &["core"]),
    ("report", &["core"]),
    ("web", &["core", "report", "journal::query"]),
    ("daemon", &["core", "adapter", "journal", "report", "web"]),
    ("cli", &["core", "adapter", "journal", "report", "web", "daemon"]),
    ("main.rs", &["cli"]),
    ("lib.rs", &[]),
];

/// Text that may stand in one place only.
const HOMES: &[(&str, &str)] = &[
    ("btleplug::", "src/adapter/"),
    ("bluez_async::", "src/adapter/"),
    ("zbus::", "src/adapter/ble/system/"),
    ("clampbook_protocol::", "src/adapter/"),
    ("rusqlite::", "src/journal/"),
    ("rusqlite_migration::", "src/journal/"),
    ("axum::", "src/web/"),
    ("utoipa::", "src/web/ src/core/ src/report/"),
    ("schemars::", "src/core/"),
    ("csv::", "src/core/plan/import/ src/report/table.rs"),
    ("maud::", "src/report/"),
    ("ed25519_dalek::", "src/report/seal.rs"),
    ("canon_json::", "src/report/seal.rs"),
    ("icalendar::", "src/cli/verb/recheck/calendar.rs"),
    ("chrono::", "src/cli/verb/recheck/calendar.rs"),
    ("plotters::", "src/report/plot.rs"),
    ("clap::", "src/cli/"),
    ("clap_complete::", "src/cli/"),
    ("clap_mangen::", "src/cli/verb/help.rs"),
    ("ureq::", "src/cli/"),
    ("indicatif::", "src/cli/progress.rs"),
    ("qrcode::", "src/cli/qr.rs src/report/pdf/mod.rs"),
    ("typst::", "src/report/pdf/"),
    ("typst_pdf::", "src/report/pdf/"),
    ("scraper::", "src/report/pdf/tree.rs"),
    ("fearless_simd::", "src/core/signal/"),
    ("fluent_bundle::", "src/core/language.rs"),
    ("unic_langid::", "src/core/language.rs"),
    ("stdout()", "src/cli/printer.rs"),
    ("stderr()", "src/cli/printer.rs src/cli/progress.rs"),
    ("io::stderr", "src/cli/printer.rs"),
    ("io::stdout", "src/cli/printer.rs"),
    ("::now()", "src/daemon/clock.rs"),
    ("SystemTime", "src/daemon/clock.rs"),
    ("ExitCode", "src/main.rs src/cli/"),
];

/// What the pure core must not name.
const IMPURE: &[&str] = &[
    "std::fs",
    "std::io",
    "std::net",
    "std::thread",
    "std::env",
    "tokio::",
    "tracing::",
    "async fn",
    "rand::",
];

/// What nobody may write.
const FORBIDDEN: &[&str] = &[
    "println!",
    "eprintln!",
    "print!(",
    "dbg!(",
    "todo!(",
    "unimplemented!(",
    "process::exit",
    "unsafe {",
    "use super::*",
];

struct Source {
    path: String,
    text: String,
}

#[test]
fn every_source_file_keeps_to_the_allowed_edges() {
    let sources = sources(&root().join("src"));
    assert!(sources.len() > 5, "the sources are read: {}", sources.len());
    assert_eq!(faults(&sources), Vec::<String>::new());
}

#[test]
fn an_edge_broken_on_purpose_is_named() {
    check(
        "src/core/tracker.rs",
        "use crate::journal::Journal;\n",
        &["src/core/tracker.rs: core may not name journal"],
    );
    check(
        "src/web/routes.rs",
        "fn a() { crate::journal::writer::append() }\n",
        &["src/web/routes.rs: web may not name journal::writer"],
    );
    check(
        "src/web/routes.rs",
        "use crate::journal::query;\nuse crate::daemon::engine::Engine;\n",
        &["src/web/routes.rs: web may not name daemon"],
    );
    check(
        "src/report/mod.rs",
        "use super::adapter::Source;\n",
        &["src/report/mod.rs: report may not name adapter"],
    );
    check(
        "src/journal/rows.rs",
        "use crate::{core::event, report::html};\n",
        &["src/journal/rows.rs: one path a use, so that edges can be seen"],
    );
    check(
        "src/daemon/mod.rs",
        "use crate::cli::args;\n",
        &["src/daemon/mod.rs: daemon may not name cli"],
    );
}

#[test]
fn a_crate_named_outside_its_home_is_named() {
    check(
        "src/daemon/engine.rs",
        "use rusqlite::Connection;\nuse std::time::Instant;\nfn t() { Instant::now(); }\n",
        &[
            "src/daemon/engine.rs: rusqlite:: belongs in src/journal/",
            "src/daemon/engine.rs: ::now() belongs in src/daemon/clock.rs",
        ],
    );
    check(
        "src/core/signal.rs",
        "use tokio::time;\nfn s() { println!(\"x\") }\n",
        &[
            "src/core/signal.rs: the core does without tokio::",
            "src/core/signal.rs: nobody writes println!",
        ],
    );
}

#[test]
fn comments_texts_and_unit_tests_do_not_count() {
    check(
        "src/core/a.rs",
        "//! see crate::journal and rusqlite::Connection\nconst A: &str = \"println!\";\n\
         #[cfg(test)]\nmod tests {\n    use super::*;\n    use crate::journal::Journal;\n}\n",
        &[],
    );
}

#[test]
fn the_wire_crate_and_the_reference_adapter_name_nothing_of_the_program() {
    for source in sources(&root().join("firmware-protocol")) {
        assert!(!source.text.contains("clampbook::"), "{} names the program", source.path);
    }
}

#[test]
fn documents_and_samples_name_no_path_of_this_machine() {
    let mut files = vec![root().join("README.md"), root().join("DEVELOPERS.md")];
    collect(&root().join("samples"), &mut files);
    files.push(root().join("firmware-protocol/SPEC.md"));
    collect(&root().join("firmware-protocol/vectors"), &mut files);
    let marks = [format!("{}/", root().display()), "/home/".to_owned(), "/Users/".to_owned()];
    for file in files {
        let text = fs::read_to_string(&file).unwrap();
        for mark in &marks {
            let named = text.contains(mark.as_str());
            assert!(!named, "{} names {mark}, a path of one machine", file.display());
        }
    }
}

#[track_caller]
fn check(path: &str, text: &str, expected: &[&str]) {
    let source = Source { path: path.to_owned(), text: code_of(text) };
    assert_eq!(faults(&[source]), expected);
}

/// Every wall that is broken, in order of file and rule.
fn faults(sources: &[Source]) -> Vec<String> {
    let mut found = Vec::new();
    for Source { path, text } in sources {
        // Asking the one clock is what everybody else is meant to do.
        let text = &text.replace("clock::now()", "");
        let folder =
            path.strip_prefix("src/").and_then(|rest| rest.split('/').next()).unwrap_or_default();
        match EDGES.iter().find(|(name, _)| *name == folder) {
            Some((_, allowed)) => {
                for named in references(path, folder, text) {
                    if !allowed.iter().any(|edge| permits(edge, &named)) {
                        let shown = if allowed
                            .iter()
                            .any(|edge| edge.starts_with(&format!("{}::", named[0])))
                        {
                            named.join("::")
                        } else {
                            named[0].clone()
                        };
                        found.push(format!("{path}: {folder} may not name {shown}"));
                    }
                }
            }
            None => found.push(format!("{path}: {folder} has no row in the table of edges")),
        }
        if text.contains("crate::{") {
            found.push(format!("{path}: one path a use, so that edges can be seen"));
        }
        for (name, homes) in HOMES {
            let at_home = homes.split(' ').any(|home| path.starts_with(home));
            if !at_home && names(text, name) {
                found.push(format!("{path}: {name} belongs in {homes}"));
            }
        }
        if folder == "core" {
            for name in IMPURE.iter().filter(|name| names(text, name)) {
                found.push(format!("{path}: the core does without {name}"));
            }
        }
        for name in FORBIDDEN.iter().filter(|name| names(text, name)) {
            found.push(format!("{path}: nobody writes {name}"));
        }
    }
    found.dedup();
    found
}

fn permits(edge: &str, named: &[String]) -> bool {
    edge.split("::").zip(named).all(|(a, b)| a == b) && edge.split("::").count() <= named.len()
}

/// The folders of ours (and the module in them) that the code of `path` names, other than its own.
fn references(path: &str, folder: &str, text: &str) -> Vec<Vec<String>> {
    let mut found = Vec::new();
    let top = path.trim_start_matches("src/");
    for root in ["crate::", "clampbook::"] {
        for (at, _) in text.match_indices(root) {
            if starts_word(text, at) && !text[at..].starts_with("crate::{") {
                found.push(segments(&text[at + root.len()..]));
            }
        }
    }
    // A module's own depth below the crate's root: that many `super::` reach the root.
    let mut depth = top.split('/').count();
    if top.ends_with("/mod.rs") || top == "lib.rs" || top == "main.rs" {
        depth -= 1;
    }
    let climb = "super::".repeat(depth.max(1));
    for (at, _) in text.match_indices(&climb) {
        if starts_word(text, at) && depth > 0 {
            found.push(segments(&text[at + climb.len()..]));
        }
    }
    found.retain(|named| !named.is_empty() && named[0] != folder && known(&named[0]));
    found.sort();
    found.dedup();
    found
}

fn known(name: &str) -> bool {
    EDGES.iter().any(|(folder, _)| *folder == name)
}

fn segments(rest: &str) -> Vec<String> {
    let end =
        rest.find(|c: char| !(c.is_alphanumeric() || c == '_' || c == ':')).unwrap_or(rest.len());
    rest[..end].split("::").filter(|part| !part.is_empty()).take(2).map(str::to_owned).collect()
}

fn names(text: &str, name: &str) -> bool {
    text.match_indices(name)
        .any(|(at, _)| !name.starts_with(char::is_alphabetic) || starts_word(text, at))
}

fn starts_word(text: &str, at: usize) -> bool {
    !text[..at].chars().next_back().is_some_and(|c| c.is_alphanumeric() || c == '_')
}

/// The code without comments, texts and its unit tests.
fn code_of(text: &str) -> String {
    let text = text.split("#[cfg(test)]\nmod ").next().unwrap_or_default();
    let mut code = String::with_capacity(text.len());
    for line in text.lines() {
        let mut in_text = false;
        let mut previous = ' ';
        let mut characters = line.chars().peekable();
        while let Some(c) = characters.next() {
            if !in_text && c == '/' && characters.peek() == Some(&'/') {
                break;
            }
            if c == '"' && previous != '\\' && previous != '\'' {
                in_text = !in_text;
            } else if !in_text {
                code.push(c);
            }
            previous = c;
        }
        code.push('\n');
    }
    code
}

fn sources(folder: &Path) -> Vec<Source> {
    let mut files = Vec::new();
    collect(folder, &mut files);
    files
        .into_iter()
        .filter(|path| path.extension().is_some_and(|ext| ext == "rs"))
        .map(|path| Source {
            path: path.strip_prefix(root()).unwrap().to_string_lossy().replace('\\', "/"),
            text: code_of(&fs::read_to_string(&path).unwrap()),
        })
        .collect()
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    let mut entries: Vec<_> = entries.map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            if !path.ends_with("target") {
                collect(&path, files);
            }
        } else {
            files.push(path);
        }
    }
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

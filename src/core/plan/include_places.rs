//! Which file and line a line of a text came from that was put together of several.

use std::collections::HashMap;
use toml_edit::{Document, Key, TableLike};

/// Where the lines of a text came from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Places {
    /// Lines of the text with the file they came from and their line there, in rising order.
    known: Vec<(usize, Option<String>, usize)>,
}

impl Places {
    /// `sources` are the files, the plan's own first; `origins` says which of them brought a key, by its path.
    /// What is not in it is the plan's own.
    pub(super) fn new(
        text: &str,
        sources: &[(Option<String>, String)],
        origins: &HashMap<Vec<String>, usize>,
    ) -> Self {
        let of_sources: Vec<HashMap<Vec<String>, usize>> =
            sources.iter().map(|(_, text)| lines(text)).collect();
        let mut known: Vec<(usize, Option<String>, usize)> = lines(text)
            .into_iter()
            .filter_map(|(path, line)| {
                let file = origin(&path, origins);
                let there = of_sources.get(file)?.get(&path)?;
                Some((line, sources[file].0.clone(), *there))
            })
            .collect();
        known.sort();
        Self { known }
    }

    /// File and line that a line of the text came from.
    pub(super) fn of(&self, line: usize) -> (Option<&str>, usize) {
        let next = self.known.partition_point(|(known, _, _)| *known <= line);
        match next.checked_sub(1).map(|index| &self.known[index]) {
            Some((known, file, there)) => (file.as_deref(), there + (line - known)),
            None => (None, line),
        }
    }
}

/// Which source brought the key at `path`.
fn origin(path: &[String], origins: &HashMap<Vec<String>, usize>) -> usize {
    origins.get(path).copied().unwrap_or(0)
}

/// The lines of keys at the top, of entries below them, and of the keys of those.
pub(super) fn lines(text: &str) -> HashMap<Vec<String>, usize> {
    let mut found = HashMap::new();
    if let Ok(document) = Document::parse(text) {
        let starts: Vec<usize> = text.match_indices('\n').map(|(at, _)| at + 1).collect();
        walk(document.as_table(), &mut Vec::new(), &mut |path, at| {
            let line = starts.partition_point(|&start| start <= at) + 1;
            found.entry(path.to_vec()).or_insert(line);
        });
    }
    found
}

fn walk(table: &dyn TableLike, path: &mut Vec<String>, tell: &mut dyn FnMut(&[String], usize)) {
    for (name, item) in table.iter() {
        path.push(name.to_owned());
        let key = table.key(name).and_then(Key::span);
        if let Some(span) = key.or_else(|| item.span()) {
            tell(path, span.start);
        }
        if path.len() < 3
            && let Some(inner) = item.as_table_like()
        {
            walk(inner, path, tell);
        }
        path.pop();
    }
}

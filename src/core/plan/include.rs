//! `include = ["wheel.toml"]`: fragments that several plans share, taken into one text.
//!
//! A job is started from one text in one piece, so that a file that changes later changes no job. What the
//! plan itself says goes before what a fragment says, key by key; two fragments must not say the same.

use crate::core::plan::fault::{Code, Complaint, Fault, Place, Severity, short};
use crate::core::plan::include_places::{Places, lines};
use std::collections::HashMap;
use toml_edit::{DocumentMut, Item, Table, TableLike, Value};

/// The tables that a fragment may bring.
const TABLES: [&str; 6] = ["holds", "joints", "opened", "put-in", "as-found", "closing"];

/// The most files that one plan takes in.
const MOST_FILES: usize = 50;

/// A plan's text with everything that it includes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Included {
    /// The text, in one piece.
    pub text: String,
    places: Option<Places>,
}

impl Included {
    /// The included file that a fault of the whole text stands in, none for the plan itself, and the fault with
    /// its line there.
    #[must_use]
    pub fn place(&self, fault: &Fault) -> (Option<&str>, Fault) {
        let Some(places) = &self.places else { return (None, fault.clone()) };
        let (file, line) = places.of(fault.line);
        (file, Fault { line, ..fault.clone() })
    }
}

/// Gets the name of a file and of the file that names it (empty for the plan itself); returns what the file is
/// called from then on and its text, or why there is none.
pub type ReadFile<'r> = dyn FnMut(&str, &str) -> Result<(String, String), String> + 'r;

/// Takes in what `text` includes. A text that is no TOML, or
/// that includes nothing, is returned as it is.
///
/// # Errors
/// Every file that cannot be taken in, with the file that names it; none is the plan itself.
pub fn expand(
    text: &str,
    read: &mut ReadFile<'_>,
) -> Result<Included, Vec<(Option<String>, Fault)>> {
    let plain = || Included { text: text.to_owned(), places: None };
    let visible = text.strip_prefix('\u{feff}').unwrap_or(text);
    let Ok(mut document) = visible.parse::<DocumentMut>() else { return Ok(plain()) };
    let Some(include) = document.remove("include") else { return Ok(plain()) };
    let mut taking = Taking {
        read,
        files: vec![File { name: String::new(), text: visible.to_owned() }],
        open: Vec::new(),
        origins: HashMap::new(),
        document,
        faults: Vec::new(),
    };
    taking.take_all(0, &include);
    let Taking { files, origins, document, faults, .. } = taking;
    if !faults.is_empty() {
        return Err(faults);
    }
    let text = document.to_string();
    let sources: Vec<(Option<String>, String)> = files
        .into_iter()
        .map(|file| ((!file.name.is_empty()).then_some(file.name), file.text))
        .collect();
    let places = Places::new(&text, &sources, &origins);
    Ok(Included { text, places: Some(places) })
}

/// What is said of an `include` that nobody took in.
pub(super) fn unresolved() -> Complaint {
    Complaint::new(
        Code::Include,
        "expected a plan in one piece, but found `include`",
        "start the job from the command line, which takes the files in; or print the whole with `clampbook plan show --text FILE`",
    )
}

struct File {
    name: String,
    text: String,
}

/// Files while they are being taken in.
struct Taking<'r> {
    read: &'r mut ReadFile<'r>,
    /// The plan, then every fragment.
    files: Vec<File>,
    /// Fragments whose own includes are being taken in.
    open: Vec<usize>,
    /// Which file brought what is not the plan's own, by path.
    origins: HashMap<Vec<String>, usize>,
    document: DocumentMut,
    faults: Vec<(Option<String>, Fault)>,
}

impl Taking<'_> {
    /// Takes in the files that `include` of the file of that index names.
    fn take_all(&mut self, from: usize, include: &Item) {
        let names: Option<Vec<String>> = match include.as_value() {
            Some(Value::String(name)) => Some(vec![name.value().clone()]),
            Some(Value::Array(names)) => {
                names.iter().map(|name| name.as_str().map(str::to_owned)).collect()
            }
            _ => None,
        };
        match names {
            Some(names) => names.iter().for_each(|name| self.take(from, name)),
            None => self.fault(
                from,
                "expected names of files for `include`, but found another value".to_owned(),
                "write `include = [\"wheel.toml\"]`",
            ),
        }
    }

    fn take(&mut self, from: usize, name: &str) {
        if self.files.len() > MOST_FILES {
            let message = format!("expected at most {MOST_FILES} included files, but found more");
            self.fault(from, message, "put what belongs together into one file");
            return;
        }
        let base = self.files[from].name.clone();
        let (id, text) = match (self.read)(name, &base) {
            Ok(found) => found,
            Err(why) => {
                let message =
                    format!("expected a file to include, but found: `{}`: {why}", short(name));
                self.fault(from, message, "name it as seen from the file that includes it");
                return;
            }
        };
        if self.open.iter().any(|&open| self.files[open].name == id) {
            let message =
                format!("expected another file to include, but found `{}` in itself", short(name));
            self.fault(from, message, "take one `include` of the circle away");
            return;
        }
        if self.files.iter().any(|file| file.name == id) {
            return;
        }
        let index = self.files.len();
        let visible = text.strip_prefix('\u{feff}').unwrap_or(&text).to_owned();
        let parsed = visible.parse::<DocumentMut>();
        self.files.push(File { name: id, text: visible });
        match parsed {
            Ok(mut document) => {
                let inner = document.remove("include");
                self.merge(index, document);
                if let Some(include) = inner {
                    self.open.push(index);
                    self.take_all(index, &include);
                    self.open.pop();
                }
            }
            Err(error) => {
                let text = &self.files[index].text;
                let at = error.span().map_or(0, |span| span.start);
                let line = text.get(..at).map_or(1, |before| before.matches('\n').count() + 1);
                let said = error.message().lines().next().unwrap_or_default().to_owned();
                let complaint = Complaint::new(
                    Code::Syntax,
                    format!("expected a fragment of a plan, but found: {said}"),
                    "mend this line",
                );
                self.put(index, line, complaint);
            }
        }
    }

    /// Puts what a fragment brings under what is there already.
    fn merge(&mut self, index: usize, mut fragment: DocumentMut) {
        let keys: Vec<String> = fragment.iter().map(|(key, _)| key.to_owned()).collect();
        for section in keys {
            if section == "fragment" {
                continue;
            }
            let table = fragment.remove(&section).and_then(|item| item.into_table().ok());
            match table {
                Some(table) if TABLES.contains(&section.as_str()) => {
                    self.merge_table(index, &section, table);
                }
                _ => {
                    let message = format!(
                        "expected only {} in a fragment, but found `{}`",
                        TABLES.map(|name| format!("`[{name}]`")).join(", "),
                        short(&section)
                    );
                    let line = self.line(index, &[section]);
                    let complaint =
                        Complaint::new(Code::Include, message, "move it to the plan itself");
                    self.put(index, line, complaint);
                }
            }
        }
    }

    fn merge_table(&mut self, index: usize, section: &str, mut table: Table) {
        if !self.document.contains_key(section) {
            let mut empty = Table::new();
            empty.set_implicit(true);
            self.document.insert(section, Item::Table(empty));
        }
        let names: Vec<String> = table.iter().map(|(name, _)| name.to_owned()).collect();
        for name in names {
            let Some((key, mut item)) = table.remove_entry(&name) else { continue };
            unplace(&mut item);
            let path = vec![section.to_owned(), name.clone()];
            if let Some(&other) = self.origins.get(&path) {
                let message = format!(
                    "expected each of `[{section}]` in one fragment, but found `{}` in two",
                    short(&name)
                );
                let remedy =
                    format!("take it out of one; `{}` has it, too", self.files[other].name);
                let line = self.line(index, &path);
                self.put(index, line, Complaint::new(Code::Include, message, remedy));
                continue;
            }
            let Some(whole) = self.document.get_mut(section).and_then(Item::as_table_like_mut)
            else {
                continue;
            };
            let brought = match whole.get_mut(&name) {
                None => {
                    let inner = inner_keys(&item);
                    whole.entry_format(&key).or_insert(item);
                    self.origins.insert(path.clone(), index);
                    inner
                }
                Some(own) => overlay(own, item),
            };
            for key in brought {
                let mut inner = path.clone();
                inner.push(key);
                self.origins.insert(inner, index);
            }
        }
    }

    fn fault(&mut self, from: usize, message: String, remedy: &str) {
        let line = self.line(from, &["include".to_owned()]);
        self.put(from, line, Complaint::new(Code::Include, message, remedy));
    }

    fn put(&mut self, file: usize, line: usize, complaint: Complaint) {
        let name = (file > 0).then(|| self.files[file].name.clone());
        self.faults.push((name, complaint.at(Severity::Error, Place { line, column: 1 })));
    }

    /// The line of a key in a file.
    fn line(&self, file: usize, path: &[String]) -> usize {
        lines(&self.files[file].text).get(path).copied().unwrap_or(1)
    }
}

/// Puts a fragment's entry under the plan's own. Returns the keys that came from the fragment.
fn overlay(own: &mut Item, mut brought: Item) -> Vec<String> {
    if own.is_value() && !own.is_table_like() {
        // `wheel = "165 N·m"`: the plan gives the value, the fragment all else.
        let Some(table) = brought.as_table_like_mut() else { return Vec::new() };
        let mut came: Vec<String> = inner_keys_of(&*table);
        came.retain(|key| key != "target");
        table.insert("target", own.clone());
        *own = brought;
        return came;
    }
    let Some(table) = own.as_table_like_mut() else { return Vec::new() };
    let mut came = Vec::new();
    match brought.as_table_like_mut() {
        Some(other) => {
            for key in inner_keys_of(&*other) {
                let Some(item) = other.remove(&key).filter(|_| !table.contains_key(&key)) else {
                    continue;
                };
                table.insert(&key, item);
                came.push(key);
            }
        }
        None if !table.contains_key("target") => {
            table.insert("target", brought);
            came.push("target".to_owned());
        }
        None => {}
    }
    came
}

fn inner_keys(item: &Item) -> Vec<String> {
    item.as_table_like().map(inner_keys_of).unwrap_or_default()
}

fn inner_keys_of(table: &dyn TableLike) -> Vec<String> {
    table.iter().map(|(key, _)| key.to_owned()).collect()
}

/// Forgets where a table stood in its own file, so that it is printed where it is put.
fn unplace(item: &mut Item) {
    if let Item::Table(table) = item {
        table.set_position(None);
        for (_, inner) in table.iter_mut() {
            unplace(inner);
        }
    }
}

//! Who may look at the page: screens that were let in with a one-time key.
//!
//! Guarantees: a key lets one screen in, once, and not for long; guessing is slowed down for everybody;
//! of keys and sessions only digests are kept. Sessions outlive the daemon, so that a page finds back by
//! itself; they stand in a file for its owner's eyes alone, beside the journal.

use crate::core::time::Stamp;
use crate::web::private;
use crate::web::token::Token;
use rand::RngExt;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::VecDeque;
use std::fs;
use std::iter;
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use utoipa::ToSchema;

/// For how long a key can be used, seconds.
pub const KEY_LASTS_S: f64 = 600.0;
/// For how long a session lasts that nobody uses, seconds.
const SESSION_LASTS_S: f64 = 30.0 * 86_400.0;
/// A session's last use is written no more often than this, seconds.
const SEEN_EVERY_S: f64 = 3_600.0;
/// So many wrong keys may be tried within [`TRIES_WITHIN_S`].
const MOST_TRIES: usize = 10;
/// See [`MOST_TRIES`], seconds.
const TRIES_WITHIN_S: f64 = 60.0;
/// So many keys wait at a time; of more the oldest go.
const MOST_KEYS: usize = 16;
/// So many screens are let in at a time; of more those go that were seen longest ago.
const MOST_SESSIONS: usize = 64;
/// Letters and digits that nobody takes for another.
const ALPHABET: &[u8; 32] = b"ABCDEFGHJKLMNPQRSTUVWXYZ23456789";
/// The longest name of a screen, characters.
pub(super) const LONGEST_NAME: usize = 40;
/// Letters of a key: 80 bits.
const KEY_LETTERS: usize = 16;

/// A screen that was let in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SessionRow {
    /// Its number.
    pub session: u32,
    /// What it is called: what it was named, or else what it says of itself.
    #[serde(default)]
    pub name: String,
    /// What it says of itself, in a few words.
    pub device: String,
    /// Where it came from: an address.
    pub from: String,
    /// When it was let in, microseconds since the Unix epoch.
    pub since: Stamp,
    /// When it was seen, about; microseconds since the Unix epoch.
    pub seen: Stamp,
}

/// Why a key lets nobody in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Refused {
    /// It is none, was used, or is too old.
    Key,
    /// Too many were tried; again after so many seconds.
    Tries(u32),
}

#[derive(Debug, Clone, Serialize, Deserialize)]
struct Session {
    #[serde(flatten)]
    row: SessionRow,
    digest: String,
}

#[derive(Debug)]
struct Key {
    digest: String,
    until: Stamp,
}

#[derive(Debug, Default, Serialize, Deserialize)]
struct Book {
    /// Where callers were answered last, so that pages find back there.
    #[serde(default)]
    port: u16,
    #[serde(default)]
    sessions: Vec<Session>,
    #[serde(skip)]
    keys: Vec<Key>,
    #[serde(skip)]
    tries: VecDeque<Stamp>,
}

impl Book {
    /// `device`, with a number behind it if another screen is called so.
    fn unlike(&self, device: &str) -> String {
        let taken = |name: &str| self.sessions.iter().any(|session| session.row.name == name);
        let numbered = (2..).map(|number: u32| format!("{device} {number}"));
        let mut names = iter::once(device.to_owned()).chain(numbered);
        names.find(|name| !taken(name)).unwrap_or_default()
    }
}

/// What people call a screen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct ScreenName(String);

impl ScreenName {
    /// What was typed, without space around it; none if that is nothing, too long, or no plain line.
    pub(super) fn of(typed: &str) -> Option<Self> {
        let name = typed.trim();
        let fits = (1..=LONGEST_NAME).contains(&name.chars().count());
        (fits && !name.chars().any(char::is_control)).then(|| Self(name.to_owned()))
    }
}

/// Everybody who was let in.
#[derive(Debug)]
pub struct Sessions {
    book: Mutex<Book>,
    file: PathBuf,
    cookie: String,
}

impl Sessions {
    /// Those of the journal at `journal`; none if their file is not there or makes no sense, so that
    /// every screen has to be let in anew.
    #[must_use]
    pub fn of(journal: &Path) -> Self {
        let file = private::beside(journal, ".screens.json");
        let book = fs::read(&file).ok().and_then(|text| match serde_json::from_slice(&text) {
            Ok(book) => Some(book),
            Err(error) => {
                tracing::warn!("{} is not understood and begun anew: {error}", file.display());
                None
            }
        });
        let mut book: Book = book.unwrap_or_default();
        // Those that were let in before screens had names.
        for row in book.sessions.iter_mut().map(|session| &mut session.row) {
            if row.name.is_empty() {
                row.name.clone_from(&row.device);
            }
        }
        // A browser sends a host's cookies to every port of it.
        let canonical = fs::canonicalize(journal).unwrap_or_else(|_| journal.to_owned());
        let digest = digest(&canonical.to_string_lossy());
        let cookie = format!("clampbook_{}", &digest[..8]);
        Self { book: Mutex::new(book), file, cookie }
    }

    /// The port at which callers were answered last; 0 if that is not known.
    #[must_use]
    pub fn port(&self) -> u16 {
        self.book().port
    }

    /// Callers are answered at this port from now on.
    pub fn note_port(&self, port: u16) {
        let mut book = self.book();
        if book.port != port {
            book.port = port;
            self.save(&book);
        }
    }

    /// A key that lets one screen in, within [`KEY_LASTS_S`].
    #[must_use]
    pub fn new_key(&self, now: Stamp) -> String {
        let mut random = rand::rng();
        let letters: Vec<u8> = (0..KEY_LETTERS)
            .map(|_| ALPHABET[usize::from(random.random::<u8>()) % ALPHABET.len()])
            .collect();
        let groups: Vec<String> =
            letters.chunks(4).map(|four| String::from_utf8_lossy(four).into_owned()).collect();
        let key = groups.join("-");
        let mut book = self.book();
        book.keys.retain(|known| known.until > now);
        if book.keys.len() >= MOST_KEYS {
            book.keys.remove(0);
        }
        book.keys.push(Key { digest: digest(&plain(&key)), until: now + KEY_LASTS_S });
        key
    }

    /// Lets a screen in, and gives the secret that it has to send from now on.
    pub(super) fn enter(
        &self,
        now: Stamp,
        key: &str,
        name: Option<ScreenName>,
        device: &str,
        from: IpAddr,
    ) -> Result<(SessionRow, Token), Refused> {
        let mut book = self.book();
        book.tries.retain(|at| (0.0..TRIES_WITHIN_S).contains(&now.seconds_since(*at)));
        if book.tries.len() >= MOST_TRIES {
            let oldest = book.tries.front().copied().unwrap_or(now);
            let wait = TRIES_WITHIN_S - now.seconds_since(oldest);
            return Err(Refused::Tries(wait.ceil().max(1.0) as u32));
        }
        let offered = digest(&plain(key));
        let found = book.keys.iter().position(|key| key.digest == offered && key.until > now);
        let Some(found) = found else {
            book.tries.push_back(now);
            return Err(Refused::Key);
        };
        book.keys.remove(found);
        let secret = Token::random();
        let last = book.sessions.iter().map(|session| session.row.session).max();
        let row = SessionRow {
            session: last.unwrap_or(0).saturating_add(1),
            name: name.map_or_else(|| book.unlike(device), |ScreenName(name)| name),
            device: device.to_owned(),
            from: from.to_string(),
            since: now,
            seen: now,
        };
        if book.sessions.len() >= MOST_SESSIONS
            && let Some(oldest) = oldest(&book.sessions)
        {
            book.sessions.remove(oldest);
        }
        book.sessions.push(Session { row: row.clone(), digest: digest(secret.text()) });
        self.save(&book);
        Ok((row, secret))
    }

    /// The session that `cookies` (a `Cookie` header) tell of.
    pub(super) fn find(&self, now: Stamp, cookies: &str) -> Option<u32> {
        let mut pairs = cookies.split(';').filter_map(|pair| pair.trim().split_once('='));
        let (_, secret) = pairs.find(|(name, _)| *name == self.cookie)?;
        let offered = digest(secret);
        let mut book = self.book();
        let session = book.sessions.iter_mut().find(|session| session.digest == offered)?;
        let unused_s = now.seconds_since(session.row.seen);
        if unused_s > SESSION_LASTS_S {
            return None;
        }
        let number = session.row.session;
        if unused_s > SEEN_EVERY_S {
            session.row.seen = now;
            self.save(&book);
        }
        Some(number)
    }

    /// Everybody who is let in, the first first.
    pub(super) fn rows(&self) -> Vec<SessionRow> {
        self.book().sessions.iter().map(|session| session.row.clone()).collect()
    }

    /// What a screen is called.
    pub(super) fn name(&self, number: u32) -> Option<String> {
        let book = self.book();
        let mut rows = book.sessions.iter().map(|session| &session.row);
        rows.find(|row| row.session == number).map(|row| row.name.clone())
    }

    /// Calls a screen so from now on, and gives what is known of it; none if there is none of that number.
    pub(super) fn rename(&self, number: u32, name: ScreenName) -> Option<SessionRow> {
        let mut book = self.book();
        let mut rows = book.sessions.iter_mut().map(|session| &mut session.row);
        let row = rows.find(|row| row.session == number)?;
        row.name = name.0;
        let row = row.clone();
        self.save(&book);
        Some(row)
    }

    /// Shuts a screen out; false if there is none of that number.
    pub(super) fn revoke(&self, number: u32) -> bool {
        let mut book = self.book();
        let before = book.sessions.len();
        book.sessions.retain(|session| session.row.session != number);
        let found = book.sessions.len() < before;
        if found {
            self.save(&book);
        }
        found
    }

    /// The line that has a browser keep the secret: no script can read it, no other site can use it, and one
    /// that was given over an encrypted link is sent over no other.
    pub(super) fn set_cookie(&self, secret: &Token, encrypted: bool) -> String {
        let only = if encrypted { "; Secure" } else { "" };
        format!(
            "{}={}; Path=/; HttpOnly; SameSite=Strict; Max-Age={SESSION_LASTS_S}{only}",
            self.cookie,
            secret.text()
        )
    }

    fn book(&self) -> MutexGuard<'_, Book> {
        self.book.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Keeps it all; that it cannot be kept must not keep anybody out.
    fn save(&self, book: &Book) {
        if let Err(error) = private::write(&self.file, book) {
            tracing::warn!(
                "{} could not be written, so that screens have to be let in anew after a restart: {error}",
                self.file.display()
            );
        }
    }
}

fn oldest(sessions: &[Session]) -> Option<usize> {
    let seen = sessions.iter().enumerate().min_by_key(|(_, session)| session.row.seen);
    seen.map(|(index, _)| index)
}

/// A key as somebody may type it: without strokes, spaces and small letters.
fn plain(key: &str) -> String {
    key.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_uppercase()).collect()
}

/// SHA-256, lower-case hexadecimal. What is compared is a digest, so that the time taken tells nothing.
fn digest(text: &str) -> String {
    Sha256::digest(text).iter().map(|octet| format!("{octet:02x}")).collect()
}

/// What a browser says of itself, in a few words: `Firefox on Android`.
#[must_use]
pub(super) fn device(agent: &str) -> String {
    let first = |known: &[(&'static str, &'static str)]| {
        known.iter().find(|(mark, _)| agent.contains(mark)).map(|(_, name)| *name)
    };
    let browser = first(&[
        ("Firefox/", "Firefox"),
        ("Edg/", "Edge"),
        ("Chrom", "Chromium"),
        ("Safari/", "Safari"),
    ]);
    let system = first(&[
        ("Android", "Android"),
        ("iPhone", "iPhone"),
        ("iPad", "iPad"),
        ("Windows", "Windows"),
        ("Mac OS X", "macOS"),
        ("Linux", "Linux"),
    ]);
    match (browser, system) {
        (Some(browser), Some(system)) => format!("{browser} on {system}"),
        (Some(one), None) | (None, Some(one)) => one.to_owned(),
        (None, None) => "unknown".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::{
        KEY_LASTS_S, LONGEST_NAME, MOST_TRIES, Refused, SESSION_LASTS_S, ScreenName, Sessions,
        device,
    };
    use crate::core::time::Stamp;
    use std::net::{IpAddr, Ipv4Addr};

    const HERE: IpAddr = IpAddr::V4(Ipv4Addr::LOCALHOST);

    fn sessions() -> (tempfile::TempDir, Sessions) {
        let folder = tempfile::tempdir().unwrap();
        let sessions = Sessions::of(&folder.path().join("journal.sqlite"));
        (folder, sessions)
    }

    #[test]
    fn a_key_lets_one_in_once_and_not_for_long() {
        let (_folder, sessions) = sessions();
        let start = Stamp(0);
        let key = sessions.new_key(start);
        assert_eq!(sessions.enter(start, "ABCD", None, "", HERE).unwrap_err(), Refused::Key);
        let typed = key.to_lowercase().replace('-', " ");
        let (row, secret) = sessions.enter(start, &typed, None, "Firefox", HERE).unwrap();
        assert_eq!((row.session, row.device.as_str()), (1, "Firefox"));
        assert_eq!(sessions.enter(start, &key, None, "", HERE).unwrap_err(), Refused::Key);
        let late = sessions.new_key(start);
        let after = start + KEY_LASTS_S;
        assert_eq!(sessions.enter(after, &late, None, "", HERE).unwrap_err(), Refused::Key);
        let cookie = sessions.set_cookie(&secret, false);
        let (pair, rest) = cookie.split_once(';').unwrap();
        assert_eq!(rest, " Path=/; HttpOnly; SameSite=Strict; Max-Age=2592000");
        assert_eq!(sessions.find(start, &format!("other=1; {pair}")), Some(1));
        assert_eq!(sessions.find(start, &format!("{pair}0")), None);
        assert_eq!(sessions.find(start + (SESSION_LASTS_S + 1.0), pair), None);
        assert!(sessions.revoke(1));
        assert!(!sessions.revoke(1));
        assert_eq!(sessions.find(start, pair), None);
    }

    #[test]
    fn guessing_is_slowed_down_even_for_who_has_the_key() {
        let (_folder, sessions) = sessions();
        let key = sessions.new_key(Stamp(0));
        for second in 0..MOST_TRIES {
            let at = Stamp::from_seconds(second as f64);
            assert_eq!(sessions.enter(at, "WRONG", None, "", HERE).unwrap_err(), Refused::Key);
        }
        let at = Stamp::from_seconds(20.0);
        assert_eq!(sessions.enter(at, &key, None, "", HERE).unwrap_err(), Refused::Tries(40));
        assert!(sessions.enter(Stamp::from_seconds(60.5), &key, None, "", HERE).is_ok());
    }

    #[test]
    fn sessions_outlive_the_daemon_and_their_file_is_private_and_tells_no_secret() {
        let (folder, sessions) = sessions();
        sessions.note_port(4711);
        let key = sessions.new_key(Stamp(0));
        let (_, secret) = sessions.enter(Stamp(0), &key, None, "Firefox", HERE).unwrap();
        let cookie = sessions.set_cookie(&secret, false);
        let path = folder.path().join("journal.sqlite.screens.json");
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(!text.contains(secret.text()), "{text}");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            assert_eq!(std::fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
        }
        let again = Sessions::of(&folder.path().join("journal.sqlite"));
        assert_eq!(again.port(), 4711);
        assert_eq!(again.rows(), sessions.rows());
        assert_eq!(again.find(Stamp(0), cookie.split(';').next().unwrap()), Some(1));
        std::fs::write(&path, "nonsense").unwrap();
        assert!(Sessions::of(&folder.path().join("journal.sqlite")).rows().is_empty());
    }

    #[test]
    fn a_screen_has_the_name_it_was_given_or_one_made_of_its_device() {
        let (folder, sessions) = sessions();
        let enter = |name: Option<&str>| {
            let key = sessions.new_key(Stamp(0));
            let name = name.and_then(ScreenName::of);
            sessions.enter(Stamp(0), &key, name, "Firefox", HERE).unwrap().0.name
        };
        assert_eq!(enter(Some("  Ada ")), "Ada");
        assert_eq!(enter(None), "Firefox");
        assert_eq!(enter(None), "Firefox 2");
        for typed in ["", " ", "a\nb", &"x".repeat(LONGEST_NAME + 1)] {
            assert_eq!(ScreenName::of(typed), None, "{typed:?}");
        }
        let named = sessions.rename(2, ScreenName::of("Bo").unwrap()).unwrap();
        assert_eq!((named.name.as_str(), sessions.name(2).as_deref()), ("Bo", Some("Bo")));
        assert_eq!(sessions.rename(9, ScreenName::of("Bo").unwrap()), None);
        let path = folder.path().join("journal.sqlite.screens.json");
        let text = std::fs::read_to_string(&path).unwrap().replace("\"name\":\"Bo\",", "");
        std::fs::write(&path, text).unwrap();
        let before_names = Sessions::of(&folder.path().join("journal.sqlite"));
        assert_eq!(before_names.name(2).as_deref(), Some("Firefox"));
    }

    #[test]
    fn a_browser_is_named_in_a_few_words() {
        for (agent, name) in [
            (
                "Mozilla/5.0 (Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0",
                "Firefox on Android",
            ),
            (
                "Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 Chrome/140.0 Safari/537.36",
                "Chromium on Linux",
            ),
            (
                "Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) Version/18.0 Safari/604.1",
                "Safari on iPhone",
            ),
            ("", "unknown"),
        ] {
            assert_eq!(device(agent), name);
        }
    }
}

//! Reading a recording line by line.

use super::fault::{Fault, Problem};
use super::line::{Item, Line};
use super::raw;
use serde::de::{Deserializer as _, Error as _, IgnoredAny, MapAccess, Visitor};
use std::fmt;
use std::io::{self, BufRead};

/// The longest line that is read, in octets: about a quarter of an hour of trace at 4 kHz.
pub const LONGEST_LINE: usize = 64 << 20;

/// The lines of a recording, one after the other, in the order of the file.
///
/// Blank lines, unknown kinds and `truth` lines are passed over. After a fatal fault
/// ([`Fault::is_fatal`]) the iteration ends.
pub struct Lines<R> {
    input: R,
    number: u64,
    begun: bool,
    ended: bool,
    buffer: Vec<u8>,
    /// A second thing to say about the line just read.
    next: Option<Result<Line, Problem>>,
}

impl<R: BufRead> Lines<R> {
    /// Reads from `input`.
    pub fn new(input: R) -> Self {
        Self { input, number: 0, begun: false, ended: false, buffer: Vec::new(), next: None }
    }

    fn read_line(&mut self) -> Result<Read, Fault> {
        self.buffer.clear();
        let mut limited = io::Read::take(&mut self.input, LONGEST_LINE as u64 + 1);
        let read = limited
            .read_until(b'\n', &mut self.buffer)
            .map_err(|error| Fault::Unreadable { reason: error.to_string() })?;
        if read == 0 {
            return Ok(Read::End);
        }
        self.number += 1;
        if read > LONGEST_LINE && self.buffer.last() != Some(&b'\n') {
            self.input
                .skip_until(b'\n')
                .map_err(|error| Fault::Unreadable { reason: error.to_string() })?;
            return Err(Fault::TooLong { limit: LONGEST_LINE });
        }
        Ok(Read::Line)
    }

    fn parse_line(&mut self) -> Result<Option<Item>, Fault> {
        let text = self.buffer.as_slice();
        let text = match text.strip_prefix(b"\xef\xbb\xbf") {
            Some(rest) if self.number == 1 => rest,
            _ => text,
        }
        .trim_ascii();
        if text.is_empty() {
            return Ok(None);
        }
        let kind = kind(text)?;
        let first = !std::mem::replace(&mut self.begun, true);
        if kind == "truth" {
            return Ok(None);
        }
        if kind == "header" && !first {
            return Err(Fault::SecondHeader);
        }
        let item = raw::parse(&kind, text);
        if first && kind != "header" {
            let number = self.number;
            self.next = match item {
                Ok(item) => item.map(|item| Ok(Line { number, item })),
                Err(fault) => Some(Err(Problem { line: number, fault })),
            };
            return Err(Fault::NoHeader { found: kind });
        }
        item
    }
}

impl<R: BufRead> Iterator for Lines<R> {
    type Item = Result<Line, Problem>;

    fn next(&mut self) -> Option<Self::Item> {
        if let Some(next) = self.next.take() {
            return Some(next);
        }
        while !self.ended {
            let outcome = match self.read_line() {
                Ok(Read::End) => {
                    self.ended = true;
                    return None;
                }
                Ok(Read::Line) => self.parse_line(),
                Err(fault) => Err(fault),
            };
            match outcome {
                Ok(None) => {}
                Ok(Some(item)) => {
                    return Some(Ok(Line { number: self.number, item }));
                }
                Err(fault) => {
                    self.ended = fault.is_fatal();
                    return Some(Err(Problem { line: self.number.max(1), fault }));
                }
            }
        }
        None
    }
}

enum Read {
    Line,
    End,
}

/// The line's kind. Reading stops as soon as it is known, so that nothing after it is looked at.
fn kind(text: &[u8]) -> Result<String, Fault> {
    let mut found = None;
    let mut deserializer = serde_json::Deserializer::from_slice(text);
    let outcome = deserializer.deserialize_map(KindVisitor { found: &mut found });
    match (found, outcome) {
        (Some(kind), _) => Ok(kind),
        (None, Ok(())) => match deserializer.end() {
            Ok(()) => Err(Fault::NoKind),
            Err(error) => Err(raw::fault("", &error)),
        },
        (None, Err(error)) => match raw::fault("", &error) {
            Fault::WrongValue { reason, .. } => Err(Fault::NotObject { reason }),
            fault => Err(fault),
        },
    }
}

struct KindVisitor<'a> {
    found: &'a mut Option<String>,
}

impl<'de> Visitor<'de> for KindVisitor<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object with a text as its `kind`")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        while let Some(key) = map.next_key::<String>()? {
            if key == "kind" {
                *self.found = Some(map.next_value()?);
                return Err(A::Error::custom("the rest is not looked at"));
            }
            map.next_value::<IgnoredAny>()?;
        }
        Ok(())
    }
}

//! What is typed while the program runs: lists and answers. A script is never asked.

use crate::cli::files;
use crate::cli::outcome::Failure;
use crate::cli::printer::Printer;
use std::io::{self, BufRead, IsTerminal, Read};

/// More than anybody types or pastes.
const MOST_OCTETS: u64 = 1 << 20;

/// True if a person sits at standard input.
pub fn is_person() -> bool {
    io::stdin().is_terminal()
}

/// Standard input up to its end, or to a line with only a dot, which is left out.
///
/// # Errors
/// It cannot be read, is too long, or is no text.
pub fn list() -> Result<String, Failure> {
    let octets = until_dot(&mut io::stdin().lock())
        .map_err(|error| Failure::failed("reading standard input", &error))?;
    if octets.len() as u64 >= MOST_OCTETS {
        return Err(Failure::Input(
            "expected a list of values of at most 1 MiB on standard input, but found more; give the right file"
                .to_owned(),
        ));
    }
    files::utf8("standard input", octets)
}

/// Asks a question that only a plain yes answers with yes.
///
/// # Errors
/// Standard input cannot be read.
pub fn agrees(question: &str, printer: Printer) -> Result<bool, Failure> {
    printer.ask(format_args!("{question} [y/N]"));
    let mut answer = Vec::new();
    io::stdin()
        .lock()
        .take(80)
        .read_until(b'\n', &mut answer)
        .map_err(|error| Failure::failed("reading the answer", &error))?;
    Ok(is_yes(&String::from_utf8_lossy(&answer)))
}

fn is_yes(answer: &str) -> bool {
    ["y", "yes"].contains(&answer.trim().to_lowercase().as_str())
}

fn until_dot(input: &mut impl BufRead) -> io::Result<Vec<u8>> {
    let mut octets = Vec::new();
    let mut input = input.take(MOST_OCTETS);
    loop {
        let start = octets.len();
        if input.read_until(b'\n', &mut octets)? == 0 {
            return Ok(octets);
        }
        if octets[start..].trim_ascii() == b"." {
            octets.truncate(start);
            return Ok(octets);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{is_yes, until_dot};
    use std::io::Read;

    #[test]
    fn only_a_plain_yes_is_yes() {
        for (answer, expected) in [
            ("y\n", true),
            (" YES \r\n", true),
            ("", false),
            ("\n", false),
            ("yo\n", false),
            ("no", false),
        ] {
            assert_eq!(is_yes(answer), expected, "{answer:?}");
        }
    }

    #[test]
    fn a_dot_ends_the_list_and_the_answer_behind_it_is_still_there() {
        let mut input = &b"hub-nut 228 Nm\n\nslide-pins 26.5 Nm\n . \ny\n"[..];
        assert_eq!(until_dot(&mut input).unwrap(), b"hub-nut 228 Nm\n\nslide-pins 26.5 Nm\n");
        let mut rest = String::new();
        input.read_to_string(&mut rest).unwrap();
        assert_eq!(rest, "y\n");
    }
}

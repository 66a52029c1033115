//! `help`, `completions`, `man`: the command line about itself.

use crate::cli::args;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::put;
use clap_complete::Shell;
use std::fs;
use std::path::Path;

/// The program's name in completions and pages.
const NAME: &str = "clampbook";

/// The short help; of a verb with its words; of every verb with `more`.
///
/// # Errors
/// There is no such verb.
pub fn run(words: &[String], printer: Printer) -> Result<Done, Failure> {
    let mut command = args::command();
    command.build();
    if words.is_empty() {
        printer.styled(&command.render_help())?;
    } else if words == ["more"] {
        printer.styled(&command.render_long_help())?;
    } else {
        let mut found = &mut command;
        for word in words {
            let known = found.find_subcommand(word).is_some();
            found = match found.find_subcommand_mut(word) {
                Some(verb) if known => verb,
                _ => {
                    return Err(Failure::Input(format!(
                        "expected a verb, but found \"{}\"; `clampbook help more` lists them all",
                        words.join(" ")
                    )));
                }
            };
        }
        printer.styled(&found.render_long_help())?;
    }
    Ok(Done::Fine)
}

/// What `shell` needs, on standard output.
///
/// # Errors
/// Standard output cannot be written.
pub fn completions(shell: Shell, printer: Printer) -> Result<Done, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut whole(), NAME, &mut script);
    printer.raw(&script)?;
    Ok(Done::Fine)
}

/// One page a verb in `folder`.
///
/// # Errors
/// A page cannot be written.
pub fn manual(folder: &Path, printer: Printer) -> Result<Done, Failure> {
    let failed = |error: &std::io::Error| put::cannot_write(folder, error);
    fs::create_dir_all(folder).map_err(|error| failed(&error))?;
    clap_mangen::generate_to(whole(), folder).map_err(|error| failed(&error))?;
    printer.line(folder.join(format!("{NAME}.1")).display())?;
    printer.talk("and a page beside it for every verb");
    Ok(Done::Fine)
}

/// The command line with nothing left out.
fn whole() -> clap::Command {
    let names: Vec<String> =
        args::command().get_subcommands().map(|verb| verb.get_name().to_owned()).collect();
    names.into_iter().fold(args::command(), |command, name| {
        command.mut_subcommand(name, |verb| verb.hide(false))
    })
}

#[cfg(test)]
mod tests {
    use crate::cli::args;

    #[test]
    fn the_command_line_is_sound() {
        args::command().debug_assert();
    }

    #[test]
    fn the_short_help_shows_at_most_eight_verbs() {
        let shown = args::command().get_subcommands().filter(|verb| !verb.is_hide_set()).count();
        assert!(shown <= 8, "{shown} verbs");
    }

    #[test]
    fn every_verb_has_an_example_of_its_own() {
        fn check(verb: &clap::Command, path: &str) {
            for below in verb.get_subcommands() {
                let path = format!("{path} {}", below.get_name());
                let help = below.get_after_help().map(ToString::to_string).unwrap_or_default();
                assert!(help.contains("Example") && help.contains(&path), "{path}: {help}");
                check(below, &path);
            }
        }
        check(&args::command(), "clampbook");
    }
}

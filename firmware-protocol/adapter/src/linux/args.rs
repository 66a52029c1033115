//! The program's arguments.

use std::path::PathBuf;

/// What `--help` prints.
pub(crate) const HELP: &str = "\
A torque adapter in software, over the HCI user channel of a Bluetooth controller that is down.

Usage: clampbook-reference-adapter [OPTIONS]

  --hci N           index of the controller (default 1)
  --level 0|1|2|3   0: only the services of the Bluetooth SIG; 1: the Clampbook service too;
                    2: with a trace, a set-point, cues and a button; 3: with motion, too (default 1)
  --trace-rate HZ   samples a second of the trace, 50 to 500 (default 100)
  --recording FILE  recording (NDJSON) that `play` plays; its `adapter` line sets serial and range, the
                    torque of a pull is as its `trace` lines say, where there are any at its `reading`,
                    and how the tool came to it as its `motion` lines say
  --adapter ID      adapter of the recording to be (default: the first one)
  --serial TEXT     serial number, 1 to 20 characters (default: the recording's, otherwise REF-0001)
  --name TEXT       advertised name, 1 to 9 characters (default Clamp)
  --battery PERCENT battery level, 0 to 100 (default 87)
  --state FILE      keeps epoch, unreleased readings and bonds over a restart of this program
  --log FILE        appends every reading made, and every set-point, cue and press and what was shown, with
                    the name of its event, one JSON object a line
  --pairing         starts in pairing mode (60 s)
  --readvertise S   starts its advertisement anew every S seconds, 1 to 60: some virtual controllers
                    report an advertisement only once, and who misses it would wait for ever
  --help            prints this

Commands come on standard input, one a line; answers and events go to standard output, one JSON object
a line:

  play [speed=X]                                 plays the recording, X times as fast
  pull NM [rotation=DEG] [duration=MS]           makes one reading
       [right=MM up=MM | distance=MM] [sd=MM]    the tool has moved so far since the reading before (sd: 10)
  button short|long|double                       presses the button; one that only wakes is not counted
  drop-link [SECONDS]                            ends the link, unreachable for so long (default 1)
  skip N                                         the next N live readings are not notified
  double N                                       the next N live readings are notified twice
  lose-blocks N [AFTER]                          N blocks of the trace are counted and not sent, after so many (default 0)
  delay N [SECONDS]                              the next N live readings are notified so late (default 2)
  fill N NM                                      makes N readings at once, as if they were a second apart
  elapse SECONDS                                 its clock goes on by so much at once
  sleep [SECONDS] | wake                         announces sleep, and sleeps after so long (default 10) | wakes
  power-off | power-on                           loses power | starts again with a new epoch
  new-epoch                                      starts a new epoch without losing the link
  pairing [SECONDS]                              ends the link, enters pairing mode (default and at most 60)
  delete-bonds                                   ends the link, forgets every host
  log [FILE]                                     every reading made since the start, to FILE or as the answer
  status                                         state, epoch, readings stored, set-point, blocks of the trace
  quit
";

/// The arguments, checked.
#[derive(Debug, PartialEq)]
pub(crate) struct Args {
    pub(crate) hci: u16,
    pub(crate) level: u8,
    /// In samples a second; for level 2.
    pub(crate) trace_rate: u16,
    pub(crate) recording: Option<PathBuf>,
    pub(crate) adapter: Option<String>,
    pub(crate) serial: Option<String>,
    pub(crate) name: String,
    pub(crate) battery: u8,
    pub(crate) state: Option<PathBuf>,
    pub(crate) log: Option<PathBuf>,
    pub(crate) pairing: bool,
    /// In seconds.
    pub(crate) readvertise: Option<u8>,
}

impl Default for Args {
    fn default() -> Self {
        Self {
            hci: 1,
            level: 1,
            trace_rate: 100,
            recording: None,
            adapter: None,
            serial: None,
            name: "Clamp".to_owned(),
            battery: 87,
            state: None,
            log: None,
            pairing: false,
            readvertise: None,
        }
    }
}

/// What to do, from the arguments after the program's name; the error is a sentence for the user.
pub(crate) fn parse(words: impl IntoIterator<Item = String>) -> Result<Option<Args>, String> {
    let mut args = Args::default();
    let mut words = words.into_iter();
    while let Some(word) = words.next() {
        let mut value = |expected: &str| {
            words
                .next()
                .ok_or_else(|| format!("expected {expected} after {word}, but found nothing"))
        };
        match word.as_str() {
            "--help" | "-h" => return Ok(None),
            "--pairing" => args.pairing = true,
            "--readvertise" => args.readvertise = Some(number(&value("seconds")?, 1..=60)?),
            "--hci" => args.hci = number(&value("a controller index")?, 0..=15)?,
            "--level" => args.level = number(&value("a level")?, 0..=3)?,
            "--trace-rate" => args.trace_rate = number(&value("samples a second")?, 50..=500)?,
            "--battery" => args.battery = number(&value("a percentage")?, 0..=100)?,
            "--recording" => args.recording = Some(value("a file")?.into()),
            "--state" => args.state = Some(value("a file")?.into()),
            "--log" => args.log = Some(value("a file")?.into()),
            "--adapter" => args.adapter = Some(value("an adapter's id")?),
            "--serial" => args.serial = Some(serial(value("a serial number")?)?),
            "--name" => args.name = text(value("a name")?, 9)?,
            other => {
                return Err(format!("expected an option, but found '{other}'; --help lists them"));
            }
        }
    }
    Ok(Some(args))
}

fn number<T>(word: &str, range: std::ops::RangeInclusive<T>) -> Result<T, String>
where
    T: std::str::FromStr + PartialOrd + std::fmt::Display,
{
    word.parse().ok().filter(|n| range.contains(n)).ok_or_else(|| {
        format!("expected a number from {} to {}, but found '{word}'", range.start(), range.end())
    })
}

/// A serial number: 1 to 20 printable ASCII characters without spaces.
pub(crate) fn serial(word: String) -> Result<String, String> {
    match text(word, 20)? {
        word if word.contains(' ') => {
            Err(format!("expected a serial number without spaces, but found '{word}'"))
        }
        word => Ok(word),
    }
}

/// A text of 1 to `longest` printable ASCII characters.
fn text(word: String, longest: usize) -> Result<String, String> {
    let fits =
        (1..=longest).contains(&word.len()) && word.bytes().all(|b| (0x20..0x7F).contains(&b));
    if fits {
        Ok(word)
    } else {
        Err(format!("expected 1 to {longest} printable ASCII characters, but found '{word}'"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(line: &str) -> Result<Option<Args>, String> {
        parse(line.split_whitespace().map(str::to_owned))
    }

    #[test]
    fn arguments_become_checked_options() {
        let expected = Args {
            hci: 2,
            level: 0,
            serial: Some("L-40-280".to_owned()),
            state: Some("a/state".into()),
            pairing: true,
            readvertise: Some(2),
            ..Args::default()
        };
        assert_eq!(
            check("--hci 2 --level 0 --serial L-40-280 --state a/state --pairing --readvertise 2"),
            Ok(Some(expected))
        );
        let traced = Args { level: 2, trace_rate: 500, ..Args::default() };
        assert_eq!(check("--trace-rate 500 --level 2"), Ok(Some(traced)));
        assert_eq!(check("--level 1 --help"), Ok(None));
    }

    #[test]
    fn a_wrong_argument_is_named_with_what_was_expected() {
        let cases = [
            ("--level 4", "expected a number from 0 to 3, but found '4'"),
            ("--trace-rate 49", "expected a number from 50 to 500, but found '49'"),
            ("--hci", "expected a controller index after --hci, but found nothing"),
            ("play", "expected an option, but found 'play'; --help lists them"),
            (
                "--name A-name-that-is-long",
                "expected 1 to 9 printable ASCII characters, but found 'A-name-that-is-long'",
            ),
        ];
        for (line, message) in cases {
            assert_eq!(check(line), Err(message.to_owned()), "{line}");
        }
    }
}

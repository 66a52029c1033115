//! Which source to use, as it is written on the command line or in a configuration.

use std::fmt;
use std::path::PathBuf;
use std::str::FromStr;

/// Which source to use.
///
/// Written as `sim:FILE[,speed=N|,fast][,seed=N][,faults=LIST]` or `ble:ADAPTER[,controller=C]`.
#[derive(Debug, Clone, PartialEq)]
pub enum SourceSpec {
    /// A recording, played as if its adapters were here.
    Simulated(SimulatedSpec),
    /// A real adapter over Bluetooth Low Energy.
    Ble(BleSpec),
}

/// A recording to be played. A comma cannot be part of the file's name here.
#[derive(Debug, Clone, PartialEq)]
pub struct SimulatedSpec {
    /// The recording.
    pub file: PathBuf,
    /// How fast.
    pub pace: Pace,
    /// What the chance in the faults starts from; the same seed gives the same faults.
    pub seed: u64,
    /// Faults of the link to be played.
    pub faults: Faults,
}

/// How fast a recording is played.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pace {
    /// So many times as fast as it was recorded: 0.01..=10 000.
    Times(f64),
    /// Without any waiting.
    Fast,
}

/// Faults of the link to be played.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Faults {
    /// The link is lost for a while; readings made meanwhile are fetched afterwards.
    pub drop: bool,
    /// Readings arrive twice.
    pub double: bool,
    /// Readings arrive late, after later ones.
    pub delay: bool,
    /// Readings are not sent when they are made, and have to be fetched.
    pub skip: bool,
    /// Readings are missing for good.
    pub gap: bool,
}

/// A real adapter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BleSpec {
    /// Its serial number, its name, or its address.
    pub adapter: String,
    /// The controller of this computer to use, by address or name; none for the only one.
    pub controller: Option<String>,
    /// What is known of it since it was added; none if it was only named.
    pub pin: Option<Pin>,
}

/// What is known of an adapter since it was added. Nothing is taken from one that does not fit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pin {
    /// Its serial number.
    pub serial: String,
    /// Where it answered, if the system tells addresses.
    pub address: Option<String>,
    /// Whether it keeps its readings, which needs a bond.
    pub bonded: bool,
}

/// A source that cannot be understood.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SpecError {
    /// Neither `sim:` nor `ble:`.
    #[error(
        "expected a source as `sim:FILE` or `ble:ADAPTER`, but found `{found}`; write one of them"
    )]
    Kind {
        /// What was written.
        found: String,
    },
    /// Nothing after the colon.
    #[error("expected {what} after `{kind}:`, but found nothing; write `{kind}:{example}`")]
    Empty {
        /// `sim` or `ble`.
        kind: &'static str,
        /// What should be there.
        what: &'static str,
        /// How it could look.
        example: &'static str,
    },
    /// An option that does not exist.
    #[error(
        "expected {expected} as options of a `{kind}:` source, but found `{found}`; correct it"
    )]
    Option {
        /// `sim` or `ble`.
        kind: &'static str,
        /// The options there are.
        expected: &'static str,
        /// What was written.
        found: String,
    },
    /// An option with a value it cannot have.
    #[error("expected `{option}` as {expected}, but found `{found}`; correct it")]
    Value {
        /// The option.
        option: &'static str,
        /// What it can be.
        expected: &'static str,
        /// What was written.
        found: String,
    },
}

const SIM_OPTIONS: &str = "`speed=N`, `fast`, `seed=N` or `faults=LIST`";
const BLE_OPTIONS: &str = "`controller=NAME`";
const FAULT_LIST: &str = "`drop`, `double`, `delay`, `skip` and `gap`, joined by `+`";

impl SourceSpec {
    /// Reads a source as written.
    ///
    /// # Errors
    /// If it is of no known kind, names nothing, or has an option or a value that does not exist.
    pub fn parse(text: &str) -> Result<Self, SpecError> {
        match text.split_once(':') {
            Some(("sim", rest)) => simulated(rest).map(Self::Simulated),
            Some(("ble", rest)) => ble(rest).map(Self::Ble),
            _ => Err(SpecError::Kind { found: text.to_owned() }),
        }
    }
}

impl FromStr for SourceSpec {
    type Err = SpecError;

    fn from_str(text: &str) -> Result<Self, SpecError> {
        Self::parse(text)
    }
}

impl fmt::Display for SourceSpec {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Simulated(spec) => write!(f, "sim:{}", spec.file.display()),
            Self::Ble(spec) => write!(f, "ble:{}", spec.adapter),
        }
    }
}

fn simulated(text: &str) -> Result<SimulatedSpec, SpecError> {
    let mut parts = text.split(',');
    let file = parts.next().unwrap_or_default();
    if file.is_empty() {
        return Err(SpecError::Empty {
            kind: "sim",
            what: "the name of a recording",
            example: "recording.ndjson",
        });
    }
    let mut spec = SimulatedSpec {
        file: PathBuf::from(file),
        pace: Pace::Times(1.0),
        seed: 0,
        faults: Faults::default(),
    };
    for part in parts {
        match part.split_once('=') {
            None if part == "fast" => spec.pace = Pace::Fast,
            Some(("speed", value)) => spec.pace = Pace::Times(speed(value)?),
            Some(("seed", value)) => {
                spec.seed = value.parse().map_err(|_| SpecError::Value {
                    option: "seed",
                    expected: "a whole number from 0",
                    found: value.to_owned(),
                })?;
            }
            Some(("faults", value)) => spec.faults = faults(value)?,
            _ => {
                return Err(SpecError::Option {
                    kind: "sim",
                    expected: SIM_OPTIONS,
                    found: part.to_owned(),
                });
            }
        }
    }
    Ok(spec)
}

fn speed(value: &str) -> Result<f64, SpecError> {
    let times: Option<f64> = value.parse().ok();
    times.filter(|times| (0.01..=10_000.0).contains(times)).ok_or_else(|| SpecError::Value {
        option: "speed",
        expected: "a number from 0.01 to 10000",
        found: value.to_owned(),
    })
}

fn faults(value: &str) -> Result<Faults, SpecError> {
    let mut faults = Faults::default();
    for name in value.split(['+', '|']) {
        let fault = match name {
            "drop" => &mut faults.drop,
            "double" => &mut faults.double,
            "delay" => &mut faults.delay,
            "skip" => &mut faults.skip,
            "gap" => &mut faults.gap,
            _ => {
                return Err(SpecError::Value {
                    option: "faults",
                    expected: FAULT_LIST,
                    found: name.to_owned(),
                });
            }
        };
        *fault = true;
    }
    Ok(faults)
}

fn ble(text: &str) -> Result<BleSpec, SpecError> {
    let mut parts = text.split(',');
    let adapter = parts.next().unwrap_or_default().trim();
    if adapter.is_empty() {
        return Err(SpecError::Empty {
            kind: "ble",
            what: "an adapter's serial number, name or address",
            example: "LK-0007",
        });
    }
    let mut spec = BleSpec { adapter: adapter.to_owned(), controller: None, pin: None };
    for part in parts {
        match part.split_once('=') {
            Some(("controller", value)) if !value.is_empty() => {
                spec.controller = Some(value.to_owned());
            }
            _ => {
                return Err(SpecError::Option {
                    kind: "ble",
                    expected: BLE_OPTIONS,
                    found: part.to_owned(),
                });
            }
        }
    }
    Ok(spec)
}

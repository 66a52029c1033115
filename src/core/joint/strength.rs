//! Strength of bolts by their mark.

use crate::core::joint::thread::{MM_PER_INCH, Series, Thread};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// Megapascals in a pound-force a square inch: 4.448 221 615 260 5 N over (25.4 mm)², exact.
const MPA_PER_PSI: f64 = 4.448_221_615_260_5 / (MM_PER_INCH * MM_PER_INCH);

/// What the head of a bolt is marked with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Grade {
    /// ISO 898-1, 8.8.
    #[serde(rename = "8.8")]
    C8_8,
    /// ISO 898-1, 10.9.
    #[serde(rename = "10.9")]
    C10_9,
    /// ISO 898-1, 12.9.
    #[serde(rename = "12.9")]
    C12_9,
    /// SAE J429, grade 5.
    #[serde(rename = "Grade 5")]
    Grade5,
    /// SAE J429, grade 8.
    #[serde(rename = "Grade 8")]
    Grade8,
}

/// Least strengths, MPa.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Strengths {
    proof: f64,
    yielding: f64,
}

impl Grade {
    /// Stress under proof load S_p, MPa: ISO 898-1:2013 tables 3 to 5, SAE J429 table 1.
    /// `None` outside the sizes that the standard covers.
    #[must_use]
    pub fn proof_mpa(self, thread: &Thread) -> Option<f64> {
        self.strengths(thread).map(|strengths| strengths.proof)
    }

    /// 0.2 % proof stress R_p0.2 (yield of SAE J429), least value, MPa. `None` as above.
    #[must_use]
    pub fn yield_mpa(self, thread: &Thread) -> Option<f64> {
        self.strengths(thread).map(|strengths| strengths.yielding)
    }

    /// Proof load of a bolt, newtons.
    #[must_use]
    pub fn proof_load_n(self, thread: &Thread) -> Option<f64> {
        Some(self.proof_mpa(thread)? * thread.stress_area_mm2())
    }

    fn strengths(self, thread: &Thread) -> Option<Strengths> {
        let mm = thread.diameter_mm;
        let metric = thread.series == Series::Metric && (1.6..=39.0).contains(&mm);
        let inches = mm / MM_PER_INCH;
        let unified = thread.series == Series::Unified && (0.249..=1.501).contains(&inches);
        let psi = |proof: f64, yielding: f64| Strengths {
            proof: proof * MPA_PER_PSI,
            yielding: yielding * MPA_PER_PSI,
        };
        let fits = match self {
            Self::C8_8 | Self::C10_9 | Self::C12_9 => metric,
            Self::Grade5 | Self::Grade8 => unified,
        };
        fits.then_some(match self {
            Self::C8_8 if mm <= 16.0 => Strengths { proof: 580.0, yielding: 640.0 },
            Self::C8_8 => Strengths { proof: 600.0, yielding: 660.0 },
            Self::C10_9 => Strengths { proof: 830.0, yielding: 940.0 },
            Self::C12_9 => Strengths { proof: 970.0, yielding: 1100.0 },
            Self::Grade5 if inches <= 1.0 => psi(85_000.0, 92_000.0),
            Self::Grade5 => psi(74_000.0, 81_000.0),
            Self::Grade8 => psi(120_000.0, 130_000.0),
        })
    }

    /// The weakest of the grades known here that a thread of this series may have.
    #[must_use]
    pub const fn weakest(series: Series) -> Self {
        match series {
            Series::Metric => Self::C8_8,
            Series::Unified => Self::Grade5,
        }
    }

    /// The strongest.
    #[must_use]
    pub const fn strongest(series: Series) -> Self {
        match series {
            Series::Metric => Self::C12_9,
            Series::Unified => Self::Grade8,
        }
    }
}

/// `8.8`, `10.9`, `12.9`, `grade 5`, `gr 8`. Others are not known here.
impl FromStr for Grade {
    type Err = ();

    fn from_str(text: &str) -> Result<Self, ()> {
        let plain: String = text.chars().filter(|c| !c.is_whitespace()).collect();
        match plain.to_lowercase().trim_start_matches("class") {
            "8.8" | "8,8" => Ok(Self::C8_8),
            "10.9" | "10,9" => Ok(Self::C10_9),
            "12.9" | "12,9" => Ok(Self::C12_9),
            "grade5" | "gr5" | "gr.5" => Ok(Self::Grade5),
            "grade8" | "gr8" | "gr.8" => Ok(Self::Grade8),
            _ => Err(()),
        }
    }
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::C8_8 => "8.8",
            Self::C10_9 => "10.9",
            Self::C12_9 => "12.9",
            Self::Grade5 => "grade 5",
            Self::Grade8 => "grade 8",
        })
    }
}

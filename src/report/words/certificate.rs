//! What is said of an instrument's certificate.

use super::Words;
use crate::report::model::{CertificateReport, CertificateStanding};
use std::borrow::Cow;

impl Words {
    /// What a certificate covers and what was found, one a part.
    #[must_use]
    pub fn covered(self, certificate: &CertificateReport) -> Vec<String> {
        let [low, high] = certificate.range_nm.map(|nm| self.number(nm, 1));
        let directions: Vec<_> =
            certificate.directions.iter().map(|direction| self.direction(direction)).collect();
        let directions = directions.join(", ");
        let mut parts = vec![self.say(
            "certificate-covers",
            &[("low", &low), ("high", &high), ("directions", &directions)],
        )];
        if let Some(step) = certificate.resolution_nm {
            parts.push(self.say("certificate-step", &[("step", &self.number(step, 2))]));
        }
        parts.extend(certificate.points.iter().map(|point| {
            self.say(
                "certificate-point",
                &[
                    ("torque", &self.number(point.torque_nm, 1)),
                    ("error", &self.signed(point.error_nm, 2)),
                    ("uncertainty", &self.number(point.uncertainty_nm, 2)),
                ],
            )
        }));
        if certificate.points.is_empty() {
            parts.push(self.word("certificate-no-point").into_owned());
        }
        parts
    }

    /// How a certificate stood to the day.
    #[must_use]
    pub fn standing(self, standing: CertificateStanding) -> Cow<'static, str> {
        self.word(match standing {
            CertificateStanding::Valid => "standing-valid",
            CertificateStanding::Overdue => "standing-overdue",
            CertificateStanding::Later => "standing-later",
        })
    }

    fn direction(self, direction: &str) -> Cow<'static, str> {
        self.word(match direction {
            "clockwise" => "direction-clockwise",
            _ => "direction-counter-clockwise",
        })
    }
}

//! Which certificate holds for an adapter on the day of the job, and what it says of its pulls.

use crate::core::certificate::{Certificate, Direction, Standing};
use crate::core::plan::{Expect, Plan, Window};
use crate::core::units::Torque;
use crate::report::gather::Facts;
use crate::report::model::{CertificateReport, CertificateStanding, Certified, PointReport, Pull};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// A certificate, and how it stood to the day of the job.
pub(crate) type Standed<'a> = (&'a Certificate, Standing);

/// The certificate of the adapter with that serial: the newest that was valid on the day; otherwise the
/// newest.
pub(crate) fn of<'a>(facts: &Facts<'a>, serial: &str) -> Option<Standed<'a>> {
    let day = day(facts)?;
    let all = || {
        facts
            .certificates
            .iter()
            .copied()
            .filter(|certificate| certificate.serial == serial)
            .map(|certificate| (certificate, certificate.standing(day)))
    };
    let valid = all().filter(|(_, standing)| *standing == Standing::Valid);
    valid
        .max_by_key(|(certificate, _)| certificate.date)
        .or_else(|| all().max_by_key(|(certificate, _)| certificate.date))
}

/// Says of each measured pull what the certificate of its adapter says, if that was valid.
pub(crate) fn apply(facts: &mut Facts<'_>) {
    let mut valid: BTreeMap<&str, &Certificate> = BTreeMap::new();
    for info in facts.adapters.iter().copied() {
        if let Some((certificate, Standing::Valid)) = of(facts, &info.serial) {
            valid.insert(&info.id, certificate);
        }
    }
    let plan = facts.plan;
    for pull in &mut facts.pulls {
        let certificate = valid.get(pull.measured.adapter.as_str());
        let Some(certificate) = certificate.filter(|_| !pull.measured.typed) else { continue };
        pull.certified = certified(certificate, pull, plan);
    }
}

fn certified(certificate: &Certificate, pull: &Pull, plan: &Plan) -> Option<Certified> {
    let peak = Torque::from_nm(pull.measured.peak_nm);
    let assessed = certificate.assess(peak)?;
    let close_to_limit = pull
        .stands()
        .and_then(|verdict| window(plan, verdict.fastener.as_deref()?, verdict.pass?))
        .is_some_and(|window| assessed.is_close(peak, window));
    Some(Certified {
        error_nm: assessed.error_nm,
        uncertainty_nm: assessed.uncertainty_nm,
        close_to_limit,
    })
}

fn window<'p>(plan: &'p Plan, fastener: &str, pass: u32) -> Option<&'p Window> {
    let step = plan.step(plan.fastener(fastener)?.step);
    let pass = step.passes.get(usize::try_from(pass).ok()?.checked_sub(1)?)?;
    match &pass.expect {
        Expect::Window(window) => Some(window),
        Expect::ByHand | Expect::NoFigure | Expect::ToBeLookedUp => None,
    }
}

/// The certificate as it is told.
pub(crate) fn report((certificate, standing): Standed<'_>) -> CertificateReport {
    CertificateReport {
        number: certificate.number.clone(),
        method: certificate.method.clone(),
        laboratory: certificate.laboratory.clone(),
        date: certificate.date.to_string(),
        due: certificate.due.to_string(),
        standing: match standing {
            Standing::Valid => CertificateStanding::Valid,
            Standing::Overdue => CertificateStanding::Overdue,
            Standing::Later => CertificateStanding::Later,
        },
        range_nm: certificate.range_nm,
        directions: certificate
            .directions
            .iter()
            .map(|direction| match direction {
                Direction::Clockwise => "clockwise",
                Direction::CounterClockwise => "counter-clockwise",
            })
            .collect(),
        resolution_nm: certificate.resolution_nm,
        points: certificate
            .points
            .iter()
            .map(|point| PointReport {
                torque_nm: point.torque_nm,
                error_nm: point.error_nm,
                uncertainty_nm: point.uncertainty_nm,
            })
            .collect(),
    }
}

/// The local day on which the job was started.
fn day(facts: &Facts<'_>) -> Option<Date> {
    facts.job.started.day().parse().ok()
}

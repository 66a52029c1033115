//! Adapters whose calibration is overdue, or does not reach so far: what they tell is kept, and is not certified.

use crate::core::event::WarningCode;
use crate::core::tracker::pull::Assignment;
use crate::core::tracker::rules::words;
use crate::core::tracker::warn::{About, Reason, Speaker};

impl Speaker<'_> {
    /// This reading came from an adapter that should have been calibrated before; told once an adapter.
    pub(in crate::core::tracker) fn overdue(&mut self, index: usize) {
        let id = self.state.readings[index].reading.adapter.clone();
        let since = self.scene().adapter(&id).and_then(|adapter| adapter.overdue_since);
        let Some(since) = since else { return };
        let text = words::overdue(&id, since);
        let about = About { fastener: None, reading: Some(index) };
        self.say(Reason::Overdue(id), WarningCode::CalibrationDue, about, text);
    }

    /// A reading that counts lies outside what the certificate of its adapter covers; told once an adapter and joint.
    pub(in crate::core::tracker) fn uncovered(
        &mut self,
        index: usize,
        fastener: usize,
        assignment: &Assignment,
        nm: f64,
    ) {
        let peak = self.state.readings[index].reading.peak;
        let id = self.state.readings[index].reading.adapter.clone();
        let certificate = self.scene().adapter(&id).and_then(|adapter| adapter.certificate.clone());
        let Some(certificate) = certificate.filter(|one| !one.covers(peak)) else { return };
        let step = self.scene().step_of(fastener);
        let window = self.scene().window_for(fastener, assignment.pass);
        if window.is_none_or(|window| nm < window.low.nm()) {
            return;
        }
        let about = self.named(index, fastener);
        let span = certificate.covers_direction(peak).then(|| certificate.span_nm());
        let text = words::uncovered(self.scene(), about.fastener, fastener, (&id, peak), span);
        self.say(Reason::Uncovered(id, step), WarningCode::NotCertified, about, text);
    }
}

//! Adapters whose calibration is overdue: what they tell is kept, and is not proved.

use crate::core::event::WarningCode;
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
}

//! A report without what tells of people and their vehicles.

use crate::report::Report;
use crate::report::model::Personal;

impl Report {
    /// The same report without the vehicle's text and VIN, the operator, the names of screens, photos, and everything that
    /// people wrote freely (notes, reasons). What was never given, or was erased, stays so. The plan's own words and the
    /// warnings made of them stay.
    #[must_use]
    pub fn redacted(mut self) -> Self {
        self.redacted = true;
        leave_out(&mut self.vehicle.text);
        leave_out(&mut self.vehicle.vin);
        leave_out(&mut self.job.operator);
        leave_out(&mut self.job.open_reason);
        for mark in
            self.operator_said.iter_mut().filter(|mark| !matches!(mark.say, "value" | "figure"))
        {
            leave_out(&mut mark.text);
        }
        for by in self.operator_said.iter_mut().filter_map(|mark| mark.by.as_mut()) {
            leave_out(by);
        }
        for photo in &mut self.photos {
            photo.leave_out();
            photo.by.iter_mut().for_each(leave_out);
        }
        for correction in &mut self.corrections {
            leave_out(&mut correction.text);
            if let Some(before) = &mut correction.before {
                leave_out(before);
            }
        }
        self
    }
}

fn leave_out(text: &mut Personal) {
    if matches!(text, Personal::Given(_)) {
        *text = Personal::LeftOut;
    }
}

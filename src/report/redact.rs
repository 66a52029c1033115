//! A report without what tells of people and their vehicles.

use crate::core::plan::{also_name, also_text};
use crate::report::Report;
use crate::report::model::{MarkReport, Personal};
use std::collections::BTreeSet;

impl Report {
    /// The same report without the vehicle's text, VIN and plate, the operator, the names of screens, photos, and everything that
    /// people wrote freely (notes, reasons, values). What was never given, or was erased, stays so. Names that they made up become numbered
    /// ones. The plan's own words and the warnings made of them stay.
    #[must_use]
    pub fn redacted(mut self) -> Self {
        self.redacted = true;
        leave_out(&mut self.vehicle.text);
        leave_out(&mut self.vehicle.vin);
        leave_out(&mut self.vehicle.plate);
        leave_out(&mut self.job.operator);
        leave_out(&mut self.job.open_reason);
        self.leave_out_names();
        for mark in &mut self.operator_said {
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

    /// Names that people made up themselves, for what they also opened and for what the plan does not have, become
    /// numbered ones.
    fn leave_out_names(&mut self) {
        let mut planned: BTreeSet<&str> = BTreeSet::new();
        for step in &self.steps {
            planned.insert(&step.group);
            planned.extend(step.fasteners.iter().map(|fastener| fastener.name.as_str()));
        }
        let made_up = |mark: &MarkReport| match mark.say {
            "also-opened" => mark.hold.clone(),
            _ => mark.fastener.clone().filter(|name| !planned.contains(name.as_str())),
        };
        let mut names: Vec<String> = self.operator_said.iter().filter_map(made_up).collect();
        names.sort();
        names.dedup();
        let mut shown: Vec<(String, String)> = Vec::new();
        for (name, number) in names.into_iter().zip(1..) {
            let instead = format!("left-out-{number}");
            shown.push((also_text(&name), also_text(&instead)));
            shown.push((also_name(&name), also_name(&instead)));
            shown.push((format!("\"{name}\""), format!("\"{instead}\"")));
            shown.push((name, instead));
        }
        let whole = |text: &mut String| {
            if let Some((_, instead)) = shown.iter().find(|(name, _)| name == text) {
                text.clone_from(instead);
            }
        };
        for mark in &mut self.operator_said {
            mark.fastener.iter_mut().chain(&mut mark.hold).for_each(whole);
        }
        for hold in &mut self.holds {
            whole(&mut hold.name);
            whole(&mut hold.text);
        }
        self.outcome.holds_not_confirmed.iter_mut().for_each(whole);
        self.photos.iter_mut().for_each(|photo| whole(&mut photo.about));
        // In a sentence only where it is asked or quoted: a name can be any word.
        let mut within: Vec<&(String, String)> =
            shown.iter().filter(|(name, _)| name.ends_with(['?', '"'])).collect();
        within.sort_by_key(|(name, _)| std::cmp::Reverse(name.len()));
        for warning in &mut self.warnings {
            for (name, instead) in &within {
                warning.text = warning.text.replace(name, instead);
            }
        }
    }
}

fn leave_out(text: &mut Personal) {
    if matches!(text, Personal::Given(_)) {
        *text = Personal::LeftOut;
    }
}

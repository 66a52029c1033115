//! How long a pull takes to be weighed, by members of its ring and by how much else the plan holds.
//!
//! `cargo bench --bench tracker`. Goals: 200 µs a pull up to six members, 2 ms up to twelve, whatever the
//! plan's size.
#![allow(clippy::unwrap_used)]

use clampbook::core::event::{AdapterInfo, Input, Motion, Moved, Reading, Reports, What};
use clampbook::core::plan::{Plan, parse};
use clampbook::core::time::Stamp;
use clampbook::core::tracker::Tracker;
use clampbook::core::units::Torque;
use criterion::{BatchSize, Criterion, Throughput};
use std::f64::consts::TAU;

const RADIUS_MM: f64 = 57.0;
const SD_MM: f64 = 15.0;

fn main() {
    let mut criterion = Criterion::default().configure_from_args();
    let mut group = criterion.benchmark_group("pulls");
    group.sample_size(10);
    for (members, groups) in [(4, 1), (6, 1), (6, 8), (12, 1), (12, 4)] {
        for (name, rotation, motion) in
            [("peak", false, false), ("rotation", true, false), ("motion", false, true)]
        {
            let plan = plan(members, groups);
            let inputs = inputs(&plan, rotation, motion);
            group.throughput(Throughput::Elements(inputs.len() as u64));
            group.bench_function(format!("{groups} rings of {members}, {name}"), |bencher| {
                bencher.iter_batched(
                    || (Tracker::new(plan.clone()), inputs.clone()),
                    |(mut tracker, inputs)| {
                        for input in inputs {
                            tracker.step(input);
                        }
                        tracker
                    },
                    BatchSize::LargeInput,
                );
            });
        }
    }
    group.finish();
    criterion.final_summary();
}

fn plan(members: u16, groups: usize) -> Plan {
    let mut text = "plan = \"Wheels\"\nsource = \"invented\"\ntolerance = \"±10 %\"\n".to_owned();
    for group in 1..=groups {
        text += &format!("[joints.wheel-{group}]\nring = {members}\ntarget = \"120 N·m\"\n");
    }
    parse(&text).unwrap().plan
}

/// The first ring tightened as the plan says, one of them twice, and checked once round.
fn inputs(plan: &Plan, rotation: bool, motion: bool) -> Vec<Input> {
    let order = &plan.steps[0].passes[0].order;
    let n = order.len();
    let mut pulled = order.clone();
    pulled.insert(n / 2, order[0]);
    pulled.extend(1..=n as u16);
    let reports = Reports { peak: true, rotation, motion, ..Reports::default() };
    let info = AdapterInfo {
        overdue_since: None,
        certificate: None,
        id: "A".to_owned(),
        serial: "SP-0001".to_owned(),
        drive: None,
        range: None,
        accuracy_pct: None,
        reports,
    };
    let mut inputs = vec![Input { at: Stamp(0), what: What::Adapter(info) }];
    let mut tight = vec![false; n];
    let place = |member: u16| {
        let angle = 0.4 + TAU * f64::from(member - 1) / n as f64;
        (RADIUS_MM * angle.sin(), RADIUS_MM * angle.cos())
    };
    for (index, member) in pulled.iter().enumerate() {
        let seq = index as u64 + 1;
        let at = Stamp::from_seconds(9.0 * seq as f64);
        let before = index.checked_sub(1).map(|before| place(pulled[before])).filter(|_| motion);
        if let Some(from) = before {
            let to = place(*member);
            let moved = Moved::Axes { right_mm: to.0 - from.0 + 4.0, up_mm: to.1 - from.1 - 3.0 };
            let adapter = "A".to_owned();
            let motion = Motion { adapter, from_seq: seq - 1, to_seq: seq, moved, sd_mm: SD_MM };
            inputs.push(Input { at, what: What::Motion(motion) });
        }
        let turned = if std::mem::replace(&mut tight[usize::from(member - 1)], true) {
            1.5
        } else {
            36.0 + (index % 5) as f64
        };
        let reading = Reading {
            adapter: "A".to_owned(),
            seq,
            peak: Torque::from_nm(118.0 + (index % 4) as f64),
            rotation_deg: rotation.then_some(turned),
            duration_ms: None,
            description: None,
        };
        inputs.push(Input { at, what: What::Reading(reading) });
    }
    inputs
}

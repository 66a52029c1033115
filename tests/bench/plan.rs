//! How long a plan takes to be read and to be checked, by its size.
//!
//! `cargo bench --bench plan`. Goal: a plan of 200 fasteners with dependencies in under 50 ms, adapters and all.
#![allow(clippy::unwrap_used)]

use clampbook::core::plan::{AdapterSheet, Setting, parse, review};
use criterion::{Criterion, Throughput};
use std::fmt::Write as _;

fn main() {
    let mut criterion = Criterion::default().configure_from_args();
    let sheets = [
        AdapterSheet::parse("adapter = \"small\"\nrange = \"12..60 N·m\"\ndeviation = \"±4 %\"\n"),
        AdapterSheet::parse(
            "adapter = \"large\"\nrange = \"40..280 N·m\"\nuncertainty = \"±1 %\"\n",
        ),
    ]
    .map(Result::unwrap);
    let setting = Setting { adapters: &sheets, today: Some("2026-05-16") };
    let mut group = criterion.benchmark_group("check");
    for fasteners in [48, 200, 800] {
        let text = plan(fasteners);
        let file = parse(&text).unwrap();
        assert_eq!(file.plan.fasteners().count(), fasteners);
        group.throughput(Throughput::Elements(fasteners as u64));
        group.bench_function(format!("read {fasteners} fasteners"), |bencher| {
            bencher.iter(|| parse(&text).unwrap());
        });
        group.bench_function(format!("read and check {fasteners} fasteners"), |bencher| {
            bencher.iter(|| {
                let file = parse(&text).unwrap();
                review(&file, &setting)
            });
        });
    }
    group.finish();
    criterion.final_summary();
}

/// So many fasteners, four a joint, each joint waiting for the one before and the one ten before, half of
/// them doubtful.
fn plan(fasteners: usize) -> String {
    let mut text = "plan = \"Large\"\nsource = \"invented\"\ntolerance = \"±10 %\"\n\
        [holds]\nseat-clean = \"Clean?\"\n"
        .to_owned();
    for joint in 0..fasteners / 4 {
        let side = if joint % 2 == 0 { "left" } else { "right" };
        let target = 40 + joint % 7 * 30;
        let _ = write!(
            text,
            "[joints.{side}-{}]\nring = 4\ntarget = \"{target} N·m\"\npasses = [\"50 %\", \"final\", \"check\"]\n\
             thread = \"M12×1.5\"\nclass = \"10.9\"\nhold = \"seat-clean\"\n",
            joint / 2
        );
        let earlier: Vec<String> = [joint.checked_sub(1), joint.checked_sub(10)]
            .into_iter()
            .flatten()
            .map(|other| {
                format!("\"{}-{}\"", if other % 2 == 0 { "left" } else { "right" }, other / 2)
            })
            .collect();
        if !earlier.is_empty() {
            let _ = writeln!(text, "after = [{}]", earlier.join(", "));
        }
    }
    text
}

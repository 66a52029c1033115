//! Plans from tables.

use clampbook::core::plan::{ImportOptions, import_csv};
use clampbook::core::units::TorqueUnit;
use insta::assert_snapshot;
use proptest::prelude::*;
use std::path::PathBuf;

fn table(name: &str) -> String {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("samples/tables").join(name);
    std::fs::read_to_string(path).unwrap()
}

fn options() -> ImportOptions {
    ImportOptions {
        name: "Corner".to_owned(),
        tolerance: Some("±10 %".to_owned()),
        source: Some("invented sheet".to_owned()),
        ..ImportOptions::default()
    }
}

/// The plan, or every problem.
fn told(text: &str, options: &ImportOptions) -> String {
    match import_csv("t.csv", text, options) {
        Ok(made) => {
            let remarks = made.remarks.iter().map(|remark| format!("! {remark}\n"));
            made.text + &remarks.collect::<String>()
        }
        Err(problems) => problems.iter().map(|problem| format!("{problem}\n")).collect(),
    }
}

#[test]
fn a_table_becomes_a_plan_with_its_columns_by_name() {
    assert_snapshot!(told(&table("corner.csv"), &options()));
}

#[test]
fn every_rows_problem_is_named_with_its_line() {
    assert_snapshot!(told(&table("broken.csv"), &options()));
}

#[test]
fn headings_that_are_otherwise_are_said_what_they_are() {
    let text = "Where\tHow tight\tColour\nHub nut\t168\tred\n";
    let pairs = |pairs: &[(&str, &str)]| {
        let owned = |(a, b): &(&str, &str)| ((*a).to_owned(), (*b).to_owned());
        pairs.iter().map(owned).collect::<Vec<_>>()
    };
    let named = ImportOptions {
        columns: pairs(&[("where", "joint"), ("How tight", "torque")]),
        unit: Some(TorqueUnit::PoundForceFoot),
        ..options()
    };
    assert_eq!(
        told(text, &named),
        "\
plan = \"Corner\"
tolerance = \"±10 %\"
source = \"invented sheet\"

[joints.hub-nut]
title = \"Hub nut\"
target = \"168 lbf·ft\"
! column `Colour` was not read; `--column \"Colour=notes\"` keeps it as a note
"
    );
    assert_eq!(
        told(text, &options()),
        "t.csv:1: error: expected a column with the names of the joints, but found none; head it `joint`, or say which it is with `--column HEADING=joint`\n"
    );
    let wrong = ImportOptions {
        columns: pairs(&[("Wher", "joint"), ("Colour", "hue of it")]),
        ..options()
    };
    assert_eq!(
        told(text, &wrong),
        "\
t.csv:1: error: expected a heading of the table, but found `Wher`; did you mean `where`?
t.csv:1: error: expected what a column can be, but found `hue of it`; known here: joint, title, target, unit, min, max, tolerance, count, pattern, order, angle, after, socket, drive, thread, class, condition, lubrication, hold-with, single-use, new-parts, recheck, source, notes
"
    );
}

#[test]
fn limits_in_columns_of_their_own_become_the_window() {
    let text = "joint,min,max,torque,unit,angle\na,32,44,,Nm,\nb,32,,,Nm,\nc,95,110,100,lbf·ft,\nd,,,70,Nm,90\n";
    let plan = told(text, &options());
    for line in [
        "target = \"32 to 44 N·m\"",
        "target = \"min 32 N·m\"",
        "target = \"100 lbf·ft +10/-5 lbf·ft\"",
        "passes = [\"final\", \"90°\"]",
    ] {
        assert!(plan.contains(line), "{line} in\n{plan}");
    }
}

#[test]
fn an_empty_table_and_one_without_rows_are_told_so() {
    assert!(told("", &options()).contains("expected a column with the names of the joints"));
    assert_eq!(
        told("joint,torque\n,\n", &options()),
        "t.csv: error: expected a row for each joint below the headings, but found none; write one row a joint\n"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// No text makes the reader of tables panic, and what it takes is a plan.
    #[test]
    fn any_table_is_read_or_refused(rows in prop::collection::vec("[a-c0-9,;\"±N·m% .°\n-]{0,40}", 0..8)) {
        let text = format!("joint,torque,count,tolerance,after,notes\n{}", rows.join("\n"));
        if let Err(problems) = import_csv("t.csv", &text, &options()) {
            prop_assert!(!problems.is_empty());
        }
    }
}

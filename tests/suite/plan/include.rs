//! Fragments that several plans share.

use super::{good, sample};
use clampbook::core::plan::{Expect, Included, expand, parse};
use std::collections::HashMap;

/// Takes in from a few files that are there; names are paths already.
fn taken(text: &str, files: &[(&str, &str)]) -> Result<Included, String> {
    let files: HashMap<&str, &str> = files.iter().copied().collect();
    let mut read = |name: &str, _: &str| {
        let text = files.get(name).ok_or("no such file")?;
        Ok((name.to_owned(), (*text).to_owned()))
    };
    expand(text, &mut read).map_err(|faults| {
        let told = |(file, fault): &(Option<String>, _)| {
            format!("{}:{fault}\n", file.as_deref().unwrap_or("plan"))
        };
        faults.iter().map(told).collect()
    })
}

/// The text of the sample with its fragments.
fn van() -> Included {
    let text = sample("shared/rear-wheels.toml");
    let mut read = |name: &str, base: &str| {
        let path = if base.is_empty() { name.to_owned() } else { format!("fragments/{name}") };
        Ok((path.clone(), sample(&format!("shared/{path}"))))
    };
    expand(&text, &mut read).unwrap()
}

#[test]
fn a_plan_gives_the_values_and_a_fragment_all_else() {
    let included = van();
    let plan = good(&included.text).plan;
    let told: Vec<String> = plan
        .steps
        .iter()
        .map(|step| {
            let window = step.passes.iter().find_map(|pass| match &pass.expect {
                Expect::Window(window) if pass.check => Some(window.to_string()),
                _ => None,
            });
            format!(
                "{}, ring of {}: {}; {}",
                step.group,
                step.members,
                window.unwrap_or_default(),
                step.notes.join(", ")
            )
        })
        .collect();
    assert_eq!(
        told,
        [
            "rear-left-wheel, ring of 6: 148.5–181.5 N·m; ",
            "rear-right-wheel, ring of 6: 148.5–181.5 N·m; the locking nut sits at the valve",
        ]
    );
    assert_eq!(plan.holds.len(), 1, "from a fragment of the fragment");
    assert!(!included.text.contains("include"));
}

#[test]
fn a_text_that_includes_nothing_stays_as_it_is() {
    for text in ["", "plan = \"p\"\n[joints]\na = \"9 N·m\"\n", "= broken", "\u{feff}plan = \"p\""]
    {
        assert_eq!(taken(text, &[]).unwrap().text, text);
    }
}

#[test]
fn a_fault_is_told_with_its_own_file_and_line() {
    let plan = "plan = \"p\"\nsource = \"s\"\ntolerance = \"±10 %\"\ninclude = \"a\"\n\n[joints.x]\ntarget = \"9 lb\"\n";
    let part = "# Two joints.\n\n[joints.x]\nsocket = 13\n\n[joints.y]\n# how tight\ntarget = \"9 N·m\"\nafter = \"z\"\n";
    let included = taken(plan, &[("a", part)]).unwrap();
    let faults = parse(&included.text).unwrap_err();
    let told: Vec<String> = faults
        .iter()
        .map(|fault| {
            let (file, fault) = included.place(fault);
            format!("{}:{fault}", file.unwrap_or("plan"))
        })
        .collect();
    let mut told = told;
    told.sort();
    assert_eq!(
        told,
        [
            "a:4:10: error: expected text for `socket`, but found the number 13; put it in double quotes",
            "a:9:9: error: expected the name of a joint in `after`, but found `z`; write the name of a joint of this plan",
            "plan:7:10: error: expected a torque unit, but found `lb`, which may mean foot or inch; write `lbf·ft` or `lbf·in`",
        ]
    );
}

#[test]
fn files_that_cannot_be_taken_in_are_named() {
    let told = |text: &str, files: &[(&str, &str)]| taken(text, files).unwrap_err();
    assert_eq!(
        told("plan = \"p\"\ninclude = [\"no\", \"a\"]\n", &[("a", "[joints]\nx = \"?\"\n")]),
        "plan:2:1: error: expected a file to include, but found: `no`: no such file; name it as seen from the file that includes it\n"
    );
    assert_eq!(
        told("include = 1\n", &[]),
        "plan:1:1: error: expected names of files for `include`, but found another value; write `include = [\"wheel.toml\"]`\n"
    );
    assert_eq!(
        told("include = \"a\"\n", &[("a", "include = \"b\"\n"), ("b", "\ninclude = \"a\"\n")]),
        "b:2:1: error: expected another file to include, but found `a` in itself; take one `include` of the circle away\n"
    );
    assert_eq!(
        told(
            "include = [\"a\", \"b\"]\n",
            &[("a", "[joints]\nx = \"?\"\n"), ("b", "[joints.x]\nring = 5\n")]
        ),
        "b:1:1: error: expected each of `[joints]` in one fragment, but found `x` in two; take it out of one; `a` has it, too\n"
    );
    assert_eq!(
        told("include = \"a\"\n", &[("a", "source = \"s\"\n")]),
        "a:1:1: error: expected only `[holds]`, `[joints]`, `[opened]`, `[put-in]`, `[as-found]`, `[closing]` in a fragment, but found `source`; move it to the plan itself\n"
    );
    let broken = told("include = \"a\"\n", &[("a", "[joints]\nx = \n")]);
    assert!(
        broken.starts_with("a:2:1: error: expected a fragment of a plan, but found: "),
        "{broken}"
    );
}

#[test]
fn a_job_takes_no_plan_that_is_not_in_one_piece() {
    let faults = parse("plan = \"p\"\nsource = \"s\"\ntolerance = \"±10 %\"\ninclude = \"a\"\n[joints]\na = \"9 N·m\"\n").unwrap_err();
    assert_eq!(
        faults.iter().map(ToString::to_string).collect::<Vec<_>>(),
        [
            "4:11: error: expected a plan in one piece, but found `include`; start the job from the command line, which takes the files in; or print the whole with `clampbook plan show --text FILE`"
        ]
    );
}

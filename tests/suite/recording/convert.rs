//! What the core is told.

use super::{ADAPTER, HEADER, read, reading_line, told};
use clampbook::core::event::{Reading, What};

#[test]
fn the_core_is_told_in_order_of_arrival_and_of_gaps_before_what_follows_them() {
    let text = [
        HEADER.to_owned(),
        ADAPTER.to_owned(),
        r#"{"kind":"mark","t":0.5,"say":"at","fastener":"wheel/1"}"#.to_owned(),
        reading_line(1.0, "a", 7, 90.0),
        reading_line(4.0, "a", 10, 93.0),
        reading_line(2.0, "a", 8, 91.0),
        reading_line(2.0, "a", 8, 91.0),
        r#"{"kind":"link","t":4.5,"adapter":"a","state":"lost"}"#.to_owned(),
        reading_line(3.5, "b", 1, 20.0),
        reading_line(5.0, "a", 14, 94.0),
    ]
    .join("\n");
    assert_eq!(
        told(&text),
        [
            "0.000 adapter a",
            "0.500 mark At { fastener: \"wheel/1\" }",
            "1.000 reading a/7 90.0",
            "4.000 gap a 9-9",
            "4.000 reading a/10 93.0",
            "2.000 reading a/8 91.0",
            "4.500 link a Lost",
            "3.500 reading b/1 20.0",
            "5.000 gap a 11-13",
            "5.000 reading a/14 94.0",
            "5.000 end",
        ]
    );
}

#[test]
fn a_number_that_comes_back_with_other_values_is_named_and_the_first_is_used() {
    let recording = read(&format!(
        "{HEADER}\n{}\n{}\n",
        reading_line(1.0, "a", 1, 90.0),
        reading_line(1.0, "a", 1, 60.0)
    ));
    let converted = recording.convert();
    assert_eq!(converted.inputs.len(), 2);
    assert_eq!(
        converted.problems[0].to_string(),
        "line 3: expected reading 1 of adapter `a` only once, but found it again with other values; the first one is used"
    );
}

/// Two pulls of 50 and 80 N·m as triangles, in blocks of `block` samples at 100 Hz.
fn two_pulls(block: usize) -> String {
    let mut samples = Vec::new();
    for peak in [50.0, 80.0] {
        for index in 0..200 {
            let share = 1.0 - (f64::from(index) - 100.0).abs() / 100.0;
            samples.push((peak * share, 0.1));
        }
        samples.extend((0..100).map(|_| (0.0, 0.0)));
    }
    let mut text =
        format!("{HEADER}\n{}\n", ADAPTER.replace("[\"peak\"]", "[\"trace\",\"rotation\"]"));
    for (index, block_samples) in samples.chunks(block).enumerate() {
        let mut turned = 0.0;
        let (nm, deg): (Vec<f64>, Vec<f64>) = block_samples
            .iter()
            .map(|(nm, step)| {
                turned += step;
                (*nm, turned)
            })
            .unzip();
        text.push_str(&format!(
            r#"{{"kind":"trace","t":{},"adapter":"a","rate_hz":100,"nm":{nm:?},"deg":{deg:?}}}"#,
            (index * block) as f64 / 100.0
        ));
        text.push('\n');
    }
    text
}

#[test]
fn pulls_of_an_adapter_that_sends_only_traces_are_found_whatever_the_blocks() {
    let whole = read(&two_pulls(600)).convert();
    let readings: Vec<&Reading> = whole
        .inputs
        .iter()
        .filter_map(|input| match &input.what {
            What::Reading(reading) => Some(reading),
            _ => None,
        })
        .collect();
    assert_eq!(readings.len(), 2);
    assert_eq!((readings[0].seq, readings[0].peak.nm()), (1, 50.0));
    assert_eq!((readings[1].seq, readings[1].peak.nm()), (2, 80.0));
    for reading in readings {
        let turned = reading.rotation_deg.unwrap();
        assert!((turned - 18.0).abs() < 0.5, "turned {turned}°");
    }
    for block in [1, 7, 64, 150] {
        let split = read(&two_pulls(block)).convert();
        assert_eq!(split.inputs.len(), whole.inputs.len());
        for (split, whole) in split.inputs.iter().zip(&whole.inputs) {
            let close = match (&split.what, &whole.what) {
                (What::Reading(split), What::Reading(whole)) => {
                    split.peak == whole.peak
                        && (split.rotation_deg.unwrap() - whole.rotation_deg.unwrap()).abs() < 1e-6
                }
                (split, whole) => split == whole,
            };
            assert!(close, "blocks of {block}: {split:?} is not {whole:?}");
        }
    }
}

#[test]
fn an_adapter_that_sends_readings_beside_traces_is_taken_at_its_word() {
    let text = format!("{}{}\n", two_pulls(600), reading_line(1.0, "a", 1, 50.4));
    let expected =
        ["0.000 adapter a", "1.000 reading a/1 50.4", "1.000 described a/1", "5.990 end"];
    assert_eq!(told(&text), expected);
}

#[test]
fn nonsense_in_a_trace_is_named_once_a_kind_and_adapter_and_the_rest_is_read() {
    let block = |t: f64, adapter: &str, rate: f64, nm: &str| {
        format!(
            r#"{{"kind":"trace","t":{t:?},"adapter":"{adapter}","rate_hz":{rate:?},"nm":[{nm}]}}"#
        )
    };
    let text = [
        HEADER.to_owned(),
        block(1.0, "a", 100.0, "0.1, 90000.0, 0.2"),
        block(1.03, "a", 100.0, "0.1, -90000.0, 90000.0, 0.2"),
        block(1.07, "a", 1.0, "0.1, 0.2"),
        block(0.5, "a", 100.0, "0.1, 0.2"),
        block(1.07, "b", 100.0, "0.1, 90000.0"),
        block(1.07, "a", 2.0, "0.1, 0.2"),
    ]
    .join("\n");
    let problems = read(&text).convert().problems;
    let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "line 2: adapter `a` sends a trace that cannot all be read: expected torque as a number \
             below 20000 N·m, but found 1 samples that are not; they count as missing; \
             check the adapter's cable and range",
            "line 4: adapter `a` sends a trace that cannot all be read: expected a sampling rate of \
             5 to 20000 Hz, but found 1 Hz; the block is passed over; \
             set the adapter's trace to a rate in that range",
            "line 5: adapter `a` sends a trace that cannot all be read: expected a block of samples \
             after 1070000 µs, but found one that starts at 500000 µs; it is passed over; \
             check the clock of the adapter",
            "line 7: adapter `b` sends a trace that cannot all be read: expected torque as a number \
             below 20000 N·m, but found 1 samples that are not; they count as missing; \
             check the adapter's cable and range",
        ]
    );
}

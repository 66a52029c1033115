//! Threads, strength, friction and fit against worked figures.

use clampbook::core::joint::{
    Condition, Fit, Grade, Seat, SlotPitch, Thread, assembly_preload, iso16047_torque, nut_factor,
    reference_torque, split, utilisation,
};
use clampbook::core::units::{Torque, TorqueUnit};

/// Thread, A_s in mm², then proof load in kN and T75 in N·m of 8.8, 10.9 and 12.9.
const METRIC: [(&str, [&str; 7]); 22] = [
    ("M6×1", ["20.1", "11.7", "10.5", "16.7", "15.0", "19.5", "17.6"]),
    ("M8×1.25", ["36.6", "21.2", "25.5", "30.4", "36.5", "35.5", "42.6"]),
    ("M8×1", ["39.2", "22.7", "27.3", "32.5", "39.0", "38.0", "45.6"]),
    ("M10×1.5", ["58.0", "33.6", "50.5", "48.1", "72.2", "56.2", "84.4"]),
    ("M10×1.25", ["61.2", "35.5", "53.2", "50.8", "76.2", "59.4", "89.0"]),
    ("M10×1", ["64.5", "37.4", "56.1", "53.5", "80.3", "62.6", "93.8"]),
    ("M12×1.75", ["84.3", "48.9", "88.0", "69.9", "126", "81.7", "147"]),
    ("M12×1.5", ["88.1", "51.1", "92.0", "73.1", "132", "85.5", "154"]),
    ("M12×1.25", ["92.1", "53.4", "96.1", "76.4", "138", "89.3", "161"]),
    ("M14×2", ["115.4", "67.0", "141", "95.8", "201", "112.0", "235"]),
    ("M14×1.5", ["124.5", "72.2", "152", "103.4", "217", "120.8", "254"]),
    ("M16×2", ["156.7", "90.9", "218", "130.0", "312", "152.0", "365"]),
    ("M16×1.5", ["167.2", "97.0", "233", "138.8", "333", "162.2", "389"]),
    ("M18×2.5", ["192.5", "115.5", "312", "159.8", "431", "186.7", "504"]),
    ("M18×1.5", ["216.2", "129.7", "350", "179.5", "485", "209.7", "566"]),
    ("M20×2.5", ["244.8", "146.9", "441", "203.2", "610", "237.5", "712"]),
    ("M20×1.5", ["271.5", "162.9", "489", "225.3", "676", "263.4", "790"]),
    ("M22×2.5", ["303.4", "182.0", "601", "251.8", "831", "294.3", "971"]),
    ("M22×1.5", ["333.1", "199.8", "659", "276.4", "912", "323.1", "1066"]),
    ("M24×3", ["352.5", "211.5", "761", "292.6", "1053", "341.9", "1231"]),
    ("M24×2", ["384.4", "230.6", "830", "319.1", "1149", "372.9", "1342"]),
    ("M24×1.5", ["400.9", "240.5", "866", "332.7", "1198", "388.9", "1400"]),
];

/// Thread, A_s in in² and mm², then proof load in lbf, T75 in lbf·ft and in N·m of grades 5 and 8.
const UNIFIED: [(&str, [&str; 8]); 14] = [
    ("1/4-20", ["0.0318", "20.5", "2705", "8.45", "11.5", "3819", "11.9", "16.2"]),
    ("1/4-28", ["0.0364", "23.5", "3092", "9.66", "13.1", "4365", "13.6", "18.5"]),
    ("5/16-18", ["0.0524", "33.8", "4457", "17.4", "23.6", "6292", "24.6", "33.3"]),
    ("5/16-24", ["0.0581", "37.5", "4936", "19.3", "26.1", "6968", "27.2", "36.9"]),
    ("3/8-16", ["0.0775", "50.0", "6587", "30.9", "41.9", "9299", "43.6", "59.1"]),
    ("3/8-24", ["0.0878", "56.7", "7465", "35.0", "47.4", "10539", "49.4", "67.0"]),
    ("7/16-20", ["0.1187", "76.6", "10091", "55.2", "74.8", "14246", "77.9", "106"]),
    ("1/2-13", ["0.1419", "91.5", "12061", "75.4", "102", "17028", "106", "144"]),
    ("1/2-20", ["0.1600", "103.2", "13596", "85.0", "115", "19194", "120", "163"]),
    ("9/16-18", ["0.2030", "131.0", "17253", "121", "164", "24358", "171", "232"]),
    ("5/8-18", ["0.2560", "165.1", "21756", "170", "230", "30715", "240", "325"]),
    ("3/4-16", ["0.3730", "240.6", "31702", "297", "403", "44755", "420", "569"]),
    ("7/8-14", ["0.5095", "328.7", "43305", "474", "642", "61137", "669", "907"]),
    ("1-12", ["0.6630", "427.8", "56358", "704", "955", "79565", "995", "1350"]),
];

const MM2_PER_IN2: f64 = 645.16;
const N_PER_LBF: f64 = 4.448_221_615_260_5;

#[track_caller]
fn thread(name: &str) -> Thread {
    name.parse().unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// `value` as it is printed: with as many decimals as `printed`, and a thousand and more to three digits
/// where that is how it is printed.
fn like(printed: &str, value: f64) -> String {
    if printed.len() == 4 && printed.ends_with('0') && !printed.contains('.') {
        return format!("{:.0}0", value / 10.0);
    }
    let places = printed.split_once('.').map_or(0, |(_, places)| places.len());
    format!("{value:.places$}")
}

#[test]
fn the_table_of_metric_threads_comes_out_to_the_digit() {
    for (name, printed) in METRIC {
        let thread = thread(name);
        let mut values = vec![thread.stress_area_mm2()];
        for grade in [Grade::C8_8, Grade::C10_9, Grade::C12_9] {
            values.push(grade.proof_load_n(&thread).unwrap() / 1000.0);
            values.push(0.75 * reference_torque(&thread, grade).unwrap().nm());
        }
        let found: Vec<String> =
            printed.iter().zip(values).map(|(printed, value)| like(printed, value)).collect();
        assert_eq!(found, printed, "{name}");
    }
}

#[test]
fn the_table_of_unified_threads_comes_out_to_the_digit() {
    for (name, printed) in UNIFIED {
        let thread = thread(name);
        let area = thread.stress_area_mm2();
        let mut values = vec![area / MM2_PER_IN2, area];
        for grade in [Grade::Grade5, Grade::Grade8] {
            let torque = 0.75 * reference_torque(&thread, grade).unwrap().nm();
            values.push(grade.proof_load_n(&thread).unwrap() / N_PER_LBF);
            values.push(torque / TorqueUnit::PoundForceFoot.newton_metres());
            values.push(torque);
        }
        let found: Vec<String> =
            printed.iter().zip(values).map(|(printed, value)| like(printed, value)).collect();
        assert_eq!(found, printed, "{name}");
    }
}

#[test]
fn threads_are_read_as_people_write_them_and_printed_in_one_form() {
    for (text, printed) in [
        ("M12×1.5", "M12×1.5"),
        ("M12x1,5", "M12×1.5"),
        (" m12 X 1.5 ", "M12×1.5"),
        ("M12", "M12×1.75"),
        ("M8", "M8×1.25"),
        ("1/2-20", "1/2-20"),
        ("7/16-20 UNF", "7/16-20"),
        ("1/2\"-13 UNC", "1/2-13"),
        ("1 1/8-12", "1 1/8-12"),
        ("1-12", "1-12"),
        ("#10-32", "0.190-32"),
    ] {
        assert_eq!(thread(text).to_string(), printed, "{text}");
    }
    for text in
        ["", "M", "M13", "M12×9", "12×1.5", "1/0-20", "M1e3×1", "fine", "1/2-999", "M12×1.5×2"]
    {
        let error = text.parse::<Thread>().expect_err(text);
        assert_eq!(
            error.to_string(),
            format!("expected a thread, but found `{text}`; write it like `M12×1.5` or `1/2-20`")
        );
    }
}

#[test]
fn a_standard_says_nothing_of_sizes_that_it_does_not_cover() {
    assert_eq!(Grade::C8_8.proof_mpa(&thread("1/2-20")), None);
    assert_eq!(Grade::Grade5.proof_mpa(&thread("M12×1.5")), None);
    assert_eq!(Grade::C8_8.proof_mpa(&thread("M42×3")), None);
    assert_eq!(Grade::C8_8.yield_mpa(&thread("M16×2")), Some(640.0));
    assert_eq!(Grade::C8_8.yield_mpa(&thread("M18×2.5")), Some(660.0));
    let mpa = |psi: f64| psi * N_PER_LBF / MM2_PER_IN2;
    assert!((Grade::Grade5.yield_mpa(&thread("1 1/8-12")).unwrap() - mpa(81_000.0)).abs() < 1e-9);
}

/// M12×1.75 with a hexagon head: mean bearing diameter of 16.63 and 13.5 mm.
const HEAD_MM: f64 = (16.63 + 13.5) / 2.0;

#[test]
fn nut_factors_of_a_hexagon_head_come_out_to_the_digit() {
    let m12 = thread("M12×1.75");
    for (mu, printed) in [
        (0.08, "0.115"),
        (0.10, "0.138"),
        (0.12, "0.161"),
        (0.14, "0.184"),
        (0.16, "0.207"),
        (0.20, "0.253"),
    ] {
        assert_eq!(like(printed, nut_factor(&m12, mu, mu, HEAD_MM, Seat::Flat)), printed, "{mu}");
    }
    let shares = split(&m12, 0.14, 0.14, HEAD_MM, Seat::Flat);
    let shares =
        [shares.stretch, shares.thread, shares.seat].map(|share| format!("{:.1}", share * 100.0));
    assert_eq!(shares, ["12.6", "39.7", "47.7"]);
}

#[test]
fn a_ball_and_a_cone_take_more_torque_for_the_same_stretch() {
    let stud = thread("M12×1.5");
    let k = |bearing, seat| format!("{:.3}", nut_factor(&stud, 0.14, 0.14, bearing, seat));
    assert_eq!(
        [k(HEAD_MM, Seat::Flat), k(16.0, Seat::Ball), k(16.0, Seat::Cone)],
        ["0.182", "0.226", "0.281"]
    );
    let preload = |k: f64| format!("{:.1}", 110.0 / (k * 0.012) / 1000.0);
    assert_eq!([preload(0.20), preload(0.28)], ["45.8", "32.7"]);
}

#[test]
fn nine_tenths_of_yield_needs_the_torque_of_the_usual_tables() {
    let m12 = thread("M12×1.75");
    let stress = 0.9 * Grade::C8_8.yield_mpa(&m12).unwrap();
    for (mu, kilonewtons, torque) in [(0.12, "43.1", "83.4"), (0.14, "42.0", "92.8")] {
        let preload = assembly_preload(&m12, mu, stress);
        let k = nut_factor(&m12, mu, mu, HEAD_MM, Seat::Flat);
        assert_eq!(like(kilonewtons, preload / 1000.0), kilonewtons, "{mu}");
        assert_eq!(like(torque, k * 0.012 * preload), torque, "{mu}");
    }
}

/// Hexagon heads: thread, width of the bearing face and of the hole, millimetres.
const HEADS: [(&str, f64, f64); 5] = [
    ("M8×1.25", 11.63, 9.0),
    ("M10×1.5", 14.63, 11.0),
    ("M12×1.75", 16.63, 13.5),
    ("M14×2", 19.64, 15.5),
    ("M16×2", 22.49, 17.5),
];

#[test]
fn the_formula_of_iso_16047_agrees_within_seven_thousandths() {
    for (name, face, hole) in HEADS {
        let thread = thread(name);
        let bearing = f64::midpoint(face, hole);
        for mu in [0.08, 0.12, 0.16, 0.20] {
            let long =
                nut_factor(&thread, mu, mu, bearing, Seat::Flat) * thread.diameter_mm / 1000.0;
            let ratio = iso16047_torque(&thread, mu, mu, bearing, 1.0) / long;
            assert!((ratio - 1.0).abs() < 0.007, "{name}, {mu}: {ratio}");
        }
    }
}

#[test]
fn bolts_yield_where_the_bounds_of_fit_expect_it() {
    for (mu, least, most) in [
        (0.08, 0.57, 0.62),
        (0.10, 0.68, 0.73),
        (0.12, 0.78, 0.82),
        (0.14, 0.87, 0.92),
        (0.16, 0.96, 1.00),
        (0.20, 1.11, 1.16),
        (0.25, 1.27, 1.32),
        (0.30, 1.39, 1.45),
    ] {
        for (name, face, hole) in HEADS {
            let thread = thread(name);
            let bearing = f64::midpoint(face, hole);
            for grade in [Grade::C8_8, Grade::C10_9, Grade::C12_9] {
                let preload = assembly_preload(&thread, mu, grade.yield_mpa(&thread).unwrap());
                let k = nut_factor(&thread, mu, mu, bearing, Seat::Flat);
                let torque = Torque::from_nm(k * thread.diameter_mm / 1000.0 * preload);
                let u = utilisation(torque, &thread, grade).unwrap();
                assert!(u > least - 0.015 && u < most + 0.015, "{name} {grade}, {mu}: {u}");
            }
        }
    }
}

#[test]
fn targets_are_judged_by_thread_grade_and_seat() {
    let of = |name: &str, grade, unit: TorqueUnit, value: f64, seat| {
        let torque = Torque::from_nm(value * unit.newton_metres());
        let u = utilisation(torque, &thread(name), grade).unwrap();
        (format!("{u:.2}"), Fit::of(u, seat))
    };
    let (nm, ft) = (TorqueUnit::NewtonMetre, TorqueUnit::PoundForceFoot);
    let stud = |unit, value| of("M12×1.5", Grade::C10_9, unit, value, Seat::Flat);
    assert_eq!(stud(nm, 110.0), ("0.63".to_owned(), Fit::Usual));
    // Pounds and feet for newtons and metres go unseen here.
    assert_eq!(stud(ft, 110.0), ("0.85".to_owned(), Fit::Usual));
    assert_eq!(stud(TorqueUnit::KilogramForceMetre, 110.0), ("6.14".to_owned(), Fit::Beyond));
    assert_eq!(stud(TorqueUnit::PoundForceInch, 110.0), ("0.07".to_owned(), Fit::Doubtful));
    assert_eq!(of("M8×1.25", Grade::C8_8, nm, 25.0, Seat::Flat), ("0.74".to_owned(), Fit::Usual));
    assert_eq!(
        of("M8×1.25", Grade::C8_8, ft, 25.0, Seat::Flat),
        ("1.00".to_owned(), Fit::MayYield)
    );
    assert_eq!(of("M8×1.25", Grade::C8_8, ft, 25.0, Seat::Cone), ("1.00".to_owned(), Fit::Usual));
    assert_eq!(of("M14×1.5", Grade::C10_9, nm, 160.0, Seat::Cone), ("0.55".to_owned(), Fit::Usual));
    assert_eq!(
        [0.04, 0.05, 0.15, 0.30, 0.92, 1.16, 1.45, 1.46].map(|u| Fit::of(u, Seat::Flat)),
        [
            Fit::Implausible,
            Fit::Doubtful,
            Fit::Low,
            Fit::Usual,
            Fit::MayYield,
            Fit::Yields,
            Fit::Yields,
            Fit::Beyond
        ]
    );
}

#[test]
fn another_condition_of_the_threads_changes_the_preload_by_the_ratio_of_nut_factors() {
    let more = |actual: Condition, published| {
        format!("{:+.0} %", (actual.preload_ratio(published) - 1.0) * 100.0)
    };
    assert_eq!(more(Condition::Paste, Condition::Dry), "+54 %");
    assert_eq!(more(Condition::LightOil, Condition::Dry), "+33 %");
    assert_eq!(more(Condition::Dry, Condition::Dry), "+0 %");
    for condition in Condition::ALL {
        let k = condition.nut_factor();
        assert!(k.least < k.usual && k.usual < k.most, "{condition}");
    }
}

#[test]
fn a_slot_meets_a_hole_every_sixty_or_thirty_degrees() {
    for (slots, holes, degrees) in
        [(6, 1, 60.0), (6, 2, 30.0), (8, 1, 45.0), (8, 2, 45.0), (10, 1, 36.0)]
    {
        let pitch = SlotPitch::of(slots, holes).unwrap();
        assert!(
            (pitch.degrees() - degrees).abs() < 1e-9,
            "{slots} slots, {holes} holes: {pitch:?}"
        );
        assert!((pitch.expected() - degrees / 2.0).abs() < 1e-9);
    }
    assert_eq!(SlotPitch::of(0, 1), None);
    assert_eq!(SlotPitch::of(6, 0), None);
    assert_eq!(SlotPitch::from_degrees(0.0), None);
}

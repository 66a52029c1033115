//! The vehicle identification number: what can be checked of it (ISO 3779; 49 CFR 565.15, check digit).
//!
//! Nothing here is an error: many vehicles carry no check digit, and older ones other numbers.

use crate::core::plan::fault::{Code, Complaint};

/// Weights of the seventeen positions, 49 CFR 565.15 table V; the check digit's own is zero.
const WEIGHTS: [u32; 17] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];

/// What is remarkable about `vin`, if anything. The text never repeats the number.
pub(super) fn remark(vin: &str) -> Option<Complaint> {
    let remark = |message: String, remedy: &str| Some(Complaint::new(Code::Vin, message, remedy));
    let vin: Vec<char> = vin.chars().map(|c| c.to_ascii_uppercase()).collect();
    if vin.len() != WEIGHTS.len() {
        return remark(
            format!("expected 17 characters in `vin`, but found {}", vin.len()),
            "compare with the plate; vehicles built before 1981 may have fewer",
        );
    }
    let mut sum = 0;
    for (&c, weight) in vin.iter().zip(WEIGHTS) {
        let Some(value) = transliterate(c) else {
            return remark(
                format!("expected digits and letters without I, O and Q in `vin`, but found `{c}`"),
                "compare with the plate",
            );
        };
        sum += value * weight;
    }
    let check = match sum % 11 {
        10 => 'X',
        digit => char::from_digit(digit, 10).unwrap_or('X'),
    };
    if vin[8] == check {
        return None;
    }
    remark(
        format!("expected the check digit {check} at position 9 of `vin`, but found {}", vin[8]),
        "compare with the plate; vehicles not built for North America need no check digit",
    )
}

/// 49 CFR 565.15 table IV.
fn transliterate(c: char) -> Option<u32> {
    match c {
        '0'..='9' => c.to_digit(10),
        'A'..='H' => Some(c as u32 - 'A' as u32 + 1),
        'J'..='N' => Some(c as u32 - 'J' as u32 + 1),
        'P' => Some(7),
        'R' => Some(9),
        'S'..='Z' => Some(c as u32 - 'S' as u32 + 2),
        _ => None,
    }
}

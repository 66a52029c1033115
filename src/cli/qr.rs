//! A link as a code that a camera reads.

use crate::cli::printer::Printer;
use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;

/// Shows a link that lets a phone in, and says what to bear in mind. `fingerprint` is that of a certificate for
/// which nobody vouches.
pub fn show_link(printer: Printer, link: &str, fingerprint: Option<&str>) {
    if let Some(code) = code(link) {
        printer.talk(code);
    }
    printer.talk(format_args!("On the phone, within ten minutes: {link}\nIt works once."));
    match fingerprint {
        Some(fingerprint) => printer.talk(format_args!(
            "The phone will warn that nobody vouches for the certificate. Look at it there, and go on only if its \
             SHA-256 fingerprint is\n{fingerprint}"
        )),
        None if link.starts_with("https:") => {}
        None => printer.talk("Whoever shares the network can read along: use one that is yours."),
    }
}

/// The code, drawn with half blocks; none if the text is too long for one.
///
/// Dark on light also where letters are light on dark: a camera wants it so.
fn code(text: &str) -> Option<String> {
    let code = QrCode::new(text).ok()?;
    // A terminal's letters are taken to be the light ones.
    let mut drawing = code.render::<Dense1x2>();
    drawing.dark_color(Dense1x2::Light).light_color(Dense1x2::Dark).quiet_zone(true);
    Some(drawing.build())
}

#[cfg(test)]
mod tests {
    use super::code;

    #[test]
    fn a_link_becomes_a_square_with_a_quiet_zone() {
        let code = code("http://192.0.2.7:4711/enter#ABCD-EFGH-JKLM-NPQR").unwrap();
        let lines: Vec<Vec<char>> = code.lines().map(|line| line.chars().collect()).collect();
        let side = lines[0].len();
        assert!(lines.iter().all(|line| line.len() == side));
        assert_eq!(lines.len(), side.div_ceil(2));
        // Version 4 has 33 modules a side (ISO/IEC 18004), and four of margin on each.
        assert!(side >= 25 + 8, "{side}");
        assert_eq!(lines[0], vec!['█'; side], "the margin is light, and light is what is drawn");
    }
}

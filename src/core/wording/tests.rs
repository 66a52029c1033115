use super::{TABLE, in_every_language, take, told};
use crate::core::language::Language;

#[test]
fn every_language_has_every_sentence_with_the_same_places_and_no_fault() {
    TABLE.check();
}

#[test]
fn a_sentence_is_told_with_its_names_figures_and_parts() {
    for (english, language, expected) in [
        (
            "Stop. wheel/3 is over: 141.2 N·m, but 108.0–132.0 N·m is asked. A later good pull does not clear it: \
             slacken it, look at stud and seat, then pull again.",
            Language::German,
            "Halt. wheel/3 ist zu fest angezogen: 141,2 N·m, gefordert ist 108,0–132,0 N·m. Ein späterer guter Zug \
             hebt das nicht auf: lösen, Bolzen und Sitz ansehen, dann nochmals ziehen.",
        ),
        (
            "Stop. a fastener of wheel is over: 141.2 N·m, but at least 132.5 N·m is asked. A later good pull does \
             not clear it: take it out and fit a new one.",
            Language::French,
            "Stop. Un élément de wheel est trop serré : 141,2 N·m, demandé : au moins 132,5 N·m. Un bon \
             serrage ensuite n’y change rien : déposez-le et montez-en un neuf.",
        ),
        (
            "One of wheel was left out in pass 2 of 3: wheel/1 (48 %) or wheel/2 (31 %) or wheel/5 (21 %). Go back \
             to those.",
            Language::Spanish,
            "En wheel uno se dejó sin apretar en la pasada 2 de 3: wheel/1 (48 %) o wheel/2 (31 %) o wheel/5 (21 %). \
             Vuelva a esos.",
        ),
        (
            "wheel/2 was left out (going by the plan's order). Go back to it.",
            Language::German,
            "wheel/2 wurde ausgelassen (nach der Reihenfolge des Plans). Noch einmal dorthin.",
        ),
        (
            "Not confirmed: \"hub-nut: on to the next slot, never back. Pin in, legs bent?\" The job is not closed \
             before it is.",
            Language::German,
            "Nicht bestätigt: „hub-nut: weiter zum nächsten Schlitz, nie zurück. Splint drin, Schenkel umgebogen?“ \
             Vorher wird der Auftrag nicht geschlossen.",
        ),
        (
            "Stop. arm/1 was pulled before \"Hub at 1.5 m?\" was confirmed. This pull does not count: confirm, then \
             pull again.",
            Language::German,
            "Halt. arm/1 wurde angezogen, bevor „Hub at 1.5 m?“ bestätigt war. Dieser Zug zählt nicht: bestätigen, \
             dann nochmals ziehen.",
        ),
        (
            "Adapter LK-1.5 shows 1.2 N·m less with nothing on it than at its first pull of this job, and peaks that \
             it tells may be off by as much. Zero it with nothing on it, and compare it with a known torque.",
            Language::Spanish,
            "El adaptador LK-1.5 muestra sin carga 1,2 N·m menos que en el primer apriete de este trabajo, y en eso \
             mismo pueden errar sus picos. Póngalo a cero sin carga y compárelo con un par conocido.",
        ),
    ] {
        assert_eq!(told(english, language).as_deref(), Some(expected));
        assert_eq!(told(english, Language::English).as_deref(), Some(english));
    }
}

#[test]
fn what_the_program_did_not_say_stays_as_it_is() {
    for text in [
        "",
        "Hub to arch: 512 ± 5 mm?",
        "wheel/2 was left out",
        "Zur-7.",
        "more",
        " was left out. Go back to it.",
    ] {
        assert!(in_every_language(text).is_none(), "{text}");
    }
}

#[test]
fn every_sentence_of_the_table_is_taken_for_itself() {
    for (name, text) in TABLE.sentences(Language::English) {
        let is_part = name.starts_with(super::PART);
        let text =
            text.replace("{ $own }", "Pin in, legs bent?").replace("{ $", "<").replace(" }", ">");
        assert_eq!(take(&text, is_part).map(|taken| taken.name), Some(name), "{text}");
    }
}

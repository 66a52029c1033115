//! Which joints hold a wheel.

use super::{Kind, Pattern, Step};

/// What a wheel is called in the four languages of plans' authors,
const WHEELS: &str = "wheel wheels rad raeder räder rueda ruedas roue roues felge felgen";
/// and what says which one.
const WHICH: &str = "front rear left right inner outer fl fr rl rr vorn vorne hinten links rechts innen \
    aussen außen vl vr hl hr delantera delanteras trasera traseras izquierda izquierdas \
    derecha derechas interior exterior avant arrière arriere gauche droite intérieure \
    interieure extérieure exterieure av ar spare";

impl Step {
    /// True for what the plan says is a wheel, centre-lock nut or not; where it does not say what a joint is, for a
    /// ring that is called one (`rear-left-wheel`, `roue-avant-gauche-2`), and not for what only belongs to it
    /// (`wheel-bearing`).
    #[must_use]
    pub fn is_wheel(&self) -> bool {
        let is = |words: &str, word: &str| words.split(' ').any(|one| one == word);
        let is_which = |word: &str| is(WHICH, word) || word.bytes().all(|c| c.is_ascii_digit());
        match self.rules.kind {
            Kind::Wheel => true,
            Kind::Clamp => {
                let name = self.group.to_lowercase();
                let last = name.rsplit(['-', '_', ' ']).find(|word| !is_which(word));
                self.pattern == Pattern::Ring && last.is_some_and(|last| is(WHEELS, last))
            }
            _ => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::core::plan::parse;

    #[test]
    fn a_wheel_is_known_by_what_the_plan_says_or_by_its_name_in_four_languages() {
        let is = |joint: &str| {
            let text = format!(
                "plan = 'P'\nsource = 's'\ntolerance = '±10 %'\n{joint}\ntarget = '90 N·m'\n"
            );
            parse(&text).unwrap().plan.steps[0].is_wheel()
        };
        for name in [
            "wheel",
            "wheel-front-left",
            "rear-left-wheel",
            "left-wheels-2",
            "rad-vorn-links",
            "hinten-rad",
            "rueda-delantera-izquierda",
            "roue-avant-gauche",
            "spare-wheel",
        ] {
            assert!(is(&format!("[joints.{name}]\nring = 5")), "{name}");
            assert!(!is(&format!("[joints.{name}]")), "{name}: one bolt");
        }
        for name in
            ["wheel-bearing", "wheel-hub-left", "radlager", "roue-moyeu", "front-left", "hub-2"]
        {
            assert!(!is(&format!("[joints.{name}]\nring = 5")), "{name}");
        }
        assert!(is("[joints.centre-lock]\nkind = 'wheel'"));
    }
}

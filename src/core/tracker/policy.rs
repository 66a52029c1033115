//! When belief becomes a word to the operator. Every threshold, in one place.
//!
//! A forgotten fastener is far dearer than a question, and a needless question gets the program
//! switched off; so what is said at once needs more than an even chance, and what is called *shown*
//! needs near certainty.

/// Probability from which a pull on something already tight is spoken of.
pub(super) const SPEAK_REPEAT: f64 = 0.65;
/// The same where marks or moves say so: they are wrong about as often as somebody pulls one twice, and mostly the next
/// pull tells which it was.
pub(super) const SPEAK_REPEAT_PLACED: f64 = 0.95;
/// The same where a move said so, and another has followed: two moves tell where it was.
pub(super) const SPEAK_REPEAT_MOVED_ON: f64 = 0.7;
/// The same once somebody of the group is said to be left out: it is what was pulled instead.
pub(super) const SPEAK_REPEAT_BESIDE: f64 = 0.5;
/// Probability from which "low", "skipped", "loosened" and the like are spoken of.
pub(super) const SPEAK: f64 = 0.6;
/// Probability from which somebody is said to be left out: far dearer than a needless look.
pub(super) const SPEAK_LEFT: f64 = 0.45;
/// The same in a pass that another is to come after, which brings it to light if it was so, where others hold the part
/// square meanwhile: of two, one that was left out has canted it.
pub(super) const SPEAK_LEFT_EARLY: f64 = 0.9;
/// The same where only torque and time bear on it: a count is short, or it is not.
pub(super) const SPEAK_COUNTED: f64 = 0.9;
/// Probability from which an order is called crooked, or a group begun too early: the cure is all back to
/// snug and again, an hour's work, so that a needless word is dear.
pub(super) const SPEAK_ORDER: f64 = 0.65;
/// Probability from which a pull is said to fit nothing in the plan.
pub(super) const SPEAK_UNEXPECTED: f64 = 0.7;
/// Probability from which a trace is said to show that the tool slipped: a glance at the corners. And from which it is said
/// to show that a thread gives: the joint is taken apart for it, half an hour's work, and a bolt that is about to go is
/// dearer still. Generated pulls (`cargo bench --bench spoken`): of 89 000 plain ones the first is said of one, in ranges
/// wider than any stated, the second of none; of 16 000 in which something else is wrong, neither. Nineteen in twenty slips
/// are told, and seven in eight threads that give. In 1 200 generated jobs, 24 000 pulls, neither is ever said.
pub(super) const SPEAK_SLIPPED: f64 = 0.95;
pub(super) const SPEAK_GIVES: f64 = 0.95;
/// A fastener is named in a warning from this probability on; below it the group is.
pub(super) const NAME: f64 = 0.5;
/// Who was left out is named alone from this probability on: whoever finds the one named tight looks no further.
pub(super) const NAME_LEFT: f64 = 0.95;
/// Otherwise all are named that may be it with at least this probability.
pub(super) const SUSPECT: f64 = 0.03;
/// If that is everybody, those with at least this one, and two at least.
pub(super) const LIKELY: f64 = 0.1;
/// Below this probability a warning that names a fastener says that it goes by the plan's order.
pub(super) const BEYOND_DOUBT: f64 = 0.98;
/// An announced verdict is revised once its probability has fallen below this.
pub(super) const REVISE_BELOW: f64 = 0.35;
/// At the end what was announced is said anew if its probability has changed by this much.
pub(super) const SURER_BY: f64 = 0.1;
/// Probability that makes a fastener *shown* where a failure can cost a life…
pub(super) const SHOWN_LIFE_CRITICAL: f64 = 0.99;
/// …and elsewhere.
pub(super) const SHOWN: f64 = 0.95;
/// How far those rise towards certainty, as a multiple of the probability of all that is not followed any more of their
/// step, and at most. On 3 000 generated jobs this takes away a third of what is untrue, and a twentieth of what is shown.
pub(super) const LET_GO_RAISES: f64 = 2.0;
pub(super) const MOST_RAISED: f64 = 0.9;
/// Torque below which an unexpected pull is not worth a word, N·m.
pub(super) const WORTH_A_WORD_NM: f64 = 3.0;

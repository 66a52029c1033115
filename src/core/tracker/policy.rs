//! When belief becomes a word to the operator. Every threshold, in one place.
//!
//! A forgotten fastener is far dearer than a question, and a needless question gets the program
//! switched off; so what is said at once needs more than an even chance, and what is called *shown*
//! needs near certainty.

/// Probability from which a pull on something already tight is spoken of at once,
pub(super) const SPEAK_REPEAT_AT_ONCE: f64 = 0.85;
/// and once the next pull has borne it out: one odd reading alone is not worth a needless word.
pub(super) const SPEAK_REPEAT: f64 = 0.65;
/// So many words about repeats in a job are borne; one more needless one gets the program switched off,
pub(super) const FEW_QUESTIONS: usize = 2;
/// so that from then on it takes this.
pub(super) const SPEAK_REPEAT_ONCE_MORE: f64 = 0.9;
/// Probability from which "low", "skipped", "loosened" and the like are spoken of.
pub(super) const SPEAK: f64 = 0.6;
/// The same of "skipped" where only torque and time bear on it: a count is short, or it is not.
pub(super) const SPEAK_COUNTED: f64 = 0.9;
/// Probability from which an order is called crooked, or a group begun too early: the cure is all back to
/// snug and again, an hour's work, so that a needless word is dear.
pub(super) const SPEAK_ORDER: f64 = 0.65;
/// Probability from which a pull is said to fit nothing in the plan.
pub(super) const SPEAK_UNEXPECTED: f64 = 0.7;
/// A fastener is named in a warning from this probability on; below it the group is.
pub(super) const NAME: f64 = 0.5;
/// Others are named beside it, with their probabilities, from this one on.
pub(super) const SUSPECT: f64 = 0.1;
/// Below this probability a warning that names a fastener says that it goes by the plan's order.
pub(super) const BEYOND_DOUBT: f64 = 0.98;
/// An announced verdict is revised once its probability has fallen below this.
pub(super) const REVISE_BELOW: f64 = 0.35;
/// A verdict that stands is told anew at the end if its probability has changed by this much since.
pub(super) const TELL_ANEW: f64 = 0.03;
/// Probability that makes a fastener *shown* where a failure can cost a life…
pub(super) const SHOWN_LIFE_CRITICAL: f64 = 0.99;
/// …and elsewhere.
pub(super) const SHOWN: f64 = 0.95;
/// Torque below which an unexpected pull is not worth a word, N·m.
pub(super) const WORTH_A_WORD_NM: f64 = 3.0;

//! Torque and then an angle, in stages. The angle is the drive's rotation in that pass, all swings together, each less the
//! wind-up of the bars that the plan names; an adapter that tells none leaves it to the operator's word.

use crate::core::event::WarningCode;
use crate::core::plan::Turn;
use crate::core::tracker::member::Member;
use crate::core::tracker::pull::Seen;
use crate::core::tracker::rules::{Angle, words};
use crate::core::tracker::scene::Scene;
use crate::core::tracker::warn::{About, Reason, Speaker};

/// How far an angle may be off: this share of it, but no less than so many degrees. A plan states none; this is what
/// play of socket and square, and a hand on a long bar, leave.
const WITHIN_SHARE: f64 = 0.1;
const WITHIN_DEG: f64 = 5.0;

/// The angle that a pass turns by, degrees.
pub(in crate::core::tracker) fn asked(scene: &Scene, step: usize, pass: usize) -> Option<f64> {
    match scene.step(step).passes.get(pass)?.turn? {
        Turn::Angle { degrees } => Some(degrees),
        Turn::BackOff { .. } => None,
    }
}

fn within(degrees: f64) -> f64 {
    WITHIN_DEG.max(degrees * WITHIN_SHARE)
}

/// What a pull did in a pass that turns by an angle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::core::tracker) enum Reached {
    /// No angle is asked, or none is told: torque alone decides.
    Untold,
    /// Not there yet.
    Short,
    /// There, or further.
    There,
}

/// Takes a swing of `nm` in `pass` into account.
pub(in crate::core::tracker) fn turn(
    scene: &Scene,
    member: &mut Member,
    seen: &Seen,
    (step, pass): (usize, usize),
    nm: f64,
) -> Reached {
    let Some(asked) = asked(scene, step, pass) else { return Reached::Untold };
    let Some(deg) = seen.turned_deg.filter(|_| !seen.typed) else {
        member.kept.angle = Angle::Unknown;
        return Reached::Untold;
    };
    let before = member.kept.turned.filter(|(its, _)| *its == pass).map_or(0.0, |(_, deg)| deg);
    let turned = before + (deg - scene.wind_up(step, nm)).max(0.0);
    member.kept.turned = Some((pass, turned));
    if turned < asked - within(asked) {
        return Reached::Short;
    }
    member.kept.too_far |= turned > asked + within(asked);
    Reached::There
}

/// Degrees that a pull in `pass` has still to turn.
pub(in crate::core::tracker) fn left(
    scene: &Scene,
    member: &Member,
    step: usize,
    pass: usize,
) -> Option<f64> {
    let before = member.kept.turned.filter(|(its, _)| *its == pass).map_or(0.0, |(_, deg)| deg);
    Some((asked(scene, step, pass)? - before).max(1.0))
}

impl Speaker<'_> {
    /// Turned too far, or as far as asked without the torque that comes with it.
    pub(in crate::core::tracker) fn angle(&mut self, index: usize, fastener: usize, pass: usize) {
        let step = self.scene().step_of(fastener);
        let Some(asked) = asked(self.scene(), step, pass) else { return };
        let member = self.best().members[fastener];
        let Some((_, turned)) = member.kept.turned.filter(|(its, _)| *its == pass) else { return };
        let about = self.named(index, fastener);
        if member.kept.too_far {
            let text = words::over_angle(self.scene(), about.fastener, fastener, turned, asked);
            let code = WarningCode::OverAngle;
            self.say(Reason::OfReading { code, index }, code, about, text);
        }
        if member.kept.weak
            && let Some(window) = self.scene().window(step, pass)
        {
            let nm = member.peak_nm.unwrap_or(0.0);
            let text = words::weak(self.scene(), about.fastener, fastener, window, nm);
            let code = WarningCode::Yielding;
            self.say(Reason::OfReading { code, index }, code, about, text);
        }
    }

    /// The operator went on before the angle was reached. True if the pass turns by one.
    pub(in crate::core::tracker) fn left_short_of_angle(
        &mut self,
        fastener: usize,
        (pass, since): (usize, u64),
        sure: bool,
    ) -> bool {
        let step = self.scene().step_of(fastener);
        let Some(asked) = asked(self.scene(), step, pass) else { return false };
        let turned = self.best().members[fastener].kept.turned;
        let Some((_, turned)) = turned.filter(|(its, _)| *its == pass) else { return false };
        let named = sure.then_some(fastener);
        let text = words::low_angle(self.scene(), named, fastener, turned, asked);
        let reading = usize::try_from(since).ok().and_then(|n| n.checked_sub(1));
        let about = About { fastener: named, reading };
        self.say(Reason::Low { fastener, since }, WarningCode::LowAngle, about, text);
        true
    }
}

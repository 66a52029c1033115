//! What guides the hand, and what the hand answers with.

use crate::core::guide::{Aim, Cue};
use crate::core::press::Press;
use crate::core::units::Torque;
use clampbook_protocol as wire;
use clampbook_protocol::{Capability, Features, Rotation, SetPoint, Versioned, Window};

/// What an adapter has for the hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Hand {
    /// It takes a set-point and guides by it.
    pub set_point: bool,
    /// It shows or sounds cues.
    pub cue: bool,
    /// It tells of presses of its button.
    pub button: bool,
}

/// What the adapter of that capability has for the hand.
#[must_use]
pub fn hand(octets: &[u8]) -> Hand {
    let capability = Capability::parse(octets).ok().and_then(Versioned::known);
    let features = capability.map_or(Features::NONE, |capability| capability.features);
    Hand {
        set_point: features.has(Features::SET_POINT),
        cue: features.has(Features::CUE),
        button: features.has(Features::BUTTON),
    }
}

/// The octets of a set-point with that number for so many seconds, or of no guidance; `None` for an aim that the wire
/// has no numbers for.
#[must_use]
pub fn set_point(number: u16, aim: Option<&Aim>, seconds: u16) -> Option<Vec<u8>> {
    let set_point = match aim {
        Some(aim) => SetPoint { number, window: Some(window(aim)?), seconds },
        None => SetPoint { number, window: None, seconds: 0 },
    };
    Some(set_point.emit().to_vec())
}

/// Whether what an adapter shows as its set-point is what was written.
#[must_use]
pub fn is_in_force(octets: &[u8], number: u16, aim: &Aim) -> bool {
    let shown = SetPoint::parse(octets).ok().and_then(Versioned::known);
    shown.is_some_and(|shown| {
        shown.number == number && shown.window.is_some() && shown.window == window(aim)
    })
}

/// Limits are rounded inward, so that nothing is shown as reached that does not count.
fn window(aim: &Aim) -> Option<Window> {
    let sign = aim.target.nm().signum();
    // In hundredths, without the noise of binary fractions, which would round 81.2 up to 81.21.
    let size = |torque: Torque| (torque.nm() * sign * 1e8).round() / 1e6;
    let hundredths = |size: f64| {
        let fits = (0.0..f64::from(i32::MAX)).contains(&size);
        fits.then(|| wire::Torque::from_centinewton_metres((size * sign) as i32))
    };
    let target = size(aim.target).round();
    let low = size(aim.low).ceil().min(target);
    let high = match aim.high {
        None => wire::Torque::NOT_KNOWN,
        Some(high) => hundredths(size(high).floor().max(target))?,
    };
    let turn = match aim.turn_deg {
        None => Rotation::NOT_KNOWN,
        Some(degrees) => Rotation::from_tenths((degrees * 10.0).round() as i32),
    };
    Window::new(hundredths(target)?, hundredths(low)?, high, turn).ok()
}

/// The octets of a request to show or sound a cue.
#[must_use]
pub fn cue(cue: Cue) -> Vec<u8> {
    let cue = match cue {
        Cue::Reached => wire::Cue::Reached,
        Cue::Low => wire::Cue::Low,
        Cue::Over => wire::Cue::Over,
        Cue::Look => wire::Cue::Look,
        Cue::StepDone => wire::Cue::StepDone,
    };
    wire::ControlRequest::Cue(cue).emit().to_vec()
}

/// What an answer of the control point says to a cue: why not, if not; `None` for one to something else.
#[must_use]
pub fn cue_answer(octets: &[u8]) -> Option<Result<(), String>> {
    let op = wire::ControlRequest::Cue(wire::Cue::Nothing).op();
    match wire::ControlAnswer::parse(octets).ok()? {
        wire::ControlAnswer::Done { request } if request == op => Some(Ok(())),
        wire::ControlAnswer::Refused { request, reason } if request == op => {
            Some(Err(reason.to_string()))
        }
        _ => None,
    }
}

/// A press as an adapter tells it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pressed {
    /// The adapter's boot.
    pub epoch: u32,
    /// Counts presses within that boot, 65 535 followed by 0.
    pub counter: u16,
    /// When, in ticks of that boot.
    pub tick: u32,
    /// How; the number of a way that is not known here.
    pub press: Result<Press, u8>,
}

/// What the octets of a press say.
///
/// # Errors
/// Why they cannot be read.
pub fn pressed(octets: &[u8]) -> Result<Pressed, String> {
    let button = match wire::Button::parse(octets) {
        Ok(Versioned::Known(button)) => button,
        Ok(Versioned::Unknown { version, .. }) => {
            return Err(format!("it has layout {version}, which this program does not know"));
        }
        Err(error) => return Err(error.to_string()),
    };
    Ok(Pressed {
        epoch: u32::from(button.epoch.get()),
        counter: button.counter,
        tick: button.at.0,
        press: match button.press {
            wire::Press::Short => Ok(Press::Short),
            wire::Press::Long => Ok(Press::Long),
            wire::Press::Double => Ok(Press::Double),
            wire::Press::Other(other) => Err(other),
        },
    })
}

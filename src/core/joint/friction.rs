//! Torque, stretch and friction of a bolted joint.

use crate::core::joint::seat::Seat;
use crate::core::joint::thread::Thread;
use std::f64::consts::PI;

/// 1 / cos 30°, halved: friction on a 60° flank, as VDI 2230 rounds it.
const FLANK: f64 = 0.577;

/// Where the torque of a joint goes, as shares of one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// Into stretching the bolt.
    pub stretch: f64,
    /// Into friction in the thread.
    pub thread: f64,
    /// Into friction under the head or nut.
    pub seat: f64,
}

/// Torque a newton of preload, millimetres: pitch, thread, seat.
fn levers(thread: &Thread, mu_thread: f64, mu_seat: f64, bearing_mm: f64, seat: Seat) -> [f64; 3] {
    [
        thread.pitch_mm / (2.0 * PI),
        FLANK * mu_thread * thread.pitch_diameter_mm(),
        mu_seat * bearing_mm / 2.0 / seat.sine(),
    ]
}

/// Nut factor K of T = K · d · F, from T = F · [P/2π + 0.577 μ_th d2 + μ_b D_b / (2 sin α)]
/// (VDI 2230 part 1, R8; the sine is 1 for a flat seat). `bearing_mm` is the mean bearing diameter.
#[must_use]
pub fn nut_factor(
    thread: &Thread,
    mu_thread: f64,
    mu_seat: f64,
    bearing_mm: f64,
    seat: Seat,
) -> f64 {
    let sum: f64 = levers(thread, mu_thread, mu_seat, bearing_mm, seat).iter().sum();
    sum / thread.diameter_mm
}

/// Where the torque goes, by the same formula.
#[must_use]
pub fn split(thread: &Thread, mu_thread: f64, mu_seat: f64, bearing_mm: f64, seat: Seat) -> Split {
    let [pitch, flank, under] = levers(thread, mu_thread, mu_seat, bearing_mm, seat);
    let sum = pitch + flank + under;
    Split { stretch: pitch / sum, thread: flank / sum, seat: under / sum }
}

/// Torque in N·m that brings `preload_n` newtons, by the formula of ISO 16047:
/// T = F · [½ · (P + 1.154 π μ_th d2) / (π − 1.154 μ_th P / d2) + μ_b D_b / 2], flat seat.
#[must_use]
pub fn iso16047_torque(
    thread: &Thread,
    mu_thread: f64,
    mu_seat: f64,
    bearing_mm: f64,
    preload_n: f64,
) -> f64 {
    let d2 = thread.pitch_diameter_mm();
    let pitch = thread.pitch_mm;
    let of_thread =
        0.5 * (pitch + 1.154 * PI * mu_thread * d2) / (PI - 1.154 * mu_thread * pitch / d2);
    preload_n * (of_thread + mu_seat * bearing_mm / 2.0) / 1000.0
}

/// Preload in newtons at which a bolt that is being turned reaches `stress_mpa`, torsion taken in:
/// F = A_0 · σ / √(1 + 3 · [1.5 · (d2/d0) · (P/(π d2) + 1.155 μ_th)]²), d0 = (d2 + d3) / 2
/// (VDI 2230 part 1, R7).
#[must_use]
pub fn assembly_preload(thread: &Thread, mu_thread: f64, stress_mpa: f64) -> f64 {
    let (d2, d3) = (thread.pitch_diameter_mm(), thread.minor_diameter_mm());
    let d0 = f64::midpoint(d2, d3);
    let torsion = 1.5 * (d2 / d0) * (thread.pitch_mm / (PI * d2) + 1.155 * mu_thread);
    PI / 4.0 * d0 * d0 * stress_mpa / 3.0_f64.mul_add(torsion * torsion, 1.0).sqrt()
}

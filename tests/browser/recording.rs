//! Plans and recordings for the page: one wheel, pulls with their traces.

use serde_json::json;
use std::fmt::Write as _;

pub const WHEEL: &str = "plan = \"Front left wheel, first evening\"\ntolerance = \"±10 %\"\n\
    source = \"invented handbook, page 212\"\n[joints.front-left-wheel]\nring = 5\ntarget = \"120 N·m\"\n\
    socket = \"19\"\n";

pub const HELD: &str = "plan = \"Arm pivot\"\ntolerance = \"±6 %\"\nsource = \"invented sheet\"\n\
    [holds]\nride-height = \"Hub to arch 512 ± 5 mm, supported under the knuckle?\"\n\
    [joints.trailing-arm-pivot]\ntarget = \"178 N·m\"\nhold = \"ride-height\"\n\
    [joints.damper-eye]\ntarget = \"122 N·m\"\n";

/// A recording of an adapter that tells no more than the peak: when each pull ends, seconds, and its peak, N·m.
pub fn peaks(pulls: &[(f64, f64)]) -> String {
    let mut lines = vec![
        json!({"kind": "header", "format": "clampbook-recording", "version": 1,
            "started": "2026-03-14T18:05:00+01:00"}),
        json!({"kind": "adapter", "t": 0.0, "adapter": "large", "serial": "KB-1190",
            "drive": "1/2\"", "range_nm": [40, 280], "accuracy_pct": 1.0, "reports": ["peak"]}),
    ];
    lines.extend(pulls.iter().zip(1..).map(|((t, peak), seq)| {
        json!({"kind": "reading", "t": t, "adapter": "large", "seq": seq, "peak_nm": peak})
    }));
    lines.iter().map(|line| format!("{line}\n")).collect()
}

/// A recording with further lines, each at its time.
pub fn with(recording: &str, more: &[serde_json::Value]) -> String {
    let read = |line: &str| serde_json::from_str::<serde_json::Value>(line).unwrap();
    let mut lines: Vec<serde_json::Value> = recording.lines().map(read).collect();
    lines.extend(more.iter().cloned());
    // The header has no time and stays the first.
    let time = |line: &serde_json::Value| line["t"].as_f64().unwrap_or(-1.0);
    lines.sort_by(|one, other| time(one).total_cmp(&time(other)));
    lines.iter().map(|line| format!("{line}\n")).collect()
}

/// Samples a second.
const RATE_HZ: f64 = 100.0;

/// A recording of pulls: when each begins, seconds, and how far it goes, N·m.
pub fn pulls(pulls: &[(f64, f64)]) -> String {
    let mut text = String::new();
    let mut line = |value: serde_json::Value| {
        let _ = writeln!(text, "{value}");
    };
    line(json!({"kind": "header", "format": "clampbook-recording", "version": 1,
        "started": "2026-03-14T18:05:00+01:00"}));
    line(json!({"kind": "adapter", "t": 0.0, "adapter": "large", "serial": "KB-1190",
        "drive": "1/2\"", "range_nm": [40, 280], "accuracy_pct": 1.0,
        "reports": ["trace", "rotation"]}));
    for (start, peak) in pulls {
        let samples = shape(*peak);
        // As an adapter sends them: some at a time.
        for (index, block) in samples.chunks(20).enumerate() {
            let t = start + index as f64 * 20.0 / RATE_HZ;
            let nm: Vec<f64> = block.iter().map(|(nm, _)| (nm * 100.0).round() / 100.0).collect();
            let before = if index == 0 { 0.0 } else { samples[index * 20 - 1].1 };
            let deg: Vec<f64> = block.iter().map(|(_, deg)| deg - before).collect();
            line(json!({"kind": "trace", "t": t, "adapter": "large", "rate_hz": RATE_HZ,
                "nm": nm, "deg": deg}));
        }
    }
    text
}

/// Torque and turning of a pull: a rise of a second and a half, a moment at the top, a release.
fn shape(peak: f64) -> Vec<(f64, f64)> {
    let rise = (1..=150).map(|step| {
        let share = f64::from(step) / 150.0;
        (peak * share, 40.0 * share)
    });
    let top = (0..20).map(|_| (peak, 40.0));
    let fall = (1..=15).map(|step| (peak * (1.0 - f64::from(step) / 15.0), 40.0));
    let rest = (0..35).map(|_| (0.0, 40.0));
    rise.chain(top).chain(fall).chain(rest).collect()
}

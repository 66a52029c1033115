//! Torque of one tightening as a drawing (SVG): over angle where rotation was told, over time otherwise.
//!
//! The time between the pulls of a tightening is left out. Window, peaks and snug point are marked by
//! line and shape, not by colour alone.

use crate::core::event::Trace;
use crate::core::plan::Window;
use crate::core::signal::Description;
use crate::core::time::Stamp;
use crate::core::units::{Torque, TorqueUnit};
use crate::report::words::Words;
use plotters::coord::ranged1d::ValueFormatter;
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

/// Size of the drawing, pixels.
const SIZE: (u32, u32) = (560, 220);
/// More samples than pixels tell nothing.
const POINTS: usize = 600;
/// Between two pulls, as a share of the width.
const PAUSE: f64 = 0.03;

const INK: RGBColor = RGBColor(20, 26, 34);
const BAND: RGBColor = RGBColor(198, 210, 222);
const LIMIT: RGBColor = RGBColor(70, 84, 100);

/// One pull of a tightening.
#[derive(Debug, Clone, Copy)]
pub struct Swing<'a> {
    /// Its samples.
    pub trace: &'a Trace,
    /// What was read from them.
    pub description: &'a Description,
    /// The peak that the adapter told.
    pub peak: Torque,
}

/// Why there is no drawing.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("expected a drawing of a trace, but found {0}")]
pub struct NotDrawn(String);

/// A pull in the plane of the drawing: along, and torque in the unit shown.
struct Course {
    points: Vec<(f64, f64)>,
    peak: (f64, f64),
    snug: Option<(f64, f64)>,
}

/// The tightening as a whole SVG document, torque in `unit`, labelled in `words`; none without samples.
///
/// # Errors
/// If it cannot be drawn.
pub fn tightening(
    swings: &[Swing<'_>],
    window: Option<&Window>,
    unit: TorqueUnit,
    words: Words,
) -> Result<Option<String>, NotDrawn> {
    let turns = swings.iter().all(|swing| swing.trace.turned_deg.is_some());
    let courses = courses(swings, turns, unit);
    let along = courses.iter().flat_map(|course| &course.points).map(|point| point.0);
    let Some(length) = along.max_by(f64::total_cmp) else { return Ok(None) };
    let mut svg = String::new();
    let axes = Axes { length: length.max(1e-3), turns, unit, words };
    draw(&mut svg, &courses, window, &axes).map_err(|error| NotDrawn(error.to_string()))?;
    Ok(Some(svg))
}

fn courses(swings: &[Swing<'_>], turns: bool, unit: TorqueUnit) -> Vec<Course> {
    let lengths: Vec<f64> = swings.iter().map(|swing| extent(swing.trace, turns)).collect();
    let pause = lengths.iter().sum::<f64>() * PAUSE;
    let mut from = 0.0;
    let mut courses = Vec::new();
    for (swing, length) in swings.iter().zip(lengths) {
        courses.push(course(swing, from, turns, unit));
        from += length + pause;
    }
    courses
}

fn extent(trace: &Trace, turns: bool) -> f64 {
    match trace.turned_deg.as_ref().filter(|_| turns) {
        Some(turned) => {
            let (least, most) = turned
                .iter()
                .fold((0.0_f64, 0.0_f64), |(least, most), deg| (least.min(*deg), most.max(*deg)));
            most - least
        }
        None => trace.torque.len() as f64 / trace.rate_hz,
    }
}

fn course(swing: &Swing<'_>, from: f64, turns: bool, unit: TorqueUnit) -> Course {
    let trace = swing.trace;
    let along = |index: usize| {
        let turned = trace.turned_deg.as_ref().filter(|_| turns);
        from + turned.map_or(index as f64 / trace.rate_hz, |turned| turned[index].abs())
    };
    let shown = |torque: Torque| value(torque, unit).abs();
    let index_of = |at: Stamp| {
        let index = ((at - trace.start) * trace.rate_hz).round().max(0.0) as usize;
        index.min(trace.torque.len().saturating_sub(1))
    };
    let step = trace.torque.len().div_ceil(POINTS).max(1);
    let known = |index: &usize| trace.torque[*index].nm().is_finite();
    let points = (0..trace.torque.len())
        .step_by(step)
        .filter(known)
        .map(|index| (along(index), shown(trace.torque[index])))
        .collect();
    let seen = swing.description;
    Course {
        points,
        peak: (along(index_of(seen.peak.at)), shown(swing.peak)),
        snug: seen.snug.map(|snug| (along(index_of(snug.at)), shown(snug.torque))),
    }
}

fn value(torque: Torque, unit: TorqueUnit) -> f64 {
    torque.nm() / unit.newton_metres()
}

type Failed = Box<dyn std::error::Error>;

/// What is drawn along and up.
struct Axes {
    length: f64,
    /// Along is the angle, not the time.
    turns: bool,
    unit: TorqueUnit,
    words: Words,
}

fn draw(
    svg: &mut String,
    courses: &[Course],
    window: Option<&Window>,
    axes: &Axes,
) -> Result<(), Failed> {
    let Axes { length, turns, unit, words } = *axes;
    let limits =
        window.map(|window| (value(window.low, unit), window.high.map(|high| value(high, unit))));
    let highest = courses.iter().map(|course| course.peak.1).fold(0.0, f64::max);
    let highest = limits.map_or(highest, |(low, high)| highest.max(high.unwrap_or(low)));
    let root = SVGBackend::with_string(svg, SIZE).into_drawing_area();
    let mut chart = ChartBuilder::on(&root)
        .margin(8)
        .x_label_area_size(34)
        .y_label_area_size(52)
        .build_cartesian_2d(0.0..length * 1.02, 0.0..(highest * 1.12).max(1e-3))?;
    if let Some((low, high)) = limits {
        let top = high.unwrap_or(highest * 1.12);
        chart.draw_series([Rectangle::new([(0.0, low), (length * 1.02, top)], BAND.filled())])?;
        for limit in [Some(low), high].into_iter().flatten() {
            let line = [(0.0, limit), (length * 1.02, limit)];
            chart.draw_series(DashedLineSeries::new(line, 6, 4, LIMIT.stroke_width(1)))?;
        }
    }
    let along = words.word(match turns {
        true => "plot-angle",
        false if courses.len() > 1 => "plot-time-without-pauses",
        false => "plot-time",
    });
    let torque = words.say("plot-torque", &[("unit", unit.symbol())]);
    let figure = |value: &f64| words.figure(&RangedCoordf64::format(value));
    chart
        .configure_mesh()
        .disable_mesh()
        .axis_style(INK)
        .label_style(("sans-serif", 12, &INK))
        .x_desc(along)
        .y_desc(torque)
        .x_label_formatter(&figure)
        .y_label_formatter(&figure)
        .x_labels(8)
        .y_labels(6)
        .draw()?;
    for course in courses {
        let points = course.points.iter().copied();
        chart.draw_series(LineSeries::new(points, INK.stroke_width(2)))?;
        chart.draw_series([TriangleMarker::new(course.peak, 6, INK.filled())])?;
        if let Some(snug) = course.snug {
            chart.draw_series([Circle::new(snug, 4, INK.stroke_width(2))])?;
        }
    }
    let name = ("sans-serif", 12).into_font().color(&INK).pos(Pos::new(HPos::Left, VPos::Bottom));
    if let Some((low, _)) = limits {
        chart.draw_series([Text::new(words.word("plot-window"), (length * 0.005, low), name)])?;
    }
    root.present()?;
    drop(chart);
    Ok(())
}

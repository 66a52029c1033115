//! Reading samples takes no memory.
#![allow(clippy::unwrap_used)]

#[allow(dead_code)]
mod generator;

use clampbook::core::signal::{Block, Found, PullFinder, Source};
use clampbook::core::time::Stamp;
use generator::session::{Session, Wishes};

#[global_allocator]
static ALLOCATOR: dhat::Alloc = dhat::Alloc;

#[test]
fn a_whole_evening_is_read_without_taking_memory_once() {
    let session = Session::seeded(3, Wishes { rotation: true, ..Wishes::default() });
    let torque: Vec<f32> = session.torque.iter().map(|nm| *nm as f32).collect();
    let turned = session.turned.unwrap();
    let rate_hz = session.adapter.rate_hz;
    let steps: Vec<f64> = turned
        .iter()
        .enumerate()
        .map(|(at, deg)| deg - at.checked_sub(1).map_or(0.0, |at| turned[at]))
        .collect();
    let mut finder = PullFinder::new(Source::default());
    let (mut pulls, mut others) = (0, 0);
    let mut note = |found| match found {
        Found::Pull(_) => pulls += 1,
        _ => others += 1,
    };
    let profiler = dhat::Profiler::builder().testing().build();
    let before = dhat::HeapStats::get().total_blocks;
    for (at, torque) in torque.iter().enumerate() {
        let block = Block {
            start: Stamp::from_seconds(at as f64 / rate_hz),
            rate_hz,
            torque: std::slice::from_ref(torque),
            turned_deg: Some(std::slice::from_ref(&steps[at])),
        };
        finder.feed(&block, &mut note);
    }
    finder.finish(&mut note);
    let taken = dhat::HeapStats::get().total_blocks - before;
    drop(profiler);
    assert!(pulls > 5 && others > 5, "{pulls} pulls and {others} others were found");
    assert_eq!(taken, 0);
}

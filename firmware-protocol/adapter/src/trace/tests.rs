use std::vec::Vec;

use clampbook_protocol::{
    Epoch, Rotation, Sample, Tick, Torque, TraceBlock, TraceFlags, Versioned,
};
use proptest::collection::vec;
use proptest::prelude::*;

use super::Tracer;
use crate::faults::Faults;

fn sample(torque: i32, turned: Option<i32>) -> Sample {
    Sample {
        torque: Torque::from_centinewton_metres(torque),
        rotation: turned.map_or(Rotation::NOT_KNOWN, Rotation::from_tenths),
    }
}

/// What a host makes of one block.
#[derive(Debug, PartialEq)]
struct Heard {
    block: u16,
    flags: TraceFlags,
    start: Tick,
    /// Half of the unit that torque and rotation are told in.
    error: (i64, i64),
    length: usize,
    samples: Vec<Sample>,
}

fn heard(octets: &[u8]) -> Heard {
    let Ok(Versioned::Known(block)) = TraceBlock::parse(octets) else {
        panic!("expected a block, but found {octets:?}");
    };
    let scale = octets[3];
    let half = |shift: u8| (1 << shift) / 2;
    Heard {
        block: block.block,
        flags: block.flags,
        start: block.start,
        error: (half(scale & 0x0F), half(scale >> 4)),
        length: octets.len(),
        samples: block.samples().collect(),
    }
}

/// Hands over up to `most` blocks.
fn drain<const N: usize>(tracer: &mut Tracer<N>, most: usize) -> Vec<Heard> {
    let mut all = Vec::new();
    while all.len() < most
        && let Some(octets) = tracer.next()
    {
        all.push(heard(octets));
        tracer.sent();
    }
    all
}

/// Traces one pull of steadily rising torque.
fn pull<const N: usize>(tracer: &mut Tracer<N>, count: i32, room: usize, faults: &mut Faults) {
    tracer.begin(false);
    for n in 0..count {
        tracer.take(sample(n * 10, None), Tick(n.unsigned_abs()), room, faults);
    }
    tracer.end(room, faults);
}

fn numbers(heard: &[Heard]) -> Vec<u16> {
    heard.iter().map(|heard| heard.block).collect()
}

proptest! {
    /// Every sample of a pull is in one block, in order, within the error that the block states; and each
    /// block fits, spans a tenth of a second at most, and says what it is.
    #[test]
    fn a_host_decodes_the_samples_that_were_taken(
        torques in vec(-30_000_i32..30_000, 1..700),
        steps in vec(-60_i32..60, 700),
        rates in (50_u16..=500, any::<bool>()),
        room in 20_usize..=400,
        from in 0_u32..1_000_000,
    ) {
        let (rate, rotates) = rates;
        let mut turned = 0;
        let taken: Vec<Sample> = torques
            .iter()
            .zip(steps)
            .map(|(&torque, step)| {
                turned = (turned + step).clamp(-30_000, 30_000);
                sample(torque, rotates.then_some(turned))
            })
            .collect();
        let tick = |n: usize| Tick(from + (n as u64 * 100 / u64::from(rate)) as u32);
        let mut tracer = Tracer::<4>::new(rate, true);
        tracer.set_epoch(Epoch::MIN);
        let mut faults = Faults::default();
        let mut blocks = Vec::new();
        tracer.begin(rotates);
        for (n, &sample) in taken.iter().enumerate() {
            tracer.take(sample, tick(n), room, &mut faults);
            blocks.extend(drain(&mut tracer, usize::MAX));
        }
        tracer.end(room, &mut faults);
        blocks.extend(drain(&mut tracer, usize::MAX));

        let mut n = 0;
        let last = blocks.len() - 1;
        for (index, block) in blocks.iter().enumerate() {
            prop_assert_eq!(usize::from(block.block), index);
            prop_assert_eq!(block.start, tick(n));
            let flags = TraceFlags::NONE
                .with_if(index == 0, TraceFlags::FIRST)
                .with_if(index == last, TraceFlags::LAST)
                .with_if(rotates, TraceFlags::ROTATION);
            prop_assert_eq!(block.flags, flags);
            prop_assert!(block.length <= room.min(TraceBlock::MOST));
            prop_assert!(block.samples.len() <= usize::from(rate) / 10);
            for told in &block.samples {
                let torque = i64::from(told.torque.raw()) - i64::from(taken[n].torque.raw());
                prop_assert!(torque.abs() <= block.error.0, "{} at sample {}", torque, n);
                let turned = |sample: Sample| sample.rotation.tenths().map(i64::from);
                match (turned(*told), turned(taken[n])) {
                    (Some(told), Some(taken)) => {
                        prop_assert!((told - taken).abs() <= block.error.1);
                    }
                    (told, taken) => prop_assert_eq!(told, taken),
                }
                n += 1;
            }
        }
        prop_assert_eq!(n, taken.len());
        prop_assert_eq!(tracer.counts().made, blocks.len() as u32);
        prop_assert_eq!(tracer.counts().sent, blocks.len() as u32);
    }

    /// However slowly the link takes blocks, and whatever is lost on the way: what a host misses is what
    /// the numbers leave out, and what it has is as it was.
    #[test]
    fn a_slow_link_drops_whole_blocks_and_the_numbers_tell(
        takes in vec(0_usize..3, 60),
        lost in 0_u16..6,
    ) {
        let mut tracer = Tracer::<3>::new(100, false);
        tracer.set_epoch(Epoch::MIN);
        let mut faults = Faults::default();
        faults.lose_blocks(lost, 0);
        let mut blocks = Vec::new();
        tracer.begin(false);
        for n in 0..600_i32 {
            tracer.take(sample(n, None), Tick(n.unsigned_abs()), 244, &mut faults);
            let most = if n % 10 == 9 { takes[n as usize / 10] } else { 0 };
            blocks.extend(drain(&mut tracer, most));
        }
        tracer.end(244, &mut faults);
        blocks.extend(drain(&mut tracer, usize::MAX));
        for block in &blocks {
            let expected: Vec<Sample> =
                (0..10).map(|n| sample(i32::from(block.block) * 10 + n, None)).collect();
            prop_assert_eq!(&block.samples, &expected);
            prop_assert!(!block.flags.has(TraceFlags::SAMPLES_LOST));
        }
        let numbers = numbers(&blocks);
        prop_assert!(numbers.is_sorted_by(|a, b| a < b));
        prop_assert_eq!(numbers.last(), Some(&59));
        let counts = tracer.counts();
        prop_assert_eq!((counts.made, counts.lost), (60, lost.into()));
        prop_assert_eq!(counts.sent as usize, blocks.len());
        prop_assert_eq!(counts.sent + counts.lost + counts.dropped, 60);
        prop_assert!(numbers.first() >= Some(&lost));
    }
}

#[test]
fn blocks_are_lost_on_purpose_but_counted() {
    let mut tracer = Tracer::<8>::new(100, false);
    let mut faults = Faults::default();
    tracer.set_epoch(Epoch::MIN);
    pull(&mut tracer, 20, 244, &mut faults);
    faults.lose_blocks(3, 1);
    pull(&mut tracer, 50, 244, &mut faults);
    assert_eq!(numbers(&drain(&mut tracer, 9)), [0, 1, 2, 6]);
    assert_eq!(tracer.counts().lost, 3);
}

#[test]
fn numbers_go_on_from_pull_to_pull_and_link_to_link_and_begin_anew_with_a_boot() {
    let mut tracer = Tracer::<8>::new(100, false);
    let mut faults = Faults::default();
    tracer.set_epoch(Epoch::MIN);
    pull(&mut tracer, 20, 244, &mut faults);
    assert_eq!(numbers(&drain(&mut tracer, 1)), [0]);
    tracer.forget();
    assert_eq!(tracer.next(), None);
    pull(&mut tracer, 10, 20, &mut faults);
    assert_eq!(numbers(&drain(&mut tracer, 9)), [2, 3]);
    tracer.block = u16::MAX;
    pull(&mut tracer, 20, 244, &mut faults);
    assert_eq!(numbers(&drain(&mut tracer, 9)), [u16::MAX, 0]);
    pull(&mut tracer, 20, 244, &mut faults);
    tracer.set_epoch(Epoch::MAX);
    pull(&mut tracer, 20, 244, &mut faults);
    assert_eq!(numbers(&drain(&mut tracer, 9)), [0, 1]);
}

#[test]
fn samples_that_are_missing_are_told_by_the_block_after_them() {
    let mut tracer = Tracer::<8>::new(100, true);
    let mut faults = Faults::default();
    tracer.set_epoch(Epoch::MIN);
    tracer.begin(true);
    for (tick, turned) in [(0, Some(0)), (1, Some(5)), (2, None), (3, Some(9))] {
        tracer.take(sample(100, turned), Tick(tick), 244, &mut faults);
    }
    tracer.end(244, &mut faults);
    // A host that begins to listen in the middle of a pull.
    tracer.begin(false);
    tracer.lose(244, &mut faults);
    tracer.take(sample(7, None), Tick(9), 244, &mut faults);
    tracer.end(244, &mut faults);
    let told: Vec<_> = drain(&mut tracer, 9)
        .iter()
        .map(|heard| (heard.flags, heard.start, heard.samples.len()))
        .collect();
    let rotation = TraceFlags::ROTATION;
    let lost = TraceFlags::SAMPLES_LOST.with(TraceFlags::LAST);
    assert_eq!(
        told,
        [
            (TraceFlags::FIRST.with(rotation), Tick(0), 2),
            (lost.with(rotation), Tick(3), 1),
            (lost, Tick(9), 1),
        ]
    );
}

#[test]
fn an_adapter_without_a_sensor_of_rotation_sends_none_and_less_room_makes_more_blocks() {
    let mut tracer = Tracer::<8>::new(100, false);
    let mut faults = Faults::default();
    tracer.set_epoch(Epoch::MIN);
    tracer.begin(true);
    for n in 0..10 {
        tracer.take(sample(n, None), Tick(50 + n.unsigned_abs()), 244, &mut faults);
    }
    tracer.end(15, &mut faults);
    let told: Vec<_> = drain(&mut tracer, 9)
        .iter()
        .map(|heard| (heard.flags, heard.start, heard.samples.len(), heard.length))
        .collect();
    assert_eq!(
        told,
        [
            (TraceFlags::FIRST, Tick(50), 4, 15),
            (TraceFlags::NONE, Tick(54), 4, 15),
            (TraceFlags::LAST, Tick(58), 2, 13),
        ]
    );
    tracer.begin(false);
    tracer.take(sample(1, None), Tick(0), 11, &mut faults);
    tracer.end(11, &mut faults);
    assert_eq!((tracer.next(), tracer.counts().dropped), (None, 1));
}

//! The trace: takes the samples of pulls at its rate, and sends the blocks that become of them as far as
//! the link has room. Whatever else there is to send goes first.

use std::cell::RefCell;
use std::collections::VecDeque;
use std::future::ready;

use clampbook_protocol::TraceBlock;
use clampbook_reference_adapter::device::Device;
use clampbook_reference_adapter::trace::Tracer;
use trouble_host::prelude::*;

use super::super::course::Course;
use super::{LATEST_MS, Sent, Session};

/// Octets of a notification that are not its value.
const NOTIFICATION_HEAD: usize = 3;
/// Octets of blocks that may be under way: so much at most goes before a reading.
const AHEAD: usize = 2 * TraceBlock::MOST;
/// Blocks that may be under way, however short they are: fewer than the host stack has places for.
const MOST_AHEAD: usize = 6;

/// How far the pulls have been sampled for one link. Times are microseconds on this program's clock.
#[derive(Debug, PartialEq)]
pub(super) struct Sampling {
    /// What was before is not sampled: nobody listened, or it is done.
    since_us: u64,
    /// When the pull sampled last began.
    done: Option<u64>,
    current: Option<Current>,
}

/// The pull that is being sampled.
#[derive(Debug, PartialEq)]
struct Current {
    began_us: u64,
    start_us: u64,
    /// How many samples were taken, or left out.
    taken: u64,
}

/// What the samples go to.
struct Sink<'w, const BLOCKS: usize, const READINGS: usize> {
    tracer: &'w mut Tracer<BLOCKS>,
    device: &'w mut Device<READINGS>,
    /// Octets that a notification holds.
    room: usize,
}

impl Sampling {
    /// A link begins at a time.
    pub(super) fn new(now_us: u64) -> Self {
        Self { since_us: now_us, done: None, current: None }
    }

    /// Nobody listens: what is under way goes to nobody.
    fn rest<const N: usize>(&mut self, now_us: u64, tracer: &mut Tracer<N>) {
        if self.current.take().is_some() || tracer.next().is_some() {
            tracer.forget();
        }
        self.since_us = now_us;
    }

    /// Takes every sample that has become due.
    fn catch_up<const B: usize, const R: usize>(
        &mut self,
        now_us: u64,
        courses: &VecDeque<Course>,
        sink: &mut Sink<'_, B, R>,
    ) {
        let Sink { tracer, device, room } = sink;
        let rate = u64::from(tracer.rate());
        loop {
            let Some(current) = &mut self.current else {
                let Some(next) = self.next(now_us, courses) else { return };
                let (from_us, _) = next.traced_us();
                let start_us = from_us.max(self.since_us);
                tracer.begin(next.shape.rotates());
                if start_us > next.began_us {
                    tracer.lose(*room, device.faults_mut());
                }
                self.current = Some(Current { began_us: next.began_us, start_us, taken: 0 });
                continue;
            };
            let at_us = current.start_us + current.taken * 1_000_000 / rate;
            let course = courses.iter().find(|course| course.began_us == current.began_us);
            let next = courses.iter().find(|course| course.began_us > current.began_us);
            let until_us = course
                .map_or(0, |course| course.traced_us().1)
                .min(next.map_or(u64::MAX, |next| next.began_us));
            match course.filter(|_| at_us < until_us) {
                Some(_) if at_us > now_us => return,
                Some(_) if at_us + LATEST_MS * 1_000 < now_us => {
                    tracer.lose(*room, device.faults_mut());
                    current.taken = (now_us - current.start_us) * rate / 1_000_000;
                }
                Some(course) => {
                    let tick = device.tick(at_us / 1_000);
                    tracer.take(course.sample_at(at_us), tick, *room, device.faults_mut());
                    current.taken += 1;
                }
                None => {
                    tracer.end(*room, device.faults_mut());
                    self.since_us = self.since_us.max(until_us);
                    self.done = Some(current.began_us);
                    self.current = None;
                }
            }
        }
    }

    /// The next pull to sample.
    fn next<'c>(&self, now_us: u64, courses: &'c VecDeque<Course>) -> Option<&'c Course> {
        courses.iter().find(|course| {
            course.began_us <= now_us
                && self.done.is_none_or(|done| course.began_us > done)
                && course.traced_us().1 > self.since_us
        })
    }
}

impl Session<'_, '_, '_, '_> {
    /// Samples, and hands blocks over while few are under way. It never waits: a block that finds no room
    /// stays in the queue.
    pub(super) async fn send_trace(&mut self, now_ms: u64) -> Sent {
        let trace = self.values.own.as_ref().and_then(|own| own.trace.as_ref());
        let (Some(tracer), Some(trace)) = (&self.world.tracer, trace) else { return Ok(()) };
        let room = usize::from(self.link.raw().att_mtu())
            .saturating_sub(NOTIFICATION_HEAD)
            .min(TraceBlock::MOST);
        let heard = self.is_encrypted() && trace.should_notify(self.link);
        self.sample(tracer, heard, now_ms * 1_000, room);
        let most = (AHEAD / room.max(1)).clamp(1, MOST_AHEAD);
        while heard && !self.access.is_reporting() && self.world.flow.under_way() < most {
            let Some(block) = tracer.borrow().next().map(<[u8]>::to_vec) else { break };
            let given = tokio::select! {
                biased;
                given = trace.notify_raw(self.link, &block, false) => given,
                () = ready(()) => break,
            };
            match given {
                Ok(()) => {
                    tracer.borrow_mut().sent();
                    self.world.flow.gave();
                }
                Err(Error::OutOfMemory) => break,
                Err(error) => return Err(error),
            }
        }
        Ok(())
    }

    fn sample<const N: usize>(
        &mut self,
        tracer: &RefCell<Tracer<N>>,
        heard: bool,
        now_us: u64,
        room: usize,
    ) {
        let (mut tracer, mut device) = (tracer.borrow_mut(), self.world.device.borrow_mut());
        tracer.set_epoch(device.epoch());
        if heard {
            let mut sink = Sink { tracer: &mut tracer, device: &mut device, room };
            self.sampling.catch_up(now_us, &self.world.courses.borrow(), &mut sink);
        } else {
            self.sampling.rest(now_us, &mut tracer);
        }
    }
}

#[cfg(test)]
mod tests {
    use clampbook_protocol::{Duration, Epoch, Rotation, Torque, TraceFlags, Versioned};
    use clampbook_reference_adapter::device::Seen;
    use clampbook_reference_adapter::store::Store;

    use super::super::super::course::Shape;
    use super::*;

    /// Half a second under torque, from zero to zero 0.535 s.
    fn course(began_ms: u64, peak_nm: i32) -> Course {
        let seen = Seen {
            peak: Torque::from_centinewton_metres(peak_nm * 100),
            rotation: Rotation::from_tenths(90),
            duration: Duration::from_millis(500),
            moved: None,
        };
        Course { began_us: began_ms * 1_000, shape: Shape::new(&seen, None) }
    }

    /// One block: its number, flags, start in milliseconds, samples, and the largest torque in N·m.
    type Told = (u16, String, u64, usize, i32);

    struct Bench {
        tracer: Tracer<64>,
        device: Device<8>,
        sampling: Sampling,
        courses: VecDeque<Course>,
    }

    impl Bench {
        fn new(courses: impl IntoIterator<Item = Course>) -> Self {
            let mut tracer = Tracer::new(100, true);
            tracer.set_epoch(Epoch::MIN);
            Self {
                tracer,
                device: Device::start(Epoch::MIN, Store::default(), 28_000, 0),
                sampling: Sampling::new(0),
                courses: courses.into_iter().collect(),
            }
        }

        /// Looks every 20 ms, as the link does; pulls become known when they begin.
        fn listen(&mut self, from_ms: u64, to_ms: u64) -> Vec<Told> {
            let mut told = Vec::new();
            for now_us in (from_ms * 1_000..=to_ms * 1_000).step_by(20_000) {
                let known = self.courses.iter().filter(|course| course.began_us <= now_us);
                let known: VecDeque<Course> = known.cloned().collect();
                let (tracer, device) = (&mut self.tracer, &mut self.device);
                self.sampling.catch_up(now_us, &known, &mut Sink { tracer, device, room: 244 });
                while let Some(octets) = self.tracer.next() {
                    told.push(block(octets));
                    self.tracer.sent();
                }
            }
            told
        }
    }

    fn block(octets: &[u8]) -> Told {
        let Ok(Versioned::Known(block)) = TraceBlock::parse(octets) else {
            panic!("expected a block, but found {octets:?}");
        };
        let torques: Vec<i32> = block.samples().map(|sample| sample.torque.raw()).collect();
        let largest = torques.iter().max_by_key(|torque| torque.abs()).map_or(0, |t| t / 100);
        let flags = block.flags.without(TraceFlags::ROTATION).to_string();
        (block.block, flags, block.start.millis(), torques.len(), largest)
    }

    fn row(block: u16, flags: &str, start_ms: u64, samples: usize, largest: i32) -> Told {
        (block, flags.to_owned(), start_ms, samples, largest)
    }

    #[test]
    fn a_pull_is_traced_from_what_was_before_it_to_its_end() {
        let mut bench = Bench::new([course(1_000, 100)]);
        assert_eq!(
            bench.listen(0, 3_000),
            [
                row(0, "first", 700, 10, 0),
                row(1, "none", 800, 10, 0),
                row(2, "none", 900, 10, 0),
                row(3, "none", 1_000, 10, 36),
                row(4, "none", 1_100, 10, 76),
                row(5, "none", 1_200, 10, 100),
                row(6, "none", 1_300, 10, 100),
                row(7, "none", 1_400, 10, 100),
                row(8, "none", 1_500, 10, 35),
                row(9, "last", 1_600, 4, 0),
            ]
        );
    }

    #[test]
    fn pulls_close_together_share_no_sample() {
        let mut bench = Bench::new([course(1_000, 100), course(1_560, -50)]);
        let told = bench.listen(0, 3_000);
        let firsts = told.iter().filter(|told| told.1 == "first").count();
        assert_eq!(firsts, 2, "{told:?}");
        let second = told.iter().position(|told| told.2 == 1_560).expect("a block of the second");
        assert_eq!(told[second].1, "first");
        assert_eq!(told[second - 1], row(8, "last", 1_500, 6, 35));
        assert!(told[second..].iter().all(|told| told.4 <= 0), "{told:?}");
        assert!(told.iter().enumerate().all(|(n, told)| usize::from(told.0) == n));
    }

    #[test]
    fn who_listens_late_hears_that_the_beginning_is_missing() {
        let mut bench = Bench::new([course(1_000, 100), course(5_000, 100)]);
        bench.sampling.rest(1_240_000, &mut bench.tracer);
        let told = bench.listen(1_260, 2_000);
        assert_eq!(told.first(), Some(&row(0, "samples-lost", 1_240, 10, 100)));
        assert_eq!(told.last(), Some(&row(3, "last", 1_540, 10, 0)));
        bench.sampling.rest(9_000_000, &mut bench.tracer);
        assert_eq!(bench.listen(9_000, 9_500), []);
    }

    #[test]
    fn samples_that_are_too_old_are_left_out_and_told() {
        let mut long = course(1_000, 100);
        let Shape::Made { profile, .. } = &mut long.shape else { panic!("expected a made pull") };
        *profile = clampbook_reference_adapter::profile::Profile::new(10_000, 20_000);
        let mut bench = Bench::new([long]);
        bench.listen(900, 1_400);
        let told = bench.listen(8_000, 8_200);
        assert_eq!(told[0].1, "none");
        assert_eq!(told[1], row(told[0].0 + 1, "samples-lost", 8_000, 10, 70));
    }

    #[test]
    fn nobody_hears_the_blocks_of_a_link_that_has_ended() {
        let mut bench = Bench::new([course(1_000, 100)]);
        let (tracer, device) = (&mut bench.tracer, &mut bench.device);
        let mut sink = Sink { tracer, device, room: 244 };
        bench.sampling.catch_up(1_300_000, &bench.courses, &mut sink);
        bench.sampling.rest(1_310_000, &mut bench.tracer);
        assert_eq!(bench.tracer.next(), None);
        assert_eq!(bench.sampling, Sampling { since_us: 1_310_000, done: None, current: None });
        let counts = bench.tracer.counts();
        assert_eq!((counts.made, counts.dropped), (6, 6));
    }
}

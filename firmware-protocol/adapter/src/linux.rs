//! The radio on Linux: a GATT server over the HCI user channel of a controller.

mod answer;
mod args;
mod commands;
mod course;
mod flow;
mod gate;
mod keep;
mod radio;
mod recording;
mod script;
mod serve;
mod table;
mod telling;
mod traced;
mod world;

use std::process::ExitCode;
use std::rc::Rc;

use clampbook_protocol::{
    Battery, Calibration, CalibrationFlags, Capability, Date, Drive, Features, Levels, MINOR,
    Rotation,
};
use clampbook_reference_adapter::device::{Device, PAIRING_MS};
use tokio::time::Instant;

use self::args::Args;
use self::course::Shape;
use self::keep::Keep;
use self::recording::{Recording, What};
use self::table::Identity;
use self::world::{CAPACITY, World};

/// Range of an adapter that no recording describes, in 0.01 N·m.
const USUAL_RANGE: (i32, i32) = (4_000, 28_000);

/// The program.
pub(crate) fn main() -> ExitCode {
    let args = match args::parse(std::env::args().skip(1)) {
        Ok(Some(args)) => args,
        Ok(None) => {
            answer::text(args::HELP);
            return ExitCode::SUCCESS;
        }
        Err(error) => {
            answer::complain(&error);
            return ExitCode::from(2);
        }
    };
    let runtime = match tokio::runtime::Builder::new_current_thread().enable_all().build() {
        Ok(runtime) => runtime,
        Err(error) => {
            answer::complain(&format!("expected an event loop, but found: {error}"));
            return ExitCode::FAILURE;
        }
    };
    let ended = tokio::task::LocalSet::new().block_on(&runtime, async {
        // A task, because embassy's timers know a waker again only if its clones equal it: those of `block_on` may
        // not, and then its queue of timers fills up and wakes itself for ever.
        tokio::task::spawn_local(run(args)).await.unwrap_or_else(|error| Err(error.to_string()))
    });
    // Standard input may still be waited for, and must not keep the program.
    runtime.shutdown_background();
    match ended {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            answer::complain(&error);
            ExitCode::FAILURE
        }
    }
}

async fn run(args: Args) -> Result<(), String> {
    let recording = match &args.recording {
        Some(file) => Some(recording::read(file, args.adapter.as_deref())?),
        None => None,
    };
    for fault in recording.iter().flat_map(|recording| &recording.faults) {
        answer::complain(fault);
    }
    let about = identity(&args, recording.as_ref())?;
    let (keep, kept) = Keep::open::<CAPACITY>(args.state.as_deref(), args.log.as_deref())?;
    let mut device = Device::start(kept.epoch, kept.store, about.capability.range_most, 0);
    if args.level >= 2 {
        device = device.with_hand();
    }
    device.set_battery(Battery::from_percent(args.battery));
    if kept.overloaded {
        device.set_overloaded();
    }
    if args.pairing {
        device.enter_pairing(0, PAIRING_MS);
    }
    keep.device(&device);
    let rotates = about.capability.features.has(Features::TRACE_ROTATION);
    let trace = (args.level >= 2).then_some((args.trace_rate, rotates));
    let world = Rc::new(World::new(device, keep, Instant::now(), trace));
    world.settle();
    tokio::select! {
        ended = radio::run(&world, &about, &args) => ended,
        ended = commands::run(world.clone(), recording) => ended,
    }
}

/// What the adapter says of itself: from the arguments, else from the recording, else the usual.
fn identity(args: &Args, recording: Option<&Recording>) -> Result<Identity, String> {
    let recorded = recording.and_then(|recording| recording.serial.clone());
    let serial = args.serial.clone().or(recorded).unwrap_or_else(|| "REF-0001".to_owned());
    let (least, most) = recording.and_then(|recording| recording.range).unwrap_or(USUAL_RANGE);
    let acts = recording.map(|recording| recording.acts.as_slice()).unwrap_or_default();
    let turns = acts.is_empty()
        || acts.iter().any(
            |act| matches!(act.what, What::Pull(pull, _) if pull.rotation != Rotation::NOT_KNOWN),
        );
    // With the trace come set-point, cues and button.
    let traces = args.level >= 2;
    let moves = args.level >= 3;
    let turns_in_trace = acts.is_empty()
        || acts.iter().any(|act| match &act.what {
            What::Pull(pull, recorded) => Shape::new(pull, recorded.clone()).rotates(),
            What::Press(_) => false,
        });
    let accuracy = recording
        .and_then(|recording| recording.accuracy_pct)
        .map_or(100.0, |percent| percent * 100.0);
    Ok(Identity {
        name: args.name.clone(),
        serial: args::serial(serial)?,
        capability: Capability {
            minor: MINOR,
            levels: Levels::L0
                .with(Levels::L1)
                .with_if(traces, Levels::L2)
                .with_if(moves, Levels::L3),
            drive: recording.and_then(|recording| recording.drive).unwrap_or(Drive::HALF_INCH),
            features: Features::PEAK
                .with_if(turns, Features::ROTATION)
                .with_if(traces, Features::TRACE)
                .with_if(traces && turns_in_trace, Features::TRACE_ROTATION)
                .with_if(moves, Features::MOTION)
                .with_if(traces, Features::BUTTON)
                .with_if(traces, Features::SET_POINT)
                .with_if(traces, Features::CUE)
                .with(Features::CLOCKWISE)
                .with(Features::ANTICLOCKWISE),
            range_least: least.unsigned_abs().min(most.unsigned_abs()),
            range_most: most.unsigned_abs().max(least.unsigned_abs()),
            accuracy: Some(accuracy.clamp(0.0, 65_534.0).round() as u16),
            capacity: u16::try_from(CAPACITY).unwrap_or(u16::MAX),
            trace_rate: if traces { args.trace_rate } else { 0 },
        },
        calibration: Calibration {
            done: Date::NOT_KNOWN,
            due: Date::NOT_KNOWN,
            pulls: 0,
            overloads: 0,
            flags: CalibrationFlags::NONE,
        },
    })
}

#[cfg(test)]
mod tests {
    use clampbook_protocol::Torque;
    use clampbook_reference_adapter::device::Seen;

    use super::*;

    #[test]
    fn the_capability_tells_of_a_trace_and_of_the_hand_from_level_2_on_and_of_motion_from_level_3_on()
     {
        let told = |level, acts: Vec<recording::Act>| {
            let args = Args { level, trace_rate: 250, ..Args::default() };
            let recording = Recording { acts, ..Recording::default() };
            let about = identity(&args, Some(&recording)).expect("an identity").capability;
            (about.levels.to_string(), about.features.to_string(), about.trace_rate)
        };
        let pull = |rotation| recording::Act {
            at: Default::default(),
            seq: None,
            what: What::Pull(
                Seen {
                    peak: Torque::ZERO,
                    rotation,
                    duration: script::USUAL_DURATION,
                    moved: None,
                },
                None,
            ),
        };
        let cases = [
            (1, vec![], "L0+L1", "peak+rotation+clockwise+anticlockwise", 0),
            (
                2,
                vec![],
                "L0+L1+L2",
                "peak+rotation+trace+trace-rotation+button+set-point+cue+clockwise+anticlockwise",
                250,
            ),
            (
                2,
                vec![pull(Rotation::NOT_KNOWN)],
                "L0+L1+L2",
                "peak+trace+button+set-point+cue+clockwise+anticlockwise",
                250,
            ),
            (
                3,
                vec![],
                "L0+L1+L2+L3",
                "peak+rotation+trace+trace-rotation+motion+button+set-point+cue+clockwise+anticlockwise",
                250,
            ),
        ];
        for (level, acts, levels, features, rate) in cases {
            assert_eq!(told(level, acts), (levels.to_owned(), features.to_owned(), rate));
        }
    }
}

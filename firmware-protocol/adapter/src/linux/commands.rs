//! Carries out the commands, in the order they come; `play` goes on beside them.

use std::path::Path;
use std::rc::Rc;
use std::time::Duration;

use clampbook_reference_adapter::device::{NoPower, StaysAwake};
use serde_json::{Value, json};
use tokio::io::{AsyncBufReadExt, BufReader};

use super::answer;
use super::course::Shape;
use super::recording::{Act, Recording, What};
use super::script::{self, Command, Press};
use super::telling;
use super::world::{World, details};

/// How long a quit is waited with, so that the host hears of the end of the link.
const FAREWELL: Duration = Duration::from_millis(500);

/// How long it is out of reach for a link to end.
const MOMENT: Duration = Duration::from_millis(100);

/// Reads standard input until `quit` or its end.
pub(crate) async fn run(world: Rc<World>, recording: Option<Recording>) -> Result<(), String> {
    let acts: Rc<[Act]> = recording.map(|recording| recording.acts).unwrap_or_default().into();
    let mut lines = BufReader::new(tokio::io::stdin()).lines();
    loop {
        let line =
            lines.next_line().await.map_err(|e| format!("expected commands, but found: {e}"))?;
        let Some(line) = line else { break };
        if line.trim().is_empty() {
            continue;
        }
        let command = match script::parse(&line) {
            Ok(Command::Quit) => break,
            Ok(command) => command,
            Err(error) => {
                reply(&line, Err(error));
                continue;
            }
        };
        let result = carry_out(&world, &acts, command).await;
        world.changed.notify_waiters();
        reply(&line, result);
    }
    world.hide_for(FAREWELL * 10);
    tokio::time::sleep(FAREWELL).await;
    reply("quit", Ok(json!({})));
    Ok(())
}

fn reply(line: &str, result: Result<Value, String>) {
    let mut object = result.unwrap_or_else(|error| json!({ "error": error }));
    if let Some(object) = object.as_object_mut() {
        let ok = !object.contains_key("error");
        object.insert("ok".to_owned(), json!(ok));
        object.insert("command".to_owned(), json!(line.trim()));
    }
    answer::say(&object);
}

async fn carry_out(world: &Rc<World>, acts: &Rc<[Act]>, command: Command) -> Result<Value, String> {
    let now_ms = world.now_ms();
    match command {
        Command::Play { .. } if acts.is_empty() => {
            return Err(
                "expected a recording to play, but found none; start with --recording FILE"
                    .to_owned(),
            );
        }
        Command::Play { speed } => {
            tokio::task::spawn_local(play(world.clone(), acts.clone(), speed));
            return Ok(json!({ "acts": acts.len() }));
        }
        Command::Pull(pull) => {
            let reading = world.pull(pull, None).await.map_err(no_power)?;
            return Ok(details(&reading));
        }
        Command::Button(press) => return button(world, press),
        Command::Log(file) => return log(world, file.as_deref()),
        Command::DropLink(time) => world.hide_for(time),
        Command::Skip(count) => world.device.borrow_mut().faults_mut().skip(count),
        Command::Double(count) => world.device.borrow_mut().faults_mut().double(count),
        Command::LoseBlocks { count, after } => {
            world.device.borrow_mut().faults_mut().lose_blocks(count, after);
        }
        Command::Delay(count, time) => {
            let by_ms = u32::try_from(time.as_millis()).unwrap_or(u32::MAX);
            world.device.borrow_mut().faults_mut().delay(count, by_ms);
        }
        Command::Fill(count, seen) => world.fill(count, seen).map_err(no_power)?,
        Command::Elapse(time) => world.elapse(time),
        Command::Sleep(time) => {
            let at_ms = now_ms + u64::try_from(time.as_millis()).unwrap_or(0);
            let announced = world.device.borrow_mut().announce_sleep(now_ms, at_ms);
            announced.map_err(stays_awake)?;
        }
        Command::Wake => world.device.borrow_mut().wake(),
        Command::PowerOff => world.device.borrow_mut().power_off(),
        Command::PowerOn => world.device.borrow_mut().power_on(now_ms),
        Command::NewEpoch => world.device.borrow_mut().begin_epoch(now_ms),
        Command::Pairing(time) => {
            let for_ms = u64::try_from(time.as_millis()).unwrap_or(u64::MAX);
            world.device.borrow_mut().enter_pairing(now_ms, for_ms);
            // It holds one link, and a new host needs that one.
            if world.latch.bondable.get() {
                world.hide_for(MOMENT);
            }
        }
        Command::DeleteBonds => {
            world.keep.delete_bonds();
            world.hide_for(MOMENT);
        }
        Command::Status | Command::Quit => {}
    }
    world.settle();
    let device = world.device.borrow();
    world.keep.device(&device);
    Ok(json!({
        "power": format!("{:?}", device.power()).to_lowercase(),
        "pairing": device.is_pairing(now_ms),
        "epoch": device.epoch(),
        "held": device.store().len(),
        "made": world.log.borrow().len(),
        "set_point": telling::details(&device.guide().read(now_ms)),
        "trace": world.tracer.as_ref().map(|tracer| {
            let counts = tracer.borrow().counts();
            json!({ "made": counts.made, "sent": counts.sent, "lost": counts.lost, "dropped": counts.dropped })
        }),
    }))
}

fn no_power(_: NoPower) -> String {
    "expected power, but found the adapter off; send power-on first".to_owned()
}

fn stays_awake(_: StaysAwake) -> String {
    "expected nobody to need the adapter, but a host wishes it awake".to_owned()
}

fn button(world: &World, press: Press) -> Result<Value, String> {
    if world.tracer.is_none() {
        return Err(format!(
            "expected an adapter with a button for the host, but this one has none: {press:?} ignored"
        ));
    }
    let press = match press {
        Press::Short => clampbook_protocol::Press::Short,
        Press::Long => clampbook_protocol::Press::Long,
        Press::Double => clampbook_protocol::Press::Double,
    };
    Ok(json!({ "counted": world.press(press).map_err(no_power)? }))
}

fn log(world: &World, file: Option<&Path>) -> Result<Value, String> {
    let readings: Vec<Value> = world.log.borrow().iter().map(details).collect();
    let Some(file) = file else {
        return Ok(json!({ "readings": readings }));
    };
    std::fs::write(file, json!(readings).to_string())
        .map_err(|e| format!("expected to write the log to {}, but found: {e}", file.display()))?;
    Ok(json!({ "count": readings.len() }))
}

/// Plays a recording: the times between the acts shrink with the speed, a pull itself does not.
async fn play(world: Rc<World>, acts: Rc<[Act]>, speed: f64) {
    let began_ms = world.now_ms();
    for act in acts.iter() {
        let due_ms = began_ms + (act.at.as_secs_f64() * 1_000.0 / speed) as u64;
        let begins_ms = match &act.what {
            What::Pull(pull, recorded) => {
                let peak_us = Shape::new(pull, recorded.clone()).peak_us();
                due_ms.saturating_sub(peak_us / 1_000)
            }
            What::Press(_) => due_ms,
        };
        let wait_ms = begins_ms.saturating_sub(world.now_ms());
        tokio::time::sleep(Duration::from_millis(wait_ms)).await;
        let result = match &act.what {
            What::Pull(pull, recorded) => {
                world.pull(*pull, recorded.clone()).await.map(|_| ()).map_err(no_power)
            }
            What::Press(press) => button(&world, *press).map(|_| ()),
        };
        if let Err(error) = result {
            answer::event("not-done", json!({ "at": act.at.as_secs_f64(), "error": error }));
        }
    }
    answer::event("played", json!({ "acts": acts.len() }));
}

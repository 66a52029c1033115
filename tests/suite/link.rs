//! The link over the system's bus, with a stand-in for BlueZ: what the operator is told of each failure, whole,
//! and that every reading is kept exactly once whatever the service does.

use crate::bluez::{Bluez, Bus, Script};
use crate::rig::{Rig, Served};
use clampbook_protocol::{PresentationFormat, Press};
use rusqlite::Connection;
use std::thread::sleep;
use std::time::{Duration, Instant};

const PATIENCE: Duration = Duration::from_secs(60);

const TWO: &str = "\
plan = \"Two\"
source = \"sheet\"
tolerance = \"±10 %\"
[joints]
bracket = \"90 N·m\"
";

const HELD: &str = "\
plan = \"Held\"
source = \"sheet\"
tolerance = \"±10 %\"
in-order = true
[holds]
chocked = \"Chocked?\"
[joints]
bracket = \"90 N·m\"
[joints.hub-nut]
target = \"200 N·m\"
left-hand = true
hold = \"chocked\"
";

/// A computer with that script, on which `serve` listens to the adapter.
struct Bench {
    rig: Rig,
    bluez: Bluez,
    served: Served,
    _bus: Bus,
}

impl Bench {
    fn start(script: Script) -> Self {
        let rig = Rig::new();
        let bus = Bus::start(&rig, "");
        let bluez = Bluez::start(&bus, script);
        let served = rig.serve_on(&bus.address, &["--adapter", "ble:LK-0007"]);
        Self { rig, bluez, served, _bus: bus }
    }

    /// Waits for something that must come.
    #[track_caller]
    fn until(&self, what: &str, mut there: impl FnMut(&Self) -> bool) {
        let begun = Instant::now();
        while !there(self) {
            let log = self.rig.log();
            assert!(begun.elapsed() < PATIENCE, "expected {what}, but found {log}");
            sleep(Duration::from_millis(50));
        }
    }

    /// Waits until exactly that is told.
    #[track_caller]
    fn told(&self, message: &str) {
        self.until(message, |bench| bench.rig.log().lines().any(|line| line.ends_with(message)));
    }

    /// Waits until the adapter's readings can arrive.
    #[track_caller]
    fn linked(&self, times: usize) {
        let last = "subscribe status";
        self.until("a link", |bench| {
            bench.bluez.calls().iter().filter(|call| *call == last).count() >= times
        });
    }

    /// Starts a job of that plan.
    #[track_caller]
    fn start_job(&self, plan: &str) {
        std::fs::write(self.rig.path("plan.toml"), plan).unwrap();
        let job = self.rig.output(&["job", "start", "plan.toml"]);
        assert!(job.status.success(), "{}", String::from_utf8_lossy(&job.stderr));
    }

    /// Waits until the adapter was told exactly that to guide the hand. Set-points keep their order, and cues
    /// theirs; a cue and a set-point go their own ways.
    #[track_caller]
    fn guided(&self, expected: &[&str]) {
        let sorted = |told: &[String]| {
            let mut told = told.to_vec();
            told.sort_by_key(|told| told.starts_with("cue"));
            told
        };
        let expected = sorted(&expected.iter().map(|told| (*told).to_owned()).collect::<Vec<_>>());
        let begun = Instant::now();
        while sorted(&self.bluez.guidance()) != expected {
            let (found, log) = (self.bluez.guidance(), self.rig.log());
            assert!(begun.elapsed() < PATIENCE, "expected {expected:?}, found {found:?}; {log}");
            sleep(Duration::from_millis(50));
        }
    }

    /// What the operator said, and by what means.
    fn marks(&self) -> Vec<(String, String)> {
        let journal = Connection::open(self.rig.path("journal.sqlite")).unwrap();
        let mut rows = journal
            .prepare(
                "SELECT payload ->> '$.say.say', payload ->> '$.origin' FROM event \
                 WHERE kind = 'mark' ORDER BY number",
            )
            .unwrap();
        let rows = rows.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).unwrap();
        rows.map(Result::unwrap).collect()
    }

    fn kept(&self) -> Vec<(Option<i64>, f64)> {
        let journal = Connection::open(self.rig.path("journal.sqlite")).unwrap();
        let mut rows = journal
            .prepare(
                "SELECT sequence, payload ->> '$.reading.peak' FROM event \
                 WHERE kind = 'reading' ORDER BY sequence",
            )
            .unwrap();
        let rows = rows.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).unwrap();
        rows.map(Result::unwrap).collect()
    }

    /// Waits until that many readings are kept and released, and gives their peaks, N·m.
    #[track_caller]
    fn peaks(&self, count: usize) -> Vec<f64> {
        self.until(&format!("{count} readings"), |bench| {
            bench.kept().len() >= count && bench.bluez.held() == 0
        });
        // One more heartbeat: what would come twice has come by then.
        sleep(Duration::from_millis(1200));
        self.kept().into_iter().map(|(_, peak)| peak).collect()
    }
}

/// With that script, exactly that is told, and no reading is taken.
#[track_caller]
fn refused(script: Script, message: &str) {
    let bench = Bench::start(script);
    bench.told(message);
    bench.bluez.pull(120.0);
    sleep(Duration::from_secs(1));
    assert_eq!(bench.kept(), []);
}

#[test]
fn a_controller_that_is_switched_off_stays_off() {
    refused(
        Script { powered: Some(false), ..Script::default() },
        "the Bluetooth controller hci0 is switched off; switch Bluetooth on in the system's settings \
         (on Linux also `bluetoothctl power on`); it is never switched on from here",
    );
}

#[test]
fn without_a_controller_one_is_waited_for() {
    refused(
        Script { powered: None, heard: false, ..Script::default() },
        "this computer has no Bluetooth controller; plug one in; it is taken up by itself",
    );
}

#[test]
fn an_adapter_out_of_range_is_looked_for_all_the_time() {
    refused(
        Script { heard: false, ..Script::default() },
        "adapter LK-0007: is not heard; wake it and bring it within reach; it is looked for all the \
         time",
    );
}

#[test]
fn nothing_is_taken_from_another_serial_number() {
    refused(
        Script { serial: "LK-0008", ..Script::default() },
        "adapter LK-0007: expected the adapter LK-0007, but found one with the serial number LK-0008 \
         at C0:FF:EE:00:00:01; nothing was taken from it; wake the right one and bring it within \
         reach; `clampbook adapter scan` shows what is about",
    );
}

#[test]
fn without_a_bond_nothing_is_asked() {
    refused(
        Script { bonded: false, ..Script::default() },
        "adapter LK-0007: needs an encrypted link, and is not paired with this computer; hold its \
         button until it shows pairing mode, and run `clampbook adapter add LK-0007` within 60 s",
    );
}

#[test]
fn a_table_that_lacks_something_is_told_and_nothing_is_forgotten_by_itself() {
    refused(
        Script { lacks: &["reading"], ..Script::default() },
        "adapter LK-0007: expected readings in its table of services, but found none; the computer \
         may remember an old table: switch Bluetooth off and on; if it stays so, run `clampbook \
         adapter forget LK-0007 --bond` and add it again",
    );
}

#[test]
fn a_protocol_of_the_future_is_neither_read_nor_erased() {
    refused(
        Script { version: 2, ..Script::default() },
        "adapter LK-0007: speaks version 2 of the protocol, and this program knows version 1; \
         nothing is read or erased; update this program",
    );
}

#[test]
fn torque_in_an_unknown_unit_is_not_converted() {
    let unit = PresentationFormat { unit: 0x27A3, ..PresentationFormat::TORQUE };
    refused(
        Script { keeps: false, unit, ..Script::default() },
        "adapter LK-0007: tells its torque in a way that is not known here (presentation format: \
         expected the unit 10049 (0x2741, newton metre), but found 10147); none is taken; look for \
         newer software for the adapter or for this program",
    );
}

#[test]
fn another_program_that_listens_is_told_and_doubles_nothing() {
    let bench = Bench::start(Script { copies: 2, ..Script::default() });
    bench.linked(1);
    let pulls: Vec<f64> = (0..8).map(|number| 100.0 + f64::from(number)).collect();
    for peak in &pulls {
        bench.bluez.pull(*peak);
        sleep(Duration::from_millis(150));
    }
    bench.told(
        "adapter LK-0007: its readings arrive twice: another program on this computer listens to it \
         too; close the other program; nothing is lost or counted twice meanwhile",
    );
    assert_eq!(bench.peaks(8), pulls);
}

#[test]
fn a_pull_is_due_while_the_adapter_is_away() {
    let mut bench = Bench::start(Script { heard: false, ..Script::default() });
    bench.told(
        "adapter LK-0007: is not heard; wake it and bring it within reach; it is looked for all the \
         time",
    );
    bench.start_job(TWO);
    bench.told(
        "adapter LK-0007: is asleep or out of range, and a pull is due; wake it (press its button or \
         move it) and wait for \"ready\" before you pull",
    );
    bench.served.signal("TERM");
}

#[test]
fn pulls_while_it_is_subscribed_to_and_while_the_link_is_down_are_kept_once() {
    let bench = Bench::start(Script { pull_in_subscription: true, ..Script::default() });
    bench.linked(1);
    bench.bluez.pull(80.0);
    assert_eq!(bench.peaks(2), [121.5, 80.0]);
    bench.bluez.lose();
    bench.bluez.pull(81.0);
    bench.linked(2);
    bench.bluez.pull(82.0);
    assert_eq!(bench.peaks(5), [121.5, 80.0, 81.0, 121.5, 82.0]);
}

#[test]
fn a_link_that_is_there_already_is_taken_over() {
    let bench = Bench::start(Script { linked: true, ..Script::default() });
    bench.linked(1);
    bench.bluez.pull(90.0);
    assert_eq!(bench.peaks(1), [90.0]);
    assert!(!bench.bluez.calls().iter().any(|call| call == "connect" || call == "start discovery"));
}

#[test]
fn a_link_that_was_there_already_and_shows_nothing_is_made_anew_without_a_word() {
    let late = Some(Duration::from_millis(500));
    let bench = Bench::start(Script { linked: true, late, ..Script::default() });
    bench.linked(1);
    bench.bluez.pull(90.0);
    assert_eq!(bench.peaks(1), [90.0]);
    let calls = bench.bluez.calls();
    assert_eq!(calls.iter().filter(|call| *call == "connect").count(), 1, "{calls:?}");
    let log = bench.rig.log();
    assert!(!log.contains("WARN"), "{log}");
}

#[test]
fn a_table_that_comes_late_and_a_service_that_is_busy_are_waited_for() {
    let late = Some(Duration::from_millis(1500));
    let bench = Bench::start(Script { late, busy: 2, ..Script::default() });
    bench.linked(1);
    bench.bluez.pull(90.0);
    assert_eq!(bench.peaks(1), [90.0]);
    let calls = bench.bluez.calls();
    assert_eq!(calls.iter().filter(|call| *call == "connect").count(), 3, "{calls:?}");
}

#[test]
fn scanning_has_ended_before_a_link_is_made() {
    let bench = Bench::start(Script::default());
    bench.linked(1);
    let expected = [
        // Whoever scans sets this; on a controller that is switched off, nobody scans.
        "set powered",
        "start discovery",
        "stop discovery",
        "connect",
        "read serial",
        "read capability",
        "subscribe control",
        "subscribe access",
        "subscribe reading",
        "subscribe status",
    ];
    assert_eq!(bench.bluez.calls()[..expected.len()], expected);
}

#[test]
fn subscribed_without_a_value_is_no_link() {
    let bench = Bench::start(Script { mute: true, ..Script::default() });
    bench.linked(1);
    bench.bluez.pull(90.0);
    bench.linked(2);
    assert_eq!(bench.kept(), []);
    bench.told(
        "adapter LK-0007: sends readings, but none arrive here; it keeps them and is linked anew; if \
         this goes on, switch Bluetooth off and on",
    );
}

#[test]
fn adding_an_adapter_does_not_give_up_at_the_first_link_that_fails() {
    let rig = Rig::new();
    let bus = Bus::start(&rig, "");
    let bluez = Bluez::start(&bus, Script { busy: 2, ..Script::default() });
    let words = ["adapter", "add", "LK-0007", "--seconds", "1", "--no-zero"];
    let added = rig.command(&words).env("DBUS_SYSTEM_BUS_ADDRESS", &bus.address).output().unwrap();
    let said = String::from_utf8_lossy(&added.stderr).into_owned();
    assert!(said.contains("adapter LK-0007 was paired already and is kept as LK-0007"), "{said}");
    assert_eq!(bluez.calls().iter().filter(|call| *call == "connect").count(), 3);
}

#[test]
fn the_adapter_guides_the_hand_by_what_is_asked_and_its_button_answers() {
    let bench = Bench::start(Script { hand: true, ..Script::default() });
    bench.linked(1);
    bench.start_job(HELD);
    let mut expected = vec![
        "set-point 1, target 90.00 N·m, low 81.00 N·m, high 99.00 N·m, rotation not known, for 60 s",
    ];
    bench.guided(&expected);
    // Nothing is asked: nothing is confirmed, which is said once.
    let nothing = "nothing is asked just now: the button has confirmed nothing";
    bench.bluez.press(Press::Short);
    bench.bluez.press(Press::Short);
    bench.bluez.press(Press::Long);
    bench.told("next: bracket/1, pass 1 of 1: 90 N·m (81.0–99.0 N·m)");
    assert_eq!(bench.rig.log().matches(nothing).count(), 1);
    assert_eq!(bench.marks(), []);
    bench.bluez.pull(91.0);
    expected.extend(["cue step done", "set-point 2, no window, for 0 s"]);
    bench.guided(&expected);
    let hub = |number| {
        format!(
            "set-point {number}, target -200.00 N·m, low -180.00 N·m, high -220.00 N·m, rotation \
             not known, for 60 s"
        )
    };
    let (first, second) = (hub(3), hub(5));
    bench.bluez.press(Press::Short);
    expected.push(&first);
    bench.guided(&expected);
    bench.bluez.press(Press::Double);
    expected.push("set-point 4, no window, for 0 s");
    bench.guided(&expected);
    bench.bluez.press(Press::Short);
    expected.push(&second);
    bench.guided(&expected);
    assert!(bench.rig.output(&["job", "park"]).status.success());
    expected.push("set-point 6, no window, for 0 s");
    bench.guided(&expected);
    let marks = ["confirm", "retract", "confirm"].map(|say| (say.to_owned(), "button".to_owned()));
    assert_eq!(bench.marks(), marks);
    let reads = bench.bluez.calls().iter().filter(|call| *call == "read set-point").count();
    assert_eq!(reads, 3, "each new set-point is read back");
    assert_eq!(bench.peaks(1), [91.0]);
}

#[test]
fn a_set_point_that_is_refused_is_told_once_and_costs_no_reading() {
    let bench = Bench::start(Script { hand: true, takes_up_to: 8_000, ..Script::default() });
    bench.linked(1);
    bench.start_job(TWO);
    bench.told(
        "adapter LK-0007: did not take the set-point 90.0 N·m (invalid value): it does not guide; go \
         by the screen; its readings are taken as ever",
    );
    bench.bluez.pull(85.0);
    assert_eq!(bench.peaks(1), [85.0]);
    let written: Vec<String> =
        bench.bluez.guidance().into_iter().filter(|told| !told.starts_with("cue")).collect();
    assert_eq!(written, ["Value"]);
}

#[test]
fn an_adapter_that_guides_for_another_host_is_told_of_and_waited_for() {
    let bench = Bench::start(Script { hand: true, guides_another: true, ..Script::default() });
    bench.linked(1);
    bench.start_job(TWO);
    bench.told(
        "adapter LK-0007: guides for another host, which asks for something else; end the other \
         host's job; until then do not go by its lamp",
    );
    bench.guided(&["Busy", "Busy"]);
}

#[test]
fn a_press_while_the_link_is_down_is_noticed_afterwards_and_confirms_nothing() {
    let bench = Bench::start(Script { hand: true, ..Script::default() });
    bench.linked(1);
    bench.start_job(HELD);
    bench.bluez.press(Press::Long);
    bench.told("next: bracket/1, pass 1 of 1: 90 N·m (81.0–99.0 N·m)");
    bench.bluez.lose();
    bench.bluez.press(Press::Double);
    bench.linked(2);
    bench.bluez.press(Press::Long);
    bench.told(
        "adapter LK-0007: 1 press of its button was not heard, and did nothing; look what is asked, \
         and press again if it is still so",
    );
    assert_eq!(bench.marks(), []);
}

#[test]
fn a_pull_beyond_what_is_asked_is_cued_before_anything_else() {
    let bench = Bench::start(Script { hand: true, ..Script::default() });
    bench.linked(1);
    bench.start_job(TWO);
    let set_point = "set-point 1, target 90.00 N·m, low 81.00 N·m, high 99.00 N·m, rotation not known, for 60 s";
    bench.guided(&[set_point]);
    bench.bluez.pull(120.0);
    bench.until("a cue", |bench| bench.bluez.guidance().len() > 1);
    assert_eq!(bench.peaks(1), [120.0]);
    // The verdict that follows says nothing new.
    let cues: Vec<String> =
        bench.bluez.guidance().into_iter().filter(|told| told.starts_with("cue")).collect();
    assert_eq!(cues, ["cue over"]);
}

//! A stand-in for BlueZ on a bus of the test's own, with an adapter behind it that runs the logic of the
//! reference adapter. What it does otherwise than a good one is its script.

mod objects;
mod world;

use crate::rig::Rig;
use clampbook_protocol::{PresentationFormat, Press};
use objects::Attributes;
use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::time::Duration;
use world::World;
use zbus::blocking::{Connection, connection};
use zbus::fdo::ObjectManager;

pub const ADDRESS: &str = "C0:FF:EE:00:00:01";
pub const CONTROLLER: &str = "/org/bluez/hci0";
pub const DEVICE: &str = "/org/bluez/hci0/dev_C0_FF_EE_00_00_01";

/// The system's bus, for this test alone; ended with it.
pub struct Bus {
    daemon: Child,
    pub address: String,
}

impl Bus {
    /// A bus on which `rules` (of a bus configuration) hold beside "everything is allowed".
    pub fn start(rig: &Rig, rules: &str) -> Self {
        let config = rig.path("bus.conf");
        let text = format!(
            r#"<busconfig><type>system</type><listen>unix:tmpdir=/tmp</listen><auth>EXTERNAL</auth>
            <policy context="default"><allow send_destination="*" eavesdrop="true"/>
            <allow eavesdrop="true"/><allow own="*"/><allow user="*"/>{rules}</policy>
            </busconfig>"#
        );
        std::fs::write(&config, text).unwrap();
        let mut daemon = Command::new("dbus-daemon")
            .arg(format!("--config-file={}", config.display()))
            .args(["--nofork", "--print-address"])
            .stdout(Stdio::piped())
            .spawn()
            .expect("dbus-daemon, of the package dbus");
        let mut address = String::new();
        let mut said = BufReader::new(daemon.stdout.take().unwrap());
        said.read_line(&mut address).unwrap();
        Self { daemon, address: address.trim().to_owned() }
    }
}

impl Drop for Bus {
    fn drop(&mut self) {
        let _ = self.daemon.kill();
        let _ = self.daemon.wait();
    }
}

/// How the controller, the adapter and the service behave.
#[derive(Clone)]
pub struct Script {
    /// A controller, switched on or off; or none.
    pub powered: Option<bool>,
    /// An adapter is there.
    pub heard: bool,
    pub serial: &'static str,
    pub bonded: bool,
    /// It is linked from the start, as after a crash of the program.
    pub linked: bool,
    /// It keeps its readings; otherwise it only tells its present torque.
    pub keeps: bool,
    /// The major version of the protocol that it speaks.
    pub version: u8,
    /// What its torque is told in.
    pub unit: PresentationFormat,
    /// Names of characteristics that it lacks.
    pub lacks: &'static [&'static str],
    /// How often each value is signalled.
    pub copies: usize,
    /// The table is empty for so long after a link is made.
    pub late: Option<Duration>,
    /// So many calls to connect end with "in progress".
    pub busy: usize,
    /// A pull is notified while readings are being subscribed to.
    pub pull_in_subscription: bool,
    /// Readings are subscribed to without complaint, and none is notified.
    pub mute: bool,
    /// It takes a set-point and cues, and has a button.
    pub hand: bool,
    /// Another host guides with it.
    pub guides_another: bool,
    /// The largest target that it takes as a set-point, in 0.01 N·m, whatever it says.
    pub takes_up_to: u32,
}

impl Default for Script {
    fn default() -> Self {
        Self {
            powered: Some(true),
            heard: true,
            serial: "LK-0007",
            bonded: true,
            linked: false,
            keeps: true,
            version: 1,
            unit: PresentationFormat::TORQUE,
            lacks: &[],
            copies: 1,
            late: None,
            busy: 0,
            pull_in_subscription: false,
            mute: false,
            hand: false,
            guides_another: false,
            takes_up_to: world::MOST,
        }
    }
}

/// The stand-in, while it lives. At its end it makes sure that nothing was done that may never be done.
pub struct Bluez {
    bus: Connection,
    world: Arc<World>,
}

impl Bluez {
    pub fn start(bus: &Bus, script: Script) -> Self {
        let late = script.late.is_some();
        let world = World::new(script.clone());
        let mut builder = connection::Builder::address(bus.address.as_str())
            .unwrap()
            .serve_at("/", ObjectManager)
            .unwrap();
        if script.powered.is_some() {
            builder =
                builder.serve_at(CONTROLLER, objects::Controller(Arc::clone(&world))).unwrap();
        }
        if script.heard {
            builder = builder.serve_at(DEVICE, objects::Device(Arc::clone(&world))).unwrap();
        }
        let connection = builder.build().unwrap();
        if script.heard && !late {
            Attributes::of(&world).serve(&connection);
        }
        connection.request_name("org.bluez").unwrap();
        world::beat(&world, &connection);
        Self { bus: connection, world }
    }

    /// Somebody pulls, N·m.
    pub fn pull(&self, peak: f64) {
        self.world.pull(peak);
        self.world.send_live(&self.bus);
    }

    /// Somebody presses its button.
    pub fn press(&self, press: Press) {
        self.world.press(&self.bus, press);
    }

    /// Every set-point that was written, in words, and every cue.
    pub fn guidance(&self) -> Vec<String> {
        self.world.guidance()
    }

    /// The radio link is lost.
    pub fn lose(&self) {
        self.world.lose(&self.bus);
    }

    /// Every call that matters so far, in order.
    pub fn calls(&self) -> Vec<String> {
        self.world.calls()
    }

    /// How many readings the adapter still keeps.
    pub fn held(&self) -> usize {
        self.world.held()
    }
}

impl Drop for Bluez {
    fn drop(&mut self) {
        if std::thread::panicking() {
            println!("calls: {:?}", self.calls());
            return;
        }
        let calls = self.calls();
        let mut never = vec!["remove the device", "read reading"];
        if self.world.script.powered == Some(false) {
            never.push("set powered");
        }
        for never in never {
            assert!(!calls.iter().any(|call| call == never), "'{never}' in {calls:?}");
        }
    }
}

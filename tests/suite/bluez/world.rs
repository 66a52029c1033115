//! What happens behind the stand-in: the adapter, its link, and who is notified of what.

use super::{DEVICE, Script};
use clampbook_protocol::gatt::{assigned, characteristic};
use clampbook_protocol::{
    Capability, ControlRequest, Drive, Duration as Lasting, Epoch, Features, Levels, Press,
    Rotation, SetPoint, Torque, Window,
};
use clampbook_reference_adapter::access::{Access, Outcome, Step};
use clampbook_reference_adapter::device::{Device, Seen};
use clampbook_reference_adapter::profile::Profile;
use clampbook_reference_adapter::store::Store;
use std::collections::{BTreeMap, HashMap};
use std::sync::{Arc, Mutex, MutexGuard, Weak};
use std::time::{Duration, Instant};
use zbus::blocking::Connection;
use zbus::zvariant::Value;

/// Largest torque of its range, in 0.01 N·m.
pub const MOST: u32 = 34_000;

/// The link of this computer, and that of another host.
const LINK: u16 = 1;
const OTHER_LINK: u16 = 2;

/// How often the adapter has a look at itself.
const BEAT: Duration = Duration::from_millis(50);
/// Beats between two heartbeats of an adapter.
const HEARTBEAT: u32 = 20;

pub struct World {
    pub script: Script,
    begun: Instant,
    state: Mutex<State>,
}

struct State {
    calls: Vec<String>,
    linked: bool,
    busy: usize,
    /// Where the values are signalled that are subscribed to.
    notifying: BTreeMap<u128, String>,
    device: Device<64>,
    access: Access,
    /// The pull under way, and since when.
    pull: Option<(Profile, Instant)>,
    guidance: Vec<String>,
}

/// Values that are to be signalled: of which characteristic, and the octets.
pub type Values = Vec<(u128, Vec<u8>)>;

impl World {
    pub fn new(script: Script) -> Arc<Self> {
        let mut device = Device::start(Epoch::MIN, Store::default(), script.takes_up_to, 0);
        if script.hand {
            device = device.with_hand();
        }
        if script.guides_another {
            let torque = Torque::from_centinewton_metres(5_000);
            let window = Window::new(torque, torque, torque, Rotation::NOT_KNOWN).unwrap();
            let other = SetPoint { number: 9, window: Some(window), seconds: 600 };
            device.set_point(&other.emit(), OTHER_LINK, 0).unwrap();
        }
        let state = State {
            calls: Vec::new(),
            linked: script.linked,
            busy: script.busy,
            notifying: BTreeMap::new(),
            device,
            access: Access::default(),
            pull: None,
            guidance: Vec::new(),
        };
        Arc::new(Self { script, begun: Instant::now(), state: Mutex::new(state) })
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap()
    }

    fn now_ms(&self) -> u64 {
        u64::try_from(self.begun.elapsed().as_millis()).unwrap()
    }

    pub fn call(&self, what: impl Into<String>) {
        self.state().calls.push(what.into());
    }

    pub fn calls(&self) -> Vec<String> {
        self.state().calls.clone()
    }

    pub fn held(&self) -> usize {
        self.state().device.store().len()
    }

    pub fn guidance(&self) -> Vec<String> {
        self.state().guidance.clone()
    }

    pub fn is_linked(&self) -> bool {
        self.state().linked
    }

    /// Whether a call to connect makes a link.
    pub fn connect(&self) -> bool {
        let mut state = self.state();
        if state.busy > 0 {
            state.busy -= 1;
            return false;
        }
        state.linked = true;
        true
    }

    pub fn pull(&self, peak: f64) {
        #[expect(clippy::cast_possible_truncation, reason = "hundredths of a few hundred")]
        let hundredths = (peak * 100.0).round() as i32;
        let now = self.now_ms();
        let mut state = self.state();
        state.pull = Some((Profile::new(hundredths, 600), Instant::now()));
        let seen = Seen {
            peak: Torque::from_centinewton_metres(hundredths),
            rotation: Rotation::from_tenths(310),
            duration: Lasting::from_millis(600),
            moved: None,
        };
        state.device.pull(seen, now).unwrap();
    }

    /// Notifies the readings that were not yet notified.
    pub fn send_live(&self, bus: &Connection) {
        let mut values = Values::new();
        while let Some(reading) = self.next_live() {
            values.push((characteristic::READING, reading));
        }
        if !self.script.mute {
            self.signal(bus, values);
        }
    }

    fn next_live(&self) -> Option<Vec<u8>> {
        let reading = self.state().device.next_live(self.now_ms())?;
        Some(reading.emit().to_vec())
    }

    pub fn press(&self, bus: &Connection, press: Press) {
        let now = self.now_ms();
        let mut values = Values::new();
        let mut state = self.state();
        state.device.press(press, now).unwrap();
        while let Some(button) = state.device.next_press() {
            values.push((characteristic::BUTTON, button.emit().to_vec()));
        }
        drop(state);
        self.signal(bus, values);
    }

    /// What the set-point reads.
    pub fn set_point(&self) -> Vec<u8> {
        let now = self.now_ms();
        let mut state = self.state();
        state.device.settle(now);
        state.device.guide().read(now).emit().to_vec()
    }

    /// Writes the set-point, or gives the ATT error.
    pub fn guide(&self, octets: &[u8]) -> Result<(), u8> {
        let now = self.now_ms();
        let mut state = self.state();
        let taken = state.device.set_point(octets, LINK, now);
        let told = match &taken {
            Ok(set_point) => set_point.to_string(),
            Err(refused) => format!("{refused:?}"),
        };
        state.guidance.push(told);
        taken.map(|_| ()).map_err(|refused| refused.att_error())
    }

    pub fn lose(&self, bus: &Connection) {
        self.unlink();
        Self::tell_lost(bus);
    }

    pub fn unlink(&self) {
        let mut state = self.state();
        state.linked = false;
        state.notifying.clear();
        state.access = Access::default();
        state.device.link_lost();
    }

    pub fn tell_lost(bus: &Connection) {
        for key in ["Connected", "ServicesResolved"] {
            changed(bus, DEVICE, "org.bluez.Device1", key, Value::from(false));
        }
    }

    pub fn subscribe(&self, uuid: u128, path: &str) {
        self.state().notifying.insert(uuid, path.to_owned());
    }

    pub fn unsubscribe(&self, uuid: u128) {
        self.state().notifying.remove(&uuid);
    }

    /// Signals values as often as the script says, if they are subscribed to.
    pub fn signal(&self, bus: &Connection, values: Values) {
        for (uuid, octets) in values {
            let Some(path) = self.state().notifying.get(&uuid).cloned() else { continue };
            for _ in 0..self.script.copies {
                let value = Value::from(octets.clone());
                changed(bus, &path, "org.bluez.GattCharacteristic1", "Value", value);
            }
        }
    }

    pub fn status(&self) -> Vec<u8> {
        self.state().device.status(self.now_ms(), false).emit().to_vec()
    }

    pub fn capability(&self) -> Vec<u8> {
        let capability = Capability {
            minor: 0,
            levels: Levels::L0.with(Levels::L1).with_if(self.script.hand, Levels::L2),
            drive: Drive::HALF_INCH,
            features: Features::PEAK
                .with(Features::ROTATION)
                .with(Features::CLOCKWISE)
                .with_if(self.script.hand, Features::SET_POINT)
                .with_if(self.script.hand, Features::CUE)
                .with_if(self.script.hand, Features::BUTTON),
            range_least: 1_700,
            range_most: MOST,
            accuracy: Some(200),
            capacity: 64,
            trace_rate: 0,
        };
        let mut octets = capability.emit().to_vec();
        octets[0] = self.script.version;
        octets
    }

    /// What a record access request leads to.
    pub fn access(&self, octets: &[u8]) -> Option<Values> {
        let mut state = self.state();
        let State { device, access, .. } = &mut *state;
        let answer = assigned(characteristic::RECORD_ACCESS_CONTROL_POINT);
        let mut values = Values::new();
        match device.access(octets, access) {
            Outcome::Busy => return None,
            Outcome::Answer(response) => values.push((answer, response.emit().to_vec())),
            Outcome::Reporting => {
                while let Some(step) = access.next(device.store()) {
                    match step {
                        Step::Notify(_) if self.script.mute => {}
                        Step::Notify(reading) => {
                            values.push((characteristic::READING, reading.emit().to_vec()));
                        }
                        Step::Answer(response) => values.push((answer, response.emit().to_vec())),
                    }
                }
            }
        }
        Some(values)
    }

    pub fn control(&self, octets: &[u8]) -> Values {
        let now = self.now_ms();
        let mut state = self.state();
        if let Ok(ControlRequest::Cue(cue)) = ControlRequest::parse(octets) {
            state.guidance.push(format!("cue {cue}"));
        }
        let answer = state.device.control(octets, now, true).emit().to_vec();
        vec![(characteristic::CONTROL_POINT, answer)]
    }

    fn torque(&self) -> Vec<u8> {
        let state = self.state();
        let torque = state.pull.as_ref().map_or(0, |(profile, since)| {
            let at = u32::try_from(since.elapsed().as_millis()).unwrap();
            if at > profile.length_ms() { 0 } else { profile.torque_at(at) }
        });
        torque.to_le_bytes().to_vec()
    }
}

/// Lets the adapter tell its torque and its status, until the world ends.
pub fn beat(world: &Arc<World>, bus: &Connection) {
    let world: Weak<World> = Arc::downgrade(world);
    let bus = bus.clone();
    std::thread::spawn(move || {
        for beat in 0_u32.. {
            std::thread::sleep(BEAT);
            let Some(world) = world.upgrade() else { return };
            let mut values = vec![(assigned(characteristic::TORQUE), world.torque())];
            if beat % HEARTBEAT == 0 {
                values.push((characteristic::STATUS, world.status()));
            }
            world.signal(&bus, values);
        }
    });
}

/// Tells everybody that a property has changed.
pub fn changed(bus: &Connection, path: &str, interface: &str, key: &str, value: Value<'_>) {
    let changes = HashMap::from([(key, value)]);
    let gone: [&str; 0] = [];
    let body = (interface, changes, &gone[..]);
    let properties = "org.freedesktop.DBus.Properties";
    // The bus may have ended with the test.
    let _ = bus.emit_signal(None::<&str>, path, properties, "PropertiesChanged", &body);
}

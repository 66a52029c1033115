//! The objects on the bus, with BlueZ's own interfaces.

use super::world::{World, changed};
use super::{ADDRESS, DEVICE};
use clampbook_protocol::gatt::{assigned, characteristic, descriptor, service};
use std::collections::HashMap;
use std::sync::Arc;
use uuid::Uuid;
use zbus::blocking::Connection;
use zbus::zvariant::{OwnedValue, Value};

type Options = HashMap<String, OwnedValue>;

#[derive(Debug, zbus::DBusError)]
#[zbus(prefix = "org.bluez.Error")]
pub enum NotDone {
    #[zbus(error)]
    Bus(zbus::Error),
    Failed(String),
    InProgress(String),
    NotSupported(String),
}

pub struct Controller(pub Arc<World>);

#[zbus::interface(name = "org.bluez.Adapter1")]
impl Controller {
    fn start_discovery(&self) {
        self.0.call("start discovery");
    }

    fn stop_discovery(&self) {
        self.0.call("stop discovery");
    }

    fn set_discovery_filter(&self, _filter: Options) {}

    fn remove_device(&self, _device: zbus::zvariant::ObjectPath<'_>) {
        self.0.call("remove the device");
    }

    #[zbus(property)]
    fn address(&self) -> &str {
        "00:AA:01:00:00:42"
    }

    #[zbus(property)]
    fn address_type(&self) -> &str {
        "public"
    }

    #[zbus(property)]
    fn name(&self) -> &str {
        "bench"
    }

    #[zbus(property)]
    fn alias(&self) -> &str {
        "bench"
    }

    #[zbus(property)]
    fn modalias(&self) -> &str {
        "usb:v1D6Bp0246d0542"
    }

    #[zbus(property)]
    fn discovering(&self) -> bool {
        false
    }

    #[zbus(property)]
    fn powered(&self) -> bool {
        self.0.script.powered.unwrap_or(false)
    }

    #[zbus(property)]
    fn set_powered(&self, _on: bool) {
        self.0.call("set powered");
    }
}

pub struct Device(pub Arc<World>);

#[zbus::interface(name = "org.bluez.Device1")]
impl Device {
    fn connect(&self, #[zbus(connection)] bus: &zbus::Connection) -> Result<(), NotDone> {
        self.0.call("connect");
        if !self.0.connect() {
            return Err(NotDone::InProgress("Operation already in progress".to_owned()));
        }
        let bus = Connection::from(bus.clone());
        let world = Arc::clone(&self.0);
        std::thread::spawn(move || {
            changed(&bus, DEVICE, "org.bluez.Device1", "Connected", Value::from(true));
            if let Some(late) = world.script.late {
                std::thread::sleep(late);
                Attributes::of(&world).serve(&bus);
            }
        });
        Ok(())
    }

    fn disconnect(&self, #[zbus(connection)] bus: &zbus::Connection) {
        self.0.call("disconnect");
        // Before the answer: who is told that the link has gone may connect anew at once.
        self.0.unlink();
        let bus = Connection::from(bus.clone());
        std::thread::spawn(move || World::tell_lost(&bus));
    }

    #[zbus(property)]
    fn address(&self) -> &str {
        ADDRESS
    }

    #[zbus(property)]
    fn address_type(&self) -> &str {
        "random"
    }

    #[zbus(property)]
    fn name(&self) -> &str {
        "Clamp"
    }

    #[zbus(property)]
    fn alias(&self) -> &str {
        "Clamp"
    }

    #[zbus(property, name = "RSSI")]
    fn rssi(&self) -> i16 {
        -50
    }

    #[zbus(property)]
    fn paired(&self) -> bool {
        self.0.script.bonded
    }

    #[zbus(property)]
    fn bonded(&self) -> bool {
        self.0.script.bonded
    }

    #[zbus(property)]
    fn trusted(&self) -> bool {
        false
    }

    #[zbus(property)]
    fn blocked(&self) -> bool {
        false
    }

    #[zbus(property)]
    fn legacy_pairing(&self) -> bool {
        false
    }

    #[zbus(property)]
    fn connected(&self) -> bool {
        self.0.is_linked()
    }

    #[zbus(property)]
    fn services_resolved(&self) -> bool {
        self.0.is_linked()
    }

    #[zbus(property, name = "UUIDs")]
    fn uuids(&self) -> Vec<String> {
        let service = match self.0.script.keeps {
            true => service::TORQUE_ADAPTER,
            false => assigned(service::INDUSTRIAL_MEASUREMENT_DEVICE),
        };
        vec![text(service)]
    }
}

fn text(uuid: u128) -> String {
    Uuid::from_u128(uuid).to_string()
}

struct Service(u128);

#[zbus::interface(name = "org.bluez.GattService1")]
impl Service {
    #[zbus(property, name = "UUID")]
    fn uuid(&self) -> String {
        text(self.0)
    }

    #[zbus(property)]
    fn primary(&self) -> bool {
        true
    }
}

struct Characteristic {
    uuid: u128,
    name: &'static str,
    flags: &'static [&'static str],
    path: String,
    world: Arc<World>,
}

#[zbus::interface(name = "org.bluez.GattCharacteristic1")]
impl Characteristic {
    #[zbus(property, name = "UUID")]
    fn uuid(&self) -> String {
        text(self.uuid)
    }

    #[zbus(property)]
    fn flags(&self) -> Vec<String> {
        self.flags.iter().map(|flag| (*flag).to_owned()).collect()
    }

    #[zbus(property, name = "MTU")]
    fn mtu(&self) -> u16 {
        23
    }

    fn read_value(&self, _options: Options) -> Result<Vec<u8>, NotDone> {
        self.world.call(format!("read {}", self.name));
        match self.name {
            "serial" => Ok(self.world.script.serial.as_bytes().to_vec()),
            "capability" => Ok(self.world.capability()),
            "status" => Ok(self.world.status()),
            "set-point" => Ok(self.world.set_point()),
            name => Err(NotDone::NotSupported(format!("{name} is not read"))),
        }
    }

    fn write_value(
        &self,
        value: Vec<u8>,
        _options: Options,
        #[zbus(connection)] bus: &zbus::Connection,
    ) -> Result<(), NotDone> {
        let values = match self.name {
            "access" => self.world.access(&value),
            "control" => Some(self.world.control(&value)),
            "set-point" => {
                return self.world.guide(&value).map_err(|code| {
                    NotDone::Failed(format!("Operation failed with ATT error: 0x{code:02x}"))
                });
            }
            name => return Err(NotDone::NotSupported(format!("{name} is not written"))),
        };
        let Some(values) = values else {
            return Err(NotDone::InProgress("Operation failed with ATT error: 0xfe".to_owned()));
        };
        let bus = Connection::from(bus.clone());
        let world = Arc::clone(&self.world);
        std::thread::spawn(move || world.signal(&bus, values));
        Ok(())
    }

    fn start_notify(&self, #[zbus(connection)] bus: &zbus::Connection) {
        self.world.call(format!("subscribe {}", self.name));
        self.world.subscribe(self.uuid, &self.path);
        if self.name == "reading" && self.world.script.pull_in_subscription {
            self.world.pull(121.5);
            let bus = Connection::from(bus.clone());
            let world = Arc::clone(&self.world);
            std::thread::spawn(move || world.send_live(&bus)).join().unwrap();
        }
    }

    fn stop_notify(&self) {
        self.world.unsubscribe(self.uuid);
    }
}

struct Unit(Arc<World>);

#[zbus::interface(name = "org.bluez.GattDescriptor1")]
impl Unit {
    #[zbus(property, name = "UUID")]
    fn uuid(&self) -> String {
        text(assigned(descriptor::PRESENTATION_FORMAT))
    }

    fn read_value(&self, _options: Options) -> Vec<u8> {
        self.0.script.unit.emit().to_vec()
    }
}

/// UUID, name and flags of a characteristic.
type Entry = (u128, &'static str, &'static [&'static str]);

/// The adapter's table, as the script says.
pub struct Attributes {
    world: Arc<World>,
    services: Vec<(u128, Vec<Entry>)>,
}

impl Attributes {
    pub fn of(world: &Arc<World>) -> Self {
        let serial = assigned(characteristic::SERIAL_NUMBER);
        let access = assigned(characteristic::RECORD_ACCESS_CONTROL_POINT);
        let mut services =
            vec![(assigned(service::DEVICE_INFORMATION), vec![(serial, "serial", &["read"][..])])];
        if world.script.keeps {
            let mut own: Vec<Entry> = vec![
                (characteristic::CAPABILITY, "capability", &["read"]),
                (characteristic::READING, "reading", &["notify"]),
                (characteristic::STATUS, "status", &["read", "notify"]),
                (characteristic::CONTROL_POINT, "control", &["write", "indicate"]),
                (access, "access", &["write", "indicate"]),
            ];
            if world.script.hand {
                own.push((characteristic::SET_POINT, "set-point", &["read", "write"]));
                own.push((characteristic::BUTTON, "button", &["notify"]));
            }
            services.push((service::TORQUE_ADAPTER, own));
        } else {
            services.push((
                assigned(service::INDUSTRIAL_MEASUREMENT_DEVICE),
                vec![(assigned(characteristic::TORQUE), "torque", &["notify"])],
            ));
        }
        for (_, characteristics) in &mut services {
            characteristics.retain(|(_, name, _)| !world.script.lacks.contains(name));
        }
        Self { world: Arc::clone(world), services }
    }

    pub fn serve(self, bus: &Connection) {
        let server = bus.object_server();
        let mut handle = 0x10;
        for (service, characteristics) in self.services {
            let path = format!("{DEVICE}/service{handle:04x}");
            server.at(path.as_str(), Service(service)).unwrap();
            for (uuid, name, flags) in characteristics {
                handle += 1;
                let path = format!("{path}/char{handle:04x}");
                if name == "torque" {
                    let unit = Unit(Arc::clone(&self.world));
                    server.at(format!("{path}/desc{:04x}", handle + 1), unit).unwrap();
                }
                let world = Arc::clone(&self.world);
                let one = Characteristic { uuid, name, flags, path: path.clone(), world };
                server.at(path, one).unwrap();
            }
            handle += 0x10;
        }
    }
}

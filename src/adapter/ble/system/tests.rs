//! Pairing against a stand-in for BlueZ at the other end of a socket, with BlueZ's own interfaces.

#![allow(clippy::unwrap_used, reason = "tests; the lint does not see that inside interfaces")]

use super::bluez::{pair_over, survey_over};
use super::{Bond, Device, Radio, Survey};
use crate::adapter::trouble::Cause;
use std::sync::{Arc, Mutex};
use tokio::net::UnixStream;
use zbus::connection::Builder;
use zbus::fdo::ObjectManager;
use zbus::zvariant::{ObjectPath, OwnedObjectPath};
use zbus::{Connection, Guid, Proxy};

const OURS: &str = "hci0/dev_C0_FF_EE_00_00_01";
const OTHER: &str = "/org/bluez/hci0/dev_C0_FF_EE_00_00_02";
const TORQUE_ADAPTER: &str = "25ba0001-67a8-42e6-af58-5fc8e75d5fd1";

/// What BlueZ was told and what it got back, in order.
type Story = Arc<Mutex<Vec<String>>>;

fn note(story: &Story, text: impl Into<String>) {
    story.lock().unwrap().push(text.into());
}

struct Agents {
    story: Story,
    registered: Arc<Mutex<Option<OwnedObjectPath>>>,
}

#[zbus::interface(name = "org.bluez.AgentManager1")]
impl Agents {
    fn register_agent(&self, agent: ObjectPath<'_>, capability: &str) {
        note(&self.story, format!("registered as {capability}"));
        *self.registered.lock().unwrap() = Some(agent.into());
    }

    fn unregister_agent(&self, _agent: ObjectPath<'_>) {
        note(&self.story, "unregistered");
        *self.registered.lock().unwrap() = None;
    }
}

/// How the adapter behaves.
#[derive(Clone, Copy, PartialEq)]
enum Mode {
    Pairing,
    Closed,
}

#[derive(Debug, zbus::DBusError)]
#[zbus(prefix = "org.bluez.Error")]
enum Failed {
    #[zbus(error)]
    Bus(zbus::Error),
    AuthenticationFailed(String),
}

struct Peripheral {
    mode: Mode,
    bonded: Arc<Mutex<bool>>,
    story: Story,
    registered: Arc<Mutex<Option<OwnedObjectPath>>>,
}

#[zbus::interface(name = "org.bluez.Device1")]
impl Peripheral {
    async fn pair(&self, #[zbus(connection)] bus: &Connection) -> Result<(), Failed> {
        let Some(agent) = self.registered.lock().unwrap().clone() else {
            return Err(Failed::AuthenticationFailed("No agent".to_owned()));
        };
        let agent = Proxy::new(bus, "org.example.agent", agent, "org.bluez.Agent1").await?;
        let ours = ObjectPath::try_from(format!("/org/bluez/{OURS}")).unwrap();
        let other = ObjectPath::try_from(OTHER).unwrap();
        for (who, device) in [("other", &other), ("ours", &ours)] {
            let asked = agent.call::<_, _, ()>("RequestAuthorization", &(device,)).await;
            note(&self.story, format!("authorization of {who}: {}", answer(asked)));
            let asked = agent.call::<_, _, ()>("RequestConfirmation", &(device, 123_456_u32)).await;
            note(&self.story, format!("confirmation of {who}: {}", answer(asked)));
        }
        let asked = agent.call::<_, _, String>("RequestPinCode", &(&ours,)).await;
        note(&self.story, format!("code of ours: {}", answer(asked.map(|_| ()))));
        if self.mode == Mode::Closed {
            return Err(Failed::AuthenticationFailed("Authentication Failed".to_owned()));
        }
        *self.bonded.lock().unwrap() = true;
        Ok(())
    }

    #[zbus(property)]
    fn address(&self) -> &str {
        "C0:FF:EE:00:00:01"
    }

    #[zbus(property)]
    fn name(&self) -> &str {
        "Clamp"
    }

    #[zbus(property)]
    fn bonded(&self) -> bool {
        *self.bonded.lock().unwrap()
    }

    #[zbus(property)]
    fn connected(&self) -> bool {
        true
    }

    #[zbus(property, name = "UUIDs")]
    fn uuids(&self) -> Vec<String> {
        vec![TORQUE_ADAPTER.to_owned()]
    }
}

fn answer(asked: zbus::Result<()>) -> String {
    match asked {
        Ok(()) => "yes".to_owned(),
        Err(zbus::Error::MethodError(name, ..)) => name.to_string(),
        Err(error) => error.to_string(),
    }
}

struct Controller;

#[zbus::interface(name = "org.bluez.Adapter1")]
impl Controller {
    #[zbus(property)]
    fn address(&self) -> &str {
        "00:AA:01:00:00:42"
    }

    #[zbus(property)]
    fn powered(&self) -> bool {
        true
    }
}

/// A stand-in, our end of the socket to it, and what happens.
async fn stand_in(mode: Mode) -> (Connection, Connection, Story) {
    let (here, there) = UnixStream::pair().unwrap();
    let story = Story::default();
    let registered = Arc::default();
    let agents = Agents { story: Arc::clone(&story), registered: Arc::clone(&registered) };
    let device = Peripheral { mode, bonded: Arc::default(), story: Arc::clone(&story), registered };
    let guid = Guid::try_from("0123456789abcdef0123456789abcdef").unwrap();
    let bluez = Builder::unix_stream(there)
        .server(guid)
        .unwrap()
        .p2p()
        .serve_at("/", ObjectManager)
        .unwrap()
        .serve_at("/org/bluez", agents)
        .unwrap()
        .serve_at("/org/bluez/hci0", Controller)
        .unwrap()
        .serve_at(format!("/org/bluez/{OURS}"), device)
        .unwrap()
        .build();
    let ours = Builder::unix_stream(here).p2p().build();
    let (bluez, ours) = futures::future::try_join(bluez, ours).await.unwrap();
    (ours, bluez, story)
}

#[tokio::test]
async fn the_agent_agrees_for_the_adapter_being_added_and_for_nothing_else() {
    let (ours, _bluez, story) = stand_in(Mode::Pairing).await;
    let survey = |bond| Survey {
        radios: vec![Radio {
            name: "hci0".to_owned(),
            address: "00:AA:01:00:00:42".to_owned(),
            powered: true,
        }],
        devices: vec![Device {
            address: "C0:FF:EE:00:00:01".to_owned(),
            name: Some("Clamp".to_owned()),
            controller: "00:AA:01:00:00:42".to_owned(),
            bond,
            connected: true,
            measures_torque: true,
        }],
    };
    assert_eq!(survey_over(&ours).await, Ok(survey(Bond::None)));
    assert_eq!(pair_over(&ours, OURS).await, Ok(()));
    assert_eq!(survey_over(&ours).await, Ok(survey(Bond::Bonded)));
    assert_eq!(
        *story.lock().unwrap(),
        [
            "registered as NoInputNoOutput",
            "authorization of other: org.bluez.Error.Rejected",
            "confirmation of other: org.bluez.Error.Rejected",
            "authorization of ours: yes",
            "confirmation of ours: yes",
            "code of ours: org.bluez.Error.Rejected",
            "unregistered",
        ]
    );
}

#[tokio::test]
async fn an_adapter_outside_pairing_mode_is_told_as_such_and_the_agent_goes() {
    let (ours, _bluez, story) = stand_in(Mode::Closed).await;
    let error = pair_over(&ours, OURS).await.unwrap_err();
    assert_eq!(error.cause, Cause::PairingRefused);
    assert_eq!(story.lock().unwrap().last().map(String::as_str), Some("unregistered"));
}

//! The one who answers BlueZ's questions while an adapter is being paired.

use zbus::zvariant::{ObjectPath, OwnedObjectPath};

/// Where the agent stands on its own connection.
pub(super) const PATH: &str = "/clampbook/pairing";
/// An adapter has no keys and no display, and neither has the agent: just works.
pub(super) const CAPABILITY: &str = "NoInputNoOutput";

/// Agrees to pair with one device, and to nothing else.
#[derive(Debug)]
pub(super) struct Agent {
    device: OwnedObjectPath,
}

/// What BlueZ is told instead of an agreement.
#[derive(Debug, zbus::DBusError)]
#[zbus(prefix = "org.bluez.Error")]
pub(super) enum Refusal {
    #[zbus(error)]
    Bus(zbus::Error),
    /// Not this device, or not this way.
    Rejected(String),
}

impl Agent {
    pub(super) fn new(device: OwnedObjectPath) -> Self {
        Self { device }
    }

    fn agree(&self, asked: &ObjectPath<'_>, to: &str) -> Result<(), Refusal> {
        if asked.as_str() == self.device.as_str() {
            tracing::debug!("agreed to {to} for {asked}");
            return Ok(());
        }
        tracing::warn!("refused {to} for {asked}, which is not the adapter being added");
        Err(Refusal::Rejected("only the adapter being added may pair".to_owned()))
    }
}

#[zbus::interface(name = "org.bluez.Agent1")]
impl Agent {
    fn release(&self) {}

    fn request_authorization(&self, device: ObjectPath<'_>) -> Result<(), Refusal> {
        self.agree(&device, "pairing")
    }

    fn request_confirmation(&self, device: ObjectPath<'_>, _passkey: u32) -> Result<(), Refusal> {
        self.agree(&device, "pairing")
    }

    fn authorize_service(&self, device: ObjectPath<'_>, _uuid: &str) -> Result<(), Refusal> {
        self.agree(&device, "a service")
    }

    fn request_pin_code(&self, _device: ObjectPath<'_>) -> Result<String, Refusal> {
        // That is how the older pairing works, which no adapter may use.
        Err(Refusal::Rejected("an adapter has no code".to_owned()))
    }

    fn request_passkey(&self, _device: ObjectPath<'_>) -> Result<u32, Refusal> {
        Err(Refusal::Rejected("an adapter has no passkey".to_owned()))
    }

    fn display_pin_code(&self, _device: ObjectPath<'_>, _code: &str) -> Result<(), Refusal> {
        Err(Refusal::Rejected("nothing is displayed here".to_owned()))
    }

    fn display_passkey(&self, _device: ObjectPath<'_>, _passkey: u32, _entered: u16) {}

    fn cancel(&self) {}
}

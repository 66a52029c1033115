//! The names of services, characteristics and descriptors.
//!
//! Numbers of 16 bits are assigned by the Bluetooth SIG. Numbers of 128 bits are this protocol's
//! own: one random base, with a short number in the bits 96 to 111.

/// The Bluetooth base UUID; a number of 16 bits stands in its bits 96 to 111.
pub const BLUETOOTH_BASE: u128 = 0x00000000_0000_1000_8000_00805f9b34fb;
/// The base of this protocol's own UUIDs.
pub const OWN_BASE: u128 = 0x25ba0000_67a8_42e6_af58_5fc8e75d5fd1;

/// The 128-bit form of a number that the Bluetooth SIG assigned.
#[must_use]
pub const fn assigned(number: u16) -> u128 {
    BLUETOOTH_BASE | ((number as u128) << 96)
}

const fn own(number: u16) -> u128 {
    OWN_BASE | ((number as u128) << 96)
}

/// Services.
pub mod service {
    use super::own;

    /// Industrial Measurement Device, assigned: holds the live torque of L0.
    pub const INDUSTRIAL_MEASUREMENT_DEVICE: u16 = 0x185A;
    /// Device Information, assigned.
    pub const DEVICE_INFORMATION: u16 = 0x180A;
    /// Battery, assigned.
    pub const BATTERY: u16 = 0x180F;
    /// Torque Adapter, own: everything of L1 to L3.
    pub const TORQUE_ADAPTER: u128 = own(0x0001);
}

/// Characteristics.
pub mod characteristic {
    use super::own;

    /// Torque, assigned: live torque (L0).
    pub const TORQUE: u16 = 0x2C0B;
    /// Battery Level, assigned: 0 to 100 %.
    pub const BATTERY_LEVEL: u16 = 0x2A19;
    /// Manufacturer Name String, assigned.
    pub const MANUFACTURER_NAME: u16 = 0x2A29;
    /// Model Number String, assigned.
    pub const MODEL_NUMBER: u16 = 0x2A24;
    /// Serial Number String, assigned: the stable name of an adapter.
    pub const SERIAL_NUMBER: u16 = 0x2A25;
    /// Firmware Revision String, assigned.
    pub const FIRMWARE_REVISION: u16 = 0x2A26;
    /// Record Access Control Point, assigned: fetches and releases reading records (L1).
    pub const RECORD_ACCESS_CONTROL_POINT: u16 = 0x2A52;
    /// Capability, own (L1).
    pub const CAPABILITY: u128 = own(0x0002);
    /// Reading, own (L1).
    pub const READING: u128 = own(0x0003);
    /// Status, own (L1).
    pub const STATUS: u128 = own(0x0004);
    /// Control Point, own (L1).
    pub const CONTROL_POINT: u128 = own(0x0005);
    /// Calibration, own (L1).
    pub const CALIBRATION: u128 = own(0x0006);
    /// Trace, own (L2).
    pub const TRACE: u128 = own(0x0007);
    /// Set-point, own (L2).
    pub const SET_POINT: u128 = own(0x0008);
    /// Button, own (L2).
    pub const BUTTON: u128 = own(0x0009);
    /// Motion, own (L3).
    pub const MOTION: u128 = own(0x000A);
}

/// Descriptors.
pub mod descriptor {
    /// Client Characteristic Configuration, assigned.
    pub const CLIENT_CONFIGURATION: u16 = 0x2902;
    /// Characteristic Presentation Format, assigned.
    pub const PRESENTATION_FORMAT: u16 = 0x2904;
}

/// Appearance, assigned: industrial measurement device, torque testing.
pub const APPEARANCE_TORQUE_TESTING: u16 = 0x1481;

/// ATT error codes that the protocol gives a meaning to.
pub mod att_error {
    /// The link is not authenticated as the attribute needs.
    pub const INSUFFICIENT_AUTHENTICATION: u8 = 0x05;
    /// The value has a length that the message does not allow.
    pub const INVALID_LENGTH: u8 = 0x0D;
    /// The link is not encrypted.
    pub const INSUFFICIENT_ENCRYPTION: u8 = 0x0F;
    /// Own: the written message has a version that this adapter does not know.
    pub const UNSUPPORTED_VERSION: u8 = 0x80;
    /// Own: the written message has a value that its layout does not allow.
    pub const INVALID_VALUE: u8 = 0x81;
    /// Indications or notifications that the procedure needs are not enabled.
    pub const CLIENT_CONFIGURATION_IMPROPER: u8 = 0xFD;
    /// Another procedure on the same control point has not ended.
    pub const PROCEDURE_IN_PROGRESS: u8 = 0xFE;
}

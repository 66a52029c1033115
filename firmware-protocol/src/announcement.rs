//! Announcement: the service data in the adapter's scan response (L1).

use core::fmt;

use crate::error::{Error, Length};
use crate::fields::{Field, View};
use crate::flags::flags;
use crate::octets::Octets;
use crate::versioned::Versioned;

const MESSAGE: &str = "announcement";

mod field {
    use super::Field;

    pub(super) const VERSION: Field = 0..1;
    pub(super) const FLAGS: Field = VERSION.end..VERSION.end + 1;
}

flags! {
    /// What an adapter says before a link exists.
    AnnouncementFlags(u8) {
        /// A new host may pair now.
        PAIRING = 0, "pairing";
        /// Records are held that were not released.
        RECORDS_HELD = 1, "records-held";
        /// The battery is low.
        BATTERY_LOW = 2, "battery-low";
    }
}

/// What an adapter says before a link exists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Announcement {
    /// What it says.
    pub flags: AnnouncementFlags,
}

impl Announcement {
    /// The octets that this version defines; a later one may append more.
    pub const LENGTH: usize = field::FLAGS.end;
    /// The major version of the protocol, first octet.
    pub const VERSION: u8 = crate::MAJOR;

    /// Reads the service data without the UUID in front of it.
    ///
    /// # Errors
    ///
    /// [`Error::Length`] for no octet, or for fewer than 2 in this version.
    pub fn parse(octets: &[u8]) -> Result<Versioned<'_, Self>, Error> {
        let version =
            View::new(MESSAGE, Length::AtLeast(field::VERSION.end), octets)?.u8(field::VERSION);
        if version != Self::VERSION {
            return Ok(Versioned::Unknown { version, octets });
        }
        let view = View::new(MESSAGE, Length::AtLeast(Self::LENGTH), octets)?;
        Ok(Versioned::Known(Self { flags: AnnouncementFlags(view.u8(field::FLAGS)) }))
    }

    /// The service data without the UUID in front of it.
    #[must_use]
    pub fn emit(&self) -> Octets {
        Octets::new().with(&[Self::VERSION, self.flags.bits()])
    }
}

impl fmt::Display for Announcement {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "announcement version {}, flags {}", Self::VERSION, self.flags)
    }
}

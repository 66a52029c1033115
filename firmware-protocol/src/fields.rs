//! Checked access to octets: a view that knows its least length, and ranges as field names.

use core::ops::Range;

use crate::error::{Error, Length};

/// Where a field stands in its message.
pub(crate) type Field = Range<usize>;

/// Octets whose length was checked once. Fields beyond that length read as zero, so that no
/// accessor can panic.
#[derive(Clone, Copy)]
pub(crate) struct View<'a>(&'a [u8]);

impl<'a> View<'a> {
    pub(crate) fn new(
        message: &'static str,
        length: Length,
        octets: &'a [u8],
    ) -> Result<Self, Error> {
        length.check(message, octets)?;
        Ok(Self(octets))
    }

    fn array<const N: usize>(self, field: Field) -> [u8; N] {
        self.0.get(field).and_then(|octets| octets.try_into().ok()).unwrap_or([0; N])
    }

    pub(crate) fn u8(self, field: Field) -> u8 {
        let [value] = self.array(field);
        value
    }

    pub(crate) fn u16(self, field: Field) -> u16 {
        u16::from_le_bytes(self.array(field))
    }

    pub(crate) fn u32(self, field: Field) -> u32 {
        u32::from_le_bytes(self.array(field))
    }

    pub(crate) fn i8(self, field: Field) -> i8 {
        i8::from_le_bytes(self.array(field))
    }

    pub(crate) fn i16(self, field: Field) -> i16 {
        i16::from_le_bytes(self.array(field))
    }

    pub(crate) fn i32(self, field: Field) -> i32 {
        i32::from_le_bytes(self.array(field))
    }
}

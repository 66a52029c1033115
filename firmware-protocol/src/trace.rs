//! Trace block: samples of torque, and perhaps of rotation, over time (L2).

use core::fmt;

use crate::error::{Error, Length};
use crate::fields::{Field, View};
use crate::flags::flags;
use crate::rotation::Rotation;
use crate::tick::Tick;
use crate::torque::Torque;
use crate::versioned::Versioned;

pub(crate) const MESSAGE: &str = "trace block";

pub(crate) mod field {
    use super::Field;

    pub(crate) const BLOCK: Field = 0..2;
    pub(crate) const SHAPE: Field = BLOCK.end..BLOCK.end + 1;
    pub(crate) const SCALE: Field = SHAPE.end..SHAPE.end + 1;
    pub(crate) const TICK: Field = SCALE.end..SCALE.end + 4;
    pub(crate) const TORQUE: Field = TICK.end..TICK.end + 4;
    pub(crate) const ROTATION: Field = TORQUE.end..TORQUE.end + 2;
}

flags! {
    /// What a trace block is: the lower 4 bits of its third octet.
    TraceFlags(u8) {
        /// The first block of a pull.
        FIRST = 0, "first";
        /// The last block of a pull.
        LAST = 1, "last";
        /// Each sample carries a rotation as well.
        ROTATION = 2, "rotation";
        /// The adapter lost samples of this pull before the first sample of this block.
        SAMPLES_LOST = 3, "samples-lost";
    }
}

/// One sample of a trace.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Sample {
    /// The torque.
    pub torque: Torque,
    /// The rotation since the pull's first sample, not known in a trace without rotation.
    pub rotation: Rotation,
}

/// A checked view of one block. It stands alone: a block that was lost takes no other with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TraceBlock<'a> {
    /// The number of the block, counted up by one from block to block, 65 535 followed by 0.
    pub block: u16,
    /// What the block is.
    pub flags: TraceFlags,
    /// When the first sample was taken.
    pub start: Tick,
    pub(crate) torque_shift: u8,
    pub(crate) rotation_shift: u8,
    pub(crate) first: Sample,
    pub(crate) deltas: &'a [u8],
}

impl<'a> TraceBlock<'a> {
    /// The fewest octets of a block, which then holds one sample.
    pub const LEAST: usize = field::TORQUE.end;
    /// The most octets of a block.
    pub const MOST: usize = 244;
    /// The version of the block, in the top four bits of its third octet.
    pub const VERSION: u8 = 1;

    /// Reads a block.
    ///
    /// # Errors
    ///
    /// [`Error::Length`] for fewer than 12 octets (14 with rotation), for more than 244 in this
    /// version, or for half a step; [`Error::Value`] where the first torque, or the first rotation
    /// of a block with rotation, is not known.
    pub fn parse(octets: &'a [u8]) -> Result<Versioned<'a, Self>, Error> {
        let view = View::new(MESSAGE, Length::AtLeast(field::SHAPE.end), octets)?;
        let shape = view.u8(field::SHAPE);
        let version = shape >> 4;
        if version != Self::VERSION {
            return Ok(Versioned::Unknown { version, octets });
        }
        let flags = TraceFlags(shape & 0x0F);
        let (head, step) = layout(flags);
        let view = View::new(MESSAGE, Length::Between(head, Self::MOST), octets)?;
        let deltas = octets.get(head..).unwrap_or(&[]);
        if !deltas.len().is_multiple_of(step) {
            return Err(Error::Value {
                message: MESSAGE,
                expected: "an even number of octets after the head of a block with rotation",
                found: deltas.len() as i64,
            });
        }
        let scale = view.u8(field::SCALE);
        let first = Sample {
            torque: Torque::from_centinewton_metres(view.i32(field::TORQUE)),
            rotation: if flags.has(TraceFlags::ROTATION) {
                Rotation::from_raw(view.i16(field::ROTATION))
            } else {
                Rotation::NOT_KNOWN
            },
        };
        check_first(first, flags)?;
        Ok(Versioned::Known(Self {
            block: view.u16(field::BLOCK),
            flags,
            start: Tick(view.u32(field::TICK)),
            torque_shift: scale & 0x0F,
            rotation_shift: scale >> 4,
            first,
            deltas,
        }))
    }

    /// The samples, in order of time, at the rate that the capability states.
    pub fn samples(&self) -> impl Iterator<Item = Sample> + use<'a> {
        let (_, step) = layout(self.flags);
        let (torque_shift, rotation_shift) = (self.torque_shift, self.rotation_shift);
        let steps = self.deltas.chunks_exact(step);
        let rest = steps.scan(self.first, move |sample, deltas| {
            let scaled = |index: usize, shift: u8| {
                let delta = deltas.get(index).map_or(0, |octet| *octet as i8);
                i32::from(delta) << shift
            };
            *sample = after(*sample, scaled(0, torque_shift), scaled(1, rotation_shift));
            Some(*sample)
        });
        core::iter::once(self.first).chain(rest)
    }

    /// Writes the block and returns its octets.
    ///
    /// # Errors
    ///
    /// [`Error::Buffer`] where the buffer is too small.
    pub fn emit<'b>(&self, buffer: &'b mut [u8]) -> Result<&'b [u8], Error> {
        let (head, _) = layout(self.flags);
        let needed = head + self.deltas.len();
        let room = buffer.len();
        let octets =
            buffer.get_mut(..needed).ok_or(Error::Buffer { message: MESSAGE, needed, room })?;
        write_head(self, octets);
        octets[head..].copy_from_slice(self.deltas);
        Ok(octets)
    }
}

/// The octets of the head, and of one step after it.
pub(crate) const fn layout(flags: TraceFlags) -> (usize, usize) {
    if flags.has(TraceFlags::ROTATION) { (field::ROTATION.end, 2) } else { (field::TORQUE.end, 1) }
}

/// Refuses a block whose first sample is not known: there is nothing to step from.
pub(crate) fn check_first(first: Sample, flags: TraceFlags) -> Result<(), Error> {
    let refuse = |expected, found| Err(Error::Value { message: MESSAGE, expected, found });
    if first.torque == Torque::NOT_KNOWN {
        refuse("a known torque as first sample", first.torque.raw().into())
    } else if flags.has(TraceFlags::ROTATION) && first.rotation == Rotation::NOT_KNOWN {
        refuse("a known rotation as first sample", first.rotation.raw().into())
    } else {
        Ok(())
    }
}

/// The sample one step later, held to what can be told.
pub(crate) fn after(sample: Sample, torque_step: i32, rotation_step: i32) -> Sample {
    let torque = sample.torque.raw().saturating_add(torque_step);
    let rotation = sample.rotation.tenths().map_or(Rotation::NOT_KNOWN, |tenths| {
        Rotation::from_tenths(i32::from(tenths).saturating_add(rotation_step))
    });
    Sample {
        torque: Torque::from_centinewton_metres(torque.min(Torque::NOT_KNOWN.raw() - 1)),
        rotation,
    }
}

/// Writes the head into octets that have room for it.
pub(crate) fn write_head(block: &TraceBlock<'_>, octets: &mut [u8]) {
    let mut put = |field: Field, value: &[u8]| octets[field].copy_from_slice(value);
    put(field::BLOCK, &block.block.to_le_bytes());
    let shape = (TraceBlock::VERSION << 4) | (block.flags.bits() & 0x0F);
    put(field::SHAPE, &[shape]);
    let scale = (block.rotation_shift << 4) | (block.torque_shift & 0x0F);
    put(field::SCALE, &[scale]);
    put(field::TICK, &block.start.0.to_le_bytes());
    put(field::TORQUE, &block.first.torque.raw().to_le_bytes());
    if block.flags.has(TraceFlags::ROTATION) {
        put(field::ROTATION, &block.first.rotation.raw().to_le_bytes());
    }
}

impl fmt::Display for TraceBlock<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "trace block {}, from {}, flags {}:", self.block, self.start, self.flags)?;
        for sample in self.samples() {
            write!(f, " [{}", sample.torque)?;
            if self.flags.has(TraceFlags::ROTATION) {
                write!(f, ", {}", sample.rotation)?;
            }
            f.write_str("]")?;
        }
        Ok(())
    }
}

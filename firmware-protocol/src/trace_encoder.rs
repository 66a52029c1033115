//! From samples to trace blocks (L2).

use crate::error::Error;
use crate::rotation::Rotation;
use crate::tick::Tick;
use crate::torque::Torque;
use crate::trace::{
    MESSAGE, Sample, TraceBlock, TraceFlags, after, check_first, layout, write_head,
};

/// What a block says besides its samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TraceHead {
    /// The number of the block.
    pub block: u16,
    /// What the block is; with [`TraceFlags::ROTATION`] each sample carries a rotation.
    pub flags: TraceFlags,
    /// When the first sample was taken.
    pub start: Tick,
}

/// A block as it was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TraceWritten<'b> {
    /// The octets to send.
    pub octets: &'b [u8],
    /// How many samples they hold.
    pub samples: usize,
}

/// Packs as many samples into the buffer as it has room for, and no more than
/// [`TraceBlock::MOST`] octets.
///
/// Steps are scaled by the least power of two that lets each one fit. A decoded sample then differs
/// from the given one by no more than half of that power, in 0.01 N·m or 0.1°, and the difference
/// does not add up along the block. It is larger only where one step is beyond what the largest
/// scale can tell.
///
/// # Errors
///
/// [`Error::Buffer`] where not even one sample fits; [`Error::Value`] where there is no sample, or
/// where the first is not known. A block ends before a later sample that is not known.
pub fn encode_trace<'b>(
    head: TraceHead,
    samples: &[Sample],
    buffer: &'b mut [u8],
) -> Result<TraceWritten<'b>, Error> {
    let (head_length, step) = layout(head.flags);
    let first = samples.first().copied().ok_or(Error::Value {
        message: MESSAGE,
        expected: "one sample or more",
        found: 0,
    })?;
    check_first(first, head.flags)?;
    let room = buffer.len();
    let Some(spare) = room.min(TraceBlock::MOST).checked_sub(head_length) else {
        return Err(Error::Buffer { message: MESSAGE, needed: head_length, room });
    };
    let rotates = head.flags.has(TraceFlags::ROTATION);
    let known = |sample: &&Sample| {
        sample.torque != Torque::NOT_KNOWN && (!rotates || sample.rotation != Rotation::NOT_KNOWN)
    };
    let count = samples[1..].iter().take(spare / step).take_while(known).count();
    let samples = &samples[..=count];
    let torque = |sample: &Sample| i64::from(sample.torque.raw());
    let rotation = |sample: &Sample| i64::from(sample.rotation.raw());
    let torque_shift = least_shift(samples, torque);
    let rotation_shift = if rotates { least_shift(samples, rotation) } else { 0 };
    let length = head_length + count * step;
    let octets = &mut buffer[..length];
    write_head(
        &TraceBlock {
            block: head.block,
            flags: head.flags,
            start: head.start,
            torque_shift,
            rotation_shift,
            first,
            deltas: &[],
        },
        octets,
    );
    let mut told = first;
    for (sample, deltas) in samples[1..].iter().zip(octets[head_length..].chunks_exact_mut(step)) {
        let turn =
            if rotates { nearest(rotation(sample) - rotation(&told), rotation_shift) } else { 0 };
        let rise = nearest(torque(sample) - torque(&told), torque_shift);
        for (octet, delta) in deltas.iter_mut().zip([rise, turn]) {
            *octet = delta as u8;
        }
        told = after(told, i32::from(rise) << torque_shift, i32::from(turn) << rotation_shift);
    }
    Ok(TraceWritten { octets, samples: samples.len() })
}

/// The least shift under which each step fits into one octet, with one unit to spare for what the
/// step before was rounded by.
fn least_shift(samples: &[Sample], value: impl Fn(&Sample) -> i64) -> u8 {
    let largest =
        samples.windows(2).map(|pair| (value(&pair[1]) - value(&pair[0])).abs()).max().unwrap_or(0);
    if largest <= i64::from(i8::MAX) {
        return 0;
    }
    (1..15).find(|shift| largest <= 126 << shift).unwrap_or(15)
}

/// The nearest multiple of the scale's unit, held to one octet.
fn nearest(step: i64, shift: u8) -> i8 {
    let unit = 1_i64 << shift;
    let rounded = (step + unit / 2).div_euclid(unit);
    rounded.clamp(i8::MIN.into(), i8::MAX.into()) as i8
}

//! How much of the trace is under way, seen between the host stack and the controller: the host stack sends
//! in the order it was given, so whatever is given to it delays what comes after.

use std::cell::{Cell, RefCell};
use std::collections::VecDeque;

/// L2CAP channel of the Attribute Protocol.
const ATTRIBUTE_CHANNEL: [u8; 2] = [0x04, 0x00];
const NOTIFICATION: u8 = 0x1B;
const NUMBER_OF_COMPLETED_PACKETS: u8 = 0x13;
/// Mask and value of the packet boundary of a later fragment (Core Specification, volume 4, part E, 5.4.2).
const BOUNDARY: u8 = 0x30;
const CONTINUED: u8 = 0x10;
/// Octets of an L2CAP header.
const HEADER: usize = 4;

/// Trace blocks that were given to the host stack and that the controller has not sent yet.
#[derive(Default)]
pub(crate) struct Flow {
    /// Attribute handle of the trace's value; 0 without one.
    pub(crate) trace_handle: Cell<u16>,
    under_way: Cell<usize>,
    /// Packets that the controller has, the oldest first: true for one that ends a block.
    packets: RefCell<VecDeque<bool>>,
    /// Octets of the block being written that are still to come.
    rest: Cell<usize>,
}

impl Flow {
    /// A link begins: nothing is under way on it.
    pub(crate) fn reset(&self) {
        self.under_way.set(0);
        self.packets.borrow_mut().clear();
        self.rest.set(0);
    }

    /// How many blocks are under way.
    pub(crate) fn under_way(&self) -> usize {
        self.under_way.get()
    }

    /// A block was given to the host stack.
    pub(crate) fn gave(&self) {
        self.under_way.set(self.under_way.get() + 1);
    }

    /// The host stack sends this ACL packet to the controller.
    pub(crate) fn note_packet(&self, acl: &[u8]) {
        let [_, handle_high, _, _, data @ ..] = acl else { return };
        if handle_high & BOUNDARY != CONTINUED {
            self.rest.set(self.length_of_block(data));
        }
        let rest = self.rest.get();
        let left = rest.saturating_sub(data.len());
        self.rest.set(left);
        self.packets.borrow_mut().push_back(rest > 0 && left == 0);
    }

    /// The octets of the frame that begins here, if it is a block of the trace; otherwise 0.
    fn length_of_block(&self, frame: &[u8]) -> usize {
        match *frame {
            [low, high, channel_low, channel_high, NOTIFICATION, trace_low, trace_high, ..]
                if [channel_low, channel_high] == ATTRIBUTE_CHANNEL
                    && u16::from_le_bytes([trace_low, trace_high]) == self.trace_handle.get() =>
            {
                usize::from(u16::from_le_bytes([low, high])) + HEADER
            }
            _ => 0,
        }
    }

    /// Looks for packets that the controller says it has sent.
    pub(crate) fn note_event(&self, event: &[u8]) {
        let [NUMBER_OF_COMPLETED_PACKETS, _, _, counts @ ..] = event else { return };
        let mut packets = self.packets.borrow_mut();
        for entry in counts.chunks_exact(4) {
            let count = usize::from(u16::from_le_bytes([entry[2], entry[3]])).min(packets.len());
            let sent = packets.drain(..count).filter(|&ends_block| ends_block).count();
            self.under_way.set(self.under_way.get().saturating_sub(sent));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An ACL packet of a notification of 20 octets.
    fn notification(handle: u8) -> Vec<u8> {
        let mut acl = vec![0x40, 0x00, 27, 0, 23, 0, 4, 0, 0x1B, handle, 0];
        acl.resize(11 + 20, 0);
        acl
    }

    #[test]
    fn only_blocks_that_are_not_sent_yet_are_under_way() {
        let flow = Flow::default();
        flow.trace_handle.set(0x31);
        let [block, reading] = [0x31, 0x20].map(notification);
        let answer = [0x40, 0x00, 5, 0, 1, 0, 4, 0, 0x13];
        // A block in two fragments.
        let (head, mut tail) = (&block[..20], vec![0x40, 0x10, 11, 0]);
        tail.extend_from_slice(&block[20..]);
        for _ in 0..3 {
            flow.gave();
        }
        for packet in [&block, &reading, &answer[..], &block, head, &tail, &reading] {
            flow.note_packet(packet);
        }
        let completed = |count: u8| [0x13, 5, 1, 0x40, 0, count, 0];
        let steps = [(1, 2), (2, 2), (1, 1), (1, 1), (1, 0), (1, 0), (9, 0)];
        for (count, under_way) in steps {
            flow.note_event(&completed(count));
            assert_eq!(flow.under_way(), under_way, "{count}");
        }
        flow.note_event(&[0x0E, 4, 1, 0, 0, 0]);
        flow.gave();
        flow.note_packet(head);
        flow.reset();
        flow.note_packet(&tail);
        flow.note_event(&completed(1));
        assert_eq!(flow.under_way(), 0);
    }
}

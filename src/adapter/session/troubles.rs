//! What a session tells the operator.

use super::words::Order;
use crate::adapter::trouble::{Trouble, TroubleClass};
use std::ops::RangeInclusive;

pub(super) fn refused(id: &str, order: Order, reason: &str) -> Trouble {
    let what = match order {
        Order::ReadStatus => "its status",
        Order::Report(_) => "the readings it holds",
        Order::Release { .. } => "to forget committed readings",
    };
    Trouble {
        class: TroubleClass::Unsupported,
        adapter: Some(id.to_owned()),
        message: format!("was asked for {what}, but refused: {reason}"),
        next_step: "it is asked again in a minute; new readings still arrive".to_owned(),
    }
}

pub(super) fn unreadable(id: &str, epoch: u32, run: &RangeInclusive<u32>) -> Trouble {
    let (first, last) = (run.start(), run.end());
    Trouble {
        class: TroubleClass::BadData,
        adapter: Some(id.to_owned()),
        message: format!(
            "expected readings {first} to {last} of epoch {epoch}, but what it sends cannot be read"
        ),
        next_step: "they stay in the adapter; look for newer software for it or for this program"
            .to_owned(),
    }
}

pub(super) fn numbered_twice(
    id: &str,
    epoch: u32,
    sequence: u32,
    octets: Option<&[u8]>,
) -> Trouble {
    let mut message =
        format!("gave number {sequence} of epoch {epoch} to two readings; the first one is kept");
    if let Some(octets) = octets {
        message.push_str(", the other one reads ");
        for octet in octets {
            message.push_str(&format!("{octet:02x}"));
        }
    }
    Trouble {
        class: TroubleClass::BadData,
        adapter: Some(id.to_owned()),
        message,
        next_step:
            "nothing of that epoch is erased in the adapter; check its last readings by hand"
                .to_owned(),
    }
}

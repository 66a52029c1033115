//! The two ends of a connection, and where callers are answered.

use crate::web::patience::Patient;
use axum::extract::connect_info::Connected;
use axum::serve::IncomingStream;
use std::net::{IpAddr, SocketAddr};

/// Where callers are answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Doors {
    /// The port.
    pub port: u16,
    /// This machine's address on the network, if callers from there are answered.
    pub network: Option<IpAddr>,
    /// Callers from there are only answered over encrypted links.
    pub encrypted: bool,
}

/// The two ends of a connection.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Ends {
    /// Ours; none if the system does not tell it.
    pub(super) here: Option<SocketAddr>,
    /// The caller's.
    pub(super) there: SocketAddr,
    /// Nobody between them reads along.
    pub(super) encrypted: bool,
}

impl Ends {
    /// True if the caller is on this machine.
    pub(super) fn are_here(self) -> bool {
        self.there.ip().is_loopback() && self.here.is_some_and(|here| here.ip().is_loopback())
    }
}

impl Connected<IncomingStream<'_, Patient>> for Ends {
    fn connect_info(stream: IncomingStream<'_, Patient>) -> Self {
        let (here, encrypted) = (stream.io().here(), stream.io().is_encrypted());
        Self { here, there: *stream.remote_addr(), encrypted }
    }
}

/// Who asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Caller {
    /// A program of the account: it knows the token.
    Account,
    /// A screen that was let in.
    Screen(u32),
}

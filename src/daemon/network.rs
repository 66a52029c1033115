//! This machine's own address on the network.

use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};

/// Addresses whose way out tells ours: one kept for documents (RFC 5737), which goes by the default route, and
/// one in each range of private networks (RFC 1918). Nothing is ever sent to them.
const BEYOND: [Ipv4Addr; 4] = [
    Ipv4Addr::new(192, 0, 2, 1),
    Ipv4Addr::new(192, 168, 255, 254),
    Ipv4Addr::new(10, 255, 255, 254),
    Ipv4Addr::new(172, 31, 255, 254),
];

/// The address by which others on the network reach this machine; none if it is on no network.
#[must_use]
pub fn own_address() -> Option<IpAddr> {
    BEYOND.into_iter().find_map(|beyond| {
        let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
        // It only chooses the way: a datagram socket sends nothing when it is connected.
        socket.connect(SocketAddr::from((beyond, 9))).ok()?;
        let address = socket.local_addr().ok()?.ip();
        (!address.is_loopback() && !address.is_unspecified()).then_some(address)
    })
}

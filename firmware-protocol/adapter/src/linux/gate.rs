//! The gate before the host stack: answers a Pairing Request outside pairing mode with *Pairing Failed:
//! Pairing Not Supported*, as the Security Manager Protocol wants it, so that a pairing that was not
//! asked for at the adapter never begins. The host stack itself has no such switch.
//!
//! It also lets the host stack end advertising that a new link has ended already, and answer for a link that
//! has just ended: some controllers refuse that, which the stack would take for the end of everything.

use std::cell::{Cell, RefCell};
use std::rc::Rc;
use std::time::Duration;

use bt_hci::cmd::le::LeSetAdvEnable;
use bt_hci::transport::{PacketKind, PacketToController, PacketToHost, Transport};
use bt_hci_linux::Error;
use tokio::time::Instant;

use super::flow::Flow;

/// L2CAP channel of the Security Manager Protocol on LE.
const SMP_CHANNEL: [u8; 2] = [0x06, 0x00];
const PAIRING_REQUEST: u8 = 0x01;
const PAIRING_FAILED: u8 = 0x05;
const PAIRING_NOT_SUPPORTED: u8 = 0x05;
const NUMBER_OF_COMPLETED_PACKETS: u8 = 0x13;
const DISCONNECTION_COMPLETE: u8 = 0x05;
const COMMAND_COMPLETE: u8 = 0x0E;
const SET_ADVERTISING_ENABLE: [u8; 2] = [0x0A, 0x20];
const LONG_TERM_KEY_REPLY: [u8; 2] = [0x1A, 0x20];
const UNKNOWN_CONNECTION: u8 = 0x02;
const SUCCESS: u8 = 0x00;
const COMMAND_DISALLOWED: u8 = 0x0C;

/// How often it is looked whether a link is bondable, and for how long at most.
const LOOK: Duration = Duration::from_millis(2);
const PATIENCE: Duration = Duration::from_secs(5);

/// What the rest of the program and the gate tell each other.
#[derive(Default)]
pub(crate) struct Latch {
    /// True while pairing is allowed.
    pub(crate) open: Cell<bool>,
    /// Pairing requests turned away since the last look.
    pub(crate) refused: Cell<u32>,
    /// True while there is a link, and the host stack was told that it may be bonded with.
    pub(crate) bondable: Cell<bool>,
    /// True if advertising is to end for a moment, the next time that it is told to begin.
    pub(crate) anew: Cell<bool>,
}

/// A transport that lets everything through but pairing requests that come while the latch is shut.
pub(crate) struct Gate<T> {
    inner: T,
    latch: Rc<Latch>,
    flow: Rc<Flow>,
    /// Connection handles whose next completed packet is the gate's own, which the host did not send.
    own: RefCell<Vec<u16>>,
    /// True after advertising was told to end, until it is told to begin.
    ends_advertising: Cell<bool>,
    /// Answers to the gate's own commands about advertising, which the host did not send.
    own_ends: Cell<u32>,
    /// A pairing request that came before its link was bondable, and until when it waits. Everything else goes on
    /// past it: what makes a link bondable may itself wait for an answer of the controller.
    early: RefCell<Option<(Vec<u8>, Instant)>>,
}

impl<T> Gate<T> {
    pub(crate) fn new(inner: T, latch: Rc<Latch>, flow: Rc<Flow>) -> Self {
        Self {
            inner,
            latch,
            flow,
            own: RefCell::new(Vec::new()),
            ends_advertising: Cell::new(false),
            own_ends: Cell::new(0),
            early: RefCell::default(),
        }
    }

    /// Takes the gate's own packets out of a *Number Of Completed Packets* event, so that the host does
    /// not get a send credit it never spent.
    fn hide_own(&self, event: &mut [u8]) {
        let [NUMBER_OF_COMPLETED_PACKETS, _, _, counts @ ..] = event else {
            return;
        };
        for entry in counts.chunks_exact_mut(4) {
            let handle = u16::from_le_bytes([entry[0], entry[1]]) & 0x0FFF;
            let mut count = u16::from_le_bytes([entry[2], entry[3]]);
            self.own.borrow_mut().retain(|&own| {
                let hide = own == handle && count > 0;
                count -= u16::from(hide);
                !hide
            });
            entry[2..4].copy_from_slice(&count.to_le_bytes());
        }
    }

    /// Notes whether advertising is told to end or to begin.
    fn note_command<C: PacketToController>(&self, command: &C) {
        if let [low, high, _, enable] = *octets(command)
            && [low, high] == SET_ADVERTISING_ENABLE
        {
            self.ends_advertising.set(enable == 0);
        }
    }

    /// Ending what has ended has no effect, and is no fault (Core Specification, volume 4, part E, 7.8.9).
    fn forgive_end(&self, event: &mut [u8]) {
        if let [COMMAND_COMPLETE, _, _, low, high, status @ COMMAND_DISALLOWED] = event
            && [*low, *high] == SET_ADVERTISING_ENABLE
            && self.ends_advertising.get()
        {
            *status = SUCCESS;
        }
        if let [COMMAND_COMPLETE, _, _, low, high, status @ UNKNOWN_CONNECTION, ..] = event
            && [*low, *high] == LONG_TERM_KEY_REPLY
        {
            *status = SUCCESS;
        }
    }

    /// Whether this packet begins advertising, which is to end for a moment before. The moment has to be as
    /// short as can be: btvirt fails a connection at once to what does not advertise just then, where a radio
    /// would wait for the next advertisement.
    fn begins_anew<C: PacketToController>(&self, command: &C) -> bool {
        let begins =
            matches!(*octets(command), [low, high, _, 1] if [low, high] == SET_ADVERTISING_ENABLE);
        begins && self.latch.anew.take()
    }

    /// Whether this event answers the gate's own command.
    fn answers_own(&self, event: &[u8]) -> bool {
        let own = self.own_ends.get();
        let about_advertising = matches!(
            *event,
            [COMMAND_COMPLETE, _, _, low, high, ..] if [low, high] == SET_ADVERTISING_ENABLE
        );
        if about_advertising && own > 0 {
            self.own_ends.set(own - 1);
        }
        about_advertising && own > 0
    }

    /// Gives an early pairing request once its turn has come. The host stack can be told that a link is bondable
    /// only once it has the link, and a host may ask to pair sooner; it would get a pairing without a bond.
    async fn early(&self) -> Vec<u8> {
        loop {
            let is_due =
                |early: &mut (_, Instant)| self.latch.bondable.get() || Instant::now() >= early.1;
            if let Some((request, _)) = self.early.borrow_mut().take_if(is_due) {
                return request;
            }
            tokio::time::sleep(LOOK).await;
        }
    }
}

/// A packet as it goes to the controller.
fn octets<C: PacketToController>(packet: &C) -> Vec<u8> {
    let mut octets = Vec::with_capacity(packet.size());
    // Writing to memory cannot fail.
    let _ = packet.write_hci(&mut octets);
    octets
}

/// The connection handle, if this ACL packet is a Pairing Request.
fn pairing_request(acl: &[u8]) -> Option<u16> {
    let [handle_low, handle_high, _, _, _, _, channel_low, channel_high, PAIRING_REQUEST, ..] =
        *acl
    else {
        return None;
    };
    let first_fragment = handle_high & 0x10 == 0 || handle_high & 0x30 == 0x20;
    (first_fragment && [channel_low, channel_high] == SMP_CHANNEL)
        .then(|| u16::from_le_bytes([handle_low, handle_high]) & 0x0FFF)
}

impl<T: Transport<Error = Error>> Transport for Gate<T> {
    async fn read<'a, P: PacketToHost<'a>>(&self, rx: &'a mut [u8]) -> Result<P, Error> {
        let mut buffer = vec![0; rx.len()];
        loop {
            let waits = self.early.borrow().is_some();
            let Raw { kind, bytes } = tokio::select! {
                biased;
                packet = self.inner.read::<Raw<'_>>(&mut buffer) => packet?,
                request = self.early(), if waits => {
                    return P::read_hci(PacketKind::AclData, &mut &*request, rx)
                        .map_err(Error::ReadHci);
                }
            };
            match kind {
                PacketKind::AclData if !self.latch.open.get() => {
                    if let Some(handle) = pairing_request(bytes) {
                        self.own.borrow_mut().push(handle);
                        self.inner.write(&Refusal(handle)).await?;
                        self.latch.refused.set(self.latch.refused.get() + 1);
                        continue;
                    }
                }
                PacketKind::AclData
                    if pairing_request(bytes).is_some() && !self.latch.bondable.get() =>
                {
                    let until = Instant::now() + PATIENCE;
                    self.early.replace(Some((bytes.to_vec(), until)));
                    continue;
                }
                PacketKind::Event if self.answers_own(bytes) => continue,
                PacketKind::Event => {
                    if bytes.first() == Some(&DISCONNECTION_COMPLETE) {
                        self.early.take();
                    }
                    self.hide_own(bytes);
                    self.flow.note_event(bytes);
                    self.forgive_end(bytes);
                }
                _ => {}
            }
            return P::read_hci(kind, &mut &*bytes, rx).map_err(Error::ReadHci);
        }
    }

    async fn write<P: PacketToController>(&self, tx: &P) -> Result<(), Error> {
        match P::KIND {
            PacketKind::Cmd => {
                self.note_command(tx);
                if self.begins_anew(tx) {
                    self.own_ends.set(self.own_ends.get() + 1);
                    self.inner.write(&LeSetAdvEnable::new(false)).await?;
                }
            }
            PacketKind::AclData => self.flow.note_packet(&octets(tx)),
            _ => {}
        }
        self.inner.write(tx).await
    }
}

impl<T: Transport<Error = Error>> embedded_io::ErrorType for Gate<T> {
    type Error = Error;
}

/// A packet from the controller as it came.
struct Raw<'d> {
    kind: PacketKind,
    bytes: &'d mut [u8],
}

impl<'d> PacketToHost<'d> for Raw<'d> {
    fn read_hci<R: embedded_io::Read>(
        kind: PacketKind,
        data: &mut R,
        buf: &'d mut [u8],
    ) -> Result<Self, bt_hci::ReadHciError<R::Error>> {
        let mut length = 0;
        while length < buf.len() {
            let read = data
                .read(&mut buf[length..])
                .map_err(|e| bt_hci::ReadHciError::Read(embedded_io::ReadExactError::Other(e)))?;
            if read == 0 {
                break;
            }
            length += read;
        }
        Ok(Self { kind, bytes: &mut buf[..length] })
    }

    async fn read_hci_async<R: embedded_io_async::Read>(
        kind: PacketKind,
        data: &mut R,
        buf: &'d mut [u8],
    ) -> Result<Self, bt_hci::ReadHciError<R::Error>> {
        let mut length = 0;
        while length < buf.len() {
            let read = data
                .read(&mut buf[length..])
                .await
                .map_err(|e| bt_hci::ReadHciError::Read(embedded_io::ReadExactError::Other(e)))?;
            if read == 0 {
                break;
            }
            length += read;
        }
        Ok(Self { kind, bytes: &mut buf[..length] })
    }
}

/// *Pairing Failed: Pairing Not Supported* to one connection.
struct Refusal(u16);

impl Refusal {
    fn octets(&self) -> [u8; 10] {
        let [low, high] = self.0.to_le_bytes();
        let [channel_low, channel_high] = SMP_CHANNEL;
        [
            low,
            high,
            6,
            0, // ACL: first, non-flushable; six octets
            2,
            0,
            channel_low,
            channel_high, // L2CAP: two octets
            PAIRING_FAILED,
            PAIRING_NOT_SUPPORTED,
        ]
    }
}

impl PacketToController for Refusal {
    const KIND: PacketKind = PacketKind::AclData;

    fn size(&self) -> usize {
        self.octets().len()
    }

    fn write_hci<W: embedded_io::Write>(&self, mut writer: W) -> Result<(), W::Error> {
        writer.write_all(&self.octets())
    }

    async fn write_hci_async<W: embedded_io_async::Write>(
        &self,
        mut writer: W,
    ) -> Result<(), W::Error> {
        writer.write_all(&self.octets()).await
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pairing_request_is_told_from_other_packets() {
        let request = [0x40, 0x20, 11, 0, 7, 0, 6, 0, 1, 3, 0, 0x2D, 16, 0x0D, 0x0F];
        assert_eq!(pairing_request(&request), Some(0x040));
        let mut other = request;
        other[8] = 0x0C; // Pairing Public Key
        assert_eq!(pairing_request(&other), None);
        let mut attribute = request;
        attribute[6] = 4; // attribute protocol
        assert_eq!(pairing_request(&attribute), None);
        let mut continued = request;
        continued[1] = 0x10;
        assert_eq!(pairing_request(&continued), None);
        assert_eq!(pairing_request(&request[..8]), None);
    }

    /// A controller that has these packets for its host, and then says nothing more.
    struct Packets(RefCell<Vec<(PacketKind, Vec<u8>)>>);

    impl embedded_io::ErrorType for Packets {
        type Error = Error;
    }

    impl Transport for Packets {
        async fn read<'a, P: PacketToHost<'a>>(&self, rx: &'a mut [u8]) -> Result<P, Error> {
            if self.0.borrow().is_empty() {
                std::future::pending::<()>().await;
            }
            let (kind, packet) = self.0.borrow_mut().remove(0);
            P::read_hci(kind, &mut &*packet, rx).map_err(Error::ReadHci)
        }

        async fn write<P: PacketToController>(&self, _: &P) -> Result<(), Error> {
            Ok(())
        }
    }

    #[test]
    fn a_pairing_request_that_comes_too_early_lets_everything_else_pass() {
        let request = vec![0x2A, 0x20, 11, 0, 7, 0, 6, 0, 1, 3, 0, 0x2D, 16, 0x0D, 0x0F];
        let answer = vec![0x0E, 4, 1, 0x08, 0x20, 0];
        let ended = vec![0x05, 4, 0, 0x2A, 0, 0x13];
        let read = |packets: &[(PacketKind, &Vec<u8>)], bondable_after: usize| {
            let packets = packets.iter().map(|(kind, packet)| (*kind, (*packet).clone())).collect();
            let latch = Rc::new(Latch::default());
            latch.open.set(true);
            let gate = Gate::new(Packets(RefCell::new(packets)), latch.clone(), Rc::default());
            let mut found = Vec::new();
            let runtime = tokio::runtime::Builder::new_current_thread().enable_time().build();
            runtime.expect("a runtime").block_on(async {
                let mut buffer = [0; 64];
                while let Ok(packet) =
                    tokio::time::timeout(LOOK * 20, gate.read::<Raw<'_>>(&mut buffer)).await
                {
                    found.push(packet.expect("a packet").bytes.to_vec());
                    latch.bondable.set(found.len() >= bondable_after);
                }
            });
            found
        };
        let (event, data) = (PacketKind::Event, PacketKind::AclData);
        let early = read(&[(data, &request), (event, &answer)], 1);
        assert_eq!(early, [answer.clone(), request.clone()]);
        let never = read(&[(data, &request), (event, &answer)], 9);
        assert_eq!(never, std::slice::from_ref(&answer));
        let gone = read(&[(data, &request), (event, &ended), (event, &answer)], 1);
        assert_eq!(gone, [ended, answer]);
    }

    #[test]
    fn only_the_end_of_advertising_is_forgiven() {
        let gate = Gate::new((), Rc::default(), Rc::default());
        let refused = [0x0E, 4, 1, 0x0A, 0x20, 0x0C];
        let check = |expected: u8| {
            let mut event = refused;
            gate.forgive_end(&mut event);
            assert_eq!(event[5], expected);
        };
        check(0x0C);
        gate.note_command(&LeSetAdvEnable::new(false));
        check(0x00);
        gate.note_command(&LeSetAdvEnable::new(true));
        check(0x0C);
        gate.note_command(&LeSetAdvEnable::new(false));
        let mut other = refused;
        other[3] = 0x06;
        gate.forgive_end(&mut other);
        assert_eq!(other[5], 0x0C);
    }

    #[test]
    fn advertising_begins_anew_once_and_the_host_does_not_hear_of_its_end() {
        let gate = Gate::new((), Rc::new(Latch::default()), Rc::default());
        let begin = LeSetAdvEnable::new(true);
        assert!(!gate.begins_anew(&begin));
        gate.latch.anew.set(true);
        assert!(!gate.begins_anew(&LeSetAdvEnable::new(false)));
        assert!(gate.begins_anew(&begin));
        assert!(!gate.begins_anew(&begin));
        let answer = [0x0E, 4, 1, 0x0A, 0x20, 0];
        assert!(!gate.answers_own(&answer));
        gate.own_ends.set(1);
        assert!(!gate.answers_own(&[0x0E, 4, 1, 0x06, 0x20, 0]));
        assert!(gate.answers_own(&answer));
        assert!(!gate.answers_own(&answer));
    }

    #[test]
    fn a_key_for_a_link_that_has_ended_is_no_fault() {
        let gate = Gate::new((), Rc::new(Latch::default()), Rc::default());
        let mut event = [0x0E, 6, 1, 0x1A, 0x20, 0x02, 0x2A, 0];
        gate.forgive_end(&mut event);
        assert_eq!(event[5], 0);
    }

    #[test]
    fn the_gate_hides_only_its_own_completed_packets() {
        let gate = Gate::new((), Rc::default(), Rc::default());
        gate.own.borrow_mut().push(0x40);
        let mut event = [0x13, 9, 2, 0x41, 0, 1, 0, 0x40, 0, 2, 0];
        gate.hide_own(&mut event);
        assert_eq!(event, [0x13, 9, 2, 0x41, 0, 1, 0, 0x40, 0, 1, 0]);
        gate.hide_own(&mut event);
        assert_eq!(event, [0x13, 9, 2, 0x41, 0, 1, 0, 0x40, 0, 1, 0]);
    }
}

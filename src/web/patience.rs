//! Connections whose other end may not stop reading for ever, encrypted where that is asked for.
//!
//! A program that was stopped, or a page that sleeps, keeps its connection and reads nothing. What is
//! held for it is bounded; this ends it. Callers on this machine are never encrypted: nobody is on the way.

use crate::web::identity::Identity;
use axum::serve::Listener;
use std::future::Future;
use std::io;
use std::net::SocketAddr;
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::task::JoinSet;
use tokio::time::{Sleep, sleep, timeout};
use tokio_rustls::TlsAcceptor;
use tokio_rustls::server::TlsStream;

/// Callers that may be greeting at a time; further ones wait.
const GREETINGS: usize = 64;
/// How long a greeting may take.
const GREETING: Duration = Duration::from_secs(10);
/// The first octet of whoever wants to be encrypted (RFC 8446, section 5.1: handshake).
const HANDSHAKE: u8 = 22;

/// A listener whose connections fail once nothing could be written for as long as its patience.
pub(super) struct Patient {
    listener: TcpListener,
    patience: Duration,
    acceptor: Option<TlsAcceptor>,
    greetings: JoinSet<Option<(Connection, SocketAddr)>>,
}

impl Patient {
    /// With an identity, callers from the network are encrypted if they ask for it.
    pub(super) fn new(
        listener: TcpListener,
        patience: Duration,
        identity: Option<&Identity>,
    ) -> Self {
        let acceptor = identity.map(|identity| TlsAcceptor::from(identity.config()));
        Self { listener, patience, acceptor, greetings: JoinSet::new() }
    }

    /// Who has come is greeted beside the others: a slow one holds up nobody.
    fn greet(&mut self, acceptor: TlsAcceptor, stream: TcpStream, address: SocketAddr) {
        let patience = self.patience;
        self.greetings.spawn(async move {
            match timeout(GREETING, way(acceptor, stream)).await {
                Ok(Ok(way)) => Some((Connection::new(way, patience), address)),
                Ok(Err(error)) => {
                    tracing::debug!("{address} did not greet as expected: {error}");
                    None
                }
                Err(_) => {
                    tracing::debug!("{address} did not greet in time");
                    None
                }
            }
        });
    }
}

async fn way(acceptor: TlsAcceptor, stream: TcpStream) -> io::Result<Way> {
    let mut first = [0];
    stream.peek(&mut first).await?;
    if first[0] == HANDSHAKE {
        Ok(Way::Encrypted(Box::new(acceptor.accept(stream).await?)))
    } else {
        Ok(Way::Plain(stream))
    }
}

impl Listener for Patient {
    type Io = Connection;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Connection, SocketAddr) {
        loop {
            tokio::select! {
                (stream, address) = Listener::accept(&mut self.listener),
                    if self.greetings.len() < GREETINGS =>
                {
                    // Without it a small event may wait for the answer to the one before.
                    if let Err(error) = stream.set_nodelay(true) {
                        tracing::debug!("events may be late: {error}");
                    }
                    match &self.acceptor {
                        Some(acceptor) if !address.ip().is_loopback() => {
                            self.greet(acceptor.clone(), stream, address);
                        }
                        _ => return (Connection::new(Way::Plain(stream), self.patience), address),
                    }
                }
                Some(greeted) = self.greetings.join_next() => {
                    if let Ok(Some(greeted)) = greeted {
                        return greeted;
                    }
                }
            }
        }
    }

    fn local_addr(&self) -> io::Result<SocketAddr> {
        self.listener.local_addr()
    }
}

/// What octets go over.
enum Way {
    Plain(TcpStream),
    Encrypted(Box<TlsStream<TcpStream>>),
}

impl Way {
    fn socket(&self) -> &TcpStream {
        match self {
            Self::Plain(stream) => stream,
            Self::Encrypted(stream) => stream.get_ref().0,
        }
    }

    fn write(&mut self) -> Pin<&mut (dyn AsyncWrite + Unpin)> {
        match self {
            Self::Plain(stream) => Pin::new(stream),
            Self::Encrypted(stream) => Pin::new(stream),
        }
    }

    fn read(&mut self) -> Pin<&mut (dyn AsyncRead + Unpin)> {
        match self {
            Self::Plain(stream) => Pin::new(stream),
            Self::Encrypted(stream) => Pin::new(stream),
        }
    }
}

/// A connection that loses patience.
pub(super) struct Connection {
    way: Way,
    /// Our end of it; none if the system does not tell it.
    here: Option<SocketAddr>,
    patience: Duration,
    /// Runs while the other end takes nothing.
    stuck: Option<Pin<Box<Sleep>>>,
}

impl Connection {
    fn new(way: Way, patience: Duration) -> Self {
        let here = way.socket().local_addr().ok();
        Self { way, here, patience, stuck: None }
    }

    /// True if nobody on the way reads along.
    pub(super) fn is_encrypted(&self) -> bool {
        matches!(self.way, Way::Encrypted(_))
    }

    /// Our end of it.
    pub(super) fn here(&self) -> Option<SocketAddr> {
        self.here
    }

    fn patiently<T>(
        &mut self,
        context: &mut Context<'_>,
        written: Poll<io::Result<T>>,
    ) -> Poll<io::Result<T>> {
        if written.is_ready() {
            self.stuck = None;
            return written;
        }
        let patience = self.patience;
        let stuck = self.stuck.get_or_insert_with(|| Box::pin(sleep(patience)));
        match stuck.as_mut().poll(context) {
            Poll::Ready(()) => Poll::Ready(Err(io::Error::new(
                io::ErrorKind::TimedOut,
                "the caller has stopped reading",
            ))),
            Poll::Pending => Poll::Pending,
        }
    }
}

impl AsyncWrite for Connection {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        octets: &[u8],
    ) -> Poll<io::Result<usize>> {
        let written = self.way.write().poll_write(context, octets);
        self.patiently(context, written)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        slices: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let written = self.way.write().poll_write_vectored(context, slices);
        self.patiently(context, written)
    }

    fn is_write_vectored(&self) -> bool {
        match &self.way {
            Way::Plain(stream) => stream.is_write_vectored(),
            Way::Encrypted(stream) => stream.is_write_vectored(),
        }
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        self.way.write().poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        self.way.write().poll_shutdown(context)
    }
}

impl AsyncRead for Connection {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        self.way.read().poll_read(context, buffer)
    }
}

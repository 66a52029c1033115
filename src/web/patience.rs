//! Connections whose other end may not stop reading for ever.
//!
//! A program that was stopped, or a page that sleeps, keeps its connection and reads nothing. What is
//! held for it is bounded; this ends it.

use axum::serve::Listener;
use std::future::Future;
use std::io;
use std::net::SocketAddr;
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::time::{Sleep, sleep};

/// A listener whose connections fail once nothing could be written for as long as its patience.
pub(super) struct Patient {
    pub(super) listener: TcpListener,
    pub(super) patience: Duration,
}

impl Listener for Patient {
    type Io = Connection;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Connection, SocketAddr) {
        let (stream, address) = Listener::accept(&mut self.listener).await;
        // Without it a small event may wait for the answer to the one before.
        if let Err(error) = stream.set_nodelay(true) {
            tracing::debug!("events may be late: {error}");
        }
        let here = stream.local_addr().ok();
        (Connection { stream, here, patience: self.patience, stuck: None }, address)
    }

    fn local_addr(&self) -> io::Result<SocketAddr> {
        self.listener.local_addr()
    }
}

/// A connection that loses patience.
pub(super) struct Connection {
    stream: TcpStream,
    /// Our end of it; none if the system does not tell it.
    here: Option<SocketAddr>,
    patience: Duration,
    /// Runs while the other end takes nothing.
    stuck: Option<Pin<Box<Sleep>>>,
}

impl Connection {
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
        let written = Pin::new(&mut self.stream).poll_write(context, octets);
        self.patiently(context, written)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        slices: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let written = Pin::new(&mut self.stream).poll_write_vectored(context, slices);
        self.patiently(context, written)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }
}

impl AsyncRead for Connection {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_read(context, buffer)
    }
}

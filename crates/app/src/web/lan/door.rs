//! How many may be inside at once, and how long one may stand in the door without a word.
//!
//! It sees connections, not what is asked on them. A guest who has not shown a session has a minute in all.

use axum_server::accept::Accept;
use std::collections::HashMap;
use std::future::{Ready, ready};
use std::io;
use std::net::SocketAddr;
use std::pin::Pin;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll, ready as poll_ready};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::TcpStream;
use tokio::time::{Instant, Sleep, sleep};

/// Bounds on what strangers may take up.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    /// Connections at once.
    pub connections: usize,
    /// Connections at once from one address.
    pub per_address: usize,
    /// For the handshake, and then for each request's head.
    pub greeting: Duration,
    /// For all of a stay in which no session is shown.
    pub stranger: Duration,
    /// Between two bytes, either way.
    pub silence: Duration,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            connections: 96,
            per_address: 24,
            greeting: Duration::from_secs(10),
            stranger: Duration::from_secs(60),
            silence: Duration::from_secs(120),
        }
    }
}

/// Everyone who is inside, by address and port, and whether they have shown a session.
type Guests = Arc<Mutex<HashMap<SocketAddr, Arc<AtomicBool>>>>;

/// Lets connections in, as many as there is room for.
#[derive(Debug, Clone)]
pub(crate) struct Door {
    limits: Limits,
    guests: Guests,
}

impl Door {
    pub(crate) fn new(limits: Limits) -> Self {
        Self {
            limits,
            guests: Guests::default(),
        }
    }

    /// The guest at this address has shown a session.
    pub(crate) fn welcome(&self, guest: SocketAddr) {
        let guests = self.guests.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(welcome) = guests.get(&guest) {
            welcome.store(true, Ordering::Relaxed);
        }
    }

    fn let_in(&self, stream: TcpStream) -> io::Result<Guest> {
        let address = stream.peer_addr()?;
        let welcome = Arc::new(AtomicBool::new(false));
        let mut guests = self.guests.lock().unwrap_or_else(PoisonError::into_inner);
        let same = guests.keys().filter(|g| g.ip() == address.ip()).count();
        if self.limits.connections <= guests.len() || self.limits.per_address <= same {
            return Err(io::Error::other("there is no room"));
        }
        guests.insert(address, Arc::clone(&welcome));
        Ok(Guest {
            stream,
            stay: Box::pin(sleep(self.limits.stranger)),
            word: Box::pin(sleep(self.limits.silence)),
            silence: self.limits.silence,
            place: Place {
                address,
                welcome,
                guests: Arc::clone(&self.guests),
            },
        })
    }
}

impl<S> Accept<TcpStream, S> for Door {
    type Stream = Guest;
    type Service = S;
    type Future = Ready<io::Result<(Guest, S)>>;

    fn accept(&self, stream: TcpStream, service: S) -> Self::Future {
        ready(self.let_in(stream).map(|guest| (guest, service)))
    }
}

/// A place that is free again when dropped.
#[derive(Debug)]
struct Place {
    address: SocketAddr,
    welcome: Arc<AtomicBool>,
    guests: Guests,
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut guests = self.guests.lock().unwrap_or_else(PoisonError::into_inner);
        guests.remove(&self.address);
    }
}

/// One connection, broken off when its time is over.
#[derive(Debug)]
pub(crate) struct Guest {
    stream: TcpStream,
    stay: Pin<Box<Sleep>>,
    word: Pin<Box<Sleep>>,
    silence: Duration,
    place: Place,
}

impl Guest {
    fn patience(&mut self, cx: &mut Context<'_>) -> io::Result<()> {
        let welcome = self.place.welcome.load(Ordering::Relaxed);
        if !welcome && self.stay.as_mut().poll(cx).is_ready() {
            return Err(io::ErrorKind::TimedOut.into());
        }
        Ok(())
    }

    /// What came of listening or speaking: a word begins the silence anew, none is waited for until it is over.
    fn heard<T>(&mut self, cx: &mut Context<'_>, did: Poll<io::Result<T>>) -> Poll<io::Result<T>> {
        if did.is_ready() {
            self.word.as_mut().reset(Instant::now() + self.silence);
            return did;
        }
        poll_ready!(self.word.as_mut().poll(cx));
        Poll::Ready(Err(io::ErrorKind::TimedOut.into()))
    }
}

impl AsyncRead for Guest {
    fn poll_read(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buf: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        self.patience(cx)?;
        let did = Pin::new(&mut self.stream).poll_read(cx, buf);
        self.heard(cx, did)
    }
}

impl AsyncWrite for Guest {
    fn poll_write(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        self.patience(cx)?;
        let did = Pin::new(&mut self.stream).poll_write(cx, bytes);
        self.heard(cx, did)
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(cx)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(cx)
    }
}

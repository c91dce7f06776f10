//! How does a connection become a private one? Each handshake on its own, with a time limit, a bounded number at once: who connects and
//! says nothing holds nobody up.

use super::certificate::Identity;
use crate::error::AppError;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, mpsc};
use tokio_rustls::TlsAcceptor;
use tokio_rustls::server::TlsStream;

/// So long may a handshake take.
const HANDSHAKE: Duration = Duration::from_secs(10);
/// So many at once.
const AT_ONCE: usize = 64;

/// Connections after their handshake.
pub(crate) struct TlsListener {
    ready: mpsc::Receiver<(TlsStream<TcpStream>, SocketAddr)>,
    address: SocketAddr,
}

impl TlsListener {
    /// Begins to listen; must be called within the runtime.
    ///
    /// # Errors
    /// If the machine refuses.
    pub fn begin(listener: std::net::TcpListener, identity: &Identity) -> Result<Self, AppError> {
        let listener = TcpListener::from_std(listener)?;
        let address = listener.local_addr()?;
        let acceptor = TlsAcceptor::from(identity.config()?);
        let (give, ready) = mpsc::channel(AT_ONCE);
        tokio::spawn(async move {
            let room = Arc::new(Semaphore::new(AT_ONCE));
            loop {
                let Ok(place) = Arc::clone(&room).acquire_owned().await else {
                    return;
                };
                let Ok((stream, from)) = listener.accept().await else {
                    // Out of file handles, mostly: a moment later there are some again.
                    tokio::time::sleep(Duration::from_millis(200)).await;
                    continue;
                };
                if give.is_closed() {
                    return;
                }
                let (acceptor, give) = (acceptor.clone(), give.clone());
                tokio::spawn(async move {
                    if let Ok(Ok(stream)) = tokio::time::timeout(HANDSHAKE, acceptor.accept(stream)).await {
                        // Nobody takes it any more when the app is being closed.
                        let _ = give.send((stream, from)).await;
                    }
                    drop(place);
                });
            }
        });
        Ok(Self { ready, address })
    }
}

impl axum::serve::Listener for TlsListener {
    type Io = TlsStream<TcpStream>;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Self::Io, Self::Addr) {
        match self.ready.recv().await {
            Some(connection) => connection,
            None => std::future::pending().await,
        }
    }

    fn local_addr(&self) -> std::io::Result<Self::Addr> {
        Ok(self.address)
    }
}

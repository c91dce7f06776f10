//! How does the app start and stop? One address of this machine, a browser, and an end in which nothing is cut off.

use crate::error::AppError;
use crate::lan::{Door, TlsListener};
use crate::routes;
use crate::state::App;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

/// How the app is wanted.
#[derive(Clone, Debug, Default)]
pub struct AppAsked {
    /// Where what is kept lies; `None` is the platform's usual place.
    pub home: Option<PathBuf>,
    /// The port; `None` is the usual one, or another if that is taken.
    pub port: Option<u16>,
    /// Whether other devices of the house may be let in.
    pub lan: bool,
    /// The port for them; `None` is the usual one, or another if that is taken.
    pub lan_port: Option<u16>,
    /// Whether the browser stays closed.
    pub no_open: bool,
    /// The day that is today; `None` asks the clock. For tests, which must hold on any day.
    pub today: Option<chrono::NaiveDate>,
}

/// The usual port, our choice among those that programs of a person may use.
const USUAL_PORT: u16 = 7432;
/// How long requests that are being answered may go on after the app is told to stop.
const LAST_WORDS: Duration = Duration::from_secs(5);

/// An app that holds its address and is ready to answer.
pub struct Bound {
    listener: TcpListener,
    address: SocketAddr,
    app: Arc<App>,
    door: Option<Door>,
    open: bool,
}

/// Takes hold of an address of this machine and of what is kept.
///
/// # Errors
/// If the port is taken, or the machine refuses.
pub fn bind(asked: &AppAsked) -> Result<Bound, AppError> {
    let listener = listener(asked.port)?;
    listener.set_nonblocking(true)?;
    let address = listener.local_addr()?;
    let (app, door) = App::open(asked, address.port())?;
    Ok(Bound {
        listener,
        address,
        app: Arc::new(app),
        door,
        open: !asked.no_open,
    })
}

/// Only this machine can reach it.
fn listener(port: Option<u16>) -> Result<TcpListener, AppError> {
    let on = |port: u16| TcpListener::bind((Ipv4Addr::LOCALHOST, port));
    match port {
        Some(port) => on(port).map_err(|source| AppError::Port { port, source }),
        None => on(USUAL_PORT).or_else(|_| on(0)).map_err(AppError::Machine),
    }
}

impl Bound {
    /// Where it is found, for the browser.
    #[must_use]
    pub fn address(&self) -> String {
        format!("http://{}/", self.address)
    }

    /// Where other devices find it, and the fingerprint of its certificate; `None` if they may not look in.
    #[must_use]
    pub fn for_devices(&self) -> Option<(Vec<String>, &str)> {
        let lan = self.app.lan.as_ref()?;
        Some((lan.urls(), &lan.fingerprint))
    }

    /// Opens the browser and answers until the machine or the person says stop.
    ///
    /// # Errors
    /// If the machine refuses.
    pub fn serve(self) -> Result<(), AppError> {
        let address = self.address();
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(2)
            .enable_all()
            .build()?;
        let app = Arc::clone(&self.app);
        let served = runtime.block_on(async move {
            let listener = tokio::net::TcpListener::from_std(self.listener)?;
            if self.open {
                // A machine without a browser still has the address that was printed.
                let _ = open::that_detached(&address);
            }
            tokio::spawn(crate::folder::begin(Arc::clone(&self.app)));
            let told = Arc::new(tokio::sync::Notify::new());
            let heard = Arc::clone(&told);
            let answering = axum::serve(listener, routes::router(Arc::clone(&self.app)))
                .with_graceful_shutdown(async move { heard.notified().await });
            let devices = match self.door {
                Some(door) => Some(TlsListener::begin(door.listener, &door.identity)?),
                None => None,
            };
            let mut answering_devices = tokio::spawn(answer_devices(devices, Arc::clone(&self.app)));
            let mut answering = tokio::spawn(async move { answering.await });
            tokio::select! {
                ended = &mut answering => return joined(ended),
                ended = &mut answering_devices => return joined(ended),
                () = stop_said() => told.notify_one(),
            }
            // Devices ask again by themselves; what one of them had confirmed is kept.
            answering_devices.abort();
            match tokio::time::timeout(LAST_WORDS, answering).await {
                Ok(ended) => joined(ended),
                // A browser that keeps its connection open does not keep the app from ending.
                Err(_) => Ok(()),
            }
        });
        app.close();
        runtime.shutdown_timeout(Duration::from_secs(1));
        served
    }
}

/// Answers other devices, or waits for ever where there are none.
async fn answer_devices(devices: Option<TlsListener>, app: Arc<App>) -> std::io::Result<()> {
    match devices {
        Some(listener) => axum::serve(listener, routes::router_for_devices(app)).await,
        None => std::future::pending().await,
    }
}

fn joined(ended: Result<std::io::Result<()>, tokio::task::JoinError>) -> Result<(), AppError> {
    match ended {
        Ok(ended) => Ok(ended?),
        Err(error) => Err(AppError::Machine(std::io::Error::other(error))),
    }
}

/// Ctrl-C, or what an ending session sends.
async fn stop_said() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut ending) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {},
                _ = ending.recv() => {},
            }
            return;
        }
    }
    let _ = tokio::signal::ctrl_c().await;
}

//! How do other devices of the house look in? Only if asked for: TLS with a certificate made here, a code for each device, and a player's
//! device that reaches that player's things and no others.

mod asker;
mod certificate;
#[cfg(test)]
mod every_route;
mod guard;
mod listener;
mod pairing;
mod reach;
mod screen;

pub(crate) use asker::Asker;
pub(crate) use guard::guard;
pub(crate) use listener::TlsListener;
pub(crate) use pairing::Offers;
pub(crate) use screen::{devices, offer, pair, pair_page, shut_out};

use crate::error::AppError;
use certificate::Identity;
use std::net::{IpAddr, Ipv4Addr, TcpListener};
use std::path::Path;

/// The usual port for other devices: our usual one and one more.
const USUAL_PORT: u16 = 7433;

/// The door to other devices, before it is opened.
pub(crate) struct Door {
    /// Where it listens.
    pub listener: TcpListener,
    /// Who it is, for the handshake.
    pub identity: Identity,
}

/// What the app knows of its door.
#[derive(Clone, Debug)]
pub(crate) struct Lan {
    /// This machine's addresses in the house.
    pub addresses: Vec<IpAddr>,
    /// The port.
    pub port: u16,
    /// The certificate's fingerprint (SHA-256), as browsers show it.
    pub fingerprint: String,
}

impl Lan {
    /// The addresses as a browser wants them, the likeliest first.
    pub fn urls(&self) -> Vec<String> {
        let host = |address: &IpAddr| match address {
            IpAddr::V4(four) => four.to_string(),
            IpAddr::V6(six) => format!("[{six}]"),
        };
        self.addresses
            .iter()
            .map(|address| format!("https://{}:{}/", host(address), self.port))
            .collect()
    }

    /// Whether a `Host` or the host of an `Origin` is one of ours.
    pub fn is_ours(&self, host: &str) -> bool {
        self.urls().iter().any(|url| {
            url.strip_prefix("https://")
                .and_then(|rest| rest.strip_suffix('/'))
                == Some(host)
        })
    }
}

/// Takes hold of a port on all of this machine's addresses, and makes or finds the certificate.
///
/// # Errors
/// If the machine has no address in a house, the port is taken, or no certificate can be made.
pub(crate) fn door(port: Option<u16>, home: &Path) -> Result<(Door, Lan), AppError> {
    let addresses = own_addresses()?;
    let on = |port: u16| TcpListener::bind((Ipv4Addr::UNSPECIFIED, port));
    let listener = match port {
        Some(port) => on(port).map_err(|source| AppError::Port { port, source })?,
        None => on(USUAL_PORT).or_else(|_| on(0))?,
    };
    listener.set_nonblocking(true)?;
    let port = listener.local_addr()?.port();
    let identity = Identity::of(home, &addresses)?;
    let lan = Lan {
        addresses,
        port,
        fingerprint: identity.fingerprint(),
    };
    Ok((Door { listener, identity }, lan))
}

/// Addresses by which the house knows this machine: private ones before others, none of its own loop.
fn own_addresses() -> Result<Vec<IpAddr>, AppError> {
    let mut found: Vec<IpAddr> = if_addrs::get_if_addrs()?
        .into_iter()
        .filter(|interface| !interface.is_loopback())
        .map(|interface| interface.ip())
        .filter(IpAddr::is_ipv4)
        .collect();
    found.sort_by_key(|address| match address {
        IpAddr::V4(four) => (!four.is_private(), four.is_link_local(), *address),
        IpAddr::V6(_) => (true, true, *address),
    });
    found.dedup();
    if found.is_empty() {
        return Err(AppError::NoHouse);
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::Lan;
    use std::net::IpAddr;

    #[test]
    fn only_this_machines_addresses_with_the_port_are_ours() {
        let lan = Lan {
            addresses: vec![IpAddr::from([192, 168, 1, 7]), IpAddr::from([10, 0, 0, 2])],
            port: 7433,
            fingerprint: String::new(),
        };
        assert_eq!(lan.urls()[0], "https://192.168.1.7:7433/");
        assert!(lan.is_ours("192.168.1.7:7433") && lan.is_ours("10.0.0.2:7433"));
        for other in [
            "192.168.1.7",
            "192.168.1.7:7432",
            "192.168.1.70:7433",
            "192.168.1.7:7433.evil.example",
            "evil.example:7433",
            "",
        ] {
            assert!(!lan.is_ours(other), "{other}");
        }
    }
}

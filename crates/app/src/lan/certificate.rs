//! Who is this machine to a device of the house? A certificate of its own, made on the spot and kept while the addresses stay the same,
//! so that a device that has looked at its fingerprint once need not look again.

use crate::error::AppError;
use rcgen::{CertificateParams, DistinguishedName, DnType, KeyPair};
use rustls::ServerConfig;
use rustls::pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer};
use sha2::{Digest, Sha256};
use std::fs;
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Browsers refuse certificates that hold for much longer than a year. Source: CA/Browser Forum, Baseline Requirements 6.3.2: 398 days.
const DAYS: i64 = 390;

/// A certificate and its key.
pub(crate) struct Identity {
    certificate: Vec<u8>,
    key: Vec<u8>,
}

impl Identity {
    /// The one kept in the home for these addresses, or a new one.
    ///
    /// # Errors
    /// If none can be made or kept.
    pub fn of(home: &Path, addresses: &[IpAddr]) -> Result<Self, AppError> {
        let today = desk::today();
        let folder = home.join("lan");
        let names: Vec<String> = addresses.iter().map(ToString::to_string).collect();
        if let Some(kept) = kept(&folder, &names, today) {
            return Ok(kept);
        }
        let until = today + chrono::Duration::days(DAYS);
        let made = made(&names, today, until).map_err(|error| AppError::Certificate(error.to_string()))?;
        keep(&folder, &made, &names, until)?;
        Ok(made)
    }

    /// SHA-256 of the certificate in pairs of hexadecimal digits, as browsers show it.
    pub fn fingerprint(&self) -> String {
        let hash = Sha256::digest(&self.certificate);
        let pairs: Vec<String> = hash.iter().map(|byte| format!("{byte:02X}")).collect();
        pairs.join(":")
    }

    /// For the handshake: TLS 1.2 and 1.3, no certificates of clients.
    ///
    /// # Errors
    /// If the key and the certificate don't belong together.
    pub fn config(&self) -> Result<Arc<ServerConfig>, AppError> {
        let failed = |error: rustls::Error| AppError::Certificate(error.to_string());
        let mut config =
            ServerConfig::builder_with_provider(Arc::new(rustls::crypto::ring::default_provider()))
                .with_safe_default_protocol_versions()
                .map_err(failed)?
                .with_no_client_auth()
                .with_single_cert(
                    vec![CertificateDer::from(self.certificate.clone())],
                    PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(self.key.clone())),
                )
                .map_err(failed)?;
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(Arc::new(config))
    }
}

fn made(
    names: &[String],
    from: chrono::NaiveDate,
    until: chrono::NaiveDate,
) -> Result<Identity, rcgen::Error> {
    use chrono::Datelike;
    let day = |date: chrono::NaiveDate| {
        let small = |number: u32| u8::try_from(number).unwrap_or(1);
        rcgen::date_time_ymd(date.year(), small(date.month()), small(date.day()))
    };
    let mut asked = CertificateParams::new(names.to_vec())?;
    asked.distinguished_name = DistinguishedName::new();
    asked
        .distinguished_name
        .push(DnType::CommonName, "Foreread on this machine");
    // A day before, for clocks that go slow.
    asked.not_before = day(from - chrono::Duration::days(1));
    asked.not_after = day(until);
    let key = KeyPair::generate()?;
    let certificate = asked.self_signed(&key)?;
    Ok(Identity {
        certificate: certificate.der().to_vec(),
        key: key.serialize_der(),
    })
}

fn files(folder: &Path) -> [PathBuf; 3] {
    ["certificate.der", "key.der", "for.txt"].map(|name| folder.join(name))
}

/// What is kept, if it is for these addresses and holds for a week yet.
fn kept(folder: &Path, names: &[String], today: chrono::NaiveDate) -> Option<Identity> {
    let [certificate, key, told] = files(folder);
    let told = fs::read_to_string(told).ok()?;
    let (until, known) = told.split_once('\n')?;
    let until: chrono::NaiveDate = until.parse().ok()?;
    let holds =
        until - today > chrono::Duration::days(7) && known.lines().eq(names.iter().map(String::as_str));
    let found = Identity {
        certificate: fs::read(certificate).ok()?,
        key: fs::read(key).ok()?,
    };
    // Half written, or changed by somebody: made anew.
    (holds && found.config().is_ok()).then_some(found)
}

fn keep(folder: &Path, made: &Identity, names: &[String], until: chrono::NaiveDate) -> Result<(), AppError> {
    let [certificate, key, told] = files(folder);
    fs::create_dir_all(folder)?;
    let _ = fs::remove_file(&told);
    private(&key, &made.key)?;
    fs::write(certificate, &made.certificate)?;
    fs::write(told, format!("{until}\n{}\n", names.join("\n")))?;
    Ok(())
}

/// A file that nobody else on this machine can read.
fn private(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    use std::io::Write;
    let _ = fs::remove_file(path);
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options.open(path)?.write_all(bytes)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]
mod tests {
    use super::Identity;
    use std::net::IpAddr;

    #[test]
    fn a_certificate_is_kept_while_the_addresses_stay_the_same() {
        let home = std::env::temp_dir().join(format!("foreread-certificate-{}", std::process::id()));
        let here = [IpAddr::from([192, 168, 1, 7])];
        let first = Identity::of(&home, &here).unwrap();
        assert_eq!(first.fingerprint().len(), 32 * 3 - 1);
        assert!(first.config().is_ok());
        let again = Identity::of(&home, &here).unwrap();
        assert_eq!(first.fingerprint(), again.fingerprint());
        let moved = Identity::of(&home, &[IpAddr::from([10, 0, 0, 2])]).unwrap();
        assert_ne!(first.fingerprint(), moved.fingerprint());
        std::fs::write(home.join("lan").join("key.der"), b"spoilt").unwrap();
        let mended = Identity::of(&home, &[IpAddr::from([10, 0, 0, 2])]).unwrap();
        assert!(mended.config().is_ok() && mended.fingerprint() != moved.fingerprint());
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = std::fs::metadata(home.join("lan").join("key.der"))
                .unwrap()
                .permissions()
                .mode();
            assert_eq!(mode & 0o777, 0o600);
        }
        std::fs::remove_dir_all(home).unwrap();
    }
}

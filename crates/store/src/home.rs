//! Where is it kept, and by whom just now? One folder: the database, the files as they came, and a lock.

use crate::StoreError;
use etcetera::BaseStrategy;
use std::fs::{File, OpenOptions, TryLockError};
use std::path::{Path, PathBuf};

/// The folder that everything is kept in, where nothing else is said: by the platform's convention
/// (`$XDG_DATA_HOME/foreread` or `~/.local/share/foreread`; `Library/Application Support`; `AppData`).
///
/// Source: freedesktop.org, XDG Base Directory Specification 0.8; for the others their vendors' guidelines, as the crate
/// `etcetera` has them.
///
/// # Errors
/// If the machine knows no such folder.
pub fn default_home() -> Result<PathBuf, StoreError> {
    let base = etcetera::base_strategy::choose_native_strategy().map_err(|_| StoreError::NoHome)?;
    Ok(base.data_dir().join("foreread"))
}

/// The layout of the folder.
#[derive(Clone, Debug)]
pub(crate) struct Home {
    pub(crate) root: PathBuf,
}

impl Home {
    pub(crate) fn new(root: &Path) -> Self {
        Self {
            root: root.to_path_buf(),
        }
    }

    pub(crate) fn database(&self) -> PathBuf {
        self.root.join("foreread.sqlite3")
    }

    /// Files whose rows stand.
    pub(crate) fn files(&self) -> PathBuf {
        self.root.join("files")
    }

    /// Files whose rows may not stand yet.
    pub(crate) fn arriving(&self) -> PathBuf {
        self.root.join("arriving")
    }

    fn lock_file(&self) -> PathBuf {
        self.root.join("lock")
    }

    /// Where whoever holds the lock says where it is to be found. A file of its own: a locked one can't be read everywhere.
    fn address_file(&self) -> PathBuf {
        self.root.join("open-at")
    }

    /// Makes the folders; only their owner may look into them.
    pub(crate) fn create(&self) -> Result<(), StoreError> {
        for folder in [&self.root, &self.files(), &self.arriving()] {
            std::fs::create_dir_all(folder).map_err(StoreError::unwritable(folder))?;
        }
        private(&self.root);
        Ok(())
    }

    /// Takes the lock; it is free again when the file is dropped, however the program ends.
    pub(crate) fn lock(&self) -> Result<File, StoreError> {
        let path = self.lock_file();
        let file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&path)
            .map_err(StoreError::unwritable(&path))?;
        match file.try_lock() {
            Ok(()) => {
                // What an earlier, killed program left there is no address any more.
                let _ = std::fs::remove_file(self.address_file());
                Ok(file)
            }
            Err(TryLockError::WouldBlock) => Err(StoreError::AlreadyOpen {
                home: self.root.clone(),
                address: std::fs::read_to_string(self.address_file())
                    .ok()
                    .map(|text| text.trim().to_owned())
                    .filter(|text| !text.is_empty()),
            }),
            Err(TryLockError::Error(source)) => Err(StoreError::Unwritable { path, source }),
        }
    }

    /// Says where the program that holds the lock is to be found; an empty address takes it back.
    pub(crate) fn say_address(&self, address: &str) -> Result<(), StoreError> {
        let path = self.address_file();
        if address.is_empty() {
            let _ = std::fs::remove_file(&path);
            return Ok(());
        }
        std::fs::write(&path, address).map_err(StoreError::unwritable(&path))
    }
}

/// Only the owner may look into the folder, where the platform has such a thing. A stranger's disk may refuse: no reason to stop.
fn private(folder: &Path) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let _ = std::fs::set_permissions(folder, std::fs::Permissions::from_mode(0o700));
    }
    #[cfg(not(unix))]
    let _ = folder;
}

/// Has the names in a folder survive a power cut, where the platform lets a folder be synced.
pub(crate) fn sync_folder(folder: &Path) -> std::io::Result<()> {
    if cfg!(unix) {
        File::open(folder)?.sync_all()?;
    }
    Ok(())
}

//! Which pieces are there? Each with its file as it came, known by what is in it.

use crate::error::AppError;
use desk::Opened;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

/// A piece on the shelf.
#[derive(Clone, Debug)]
pub(crate) struct Item {
    /// Its name in addresses: the first half of the hash of its file.
    pub id: String,
    /// What its file is called.
    pub file_name: String,
    /// The file as it came.
    pub bytes: Arc<[u8]>,
}

/// All pieces.
#[derive(Default)]
pub(crate) struct Shelf {
    items: Mutex<BTreeMap<String, Item>>,
}

macro_rules! demo {
    ($($name:literal),+ $(,)?) => { [$(($name, include_bytes!(concat!("../../../demo/pieces/", $name)).as_slice())),+] };
}

/// The demo studio's pieces.
const DEMO: [(&str, &[u8]); 10] = demo![
    "am_waldrand.musicxml",
    "causeway_at_dusk.musicxml",
    "kite_weather.musicxml",
    "lantern_barge.musicxml",
    "low_water.musicxml",
    "sealed_door.musicxml",
    "seven_lamps.musicxml",
    "signal_box_march.musicxml",
    "town_hall_minuet.musicxml",
    "winding_road.musicxml",
];

impl Shelf {
    /// The demo studio's pieces.
    pub fn demo() -> Self {
        let shelf = Self::default();
        for (name, bytes) in DEMO {
            shelf.add(name, bytes);
        }
        shelf
    }

    /// Adds a file and says its id.
    pub fn add(&self, file_name: &str, bytes: &[u8]) -> String {
        let id = id_of(bytes);
        let item = Item {
            id: id.clone(),
            file_name: file_name.to_owned(),
            bytes: bytes.into(),
        };
        self.items().entry(id.clone()).or_insert(item);
        id
    }

    /// A piece by its id.
    ///
    /// # Errors
    /// If there is none.
    pub fn item(&self, id: &str) -> Result<Item, AppError> {
        self.items().get(id).cloned().ok_or(AppError::NotFound)
    }

    /// All pieces by the names of their files.
    pub fn all(&self) -> Vec<Item> {
        let mut all: Vec<Item> = self.items().values().cloned().collect();
        all.sort_by(|one, other| one.file_name.cmp(&other.file_name).then(one.id.cmp(&other.id)));
        all
    }

    fn items(&self) -> std::sync::MutexGuard<'_, BTreeMap<String, Item>> {
        self.items.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Item {
    /// The piece as it is written.
    ///
    /// # Errors
    /// If its bytes are no notation we know.
    pub fn open(&self) -> Result<Opened, AppError> {
        Ok(desk::open_bytes(Path::new(&self.file_name), &self.bytes)?)
    }
}

fn id_of(bytes: &[u8]) -> String {
    let hash = Sha256::digest(bytes);
    hash.iter().take(16).map(|byte| format!("{byte:02x}")).collect()
}

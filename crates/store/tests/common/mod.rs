//! What tests of the store have in common: a home that goes with its test, and a piece in it.

#![allow(
    clippy::unwrap_used,
    dead_code,
    reason = "a test that cannot set itself up has failed"
)]

use std::path::{Path, PathBuf};
use store::{Bars, NewPiece, PieceRow, Store};

/// A folder of a test's own, gone when it ends.
pub struct Folder(PathBuf);

impl Folder {
    pub fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("foreread-store-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        Self(path)
    }

    pub fn path(&self) -> &Path {
        &self.0
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// The bars of a sketch.
pub fn bars(sketch: &str) -> Bars {
    Bars::of(&notation::sketch(sketch).unwrap(), 0)
}

/// Keeps a piece of a few bytes.
pub fn add(store: &Store, title: &str) -> PieceRow {
    store
        .add_piece(&NewPiece {
            title: title.to_owned(),
            file_name: format!("{title}.abc"),
            bytes: format!("X:1\nT:{title}\nK:C\nCDEF|\n").into_bytes(),
            ..NewPiece::default()
        })
        .unwrap()
}

/// A hold on a note of some bars.
pub fn hold(bars: &Bars, bar: u32, offset: i64, pitch: &str) -> store::Hold {
    bars.hold(
        bar,
        notation::Quarters::whole(offset),
        notation::Pitch::parse(pitch),
    )
    .unwrap()
}

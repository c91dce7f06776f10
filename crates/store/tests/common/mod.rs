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

/// All that matters of a store, row by row: `mark/3` and what it is.
pub fn snapshot(store: &Store) -> std::collections::BTreeMap<String, serde_json::Value> {
    fn put<T: serde::Serialize>(
        into: &mut std::collections::BTreeMap<String, serde_json::Value>,
        table: &str,
        rows: Vec<T>,
    ) {
        for row in rows {
            let row = serde_json::to_value(row).unwrap();
            let id = [row["id"].to_string(), row["version"].to_string()].join(".");
            into.insert(format!("{table}/{id}"), row);
        }
    }
    let mut all = std::collections::BTreeMap::new();
    let search = |put_away| store::PieceSearch {
        put_away,
        ..store::PieceSearch::default()
    };
    let mut pieces = store.pieces(&search(false)).unwrap();
    pieces.extend(store.pieces(&search(true)).unwrap());
    for piece in &pieces {
        of_piece(store, piece.id, &mut |table, row| {
            all.insert(table, row);
        });
    }
    put(&mut all, "player", store.players(true).unwrap());
    put(&mut all, "occasion", store.occasions(None).unwrap());
    put(&mut all, "call", store.calls().unwrap());
    for (name, value) in store.settings().unwrap() {
        all.insert(format!("setting/{name}"), value.into());
    }
    all
}

/// All rows of one piece.
pub fn of_piece(store: &Store, id: store::PieceId, put: &mut dyn FnMut(String, serde_json::Value)) {
    let mut one = |table: &str, id: String, row: serde_json::Value| put(format!("{table}/{id}"), row);
    let value = |row: &dyn erased::Row| row.value();
    let piece = store.piece(id).unwrap();
    one("piece", id.to_string(), value(&piece));
    for row in store.versions(id).unwrap() {
        one("version", format!("{id}.{}", row.version), value(&row));
    }
    for row in store.marks(id, None).unwrap() {
        one("mark", row.id.to_string(), value(&row));
    }
    for row in store.choices(id, None).unwrap() {
        one("choice", row.id.to_string(), value(&row));
    }
    for row in store.steps(id).unwrap() {
        one("step", row.id.to_string(), value(&row));
    }
    for row in store.visits(id, None).unwrap() {
        one("visit", row.id.to_string(), value(&row));
    }
    for row in store.takes(Some(id), None).unwrap() {
        one("take", row.id.to_string(), value(&row));
    }
    for row in store.assignments_of_piece(id).unwrap() {
        one("assignment", row.id.to_string(), value(&row));
    }
}

mod erased {
    /// A row as JSON.
    pub trait Row {
        fn value(&self) -> serde_json::Value;
    }
    impl<T: serde::Serialize> Row for T {
        fn value(&self) -> serde_json::Value {
            serde_json::to_value(self).unwrap()
        }
    }
}

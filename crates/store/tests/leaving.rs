//! Does everything come back from a backup, is a bad one refused whole, and does an export hold everything?

#![allow(clippy::unwrap_used, reason = "tests")]

mod common;

use common::{Folder, add, bars, hold, snapshot};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use store::{MANIFEST, NewMark, NewTake, NewVisit, Over, Store, StoreError, restore};

/// A studio with something of everything that matters here.
fn studio(home: &Path) -> Store {
    let store = Store::open(home).unwrap();
    let (piece, music) = (add(&store, "=Air, slow"), bars("C4/q D4/q E4/h | F4/w |"));
    store
        .add_mark(piece.id, &NewMark::at("circle", hold(&music, 0, 1, "D4")))
        .unwrap();
    let players = store.players(false).unwrap();
    store
        .log_visit(&NewVisit {
            piece: piece.id,
            player: Some(players[0].id),
            line: r#"{"date":"2026-11-20","piece":"Air","from_bar":"1","to_bar":"2"}"#.to_owned(),
        })
        .unwrap();
    store
        .add_take(&NewTake {
            piece: piece.id,
            player: None,
            file_name: "take.wav".to_owned(),
            bytes: (0..100_000_u32).flat_map(u32::to_le_bytes).collect(),
            seconds: Some(2.0),
        })
        .unwrap();
    store.check().unwrap();
    store
}

#[test]
fn a_backup_made_beside_the_open_app_brings_everything_back_elsewhere() {
    let (home, other, file) = (
        Folder::new("backup"),
        Folder::new("backup-to"),
        Folder::new("backup-file"),
    );
    let store = studio(home.path());
    let device = store.add_device("tablet", None).unwrap();
    store
        .begin_session(device.id, b"secret", "2099-01-01T00:00:00Z")
        .unwrap();
    std::fs::create_dir_all(file.path()).unwrap();
    let zip = file.path().join("studio.zip");
    let made = Store::open_to_read(home.path()).unwrap().backup(&zip).unwrap();
    assert_eq!(made.counts[0], ("pieces", 11));
    assert!(
        matches!(store.backup(&zip), Err(StoreError::Backup { .. })),
        "never over anything"
    );
    assert_eq!(
        std::fs::read_dir(file.path()).unwrap().count(),
        1,
        "nothing is left beside it"
    );
    let restored = restore(&zip, other.path(), Over::Nothing).unwrap();
    assert_eq!((restored.counts, restored.set_aside), (made.counts, None));
    let back = Store::open(other.path()).unwrap();
    back.check().unwrap();
    assert_eq!(snapshot(&back), snapshot(&store));
    assert_eq!(back.devices().unwrap().len(), 1);
    assert!(
        back.session(b"secret").unwrap().is_none(),
        "a backup lets nobody in"
    );
    assert!(store.session(b"secret").unwrap().is_some());
}

#[test]
fn a_backup_goes_over_nothing_unasked_and_what_was_there_can_come_back() {
    let (home, file) = (Folder::new("over"), Folder::new("over-file"));
    std::fs::create_dir_all(file.path()).unwrap();
    let zip = file.path().join("studio.zip");
    let store = studio(home.path());
    store.backup(&zip).unwrap();
    let early = snapshot(&store);
    let later = add(&store, "Later");
    let late = snapshot(&store);
    assert!(matches!(
        restore(&zip, home.path(), Over::SetAside),
        Err(StoreError::AlreadyOpen { .. })
    ));
    drop(store);
    assert!(matches!(
        restore(&zip, home.path(), Over::Nothing),
        Err(StoreError::Refused { .. })
    ));
    let restored = restore(&zip, home.path(), Over::SetAside).unwrap();
    let store = Store::open(home.path()).unwrap();
    assert_eq!(snapshot(&store), early);
    store.check().unwrap();
    assert!(
        store.file_path(&later.file).is_none(),
        "what only the later rows spoke of is in their own backup"
    );
    drop(store);
    restore(&restored.set_aside.unwrap(), home.path(), Over::SetAside).unwrap();
    let store = Store::open(home.path()).unwrap();
    assert_eq!(snapshot(&store), late);
    store.check().unwrap();
}

#[test]
fn a_damaged_home_is_put_beside_with_all_its_files() {
    let (home, file) = (Folder::new("damaged"), Folder::new("damaged-file"));
    std::fs::create_dir_all(file.path()).unwrap();
    let zip = file.path().join("studio.zip");
    let store = studio(home.path());
    store.backup(&zip).unwrap();
    let whole = snapshot(&store);
    let later = add(&store, "Later");
    drop(store);
    let database = home.path().join("foreread.sqlite3");
    std::fs::write(
        &database,
        "this was a database once, before the disk gave up; now it is only words",
    )
    .unwrap();
    assert!(matches!(
        Store::open(home.path()),
        Err(StoreError::Damaged { .. })
    ));
    let restored = restore(&zip, home.path(), Over::SetAside).unwrap();
    assert!(
        std::fs::read(restored.set_aside.unwrap())
            .unwrap()
            .starts_with(b"this was")
    );
    let store = Store::open(home.path()).unwrap();
    assert_eq!(snapshot(&store), whole);
    assert!(
        store.file_path(&later.file).is_some(),
        "nobody can say any more what is not needed"
    );
}

/// The backup's entries, changed by a function, as another file.
fn forged(zip: &Path, to: &Path, change: impl Fn(&str, Vec<u8>) -> Option<Vec<u8>>) -> PathBuf {
    let mut from = zip::ZipArchive::new(std::fs::File::open(zip).unwrap()).unwrap();
    let mut out = zip::ZipWriter::new(std::fs::File::create(to).unwrap());
    for index in 0..from.len() {
        let mut entry = from.by_index(index).unwrap();
        let (name, mut bytes) = (entry.name().unwrap().to_string(), Vec::new());
        entry.read_to_end(&mut bytes).unwrap();
        if let Some(bytes) = change(&name, bytes) {
            out.start_file(name, zip::write::SimpleFileOptions::default())
                .unwrap();
            out.write_all(&bytes).unwrap();
        }
    }
    out.finish().unwrap();
    to.to_path_buf()
}

#[test]
fn a_bad_backup_is_refused_and_changes_nothing() {
    let (home, other, file) = (
        Folder::new("bad"),
        Folder::new("bad-home"),
        Folder::new("bad-file"),
    );
    std::fs::create_dir_all(file.path()).unwrap();
    let zip = file.path().join("studio.zip");
    studio(home.path()).backup(&zip).unwrap();
    let before = snapshot(&studio(other.path()));
    let refused = |bad: &Path, why: &str| {
        let error = restore(bad, other.path(), Over::SetAside).unwrap_err();
        assert!(matches!(error, StoreError::Backup { .. }), "{why}: {error}");
        let store = Store::open(other.path()).unwrap();
        assert_eq!(snapshot(&store), before, "{why}");
        store.check().unwrap();
        let left: Vec<_> = std::fs::read_dir(other.path())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .filter(|name| name.starts_with("coming") || name.starts_with("before"))
            .collect();
        assert!(left.is_empty(), "{why}: {left:?}");
    };
    let bad = file.path().join("bad.zip");
    let bytes = std::fs::read(&zip).unwrap();
    std::fs::write(&bad, &bytes[..bytes.len() / 2]).unwrap();
    refused(&bad, "cut short");
    std::fs::write(&bad, b"PK and nothing else").unwrap();
    refused(&bad, "no archive");
    let manifest = |change: fn(String) -> String| {
        forged(&zip, &bad, move |name, bytes| {
            Some(if name == MANIFEST {
                change(String::from_utf8(bytes).unwrap()).into_bytes()
            } else {
                bytes
            })
        })
    };
    refused(
        &manifest(|text| text.replace("\"form\": 1", "\"form\": 99")),
        "of a newer form",
    );
    refused(
        &manifest(|text| text.replacen("files/", "files/../../", 1)),
        "leading out",
    );
    refused(&manifest(|_| "{".to_owned()), "no list");
    refused(
        &forged(&zip, &bad, |name, bytes| (name != MANIFEST).then_some(bytes)),
        "without a list",
    );
    refused(
        &forged(&zip, &bad, |name, bytes| {
            (!name.starts_with("files/")).then_some(bytes)
        }),
        "without its files",
    );
    refused(
        &forged(&zip, &bad, |name, mut bytes| {
            if name.starts_with("files/") {
                bytes[0] ^= 1;
            }
            Some(bytes)
        }),
        "with a changed file",
    );
    // A database with something that acts by itself, its hash in the list made right.
    let evil = file.path().join("evil.sqlite3");
    forged(&zip, &bad, |name, bytes| {
        if name == "foreread.sqlite3" {
            std::fs::write(&evil, &bytes).unwrap();
        }
        Some(bytes)
    });
    let connection = rusqlite::Connection::open(&evil).unwrap();
    connection
        .execute_batch("CREATE TRIGGER t AFTER INSERT ON piece BEGIN DELETE FROM mark; END;")
        .unwrap();
    drop(connection);
    let bytes = std::fs::read(&evil).unwrap();
    let sum = {
        use sha2::Digest;
        sha2::Sha256::digest(&bytes)
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect::<String>()
    };
    let trigger = forged(&zip, &bad, |name, own| {
        Some(match name {
            MANIFEST => {
                let mut list: serde_json::Value = serde_json::from_slice(&own).unwrap();
                list["files"][0]["sha256"] = sum.clone().into();
                list["files"][0]["bytes"] = bytes.len().into();
                serde_json::to_vec(&list).unwrap()
            }
            "foreread.sqlite3" => bytes.clone(),
            _ => own,
        })
    });
    refused(&trigger, "with a trigger");
}

#[test]
fn an_export_holds_everything_in_open_formats() {
    let (home, out) = (Folder::new("export"), Folder::new("export-to"));
    let store = studio(home.path());
    let exported = store.export(out.path()).unwrap();
    let read =
        |name: &str| std::fs::read_to_string(out.path().join(name)).unwrap_or_else(|_| panic!("no {name}"));
    assert!(read("README.txt").contains("folder.csv"));
    // The piece as it came, and as MusicXML.
    assert_eq!(
        read("pieces/011-air-slow/=Air, slow.abc"),
        "X:1\nT:=Air, slow\nK:C\nCDEF|\n"
    );
    let (music, _) = formats::read(read("pieces/011-air-slow/air-slow.musicxml").as_bytes(), "air").unwrap();
    assert_eq!(music.bars.len(), 1);
    assert!(read("pieces/005-the-causeway-at-dusk/causeway_at_dusk.musicxml").contains("score-partwise"));
    // A formula in a title stays a title.
    assert!(read("folder.csv").contains("\"'=Air, slow\""));
    assert!(read("folder.json").contains("\"=Air, slow\""));
    let marks: serde_json::Value = serde_json::from_str(&read("pieces/011-air-slow/marks.json")).unwrap();
    assert_eq!(marks[0]["from"]["pitch"], "D4");
    let player = &store.players(false).unwrap()[0];
    let log = std::fs::read_dir(out.path().join("pieces/011-air-slow"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .find(|name| name.ends_with(".practice.jsonl"))
        .unwrap();
    assert!(
        read(&format!("pieces/011-air-slow/{log}")).contains("2026-11-20"),
        "{}",
        player.name
    );
    let sound = std::fs::read(out.path().join("pieces/011-air-slow/takes/1-take.wav")).unwrap();
    assert_eq!(sound.len(), 400_000);
    assert_eq!(std::fs::read_dir(out.path().join("players")).unwrap().count(), 10);
    assert!(
        read("calls/001-harbour-youth-wind-orchestra-second-bassoon-and-first-flute.toml").contains("errata")
    );
    assert!(exported.files > 40 && exported.notes.is_empty(), "{exported:?}");
    // Never over anything.
    assert!(matches!(
        store.export(out.path()),
        Err(StoreError::Refused { .. })
    ));
}

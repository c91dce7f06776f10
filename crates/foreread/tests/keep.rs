//! What is kept leaves as one file and as many, comes back, and goes over nothing unasked.

#![allow(clippy::unwrap_used, reason = "tests")]

mod common;

use common::foreread;
use std::path::PathBuf;
use store::{PieceSearch, Store};

/// A folder of a test's own, gone when it ends.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("foreread-keep-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn at(&self, name: &str) -> String {
        self.0.join(name).to_str().unwrap().to_owned()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

#[test]
fn a_studio_leaves_and_comes_back() {
    let folder = Folder::new("round");
    let (home, other, zip) = (folder.at("home"), folder.at("other"), folder.at("studio.zip"));
    let (status, _, said) = foreread(&["backup", "--to", &zip, "--home", &home]);
    assert_eq!(status, Some(2), "{said}");
    assert!(said.contains("nothing kept"), "{said}");
    assert!(!PathBuf::from(&home).exists(), "asking makes nothing");
    drop(Store::open(home.as_ref()).unwrap());
    let (status, out, said) = foreread(&["backup", "--to", &zip, "--home", &home]);
    assert_eq!((status, out.as_str()), (Some(0), ""), "{said}");
    assert!(said.contains("10 pieces, 10 players kept in"), "{said}");
    let (status, _, said) = foreread(&["backup", "--to", &zip, "--home", &home]);
    assert_eq!(status, Some(3), "{said}");
    assert!(said.contains("choose another name"), "{said}");

    let (status, _, said) = foreread(&["restore", &zip, "--home", &other]);
    assert_eq!(status, Some(0), "{said}");
    let store = Store::open(other.as_ref()).unwrap();
    assert_eq!(store.pieces(&PieceSearch::default()).unwrap().len(), 10);
    // While the app is open a backup can be made, and none brought back.
    let (status, _, said) = foreread(&["backup", "--to", &folder.at("beside.zip"), "--home", &other]);
    assert_eq!(status, Some(0), "{said}");
    let (status, _, said) = foreread(&["restore", &zip, "--set-aside", "--home", &other]);
    assert_eq!(status, Some(4), "{said}");
    assert!(said.contains("close it first"), "{said}");
    drop(store);
    let (status, _, said) = foreread(&["restore", &zip, "--home", &other]);
    assert_eq!(status, Some(2), "{said}");
    assert!(said.contains("--set-aside"), "{said}");
    let (status, _, said) = foreread(&["restore", &zip, "--set-aside", "--home", &other]);
    assert_eq!(status, Some(0), "{said}");
    assert!(said.contains("what was there before is in"), "{said}");
    let (status, _, said) = foreread(&[
        "restore",
        &common::demo("studio.toml"),
        "--home",
        &folder.at("third"),
    ]);
    assert_eq!(status, Some(3), "{said}");
}

#[test]
fn an_export_is_read_by_the_other_commands() {
    let folder = Folder::new("export");
    let (home, to) = (folder.at("home"), folder.at("out"));
    drop(Store::open(home.as_ref()).unwrap());
    let (status, _, said) = foreread(&["export", "--to", &to, "--home", &home]);
    assert_eq!(status, Some(0), "{said}");
    assert!(said.contains("README.txt says what is where"), "{said}");
    // Every player's file is one that a survey reads, with the piece that player works on.
    let mut players: Vec<PathBuf> = std::fs::read_dir(folder.0.join("out/players"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    players.sort();
    assert_eq!(players.len(), 10);
    let piece = folder.at("out/pieces/001-minuet-on-the-town-hall-steps/town_hall_minuet.musicxml");
    for player in &players {
        let asked = [
            "ladder",
            &piece,
            "--part",
            "1",
            "--player",
            player.to_str().unwrap(),
        ];
        let (status, _, said) = foreread(&asked);
        assert_eq!(status, Some(0), "{}: {said}", player.display());
    }
    let (status, _, said) = foreread(&["export", "--to", &to, "--home", &home]);
    assert_eq!(status, Some(2), "{said}");
}

/// Source: freedesktop.org, XDG Base Directory Specification 0.8: `$XDG_DATA_HOME`, else `$HOME/.local/share`.
#[cfg(target_os = "linux")]
#[test]
fn the_home_is_where_the_platform_wants_it() {
    let folder = Folder::new("platform");
    let said = |variables: &[(&str, &str)]| {
        let output = std::process::Command::new(env!("CARGO_BIN_EXE_foreread"))
            .args(["backup", "--to", &folder.at("x.zip")])
            .env_remove("XDG_DATA_HOME")
            .envs(variables.iter().copied())
            .output()
            .unwrap();
        String::from_utf8(output.stderr).unwrap()
    };
    let data = folder.at("data");
    assert!(said(&[("XDG_DATA_HOME", &data)]).contains(&format!("{data}/foreread ")));
    let home = folder.at("");
    let home = home.trim_end_matches('/');
    assert!(said(&[("HOME", home)]).contains(&format!("{home}/.local/share/foreread ")));
}

//! Does the running program lose anything that it had confirmed when it is killed (SIGKILL) at any moment? Asked over HTTP as its pages ask.
//!
//! Six kills, without a press. A hundred, with the pencil and all the rest, is `reference/run killed`.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// The program over a home.
struct Running {
    child: Child,
    port: u16,
    secret: String,
}

impl Running {
    fn start(home: &Path) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_foreread"))
            .args(["--home", home.to_str().unwrap(), "--port", "0", "--no-open"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut said = String::new();
        BufReader::new(child.stdout.take().unwrap())
            .read_line(&mut said)
            .unwrap();
        let port = said.trim().trim_end_matches('/').rsplit(':').next().unwrap();
        let mut running = Self {
            port: port
                .parse()
                .unwrap_or_else(|_| panic!("it did not start again: {said:?}")),
            child,
            secret: String::new(),
        };
        let page = running.page("/");
        running.secret = between(&page, "name=\"foreread-secret\" content=\"", "\"").to_owned();
        running
    }

    /// The status and the body; nothing where it ended before it had answered.
    fn ask(&self, line: &str, body: &str) -> Option<(u16, String)> {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).ok()?;
        let request = format!(
            "{line} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nConnection: close\r\nContent-Type: application/json\r\nx-foreread-secret: {}\r\nContent-Length: {}\r\n\r\n{body}",
            self.port,
            self.secret,
            body.len()
        );
        stream.write_all(request.as_bytes()).ok()?;
        let mut bytes = Vec::new();
        stream.read_to_end(&mut bytes).ok()?;
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let (head, body) = text.split_once("\r\n\r\n")?;
        Some((head.split(' ').nth(1)?.parse().ok()?, body.to_owned()))
    }

    fn page(&self, path: &str) -> String {
        let (status, page) = self.ask(&format!("GET {path}"), "").unwrap();
        assert_eq!(status, 200, "{path}: {page}");
        page
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn between<'a>(text: &'a str, before: &str, after: &str) -> &'a str {
    let rest = text.split_once(before).unwrap_or_else(|| panic!("no {before}")).1;
    rest.split(after).next().unwrap()
}

/// Steady chance. Source: G. Marsaglia, "Xorshift RNGs", Journal of Statistical Software 8 (2003), the triple 13, 7, 17.
struct Chance(u64);

impl Chance {
    fn below(&mut self, most: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % most
    }
}

/// Words that were confirmed: on which page, and what about.
type Kept = BTreeMap<(&'static str, String), String>;

/// A change, and the word that stands on a page after it.
struct Deed {
    line: String,
    body: String,
    page: &'static str,
    about: String,
    word: String,
}

fn deed(chance: &mut Chance, number: u32) -> Deed {
    let word = format!("w{number:05}x");
    match chance.below(4) {
        0 | 1 => {
            let piece = 1 + chance.below(4);
            Deed {
                line: format!("POST /piece/{piece}/purpose"),
                body: format!("{{\"words\":\"{word}\"}}"),
                page: "/",
                about: format!("purpose {piece}"),
                word,
            }
        }
        2 => Deed {
            line: "POST /studio/players".to_owned(),
            body: format!("{{\"name\":\"{word}\",\"instrument\":\"Flute\"}}"),
            page: "/studio",
            about: format!("player {word}"),
            word,
        },
        _ => Deed {
            line: format!("POST /folder/files?name={word}.abc"),
            body: format!("X:1\nT:{word}\nM:4/4\nL:1/4\nK:G\nGABc|d4|]\n"),
            page: "/",
            about: format!("piece {word}"),
            word,
        },
    }
}

/// Works until it is killed; the change that was asked for last and not confirmed.
fn worked(app: &mut Running, chance: &mut Chance, number: &mut u32, kept: &mut Kept) -> Deed {
    let until = Instant::now() + Duration::from_millis(chance.below(500));
    let pid = app.child.id();
    let killer = std::thread::spawn(move || {
        std::thread::sleep(until.saturating_duration_since(Instant::now()));
        // The standard library kills only a child that it holds; it is being asked meanwhile.
        let _ = Command::new("kill").args(["-9", &pid.to_string()]).status();
    });
    let last = loop {
        *number += 1;
        let deed = deed(chance, *number);
        match app.ask(&deed.line, &deed.body) {
            Some((200, _)) => drop(kept.insert((deed.page, deed.about), deed.word)),
            Some((status, said)) => panic!("{}: {status} {said}", deed.line),
            None => break deed,
        }
    };
    killer.join().unwrap();
    last
}

#[test]
fn killed_while_it_works_it_loses_nothing_that_was_confirmed() {
    let home = std::env::temp_dir().join(format!("foreread-killed-{}", std::process::id()));
    let _ = std::fs::remove_dir_all(&home);
    let (mut chance, mut number, mut kept) = (Chance(0x5eed_1126), 0, Kept::new());
    for _ in 0..6 {
        let mut app = Running::start(&home);
        let last = worked(&mut app, &mut chance, &mut number, &mut kept);
        drop(app);
        let app = Running::start(&home);
        let pages: BTreeMap<&str, String> = ["/", "/studio"].map(|path| (path, app.page(path))).into();
        if pages[last.page].contains(&last.word) {
            kept.insert((last.page, last.about), last.word);
        }
        for ((page, about), word) in &kept {
            assert!(pages[page].contains(word), "{about}: {word} is not on {page}");
        }
    }
    assert!(kept.len() > 10, "something was confirmed: {}", kept.len());
    whole(&home);
    std::fs::remove_dir_all(home).unwrap();
}

/// What is kept can be opened without the app, and every file in it is as it was.
fn whole(home: &Path) {
    let zip = home.with_extension("zip");
    let _ = std::fs::remove_file(&zip);
    let line = [
        "backup",
        "--home",
        home.to_str().unwrap(),
        "--to",
        zip.to_str().unwrap(),
    ];
    let status = Command::new(env!("CARGO_BIN_EXE_foreread"))
        .args(line)
        .stderr(Stdio::null())
        .status()
        .unwrap();
    assert!(status.success());
    std::fs::remove_file(zip).unwrap();
}

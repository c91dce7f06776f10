//! Does a kill at any moment lose nothing that was confirmed? A second process writes and says each confirmed change; it is killed
//! (SIGKILL), the home is opened, and every row and file is held against what was said.

#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stderr, reason = "tests")]

mod common;

use common::{Folder, bars, of_piece, snapshot};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;
use store::{Bars, NewChoice, NewFile, NewMark, NewPiece, NewTake, NewVisit, Over, PieceId, Store};

const HOME: &str = "FOREREAD_TEST_HOME";
const SEED: &str = "FOREREAD_TEST_SEED";
/// The backup that the killed process brings back, instead of writing.
const BACKUP: &str = "FOREREAD_TEST_BACKUP";

type Rows = BTreeMap<String, Value>;

/// Steady chance: the same seed, the same course.
struct Chance(u64);

impl Chance {
    fn next(&mut self, below: u64) -> u64 {
        // Source: G. Marsaglia, "Xorshift RNGs", Journal of Statistical Software 8 (2003), the triple 13, 7, 17.
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % below
    }
}

const PAGES: [&str; 3] = [
    "C4/q D4/q E4/q F4/q | G4/h A4/h | B4/w |",
    "r/w | C4/q D4/q E4/q F4/q | G4/h A4/h | B4/w |",
    "C4/q D4/q E4/q F4/q | B4/w |",
];

/// Not a test by itself: what the killed process does. It runs only with its home in the environment.
#[test]
#[ignore = "the writer that the tests here start and kill; alone it shows nothing"]
fn writes_until_killed() {
    let (Ok(home), Ok(seed)) = (std::env::var(HOME), std::env::var(SEED)) else {
        return;
    };
    if let Ok(backup) = std::env::var(BACKUP) {
        store::restore(Path::new(&backup), Path::new(&home), Over::SetAside).unwrap();
        return;
    }
    let mut chance = Chance(seed.parse::<u64>().unwrap() | 1);
    let mut out = std::io::stdout().lock();
    let mut say = |line: Value| {
        writeln!(out, "\n@@{line}").unwrap();
        out.flush().unwrap();
    };
    say(json!({"try": "open"}));
    let store = Store::open(Path::new(&home)).unwrap();
    say(json!({"kept": "open", "put": snapshot(&store), "gone": []}));
    say(json!({"try": "add_piece"}));
    let bytes: Vec<u8> = (0..2000 + chance.next(60_000))
        .map(|_| u8::try_from(chance.next(256)).unwrap())
        .collect();
    let piece = store
        .add_piece(&NewPiece {
            title: format!("Piece {seed}"),
            file_name: "piece.abc".to_owned(),
            bytes,
            ..NewPiece::default()
        })
        .unwrap();
    let mut known = Rows::new();
    let mut page = 0;
    let mut confirm = |what: &str, say: &mut dyn FnMut(Value)| {
        let mut now = Rows::new();
        of_piece(&store, piece.id, &mut |name, row| drop(now.insert(name, row)));
        let put: Rows = now
            .iter()
            .filter(|(name, row)| known.get(*name) != Some(row))
            .map(owned)
            .collect();
        let gone: Vec<&String> = known.keys().filter(|name| !now.contains_key(*name)).collect();
        say(json!({"kept": what, "put": put, "gone": gone}));
        known = now;
    };
    confirm("add_piece", &mut say);
    // Killed long before; the end is for a parent that died.
    for _ in 0..2000 {
        let what = [
            "add_mark",
            "add_mark",
            "change_mark",
            "erase_mark",
            "undo",
            "redo",
            "choose",
            "visit",
            "visit",
            "add_take",
            "remove_take",
            "purpose",
            "replace",
            "mend",
            "mend",
            "mend",
        ][usize::try_from(chance.next(16)).unwrap()];
        say(json!({"try": what}));
        act(&store, piece.id, what, &mut chance, &mut page);
        confirm(what, &mut say);
    }
}

fn owned((name, row): (&String, &Value)) -> (String, Value) {
    (name.clone(), row.clone())
}

/// One change.
fn act(store: &Store, piece: PieceId, what: &str, chance: &mut Chance, page: &mut usize) {
    let marks = store.marks(piece, None).unwrap();
    let takes = store.takes(Some(piece), None).unwrap();
    let music = bars(PAGES[*page]);
    let c4 = (0..2)
        .find_map(|bar| music.hold(bar, notation::Quarters::ZERO, notation::Pitch::parse("C4")))
        .unwrap();
    let number = chance.next(1_000_000);
    match what {
        "add_mark" => {
            let mark = NewMark {
                text: number.to_string(),
                ..NewMark::at("words", c4)
            };
            store.add_mark(piece, &mark).map(drop).unwrap();
        }
        "change_mark" => {
            if let Some(mark) = marks.last() {
                let mut mark = mark.clone();
                mark.note = number.to_string();
                store.change_mark(&mark).map(drop).unwrap();
            }
        }
        "erase_mark" => {
            if let Some(mark) = marks.first() {
                store.erase_mark(mark.id).unwrap();
            }
        }
        "undo" => drop(store.undo(piece).unwrap()),
        "redo" => drop(store.redo(piece).unwrap()),
        "choose" => {
            let choice = NewChoice {
                player: None,
                about: format!("about {}", number % 3),
                from: c4,
                to: None,
                value: number.to_string(),
            };
            store.choose(piece, &choice).map(drop).unwrap();
        }
        "visit" => {
            let visit = NewVisit {
                piece,
                player: None,
                line: json!({"date": "2026-11-20", "piece": "p", "from_bar": "1", "to_bar": "2", "tempo": number})
                    .to_string(),
            };
            store.log_visit(&visit).map(drop).unwrap();
        }
        "add_take" => {
            let take = NewTake {
                piece,
                player: None,
                file_name: "take.wav".to_owned(),
                bytes: (0..chance.next(200_000))
                    .map(|nth| u8::try_from((nth * number) % 251).unwrap())
                    .collect(),
                seconds: None,
            };
            store.add_take(&take).map(drop).unwrap();
        }
        "remove_take" => {
            if let Some(take) = takes.first() {
                store.remove_take(take.id).unwrap();
            }
        }
        "purpose" => drop(store.set_purpose(piece, &number.to_string()).unwrap()),
        "replace" => {
            let to = usize::try_from(number).unwrap() % PAGES.len();
            let file = NewFile {
                file_name: format!("page-{to}.abc"),
                bytes: number.to_le_bytes().to_vec(),
            };
            let new: Bars = bars(PAGES[to]);
            store.replace_file(piece, &file, &music, &new).map(drop).unwrap();
            *page = to;
        }
        "mend" => {
            let to = usize::try_from(number).unwrap() % PAGES.len();
            let file = NewFile {
                file_name: "read.abc".to_owned(),
                bytes: number.to_le_bytes().to_vec(),
            };
            let new: Bars = bars(PAGES[to]);
            store.mend_file(piece, &file, &music, &new).map(drop).unwrap();
            *page = to;
        }
        other => panic!("nobody knows {other}"),
    }
}

/// Which tables a change may touch, if it was tried and not confirmed. Steps and their rows come together or not at all.
fn touches(what: &str, table: &str) -> bool {
    match what {
        "add_piece" => matches!(table, "piece" | "version"),
        "add_mark" | "change_mark" | "erase_mark" => matches!(table, "mark" | "step"),
        "choose" => matches!(table, "choice" | "step"),
        "purpose" => matches!(table, "piece" | "step"),
        "undo" | "redo" | "replace" | "mend" => {
            matches!(table, "mark" | "choice" | "piece" | "step" | "visit" | "version")
        }
        "visit" => table == "visit",
        "add_take" | "remove_take" => table == "take",
        _ => false,
    }
}

fn child(home: &Path, seed: u64) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args([
            "--ignored",
            "--exact",
            "writes_until_killed",
            "--nocapture",
            "--test-threads=1",
        ])
        .env(HOME, home)
        .env(SEED, seed.to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// When it is killed.
#[derive(Clone, Copy, PartialEq, Eq)]
enum When {
    /// So long after it was started.
    Starting,
    /// So long after it began to write.
    Writing,
}

/// What was going on.
#[derive(Default)]
struct Killed {
    /// Changes that were confirmed.
    confirmed: usize,
    /// Killed in the middle of a change …
    tried: usize,
    /// … that had happened, and was not confirmed yet.
    happened: usize,
}

/// Lets a process write for a while, kills it, and holds the home against what was confirmed. Says what was going on.
fn kill_once(home: &Path, confirmed: &mut Rows, seed: u64, when: When, wait: Duration) -> Killed {
    let mut writer = child(home, seed);
    let out = writer.stdout.take().unwrap();
    let (opened, is_open) = std::sync::mpsc::channel();
    let reader = std::thread::spawn(move || {
        BufReader::new(out)
            .lines()
            .map_while(Result::ok)
            .filter_map(|line| line.strip_prefix("@@").map(str::to_owned))
            .inspect(|line| {
                if line.contains("\"kept\":\"open\"") {
                    let _ = opened.send(());
                }
            })
            .collect::<Vec<String>>()
    });
    if when == When::Writing {
        // However slow the machine is just now; if it never opens, nothing is confirmed and the count below says so.
        let _ = is_open.recv_timeout(Duration::from_secs(60));
    }
    std::thread::sleep(wait);
    writer.kill().unwrap();
    writer.wait().unwrap();
    // A line cut off by the kill confirms nothing.
    let lines: Vec<Value> = reader
        .join()
        .unwrap()
        .iter()
        .filter_map(|line| serde_json::from_str(line).ok())
        .collect();
    // Opening is the first thing tried, whether or not it could be said; only the first start may change anything.
    let first = confirmed.is_empty();
    let mut tried = Some("open".to_owned());
    let mut count = 0;
    for line in lines {
        if let Some(what) = line["try"].as_str() {
            tried = Some(what.to_owned());
            continue;
        }
        count += 1;
        tried = None;
        for (name, row) in line["put"].as_object().unwrap() {
            confirmed.insert(name.clone(), row.clone());
        }
        for name in line["gone"].as_array().unwrap() {
            confirmed.remove(name.as_str().unwrap());
        }
    }
    let store = Store::open(home).unwrap();
    store.check().unwrap();
    let now = snapshot(&store);
    let changed: Vec<&String> = now
        .keys()
        .chain(confirmed.keys())
        .filter(|name| now.get(*name) != confirmed.get(*name))
        .collect();
    for name in &changed {
        let table = name.split('/').next().unwrap();
        let may = tried.as_deref().is_some_and(|what| {
            if what == "open" {
                first
            } else {
                touches(what, table)
            }
        });
        assert!(
            may,
            "{name} is not as confirmed (tried: {tried:?}, seed {seed}): {:?} instead of {:?}",
            now.get(*name),
            confirmed.get(*name)
        );
    }
    let steps = changed.iter().filter(|name| name.starts_with("step/")).count();
    let with_step = tried
        .as_deref()
        .is_some_and(|what| touches(what, "step") && what != "open");
    assert!(
        !with_step || changed.is_empty() || steps > 0,
        "half of {tried:?}: {changed:?}"
    );
    if tried.as_deref() == Some("open") && !changed.is_empty() {
        let pieces = now.keys().filter(|name| name.starts_with("piece/")).count();
        assert!(pieces >= 10, "half a studio: {pieces} pieces");
    }
    no_stray_files(home, &now);
    let killed = Killed {
        confirmed: count,
        tried: usize::from(tried.is_some()),
        happened: usize::from(tried.is_some() && !changed.is_empty()),
    };
    *confirmed = now;
    killed
}

/// Every file belongs to a row, and nothing is left half.
fn no_stray_files(home: &Path, now: &Rows) {
    let names = |folder: &str| -> Vec<String> {
        std::fs::read_dir(home.join(folder))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect()
    };
    assert_eq!(names("arriving"), [""; 0]);
    let spoken: std::collections::BTreeSet<&str> = now
        .values()
        .filter_map(|row| row.get("file")?.as_str())
        .filter(|file| file.len() == 64)
        .collect();
    for file in names("files") {
        assert!(spoken.contains(file.as_str()), "{file} belongs to nothing");
    }
}

fn kills(name: &str, times: u64) {
    let home = Folder::new(name);
    let mut confirmed = Rows::new();
    let mut chance = Chance(0x5eed_0000_0000_0001 ^ times);
    let mut all = Killed::default();
    for seed in 1..=times {
        // Now and then while it starts, mostly while it writes.
        let (when, wait) = if seed % 5 == 1 {
            (When::Starting, chance.next(150))
        } else {
            (When::Writing, chance.next(500))
        };
        let one = kill_once(
            home.path(),
            &mut confirmed,
            seed,
            when,
            Duration::from_millis(wait),
        );
        all.confirmed += one.confirmed;
        all.tried += one.tried;
        all.happened += one.happened;
    }
    eprintln!(
        "{times} kills, {} in the middle of a change ({} of them had happened), {} confirmed changes, {} rows: nothing lost",
        all.tried,
        all.happened,
        all.confirmed,
        confirmed.len()
    );
    assert!(
        all.confirmed > usize::try_from(times).unwrap() * 2,
        "killed before anything was written"
    );
    assert!(
        all.tried > usize::try_from(times).unwrap() / 4,
        "hardly ever killed in the middle of anything"
    );
}

#[test]
fn ten_kills_lose_nothing() {
    kills("killed", 10);
}

#[test]
#[ignore = "takes a minute and a half: every full check runs it as `reference/run kept`, and ten kills run here each time"]
fn a_hundred_kills_lose_nothing() {
    kills("killed-long", 100);
}

#[test]
fn a_first_start_killed_leaves_no_half_studio() {
    let mut chance = Chance(77);
    for seed in 0..8 {
        let home = Folder::new(&format!("first-{seed}"));
        let mut confirmed = Rows::new();
        let wait = Duration::from_millis(chance.next(300));
        kill_once(home.path(), &mut confirmed, seed + 1000, When::Starting, wait);
        let pieces = Store::open(home.path())
            .unwrap()
            .pieces(&store::PieceSearch::default())
            .unwrap();
        assert!((10..=11).contains(&pieces.len()));
    }
}

#[test]
fn bringing_a_backup_back_happens_whole_or_not_at_all_when_killed() {
    let (home, to) = (Folder::new("killed-restore"), Folder::new("killed-backup"));
    std::fs::create_dir_all(to.path()).unwrap();
    let backup = to.path().join("studio.zip");
    let store = Store::open_empty(home.path()).unwrap();
    let piece = common::add(&store, "Air").id;
    let take = |bytes: Vec<u8>| NewTake {
        piece,
        player: None,
        file_name: "take.wav".to_owned(),
        bytes,
        seconds: None,
    };
    store.add_take(&take(vec![1; 200_000])).unwrap();
    store.backup(&backup).unwrap();
    let early = snapshot(&store);
    store.remove_take(store.takes(None, None).unwrap()[0].id).unwrap();
    store.add_take(&take(vec![2; 200_000])).unwrap();
    let late = snapshot(&store);
    drop(store);
    let restoring = || {
        Command::new(std::env::current_exe().unwrap())
            .args(["--ignored", "--exact", "writes_until_killed", "--test-threads=1"])
            .envs([
                (HOME, home.path().as_os_str()),
                (BACKUP, backup.as_os_str()),
                (SEED, "1".as_ref()),
            ])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap()
    };
    let mut chance = Chance(4711);
    let mut after = [0, 0];
    let mut usual = 0;
    for kill in 0..16 {
        let (mut writer, started) = (restoring(), std::time::Instant::now());
        if kill == 0 {
            // How long it takes undisturbed, on this machine just now.
            assert!(writer.wait().unwrap().success());
            usual = u64::try_from(started.elapsed().as_millis()).unwrap();
        } else {
            std::thread::sleep(Duration::from_millis(chance.next(usual * 5 / 4)));
            writer.kill().unwrap();
            writer.wait().unwrap();
        }
        let store = Store::open(home.path()).unwrap();
        store.check().unwrap();
        let now = snapshot(&store);
        no_stray_files(home.path(), &now);
        for entry in std::fs::read_dir(home.path()).unwrap() {
            let name = entry.unwrap().file_name().into_string().unwrap();
            assert!(
                !name.ends_with("part") && !name.starts_with("coming"),
                "{name} is left"
            );
        }
        if now == late {
            after[0] += 1;
            continue;
        }
        assert_eq!(now, early, "neither what was there nor what was brought back");
        after[1] += 1;
        // Back to the later studio for the next kill, by the backup that was made on the way.
        drop(store);
        let aside = std::fs::read_dir(home.path())
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .filter(|path| path.extension().is_some_and(|ending| ending == "zip"))
            .max()
            .unwrap();
        store::restore(&aside, home.path(), Over::SetAside).unwrap();
        assert_eq!(snapshot(&Store::open(home.path()).unwrap()), late);
    }
    eprintln!(
        "killed while bringing back: {} as before, {} brought back",
        after[0], after[1]
    );
    assert!(after[0] > 0 && after[1] > 0, "{after:?}");
}

//! What was engraved before this program was started? Answers on disk, by what was asked, of which press; the oldest give way.

use job::{Answer, Letter, Request};
use sha2::{Digest, Sha256};
use std::fs;
use std::io::{BufReader, BufWriter};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// A folder of engravings. Nothing in it is missed if it is deleted: it is engraved again.
pub(crate) struct Kept {
    folder: PathBuf,
    /// Bytes at most.
    most: u64,
    /// Which press engraved: another one, or a new one in its place, may engrave otherwise.
    press: String,
}

impl Kept {
    /// In this folder, which need not be there yet; engraved by the press at this path.
    pub(crate) fn new(folder: PathBuf, most: u64, press: &Path) -> Self {
        Self {
            folder,
            most,
            press: identity(press),
        }
    }

    /// The answer to a request, if it was given before. A file that can't be read is none.
    pub(crate) fn get(&self, asked: &Letter<Request>) -> Option<Letter<Answer>> {
        let path = self.path(asked)?;
        let file = fs::File::open(&path).ok()?;
        let answer = Letter::read(&mut BufReader::new(&file));
        if answer.is_err() {
            let _ = fs::remove_file(&path);
        }
        // What was looked at last goes last; where the folder may not be written, it only goes sooner.
        let _ = fs::File::options()
            .append(true)
            .open(&path)
            .and_then(|file| file.set_modified(SystemTime::now()));
        answer.ok()
    }

    /// Keeps an answer, if there is room on the disk: whole or not at all.
    pub(crate) fn put(&self, asked: &Letter<Request>, answer: &Letter<Answer>) {
        let Some(path) = self.path(asked) else {
            return;
        };
        let coming = path.with_extension(format!("coming-{}", std::process::id()));
        let written = fs::create_dir_all(&self.folder)
            .and_then(|()| fs::File::create(&coming))
            .is_ok_and(|file| answer.write(&mut BufWriter::new(file)).is_ok());
        if !written || fs::rename(&coming, &path).is_err() {
            let _ = fs::remove_file(&coming);
            return;
        }
        self.make_room();
    }

    /// The oldest go until the folder is small enough again.
    fn make_room(&self) {
        let Ok(entries) = fs::read_dir(&self.folder) else {
            return;
        };
        let mut files: Vec<(SystemTime, PathBuf, u64)> = entries
            .flatten()
            .filter_map(|entry| {
                let about = entry.metadata().ok()?;
                Some((about.modified().ok()?, entry.path(), about.len()))
            })
            .collect();
        files.sort();
        let mut all: u64 = files.iter().map(|(_, _, bytes)| bytes).sum();
        for (_, path, bytes) in files {
            if all <= self.most {
                return;
            }
            if fs::remove_file(&path).is_ok() {
                all = all.saturating_sub(bytes);
            }
        }
    }

    fn path(&self, asked: &Letter<Request>) -> Option<PathBuf> {
        let mut bytes = Vec::new();
        asked.write(&mut bytes).ok()?;
        let hash = Sha256::new()
            .chain_update(&self.press)
            .chain_update(&bytes)
            .finalize();
        let name: String = hash.iter().map(|byte| format!("{byte:02x}")).collect();
        Some(self.folder.join(format!("{name}.letter")))
    }
}

/// Which press it is: the language it speaks, how large its program is and when that was written.
fn identity(press: &Path) -> String {
    let about = fs::metadata(press).ok();
    let written = about
        .as_ref()
        .and_then(|about| about.modified().ok())
        .and_then(|when| when.duration_since(SystemTime::UNIX_EPOCH).ok())
        .map_or(0, |since| since.as_nanos());
    let bytes = about.map_or(0, |about| about.len());
    format!("{} {bytes} {written}\n", job::VERSION)
}

#[cfg(test)]
mod tests {
    use super::Kept;
    use job::{Answer, AskEngrave, Breaks, Engraved, Letter, Request, Weights};
    use std::path::{Path, PathBuf};
    use std::time::Duration;

    fn asked(mei: &str) -> Letter<Request> {
        Letter {
            head: Request::Engrave(AskEngrave {
                width: 100.0,
                breaks: Breaks::Flow,
                spacing: 1.0,
                weights: Weights::default(),
                ink: true,
            }),
            blobs: vec![mei.as_bytes().to_vec()],
        }
    }

    fn answer(svg: &str) -> Letter<Answer> {
        Letter {
            head: Answer::Engraved(Engraved {
                systems: Vec::new(),
                complaints: Vec::new(),
            }),
            blobs: vec![svg.as_bytes().to_vec()],
        }
    }

    fn folder(name: &str) -> PathBuf {
        let folder = std::env::temp_dir().join(format!("foreread-kept-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&folder);
        folder
    }

    fn svg(found: Option<Letter<Answer>>) -> Option<String> {
        found.map(|letter| String::from_utf8(letter.blobs.concat()).unwrap())
    }

    #[test]
    fn what_was_engraved_once_is_there_after_a_new_start_and_for_the_same_press_alone() {
        let folder = folder("again");
        let press = folder.with_extension("press");
        std::fs::write(&press, "a press").unwrap();
        let kept = Kept::new(folder.clone(), 10_000, &press);
        assert_eq!(svg(kept.get(&asked("a"))), None);
        kept.put(&asked("a"), &answer("drawn"));
        let started_again = Kept::new(folder.clone(), 10_000, &press);
        assert_eq!(svg(started_again.get(&asked("a"))).as_deref(), Some("drawn"));
        assert_eq!(svg(started_again.get(&asked("b"))), None);
        std::fs::write(&press, "another press").unwrap();
        assert_eq!(
            svg(Kept::new(folder.clone(), 10_000, &press).get(&asked("a"))),
            None
        );
        std::fs::remove_dir_all(&folder).unwrap();
        std::fs::remove_file(&press).unwrap();
    }

    #[test]
    fn the_oldest_give_way_and_what_is_broken_is_engraved_again() {
        let folder = folder("room");
        let kept = Kept::new(folder.clone(), 700, Path::new("no such press"));
        let long = "x".repeat(200);
        for name in ["a", "b", "c"] {
            kept.put(&asked(name), &answer(&long));
            std::thread::sleep(Duration::from_millis(15));
            assert!(
                kept.get(&asked("a")).is_some(),
                "looked at again and again, the first stays"
            );
            std::thread::sleep(Duration::from_millis(15));
        }
        assert_eq!(svg(kept.get(&asked("b"))), None, "the one not looked at has gone");
        assert!(svg(kept.get(&asked("c"))).is_some());
        for file in std::fs::read_dir(&folder).unwrap() {
            std::fs::write(file.unwrap().path(), "{").unwrap();
        }
        assert_eq!(svg(kept.get(&asked("c"))), None);
        kept.put(&asked("c"), &answer("new"));
        assert_eq!(svg(kept.get(&asked("c"))).as_deref(), Some("new"));
        std::fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn where_nothing_can_be_written_nothing_is_kept_and_nothing_goes_wrong() {
        let file = folder("file");
        std::fs::write(&file, "no folder").unwrap();
        let kept = Kept::new(file.clone(), 700, Path::new("no such press"));
        kept.put(&asked("a"), &answer("drawn"));
        assert_eq!(svg(kept.get(&asked("a"))), None);
        std::fs::remove_file(&file).unwrap();
    }
}

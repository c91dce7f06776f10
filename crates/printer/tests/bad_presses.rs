//! What if the press dies, hangs, talks nonsense or isn't there? Each bad press is a few lines of shell; the caller always
//! lives, gets an error in time, and finds nothing left behind.
#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]

use job::{Answer, AskEngrave, AskPdf, Breaks, Letter, Refusal, RefusalKind, Weights};
use printer::{PrintError, Printer};
use std::fs;
use std::io::Write;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// The length of the letter that says hello, in bytes: its head is `"Hello"`.
const HELLO_BYTES: usize = 12 + 7;
const LIMIT: Duration = Duration::from_secs(5);
/// What the machine may add to a time limit when it is busy.
const SLACK: Duration = Duration::from_secs(20);

/// A folder for one test with its bad press in it.
struct Fake {
    folder: PathBuf,
}

impl Fake {
    /// A press that answers hello and then goes on with these lines of shell, in whose folder lie the letters `hello` and
    /// `answer`.
    fn polite(name: &str, answer: Answer, then: &str) -> Fake {
        let fake = Fake::rude(
            name,
            &format!("dd bs=1 count={HELLO_BYTES} of=/dev/null 2>/dev/null\ncat hello\n{then}"),
        );
        let hello = Answer::Hello {
            version: job::VERSION,
            about: "a fake".to_owned(),
        };
        fake.letter("hello", hello, Vec::new());
        fake.letter("answer", answer, vec![b"%PDF".to_vec()]);
        fake
    }

    fn rude(name: &str, script: &str) -> Fake {
        let folder = std::env::temp_dir().join(format!("fake-press-{}-{name}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let fake = Fake { folder };
        let script = format!(
            "#!/bin/sh\ncd '{}'\necho \"$TMPDIR\" >> started\n{script}\n",
            fake.folder.display()
        );
        write_program(&fake.path(), &script);
        fake
    }

    fn letter(&self, name: &str, head: Answer, blobs: Vec<Vec<u8>>) {
        let mut bytes = Vec::new();
        Letter { head, blobs }.write(&mut bytes).unwrap();
        fs::write(self.folder.join(name), bytes).unwrap();
    }

    fn path(&self) -> PathBuf {
        self.folder.join("press")
    }

    fn printer(&self) -> Printer {
        Printer::at(self.path()).with_limit(LIMIT)
    }

    /// The temporary folders that presses were given, in order.
    fn started(&self) -> Vec<String> {
        let text = fs::read_to_string(self.folder.join("started")).unwrap_or_default();
        text.lines().map(str::to_owned).collect()
    }

    /// Asks for a PDF and holds the time.
    fn ask(&self, printer: &mut Printer) -> Result<Vec<u8>, PrintError> {
        let start = Instant::now();
        let answer = printer.pdf(&["<svg/>".to_owned()], pdf());
        assert!(start.elapsed() < LIMIT + SLACK, "took {:?}", start.elapsed());
        answer
    }

    /// The error, from presses of which so many were started, and whose folders are gone.
    fn fails(&self, presses: usize) -> PrintError {
        let mut printer = self.printer();
        let error = self.ask(&mut printer).unwrap_err();
        drop(printer);
        assert_eq!(self.started().len(), presses, "{error}");
        self.nothing_left();
        error
    }

    fn nothing_left(&self) {
        for folder in self.started() {
            assert!(!Path::new(&folder).exists(), "{folder} is left behind");
        }
    }
}

impl Drop for Fake {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.folder);
    }
}

/// Another process writes the program: while this one holds it open for writing, a test beside that starts its own press
/// would pass the open file on to it, and the system refuses to run a file that is being written.
fn write_program(path: &Path, script: &str) {
    let mut child = Command::new("sh")
        .args(["-c", "cat > \"$0\" && chmod 755 \"$0\""])
        .arg(path)
        .stdin(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(script.as_bytes()).unwrap();
    assert!(child.wait().unwrap().success());
}

fn pdf() -> AskPdf {
    AskPdf {
        sizes_mm: vec![(210.0, 297.0)],
        title: String::new(),
        author: String::new(),
        language: "en".to_owned(),
    }
}

fn answer() -> Answer {
    Answer::Pdf { pages: 1 }
}

#[test]
fn a_good_press_is_started_once_and_stays_warm() {
    let fake = Fake::polite("good", answer(), "cat answer\ncat answer\ncat >/dev/null");
    let mut printer = fake.printer();
    assert_eq!(fake.ask(&mut printer).unwrap(), b"%PDF");
    assert_eq!(fake.ask(&mut printer).unwrap(), b"%PDF");
    assert_eq!(fake.started().len(), 1);
    drop(printer);
    fake.nothing_left();
}

#[test]
fn a_press_that_dies_at_once_is_tried_twice() {
    let fake = Fake::rude("stillborn", "echo 'no library' >&2; exit 7");
    let error = fake.fails(2);
    assert!(
        matches!(&error, PrintError::Died(how) if how == "ended with status 7, its last words were: no library"),
        "{error}"
    );
}

#[test]
fn a_press_that_dies_over_the_request_is_tried_twice_and_its_last_words_are_told() {
    let fake = Fake::polite(
        "dies",
        answer(),
        "dd bs=1 count=1 of=/dev/null 2>/dev/null\ntouch \"$TMPDIR/litter\"\necho oh >&2\nkill -ABRT $$",
    );
    let error = fake.fails(2);
    assert!(
        matches!(&error, PrintError::Died(how) if how == "stopped by signal 6, its last words were: oh"),
        "{error}"
    );
}

#[test]
fn a_press_that_dies_once_costs_only_a_start() {
    let fake = Fake::polite(
        "dies-once",
        answer(),
        "[ $(wc -l < started) = 1 ] && kill -KILL $$\ncat answer\ncat >/dev/null",
    );
    let mut printer = fake.printer();
    assert_eq!(fake.ask(&mut printer).unwrap(), b"%PDF");
    assert_eq!(fake.started().len(), 2);
}

#[test]
fn a_press_that_hangs_is_stopped_in_time_and_not_tried_again() {
    let fake = Fake::polite("hangs", answer(), "touch \"$TMPDIR/litter\"\nexec sleep 100");
    let error = fake.fails(1);
    assert!(matches!(error, PrintError::TookTooLong(LIMIT)), "{error}");
}

#[test]
fn after_one_that_hung_the_next_request_gets_a_fresh_press() {
    let fake = Fake::polite(
        "hangs-once",
        answer(),
        "[ $(wc -l < started) = 1 ] && exec sleep 100\ncat answer\ncat >/dev/null",
    );
    let mut printer = fake.printer();
    assert!(matches!(fake.ask(&mut printer), Err(PrintError::TookTooLong(_))));
    assert_eq!(fake.ask(&mut printer).unwrap(), b"%PDF");
}

#[test]
fn a_press_that_reads_nothing_of_a_long_request_holds_nobody() {
    let fake = Fake::polite("deaf", answer(), "exec sleep 100");
    let mut printer = fake.printer();
    let start = Instant::now();
    let page = " ".repeat(4 << 20);
    assert!(matches!(
        printer.pdf(&[page], pdf()),
        Err(PrintError::TookTooLong(_))
    ));
    assert!(start.elapsed() < LIMIT + SLACK);
}

#[test]
fn a_press_that_talks_nonsense_is_an_error() {
    let fake = Fake::polite(
        "nonsense",
        answer(),
        "echo 'Here is your PDF, sort of.'\ncat >/dev/null",
    );
    assert!(matches!(fake.fails(2), PrintError::Died(_)));
    let fake = Fake::rude("rude", "yes");
    assert!(matches!(fake.fails(2), PrintError::Died(_)));
}

#[test]
fn a_press_that_stops_in_the_middle_of_an_answer_is_an_error() {
    let fake = Fake::polite("cut", answer(), "head -c 30 answer\nexit 0");
    assert!(matches!(fake.fails(2), PrintError::Died(_)));
    let fake = Fake::polite("stuck", answer(), "head -c 30 answer\nexec sleep 100");
    assert!(matches!(fake.fails(1), PrintError::TookTooLong(_)));
}

#[test]
fn a_press_that_closes_its_pipe_and_lives_on_is_stopped() {
    let fake = Fake::polite("closes", answer(), "exec 1>&-\nexec sleep 100");
    assert!(matches!(fake.fails(2), PrintError::Died(_)));
}

#[test]
fn a_press_of_another_version_is_not_asked() {
    let fake = Fake::polite("version", answer(), "cat >/dev/null");
    let hello = Answer::Hello {
        version: job::VERSION + 1,
        about: String::new(),
    };
    fake.letter("hello", hello, Vec::new());
    assert!(matches!(fake.fails(1), PrintError::OtherVersion { theirs } if theirs == job::VERSION + 1));
}

#[test]
fn a_refusal_is_told_and_the_press_stays() {
    let refusal = Refusal {
        kind: RefusalKind::Music,
        what: "no bars".to_owned(),
    };
    let fake = Fake::polite(
        "refuses",
        Answer::Refused(refusal),
        "cat answer\ncat answer\ncat >/dev/null",
    );
    let mut printer = fake.printer();
    for _ in 0..2 {
        let error = fake.ask(&mut printer).unwrap_err();
        assert!(
            error
                .to_string()
                .starts_with("The music could not be engraved: no bars."),
            "{error}"
        );
    }
    assert_eq!(fake.started().len(), 1);
}

#[test]
fn an_answer_to_another_question_is_an_error() {
    let fake = Fake::polite("mixed-up", answer(), "cat answer\ncat >/dev/null");
    let ask = AskEngrave {
        width: 18_000.0,
        breaks: Breaks::Flow,
        spacing: 1.0,
        weights: Weights::default(),
        ink: false,
    };
    let error = fake.printer().engrave("<mei/>", ask).unwrap_err();
    assert!(matches!(error, PrintError::Unexpected(_)), "{error}");
}

#[test]
fn what_is_no_program_is_said() {
    let error = Printer::at("/no/such/press").about().unwrap_err();
    assert!(matches!(error, PrintError::NotStarted { .. }), "{error}");
    let fake = Fake::rude("no-program", "");
    fs::set_permissions(fake.path(), fs::Permissions::from_mode(0o644)).unwrap();
    assert!(matches!(
        fake.printer().about(),
        Err(PrintError::NotStarted { .. })
    ));
}

#[test]
fn what_was_recorded_is_answered_without_a_press() {
    let fake = Fake::polite("recorded", answer(), "cat answer\ncat >/dev/null");
    let folder = fake.folder.join("answers");
    let mut recording = fake.printer().recording(&folder);
    assert_eq!(fake.ask(&mut recording).unwrap(), b"%PDF");
    drop(recording);
    let mut recorded = Printer::recorded(&folder).unwrap();
    assert_eq!(fake.ask(&mut recorded).unwrap(), b"%PDF");
    assert_eq!(fake.started().len(), 1);
    let other = recorded.pdf(&["<svg></svg>".to_owned()], pdf());
    assert!(matches!(other, Err(PrintError::NotRecorded(_))));
}

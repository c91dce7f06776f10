//! Does the program itself keep its promises: over its pipes, run as the light program runs it, killed, fed nonsense?
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot set itself up has failed"
)]

use job::{
    Answer, AskEngrave, AskPdf, AskPicture, Breaks, Engraved, Letter, LetterError, RefusalKind, Request,
    Weights,
};
use printer::{PrintError, Printer};
use std::fs;
use std::io::Write;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

const PRESS: &str = env!("CARGO_BIN_EXE_foreread-press");
const MUSIC: &str = include_str!("../fixtures/kite_weather.mei");

fn ask() -> AskEngrave {
    AskEngrave {
        width: 18_000.0,
        breaks: Breaks::Flow,
        spacing: 1.0,
        weights: Weights::default(),
        ink: true,
    }
}

/// All systems on one page, and its height in millimetres.
fn page(engraved: &Engraved, svgs: &[String]) -> (String, f64) {
    let high = engraved.systems.last().unwrap().bounds.bottom();
    let mm = 200.0 * high / 18_000.0;
    let page = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"200mm\" height=\"{mm}mm\" viewBox=\"0 0 18000 {high}\">{}</svg>",
        svgs.concat()
    );
    (page, mm)
}

fn pdf_of(size: (f64, f64)) -> AskPdf {
    AskPdf {
        sizes_mm: vec![size],
        title: "Kite Weather".to_owned(),
        author: "Foreread demo".to_owned(),
        language: "en".to_owned(),
    }
}

#[test]
fn a_part_goes_from_music_to_paper_and_picture() {
    let mut printer = Printer::at(PRESS);
    assert!(printer.about().unwrap().contains("Bravura"));
    let (engraved, svgs) = printer.engrave(MUSIC, ask()).unwrap();
    let (page, high) = page(&engraved, &svgs);
    let pdf = printer
        .pdf(std::slice::from_ref(&page), pdf_of((200.0, high)))
        .unwrap();
    assert_eq!(
        printer
            .pdf(std::slice::from_ref(&page), pdf_of((200.0, high)))
            .unwrap(),
        pdf,
        "the same bytes twice"
    );
    let text = String::from_utf8_lossy(&pdf);
    assert!(text.starts_with("%PDF-1."));
    for word in ["Kite Weather", "Foreread demo", "LibertinusSerif", "/MediaBox"] {
        assert!(text.contains(word), "{word}");
    }
    assert!(!text.contains("CreationDate"), "a date would differ every time");
    assert!(pdf.len() < 200_000, "fonts are cut to what is used");
    let white = AskPicture {
        width_px: 800,
        paper: true,
    };
    let picture = printer.picture(&page, white).unwrap();
    assert!(picture.png.starts_with(b"\x89PNG"));
    assert_eq!(picture.width, 800);
    let ink = printer.ink(&page, 100.0).unwrap();
    let inked = ink.cells().iter().filter(|inked| **inked).count();
    assert!(
        ink.columns == 180 && inked > 1000,
        "{} columns, {inked} cells",
        ink.columns
    );
}

#[test]
fn a_sheet_is_typeset_with_its_pictures_and_our_fonts() {
    let mut printer = Printer::at(PRESS);
    let (engraved, svgs) = printer.engrave(MUSIC, ask()).unwrap();
    let (page, _) = page(&engraved, &svgs);
    let source = "#set page(width: 148mm, height: 210mm, margin: 15mm)\n#set text(font: \"Libertinus Serif\")\n= Kite Weather\n\
                  #image(\"spots/one.svg\", width: 60mm)\n#pagebreak()\nNext page.";
    let files = [("spots/one.svg".to_owned(), page.into_bytes())];
    let (pdf, typeset) = printer.typeset(source, &files).unwrap();
    assert_eq!(typeset.pages, 2);
    assert_eq!(typeset.warnings, Vec::<String>::new());
    assert_eq!(
        printer.typeset(source, &files).unwrap().0,
        pdf,
        "the same bytes twice"
    );
}

#[test]
fn a_wrong_source_is_told_with_its_line_and_nothing_but_what_came_along_is_read() {
    let mut printer = Printer::at(PRESS);
    let mut fails = |source: &str| match printer.typeset(source, &[]) {
        Err(PrintError::Refused(refusal)) => {
            assert_eq!(refusal.kind, RefusalKind::Source);
            refusal.what
        }
        other => panic!("{:?}", other.map(|(_, typeset)| typeset)),
    };
    assert!(fails("= One\n\n#nothing()").starts_with("line 3, column 2: unknown variable: nothing"));
    assert!(fails("#read(\"/etc/hostname\")").contains("file not found"));
    assert!(fails("#image(\"../../picture.svg\")").starts_with("line 1"));
    fails("#import \"@preview/cetz:0.3.0\": canvas");
    fails("#datetime.today()");
    let (_, typeset) = printer
        .typeset("#set text(font: \"No Such Font\")\nWords", &[])
        .unwrap();
    assert!(
        typeset.warnings[0].contains("unknown font family"),
        "{:?}",
        typeset.warnings
    );
}

struct Bare {
    child: Child,
    folder: PathBuf,
}

/// The program by itself, with a folder of its own for temporary data.
fn bare(name: &str) -> Bare {
    let folder = std::env::temp_dir().join(format!("press-test-{}-{name}", std::process::id()));
    fs::create_dir_all(&folder).unwrap();
    let child = Command::new(PRESS)
        .env("TMPDIR", &folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    Bare { child, folder }
}

impl Bare {
    fn send(&mut self, bytes: &[u8]) {
        self.child.stdin.as_mut().unwrap().write_all(bytes).unwrap();
    }

    fn answer(&mut self) -> Result<Letter<Answer>, LetterError> {
        Letter::read(self.child.stdout.as_mut().unwrap())
    }

    /// Closes its input; whether it ended well, in time, and left nothing.
    fn ends(mut self) -> bool {
        drop(self.child.stdin.take());
        let start = Instant::now();
        let status = loop {
            match self.child.try_wait().unwrap() {
                Some(status) => break status,
                None if start.elapsed() > Duration::from_secs(20) => {
                    self.child.kill().unwrap();
                    panic!("it doesn't end");
                }
                None => std::thread::sleep(Duration::from_millis(5)),
            }
        };
        let left = fs::read_dir(&self.folder).unwrap().count();
        fs::remove_dir_all(&self.folder).unwrap();
        assert_eq!(left, 0, "temporary data are left");
        status.success()
    }
}

fn request() -> Vec<u8> {
    let mut bytes = Vec::new();
    let letter = Letter {
        head: Request::Engrave(ask()),
        blobs: vec![MUSIC.as_bytes().to_vec()],
    };
    letter.write(&mut bytes).unwrap();
    bytes
}

#[test]
fn the_program_ends_when_its_input_ends_and_leaves_nothing() {
    let mut press = bare("ends");
    press.send(&request());
    assert!(matches!(press.answer().unwrap().head, Answer::Engraved(_)));
    assert!(press.ends());
    assert!(bare("at-once").ends());
}

#[test]
fn a_request_cut_in_the_middle_ends_the_program_and_leaves_nothing() {
    let mut press = bare("cut");
    press.send(&request());
    press.answer().unwrap();
    let request = request();
    press.send(&request[..request.len() / 2]);
    assert!(!press.ends());
}

#[test]
fn nonsense_is_refused_and_ends_the_program() {
    let mut press = bare("nonsense");
    press.send(b"GET / HTTP/1.1\r\n\r\n");
    let Answer::Refused(refusal) = press.answer().unwrap().head else {
        panic!()
    };
    assert_eq!(refusal.kind, RefusalKind::Request);
    assert!(matches!(press.answer(), Err(LetterError::Closed)));
    assert!(!press.ends());
}

#[test]
fn without_room_for_temporary_data_the_program_says_so_and_goes_on() {
    let mut child = Command::new(PRESS)
        .env("TMPDIR", "/dev/null/nowhere")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut to = child.stdin.take().unwrap();
    let mut from = child.stdout.take().unwrap();
    for _ in 0..2 {
        to.write_all(&request()).unwrap();
        let Answer::Refused(refusal) = Letter::read(&mut from).unwrap().head else {
            panic!()
        };
        assert_eq!(refusal.kind, RefusalKind::Machine);
        assert!(refusal.what.contains("TMPDIR"), "{}", refusal.what);
    }
    Letter::bare(Request::Hello).write(&mut to).unwrap();
    assert!(matches!(
        Letter::read(&mut from).unwrap().head,
        Answer::Hello { .. }
    ));
    drop(to);
    assert!(child.wait().unwrap().success());
}

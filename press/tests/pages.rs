//! Is a printed page seen as it stands? Two systems of a demo piece as this press engraves them: straight, tilted and shaded, as a
//! picture and as a PDF; and what is no page.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "a test that cannot set itself up has failed"
)]

use image::{GrayImage, ImageFormat, Luma};
use job::{Answer, AskPdf, AskSee, Letter, Refusal, RefusalKind, Request, SeenPage};
use printer::Printer;
use std::fs;
use std::io::Cursor;
use std::path::PathBuf;

const PAGE: &[u8] = include_bytes!("../fixtures/two-systems.png");
/// Frames of the reader hold so many scores; the first so many are what stands on the staff, 0 for nothing.
const FRAME: usize = 269;
const MAIN: usize = 76;

fn see(file: &[u8], page: u32, picture: bool) -> Result<(SeenPage, Vec<Vec<u8>>), Refusal> {
    let answer = press::Press::default().answer(Letter {
        head: Request::See(AskSee {
            page,
            picture,
            strips: false,
        }),
        blobs: vec![file.to_vec()],
    });
    match answer.head {
        Answer::Seen(page) => Ok((page, answer.blobs)),
        Answer::Refused(refusal) => Err(refusal),
        other => panic!("{other:?}"),
    }
}

/// The likeliest sign of each run of frames, nothing left out.
fn signs(scores: &[u8]) -> Vec<usize> {
    let (fours, _) = scores.as_chunks::<4>();
    let scores: Vec<f32> = fours.iter().map(|four| f32::from_le_bytes(*four)).collect();
    let mut best: Vec<usize> = scores
        .chunks_exact(FRAME)
        .map(|frame| (0..MAIN).max_by(|a, b| frame[*a].total_cmp(&frame[*b])).unwrap())
        .collect();
    best.dedup();
    best.retain(|sign| *sign != 0);
    best
}

fn all_signs(seen: &(SeenPage, Vec<Vec<u8>>)) -> Vec<Vec<usize>> {
    seen.1[..seen.0.systems.len()]
        .iter()
        .map(|scores| signs(scores))
        .collect()
}

/// The page as a letter is what `crates/pageread` is tested with; there its notes are held against the picture, one by one.
#[test]
fn a_page_is_seen_as_it_was_when_it_was_recorded() {
    let recorded =
        PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../crates/pageread/fixtures/two-systems.letter");
    let (page, blobs) = see(PAGE, 0, false).unwrap();
    assert_eq!((page.pages, page.systems.len(), blobs.len()), (1, 2, 2));
    if std::env::var_os("FOREREAD_BLESS").is_some() {
        let letter = Letter {
            head: Answer::Seen(page.clone()),
            blobs: blobs.clone(),
        };
        letter.write(&mut fs::File::create(&recorded).unwrap()).unwrap();
    }
    let known: Letter<Answer> = Letter::read(&mut fs::File::open(&recorded).unwrap()).unwrap();
    let Answer::Seen(known_page) = known.head else {
        panic!("the recorded answer is no page");
    };
    let known = (known_page, known.blobs);
    let seen = (page, blobs);
    assert_eq!(all_signs(&seen), all_signs(&known));
    for (here, there) in seen.0.systems.iter().zip(&known.0.systems) {
        assert!((here.left - there.left).abs() < 0.5 && (here.middle.0 - there.middle.0).abs() < 0.5);
        assert_eq!(here.width, there.width);
    }
}

#[test]
fn a_tilted_and_shaded_page_is_seen_as_well() {
    let straight = image::load_from_memory(PAGE).unwrap().to_luma8();
    let (width, height) = straight.dimensions();
    let ink = |x: i64, y: i64| {
        if x < 0 || y < 0 || x >= i64::from(width) || y >= i64::from(height) {
            0.0
        } else {
            1.0 - f32::from(straight.get_pixel(x as u32, y as u32).0[0]) / 255.0
        }
    };
    let tilted = GrayImage::from_fn(width, height + 60, |x, y| {
        let from = y as f32 - 30.0 - 0.02 * (x as f32 - 620.0);
        let (row, part) = (from.floor() as i64, from - from.floor());
        let ink = ink(i64::from(x), row) * (1.0 - part) + ink(i64::from(x), row + 1) * part;
        let shade = 0.25 * x as f32 / width as f32;
        Luma([(255.0 * (1.0 - (ink * 0.7 + shade).min(1.0))) as u8])
    });
    let mut png = Cursor::new(Vec::new());
    tilted.write_to(&mut png, ImageFormat::Png).unwrap();
    let seen = see(&png.into_inner(), 0, false).unwrap();
    assert_eq!(all_signs(&seen), all_signs(&see(PAGE, 0, false).unwrap()));
}

/// Our own PDF of two pages, each with five lines on it, comes back page by page, with its picture.
#[test]
fn a_pdf_is_seen_page_by_page() {
    let lines: String = (0..5)
        .map(|k| {
            format!(
                "<path d=\"M20 {0} H180\" stroke=\"black\" stroke-width=\"0.2\"/>",
                40.0 + 1.75 * f64::from(k)
            )
        })
        .collect();
    let page = |more: &str| {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"200mm\" height=\"120mm\" viewBox=\"0 0 200 120\">{lines}{more}</svg>"
        )
    };
    let second: String = (0..5)
        .map(|k| {
            format!(
                "<path d=\"M20 {0} H180\" stroke=\"black\" stroke-width=\"0.2\"/>",
                80.0 + 1.75 * f64::from(k)
            )
        })
        .collect();
    let ask = AskPdf {
        sizes_mm: vec![(200.0, 120.0); 2],
        title: String::new(),
        author: String::new(),
        language: "en".to_owned(),
    };
    let mut printer = Printer::at(env!("CARGO_BIN_EXE_foreread-press"));
    let pdf = printer.pdf(&[page(""), page(&second)], ask).unwrap();
    let first = printer
        .see(
            &pdf,
            AskSee {
                page: 0,
                picture: true,
                strips: true,
            },
        )
        .unwrap();
    // 200 mm at 200 dots an inch.
    assert!(
        first.page.pages == 2 && first.page.width.abs_diff(1575) < 3,
        "{:?}",
        first.page
    );
    assert_eq!((first.page.systems.len(), first.strips.len()), (1, 1));
    let strip = image::load_from_memory(&first.strips[0]).unwrap();
    assert_eq!(
        (strip.width(), strip.height()),
        (first.page.systems[0].width * 3 / 2, 360)
    );
    let picture = image::load_from_memory(&first.png.unwrap()).unwrap();
    assert_eq!(
        (picture.width(), picture.height()),
        (first.page.width, first.page.height)
    );
    let second = see(&pdf, 1, false).unwrap().0;
    assert_eq!(second.systems.len(), 2);
    assert!(see(&pdf, 2, false).unwrap_err().what.contains("no page 3"));
}

#[test]
fn what_is_no_page_is_refused_in_words() {
    for (file, words) in [
        (b"no picture".as_slice(), "no picture that can be read"),
        (&PAGE[..200], "picture can't be read"),
        (b"%PDF-1.7 and nothing more", "PDF can't be read"),
        (b"", "no picture"),
    ] {
        let refused = see(file, 0, false).unwrap_err();
        assert_eq!(refused.kind, RefusalKind::Page);
        assert!(refused.what.contains(words), "{}", refused.what);
    }
    assert_eq!(
        see(PAGE, 1, false).unwrap_err().what,
        "there is no page 2, the file has 1"
    );
}

/// The page is the beginning of a demo piece; what its file says stands on it (`demo/pieces/am_waldrand.musicxml`).
#[test]
fn words_are_read_and_belong_to_their_system() {
    let (page, _) = see(PAGE, 0, false).unwrap();
    let first: Vec<&str> = page.systems[0]
        .words
        .iter()
        .map(|word| word.text.as_str())
        .collect();
    assert!(first.contains(&"Horn in F"));
    // In one box or in two: the metronome mark stands close behind.
    let tempo = first.iter().position(|text| text.starts_with("Ruhig, mit Wärme"));
    assert!(
        first
            .iter()
            .skip(tempo.unwrap())
            .take(2)
            .any(|text| text.ends_with("= 58")),
        "{first:?}"
    );
    assert!(page.systems[1].words.is_empty());
    let beyond: Vec<&str> = page.words.iter().map(|word| word.text.as_str()).collect();
    assert_eq!(beyond, ["Am Waldrand"]);
    for word in page.words {
        let (left, top, right, bottom) = word.bounds;
        assert!(left > 0.0 && top > 0.0 && right < 1240.0 && bottom < 500.0);
        assert!(word.sure > 0.9);
    }
}

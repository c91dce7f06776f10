//! How much longer than the bare engraver does the press take, and how soon is one page there? Prints a table; ends with
//! status 1 if a limit isn't kept. `cargo run --release --example speed`, on a quiet machine.
//!
//! Bare is the engraver's own load, layout and drawing of all pages with nothing of ours around it, in the same run. The press
//! does the same and measures every sign, maps the ink, and writes the pages as PDF. CPU time, the median of several runs.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a benchmark that can't be set up has failed"
)]

use job::{Answer, AskEngrave, AskPdf, Breaks, Letter, Request, Weights};
use press::Press;
use std::io::BufReader;
use std::path::Path;
use std::process::{Command, ExitCode, Stdio};
use std::time::{Duration, Instant};
use verovio_sys::ffi;

/// A demo piece of 46 bars.
const MUSIC: &str = include_str!("../fixtures/kite_weather.mei");
/// One page is about 32 bars.
const ONE_PAGE: usize = 32;
/// Everything in so many times the bare engraver's own time.
const MOST: f64 = 1.6;
/// One page, from the start of the program to the PDF.
const SOON: Duration = Duration::from_millis(300);
const SYSTEMS_A_PAGE: usize = 10;
const RUNS: usize = 5;

fn main() -> ExitCode {
    let pages: usize = std::env::args()
        .nth(1)
        .and_then(|word| word.parse().ok())
        .unwrap_or(16);
    let many = bars(usize::MAX, pages);
    let ratio = many_pages(&many);
    let soon = one_page(&bars(ONE_PAGE, 1));
    println!("one page (32 bars), from start to PDF: {soon:?}, limit {SOON:?}");
    if ratio > MOST || soon > SOON {
        ExitCode::FAILURE
    } else {
        ExitCode::SUCCESS
    }
}

/// So many bars of the piece, again and again with ids of their own.
fn bars(most: usize, times: usize) -> String {
    let start = MUSIC.find("<measure").unwrap();
    let end = MUSIC.rfind("</measure>").unwrap() + "</measure>".len();
    let bars: String = MUSIC[start..end]
        .split_inclusive("</measure>")
        .take(most)
        .collect();
    let copies: String = (0..times)
        .map(|copy| {
            bars.replace("xml:id=\"", &format!("xml:id=\"k{copy}"))
                .replace("=\"#", &format!("=\"#k{copy}"))
        })
        .collect();
    format!("{}{copies}{}", &MUSIC[..start], &MUSIC[end..])
}

fn many_pages(mei: &str) -> f64 {
    let folder = std::env::temp_dir().join(format!("foreread-speed-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    verovio_data::extract(&folder).unwrap();
    let mut press = Press::default();
    let (mut bare_times, mut engrave_times, mut pdf_times) = (Vec::new(), Vec::new(), Vec::new());
    let (mut bare_pages, mut systems, mut bytes) = (0, 0, 0);
    for _ in 0..RUNS {
        let start = cpu();
        bare_pages = bare(mei, &folder);
        let engrave_start = cpu();
        let (svgs, count) = engraved(&mut press, mei);
        let pages = composed(&svgs);
        let pdf_start = cpu();
        bytes = pdf(&mut press, &pages);
        let end = cpu();
        systems = count;
        bare_times.push(engrave_start - start);
        engrave_times.push(pdf_start - engrave_start);
        pdf_times.push(end - pdf_start);
    }
    std::fs::remove_dir_all(&folder).unwrap();
    let [bare, engrave, pdf] = [bare_times, engrave_times, pdf_times].map(median);
    let ratio = (engrave + pdf).as_secs_f64() / bare.as_secs_f64();
    println!("{} bars", mei.matches("<measure").count());
    println!("bare engraver, {bare_pages} pages: {bare:?}");
    println!("press, {systems} systems with boxes and ink: {engrave:?}");
    println!("press, PDF of {bytes} bytes: {pdf:?}");
    println!("press / bare: {ratio:.2}, limit {MOST}");
    ratio
}

/// The engraver alone, on pages of its own making.
fn bare(mei: &str, folder: &Path) -> i32 {
    let mut toolkit = ffi::new_toolkit(false);
    assert!(ffi::set_resource_path(
        toolkit.pin_mut(),
        folder.to_str().unwrap()
    ));
    assert!(ffi::set_options(
        toolkit.pin_mut(),
        r#"{"font":"Bravura","svgViewBox":true,"svgFormatRaw":true}"#
    ));
    assert!(ffi::load_data(toolkit.pin_mut(), mei));
    let pages = ffi::page_count(toolkit.pin_mut());
    for page in 1..=pages {
        assert!(ffi::render_to_svg(toolkit.pin_mut(), page, false).len() > 1000);
    }
    pages
}

fn ask() -> AskEngrave {
    AskEngrave {
        width: 18_000.0,
        breaks: Breaks::Flow,
        spacing: 1.0,
        weights: Weights::default(),
        ink: true,
    }
}

fn engraved(press: &mut Press, mei: &str) -> (Vec<String>, usize) {
    let answer = press.answer(Letter {
        head: Request::Engrave(ask()),
        blobs: vec![mei.as_bytes().to_vec()],
    });
    // What goes over the pipe is part of the work.
    let mut bytes = Vec::new();
    answer.write(&mut bytes).unwrap();
    svgs(&Letter::read(&mut bytes.as_slice()).unwrap())
}

fn svgs(answer: &Letter<Answer>) -> (Vec<String>, usize) {
    let Answer::Engraved(engraved) = &answer.head else {
        unreachable!("{:?}", answer.head)
    };
    let tops = engraved.systems.iter().map(|system| system.bounds.y);
    let texts = answer
        .blobs
        .iter()
        .map(|blob| String::from_utf8(blob.clone()).unwrap());
    let mut texts = texts.collect::<Vec<_>>().into_iter();
    let defs = texts.next().unwrap();
    let places = tops.enumerate().map(|(index, top)| (index % SYSTEMS_A_PAGE, top));
    let moved = places.zip(texts).map(|((place, top), svg)| {
        let down = 2600.0 * f64::from(u32::try_from(place).unwrap()) - top;
        format!("<g transform=\"translate(1000 {down})\">{svg}</g>")
    });
    (
        std::iter::once(defs).chain(moved).collect(),
        engraved.systems.len(),
    )
}

fn composed(svgs: &[String]) -> Vec<String> {
    let (defs, systems) = svgs.split_first().unwrap();
    let page = |systems: &[String]| {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"210mm\" height=\"297mm\" viewBox=\"0 0 20000 28286\">{defs}{}</svg>",
            systems.concat()
        )
    };
    systems.chunks(SYSTEMS_A_PAGE).map(page).collect()
}

fn letter(pages: &[String]) -> Letter<Request> {
    let ask = AskPdf {
        sizes_mm: vec![(210.0, 297.0); pages.len()],
        title: "Speed".to_owned(),
        author: String::new(),
        language: "en".to_owned(),
    };
    Letter {
        head: Request::Pdf(ask),
        blobs: pages.iter().map(|page| page.clone().into_bytes()).collect(),
    }
}

fn pdf(press: &mut Press, pages: &[String]) -> usize {
    let answer = press.answer(letter(pages));
    assert!(matches!(answer.head, Answer::Pdf { .. }), "{:?}", answer.head);
    answer.blobs.first().unwrap().len()
}

/// The quickest of several starts of the program itself, through its pipes, to a page of PDF.
fn one_page(mei: &str) -> Duration {
    let own = std::env::current_exe().unwrap();
    let program = own
        .parent()
        .and_then(Path::parent)
        .unwrap()
        .join("foreread-press");
    let runs = (0..RUNS).map(|_| {
        let start = Instant::now();
        let mut child = Command::new(&program)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut to = child.stdin.take().unwrap();
        let mut from = BufReader::new(child.stdout.take().unwrap());
        let music = Letter {
            head: Request::Engrave(ask()),
            blobs: vec![mei.as_bytes().to_vec()],
        };
        music.write(&mut to).unwrap();
        let (svgs, _) = svgs(&Letter::read(&mut from).unwrap());
        letter(&composed(&svgs)).write(&mut to).unwrap();
        let answer = Letter::<Answer>::read(&mut from).unwrap();
        assert!(matches!(answer.head, Answer::Pdf { .. }));
        let time = start.elapsed();
        drop(to);
        child.wait().unwrap();
        time
    });
    runs.min().unwrap()
}

fn cpu() -> Duration {
    let time = rustix::time::clock_gettime(rustix::time::ClockId::ProcessCPUTime);
    Duration::new(
        u64::try_from(time.tv_sec).unwrap(),
        u32::try_from(time.tv_nsec).unwrap(),
    )
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

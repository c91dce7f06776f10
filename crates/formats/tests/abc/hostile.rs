//! Can any text make the reader panic, hang or eat memory?

use proptest::prelude::*;
use std::time::{Duration, Instant};

fn read(text: &str) {
    let Ok(source) = formats::Source::open(text.as_bytes(), "hostile") else {
        return;
    };
    for index in 0..source.tunes().len().min(5) {
        let Ok((piece, _)) = source.read_nth(index) else {
            continue;
        };
        assert!(!piece.bars.is_empty() && !piece.parts.is_empty());
        for part in &piece.parts {
            for event in &part.events {
                assert!(!event.duration.is_overflow() && !event.duration.is_negative());
                assert!(event.place.bar.get() < piece.bars.len());
                assert!(usize::from(event.voice) < part.voices.len());
                if let Some(written) = event.written.as_ref().filter(|_| event.grace.is_none()) {
                    assert_eq!(written.quarters(), event.duration);
                }
            }
        }
    }
}

/// Pieces of ABC in any order.
fn scraps() -> impl Strategy<Value = String> {
    let scrap = prop::sample::select(vec![
        "A",
        "B2",
        "c/",
        "d//",
        "^e",
        "_f3/2",
        "=g",
        "^/a",
        "z",
        "x2",
        "Z3",
        "[CE]",
        "[C-",
        "]",
        "{",
        "}",
        "{/gf}",
        "(",
        ")",
        "(3",
        "(5:4:6",
        "(0",
        "-",
        ">",
        "<<",
        "|",
        "||",
        ":|",
        "|:",
        "::",
        "|]",
        "[|",
        "[|]",
        ".|",
        "|1",
        "[2",
        "[1-3",
        "[\"x\"",
        "\"^w\"",
        "\"Am\"",
        "!trill!",
        "!f!",
        "!<(!",
        "!<)!",
        "!8va(!",
        "!8va)!",
        "!fermata!",
        "T",
        "~",
        "u",
        ".",
        "&",
        "y",
        "$",
        "!",
        "`",
        " ",
        "\n",
        "\n\n",
        "\\\n",
        "\nK:D\n",
        "[K:Am bass]",
        "[M:3/8]",
        "\nM:none\n",
        "[L:1/16]",
        "\nV:2\n",
        "[V:1]",
        "\nP:A\n",
        "\nw:la-la _ * | ~\n",
        "\ns:!f!*\n",
        "\nQ:1/4=60\n",
        "\nU:T=!turn!\n",
        "\nm:~n2=n{o}n\n",
        "~c2",
        "\n%%score (1 2)\n",
        "%x\n",
        "\nX:2\nK:C\n",
        "+CE+2",
        "A99999",
        "A/99999",
        "c''''''''",
        "C,,,,,,,,",
        "\u{e9}",
        "\\'e",
        "1",
        ",",
        "'",
        "#",
    ]);
    prop::collection::vec(scrap, 0..80).prop_map(|scraps| scraps.concat())
}

proptest! {
    #[test]
    fn scraps_of_abc_never_panic(body in scraps()) {
        read(&format!("X:1\nM:4/4\nL:1/8\nK:G\n{body}"));
        read(&format!("X:1\nP:AB2\nV:1\nV:2\n{body}"));
    }

    #[test]
    fn any_text_never_panics(text in "\\PC{0,200}") {
        read(&text);
        read(&format!("X:1\nK:C\n{text}"));
        read(&format!("X:1\nK:{text}\nC|"));
        read(&format!("X:1\nV:1 {text}\nQ:{text}\nM:{text}\nP:{text}\nK:C\nC|\nw:{text}\ns:{text}"));
    }

    #[test]
    fn any_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let _ = formats::read(&bytes, "bytes");
        let mut headed = b"X:1\nK:C\nC|".to_vec();
        headed.extend(bytes);
        let _ = formats::read(&headed, "bytes");
    }
}

/// The shortest of several readings: another program may hold up one of them.
fn took(text: &str) -> Duration {
    let once = || {
        let start = Instant::now();
        let _ = formats::read(text.as_bytes(), "long");
        start.elapsed()
    };
    (0..4).map(|_| once()).min().unwrap_or_default()
}

/// Four times the text takes about four times as long; sixteen times would be a square.
#[test]
fn the_time_grows_with_the_length() {
    let head = "X:1\nM:4/4\nL:1/8\nK:G\n";
    let shapes: [&str; 25] = [
        "ABcd efga|",
        "(A",
        "A)",
        "A-",
        "{g}A",
        "[CE]",
        "\"x",
        "\"x\"A",
        "!f!A",
        "!",
        "+",
        "[K:\"]",
        "[",
        "(3",
        "|",
        "|:A:|",
        "[1A|",
        "A>",
        "A&",
        "^c C ",
        "[P:A]A",
        "[V:2]A|[V:1]A|",
        "[\"t\"A|",
        "\nw:la\n",
        "w-",
    ];
    for shape in shapes {
        let text = |times: usize| format!("{head}A|\n{}", shape.repeat(times));
        // A busy machine may hold up any one try; a square takes too long in all of them.
        let fits = |_| {
            let (short, long) = (took(&text(2_000)), took(&text(8_000)));
            long < short * 11 + Duration::from_millis(60)
        };
        assert!((0..4).any(fits), "{shape:?} takes more than its share of time");
    }
}

/// Source: the task's limit of memory: what a few bytes ask for is not made.
#[test]
fn a_few_bytes_do_not_ask_for_much() {
    let start = Instant::now();
    for body in [
        "Z999999999|",
        "Z20000|Z20000|Z20000|",
        "A99999999999999999999|",
        "(999:1:999A|",
        "C/0|c/99999999999|",
    ] {
        if let Ok((piece, _)) = formats::read(format!("X:1\nM:4/4\nK:C\nC|{body}").as_bytes(), "x") {
            assert!(piece.bars.len() <= 20_010, "{body}: {} bars", piece.bars.len());
        }
    }
    let many: String = (0..1_000).map(|n| format!("V:{n}\nC|\n")).collect();
    assert!(
        formats::read(format!("X:1\nK:C\n{many}").as_bytes(), "x").is_err(),
        "too many voices"
    );
    let notes = "A".repeat(200_000);
    let error = formats::read(format!("X:1\nK:C\n{notes}|").as_bytes(), "x").expect_err("too many notes");
    assert!(error.to_string().contains("more notes"), "{error}");
    let macros = format!("X:1\nm:A={}\nK:C\n{}|", "B".repeat(900), "A".repeat(5_000));
    let _ = formats::read(macros.as_bytes(), "x");
    assert!(start.elapsed() < Duration::from_secs(20));
}

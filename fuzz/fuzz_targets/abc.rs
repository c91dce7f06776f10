//! Can any bytes make the ABC reader panic, hang, or return a piece that breaks the page model's laws?
//!
//! What is no ABC is made one by a heading, so that most inputs reach the notes.
#![no_main]

use libfuzzer_sys::fuzz_target;
use notation::Piece;

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    read(text.as_bytes());
    read(format!("X:1\nM:4/4\nL:1/8\nK:G\n{text}").as_bytes());
});

fn read(bytes: &[u8]) {
    let Ok(source) = formats::Source::open(bytes, "fuzz") else { return };
    if source.standard() != formats::Standard::Abc {
        return;
    }
    let tunes = source.tunes();
    let ranges = tunes.iter().map(|tune| tune.range);
    assert!(ranges.is_sorted(), "tunes stand one after the other");
    for index in 0..tunes.len().min(4) {
        if let Ok((piece, _findings)) = source.read_nth(index) {
            check(&piece);
        }
    }
}

fn check(piece: &Piece) {
    assert!(!piece.bars.is_empty() && !piece.parts.is_empty());
    for bar in &piece.bars {
        assert!(!bar.length.is_negative() && !bar.length.is_overflow());
    }
    let inside = |place: notation::Place| place.bar.get() < piece.bars.len() && !place.offset.is_negative();
    for line in &piece.barlines {
        assert!(inside(line.place) && line.part < piece.parts.len());
    }
    for section in &piece.section_orders.sections {
        assert!(section.start <= section.end);
    }
    for part in &piece.parts {
        assert_eq!(part.bar_ranges.len(), piece.bars.len());
        assert!(part.events.is_sorted_by_key(|event| event.place));
        for event in &part.events {
            assert!(!event.duration.is_negative() && !event.duration.is_overflow());
            assert!(inside(event.place));
            assert!(event.staff > 0 && usize::from(event.voice) < part.voices.len());
            if let Some(written) = event.written.as_ref().filter(|_| event.grace.is_none()) {
                assert_eq!(written.quarters(), event.duration, "printed value and duration agree");
            }
        }
        for span in &part.spans {
            assert!([span.start, span.end].into_iter().flatten().all(|anchor| inside(anchor.place)));
        }
        // What the next floor does first with every piece must hold too.
        let _ = notation::line(piece, part);
    }
}

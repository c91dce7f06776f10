//! Can any bytes make the MEI reader panic, hang, or return a piece that breaks the page model's laws?
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok((piece, _findings)) = formats::read(bytes, "fuzz") else { return };
    assert!(!piece.bars.is_empty() && !piece.parts.is_empty());
    for bar in &piece.bars {
        assert!(!bar.length.is_negative() && !bar.length.is_overflow());
    }
    for part in &piece.parts {
        let inside = |place: notation::Place| place.bar.get() < piece.bars.len() && !place.offset.is_negative() && !place.offset.is_overflow();
        for span in &part.spans {
            assert!([span.start, span.end].into_iter().flatten().all(|anchor| inside(anchor.place)));
        }
        assert!(part.directions.iter().all(|direction| inside(direction.place)));
        assert!(part.clefs.iter().all(|change| inside(change.place)));
        assert!(part.keys.iter().all(|change| inside(change.place)));
        assert!(part.metres.iter().all(|change| inside(change.place)));
        assert_eq!(part.bar_ranges.len(), piece.bars.len());
        assert!(part.events.is_sorted_by_key(|event| event.place));
        for event in &part.events {
            assert!(!event.duration.is_negative() && !event.duration.is_overflow());
            assert!(event.place.bar.get() < piece.bars.len() && !event.place.offset.is_negative());
            assert!(event.staff > 0 && usize::from(event.voice) < part.voices.len());
        }
    }
    // What the next floor does first with every piece must hold too.
    for part in &piece.parts {
        let _ = notation::line(&piece, part);
    }
});

//! Can any bytes make the kern reader panic, hang, or return a piece that breaks the page model's laws?
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    // Bytes of other standards belong to other targets.
    let whole;
    let bytes = if bytes.starts_with(b"**kern") || bytes.starts_with(b"!") {
        bytes
    } else {
        whole = [b"**kern\t**kern\t**dynam\n", bytes].concat();
        &whole
    };
    let Ok((piece, _findings)) = formats::read(bytes, "fuzz") else { return };
    assert!(!piece.bars.is_empty() && !piece.parts.is_empty());
    for bar in &piece.bars {
        assert!(!bar.length.is_negative() && !bar.length.is_overflow());
    }
    for part in &piece.parts {
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

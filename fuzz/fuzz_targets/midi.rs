//! Can any bytes make the MIDI reader panic, hang, or return a piece that breaks the page model's laws or can't be written?
#![no_main]

use libfuzzer_sys::fuzz_target;
use notation::{Piece, Quarters};

fuzz_target!(|bytes: &[u8]| {
    if !bytes.starts_with(b"MThd") && !bytes.starts_with(b"RIFF") {
        return;
    }
    let Ok((piece, _findings)) = formats::read(bytes, "fuzz") else { return };
    assert!(!piece.bars.is_empty() && !piece.parts.is_empty());
    for bar in &piece.bars {
        assert!(bar.length.is_positive() && !bar.length.is_overflow());
    }
    laws(&piece);
    let _ = piece.parts.iter().map(|part| notation::line(&piece, part)).count();
    let (written, _) = formats::write_midi(&piece, &formats::MidiOptions::default()).expect("a read piece can be written");
    let (again, _) = formats::read(&written, "again").expect("a written file can be read");
    laws(&again);
});

/// Each voice fills its bars without overlap, and what is printed is what it lasts.
fn laws(piece: &Piece) {
    for part in &piece.parts {
        assert_eq!(part.bar_ranges.len(), piece.bars.len());
        assert!(part.events.is_sorted_by_key(|event| event.place));
        let mut reach = vec![(notation::BarIndex(0), Quarters::ZERO); part.voices.len()];
        for event in &part.events {
            let (bar, at) = &mut reach[usize::from(event.voice)];
            if *bar != event.place.bar {
                (*bar, *at) = (event.place.bar, Quarters::ZERO);
            }
            assert_eq!(event.place.offset, *at);
            assert!(event.duration.is_positive());
            *at = event.end_offset();
            assert!(*at <= piece.bars[event.place.bar.get()].length);
            if let Some(written) = &event.written {
                assert_eq!(written.quarters(), event.duration);
            }
            for pitch in event.pitches() {
                assert!((0..128).contains(&pitch.key_number()));
            }
        }
    }
}

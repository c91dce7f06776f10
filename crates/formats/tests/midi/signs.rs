//! What stands beside the notes? Tempo, metre, key, names, words, and what of the file is not kept.

use crate::file::{file, one, track};
use crate::{kinds, page, read, said};
use notation::{DirectionKind, How, Metronome, MetronomeValue, NoteValue, Quarters};

#[test]
fn tempo_is_a_mark_that_is_not_printed_and_a_hint() {
    let (piece, _) = read(&one(track()
        .metre(0, 6, 3)
        .tempo(0, 90)
        .tempo(1440, 120)
        .line(0, &[(1440, 60), (1440, 62)])));
    let part = &piece.parts[0];
    let marks: Vec<_> = part
        .directions
        .iter()
        .map(|mark| (&mark.kind, mark.printed, mark.place.bar.0))
        .collect();
    let mark = |text: &str| {
        DirectionKind::Metronome(Metronome {
            beat: NoteValue::Quarter,
            dots: 1,
            value: MetronomeValue::PerMinute(text.to_owned()),
            parentheses: false,
        })
    };
    assert_eq!(marks, [(&mark("60"), false, 0), (&mark("80"), false, 1)]);
    let origin = piece
        .provenance
        .origins
        .get(&part.directions[0].id)
        .expect("an origin");
    assert_eq!(origin.how, How::Implied);
    let hints: Vec<_> = piece
        .sound_hints
        .iter()
        .map(|hint| hint.get("tempo").unwrap())
        .collect();
    assert_eq!(hints, ["90", "120"]);
}

#[test]
fn a_tempo_that_moves_all_the_time_is_no_mark() {
    let mut notes = track().metre(0, 4, 2).line(0, &[(1920, 60), (1920, 62)]);
    for beat in 0..8 {
        notes = notes.tempo(beat * 480, 90 + beat);
    }
    let (piece, findings) = read(&one(notes));
    assert!(piece.parts[0].directions.is_empty());
    assert_eq!(piece.sound_hints.len(), 8);
    assert!(kinds(&findings).contains(&"midi-tempo-played"));
}

#[test]
fn metres_change_at_bar_lines() {
    let (piece, _) = read(&one(track()
        .metre(0, 4, 2)
        .metre(1920, 3, 2)
        .line(0, &[(1920, 60), (1440, 62)])));
    assert_eq!(page(&piece, 0), "C4/whole | D4/half.");
    let metres: Vec<_> = piece.parts[0]
        .metres
        .iter()
        .map(|metre| metre.value.name())
        .collect();
    assert_eq!(metres, ["4/4", "3/4"]);
}

#[test]
fn without_a_metre_the_standard_s_default_is_taken() {
    let (piece, findings) = read(&one(track().key(0, 0, false).line(0, &[(1920, 60)])));
    assert_eq!(page(&piece, 0), "C4/whole");
    assert!(!piece.parts[0].metres[0].printed);
    assert_eq!(kinds(&findings), ["midi-metre-assumed"]);
}

#[test]
fn a_pickup_is_read_only_where_the_file_shows_it() {
    let line = [(480, 67), (1920, 60)];
    // The metre stated anew after one beat, or a metre of its own for the first bar.
    for first in [track().metre(0, 4, 2), track().metre(0, 1, 2)] {
        let (piece, findings) = read(&one(first.metre(480, 4, 2).key(0, 0, false).line(0, &line)));
        assert_eq!(page(&piece, 0), "G4/quarter | C4/whole");
        assert!(piece.bars[0].implicit);
        assert_eq!(
            (piece.label(notation::BarIndex(0)), piece.bars[0].length),
            ("0", Quarters::ONE)
        );
        assert_eq!(piece.parts[0].metres.len(), 1);
        assert!(findings.iter().any(|finding| finding.kind == "midi-pickup"));
    }
    let (piece, findings) = read(&one(track().metre(0, 4, 2).line(0, &line)));
    assert_eq!(
        page(&piece, 0),
        "G4/quarter C4/half. | ~C4/quarter r/quarter r/half"
    );
    assert!(said(&findings, "midi-pickup-unknown").contains("can't be told"));
}

#[test]
fn keys_are_kept_as_declared_or_guessed_and_marked() {
    let scale = [
        (480, 64),
        (480, 66),
        (480, 68),
        (480, 69),
        (480, 71),
        (480, 73),
        (480, 75),
        (480, 76),
    ];
    let (piece, _) = read(&one(track()
        .metre(0, 4, 2)
        .key(0, 4, true)
        .key(1920, -3, false)
        .line(0, &scale)));
    let keys: Vec<_> = piece.parts[0]
        .keys
        .iter()
        .map(|key| (key.value.fifths, key.value.declared_mode.clone()))
        .collect();
    assert_eq!(
        keys,
        [
            (Some(4), Some("minor".to_owned())),
            (Some(-3), Some("major".to_owned()))
        ]
    );
    let (piece, findings) = read(&one(track().metre(0, 4, 2).line(0, &scale)));
    let key = &piece.parts[0].keys[0];
    assert_eq!(
        (key.value.fifths, &key.value.declared_mode, key.printed),
        (Some(4), &None, false)
    );
    assert_eq!(
        piece.provenance.origins.get(&key.id).map(|origin| origin.how),
        Some(How::Guessed)
    );
    assert!(said(&findings, "midi-key-guessed").contains("4 sharps was taken"));
    assert_eq!(page(&piece, 0).split(' ').nth(1), Some("F#4/quarter"));
}

#[test]
fn no_accidental_is_said_to_be_printed() {
    let (piece, _) = read(&one(track()
        .metre(0, 4, 2)
        .key(0, 0, false)
        .line(0, &[(480, 60), (480, 61), (960, 62)])));
    let heads = piece.parts[0].events.iter().flat_map(notation::Event::heads);
    assert!(heads.into_iter().all(|head| head.accidental.is_none()));
}

#[test]
fn names_rights_markers_and_texts() {
    let notes = track()
        .metre(0, 4, 2)
        .text(0, 1, "made for a test")
        .text(0, 2, "(c) nobody")
        .text(0, 4, "Oboe")
        .text(1920, 6, "B")
        .text(1920, 7, "curtain")
        .text(2400, 1, "here")
        .program(0, 69)
        .program(1920, 70)
        .line(0, &[(1920, 60), (1920, 62)]);
    let (piece, _) = read(&one(notes));
    assert_eq!(piece.credits.page_words, ["made for a test"]);
    assert_eq!(piece.credits.rights, ["(c) nobody"]);
    let part = &piece.parts[0];
    assert_eq!(
        (part.name.as_str(), part.instrument_name.as_deref()),
        ("Oboe", Some("Oboe"))
    );
    assert_eq!(part.midi_program, Some(69));
    let sign = |name: &str, text: &str| DirectionKind::Sign {
        name: name.to_owned(),
        text: text.to_owned(),
    };
    let signs: Vec<_> = part
        .directions
        .iter()
        .map(|direction| direction.kind.clone())
        .collect();
    assert_eq!(
        signs,
        [
            DirectionKind::Rehearsal("B".to_owned()),
            sign("cue-point", "curtain"),
            sign("instrument-change", "program 70"),
            sign("text", "here")
        ]
    );
    assert!(part.directions.iter().all(|direction| !direction.printed));
}

/// Source: RP-017, lyric events: a hyphen joins a syllable to the next, a space ends the word.
#[test]
fn syllables_stand_under_their_notes() {
    let sung = track()
        .metre(0, 4, 2)
        .text(0, 5, "hal-")
        .text(480, 5, "lo ")
        .text(960, 5, "you")
        .text(1000, 5, "lost")
        .line(0, &[(480, 60), (480, 62), (960, 64)]);
    let (piece, findings) = read(&one(sung));
    let lyrics: Vec<_> = piece.parts[0]
        .events
        .iter()
        .flat_map(|event| &event.lyrics)
        .map(|lyric| (lyric.text.as_str(), lyric.syllabic.as_str()))
        .collect();
    assert_eq!(lyrics, [("hal", "begin"), ("lo", "end"), ("you", "single")]);
    assert!(said(&findings, "midi-lyrics").starts_with("1 syllables fall on no note"));
}

#[test]
fn what_only_shapes_the_sound_is_reported() {
    let notes = track()
        .metre(0, 4, 2)
        .key(0, 0, false)
        .raw(0, &[0xB0, 7, 100])
        .raw(0, &[0xB0, 64, 127])
        .raw(0, &[0xE0, 0, 64])
        .raw(0, &[0xA0, 60, 5])
        .raw(0, &[0xD0, 5])
        .raw(0, &[0xF0, 3, 0x7E, 0x09, 0xF7])
        .raw(0, &[0xF7, 1, 0xF8])
        .meta(0, 0x00, &[0, 1])
        .meta(0, 0x20, &[0])
        .meta(0, 0x21, &[0])
        .meta(0, 0x54, &[0, 0, 0, 0, 0])
        .meta(0, 0x7F, &[0x41])
        .meta(0, 0x60, &[1])
        .text(0, 8, "Grand")
        .text(0, 9, "Port A")
        .note(0, 480, 60);
    let (_, findings) = read(&one(notes));
    let said: Vec<&str> = findings
        .iter()
        .filter(|f| f.kind == "midi-not-kept")
        .map(|f| f.what.as_str())
        .collect();
    assert_eq!(
        said,
        [
            "a start by the film's clock (SMPTE offset) are not kept (1)",
            "controllers such as volume and panning are not kept (1)",
            "messages to one maker's instruments (system exclusive) are not kept (2)",
            "meta events of an unknown type are not kept (1)",
            "names of programs and devices are not kept (2)",
            "pitch bends are not kept (1)",
            "presses and releases of the damper pedal are not kept (1)",
            "pressure on keys (aftertouch) are not kept (2)",
            "what one program notes for itself (sequencer-specific) are not kept (1)",
        ]
    );
}

#[test]
fn tracks_that_state_different_keys_are_reported() {
    let tracks = vec![
        track().metre(0, 4, 2).key(0, 2, false).note(0, 480, 62),
        track().key(0, 4, false).note(0, 480, 64),
    ];
    let (piece, findings) = read(&file(tracks).bytes());
    assert_eq!(kinds(&findings), ["midi-keys-differ"]);
    assert_eq!(piece.parts[1].keys[0].value.fifths, Some(2));
}

#[test]
fn a_new_key_on_a_key_that_is_down_ends_the_note_before() {
    let notes = track()
        .metre(0, 4, 2)
        .key(0, 0, false)
        .raw(0, &[0x90, 60, 80])
        .raw(480, &[0x90, 60, 80])
        .raw(960, &[0x90, 60, 0])
        .raw(970, &[0x80, 60, 0])
        .raw(1440, &[0x90, 64, 80])
        .raw(1920, &[0xFF, 1, 0]);
    let (piece, findings) = read(&one(notes));
    assert_eq!(page(&piece, 0), "C4/quarter C4/quarter r/quarter E4/quarter");
    assert_eq!(
        kinds(&findings),
        ["midi-note-open", "midi-note-again", "midi-note-stray"]
    );
}

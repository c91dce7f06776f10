//! Do notes come onto the page as a musician would write them? Values, ties, tuplets, chords, voices, parts.

use crate::file::{File, file, one, track};
use crate::{kinds, page, read, said};
use notation::{ClefSign, HeadNote};

#[test]
fn a_line_in_its_metre() {
    let (piece, findings) = read(&one(track()
        .metre(0, 3, 2)
        .key(0, 1, false)
        .line(0, &[(480, 67), (240, 69), (240, 71), (480, 74), (1440, 67)])));
    assert_eq!(
        page(&piece, 0),
        "G4/quarter A4/eighth B4/eighth D5/quarter | G4/half."
    );
    assert_eq!(kinds(&findings), Vec::<&str>::new());
    assert!(
        said(&findings, "midi-no-page").contains("no accidentals, articulation, slurs, dynamics or words")
    );
    assert_eq!(
        said(&findings, "midi-quantised"),
        "all 5 notes start exactly on a division of the beat; none was moved"
    );
    let key = &piece.parts[0].keys[0].value;
    assert_eq!(
        (key.fifths, key.declared_mode.as_deref()),
        (Some(1), Some("major"))
    );
}

#[test]
fn long_notes_are_tied_over_the_bar_line_and_the_middle_of_the_bar() {
    let (piece, _) = read(&one(track()
        .metre(0, 4, 2)
        .line(0, &[(720, 60), (480, 62), (1200, 64), (480, 0), (960, 65)])));
    assert_eq!(
        page(&piece, 0),
        "C4/quarter. D4/eighth ~D4/eighth E4/quarter. | ~E4/half r/quarter F4/quarter | ~F4/quarter r/quarter r/half"
            .replace("| ~E4/half r/quarter F4/quarter |", "| ~E4/quarter r/quarter F4/half |")
            .replace(" | ~F4/quarter r/quarter r/half", "")
    );
}

#[test]
fn triplets_and_quintuplets_are_groups() {
    let (piece, _) = read(&one(track()
        .metre(0, 2, 2)
        .line(
            0,
            &[
                (160, 60),
                (160, 62),
                (160, 64),
                (96, 65),
                (96, 64),
                (96, 62),
                (96, 60),
                (96, 59),
            ],
        )
        .line(960, &[(320, 60), (320, 62), (320, 64)])));
    assert_eq!(
        page(&piece, 0),
        "C4/eighth[3:2] D4/eighth[3:2] E4/eighth[3:2] F4/16th[5:4] E4/16th[5:4] D4/16th[5:4] C4/16th[5:4] B3/16th[5:4] \
         | C4/quarter[3:2] D4/quarter[3:2] E4/quarter[3:2]"
    );
    let spans: Vec<_> = piece.parts[0].spans.iter().map(|span| &span.kind).collect();
    assert_eq!(spans.len(), 3);
}

#[test]
fn a_lone_triplet_note_keeps_its_length() {
    let line: Vec<(u32, u8)> = (0..12).map(|n| (480, 60 + n)).collect();
    let (piece, _) = read(&one(track()
        .metre(0, 4, 2)
        .line(0, &line)
        .line(5760, &[(160, 60), (320, 0), (1440, 62)])));
    assert!(
        page(&piece, 0).ends_with("| C4/eighth[3:2] r/quarter[3:2] D4/quarter ~D4/half"),
        "{}",
        page(&piece, 0)
    );
}

#[test]
fn notes_together_are_chords_and_longer_ones_another_voice() {
    let (piece, _) = read(&one(track()
        .metre(0, 4, 2)
        .note(0, 1920, 48)
        .note(0, 960, 64)
        .note(0, 960, 67)
        .note(960, 960, 65)));
    assert_eq!(page(&piece, 0), "E4+G4/half F4/half & C3/whole");
    let (piece, _) = read(&one(track().metre(0, 4, 2).note(0, 1920, 60).note(960, 480, 72)));
    assert_eq!(page(&piece, 0), "C4/whole & (2) C5/quarter (1)");
}

#[test]
fn a_format_1_file_has_a_part_for_each_track_and_channel() {
    let tracks = vec![
        track().text(0, 3, "Two Voices").metre(0, 4, 2),
        track().text(0, 3, "Flute").program(0, 74).note(0, 480, 72),
        track()
            .text(0, 3, "Band")
            .channel(3)
            .note(0, 480, 60)
            .channel(4)
            .note(0, 480, 48),
    ];
    let (piece, _) = read(&file(tracks).bytes());
    let names: Vec<&str> = piece.parts.iter().map(|part| part.name.as_str()).collect();
    assert_eq!(names, ["Flute", "Band (channel 3)", "Band (channel 4)"]);
    assert_eq!(piece.credits.title.as_deref(), Some("Two Voices"));
    assert_eq!(piece.parts[0].midi_program, Some(74));
    assert_eq!(piece.parts[0].clefs[0].value.name(), "treble");
    assert_eq!(piece.parts[2].clefs[0].value.name(), "bass");
    assert!(piece.concert_pitch);
}

#[test]
fn a_format_0_file_has_a_part_for_each_channel() {
    let notes = track()
        .text(0, 3, "Song")
        .note(0, 480, 72)
        .channel(2)
        .note(480, 480, 60);
    let (piece, _) = read(
        &File {
            format: 0,
            ..file(vec![notes])
        }
        .bytes(),
    );
    assert_eq!(piece.parts.len(), 2);
    assert_eq!(piece.credits.title.as_deref(), Some("Song"));
    assert_eq!(page(&piece, 1), "r/quarter C4/quarter r/half");
}

#[test]
fn of_a_format_2_file_the_first_pattern_is_read() {
    let tracks = vec![track().note(0, 480, 72), track().note(0, 480, 60)];
    let (piece, findings) = read(
        &File {
            format: 2,
            ..file(tracks)
        }
        .bytes(),
    );
    assert_eq!(page(&piece, 0), "C5/quarter r/quarter r/half");
    assert_eq!(piece.parts.len(), 1);
    assert!(said(&findings, "midi-patterns").starts_with("the file holds 2 independent patterns"));
}

/// Source: General MIDI 1 (RP-003): channel 10 is percussion.
#[test]
fn channel_10_has_no_pitch() {
    let (piece, findings) = read(&one(track().channel(10).line(0, &[(480, 38), (480, 42)])));
    let part = &piece.parts[0];
    assert_eq!(part.events[0].heads()[0].note, HeadNote::Unpitched(None));
    assert_eq!(part.clefs[0].value.sign, ClefSign::Percussion);
    assert!(part.keys.is_empty());
    assert!(kinds(&findings).contains(&"midi-percussion"));
}

/// Source: RP-029, a MIDI file in a RIFF container.
#[test]
fn a_wrapped_file_is_the_same_piece() {
    let plain = one(track().metre(0, 4, 2).note(0, 480, 60));
    let length = u32::try_from(plain.len()).unwrap();
    let riff = [
        b"RIFF",
        &(length + 12).to_le_bytes()[..],
        b"RMIDdata",
        &length.to_le_bytes(),
        &plain,
    ]
    .concat();
    assert_eq!(read(&riff).0, read(&plain).0);
}

#[test]
fn ticks_of_a_second_are_counted_by_the_tempo() {
    // 25 frames of 40 ticks: a millisecond a tick.
    let notes = track()
        .metre(0, 4, 2)
        .tempo(0, 60)
        .line(0, &[(1000, 60), (500, 62), (500, 64)]);
    let (piece, findings) = read(
        &File {
            division: [0xE7, 40],
            ..file(vec![notes])
        }
        .bytes(),
    );
    assert_eq!(page(&piece, 0), "C4/quarter D4/eighth E4/eighth r/half");
    assert!(kinds(&findings).contains(&"midi-by-seconds"));
}

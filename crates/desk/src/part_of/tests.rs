//! Parts taken out of small scores.

use super::part_of;
use notation::{BarGroupKind, DirectionKind, Piece, sketch};
use survey::{Options, Question};

/// A score of several sketches, one under the other.
fn score(parts: &[&str]) -> Piece {
    let mut all = parts.iter().map(|text| sketch(text).unwrap());
    let mut score = all.next().unwrap();
    for (index, mut other) in all.enumerate() {
        assert_eq!(score.bars.len(), other.bars.len());
        for line in &mut other.barlines {
            line.part = index + 1;
        }
        for hint in &mut other.sound_hints {
            hint.part = index + 1;
        }
        score.parts.append(&mut other.parts);
        score.barlines.append(&mut other.barlines);
        score.sound_hints.append(&mut other.sound_hints);
    }
    for (index, part) in score.parts.iter_mut().enumerate() {
        part.name = format!("Part {}", index + 1);
    }
    score.barlines.sort_by_key(|line| line.place);
    score
}

fn words(piece: &Piece) -> Vec<(u32, String)> {
    piece.parts[0]
        .directions
        .iter()
        .map(|d| {
            let text = match &d.kind {
                DirectionKind::Words(text) | DirectionKind::Dynamic(text) => text.clone(),
                DirectionKind::Rehearsal(text) => format!("[{text}]"),
                other => format!("{other:?}").split('(').next().unwrap().to_owned(),
            };
            (d.place.bar.0, text)
        })
        .collect()
}

fn rests(piece: &Piece) -> Vec<(u32, u32)> {
    piece.parts[0]
        .bar_groups
        .iter()
        .filter(|group| group.kind == BarGroupKind::MultiRest)
        .map(|group| (group.start.0, group.bars))
        .collect()
}

#[test]
fn a_piece_of_one_part_is_its_part() {
    let piece = sketch("metre:4/4 \"Allegro\" C4/w | R | R |.").unwrap();
    let alone = part_of(&piece, 0).unwrap();
    assert_eq!(alone, piece);
    assert!(part_of(&piece, 1).is_none());
}

#[test]
fn what_stands_over_the_top_part_for_all_comes_along() {
    let score = score(&[
        "metre:2/4 \"Allegro\" mm:q=120 @f C4/h | \"dolce\" reh:A D4/h | segno E4/h | \"rit.\" F4/h | \"D.S._al_Fine\" G4/h |.",
        "metre:2/4 @p C3/h | \"pizz.\" D3/h | E3/h | F3/h | G3/h |",
    ]);
    let alone = part_of(&score, 1).unwrap();
    let said: Vec<(u32, String)> = words(&alone);
    let said: Vec<(u32, &str)> = said.iter().map(|(bar, text)| (*bar, text.as_str())).collect();
    assert_eq!(
        said,
        [
            (0, "Allegro"),
            (0, "Metronome"),
            (0, "p"),
            (1, "[A]"),
            (1, "pizz."),
            (2, "Segno"),
            (3, "rit."),
            (4, "D.S. al Fine"),
        ]
    );
    assert_eq!(alone.barlines.len(), 1, "the final bar line of the first part");
    assert_eq!(alone.barlines[0].part, 0);
}

#[test]
fn what_the_part_says_itself_is_not_said_twice() {
    let score = score(&[
        "metre:2/4 \"Allegro\" reh:A C4/h | D4/h :|",
        "metre:2/4 \"Allegro_(quick)\" reh:A C3/h | D3/h :|",
        "metre:2/4 reh:A C3/h | D3/h :|",
    ]);
    for (index, tempo) in [(0, "Allegro"), (1, "Allegro (quick)"), (2, "Allegro")] {
        let alone = part_of(&score, index).unwrap();
        let said = words(&alone);
        assert_eq!(said.len(), 2, "{said:?}");
        assert!(said.iter().any(|(_, text)| text == tempo), "{said:?}");
        assert_eq!(alone.barlines.len(), 1);
    }
}

#[test]
fn bars_of_rest_are_drawn_together_until_something_happens() {
    let score = score(&[
        "metre:4/4 C4/w | D4/w | E4/w | reh:A F4/w | G4/w | G4/w || A4/w | B4/w!fermata | C5/w | C5/w |.",
        "metre:4/4 R | R | R | R | R | R | R | R | R | R |",
    ]);
    let alone = part_of(&score, 1).unwrap();
    // Bars 1–3; from A (bar 4) to the double bar; bar 7 alone, since bar 8 is held; the last two.
    assert_eq!(rests(&alone), [(0, 3), (3, 3), (8, 2)]);
}

#[test]
fn a_cue_or_a_new_metre_breaks_the_rest() {
    let mut score = score(&[
        "metre:4/4 C4/w | D4/w | E4/w | F4/w | metre:2/4 G4/h | G4/h |",
        "metre:4/4 R | R | R | E4/w | metre:2/4 R | R |",
    ]);
    for event in &mut score.parts[1].events {
        event.cue = event.is_note();
    }
    let alone = part_of(&score, 1).unwrap();
    assert_eq!(rests(&alone), [(0, 3), (4, 2)]);
    assert!(alone.parts[0].events.iter().any(|event| event.cue));
}

#[test]
fn the_part_stays_as_it_is_written_and_keeps_its_transposition() {
    let score = score(&[
        "metre:4/4 C4/w | D4/w |.",
        "metre:4/4 trans:-1,-2 key:2 D4/w | E4/w |",
    ]);
    let alone = part_of(&score, 1).unwrap();
    assert_eq!(alone.parts[0].transpositions, score.parts[1].transpositions);
    assert_eq!(alone.parts[0].events, score.parts[1].events);
    assert_eq!(alone.parts[0].id, score.parts[1].id);
}

/// The road and the speed are the same from the part alone as from its score.
#[test]
fn the_part_alone_is_surveyed_as_in_its_score() {
    let score = score(&[
        "metre:3/4 \"Andante\" mm:q=80 |: C4/h. | D4/h. [1 | E4/h. :| [2 F4/h. ]2 | segno G4/h. | \"D.C._al_Fine\" A4/h. |.",
        "metre:3/4 C3/h. | D3/h. | E3/h. | F3/h. | G3/h. | A3/h. |",
    ]);
    let options = Options::default();
    let inside = survey::survey(&score, 1, &Question::ALL, &options).unwrap();
    let alone = survey::survey(&part_of(&score, 1).unwrap(), 0, &Question::ALL, &options).unwrap();
    assert_eq!(alone.road_map.play_order, inside.road_map.play_order);
    assert!(alone.road_map.bars_played > 6);
    let reading = |survey: &survey::Survey| survey.tempo.as_ref().unwrap().first_reading.clone();
    assert_eq!(reading(&alone), reading(&inside));
    assert_eq!(alone.tempo.unwrap().marking.as_deref(), Some("Andante"));
}

#[test]
fn a_part_of_a_score_at_concert_pitch_is_written_for_its_player() {
    let mut score = score(&[
        "metre:4/4 key:-2 Bb4/q C5/q D5/q F#5/q | Eb5/w |.",
        "metre:4/4 key:-2 Bb2/w | Eb3/w |.",
        "metre:4/4 key:-2 Bb3/w | R |.",
    ]);
    score.concert_pitch = true;
    score.parts[0].name = "Clarinet in B♭".to_owned();
    score.parts[1].name = "Bassoon".to_owned();
    score.parts[2].name = "Whatever".to_owned();
    // The score itself says: a horn in E flat, a major sixth lower.
    score.parts[2].for_player = Some(notation::Transposition {
        diatonic: -5,
        chromatic: notation::Rational::whole(-9),
        octaves: 0,
        doubled: false,
    });
    let heads = |piece: &Piece| -> Vec<notation::Pitch> {
        let events = piece.parts[0].events.iter();
        events.flat_map(|event| event.pitches()).collect()
    };
    let notes = |piece: &Piece| -> Vec<String> { heads(piece).iter().map(ToString::to_string).collect() };
    let sounding = |piece: &Piece| -> Vec<String> {
        let by = piece.parts[0].transposition_at(notation::Place::default());
        heads(piece)
            .iter()
            .map(|pitch| by.sounding(*pitch).to_string())
            .collect()
    };
    let clarinet = part_of(&score, 0).unwrap();
    assert_eq!(notes(&clarinet), ["C5", "D5", "E5", "G#5", "F5"]);
    assert_eq!(sounding(&clarinet), ["Bb4", "C5", "D5", "F#5", "Eb5"]);
    assert_eq!(clarinet.parts[0].keys[0].value.fifths, Some(0));
    assert!(!clarinet.concert_pitch);
    let bassoon = part_of(&score, 1).unwrap();
    assert_eq!(notes(&bassoon), ["Bb2", "Eb3"]);
    assert!(bassoon.concert_pitch);
    let horn = part_of(&score, 2).unwrap();
    assert_eq!(
        (notes(&horn), sounding(&horn)),
        (vec!["G4".to_owned()], vec!["Bb3".to_owned()])
    );
    assert_eq!(horn.parts[0].keys[0].value.fifths, Some(1));
    let findings = (0..3).filter_map(|n| super::concert::finding(&score, n));
    let kinds: Vec<String> = findings.map(|f| f.kind.to_string()).collect();
    assert_eq!(
        kinds,
        [
            "part-written-for-player",
            "part-at-concert-pitch",
            "part-written-for-player"
        ]
    );
}

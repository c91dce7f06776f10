//! Road maps written in a line, and the order they must give.
//!
//! Each `.` is a bar of one quarter note (`..` two); signs stand where they are read: `|:` and `[1` before the bar,
//! `:|` (`:|x3`), `]` (`)` open), `||`, `|.`, words in quotes (`_` for spaces), `segno`, `coda`, `s:fine=yes` after or
//! before it: words, signs and hints belong to the bar written last, or to the next one after a `>`.

use super::{LeapKind, RepeatsAfterJump, RoadOptions, Unfolding, unfold};
use notation::{
    Bar, BarIndex, BarSide, Barline, Direction, DirectionKind, Ending, EndingKind, Fermata, IdKind, Part,
    Piece, Place, Quarters, Repeat, SoundHint,
};
use proptest::prelude::*;

fn piece(text: &str) -> Piece {
    let mut piece = Piece::default();
    let mut part = Part::new(piece.ids.give(IdKind::Part), "Oboe");
    let mut next = false;
    for token in text.split_whitespace() {
        let last = BarIndex::from_usize(piece.bars.len().saturating_sub(1));
        let coming = BarIndex::from_usize(piece.bars.len());
        let here = Place::start_of(if next { coming } else { last });
        let line = |piece: &mut Piece, side, style: &str, repeat, ending| {
            let bar = if side == BarSide::Left { coming } else { last };
            let id = piece.ids.give(IdKind::Barline);
            piece.barlines.push(Barline {
                id,
                part: 0,
                place: Place::start_of(bar),
                side,
                style: Some(style.to_owned()),
                repeat,
                ending,
                fermatas: vec![],
                segno: None,
                coda: None,
            });
        };
        let ending = |number: &str, kind| {
            Some(Ending {
                number: number.to_owned(),
                text: String::new(),
                kind,
            })
        };
        let repeat = |forward, times| {
            Some(Repeat {
                forward,
                times,
                after_jump: None,
            })
        };
        if token.bytes().all(|b| b == b'.') {
            for _ in 0..token.len() {
                let id = piece.ids.give(IdKind::Bar);
                let label = (piece.bars.len() + 1).to_string();
                let length = Quarters::ONE;
                piece.bars.push(Bar {
                    id,
                    label,
                    implicit: false,
                    length,
                    new_system: false,
                    new_page: false,
                });
            }
            next = false;
            continue;
        }
        match token {
            ">" => next = true,
            "|:" => line(&mut piece, BarSide::Left, "heavy-light", repeat(true, None), None),
            "||" => line(&mut piece, BarSide::Right, "light-light", None, None),
            "|." => line(&mut piece, BarSide::Right, "light-heavy", None, None),
            "fermata" => {
                line(&mut piece, BarSide::Right, "regular", None, None);
                let fermata = Fermata {
                    shape: String::new(),
                    inverted: false,
                };
                piece
                    .barlines
                    .last_mut()
                    .expect("a bar line")
                    .fermatas
                    .push(fermata);
            }
            _ if token.starts_with(":|") => {
                let times = token.strip_prefix(":|x").map(|n| n.parse().expect("a number"));
                line(
                    &mut piece,
                    BarSide::Right,
                    "light-heavy",
                    repeat(false, times),
                    None,
                );
            }
            _ if token.starts_with('[') => {
                line(
                    &mut piece,
                    BarSide::Left,
                    "regular",
                    None,
                    ending(&token[1..], EndingKind::Start),
                );
            }
            _ if token.starts_with(']') => {
                line(
                    &mut piece,
                    BarSide::Right,
                    "regular",
                    None,
                    ending(&token[1..], EndingKind::Stop),
                );
            }
            _ if token.starts_with(')') => {
                line(
                    &mut piece,
                    BarSide::Right,
                    "regular",
                    None,
                    ending(&token[1..], EndingKind::Discontinue),
                );
            }
            _ if token.starts_with("s:") => {
                let pairs = token[2..]
                    .split(';')
                    .map(|pair| pair.split_once('=').expect("name=value"));
                let attributes = pairs.map(|(a, b)| (a.to_owned(), b.to_owned())).collect();
                piece.sound_hints.push(SoundHint {
                    place: here,
                    part: 0,
                    attributes,
                });
            }
            _ => {
                let kind = match token {
                    "segno" => DirectionKind::Segno,
                    "coda" => DirectionKind::Coda,
                    words => DirectionKind::Words(words.trim_matches('"').replace('_', " ")),
                };
                let id = piece.ids.give(IdKind::Direction);
                part.directions.push(Direction {
                    id,
                    place: here,
                    staff: None,
                    voice: None,
                    side: None,
                    printed: true,
                    kind,
                });
            }
        }
    }
    part.index_bars(piece.bars.len());
    piece.parts.push(part);
    piece
}

/// The order as runs of labels: `1-4 1-3 5`.
fn runs(piece: &Piece, unfolding: &Unfolding) -> String {
    let labels: Vec<&str> = unfolding
        .played
        .iter()
        .map(|played| piece.label(played.bar))
        .collect();
    let numbers: Vec<i64> = labels
        .iter()
        .map(|label| label.parse().expect("a number"))
        .collect();
    let run = |run: &[i64]| match run {
        [one] => one.to_string(),
        [first, .., last] => format!("{first}-{last}"),
        [] => String::new(),
    };
    numbers
        .chunk_by(|a, b| *b == a + 1)
        .map(run)
        .collect::<Vec<_>>()
        .join(" ")
}

fn order_with(text: &str, options: RoadOptions) -> (String, Vec<&'static str>) {
    let piece = piece(text);
    let unfolding = unfold(&piece, &options);
    (
        runs(&piece, &unfolding),
        unfolding.findings.iter().map(|finding| finding.kind).collect(),
    )
}

/// The order of a road map that is well formed: nothing worse than a note is found.
#[track_caller]
fn check(text: &str, expected: &str) {
    let piece = piece(text);
    let unfolding = unfold(&piece, &RoadOptions::default());
    assert_eq!(
        runs(&piece, &unfolding),
        expected,
        "{text}\n{:#?}",
        unfolding.findings
    );
    let worse: Vec<String> = unfolding
        .findings
        .iter()
        .filter(|f| f.severity > notation::Severity::Note)
        .map(ToString::to_string)
        .collect();
    assert!(worse.is_empty(), "{text}: {worse:?}");
}

/// The order of one that is not, and the finding that must say so.
#[track_caller]
fn check_odd(text: &str, expected: &str, finding: &str) {
    let (order, kinds) = order_with(text, RoadOptions::default());
    assert_eq!(order, expected, "{text} {kinds:?}");
    assert!(kinds.contains(&finding), "{text}: {kinds:?}");
}

/// Source: MusicXML 4.0, `repeat`: direction and times ("the number of times the repeated section is played").
#[test]
fn plain_repeats() {
    check("....", "1-4");
    check(".. :| ..", "1-2 1-4");
    check(". |: .. :| .", "1-3 2-4");
    check("|: .. :| |: .. :|", "1-2 1-4 3-4");
    check("|: . :|x5 .", "1 1 1 1 1-2");
    check("|: .. :|x1 .", "1-3");
}

/// Source: common practice: an end-repeat without a start goes back to the last end-repeat, not to the beginning.
#[test]
fn an_end_repeat_without_a_start() {
    check(".. :| ..", "1-2 1-4");
    check_odd(".. :| .. :| .", "1-2 1-4 3-5", "end-repeat-without-start");
    check_odd(
        ". |: .. :|x5 .... :|x3 .",
        "1-3 2-3 2-3 2-3 2-7 4-7 4-8",
        "end-repeat-without-start",
    );
    // Fine at a double bar closes a section: the trio repeats itself alone.
    check_odd(
        ".. :| .. \"Fine\" || .. :| .. \"D.C._al_Fine\" |.",
        "1-2 1-6 5-8 1-4",
        "end-repeat-without-start",
    );
}

#[test]
fn a_start_repeat_that_is_never_closed() {
    check_odd(". |: ..", "1-3", "start-repeat-never-closed");
    check_odd("|: .. |: .. :| .", "1-4 3-5", "start-repeat-never-closed");
}

/// Source: common practice for repeats within repeats: the inner one is taken each time round.
#[test]
fn a_repeat_in_a_repeat() {
    check_odd("|: . |: . :| . :| .", "1-2 2-3 1-2 2-4", "nested-repeat");
}

/// Source: MusicXML 4.0, `ending`: number, start, stop, discontinue.
#[test]
fn endings() {
    check("|: .. [1 . ]1 :| [2 . ]2 ..", "1-3 1-2 4-6");
    check(".. [1 . ]1 :| [2 . )2", "1-3 1-2 4");
    check("|: . [1,2 . ]1,2 :| [3 . ]3 .", "1-2 1-2 1 3-4");
    check("|: . [1-3 . ]1-3 :| [4 . ]4", "1-2 1-2 1-2 1 3");
    check("|: . [1 . ]1 :| [2 . ]2 :| [3 . ]3 .", "1-2 1 3 1 4-5");
    check(
        "|: . [1_3 . ]1_3 :| [2 . ]2 :| [4 . ]4 ."
            .replace('_', ",")
            .as_str(),
        "1-2 1 3 1-2 1 4-5",
    );
    // A first ending, the second without a bracket.
    check("|: .. [1 . ]1 :| ..", "1-3 1-2 4-5");
    check("|: . [1 . ]1 :| [2 . )2 |: . [1 . ]1 :| [2 . )2", "1-2 1 3-5 4 6");
}

#[test]
fn endings_that_are_not_well_formed() {
    check_odd("|: .. [1 . ]1 :| ..", "1-3 1-2 4-5", "ending-alone");
    check_odd(".. [1 . :| [2 . ]2 .", "1-3 1-2 4-5", "ending-without-end");
    check_odd("|: .. ] :| [2 . )2 .", "1-2 1 3-4", "ending-without-start");
    check_odd("|: .. ] :| [2 . )2 .", "1-2 1 3-4", "ending-number-missing");
    check_odd("|: .. ]2 :| [2 . )2 .", "1-2 1 3-4", "ending-number-twice");
    check_odd(
        "|: .. [1 . ]1 . :| [2 . )2 .",
        "1-4 1-2 5-6",
        "ending-drawn-short",
    );
    check_odd(
        "|: .. [1 . ]1 :| [2 . ]2 :| .",
        "1-3 1-2 4-5",
        "last-ending-repeats",
    );
    check_odd("|: . [1 . ]1 :|x3 [2 . ]2 .", "1-2 1 3-4", "repeat-count-differs");
    check_odd("|: . :|x0 .", "1 1-2", "repeat-count-odd");
    check_odd("|: . [1 . ]1 :| [3 . ]3 .", "1-2 1 3-4", "ending-numbers-skip");
    check_odd("|: . [x . ]x :| [y . ]y .", "1-2 1 3-4", "ending-number-missing");
    // Brackets for more passes than one, then for one of them: each time through has its ending.
    check_odd(
        ". [1,2,3 . ]1,2,3 [2 . )2 . ]2 :| .",
        "1-2 4 1 3-4 1-2 4-5",
        "ending-number-twice",
    );
}

/// Source: MusicXML 4.0, `sound` (dacapo, dalsegno, fine, tocoda, coda, segno and their default passes).
#[test]
fn jumps_from_playback_hints() {
    check(".. s:fine=yes .. s:dacapo=yes", "1-4 1-2");
    check(". > s:segno=a .. s:fine=yes . s:dalsegno=a", "1-4 2-3");
    check(
        ". > s:segno=a . s:tocoda=b . s:dalsegno=a > s:coda=b ..",
        "1-3 2 4-5",
    );
    check(".. s:tocoda=c . s:dacapo=yes > s:coda=c ..", "1-3 1-2 4-5");
}

/// Source: Grove's Dictionary, "Da capo", "Dal segno", "Fine"; common practice for the coda signs.
#[test]
fn jumps_from_words_alone() {
    check(".. \"Fine\" .. \"D.C._al_Fine\" |.", "1-4 1-2");
    check(". > segno .. \"Fine\" . \"D.S._al_Fine\"", "1-4 2-3");
    check(
        ". > segno . \"To_Coda\" . \"D.S._al_Coda\" > coda \"Coda\" ..",
        "1-3 2 4-5",
    );
    // Signs alone: the first coda sign is left, the second is reached.
    check(". > segno . coda . \"D.S._al_Coda\" > coda ..", "1-3 2 4-5");
    check(".. \"Da_Capo\"", "1-2 1-2");
}

#[test]
fn one_jump_said_twice_and_contradictions() {
    check(
        ".. \"Fine\" s:fine=yes .. \"D.C._al_Fine\" s:dacapo=yes |.",
        "1-4 1-2",
    );
    check_odd(
        ". > segno .. \"Fine\" . \"D.S._al_Fine\" s:dacapo=yes",
        "1-4 2-3",
        "jump-words-and-sound-differ",
    );
}

/// Source: Grove's Dictionary (1883), "Repeat": repeats done first, then the da capo "gone once straight through".
#[test]
fn a_da_capo_at_an_end_repeat_comes_after_the_repeat() {
    let polonaise = "|: .. :| |: .. \"Fine\" :| |: .. :| |: .. \"D.C._al_Fine\" :|";
    check(polonaise, "1-2 1-4 3-6 5-8 7-8 1-4");
    let yes = RoadOptions {
        repeats_after_jump: RepeatsAfterJump::Yes,
    };
    assert_eq!(order_with(polonaise, yes).0, "1-2 1-4 3-6 5-8 7-8 1-2 1-4 3-4");
    // What the page says comes before the option.
    let without = polonaise.replace("al_Fine", "al_Fine_senza_replica");
    assert_eq!(order_with(&without, yes).0, "1-2 1-4 3-6 5-8 7-8 1-4");
    let with = polonaise.replace("al_Fine", "al_Fine_con_repetizione");
    assert_eq!(
        order_with(&with, RoadOptions::default()).0,
        "1-2 1-4 3-6 5-8 7-8 1-2 1-4 3-4"
    );
}

/// Source: MusicXML 4.0, `repeat`: after-jump.
#[test]
fn the_source_may_say_which_repeat_is_taken_after_the_jump() {
    let mut piece = piece("|: .. :| |: .. :| \"Fine\" . \"D.C._al_Fine\" |.");
    for line in &mut piece.barlines {
        if let Some(repeat) = line.repeat.as_mut().filter(|repeat| !repeat.forward) {
            repeat.after_jump = Some(line.place.bar == BarIndex(1));
        }
    }
    let unfolding = unfold(&piece, &RoadOptions::default());
    assert_eq!(runs(&piece, &unfolding), "1-2 1-4 3-5 1-2 1-4");
}

/// Source: common practice: after a D.S. the last ending is played.
#[test]
fn the_last_ending_after_a_jump() {
    check(
        "|: . > segno .. [1 . ]1 :| [2 . ]2 . \"D.S.\"",
        "1-4 1-3 5-6 2-3 5-6",
    );
    check(
        "|: .. [1 . ]1 :| [2 . ]2 \"Fine\" || .. \"D.C._al_Fine\"",
        "1-3 1-2 4-6 1-2 4",
    );
    // An ending kept for the time after the jump.
    check("> segno .. [1 . ]1 \"D.S.\" [2 . ]2 .", "1-3 1-2 4-5");
}

#[test]
fn a_named_da_capo_ends_before_the_trio() {
    check(
        "> \"Menuetto\" .. :| |: .. :| > \"Trio\" |: .. :| |: .. \"Menuetto_da_capo.\" . :|",
        "1-2 1-4 3-6 5-9 7-9 1-4",
    );
    check_odd(
        ".. :| |: .. :| |: .. :| |: .. \"M.D.C.\" :|",
        "1-2 1-4 3-6 5-8 7-8 1-4",
        "da-capo-end",
    );
    check(
        "> \"Menuetto\" .. :| |: .. :| > \"Trio\" |: .. :| |: .. :| . \"Menuetto_D.C.\" || > \"Coda\" ..",
        "1-2 1-4 3-6 5-8 7-9 1-4 10-11",
    );
}

/// Source: common practice of older prints: a fermata over the double bar marks the end of a da capo.
#[test]
fn a_fermata_over_a_double_bar_stands_for_fine() {
    check_odd(".. fermata || .. \"D.C.\" |.", "1-4 1-2", "da-capo-end");
    check(".. || .. \"D.C.\" |.", "1-4 1-4");
}

/// Source: common practice for `bis` and `play 4 times`; MusicXML 4.0, `times`, comes first.
#[test]
fn words_may_say_how_often() {
    check("|: . . \"play_4_times\" :| .", "1-2 1-2 1-2 1-3");
    check("|: . . \"play_4_times\" :|x3 .", "1-2 1-2 1-3");
}

/// A repeat sign belongs to its bar line, whichever bar the file writes it in.
#[test]
fn repeat_signs_on_the_other_side_of_the_bar_line() {
    let mut piece = piece(".. |: .. :| .");
    for line in &mut piece.barlines {
        let bar = line.place.bar.0;
        (line.side, line.place) = match line.side {
            BarSide::Left => (BarSide::Right, Place::start_of(BarIndex(bar - 1))),
            _ => (BarSide::Left, Place::start_of(BarIndex(bar + 1))),
        };
    }
    let unfolding = unfold(&piece, &RoadOptions::default());
    assert_eq!(runs(&piece, &unfolding), "1-4 3-5");
}

/// Source: Grove's Dictionary, "Da capo" (da capo al segno, e poi la coda): to the sign, and on to the coda.
#[test]
fn da_capo_to_the_sign_and_then_the_coda() {
    check(
        "... > segno .. \"D.C._al_Segno_e_poi_la_Coda\" || > \"Coda\" ..",
        "1-5 1-3 6-7",
    );
}

#[test]
fn a_sentence_may_ask_for_the_middle_section_once_more() {
    check(
        "|: .. :| . || > \"Maggiore\" .. \"Da_Capo_il_minore_ma_senza_replica_ed_allora_ancora_una_volta_il_trio,\
         _e_dopo_di_nuovo_da_capo_il_minore_senza_replica\" |.",
        "1-2 1-5 1-5 1-3",
    );
}

#[test]
fn several_segnos_the_nearest_before_is_meant_unless_named() {
    check("> segno . . > segno . . \"D.S.\" .", "1-4 3-5");
    check(". > s:segno=x . > s:segno=y . . s:dalsegno=x .", "1-4 2-5");
}

#[test]
fn what_is_missing_is_said() {
    check_odd(".. . \"D.S._al_Fine\" |.", "1-3 1-3", "jump-missing-segno");
    check_odd("... \"D.C._al_Fine\" |.", "1-3 1-3", "jump-missing-fine");
    check_odd(
        ".. fermata || .. \"D.C._al_Fine\" |.",
        "1-4 1-2",
        "jump-missing-fine",
    );
    check_odd(
        "> segno .. \"D.S._al_Coda\" > \"Coda\" ..",
        "1-2 1-4",
        "jump-missing-to-coda",
    );
    check_odd(
        "> segno . \"To_Coda\" . \"D.S._al_Coda\" ..",
        "1-2 1 3-4",
        "to-coda-without-coda",
    );
    check_odd(".. \"Fine\" || ..", "1-4", "fine-without-jump");
    check_odd(". > segno . > coda ..", "1-4", "segno-without-jump");
}

/// Source: MusicXML 4.0, `sound`: time-only overrides the default passes.
#[test]
fn time_only_names_the_passes() {
    check("|: . . s:tocoda=c;time-only=2 . :| > s:coda=c .", "1-3 1-2 4");
    check("> s:segno=a .. s:dalsegno=a;time-only=1,2 .", "1-2 1-2 1-3");
}

/// Source: MusicXML 4.0, `sound`: forward-repeat, "an implied, not printed, start-repeat".
#[test]
fn a_start_repeat_may_be_hinted() {
    check(".. > s:forward-repeat=yes .. :| .", "1-4 3-5");
}

#[test]
fn repeats_in_the_middle_of_a_bar() {
    // Four bars of two quarter notes; the repeat ends after the first quarter of bar 3.
    let mut piece = piece("....");
    for bar in &mut piece.bars {
        bar.length = Quarters::whole(2);
    }
    let id = piece.ids.give(IdKind::Barline);
    piece.barlines.push(Barline {
        id,
        part: 0,
        place: Place {
            bar: BarIndex(2),
            offset: Quarters::ONE,
        },
        side: BarSide::Middle,
        style: Some("light-heavy".to_owned()),
        repeat: Some(Repeat {
            forward: false,
            times: None,
            after_jump: None,
        }),
        ending: None,
        fermatas: vec![],
        segno: None,
        coda: None,
    });
    let unfolding = unfold(&piece, &RoadOptions::default());
    assert_eq!(runs(&piece, &unfolding), "1-3 1-4");
    let cut = unfolding.played[2];
    assert_eq!(
        (cut.bar, cut.from, cut.to),
        (BarIndex(2), Quarters::ZERO, Quarters::ONE)
    );
    assert_eq!(unfolding.quarters_played(), Quarters::whole(13));
    assert_eq!(unfolding.played[5].pass, 2);
    assert_eq!(unfolding.played[5].to, Quarters::whole(2));
}

#[test]
fn evidence_of_all_parts_is_pooled() {
    let mut piece = piece("|: .. :| .. .. |.");
    let id = piece.ids.give(IdKind::Part);
    let mut cello = Part::new(id, "Cello");
    let id = piece.ids.give(IdKind::Direction);
    let kind = DirectionKind::Words("Da\ncapo".to_owned());
    let place = Place::start_of(BarIndex(5));
    cello.directions.push(Direction {
        id,
        place,
        staff: None,
        voice: None,
        side: None,
        printed: true,
        kind,
    });
    cello.index_bars(6);
    piece.parts.push(cello);
    let unfolding = unfold(&piece, &RoadOptions::default());
    assert_eq!(runs(&piece, &unfolding), "1-2 1-6 1-6");
    assert!(
        unfolding
            .findings
            .iter()
            .any(|finding| finding.kind == "jump-in-one-part")
    );
}

#[test]
fn the_maps_lead_there_and_back() {
    let piece = piece("|: .. :| .");
    let unfolding = unfold(&piece, &RoadOptions::default());
    assert_eq!(unfolding.played_of(BarIndex(1)), [1, 3]);
    assert_eq!(
        unfolding.times_of(Place::start_of(BarIndex(1))),
        [Quarters::ONE, Quarters::whole(3)]
    );
    let half = Quarters::new(1, 2);
    let (played, place) = unfolding
        .written_at(Quarters::whole(3) + half)
        .expect("within the piece");
    assert_eq!(
        (played, place),
        (
            3,
            Place {
                bar: BarIndex(1),
                offset: half
            }
        )
    );
    assert_eq!(unfolding.written_at(Quarters::whole(5)), None);
}

const TOKENS: [&str; 34] = [
    ".",
    ".",
    ".",
    ".",
    "|:",
    "|:",
    ":|",
    ":|",
    ":|x3",
    ":|x99",
    "[1",
    "[2",
    "[1,2",
    "[",
    "]1",
    "]2",
    ")2",
    "]",
    "||",
    "|.",
    "\"Fine\"",
    "\"D.C.\"",
    "\"D.S._al_Coda\"",
    "\"D.C._al_Fine\"",
    "\"To_Coda\"",
    "segno",
    "coda",
    "fermata",
    ">",
    "s:dacapo=yes;time-only=1,2,3",
    "s:tocoda=a",
    "s:forward-repeat=yes",
    "\"Menuetto_D.C.\"",
    "\"Trio\"",
];

proptest! {
    /// Whatever the signs: it ends, never panics, and every bar is played or said not to be.
    #[test]
    fn any_road_map_ends(tokens in proptest::collection::vec(0..TOKENS.len(), 0..60), yes: bool) {
        let text: Vec<&str> = tokens.iter().map(|index| TOKENS[*index]).collect();
        let piece = piece(&text.join(" "));
        let repeats_after_jump = if yes { RepeatsAfterJump::Yes } else { RepeatsAfterJump::No };
        let unfolding = unfold(&piece, &RoadOptions { repeats_after_jump });
        for bar in 0..piece.bars.len() {
            let bar = BarIndex::from_usize(bar);
            let played = unfolding.played.iter().any(|played| played.bar == bar);
            prop_assert_eq!(played, !unfolding.never_played.contains(&bar));
        }
        let said = unfolding.findings.iter().any(|finding| finding.kind == "bar-never-played");
        prop_assert_eq!(said, !unfolding.never_played.is_empty());
        prop_assert_eq!(unfolding.onsets.len(), unfolding.played.len() + 1);
        if !piece.bars.is_empty() {
            prop_assert!(!unfolding.played.is_empty());
            prop_assert_eq!(unfolding.sections.last().map(|section| section.end.bar.get()), Some(piece.bars.len()));
        }
    }

    /// Without repeats and jumps every bar is played once, in order.
    #[test]
    fn a_plain_page_is_read_through(bars in 1usize..200, double in 0usize..200) {
        let mut text = ". ".repeat(bars.min(double));
        text.push_str("|| ");
        text.push_str(&". ".repeat(bars.saturating_sub(double)));
        let piece = piece(&text);
        let unfolding = unfold(&piece, &RoadOptions::default());
        let order: Vec<usize> = unfolding.order().iter().map(|bar| bar.get()).collect();
        prop_assert_eq!(order, (0..piece.bars.len()).collect::<Vec<_>>());
        prop_assert!(unfolding.leaps.is_empty());
    }

    /// Well-formed repeats are all played as often as they say.
    #[test]
    fn well_formed_repeats_add_up(strains in proptest::collection::vec((1usize..5, 1u32..6), 1..12)) {
        let text: Vec<String> =
            strains.iter().map(|(bars, times)| format!("|: {} :|x{times}", ". ".repeat(*bars))).collect();
        let piece = piece(&text.join(" "));
        let unfolding = unfold(&piece, &RoadOptions::default());
        let expected: usize = strains.iter().map(|(bars, times)| bars * usize::try_from(*times).unwrap_or(0)).sum();
        prop_assert_eq!(unfolding.played.len(), expected);
        prop_assert!(unfolding.never_played.is_empty());
    }
}

/// A road map with sections named by single letters, each with its first bar and the bar after its last, from 1.
fn listed(text: &str, sections: &[(&str, u32, u32)], order: &str, written_out: bool) -> (String, Unfolding) {
    let mut piece = piece(text);
    let at = |bar: u32| Place::start_of(BarIndex(bar - 1));
    let named = sections.iter().map(|(name, start, end)| notation::NamedSection {
        name: (*name).to_owned(),
        start: at(*start),
        end: at(*end),
    });
    piece.section_orders.sections = named.collect();
    let index = |letter: char| sections.iter().position(|(name, ..)| name.starts_with(letter));
    piece.section_orders.lists.push(notation::SectionList {
        name: String::new(),
        order: order
            .chars()
            .map(|letter| u32::try_from(index(letter).expect("a section")).expect("few"))
            .collect(),
        followed: true,
        written_out,
    });
    let unfolding = unfold(&piece, &RoadOptions::default());
    (runs(&piece, &unfolding), unfolding)
}

/// Source: ABC 2.1, section 3.1.9: `P:A3(BC)2` plays the parts in that order, each with its own repeats.
#[test]
fn the_order_of_sections_that_the_source_lists_is_followed() {
    let three = [("A", 1, 3), ("B", 3, 5), ("C", 5, 6)];
    let (order, unfolding) = listed(".. || .. || .", &three, "ABAC", false);
    assert_eq!(order, "1-4 1-2 5");
    let kinds: Vec<LeapKind> = unfolding.leaps.iter().map(|leap| leap.kind).collect();
    assert_eq!(kinds, [LeapKind::Section, LeapKind::Section]);
    assert!(
        unfolding
            .findings
            .iter()
            .any(|finding| finding.kind == "section-order")
    );
    // Repeats inside a section are taken each time, and an end-repeat without a start goes back to its start.
    let (order, _) = listed(".. :| .. :| .", &three, "ABA", false);
    assert_eq!(order, "1-2 1-4 3-4 1-2 1-2");
    let endings = "|: . [1 . ] :| [2 . ] || ..";
    let (order, _) = listed(endings, &[("A", 1, 4), ("B", 4, 6)], "BA", false);
    assert_eq!(order, "4-5 1-2 1 3");
    // Sections that are not listed are not played, and said.
    let (order, unfolding) = listed(".. || .. || .", &three, "CA", false);
    assert_eq!(order, "5 1-2");
    assert_eq!(unfolding.never_played, [BarIndex(2), BarIndex(3)]);
}

/// Source: Humdrum, expansion lists (`thru`): every repeat and ending is written out in the list.
#[test]
fn a_list_that_writes_out_its_repeats_takes_none_of_the_signs() {
    let sections = [("A", 1, 2), ("x", 2, 3), ("y", 3, 4), ("B", 4, 5)];
    let (order, unfolding) = listed("|: . [1 . ] :| [2 . ] |: . :|", &sections, "AxAyBB", true);
    assert_eq!(order, "1-2 1 3-4 4");
    // What the eye follows is the printed repeat and ending all the same.
    let kinds: Vec<LeapKind> = unfolding.leaps.iter().map(|leap| leap.kind).collect();
    assert_eq!(kinds, [LeapKind::Repeat, LeapKind::Ending, LeapKind::Repeat]);
    assert_eq!(unfolding.ends_at, Place::start_of(BarIndex(4)));
}

#[test]
fn a_list_and_a_da_capo_contradict_each_other() {
    let (order, unfolding) = listed(
        ".. |. .. \"D.C._al_Fine\"",
        &[("A", 1, 3), ("B", 3, 5)],
        "AB",
        false,
    );
    assert_eq!(order, "1-4");
    let kinds: Vec<&str> = unfolding.findings.iter().map(|finding| finding.kind).collect();
    assert!(kinds.contains(&"section-order-and-jump"), "{kinds:?}");
    assert!(!kinds.contains(&"jump-never-taken"), "{kinds:?}");
}

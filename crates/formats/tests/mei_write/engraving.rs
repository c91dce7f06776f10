//! What an engraver is given: one line where a player sees one, ends where she looks for them, nothing kept for reading back.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot set itself up has failed"
)]

use formats::{Engraving, MeiOptions, WordSetting, WordStyle};
use notation::{BarIndex, Direction, DirectionKind, Id, Piece, Place, Rational, sketch};

fn written(piece: &Piece, engraving: Engraving) -> String {
    let options = MeiOptions {
        part: Some(0),
        bar_signs: true,
        engraving: Some(engraving),
    };
    formats::write_mei(piece, &options).0
}

fn plain(line: &str) -> String {
    written(&sketch(line).unwrap(), Engraving::default())
}

fn direction(piece: &Piece, of: impl Fn(&DirectionKind) -> bool) -> Id {
    let directions: Vec<&Direction> = piece.parts[0].directions.iter().collect();
    directions
        .iter()
        .find(|direction| of(&direction.kind))
        .unwrap()
        .id
}

/// The line with these words, and how far it goes.
fn element<'a>(mei: &'a str, name: &str) -> &'a str {
    let start = mei
        .find(&format!("<{name} "))
        .unwrap_or_else(|| panic!("no {name} in {mei}"));
    let rest = &mei[start..];
    let end = rest
        .find("/>\n")
        .unwrap_or(rest.len())
        .min(rest.find(&format!("</{name}>")).unwrap_or(rest.len()));
    &rest[..end]
}

#[test]
fn a_tempo_and_its_metronome_mark_are_one_line() {
    let piece = sketch("\"Allegro\" mm:q=120 C5/w |").unwrap();
    let words = direction(&piece, |kind| matches!(kind, DirectionKind::Words(_)));
    let mark = direction(&piece, |kind| matches!(kind, DirectionKind::Metronome(_)));
    let setting = WordSetting {
        style: WordStyle::Tempo,
        with: Some(mark),
    };
    let mei = written(
        &piece,
        Engraving {
            words: [(words, setting)].into(),
            ..Engraving::default()
        },
    );
    assert_eq!(mei.matches("<tempo ").count(), 1);
    let tempo = element(&mei, "tempo");
    assert!(
        tempo.contains(&format!("xml:id=\"{words}\""))
            && tempo.contains("Allegro")
            && tempo.contains("= 120"),
        "{tempo}"
    );
    assert!(!mei.contains("<dir "));
}

#[test]
fn what_is_hidden_is_not_written() {
    let piece = sketch("mm:q=120 C5/w |").unwrap();
    let mark = direction(&piece, |kind| matches!(kind, DirectionKind::Metronome(_)));
    let hidden = Engraving {
        hidden: [mark].into(),
        ..Engraving::default()
    };
    assert!(!written(&piece, hidden).contains("<tempo "));
}

#[test]
fn a_jump_at_the_end_of_a_bar_ends_at_its_bar_line() {
    let mut piece = sketch("C5/w | \"D.C._al_Fine\" D5/w |").unwrap();
    let words = direction(&piece, |kind| matches!(kind, DirectionKind::Words(_)));
    let setting = WordSetting {
        style: WordStyle::Jump,
        with: None,
    };
    let engraving = Engraving {
        words: [(words, setting)].into(),
        ..Engraving::default()
    };
    assert!(
        !element(&written(&piece, engraving.clone()), "dir").contains("halign"),
        "it stands at the bar's start"
    );
    piece.parts[0].directions[0].place = Place {
        bar: BarIndex(1),
        offset: Rational::whole(4),
    };
    assert!(element(&written(&piece, engraving), "dir").contains("halign=\"right\""));
}

#[test]
fn a_hairpin_to_the_next_bars_start_ends_in_its_own() {
    let mut piece = sketch("< C5/w | D5/w . | E5/w |").unwrap();
    let span = piece.parts[0]
        .spans
        .iter_mut()
        .find(|span| matches!(span.kind, notation::SpanKind::Crescendo { .. }))
        .unwrap();
    let end = span.end.as_mut().unwrap();
    (end.place, end.element) = (Place::start_of(BarIndex(1)), None);
    let mei = written(&piece, Engraving::default());
    assert!(
        element(&mei, "hairpin").contains("tstamp2=\"0m+5\""),
        "{}",
        element(&mei, "hairpin")
    );
}

#[test]
fn a_breath_stands_after_its_note() {
    let mei = plain("C5/h!breath D5/h |");
    let breath = element(&mei, "breath");
    assert!(
        breath.contains("tstamp=\"2.6\"") && !breath.contains("startid"),
        "{breath}"
    );
}

#[test]
fn nothing_is_kept_for_reading_back() {
    let mei = plain("key:-3 metre:3/4 \"dolce\" C4/q!staccato D4/e E4/e F4/q | reh:A G4/h. |");
    for attribute in [" type=\"", " label=\"", "<annot", "<label"] {
        let body = &mei[mei.find("<score>").unwrap()..];
        assert!(!body.contains(attribute), "{attribute} in {body}");
    }
}

#[test]
fn short_rehearsal_marks_are_boxed_and_headings_are_not() {
    assert!(plain("reh:A C5/w |").contains("rend=\"box\""));
    assert!(!plain("reh:Trio C5/w |").contains("rend=\"box\""));
}

#[test]
fn a_beamed_triplet_needs_no_bracket() {
    assert!(
        element(&plain("metre:2/4 [ C5/e:3 D5/e:3 E5/e:3 ] C5/q |"), "tuplet")
            .contains("bracket.visible=\"false\"")
    );
}

#[test]
fn white_space_before_a_bar_stands_at_the_end_of_the_one_before() {
    let piece = sketch("C5/h D5/h | E5/w | F5/w |").unwrap();
    let spaces = [
        Place {
            bar: BarIndex(0),
            offset: Rational::whole(2),
        },
        Place::start_of(BarIndex(2)),
    ];
    let mei = written(
        &piece,
        Engraving {
            spaces: spaces.into(),
            ..Engraving::default()
        },
    );
    let bars: Vec<&str> = mei.split("<measure ").skip(1).collect();
    let invisible = |bar: &str| bar.matches("form=\"invis\"").count();
    assert_eq!(
        bars.iter().map(|bar| invisible(bar)).collect::<Vec<_>>(),
        [1, 1, 0]
    );
    let first = bars[0];
    assert!(
        first.find("invis").unwrap() < first.rfind("<note").unwrap(),
        "between the two notes"
    );
    let second = bars[1];
    assert!(
        second.find("invis").unwrap() > second.rfind("<note").unwrap(),
        "after the last note"
    );
}

#[test]
fn a_key_signature_taken_back_is_said_of_the_score() {
    // There the engraver prints its naturals; of a staff alone it prints none.
    let of_the_score = |line: &str| plain(line).matches("<scoreDef>\n  <keySig ").count();
    let line = "key:2 C5/w | key:0 D5/w | key:-1 D5/w | key:0 D5/w |";
    assert_eq!(of_the_score(line), 2, "{}", plain(line));
    assert_eq!(plain(line).matches("<keySig ").count(), 4);
    assert_eq!(of_the_score("key:0 C5/w | key:2 D5/w | key:1 D5/w |"), 0);
}

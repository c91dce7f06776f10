//! The words as they stand in print, and words that must not be taken for them.

use super::*;

/// One line of the expected result: kind, until, repeats.
fn check(text: &str, kind: RoadKind, until: Option<Target>, repeats: Option<Repeats>) {
    let words = road_words(text);
    assert_eq!(words.len(), 1, "{text}: {words:?}");
    let word = &words[0];
    assert_eq!(
        (&word.kind, word.until, word.repeats),
        (&kind, until, repeats),
        "{text}"
    );
    assert_eq!(&text[word.range.clone()], word.text, "{text}");
}

const FINE: Option<Target> = Some(Target::Fine);
const CODA: Option<Target> = Some(Target::Coda);
const SIGN: Option<Target> = Some(Target::Sign);
const WITHOUT: Option<Repeats> = Some(Repeats::Without);
const WITH: Option<Repeats> = Some(Repeats::With);

#[test]
fn da_capo_in_all_its_spellings() {
    for text in [
        "D.C.",
        "D. C.",
        "DC",
        "D.C",
        "d.c.",
        "Da Capo",
        "da capo",
        "dacapo",
        "Da  Capo.",
        "DA CAPO",
        "M.D.C.",
        "Menuetto D.C.",
        "Menuetto da capo",
        "Men. D.C.",
        "Minuetto D. C.",
        "Si replica il minuetto da capo",
        "From the beginning",
        "Du commencement",
        "Von Anfang",
        "dal capo",
        "Scherzo da capo",
    ] {
        check(text, RoadKind::DaCapo, None, None);
    }
    for text in [
        "D.C. al Fine",
        "D. C. al Fine",
        "D.C al fine",
        "DC al Fine",
        "D.C.\nal Fine",
        "D.C. al \nFine",
        "dacapo al fine",
        "Da Capo al Fine",
        "Menuetto D.C.\nal Fine",
        "D.C. sin' al Fine",
        "Da capo sin al fine",
        "D.C. fino al Fine",
        "Vom Anfang bis zum Ende",
        "Vom Anfang bis zum Schluß",
        "Du commencement jusqu'à la fin",
        "D.C. to Fine",
        "From the beginning to the end",
        "Da Capo il Menuetto al Fine",
        "D. C.\nal\nFine",
        "D.C. bis zum Ende",
    ] {
        check(text, RoadKind::DaCapo, FINE, None);
    }
    for text in [
        "D.C. al Coda",
        "D.C. al 𝄌",
        "DC al Coda",
        "D.C. al ⊕",
        "Da capo al coda",
        "D.C. e Coda",
    ] {
        check(text, RoadKind::DaCapo, CODA, None);
    }
    check("Da capo al segno", RoadKind::DaCapo, SIGN, None);
    check("D.C. al 𝄋", RoadKind::DaCapo, SIGN, None);
}

#[test]
fn dal_segno_in_all_its_spellings() {
    for text in [
        "D.S.",
        "D. S.",
        "DS",
        "Dal Segno",
        "dal 𝄋",
        "Dal 𝄋",
        "D.S. 𝄋",
        "Vom Zeichen",
        "From the sign",
    ] {
        check(text, RoadKind::DalSegno, None, None);
    }
    for text in [
        "D.S. al Fine",
        "D.S. 𝄋 al Fine",
        "Dal Segno al Fine",
        "DS al fine",
        "D.S.\nal Fine",
        "dal segno sin al fine",
        "Da capo dal segno fino al Fine",
        "Dal 𝄋 al Fine",
        "D. S. al Fine",
        "Vom Zeichen bis zum Ende",
    ] {
        check(text, RoadKind::DalSegno, FINE, None);
    }
    for text in [
        "D.S. al Coda",
        "D.S. 𝄋 al 𝄌",
        "Dal Segno al Coda",
        "D.S. al 𝄌 Coda",
        "DS. al Coda",
        "Dal 𝄋 al 𝄌",
    ] {
        check(text, RoadKind::DalSegno, CODA, None);
    }
    check("Dal segno al segno", RoadKind::DalSegno, SIGN, None);
}

#[test]
fn with_and_without_repeats() {
    for text in [
        "Da Capo senza replica",
        "D.C. senza repetizione",
        "Menuetto da capo senza Ritornello.",
        "Menuett da capo ohne Wiederholung",
        "D.C. without repeats",
        "D.C. (no repeats)",
        "D.C. sans reprises",
        "D.C. ma senza replica",
        "Menuetto D.C. senza le repliche",
        "da capo il minore senza replica",
    ] {
        check(text, RoadKind::DaCapo, None, WITHOUT);
    }
    check("D.C. al Fine senza replica", RoadKind::DaCapo, FINE, WITHOUT);
    check("D.C. senza rep. al Fine", RoadKind::DaCapo, FINE, WITHOUT);
    check("D.C. al Fine con ripetizione", RoadKind::DaCapo, FINE, WITH);
    check("D.C. al Fine with repeats", RoadKind::DaCapo, FINE, WITH);
    check("D.S. al Coda (take all repeats)", RoadKind::DalSegno, CODA, WITH);
    check("senza replica", RoadKind::RepeatsRule, None, WITHOUT);
    check("con ripetizione", RoadKind::RepeatsRule, None, WITH);
    check("ohne Wiederholung", RoadKind::RepeatsRule, None, WITHOUT);
}

#[test]
fn what_is_taken_again_and_what_follows() {
    let word = |text: &str| road_words(text).remove(0);
    assert_eq!(word("Menuetto D.C.").section.as_deref(), Some("Menuetto"));
    assert_eq!(
        word("Si replica il minuetto da capo").section.as_deref(),
        Some("minuetto")
    );
    assert_eq!(word("Da Capo Menuetto").section.as_deref(), Some("Menuetto"));
    for text in [
        "Da capo al segno e poi la coda",
        "D.C. al Segno, poi Coda",
        "D.C. al 𝄋 e poi Coda",
    ] {
        let found = word(text);
        assert_eq!((found.until, found.then), (SIGN, CODA), "{text}");
    }
    assert_eq!(word("Scherzo da capo e poi la Coda").then, CODA);
    assert_eq!(word("segue coda").then, CODA);
    assert_eq!(word("D.S. al Coda e poi").until, CODA);
}

/// Source: the words of a minuet in music21 10.5.1's corpus (spacing as in the file).
#[test]
fn a_whole_italian_sentence() {
    let text = "                      il minore ma senza\n        replica ed allora ancora una\n      volta il trio, e \
                dopo di nuovo\nda capo ilo minore senza replica";
    let words = road_words(text);
    let jump = words.iter().find(|word| word.kind == RoadKind::DaCapo).unwrap();
    assert_eq!(jump.repeats, WITHOUT);
}

#[test]
fn places_and_their_roads() {
    for text in [
        "Fine",
        "FINE",
        "Fine.",
        "fine",
        "(Fine)",
        "il Fine",
        "Fin",
        "Ende",
        "The End",
        "Fine del Minuetto",
    ] {
        check(text, RoadKind::FineHere, None, None);
    }
    for text in ["Coda", "CODA", "𝄌", "𝄌 Coda", "[Coda]", "Coda.", "Coda\nPresto"] {
        check(text, RoadKind::CodaHere, None, None);
    }
    for text in ["𝄋", "Segno", "segno"] {
        check(text, RoadKind::SegnoHere, None, None);
    }
    for text in [
        "To Coda",
        "to 𝄌",
        "al Coda",
        "To Coda 𝄌",
        "alla Coda",
        "zur Coda",
        "To the Coda",
    ] {
        let words = road_words(text);
        assert_eq!(words[0].kind, RoadKind::ToCoda, "{text}");
    }
    check("al Fine", RoadKind::Continuation, FINE, None);
    check("sin al fine", RoadKind::Continuation, FINE, None);
    check("al segno", RoadKind::Continuation, SIGN, None);
}

#[test]
fn two_road_words_in_one_text() {
    let words = road_words("Fine\nD.C. al Coda");
    assert_eq!(words.len(), 2, "{words:?}");
    assert_eq!(
        (&words[0].kind, &words[1].kind),
        (&RoadKind::FineHere, &RoadKind::DaCapo)
    );
    assert_eq!(words[1].until, CODA);
}

#[test]
fn passes_and_counts() {
    let passes = |numbers: &[u8], last, play| RoadKind::Passes {
        numbers: numbers.to_vec(),
        last,
        play,
    };
    for text in [
        "2nd time only",
        "play 2nd time only",
        "2da volta",
        "seconda volta",
        "2nd x only",
        "2. Mal",
        "beim 2. Mal",
        "la seconda volta",
        "2ª volta",
        "2e fois",
        "Second time",
        "nur beim zweiten Mal",
        "2nd time",
        "II volta",
    ] {
        check(text, passes(&[2], false, true), None, None);
    }
    for text in [
        "1st time only",
        "prima volta",
        "1ma volta",
        "1st X only",
        "beim ersten Mal",
        "1ère fois",
    ] {
        check(text, passes(&[1], false, true), None, None);
    }
    check("last time only", passes(&[], true, true), None, None);
    check("ultima volta", passes(&[], true, true), None, None);
    check("1st and 2nd time", passes(&[1, 2], false, true), None, None);
    check("1st & 3rd time only", passes(&[1, 3], false, true), None, None);
    check("tacet 1st time", passes(&[1], false, false), None, None);
    check("1st time tacet", passes(&[1], false, false), None, None);
    for text in [
        "x4",
        "4x",
        "X4",
        "4×",
        "(4 x)",
        "play 4 times",
        "4 times",
        "quattro volte",
        "4 volte",
        "4 Mal",
        "4 fois",
        "repeat 4 times",
        "viermal",
        "Play 4x",
    ] {
        check(text, RoadKind::PlayTimes(4), None, None);
    }
    check("bis", RoadKind::Bis, None, None);
    check("Repeat until cue", RoadKind::RepeatFreely, None, None);
    check("repeat and fade", RoadKind::RepeatFreely, None, None);
    check("Vamp", RoadKind::RepeatFreely, None, None);
    check("Repeat", RoadKind::RepeatSection, None, None);
}

#[test]
fn going_on() {
    check("attacca", RoadKind::Attacca, None, None);
    check("attaca", RoadKind::Attacca, None, None);
    check("attacca subito", RoadKind::Attacca, None, None);
    check("segue", RoadKind::Segue, None, None);
    check("V.S.", RoadKind::TurnQuickly, None, None);
    check("VS", RoadKind::TurnQuickly, None, None);
    check("Tacet", RoadKind::Tacet, None, None);
}

#[test]
fn what_is_no_road_word() {
    for text in [
        "a fine spring day",
        "with fine tone",
        "It was fine",
        "fine and mellow",
        "Finale",
        "Allegro con fuoco",
        "decoda",
        "the sign of spring",
        "dolce",
        "cresc. molto",
        "A tempo",
        "1",
        "Tempo I",
        "1.",
        "2.",
        "24",
        "x",
        "times change",
        "Do. C.",
        "Cadenza",
        "volta",
        "Signe",
        "at the end of the day",
        "a piacere",
        "Var. 4",
        "bis in den Tod",
        "from the heart",
        "rit. al fine",
        "sempre pp al fine",
        "vs. the world",
        "d c b a",
        "two hearts",
        "first love",
        "capo",
        "Codetta",
        "con brio",
        "fin amour",
        "al talone",
        "to the river",
        "alla marcia",
        "Ende gut, alles gut",
        "ter-re",
        "senza sordino",
        "con sordino",
        "1a",
    ] {
        assert_eq!(road_words(text), Vec::new(), "{text}");
    }
}

#[test]
fn a_jump_to_fine_says_no_end_here() {
    for text in ["D.C. al Fine", "D.S. al Fine", "Da capo sin al fine"] {
        assert!(
            road_words(text)
                .iter()
                .all(|word| word.kind != RoadKind::FineHere),
            "{text}"
        );
    }
}

//! Do the tables say of a piece what their pages say? Plain pages, then real surveys.

use super::*;
use notation::Pitch;

fn page() -> Page {
    Page {
        range: Pitch::parse("G4").zip(Pitch::parse("G5")),
        signatures: vec![-1],
        metres: vec!["4/4".to_owned()],
        to_a_quarter: 2,
        bars: 48,
        leap: Some(7),
        tempo: Some((90.0, 90.0)),
        ..Page::default()
    }
}

fn in_table<'s>(standings: &'s [Standing], name: &str) -> &'s Standing {
    standings
        .iter()
        .find(|standing| standing.table.name.starts_with(name))
        .expect(name)
}

/// Source: National Flute Association criteria: A has G1–A2, one sharp, two flats, no dots; B has D1–D3.
#[test]
fn a_plain_flute_piece_fits_the_first_letter() {
    let flute = instruments::by_id("flute");
    let standings = standings(&page(), flute);
    let standing = in_table(&standings, "flute association");
    assert_eq!((standing.level.name, standing.fits), ("A", true));
    let mut higher = page();
    higher.range = Pitch::parse("D4").zip(Pitch::parse("C6"));
    let standings = super::standings(&higher, flute);
    assert_eq!(in_table(&standings, "flute association").level.name, "B");
}

/// Source: MSHSAA solo matrix, flute: class C low D to high E♭, three flats and one sharp, ♩ 60–108.
#[test]
fn what_exceeds_is_named_with_its_reason() {
    let mut page = page();
    page.range = Pitch::parse("Bb3").zip(Pitch::parse("A6"));
    page.signatures = vec![5];
    let standings = standings(&page, instruments::by_id("flute"));
    let standing = in_table(&standings, "Missouri solo");
    assert_eq!((standing.level.name, standing.fits), ("class A", false));
    let range = standing
        .criteria
        .iter()
        .find(|c| c.name == "range")
        .expect("range");
    assert_eq!((range.fits, range.why.as_str()), (Some(false), "B♭3 is below B3"));
    assert!(
        standing.says().ends_with("exceeded in range"),
        "{}",
        standing.says()
    );
}

/// Source: MSHSAA band sight-reading: concert F, B♭, E♭. A B♭ clarinet in G (one sharp) sounds in F.
#[test]
fn concert_keys_are_asked_of_the_sounding_key() {
    let mut page = page();
    page.signatures = vec![1];
    page.written_above_concert = 2;
    page.tempo = Some((90.0, 90.0));
    let standings = standings(&page, instruments::by_id("clarinet-bb"));
    let standing = in_table(&standings, "Missouri band");
    assert_eq!((standing.level.name, standing.fits), ("class 1", true));
}

#[test]
fn what_is_not_on_the_page_is_not_judged() {
    let mut page = page();
    page.tempo = None;
    let standings = standings(&page, instruments::by_id("flute"));
    let standing = in_table(&standings, "Missouri solo");
    let tempo = standing
        .criteria
        .iter()
        .find(|c| c.name == "tempo")
        .expect("tempo");
    assert_eq!(tempo.fits, None);
    assert!(standing.fits);
}

#[test]
fn tables_are_only_asked_about_their_instruments() {
    let viola = super::standings(&page(), instruments::by_id("viola"));
    assert!(
        viola
            .iter()
            .all(|standing| !standing.table.name.contains("flute"))
    );
    assert!(
        viola
            .iter()
            .any(|standing| standing.table.name.starts_with("Texas"))
    );
    let unknown = super::standings(&page(), None);
    assert_eq!(unknown.len(), 1, "only the scale for any instrument");
}

#[test]
fn every_pitch_and_instrument_of_the_tables_is_known() {
    for table in tables::ALL {
        assert!(
            !table.source.is_empty() && !table.levels.is_empty(),
            "{}",
            table.name
        );
        for level in table.levels {
            if let Some((low, high)) = level.range {
                assert!(
                    Pitch::parse(low) < Pitch::parse(high) && Pitch::parse(low).is_some(),
                    "{}",
                    table.name
                );
            }
            for name in level.instruments {
                let family = ["flute", "reed", "brass", "string"].contains(name);
                assert!(family || instruments::by_id(name).is_some(), "{name}");
            }
        }
    }
}

#[test]
fn a_real_survey_gives_the_page() {
    let text = "key:1 metre:6/8 trans:-1,-2 \"Allegro\" mm:q.=80 D4/q. G4/e A4/e B4/e | C5/q. A4/e F#4/e D4/e | G4/h. |";
    let piece = notation::sketch(text).expect("sketch");
    let survey =
        survey::survey(&piece, 0, &survey::Question::ALL, &survey::Options::default()).expect("survey");
    let page = Page::of(&survey, piece.bars.len());
    assert_eq!(page.range, Pitch::parse("D4").zip(Pitch::parse("C5")));
    assert_eq!(
        (page.signatures.as_slice(), page.written_above_concert),
        ([1].as_slice(), 2)
    );
    assert_eq!(
        (page.metres.as_slice(), page.compound),
        (["6/8".to_owned()].as_slice(), true)
    );
    assert_eq!((page.to_a_quarter, page.tempo), (2, Some((80.0, 80.0))));
}

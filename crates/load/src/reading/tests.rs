//! What the reading load promises, on small tunes of our own.

use super::*;
use notation::{Piece, sketch};
use survey::{Options, Question, Survey};

fn surveyed(text: &str) -> (Piece, Survey) {
    let piece = sketch(text).expect("a sketch");
    let asked = [Question::Key, Question::Metre];
    let survey = survey::survey(&piece, 0, &asked, &Options::default()).expect("a part");
    (piece, survey)
}

fn hints(survey: &Survey) -> Hints<'_> {
    Hints {
        regions: survey.key.as_ref().map_or(&[], |key| &key.regions),
        metre: survey.metre.as_ref(),
    }
}

fn read(text: &str) -> ReadingAnswer {
    let (piece, survey) = surveyed(text);
    reading_load(&Context::new(&piece, 0).expect("a part"), &hints(&survey))
}

fn melody(text: &str) -> Melody {
    let (piece, survey) = surveyed(text);
    Melody::of(&Context::new(&piece, 0).expect("a part"), &hints(&survey))
}

/// Eight bars in D major, stepwise, with a cadence.
const TUNE: &str = "key:2 metre:3/4 D4/q E4/q F#4/q | G4/h F#4/q | E4/q F#4/q G4/q | A4/h. | \
     B4/q A4/q G4/q | F#4/q G4/q A4/q | G4/q F#4/q E4/q | D4/h. |.";
/// The same notes in another order, the rhythm kept.
const SHUFFLED: &str = "key:2 metre:3/4 A4/q D4/q G4/q | E4/h B4/q | D4/q G4/q F#4/q | G4/h. | \
     E4/q A4/q F#4/q | E4/q G4/q A4/q | F#4/q G4/q F#4/q | F#4/h. |.";

fn of_notes(answer: &ReadingAnswer) -> f64 {
    answer
        .notes
        .iter()
        .map(|note| note.pitch_bits + note.rhythm_bits)
        .sum()
}

#[test]
fn every_forecast_sums_to_one() {
    let text = "key:-3 metre:4/4 C4/q r/q G4/e:3 Ab4/e:3 B4/e:3 C5/q~ | C5/q g:D5/e Eb5/s F#4/s G4/e. C3/s R | \
         R | R | D6/b | metre:7/8 C4/e D4/e Eb4/e F4/e G4/e Ab4/e B4/e | C4+E4/h C4/q. |.";
    let (piece, survey) = surveyed(&text.replace(" R |", " | R |"));
    let melody = Melody::of(&Context::new(&piece, 0).expect("a part"), &hints(&survey));
    let long = LongTerm::shipped();
    for terms in [Terms::Both, Terms::Long, Terms::Short] {
        let settings = Settings {
            terms,
            ..Settings::default()
        };
        let mut foresight = Foresight::new(&melody, &long, &settings);
        for at in 0..melody.items.len() {
            let bits = foresight.read(&melody, at).expect("an item");
            let (pitches, values) = foresight.last_forecast();
            for forecast in [pitches, values] {
                assert!(forecast.iter().all(|p| *p >= 0.0), "{forecast:?}");
            }
            assert!((values.iter().sum::<f64>() - 1.0).abs() < 1e-9);
            if let Some(pitch) = bits.pitch {
                assert!((pitches.iter().sum::<f64>() - 1.0).abs() < 1e-9);
                assert!(pitch.is_finite() && pitch >= 0.0);
            }
            assert!(bits.rhythm.is_finite() && bits.rhythm >= 0.0);
        }
    }
}

#[test]
fn shuffled_notes_cost_more() {
    let (tune, shuffled) = (of_notes(&read(TUNE)), of_notes(&read(SHUFFLED)));
    assert!(shuffled > tune * 1.2, "{tune} and {shuffled}");
}

#[test]
fn a_bar_that_returns_costs_less() {
    let once = "C4/e G4/s A4/s F4/e. C5/s B4/q D4/e F#4/e | ";
    let answer = read(&format!("metre:4/4 {once}{once}{once} C4/b |."));
    let bars = answer.per_bar();
    assert!(
        bars[1].total() < 0.6 * bars[0].total(),
        "{} {}",
        bars[0].total(),
        bars[1].total()
    );
    assert!(bars[2].total() < bars[1].total());
}

#[test]
fn shares_add_up_and_say_why_without_bits() {
    let answer = read(
        "key:-3 metre:4/4 clef:F4 C3/q D3/q Eb3/q F3/q | G3/q!staccato F#4/q clef:C4 @pp G3/h | C3/b |.",
    );
    let total: f64 = answer.shares.iter().map(|placed| placed.share.amount).sum();
    let by_bar: f64 = answer.per_bar().iter().map(Account::total).sum();
    assert!((total - by_bar).abs() < 1e-9);
    let said: Vec<&str> = answer
        .shares
        .iter()
        .map(|placed| placed.share.why.as_str())
        .collect();
    for expected in [
        "a sharp against the signature: F♯",
        "new articulation: staccato",
        "clef changes to tenor",
        "a dynamic: pp",
        "an unexpected leap of a seventh up to F♯",
    ] {
        assert!(said.contains(&expected), "{expected}: {said:#?}");
    }
    assert!(
        said.iter().all(|why| !why.contains("bit") && !why.is_empty()),
        "{said:?}"
    );
    assert_eq!(answer.notes.len(), 8);
}

#[test]
fn a_rhythm_never_met_costs_more_than_one_that_goes_on() {
    let answer = read(
        "metre:4/4 C4/q D4/q E4/q F4/q | G4/q F4/q E4/q D4/q | C4/q E4/q G4/q E4/q | \
         F4/q D4/e. E4/s F4/q G4/q | C4/b |.",
    );
    let dotted = answer.notes[13];
    assert!(dotted.rhythm_bits > 3.0, "{dotted:?}");
    assert!(answer.notes[9].rhythm_bits < 1.0, "{:?}", answer.notes[9]);
    let why = answer
        .shares
        .iter()
        .find(|placed| placed.place == dotted.place && placed.share.kind == "rhythm");
    assert_eq!(
        why.map(|placed| placed.share.why.as_str()),
        Some("a rhythm not met before: a dotted eighth note")
    );
}

#[test]
fn tied_notes_are_one_rests_are_read_and_graces_are_marks() {
    let line = melody("metre:4/4 C4/h D4/h~ | D4/h r/q E4/q | R | R | g:F4/e E4/b |.");
    let kinds: Vec<String> = line
        .items
        .iter()
        .map(|item| match item.kind {
            Kind::Note(note) => format!("{} {}", note.pitch, item.length),
            Kind::Rest => format!("rest {}", item.length),
            Kind::Bars => format!("bars {}", item.length),
        })
        .collect();
    assert_eq!(kinds, ["C4 2", "D4 4", "rest 1", "E4 1", "bars 8", "E4 8"]);
    let answer = read("metre:4/4 C4/h D4/h | g:F4/e E4/b |.");
    assert!(answer.shares.iter().any(|placed| placed.share.kind == "grace"));
}

#[test]
fn nothing_to_read_costs_nothing() {
    let answer = read("metre:4/4 R | R |.");
    assert!(answer.notes.is_empty());
    assert!(answer.per_bar().iter().map(Account::total).sum::<f64>() < 0.01);
    assert_eq!(
        reading_load(
            &Context::new(&sketch("C4/q").expect("a sketch"), 0).expect("a part"),
            &Hints::default()
        )
        .notes
        .len(),
        1
    );
}

#[test]
fn amounts_have_words_in_order() {
    let [little, some, much] = THRESHOLDS;
    assert!(little < some && some < much);
    assert_eq!(amount_words(0.0), "little to read");
    assert_eq!(amount_words(some), "some to read");
    assert_eq!(amount_words(much), "much to read");
    assert_eq!(amount_words(f64::MAX), "very much to read");
}

/// The steps taken grow with the notes: counted by time over two lengths, the better of three, with much room.
#[test]
fn five_thousand_bars_cost_a_hundred_times_fifty() {
    let long = LongTerm::shipped();
    let notes = |bars: usize| {
        // Never quite the same twice: what grows with what was met must not grow faster.
        let mut text = String::from("metre:4/4 ");
        for bar in 0..bars {
            for beat in 0..4 {
                let at = (bar * bar * 7 + bar / 3 + beat * 5 + bar * beat) % 7;
                text.push_str(
                    [
                        "C4/q ",
                        "D4/e E4/e ",
                        "G4/q ",
                        "F4/e. A4/s ",
                        "B4/q ",
                        "E4/q ",
                        "A4/e G4/e ",
                    ][at],
                );
            }
            text.push_str("| ");
        }
        melody(&text)
    };
    let time = |melody: &Melody| {
        let once = || {
            let now = std::time::Instant::now();
            let read = bits(melody, &long, &Settings::default());
            assert_eq!(read.len(), melody.items.len());
            now.elapsed().as_secs_f64() / f64::from(u32::try_from(read.len()).expect("few"))
        };
        (0..3).map(|_| once()).fold(f64::INFINITY, f64::min)
    };
    let (short, whole) = (time(&notes(250)), time(&notes(5000)));
    assert!(
        whole < 4.0 * short,
        "{short} s a note in a short piece, {whole} in a long one"
    );
}

#[test]
fn the_shipped_table_is_small_and_read_in_place() {
    let table = LongTerm::shipped();
    assert!(table.bytes().len() <= 300_000, "{}", table.bytes().len());
    assert!(LongTerm::from_bytes(table.bytes().to_vec()).is_some());
    assert!(LongTerm::from_bytes(b"FRC1 cut short".to_vec()).is_none());
    assert!(
        table
            .weights()
            .all()
            .iter()
            .any(|weight| (weight - 0.3).abs() > 0.01)
    );
}

#[test]
fn a_table_learnt_from_a_tune_foresees_it() {
    let tune = melody(TUNE);
    let mut trainer = Trainer::default();
    trainer.add(&tune);
    trainer.add(&tune);
    let pruning = Pruning {
        contexts: [1; 6],
        once_from: 9,
    };
    let table = trainer.table(&pruning);
    let cost = |long: &LongTerm| -> f64 {
        let settings = Settings {
            terms: Terms::Both,
            ..Settings::default()
        };
        bits(&tune, long, &settings)
            .iter()
            .filter_map(|bits| bits.pitch)
            .sum()
    };
    assert!(cost(&table) < 0.5 * cost(&LongTerm::none()));
}

/// What a broken or hostile table says is nothing, never a panic.
#[test]
fn a_cut_table_is_no_trap() {
    let whole = LongTerm::shipped().bytes().to_vec();
    let tune = melody(TUNE);
    for cut in [17_000, 17_001, 17_002, 20_000, whole.len() - 1] {
        if let Some(table) = LongTerm::from_bytes(whole[..cut].to_vec()) {
            assert_eq!(bits(&tune, &table, &Settings::default()).len(), tune.items.len());
        }
    }
}

#[test]
fn marks_return_with_their_passage_at_little_cost() {
    let bar = "C4/e G4/s A4/s F4/e. C5/s B4/q D4/e F#4/e | ";
    let answer = read(&format!("metre:4/4 {bar}{bar}{bar} C4/b |."));
    let signs: Vec<f64> = answer
        .shares
        .iter()
        .filter(|placed| placed.share.kind == "accidental")
        .map(|placed| placed.share.amount)
        .collect();
    assert_eq!(signs.len(), 3);
    assert!(signs[0] > 4.0 && signs[1] < 0.2 && signs[2] < 0.2, "{signs:?}");
}

#[test]
fn what_is_printed_again_is_no_change() {
    let kinds = |text: &str| -> Vec<&'static str> {
        let marks = read(text).shares.into_iter().map(|placed| placed.share.kind);
        marks
            .filter(|kind| matches!(*kind, "key" | "metre" | "clef"))
            .collect()
    };
    let same = "clef:F4 key:2 metre:4/4 D3/b | clef:F4 key:2 metre:4/4 E3/b |.";
    assert!(kinds(same).is_empty());
    let other = "clef:F4 key:2 metre:4/4 D3/b | clef:C4 key:-1 metre:3/4 E3/h. |.";
    assert_eq!(kinds(other), ["clef", "key", "metre"]);
}

#[test]
fn an_accidental_holds_to_the_bar_line_and_over_a_tie() {
    let signs = |text: &str| -> Vec<String> {
        let marks = read(text).shares.into_iter().map(|placed| placed.share);
        marks
            .filter(|share| share.kind == "accidental")
            .map(|share| share.why)
            .collect()
    };
    let sharp = "a sharp against the signature: F♯";
    assert_eq!(signs("metre:4/4 F#4/q F#4/q G4/q F#4/q | F4/b |."), [sharp]);
    assert_eq!(signs("metre:4/4 F#4/h F4/h |."), [sharp, "F is natural again"]);
    assert_eq!(signs("metre:4/4 G4/h F#4/h~ | F#4/h G4/h |."), [sharp]);
}

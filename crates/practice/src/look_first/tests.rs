//! Questions of short fixtures and of the demo pieces, answered as a musician, a hurried player and a guesser would.

#![allow(
    clippy::indexing_slicing,
    reason = "a test that reads past the end has failed"
)]

use super::*;
use load::{Player, Wishes};
use notation::{Piece, sketch};
use proptest::prelude::*;
use survey::Options;

fn survey_of(piece: &Piece) -> (Survey, Study) {
    let survey = survey::survey(piece, 0, &Question::ALL, &Options::default()).expect("a survey");
    let ctx = Context::new(piece, 0).expect("a part");
    let player = Player::usual(
        instruments::by_id("clarinet_bflat").or_else(|| instruments::by_id("flute")),
        instruments::Experience::Intermediate,
    );
    let study = load::study(&ctx, &survey, &player, &Wishes::default());
    (survey, study)
}

fn asked(piece: &Piece, time: Time, seed: u64) -> Vec<Ask> {
    let (survey, study) = survey_of(piece);
    let ctx = Context::new(piece, 0).expect("a part");
    let looked = Looked {
        ctx: &ctx,
        survey: &survey,
        study: Some(&study),
    };
    asks(&looked, time, seed)
}

fn of(text: &str, question: Question) -> Ask {
    let piece = sketch(text).expect("a sketch");
    let all = asked(&piece, Time::Free, 7);
    all.into_iter()
        .find(|ask| ask.look == Look::Asked(question))
        .unwrap_or_else(|| panic!("{question:?} is asked"))
}

/// A choice by how it begins.
fn choice(ask: &Ask, says: &str) -> usize {
    let choices = &ask.choose.as_ref().expect("choices").choices;
    choices
        .iter()
        .position(|choice| choice.says.starts_with(says))
        .unwrap_or_else(|| panic!("{says} among {choices:#?}"))
}

fn worth(ask: &Ask, says: &str) -> Worth {
    ask.choose.as_ref().expect("choices").choices[choice(ask, says)].worth
}

fn right(ask: &Ask) -> Vec<String> {
    let choices = &ask.choose.as_ref().expect("choices").choices;
    let right = choices.iter().filter(|choice| choice.worth == Worth::Right);
    right.map(|choice| choice.says.clone()).collect()
}

fn answer(ask: &Ask, chosen: Option<Vec<usize>>, pointed: Option<&[u32]>) -> Compared {
    let answer = Answer {
        look: ask.look,
        chosen,
        pointed: pointed.map(|bars| bars.iter().copied().map(BarIndex).collect()),
    };
    compare(std::slice::from_ref(ask), &[answer]).remove(0)
}

/// The answers of somebody who sees everything.
fn best(asks: &[Ask]) -> Vec<Answer> {
    asks.iter()
        .map(|ask| Answer {
            look: ask.look,
            chosen: ask.choose.as_ref().map(|choosing| {
                let choices = choosing.choices.iter().enumerate();
                let right = choices
                    .filter(|(_, choice)| choice.worth == Worth::Right)
                    .map(|(index, _)| index);
                right.collect()
            }),
            pointed: ask.point.as_ref().map(|pointing| {
                let spots = pointing.spots.iter().filter(|spot| spot.worth == Worth::Right);
                let most = if pointing.each { usize::MAX } else { 1 };
                spots
                    .take(most)
                    .filter_map(|spot| spot.bars.first().copied())
                    .collect()
            }),
        })
        .collect()
}

const G_MAJOR: &str = "clef:G2 key:1 metre:4/4 \"Allegro\" @p G4/q B4/q D5/q G5/q | F#5/q E5/q D5/h | C5/q E5/q A4/q C5/q | B4/q A4/q G4/h |. ";

#[test]
fn the_key_is_right_and_its_relative_half_seen() {
    let key = of(G_MAJOR, Question::Key);
    assert_eq!(right(&key), ["G major"]);
    assert_eq!(worth(&key, "E minor"), Worth::Doubtful);
    let seen = answer(&key, Some(vec![choice(&key, "G major")]), Some(&[]));
    assert_eq!(seen.verdict, Verdict::Seen);
    let half = answer(&key, Some(vec![choice(&key, "E minor")]), Some(&[]));
    assert_eq!(half.verdict, Verdict::Half);
    assert!(
        half.said[0]
            .says
            .starts_with("G major. “E minor”: the signature fits both"),
        "{half:?}"
    );
    assert!(
        !half.said[0].evidence.is_empty(),
        "the survey's own proof stands beside it"
    );
}

#[test]
fn a_wrong_key_is_missed_with_the_proof_and_its_place() {
    let key = of(G_MAJOR, Question::Key);
    let wrong = key
        .choose
        .as_ref()
        .expect("choices")
        .choices
        .iter()
        .position(|choice| choice.worth == Worth::Wrong);
    let missed = answer(&key, wrong.map(|index| vec![index]), None);
    assert_eq!(missed.verdict, Verdict::Missed);
    assert!(missed.said[0].says.starts_with("G major. Not “"), "{missed:?}");
    assert!(!missed.said[0].evidence.is_empty() && !missed.said[0].bars.is_empty());
}

#[test]
fn where_it_leaves_its_key_is_pointed_at() {
    let text = "key:0 metre:4/4 C5/q E5/q G5/q C5/q | D5/q B4/q C5/h | key:2 D5/q F#5/q A5/q D5/q | E5/q C#5/q D5/h |.";
    let key = of(text, Question::Key);
    let missed = answer(&key, None, Some(&[]));
    assert_eq!(missed.verdict, Verdict::Missed);
    assert!(
        missed
            .said
            .iter()
            .any(|said| said.says == "The signature changes to 2 sharps." && said.bars[0] == BarIndex(2))
    );
    // Over its bar line is near enough.
    for bar in [1, 2] {
        let seen = answer(&key, None, Some(&[bar]));
        assert!(
            seen.said.iter().any(|said| said.verdict == Verdict::Seen),
            "bar {bar}: {seen:?}"
        );
    }
}

#[test]
fn a_pickup_is_counted_from_its_beat() {
    let metre = of(
        "key:0 metre:3/4 G4/q | C5/q E5/q G5/q | E5/q D5/q B4/q | C5/h |.",
        Question::Metre,
    );
    assert_eq!(right(&metre), ["3 beats, each a quarter; begin on 3"]);
    assert_eq!(worth(&metre, "3 beats, each a quarter; begin on 1"), Worth::Wrong);
    let plain = of(
        "metre:3/4 C5/q E5/q G5/q | E5/q D5/q B4/q | C5/h. |.",
        Question::Metre,
    );
    assert_eq!(right(&plain), ["3 beats, each a quarter; begin on 1"]);
}

#[test]
fn six_eight_is_felt_in_two_and_six_is_half_seen() {
    let metre = of(
        "metre:6/8 \"Allegro\" C5/e D5/e E5/e F5/e E5/e D5/e | C5/q. G4/q. | C5/e E5/e G5/e C6/q. |.",
        Question::Metre,
    );
    assert_eq!(right(&metre), ["2 beats, each a dotted quarter; begin on 1"]);
    assert_eq!(worth(&metre, "6 beats, each an eighth"), Worth::Doubtful);
}

#[test]
fn a_change_of_metre_is_a_place() {
    let metre = of(
        "metre:4/4 C5/w | metre:3/4 D5/h. | E5/h. | metre:4/4 C5/w |.",
        Question::Metre,
    );
    let point = metre.point.as_ref().expect("pointing");
    assert!(point.each);
    let half = answer(&metre, None, Some(&[1]));
    let verdicts: Vec<Verdict> = half
        .said
        .iter()
        .filter(|said| said.says.starts_with("From here"))
        .map(|said| said.verdict)
        .collect();
    assert_eq!(verdicts, [Verdict::Missed, Verdict::Seen]);
}

#[test]
fn any_table_that_agrees_is_enough_for_a_tempo() {
    let tempo = of(
        "metre:4/4 \"Andante\" C5/q D5/q E5/q F5/q | G5/w |.",
        Question::Tempo,
    );
    let choices = &tempo.choose.as_ref().expect("choices").choices;
    let sure: Vec<&Choice> = choices
        .iter()
        .filter(|choice| choice.worth == Worth::Right)
        .collect();
    assert!(!sure.is_empty());
    for choice in &sure {
        assert!(choice.why.contains("Andante"), "a table is named: {choice:?}");
    }
    let wrong = choices
        .iter()
        .filter(|choice| choice.worth == Worth::Wrong)
        .count();
    assert!(wrong >= 2, "{choices:#?}");
    assert_eq!(worth(&tempo, "The page does not say"), Worth::Wrong);
}

#[test]
fn a_printed_number_decides_and_without_one_the_page_does_not_say() {
    let printed = of(
        "metre:4/4 mm:q=120 C5/q D5/q E5/q F5/q | G5/w |.",
        Question::Tempo,
    );
    let choices = &printed.choose.as_ref().expect("choices").choices;
    let near: Vec<&str> = choices
        .iter()
        .filter(|c| c.worth == Worth::Right)
        .map(|c| c.says.as_str())
        .collect();
    assert_eq!(near, ["About ♩ = 120"]);
    let silent = of("metre:4/4 C5/q D5/q E5/q F5/q | G5/w |.", Question::Tempo);
    assert_eq!(right(&silent), ["The page does not say"]);
}

#[test]
fn every_altered_note_that_was_not_named_is_missed_at_its_bars() {
    let text = "key:0 metre:4/4 C5/q F#5/q G5/q F#5/q | Bb4/q A4/q G4/h | C5/q D5/q E5/q C5/q | C5/w |.";
    let asked = of(text, Question::Accidentals);
    assert_eq!(right(&asked), ["B♭", "F♯"]);
    let compared = answer(&asked, Some(vec![choice(&asked, "F♯")]), Some(&[0]));
    assert_eq!(compared.verdict, Verdict::Missed);
    let missed: Vec<&Said> = compared
        .said
        .iter()
        .filter(|said| said.verdict == Verdict::Missed)
        .collect();
    assert_eq!(missed.len(), 1);
    assert_eq!(
        (missed[0].says.as_str(), missed[0].bars.as_slice()),
        ("B♭: once.", [BarIndex(1)].as_slice())
    );
    // The densest bar was pointed at.
    assert!(
        compared
            .said
            .iter()
            .any(|said| said.verdict == Verdict::Seen && said.says == "Most of them: 2 altered notes.")
    );
}

#[test]
fn none_is_an_answer() {
    let plain = of(
        "key:0 metre:4/4 C5/q D5/q E5/q F5/q | G5/w |.",
        Question::Accidentals,
    );
    let seen = answer(&plain, Some(vec![choice(&plain, "None")]), Some(&[]));
    assert_eq!(seen.verdict, Verdict::Seen);
    let wrong = plain.choose.as_ref().expect("choices").choices.len() - 2;
    let missed = answer(&plain, Some(vec![wrong]), Some(&[]));
    assert_eq!(missed.verdict, Verdict::Missed);
    assert!(missed.said[0].says.starts_with("No "), "{missed:?}");
}

#[test]
fn rhythms_are_named_and_proved() {
    let text = "metre:4/4 C5/q. D5/e E5/q C5/q~ | C5/q D5/e:3 E5/e:3 F5/e:3 G5/h | C5/w |.";
    let rhythm = of(text, Question::Rhythm);
    let right = right(&rhythm);
    for expected in [
        "Dotted rhythms",
        "Triplets or other tuplets",
        "Ties over a bar line",
    ] {
        assert!(
            right.iter().any(|says| says == expected),
            "{expected} in {right:?}"
        );
    }
    assert!(!right.iter().any(|says| says.starts_with("A rest on a beat")));
}

#[test]
fn the_way_is_chosen_among_others_and_each_leap_is_a_place() {
    let text = "metre:4/4 |: C5/w | D5/w | [1 E5/w :| ]1 [2 F5/w ]2 | G5/w |.";
    let map = of(text, Question::RoadMap);
    assert_eq!(right(&map), ["1–3, 1–2, 4–5"]);
    assert_eq!(map.choose.as_ref().expect("choices").choices.len(), 4);
    let seen = answer(&map, Some(vec![choice(&map, "1–3, 1–2, 4–5")]), Some(&[2, 1]));
    assert_eq!(seen.verdict, Verdict::Seen, "{seen:#?}");
    let overlooked = answer(&map, None, Some(&[]));
    assert_eq!(overlooked.verdict, Verdict::Missed);
    let straight = of("metre:4/4 C5/w | D5/w | E5/w | F5/w |.", Question::RoadMap);
    assert_eq!(right(&straight), ["Straight through, 1–4"]);
    assert_eq!(answer(&straight, None, Some(&[])).verdict, Verdict::Seen);
    assert_eq!(answer(&straight, None, Some(&[3])).verdict, Verdict::Missed);
}

#[test]
fn loudness_touch_and_ornaments_are_named() {
    let text = "metre:4/4 @p C5/q!staccato D5/q!staccato E5/q!accent F5/q | @ff G5/h!trill A5/h | ( C5/q D5/q ) E5/h |.";
    assert_eq!(right(&of(text, Question::Dynamics)), ["p to ff"]);
    let sudden = answer(&of(text, Question::Dynamics), None, Some(&[1]));
    let seen = |said: &Said| said.verdict == Verdict::Seen && said.says == "p straight to ff.";
    assert!(
        sudden.verdict == Verdict::Seen && sudden.said.iter().any(seen),
        "{sudden:?}"
    );
    assert_eq!(
        right(&of(text, Question::Articulation)),
        ["Staccato dots", "Accents", "Slurs"]
    );
    let ornaments = of(text, Question::Ornaments);
    assert_eq!(right(&ornaments), ["Trills"]);
    assert_eq!(
        answer(&ornaments, Some(vec![choice(&ornaments, "Trills")]), Some(&[1])).verdict,
        Verdict::Seen
    );
}

#[test]
fn a_word_is_asked_for_its_meaning() {
    let terms = of(
        "metre:4/4 \"dolce\" C5/q D5/q E5/q F5/q | G5/w |.",
        Question::Terms,
    );
    let choosing = terms.choose.as_ref().expect("choices");
    assert_eq!(choosing.asks, "What does “dolce” ask for?");
    assert_eq!(choosing.choices.len(), 4);
    assert!(right(&terms)[0].contains("sweet"), "{choosing:#?}");
}

#[test]
fn the_ends_of_the_range_stand_among_near_ones() {
    let range = of(G_MAJOR, Question::Range);
    assert_eq!(right(&range), ["G4 to G5"]);
    assert_eq!(answer(&range, None, Some(&[0])).verdict, Verdict::Seen);
    assert_eq!(answer(&range, None, Some(&[2])).verdict, Verdict::Missed);
}

#[test]
fn what_returns_nearly_is_the_better_catch() {
    let text = "metre:4/4 C5/q D5/q E5/q F5/q | G5/q F5/q E5/q D5/q | C5/q D5/q E5/q F5/q | A5/q G5/q C6/q B5/q | C6/w |.";
    let piece = sketch(text).expect("a sketch");
    let all = asked(&piece, Time::Free, 1);
    let returns = all.iter().find(|ask| ask.look == Look::Returns).expect("asked");
    assert_eq!(answer(returns, None, Some(&[2])).verdict, Verdict::Seen);
    assert_eq!(answer(returns, None, Some(&[4])).verdict, Verdict::Missed);
}

#[test]
fn what_nobody_answered_was_not_looked_at() {
    let piece = sketch(G_MAJOR).expect("a sketch");
    let all = asked(&piece, Time::Sixty, 3);
    for compared in compare(&all, &[]) {
        assert_eq!(compared.verdict, Verdict::NotLooked, "{compared:?}");
        assert!(
            compared
                .said
                .iter()
                .all(|said| said.verdict == Verdict::NotLooked)
        );
        assert!(
            !compared.said.is_empty(),
            "what there was to see is said all the same"
        );
    }
}

#[test]
fn pointing_at_everything_proves_nothing() {
    let range = of(G_MAJOR, Question::Range);
    let bars: Vec<u32> = (0..20).collect();
    assert_eq!(answer(&range, None, Some(&bars)).verdict, Verdict::Half);
}

#[test]
fn the_order_is_the_cards_and_all_twelve_are_there() {
    for time in Time::ALL {
        let mut order: Vec<Look> = time.order().to_vec();
        assert!(time.reached().len() <= order.len() && order.starts_with(time.reached()));
        order.sort_unstable();
        order.dedup();
        assert_eq!(order.len(), 14, "each once");
    }
    for look in Time::Free.order() {
        assert_eq!(Look::from_id(look.id()), Some(*look));
    }
}

const DEMO: [&str; 10] = [
    "am_waldrand",
    "causeway_at_dusk",
    "kite_weather",
    "lantern_barge",
    "low_water",
    "sealed_door",
    "seven_lamps",
    "signal_box_march",
    "town_hall_minuet",
    "winding_road",
];

fn demo(name: &str) -> Piece {
    let path = format!("{}/../../demo/pieces/{name}.musicxml", env!("CARGO_MANIFEST_DIR"));
    let bytes = std::fs::read(&path).expect("a demo piece");
    formats::read(&bytes, &path).expect("it can be read").0
}

#[test]
fn every_demo_piece_asks_all_twelve_and_its_best_answers_miss_nothing() {
    for name in DEMO {
        let piece = demo(name);
        let (survey, study) = survey_of(&piece);
        let ctx = Context::new(&piece, 0).expect("a part");
        let looked = Looked {
            ctx: &ctx,
            survey: &survey,
            study: Some(&study),
        };
        for seed in 0..4 {
            let all = asks(&looked, Time::Sixty, seed);
            let twelve = all
                .iter()
                .filter(|ask| matches!(ask.look, Look::Asked(_)))
                .count();
            assert_eq!(twelve, 12, "{name}");
            for ask in &all {
                if let Some(choosing) = &ask.choose {
                    let wrong = choosing
                        .choices
                        .iter()
                        .filter(|choice| choice.worth == Worth::Wrong)
                        .count();
                    assert!(
                        wrong > 0 || choosing.several,
                        "{name} {:?}: {choosing:#?}",
                        ask.look
                    );
                    let mut says: Vec<&str> = choosing
                        .choices
                        .iter()
                        .map(|choice| choice.says.as_str())
                        .collect();
                    says.sort_unstable();
                    says.dedup();
                    assert_eq!(says.len(), choosing.choices.len(), "{name}: no choice twice");
                }
            }
            for compared in compare(&all, &best(&all)) {
                assert_eq!(compared.verdict, Verdict::Seen, "{name}: {compared:#?}");
            }
        }
    }
}

/// No place among the choices may be right more often than lots allow: whoever always takes the same one sees little.
#[test]
fn the_right_choice_has_no_place_of_its_own() {
    let piece = demo("kite_weather");
    let (survey, study) = survey_of(&piece);
    let ctx = Context::new(&piece, 0).expect("a part");
    let looked = Looked {
        ctx: &ctx,
        survey: &survey,
        study: Some(&study),
    };
    for look in [
        Question::Metre,
        Question::RoadMap,
        Question::Clefs,
        Question::Range,
        Question::Terms,
    ] {
        let mut places = [0_usize; 8];
        for seed in 0..60 {
            let ask = ask(&looked, Look::Asked(look), seed).expect("asked");
            let choosing = ask.choose.expect("choices");
            let at = choosing
                .choices
                .iter()
                .position(|choice| choice.worth == Worth::Right)
                .expect("a right one");
            places[at] += 1;
        }
        assert!(places.iter().all(|times| *times <= 30), "{look:?}: {places:?}");
    }
}

proptest! {
    /// Whatever is answered, nothing panics, each question is said once, and only what was answered can be missed.
    #[test]
    fn any_answers_are_borne(
        seed in any::<u64>(),
        chosen in prop::collection::vec(prop::collection::vec(0_usize..9, 0..4), 14),
        pointed in prop::collection::vec(prop::collection::vec(0_u32..40, 0..12), 14),
        said in prop::collection::vec((any::<bool>(), any::<bool>()), 14),
    ) {
        let piece = sketch("key:-2 metre:6/8 \"Andante\" @mf Bb4/q. D5/e E5/e F5/e |: G5/q.!trill F#5/q. | [1 Eb5/q. r/q. :| ]1 [2 Bb4/h. ]2 |.").expect("a sketch");
        let all = asked(&piece, Time::Thirty, seed);
        let answers: Vec<Answer> = all.iter().zip(chosen).zip(pointed).zip(&said).map(|(((ask, chosen), pointed), (choose, point))| Answer {
            look: ask.look,
            chosen: choose.then_some(chosen),
            pointed: point.then(|| pointed.into_iter().map(BarIndex).collect()),
        }).collect();
        let compared = compare(&all, &answers);
        prop_assert_eq!(compared.len(), all.len());
        for (compared, answer) in compared.iter().zip(&answers) {
            if answer.chosen.as_ref().is_none_or(Vec::is_empty) && answer.pointed.is_none() {
                prop_assert_eq!(compared.verdict, Verdict::NotLooked);
            }
        }
    }
}

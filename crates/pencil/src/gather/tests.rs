use super::{marks, play_order};
use crate::Legend;
use load::{Player, Wishes};
use notation::{PencilMark, PencilSign, sketch};
use survey::{Context, Options, Question};

fn with(text: &str, legend: &str, studied: bool) -> Vec<PencilMark> {
    let piece = sketch(text).expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    let survey = survey::survey(&piece, 0, &Question::ALL, &Options::default()).expect("a survey");
    let instrument = instruments::by_id("bassoon");
    let player = Player::usual(instrument, instruments::Experience::Student);
    let study = studied.then(|| load::study(&ctx, &survey, &player, &Wishes::default()));
    marks(
        &ctx,
        &survey,
        study.as_ref(),
        &Legend::parse(legend).expect("a legend"),
    )
}

fn of(all: &[PencilMark], sign: PencilSign) -> Vec<&PencilMark> {
    all.iter().filter(|mark| mark.sign == sign).collect()
}

#[test]
fn a_reminder_for_the_bar_after_an_accidental() {
    let all = with("metre:4/4 F#4/q G4/h A4/q | F4/q G4/h A4/q | G4/w |", "", false);
    let courtesies = of(&all, PencilSign::Courtesy);
    let [one] = courtesies.as_slice() else {
        panic!("{all:#?}")
    };
    assert_eq!((one.text.as_str(), one.from.place.bar.0), ("♮", 1));
    assert_eq!(one.reason, "F♮ again: the bar line cancelled F♯.");
    assert_eq!(one.question, "accidentals");
}

#[test]
fn a_note_altered_silently_is_circled_and_says_why() {
    let all = with(
        "key:-1 metre:4/4 A4/q C#5/q D5/q C#5/q | D5/q E5/q F5/q Bb4/q | A4/q G4/q F4/h |",
        "",
        false,
    );
    let circles = of(&all, PencilSign::Circle);
    assert!(
        circles
            .iter()
            .any(|mark| mark.reason == "Still C♯5: the sign stands earlier in bar 1."),
        "{circles:#?}"
    );
    assert!(circles.iter().any(|mark| mark.reason.starts_with("The first C♯")));
}

#[test]
fn an_unusual_spelling_says_what_it_is_fingered_like() {
    let all = with("key:3 metre:4/4 F#4/q E#4/q F#4/h | E4/w |", "", false);
    let circle = of(&all, PencilSign::Circle)
        .into_iter()
        .find(|mark| mark.text == "= F")
        .expect("a circle");
    assert!(
        circle.reason.contains("E♯4 sounds and is fingered like F4"),
        "{}",
        circle.reason
    );
}

#[test]
fn changes_at_one_place_are_one_pair_of_eyeglasses() {
    let all = with(
        "key:1 metre:4/4 G4/w | G4/w | key:-2 metre:3/4 B4/h. | D5/h. |",
        "",
        false,
    );
    let glasses = of(&all, PencilSign::Eyeglasses);
    let [one] = glasses.as_slice() else {
        panic!("{glasses:#?}")
    };
    assert!(
        one.reason.contains("key signature") && one.reason.contains("metre changes to 3/4"),
        "{}",
        one.reason
    );
}

#[test]
fn a_repeat_has_hooks_and_a_hard_spot_has_brackets() {
    let all = with(
        "metre:4/4 |: C4/w | D4/w | E4/q F#4/e G#4/e A#4/s B4/s C#5/s D#5/s E5/q | F4/w :| G4/w |",
        "",
        false,
    );
    let hooks = of(&all, PencilSign::RepeatHook);
    let [hook] = hooks.as_slice() else {
        panic!("{all:#?}")
    };
    assert_eq!((hook.from.place.bar.0, hook.end().place.bar.0), (0, 3));
    assert!(
        of(&all, PencilSign::SpotBracket)
            .iter()
            .any(|mark| mark.from.place.bar.0 == 2)
    );
}

#[test]
fn counts_stand_each_under_its_place() {
    let all = with(
        "metre:4/4 C4/q D4/q E4/q F4/q | C4/e D4/e E4/e:3 F4/e:3 G4/e:3 A4/h | C4/w |",
        "",
        false,
    );
    let counts = of(&all, PencilSign::Counts);
    let counted = counts
        .iter()
        .find(|mark| mark.from.place.bar.0 == 1)
        .expect("a count");
    let words: Vec<&str> = counted.at.iter().map(|(_, word)| word.as_str()).collect();
    assert_eq!(words, ["1", "&", "2", "la", "li", "3", "(4)"]);
    assert!(counted.at.windows(2).all(|pair| pair[0].0 < pair[1].0));
}

#[test]
fn what_a_teacher_does_not_want_is_not_marked() {
    let text = "metre:4/4 F#4/q G4/h A4/q | F4/q G4/h A4/q | G4/w |";
    let all = with(text, "[marks]\ncourtesy-accidentals = false", false);
    assert!(of(&all, PencilSign::Courtesy).is_empty());
    let all = with(text, "[marks.courtesy-accidentals]\nsign = \"circle\"", false);
    assert!(
        of(&all, PencilSign::Circle)
            .iter()
            .any(|mark| mark.matter == "courtesy-accidentals")
    );
}

#[test]
fn breaths_come_with_a_player_only() {
    let long = "mm:q=60 metre:4/4 ".to_owned() + &"C4/q D4/q E4/h | ".repeat(24);
    assert!(of(&with(&long, "", false), PencilSign::Breath).is_empty());
    let all = with(&long, "", true);
    assert!(!of(&all, PencilSign::Breath).is_empty());
    assert!(
        of(&all, PencilSign::Breath)
            .iter()
            .all(|mark| mark.reason.starts_with("Breathe") && mark.from.element.is_some())
    );
}

#[test]
fn a_breath_of_hers_in_a_rest_is_written_at_the_rest_and_ours_is_not() {
    use load::breath::{Own, OwnBreath};
    let piece =
        sketch("mm:q=60 metre:4/4 C4/q D4/q E4/h | F4/q r/h E4/q | D4/h r/h | C4/w |").expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    let survey = survey::survey(&piece, 0, &Question::ALL, &Options::default()).expect("a survey");
    let player = Player::usual(instruments::by_id("bassoon"), instruments::Experience::Student);
    let commas = |own: Vec<OwnBreath>| {
        let wishes = Wishes {
            breaths: own,
            ..Wishes::default()
        };
        let study = load::study(&ctx, &survey, &player, &wishes);
        let all = marks(&ctx, &survey, Some(&study), &Legend::default());
        let signs = [PencilSign::Breath, PencilSign::SlowBreath];
        let both = all.into_iter().filter(|mark| signs.contains(&mark.sign));
        both.collect::<Vec<_>>()
    };
    assert_eq!(commas(Vec::new()), [], "the rests give the time by themselves");
    // Before the E after the rest, at any tempo; before the last C, only while it is slow.
    let e = piece.parts[0].events[5].place;
    let c = piece.parts[0].events[8].place;
    let own = |place, own| OwnBreath { place, own };
    let hers = commas(vec![own(e, Own::Breathe), own(c, Own::WhileSlow)]);
    let [at_tempo, while_slow] = hers.as_slice() else {
        panic!("{hers:#?}")
    };
    let rest = |index: usize| {
        (
            piece.parts[0].events[index].id,
            piece.parts[0].events[index].is_rest(),
        )
    };
    assert_eq!((at_tempo.sign, at_tempo.kept), (PencilSign::Breath, true));
    assert_eq!((at_tempo.from.element.unwrap(), true), rest(4));
    assert!(
        at_tempo
            .reason
            .starts_with("Breathe in this rest: the teacher’s choice"),
        "{}",
        at_tempo.reason
    );
    assert_eq!(while_slow.sign, PencilSign::SlowBreath);
    assert_eq!((while_slow.from.element.unwrap(), true), rest(7));
    // Struck out there, nothing is written.
    assert_eq!(commas(vec![own(e, Own::Not)]), []);
}

/// Source: the flute's chart in `instruments`: E5–F♯5 is trilled with the right index finger.
#[test]
fn a_trill_with_a_fingering_of_its_own_says_which_finger() {
    let piece = sketch("key:2 metre:4/4 D5/q E5/h!trill D5/q | A5/h!trill A5/h |").expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    let survey = survey::survey(&piece, 0, &Question::ALL, &Options::default()).expect("a survey");
    let player = Player::usual(instruments::by_id("flute"), instruments::Experience::Student);
    let study = load::study(&ctx, &survey, &player, &Wishes::default());
    let all = marks(&ctx, &survey, Some(&study), &Legend::default());
    let told: Vec<&str> = of(&all, PencilSign::Fingering)
        .iter()
        .map(|mark| mark.text.as_str())
        .collect();
    assert_eq!(told, ["tr R1"], "the other trill goes with the usual fingerings");
}

#[test]
fn a_leap_has_an_arrow_to_its_bar() {
    let piece = "metre:4/4 G4/w | segno C4/w | D4/w \"To_Coda\" | E4/w \"D.S._al_Coda\" | coda F4/w |";
    let all = with(piece, "", false);
    let arrows = of(&all, PencilSign::JumpArrow);
    assert!(
        arrows
            .iter()
            .any(|mark| mark.reason == "D.S.: go back to the sign, bar 2." && mark.text == "2"),
        "{arrows:#?}"
    );
    assert!(
        arrows
            .iter()
            .any(|mark| mark.reason.contains("coda") && mark.text == "5"),
        "{arrows:#?}"
    );
}

#[test]
fn a_bar_that_is_nearly_another_has_its_letter_with_a_stroke() {
    let all = with(
        "metre:3/4 C4/q E4/q G4/q | D4/h. | C4/q E4/q F4/q | G4/h. |",
        "",
        false,
    );
    let letters: Vec<_> = of(&all, PencilSign::LookAlike)
        .iter()
        .map(|m| (m.from.place.bar.0, m.text.as_str()))
        .collect();
    assert_eq!(letters, [(0, "a"), (2, "a′")]);
}

#[test]
fn every_mark_says_why_and_is_worth_something() {
    for studied in [false, true] {
        let text = "key:2 metre:4/4 D4/q C4/e C#4/e:3 D4/e:3 E#4/e:3 F#4/q | G#4/h G4/q r/e A4/e | metre:3/4 clef:C4 B3/h. | D4/h. |";
        for mark in with(text, "", studied) {
            assert!(mark.reason.ends_with('.') && mark.reason.len() > 8, "{mark:?}");
            assert!((0.0..=1.0).contains(&mark.worth) && mark.worth > 0.0);
            assert!(!mark.matter.is_empty() && !mark.question.is_empty());
        }
    }
}

#[test]
fn a_straight_part_has_no_play_order_to_write() {
    let order = |text: &str| {
        let piece = sketch(text).expect("a sketch");
        let ctx = Context::new(&piece, 0).expect("a part");
        let survey = survey::survey(&piece, 0, &Question::ALL, &Options::default()).expect("a survey");
        play_order(&ctx, &survey)
    };
    assert_eq!(order("C4/w | D4/w |"), None);
    assert_eq!(order("C4/w | D4/w :| E4/w |").as_deref(), Some("1–2, 1–3"));
}

/// Every demo piece, for a player and without: whatever a mark holds on to is in the part, and twice the same marks come.
#[test]
fn marks_of_the_demo_pieces_hold_on_to_what_is_there() {
    let pieces: [(&str, &[u8]); 4] = [
        (
            "causeway",
            include_bytes!("../../../../demo/pieces/causeway_at_dusk.musicxml"),
        ),
        (
            "kite",
            include_bytes!("../../../../demo/pieces/kite_weather.musicxml"),
        ),
        (
            "march",
            include_bytes!("../../../../demo/pieces/signal_box_march.musicxml"),
        ),
        (
            "minuet",
            include_bytes!("../../../../demo/pieces/town_hall_minuet.musicxml"),
        ),
    ];
    for (name, bytes) in pieces {
        let (piece, _) = formats::read(bytes, name).expect("a demo piece");
        let ctx = Context::new(&piece, 0).expect("a part");
        let survey = survey::survey(&piece, 0, &Question::ALL, &Options::default()).expect("a survey");
        let instrument = survey.instrument.as_ref().map(|found| found.instrument);
        let player = Player::usual(instrument, instruments::Experience::Intermediate);
        let study = load::study(&ctx, &survey, &player, &Wishes::default());
        for study in [None, Some(&study)] {
            let all = marks(&ctx, &survey, study, &Legend::default());
            assert_eq!(all, marks(&ctx, &survey, study, &Legend::default()), "{name}");
            assert!(all.len() > 8, "{name}: {}", all.len());
            for mark in &all {
                check_anchors(&ctx, mark);
            }
        }
    }
}

fn check_anchors(ctx: &Context, mark: &PencilMark) {
    let ends = [mark.from.place, mark.end().place];
    assert!(ends[0] <= ends[1], "{mark:?}");
    let places = ends.into_iter().chain(mark.at.iter().map(|(place, _)| *place));
    for place in places {
        let bar = ctx.piece.bars.get(place.bar.get()).expect("a bar of the piece");
        assert!(
            !place.offset.is_negative() && place.offset <= bar.length,
            "{mark:?}"
        );
    }
    if let Some(id) = mark.from.element {
        let mut events = ctx.part.events.iter();
        let known = events.any(|event| event.id == id || event.heads().iter().any(|head| head.id == id));
        assert!(known, "{mark:?}");
    }
}

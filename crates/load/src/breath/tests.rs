//! Breaths on lines short enough to sing, and the laws that a teacher takes for granted.
use super::*;
use crate::alike;
use instruments::Experience;
use notation::Piece;
use proptest::prelude::*;

struct Asked {
    piece: Piece,
    answer: BreathAnswer,
}

fn ask(text: &str, instrument: &str, breath: f64, speeds: (f64, f64)) -> Asked {
    let piece = notation::sketch(text).expect("a sketch");
    let answer = answer_of(&piece, instrument, breath, speeds);
    Asked { piece, answer }
}

fn answer_of(piece: &Piece, instrument: &str, breath: f64, speeds: (f64, f64)) -> BreathAnswer {
    answer_with(piece, instrument, breath, speeds, &[])
}

fn answer_with(
    piece: &Piece,
    instrument: &str,
    breath: f64,
    (slow, fast): (f64, f64),
    own: &[OwnBreath],
) -> BreathAnswer {
    let ctx = Context::new(piece, 0).expect("a part");
    let key = survey::key::answer(&ctx, None);
    let phrases = survey::phrases::answer(&ctx, Some(&key));
    let dynamics = survey::dynamics::answer(&ctx);
    let unfolding = performance::road::unfold(piece, &performance::road::RoadOptions::default());
    let mut player = Player::usual(instruments::by_id(instrument), Experience::Intermediate);
    player.breath.seconds = breath;
    let tempi = Tempi {
        first: Pace::steady(slow),
        last: Pace::steady(fast),
    };
    let material = Material {
        phrases: &phrases,
        alike: &alike::answer(&ctx, &[]),
        unfolding: &unfolding,
        dynamics: Some(&dynamics),
        key: Some(&key),
        own,
    };
    breath_answer(&ctx, &player, &tempi, &material)
}

/// Bar (from 1) and offset of each breath, with its kind.
fn at(breaths: &[Breath]) -> Vec<(u32, String, Kind)> {
    breaths
        .iter()
        .map(|breath| {
            (
                breath.place.bar.0 + 1,
                breath.place.offset.to_string(),
                breath.kind,
            )
        })
        .collect()
}

const TUNE: &str = "key:0 metre:4/4 G4/q | C5/q C5/q D5/q D5/q | E5/h. G4/q | E5/q E5/q D5/q D5/q | C5/h. G4/q | \
                    A4/q A4/q B4/q B4/q | C5/h. G4/q | E5/q E5/q D5/q D5/q | C5/h. |";

/// Source: practice facts: phrase ends; an upbeat moves the place before the bar line; the note before is shortened.
#[test]
fn a_breath_comes_before_the_upbeat_and_shortens_the_note_before() {
    let asked = ask(TUNE, "bassoon", 9.0, (60.0, 120.0));
    let breaths = &asked.answer.at_final;
    assert_eq!(at(breaths), [(5, "3".to_owned(), Kind::Breathe)], "{breaths:?}");
    let shortened = breaths[0].shortened.expect("a note is shortened");
    assert_eq!(shortened + 1, breaths[0].note);
    assert!(
        breaths[0].why.contains("the C5 before it is cut short"),
        "{}",
        breaths[0].why
    );
    assert!(asked.answer.findings.is_empty());
}

/// Source: practice facts: mark extra optional breaths for slow practice.
#[test]
fn the_slow_tempo_has_extra_optional_breaths() {
    let asked = ask(TUNE, "bassoon", 9.0, (60.0, 120.0));
    let kept: Vec<_> = asked
        .answer
        .at_first
        .iter()
        .filter(|breath| !breath.optional)
        .cloned()
        .collect();
    assert_eq!(kept, asked.answer.at_final, "what is marked at tempo stays");
    assert!(asked.answer.at_first.len() > kept.len());
}

#[test]
fn a_printed_mark_is_kept_and_a_rest_needs_no_mark() {
    let text = TUNE.replace("C5/h. G4/q | A4/q", "C5/h r/q G4/q | A4/q");
    let asked = ask(&text, "oboe", 9.0, (60.0, 120.0));
    assert!(
        asked
            .answer
            .at_final
            .iter()
            .any(|breath| breath.kind == Kind::OnRest && breath.shortened.is_none())
    );
    assert!(
        asked
            .answer
            .at_final
            .iter()
            .all(|breath| breath.kind == Kind::OnRest)
    );
}

/// Source: practice facts: oboe players must breathe out first, so two signs.
#[test]
fn an_oboe_breathes_out_and_in_by_turns() {
    let asked = ask(TUNE, "oboe", 4.6, (120.0, 120.0));
    let kinds: Vec<Kind> = asked.answer.at_final.iter().map(|breath| breath.kind).collect();
    assert_eq!(kinds, [Kind::BreatheOut, Kind::Breathe, Kind::BreatheOut]);
}

#[test]
fn no_place_is_said_and_never_invented() {
    let slurred = "metre:4/4 ( C5/w D5/w | E5/w F5/w | G5/w A5/w | G5/w F5/w ) |";
    let asked = ask(slurred, "clarinet-bb", 8.0, (60.0, 60.0));
    assert!(asked.answer.at_first.is_empty() && asked.answer.at_final.is_empty());
    let finding = &asked.answer.findings[0];
    assert_eq!(finding.kind, "no-place-to-breathe");
    assert!(
        finding
            .what
            .starts_with("no place to breathe for 32 seconds: bars"),
        "{}",
        finding.what
    );
    assert!(
        asked
            .answer
            .shares
            .iter()
            .any(|placed| placed.share.kind == "out-of-breath")
    );
}

/// Source: practice facts: the low loud flute empties fastest.
#[test]
fn loud_and_low_needs_more_breaths() {
    let soft = ask(
        &TUNE.replace("metre:4/4", "metre:4/4 @p"),
        "flute",
        9.0,
        (100.0, 100.0),
    );
    let low = TUNE
        .replace('4', "X")
        .replace('5', "4")
        .replace('X', "3")
        .replace("metre:3/3", "metre:4/4 @ff");
    let loud = ask(&low.replace("G3", "G4"), "flute", 9.0, (100.0, 100.0));
    assert!(
        loud.answer.at_final.len() > soft.answer.at_final.len(),
        "{:?}",
        loud.answer.at_final
    );
}

#[test]
fn parallel_passages_breathe_alike() {
    let half = "C5/q D5/e E5/e F5/q E5/q | D5/q E5/e F5/e G5/h | E5/q C5/q D5/q B4/q | C5/h. r/q |";
    let text = format!("metre:4/4 {half} {half} G4/w | {half}");
    let asked = ask(&text, "trumpet-bb", 5.0, (100.0, 100.0));
    let in_half = |start: u32| -> Vec<(u32, String)> {
        at(&asked.answer.at_final)
            .into_iter()
            .filter(|(bar, _, kind)| (start..start + 4).contains(bar) && *kind != Kind::OnRest)
            .map(|(bar, offset, _)| (bar - start, offset))
            .collect()
    };
    assert!(!in_half(1).is_empty());
    assert_eq!(in_half(1), in_half(5));
    assert_eq!(in_half(1), in_half(10));
}

#[test]
fn a_repeat_is_marked_once_at_the_end_of_the_bar() {
    let text = "metre:4/4 C5/q D5/q E5/q F5/q | G5/h. E5/q :| D5/q E5/q D5/q C5/q | C5/w |";
    let asked = ask(text, "horn", 5.5, (100.0, 100.0));
    let places = at(&asked.answer.at_final);
    let mut once = places.clone();
    once.dedup();
    assert_eq!(places, once);
    assert!(
        places
            .iter()
            .all(|(bar, offset, _)| (*bar, offset.as_str()) != (1, "0")),
        "no comma before the first note"
    );
}

#[test]
fn strings_get_bowings_and_keyboards_nothing() {
    let strings = ask(TUNE, "viola", 9.0, (60.0, 120.0)).answer;
    assert!(strings.at_final.is_empty() && strings.bowing.is_some_and(|bowing| !bowing.signs.is_empty()));
    let piece = notation::sketch("metre:4/4 R | R").expect("a sketch");
    let silent = answer_of(&piece, "tuba", 8.0, (60.0, 60.0));
    assert!(silent.at_first.is_empty() && silent.findings.is_empty());
    assert_eq!(silent.bars, [None, None]);
}

/// Lines of all sorts, as sketches: slurs, ties, rests, leading notes, bars of four.
fn lines() -> impl Strategy<Value = String> {
    let notes = ["C5", "D5", "E5", "F#5", "G4", "A4", "B4", "C6", "B3", "G5"];
    prop::collection::vec((0..notes.len(), 0..8_usize), 8..48).prop_map(move |tokens| {
        let mut text = String::from("key:0 metre:4/4");
        let (mut filled, mut slur) = (0, false);
        for (pitch, how) in tokens {
            let name = notes[pitch];
            let (value, length) = [("q", 2), ("e", 1), ("h", 4), ("q", 2)][how % 4];
            match how {
                4 if !slur => {
                    text.push_str(" (");
                    slur = true;
                }
                5 => {
                    text.push_str(&format!(" r/{value}"));
                    filled += length;
                    continue;
                }
                _ => {}
            }
            text.push_str(&format!(" {name}/{value}"));
            filled += length;
            if slur && how == 6 {
                text.push_str(" )");
                slur = false;
            }
            if filled >= 8 {
                text.push_str(" |");
                filled = 0;
            }
        }
        if slur {
            text.push_str(" )");
        }
        text
    })
}

fn notes_of(breaths: &[Breath]) -> Vec<usize> {
    breaths.iter().map(|breath| breath.note).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Never inside a slur, never between the leading note and the key note, never before a phrase's last note.
    #[test]
    fn no_breath_is_illegal(text in lines(), breath in 1.0_f64..12.0, speed in 40.0_f64..160.0) {
        let asked = ask(&text, "clarinet-bb", breath, (speed, speed));
        let ctx = Context::new(&asked.piece, 0).expect("a part");
        let key = survey::key::answer(&ctx, None);
        let phrases = survey::phrases::answer(&ctx, Some(&key));
        let tonic = survey::phrases::tonic_class(&key);
        let slurs: Vec<_> = ctx.part.spans.iter().filter(|span| span.kind == notation::SpanKind::Slur).collect();
        for breath in &asked.answer.at_first {
            let (before, here) = (&ctx.line[breath.note - 1], &ctx.line[breath.note]);
            let rest = here.onset > before.onset + before.duration;
            let places = [before, here].map(|note| ctx.event(note).expect("an event").place);
            for slur in &slurs {
                if let (Some(start), Some(end)) = (slur.start, slur.end) {
                    prop_assert!(rest || !(start.place <= places[0] && places[1] <= end.place), "inside a slur");
                }
            }
            let resolves = here.pitch.key_number() - before.pitch.key_number() == 1
                && here.pitch.key_number().rem_euclid(12) == tonic
                && here.pitch.diatonic() - before.pitch.diatonic() == 1;
            prop_assert!(rest || !resolves, "between the leading note and the key note");
            prop_assert!(rest || phrases.begins(breath.note) || !phrases.ends(breath.note), "before a last note");
        }
    }

    /// More breath never asks for more breaths, nor for other places; nor does a faster tempo. The same question has the
    /// same answer, and what is marked at tempo stays when it is slow.
    #[test]
    fn more_breath_and_more_speed_need_no_more_breaths(
        text in lines(), breath in 1.0_f64..10.0, more in 1.0_f64..2.0, speed in 40.0_f64..100.0, twice: bool,
    ) {
        let text = if twice { format!("{text} {}", text.replace("key:0 metre:4/4", "")) } else { text };
        let piece = notation::sketch(&text).expect("a sketch");
        let little = answer_of(&piece, "flute", breath, (speed, speed * 1.5));
        let much = answer_of(&piece, "flute", breath * more, (speed, speed * 1.5));
        let fast = answer_of(&piece, "flute", breath, (speed * more, speed * 1.5 * more));
        prop_assert_eq!(&little, &answer_of(&piece, "flute", breath, (speed, speed * 1.5)));
        for other in [&much, &fast] {
            for (few, many) in [(&other.at_final, &little.at_final), (&other.at_first, &little.at_first), (&other.at_final, &other.at_first)] {
                let many = notes_of(many);
                prop_assert!(notes_of(few).iter().all(|note| many.contains(note)), "{:?} {:?}", notes_of(few), many);
            }
        }
    }
}

/// Two thousand bars take about five times as long as four hundred (three times that is let pass on a busy machine).
#[test]
fn long_parts_take_linear_time() {
    let seconds = |bars: usize| {
        let one = "C5/q D5/e E5/e F5/q G5/q | E5/h. r/q | A4/q B4/q C5/q D5/q | ( E5/q C5/q ) G4/h |";
        let text = format!("metre:4/4 {}", vec![one; bars / 4].join(" "));
        let piece = notation::sketch(&text).expect("a sketch");
        let run = || {
            let from = std::time::Instant::now();
            assert!(!answer_of(&piece, "flute", 6.0, (60.0, 90.0)).at_final.is_empty());
            from.elapsed().as_secs_f64()
        };
        run().min(run())
    };
    let (short, long) = (seconds(400), seconds(2000));
    assert!(long < short * 15.0 + 0.2, "{short} {long}");
}

/// What the teacher decides stands: hers is there, what she struck out is not, and what is for the slow tempo only falls away.
#[test]
fn the_teachers_places_stand() {
    let piece = notation::sketch(TUNE).expect("a sketch");
    let place = |bar: u32, offset: i64| Place {
        bar: notation::BarIndex(bar - 1),
        offset: Quarters::whole(offset),
    };
    let ask = |own: &[OwnBreath]| answer_with(&piece, "bassoon", 9.0, (60.0, 120.0), own);
    let ours = ask(&[]);
    let first = ours.at_final[0].place;
    assert_eq!(first, place(5, 3));
    let not = OwnBreath {
        place: first,
        own: Own::Not,
    };
    let struck = ask(&[not]);
    assert!(
        struck.at_first.iter().all(|breath| breath.place != first),
        "{:?}",
        struck.at_first
    );
    assert!(!struck.at_final.is_empty(), "the next best place is proposed");
    // In the middle of a bar, where none is proposed.
    let own = |own| OwnBreath {
        place: place(4, 2),
        own,
    };
    let at = |answer: &[Breath]| answer.iter().find(|breath| breath.place == place(4, 2)).cloned();
    assert_eq!(at(&ours.at_first), None);
    let hers = ask(&[own(Own::Breathe)]);
    let taken = at(&hers.at_final).expect("hers");
    assert!(
        taken.own && !taken.optional && taken.why.starts_with("the teacher’s choice"),
        "{taken:?}"
    );
    let slow = ask(&[own(Own::WhileSlow)]);
    assert!(at(&slow.at_first).expect("hers").optional);
    assert_eq!(at(&slow.at_final), None);
}

proptest! {
    /// Whatever she decides at whatever note after the first, it stands in the answer.
    #[test]
    fn decisions_stand_wherever_they_are(at in 1_usize..31, which in 0_usize..3, breath in 4.0_f64..20.0) {
        let piece = notation::sketch(TUNE).expect("a sketch");
        let ctx = Context::new(&piece, 0).expect("a part");
        let note = at.min(ctx.line.len() - 1);
        let place = ctx.event(&ctx.line[note]).expect("a note").place;
        let own = [Own::Breathe, Own::WhileSlow, Own::Not][which];
        let answer = answer_with(&piece, "flute", breath, (60.0, 120.0), &[OwnBreath { place, own }]);
        let there = |breaths: &[Breath]| breaths.iter().any(|breath| breath.note == note);
        prop_assert_eq!(there(&answer.at_first), own != Own::Not);
        prop_assert_eq!(there(&answer.at_final), own == Own::Breathe);
    }
}

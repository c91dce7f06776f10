//! A take with slips of known kinds: what is pencilled for it, how it stands beside a clean one, what goes into the log.

#![allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]

use desk::{ListenAsked, Opened, SoundForm, TakeAsked, Taken, Voice};
use notation::PencilSign;
use std::path::Path;

/// Eight bars in D, newly composed for this.
const AS_WRITTEN: &str = "X:1\nT:Eight bars\nM:4/4\nL:1/4\nQ:1/4=92\nK:D\n\
                          D F A d | c A B2 | G B e d | c A F2 | D F A d | f e d2 | g e c A | d4 |]\n";

fn piece(text: &str) -> Opened {
    desk::open_bytes(Path::new("eight.abc"), text.as_bytes()).unwrap()
}

fn sound(text: &str) -> Vec<u8> {
    let asked = ListenAsked {
        voice: Voice::Own,
        ..ListenAsked::default()
    };
    let heard = desk::listen(&piece(text), &asked).unwrap();
    desk::to_bytes(&heard, SoundForm::Wav).unwrap()
}

fn taken(text: &str, name: &str) -> Taken {
    desk::take_bytes(&piece(AS_WRITTEN), name, &sound(text), &TakeAsked::default()).unwrap()
}

/// In bar 3 an F sharp for the second note, in bar 6 nothing where the second note stands.
fn with_slips() -> Taken {
    let text = AS_WRITTEN
        .replace("G B e d", "G F e d")
        .replace("f e d2", "f z d2");
    taken(&text, "slips.wav")
}

#[test]
fn a_ring_and_words_say_what_was_heard_where() {
    let taken = with_slips();
    let signs = taken.signs();
    let of = |sign: PencilSign| {
        signs
            .iter()
            .filter(|mark| mark.sign == sign)
            .map(|mark| (taken.bar_label(mark.from.place.bar), mark.text.clone()))
            .collect::<Vec<_>>()
    };
    assert_eq!(of(PencilSign::Circle), [("3".to_owned(), "F♯".to_owned())]);
    assert_eq!(of(PencilSign::Words), [("6".to_owned(), "left out".to_owned())]);
    assert!(of(PencilSign::JumpArrow).is_empty());
    let ring = signs.iter().find(|mark| mark.sign == PencilSign::Circle).unwrap();
    assert_eq!(ring.reason, "Bar 3: B4 is written, F♯4 was heard.");
    assert!(ring.from.element.is_some() && ring.kept);
    assert!(
        of(PencilSign::SpotBracket).len() >= 2,
        "worth working on: {signs:?}"
    );
}

#[test]
fn a_clean_take_bears_no_sign() {
    let taken = taken(AS_WRITTEN, "clean.wav");
    assert!(taken.signs().is_empty(), "{:?}", taken.signs());
    assert!(taken.played_bars().iter().all(|bar| bar.says.is_empty()));
    assert_eq!(taken.played_bars().len(), 8);
}

#[test]
fn it_stands_beside_an_earlier_one() {
    let earlier = wire::read_take(&with_slips().json()).unwrap();
    let beside = taken(AS_WRITTEN, "clean.wav").beside(&earlier);
    let better: Vec<u32> = beside.better.iter().map(|bar| bar.0).collect();
    assert_eq!(
        (better, beside.worse.len(), beside.still.len()),
        (vec![2, 5], 0, 0)
    );
    assert_eq!(
        beside.says.first().unwrap(),
        "Bars 3, 6 are clean now and were not."
    );
    assert!(wire::read_take("{}").is_none() && wire::read_take("{\"version\": \"9.0\"}").is_none());
}

#[test]
fn its_bars_go_into_the_log_as_visits() {
    let visits = with_slips().visits(Some("2026-11-26"));
    let said: Vec<(String, Option<u32>)> = visits
        .iter()
        .map(|visit| (visit.bars.clone().unwrap(), visit.clean))
        .collect();
    let run = |bars: &str, clean: u32| (bars.to_owned(), Some(clean));
    assert_eq!(
        said,
        [
            run("1-2", 1),
            run("3-3", 0),
            run("4-5", 1),
            run("6-6", 0),
            run("7-8", 1)
        ]
    );
    for visit in &visits {
        let tempo = visit.tempo.unwrap();
        assert!(
            (tempo - 92.0).abs() <= 3.0 && visit.beat.as_deref() == Some("quarter"),
            "{visit:?}"
        );
        // As the log takes it.
        assert!(desk::log_line(&piece(AS_WRITTEN), visit).is_ok());
    }
}

#[test]
fn every_drill_that_is_named_is_one_that_the_bars_give() {
    let taken = with_slips();
    assert!(!taken.heard.work.is_empty());
    for work in &taken.heard.work {
        let (Some(kind), Some((from, to))) = (work.drill, work.bars) else {
            continue;
        };
        let asked = desk::DrillAsked {
            pick: desk::DrillPick::Bars(format!("{}-{}", taken.bar_label(from), taken.bar_label(to))),
            kinds: vec![kind.to_owned()],
            ..desk::DrillAsked::default()
        };
        assert!(
            !desk::drills(&piece(AS_WRITTEN), &asked)
                .unwrap()
                .offers
                .is_empty(),
            "{kind}"
        );
    }
}

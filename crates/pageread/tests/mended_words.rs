//! What the teacher puts right of words and of what stands beside the staff: the two systems of `tests/mended.rs`, with the words that
//! were read on them.

#![allow(clippy::unwrap_used, clippy::panic)]

mod two_systems;

use notation::{DirectionKind, MetronomeValue, SpanKind};
use pageread::{
    Doubt, Edit, Line, MetronomeSaid, Read, ReadText, System, TextAt, TextKind, What, assemble,
    assemble_mended, mend,
};
use two_systems::systems;

fn with(edits: &[Edit]) -> Read {
    of(&systems(), edits)
}

fn of(systems: &[System], edits: &[Edit]) -> Read {
    let mended = mend(systems, edits);
    assert_eq!(mended.idle, Vec::<usize>::new());
    assemble_mended(&mended)
}

fn text(read: &Read, holds: &str) -> ReadText {
    let mut texts = read.places.texts.iter();
    texts
        .find(|text| text.read.contains(holds) || text.text.contains(holds))
        .unwrap()
        .clone()
}

fn says(at: TextAt, text: &str) -> Edit {
    Edit::Text {
        at,
        text: Some(text.to_owned()),
        is: None,
        mark: None,
    }
}

fn is(at: TextAt, text: &str, is: TextKind) -> Edit {
    Edit::Text {
        at,
        text: Some(text.to_owned()),
        is: Some(is),
        mark: None,
    }
}

fn gone(at: TextAt) -> Edit {
    Edit::Text {
        at,
        text: None,
        is: None,
        mark: None,
    }
}

fn add(system: u32, x: f32, text: &str, is: TextKind) -> Edit {
    Edit::AddText {
        system,
        x,
        text: text.to_owned(),
        is,
        mark: None,
    }
}

/// `bar+offset word` of all directions, in the order of the page.
fn said(read: &Read) -> Vec<String> {
    let mut out: Vec<_> = read.piece.parts[0].directions.iter().collect();
    out.sort_by_key(|direction| direction.place);
    let says = |kind: &DirectionKind| match kind {
        DirectionKind::Words(text) => text.clone(),
        DirectionKind::Rehearsal(text) => format!("[{text}]"),
        DirectionKind::Dynamic(text) => format!("dynamic {text}"),
        DirectionKind::Metronome(mark) => match &mark.value {
            MetronomeValue::PerMinute(number) => format!("{:?} {} = {number}", mark.beat, mark.dots),
            other => format!("{other:?}"),
        },
        other => format!("{other:?}"),
    };
    out.iter()
        .map(|d| format!("{}+{} {}", d.place.bar.0, d.place.offset, says(&d.kind)))
        .collect()
}

#[test]
fn every_line_of_text_stands_where_it_was_read_with_what_it_was_taken_for() {
    let read = assemble(&systems());
    assert_eq!(text(&read, "Horn in F").kind, Some(TextKind::Part));
    assert_eq!(text(&read, "Foreread demo").kind, Some(TextKind::Title));
    let words = text(&read, "Ruhig");
    let direction = read.piece.parts[0]
        .directions
        .iter()
        .find(|d| words.became.contains(&d.id))
        .unwrap();
    assert_eq!(
        direction.kind,
        DirectionKind::Words("Ruhig, mit Wärme".to_owned())
    );
    let [x, y, w, h] = words.line_box.unwrap();
    assert!(x > 0.0 && y > 0.0 && w > 100.0 && h > 10.0);
    let mark = text(&read, "58");
    let said = MetronomeSaid {
        note: 4,
        dots: 1,
        value: "58".to_owned(),
    };
    assert_eq!((mark.kind, mark.mark), (Some(TextKind::Tempo), Some(said)));
    assert_eq!(mark.taken_for, "metronome mark, dotted quarter = 58");
    // A fingering: on the page, and no word.
    assert_eq!(text(&read, "5").kind, None);
}

#[test]
fn a_text_is_put_right_is_another_kind_or_is_none() {
    let plain = with(&[]);
    let words = text(&plain, "Ruhig").at;
    let read = with(&[says(words, "Sehr ruhig")]);
    assert!(
        said(&read).contains(&"0+0 Sehr ruhig".to_owned()),
        "{:?}",
        said(&read)
    );
    assert_eq!(text(&read, "Sehr ruhig").sure, 1.0);
    let read = with(&[gone(words)]);
    assert!(said(&read).iter().all(|said| !said.contains("Ruhig")));
    assert_eq!(read.places.texts.len() + 1, plain.places.texts.len());
    let read = with(&[
        is(text(&plain, "Foreread demo").at, "Nachtstück", TextKind::Other),
        is(words, "Ruhig", TextKind::Title),
        is(text(&plain, "Horn").at, "Horn in E flat", TextKind::Part),
    ]);
    assert_eq!(read.piece.credits.title.as_deref(), Some("Ruhig"));
    assert_eq!(read.piece.parts[0].name, "Horn in E flat");
    assert!(read.piece.credits.page_words.contains(&"Nachtstück".to_owned()));
    // Figures that were left out number the bar that they stand at.
    let read = with(&[is(text(&plain, "5").at, "p dolce", TextKind::Expression)]);
    assert!(
        said(&read).contains(&"0+0 p dolce".to_owned()),
        "{:?}",
        said(&read)
    );
}

#[test]
fn a_metronome_mark_gets_its_note_its_dots_and_its_number() {
    let plain = with(&[]);
    let mark = text(&plain, "58").at;
    let fixed = |note, dots, value: &str, before: &str| Edit::Text {
        at: mark,
        text: Some(before.to_owned()),
        is: None,
        mark: Some(MetronomeSaid {
            note,
            dots,
            value: value.to_owned(),
        }),
    };
    let read = with(&[fixed(5, 0, "c. 116", "")]);
    assert!(
        said(&read).contains(&"0+0 Eighth 0 = c. 116".to_owned()),
        "{:?}",
        said(&read)
    );
    assert!(said(&read).iter().all(|said| !said.contains("58")));
    let read = with(&[fixed(3, 1, "58", "etwa")]);
    let all = said(&read);
    assert!(
        all.contains(&"0+0 Half 1 = 58".to_owned()) && all.contains(&"0+0 etwa".to_owned()),
        "{all:?}"
    );
    let back = text(&read, "etwa");
    assert_eq!(back.mark.map(|mark| (mark.note, mark.dots)), Some((3, 1)));
    let nonsense = [fixed(5, 0, "soon", ""), fixed(99, 0, "58", "")];
    assert_eq!(mend(&systems(), &nonsense).idle, [0, 1]);
}

#[test]
fn texts_that_were_missed_are_added_at_their_bar_each_as_what_it_is() {
    let plain = with(&[]);
    let bar = |n: usize| plain.places.bars[n].clone();
    let read = with(&[
        add(1, bar(5).from + 4.0, "B", TextKind::Rehearsal),
        add(1, bar(5).from + 4.0, "più mosso", TextKind::Tempo),
        add(1, bar(7).to - 6.0, "D.C. al Fine", TextKind::Jump),
        add(0, bar(3).to - 6.0, "Fine", TextKind::Jump),
        add(0, bar(1).from + 4.0, "mf", TextKind::Dynamic),
        add(0, bar(2).from + 4.0, "cresc. molto", TextKind::Dynamic),
        add(0, 20.0, "Imke Rahn", TextKind::Composer),
    ]);
    let all = said(&read);
    for wanted in ["5+0 [B]", "5+0 più mosso", "1+0 dynamic mf", "2+0 cresc. molto"] {
        assert!(all.contains(&wanted.to_owned()), "{wanted}: {all:?}");
    }
    assert!(
        all.iter()
            .any(|said| said.starts_with("7+") && said.ends_with("D.C. al Fine")),
        "{all:?}"
    );
    assert!(
        all.iter()
            .any(|said| said.starts_with("3+") && said.ends_with(" Fine")),
        "{all:?}"
    );
    assert_eq!(
        read.piece.credits.people,
        [("composer".to_owned(), "Imke Rahn".to_owned())]
    );
    // What was added can be put right and taken away again.
    let added = text(&read, "più mosso").at;
    let read = with(&[
        add(1, bar(5).from + 4.0, "B", TextKind::Rehearsal),
        add(1, bar(5).from + 4.0, "più mosso", TextKind::Tempo),
        says(added, "meno mosso"),
        gone(TextAt {
            number: added.number - 1,
            ..added
        }),
    ]);
    let all = said(&read);
    assert!(
        all.contains(&"5+0 meno mosso".to_owned()) && !all.iter().any(|said| said.contains("[B]")),
        "{all:?}"
    );
    assert_eq!(plain.places.signs, read.places.signs, "no sign has moved");
}

#[test]
fn doubtful_words_are_listed_with_why_until_somebody_says_that_they_are_right() {
    let mut systems = systems();
    let words = systems[0]
        .words
        .iter_mut()
        .find(|line| line.text.contains("Ruhig"))
        .unwrap();
    (words.sure, words.text) = (0.7, "Allegretlo".to_owned());
    let read = of(&systems, &[]);
    let place = read
        .look
        .iter()
        .find(|place| place.about == Doubt::Words)
        .unwrap();
    let What::Text(at) = place.what else {
        panic!("{place:?}")
    };
    assert!(
        place.taken_for.contains("tempo “Allegretto”") && place.taken_for.contains("read as “Allegretlo”"),
        "{}",
        place.taken_for
    );
    let right = of(&systems, &[says(at, "Allegretto")]);
    assert!(right.look.iter().all(|place| place.about != Doubt::Words));
    assert!(said(&right).contains(&"0+0 Allegretto".to_owned()));
    // Or the page has it so.
    let printed = of(&systems, &[says(at, "Allegretlo")]);
    assert!(said(&printed).contains(&"0+0 Allegretlo".to_owned()));
    assert!(printed.look.iter().all(|place| place.about != Doubt::Words));
}

#[test]
fn dynamics_road_signs_and_endings_are_added_and_taken_away_and_the_others_keep_their_numbers() {
    let plain = with(&[]);
    let beside = |line, x, name: &str| Edit::AddBeside {
        system: 1,
        line,
        x,
        name: name.to_owned(),
    };
    let last = plain.places.bars[7].clone();
    let read = with(&[
        beside(Line::Dynamic, plain.places.bars[6].from + 20.0, "ff"),
        beside(Line::Road, plain.places.bars[4].from + 4.0, "segno"),
        beside(Line::Road, plain.places.bars[6].from + 4.0, "coda"),
    ]);
    let all = said(&read);
    assert!(
        all.iter()
            .any(|said| said.starts_with("6+") && said.ends_with("dynamic ff")),
        "{all:?}"
    );
    assert!(
        all.contains(&"4+0 Segno".to_owned()) && all.contains(&"6+0 Coda".to_owned()),
        "{all:?}"
    );
    // The first of a line goes; the next is still the same one under its number.
    let gone = |number| Edit::Beside {
        system: 1,
        line: Line::Dynamic,
        number,
        name: None,
    };
    let read = with(&[gone(0), gone(1)]);
    let names: Vec<_> = read
        .places
        .marks
        .iter()
        .filter(|m| m.system == 1 && m.line == Line::Dynamic)
        .map(|m| (m.number, m.name))
        .collect();
    assert_eq!(names, [(2, "mf"), (3, "p")]);
    // A hairpin that was missed, both ends.
    let (from, to) = (last.from + 30.0, last.to - 30.0);
    let read = with(&[
        gone(3),
        gone(1),
        beside(Line::Dynamic, from, "dim"),
        beside(Line::Dynamic, to, "dim_end"),
    ]);
    let spans = &read.piece.parts[0].spans;
    let span = spans
        .iter()
        .find(|span| span.kind == SpanKind::Diminuendo { niente: false })
        .unwrap();
    assert!(
        span.start.unwrap().place.bar.0 == 7 && span.end.unwrap().place.bar.0 == 7,
        "{span:?}"
    );
    let nonsense = [
        beside(Line::Road, 30.0, "ff"),
        beside(Line::Dynamic, f32::NAN, "ff"),
        beside(Line::Dynamic, 30.0, "loud"),
        gone(99),
        Edit::AddText {
            system: 9,
            x: 1.0,
            text: "dolce".to_owned(),
            is: TextKind::Expression,
            mark: None,
        },
        add(0, -3.0, "dolce", TextKind::Expression),
        add(0, 30.0, " ", TextKind::Expression),
        add(0, 30.0, "two\nlines", TextKind::Expression),
    ];
    let mended = mend(&systems(), &nonsense);
    assert_eq!(mended.idle, (0..nonsense.len()).collect::<Vec<_>>());
    assert_eq!(assemble_mended(&mended).piece, plain.piece);
}

#[test]
fn edits_of_words_are_kept_as_text_and_a_reading_of_an_earlier_form_opens() {
    let plain = with(&[]);
    let edits = [
        is(text(&plain, "Ruhig").at, "Ruhig", TextKind::Tempo),
        gone(text(&plain, "5").at),
        Edit::AddText {
            system: 0,
            x: 40.0,
            text: String::new(),
            is: TextKind::Tempo,
            mark: Some(MetronomeSaid {
                note: 4,
                dots: 0,
                value: "60".to_owned(),
            }),
        },
        Edit::AddBeside {
            system: 0,
            line: Line::Road,
            x: 10.0,
            name: "segno".to_owned(),
        },
    ];
    let kept = serde_json::to_string(&edits).unwrap();
    let again: Vec<Edit> = serde_json::from_str(&kept).unwrap();
    assert_eq!(again, edits);
    // Before words and signs beside the staff had numbers.
    let mut earlier = serde_json::to_value(systems()).unwrap();
    for system in earlier.as_array_mut().unwrap() {
        for list in ["/words", "/beyond", "/seen/roads", "/seen/dynamics"] {
            for one in system.pointer_mut(list).unwrap().as_array_mut().unwrap() {
                let one = one.as_object_mut().unwrap();
                for field in ["number", "right", "is", "mark"] {
                    one.remove(field);
                }
            }
        }
    }
    let earlier: Vec<System> = serde_json::from_value(earlier).unwrap();
    let (one, two) = (of(&systems(), &edits), of(&earlier, &edits));
    assert_eq!((one.piece, one.places), (two.piece, two.places));
    // Before there were words.
    let mut first = serde_json::to_value(systems()).unwrap();
    for system in first.as_array_mut().unwrap() {
        let system = system.as_object_mut().unwrap();
        system.remove("words");
        system.remove("beyond");
    }
    let first: Vec<System> = serde_json::from_value(first).unwrap();
    assert!(assemble(&first).places.texts.is_empty());
}

#[test]
fn a_hairpin_whose_end_was_not_seen_is_asked_about_only_where_the_next_dynamic_does_not_tell_where_it_leads()
{
    let open = |read: &Read| {
        let asked = read.look.iter().filter(|place| place.about == Doubt::Open);
        asked.map(|place| (place.system, place.x)).collect::<Vec<_>>()
    };
    // From mp in the fifth bar to mf in the sixth: nothing to ask. From p in the first to mp in the fifth: too far to be sure.
    let plain = with(&[]);
    assert!(
        open(&plain).iter().all(|(system, _)| *system == 0),
        "{:?}",
        plain.look
    );
    assert_eq!(open(&plain).len(), 1);
    // A crescendo from mp that leads to pp is asked about, and one to an accent.
    for other in ["pp", "sfz"] {
        let edit = Edit::Beside {
            system: 1,
            line: Line::Dynamic,
            number: 2,
            name: Some(other.to_owned()),
        };
        assert!(
            open(&with(&[edit])).iter().any(|(system, _)| *system == 1),
            "{other}"
        );
    }
}

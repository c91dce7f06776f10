//! Small pages, and when their notes must sound.

use super::{Attack, Performance, PlayOptions, PlayTempo, Repeats, Role, perform};
use crate::ornament::{Choice, Period};
use notation::{BarIndex, Piece, Place, Quarters, Rational, sketch};

fn q(num: i64, den: i64) -> Quarters {
    Rational::new(num, den)
}

fn play_piece(piece: &Piece, options: &PlayOptions) -> Performance {
    perform(piece, 0, options).expect("something is played")
}

fn play(text: &str, options: &PlayOptions) -> Performance {
    play_piece(&sketch(text).expect("a sketch"), options)
}

fn modern() -> PlayOptions {
    PlayOptions::default()
}

fn baroque() -> PlayOptions {
    PlayOptions {
        period: Period::Baroque,
        ..PlayOptions::default()
    }
}

/// `onset length pitch`, written time.
fn held(played: &Performance) -> Vec<String> {
    let one = |note: &super::PlayedNote| {
        let pitch = note.written.map(|p| p.to_string()).unwrap_or_default();
        format!("{} {} {pitch}", note.onset, note.held)
    };
    played.notes.iter().map(one).collect()
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

#[test]
fn ties_are_joined_and_rests_are_silent() {
    let played = play("metre:2/4 C5/q r/q | D5/h~ | D5/q E5/q |", &modern());
    assert_eq!(held(&played), ["0 1 C5", "2 3 D5", "5 1 E5"]);
    assert_eq!(played.quarters(), q(6, 1));
}

#[test]
fn repeats_are_played() {
    let played = play("metre:2/4 |: C5/h :| D5/h |", &modern());
    assert_eq!(held(&played), ["0 2 C5", "2 2 C5", "4 2 D5"]);
    assert_eq!(played.times_of(Place::start_of(BarIndex(0))), [q(0, 1), q(2, 1)]);
    assert_eq!(
        played.written_at(q(3, 1)),
        Some((
            1,
            Place {
                bar: BarIndex(0),
                offset: q(1, 1)
            }
        ))
    );
}

#[test]
fn a_range_stops_where_the_order_leaves_it() {
    let text = "metre:1/4 C5/q | |: D5/q | E5/q :| F5/q |";
    let range = |from, to| PlayOptions {
        bars: Some((BarIndex(from), BarIndex(to))),
        ..modern()
    };
    assert_eq!(held(&play(text, &range(2, 3))), ["0 1 E5"]);
    assert_eq!(
        held(&play(text, &range(1, 2))),
        ["0 1 D5", "1 1 E5", "2 1 D5", "3 1 E5"]
    );
    let once = PlayOptions {
        repeats: Repeats::StraightThrough,
        ..range(2, 3)
    };
    assert_eq!(held(&play(text, &once)), ["0 1 E5", "1 1 F5"]);
    assert!(perform(&sketch(text).expect("a sketch"), 0, &range(7, 9)).is_none());
    assert!(perform(&sketch(text).expect("a sketch"), 4, &modern()).is_none());
}

#[test]
fn straight_through_takes_the_last_ending() {
    let text = "metre:1/4 |: C5/q | [1 D5/q :| ]1 [2 E5/q | ]2 F5/q |";
    let once = PlayOptions {
        repeats: Repeats::StraightThrough,
        ..modern()
    };
    assert_eq!(held(&play(text, &once)), ["0 1 C5", "1 1 E5", "2 1 F5"]);
    assert_eq!(play(text, &modern()).notes.len(), 5);
}

/// Source: issue text (common practice): before a pickup one full bar and the missing beats.
#[test]
fn count_in() {
    let count = PlayOptions {
        count_in: 1,
        ..modern()
    };
    let played = play("metre:3/4 mm:q=60 C5/q | D5/h. |", &count);
    assert_eq!(held(&played), ["5 1 C5", "6 3 D5"]);
    let beats: Vec<(String, u8)> = played
        .beats
        .iter()
        .map(|b| (b.at.to_string(), b.accent))
        .collect();
    let expected = [
        ("0", 0),
        ("1", 2),
        ("2", 2),
        ("3", 0),
        ("4", 2),
        ("5", 2),
        ("6", 0),
        ("7", 2),
        ("8", 2),
    ];
    assert_eq!(beats, expected.map(|(at, accent)| (at.to_owned(), accent)));
    assert!(close(played.seconds(), 9.0));
    let full = play("metre:3/4 C5/h. | D5/h. |", &count);
    assert_eq!(full.notes[0].onset, q(3, 1));
    let twice = PlayOptions {
        times: 2,
        count_in_again: true,
        ..count
    };
    assert_eq!(held(&play("metre:2/4 C5/h |", &twice)), ["2 2 C5", "6 2 C5"]);
}

#[test]
fn the_metronome_mark_sets_the_speed() {
    let played = play("metre:4/4 mm:q=120 C5/w | mm:h=120 C5/w |", &modern());
    let seconds: Vec<(f64, f64)> = played
        .notes
        .iter()
        .map(|n| (played.clock.begins(n.onset), played.clock.ends(n.onset + n.held)))
        .collect();
    assert!(
        close(seconds[0].1, 2.0) && close(seconds[1].0, 2.0) && close(seconds[1].1, 3.0),
        "{seconds:?}"
    );
    let half = PlayOptions {
        tempo: PlayTempo::Percent(Rational::whole(50)),
        ..modern()
    };
    assert!(close(
        play("metre:4/4 mm:q=120 C5/w | mm:h=120 C5/w |", &half).seconds(),
        6.0
    ));
    let from = PlayOptions {
        tempo: PlayTempo::Starts {
            note: q(1, 2),
            per_minute: Rational::whole(120),
        },
        ..modern()
    };
    assert!(close(
        play("metre:4/4 mm:q=120 C5/w | mm:h=120 C5/w |", &from).seconds(),
        6.0
    ));
}

/// Source: terms' tables: the metronome-box scale gives Allegro 120–168.
#[test]
fn a_word_is_read_by_a_named_table() {
    let played = play("metre:4/4 \"Allegro\" C5/w |", &modern());
    let said = &played.tempo[0];
    assert_eq!(said.quarters_a_minute, Rational::whole(144));
    assert!(said.says.contains("metronome-box scale"), "{}", said.says);
    // In 6/8 the table counts dotted quarters.
    let six = play("metre:6/8 \"Allegro\" C5/h. |", &modern());
    assert_eq!(six.tempo[0].quarters_a_minute, Rational::whole(216));
    let other = PlayOptions {
        table: Some("French band site".to_owned()),
        ..modern()
    };
    assert_eq!(
        play("metre:4/4 \"Allegro\" C5/w |", &other).tempo[0].quarters_a_minute,
        Rational::whole(133)
    );
}

/// Source: the law of steady change: a stretch whose speed goes from v to w lasts as long as at the mean of v and w.
#[test]
fn a_ritardando_slows_evenly_up_to_the_next_mark() {
    let text = "metre:4/4 mm:q=120 C5/w | \"rit.\" C5/w | \"a_tempo\" C5/w |";
    let played = play(text, &modern());
    let factor = terms::tempo::changes("rit.")[0].factor;
    let bar =
        |n: i64| played.clock.ends(Rational::whole(4 * n)) - played.clock.ends(Rational::whole(4 * (n - 1)));
    assert!(close(bar(1), 2.0) && close(bar(3), 2.0));
    assert!(
        (bar(2) - 2.0 / f64::midpoint(1.0, factor)).abs() < 1e-3,
        "{}",
        bar(2)
    );
    // Later beats of the ritardando are longer.
    let beat = |n: i64| played.clock.begins(Rational::whole(n + 1)) - played.clock.begins(Rational::whole(n));
    assert!(beat(4) < beat(5) && beat(5) < beat(6) && beat(6) < beat(7));
    // There and back.
    for n in 0..48 {
        let at = q(n, 4);
        assert!((played.clock.quarters_at(played.clock.begins(at)) - at.to_f64()).abs() < 1e-9);
    }
}

#[test]
fn metric_equations_and_first_tempo() {
    let mut piece = sketch("metre:2/4 mm:q=60 C5/h | C5/h | \"Tempo_I\" C5/h |").expect("a sketch");
    let id = piece.ids.give(notation::IdKind::Direction);
    piece.parts[0].directions.insert(
        1,
        notation::Direction {
            id,
            place: Place::start_of(BarIndex(1)),
            staff: None,
            voice: None,
            side: None,
            printed: true,
            kind: notation::DirectionKind::Metronome(notation::Metronome {
                beat: notation::NoteValue::Eighth,
                dots: 0,
                value: notation::MetronomeValue::Equals(notation::NoteValue::Quarter, 0),
                parentheses: false,
            }),
        },
    );
    let played = play_piece(&piece, &modern());
    let speeds: Vec<Rational> = played.clock.stretches().iter().map(|s| s.start).collect();
    assert_eq!(speeds, [60, 120, 60].map(Rational::whole));
}

/// Source: common practice: a fermata about doubles its note; a caesura stops the time; a breath does not.
#[test]
fn fermatas_breaths_and_caesuras() {
    let mm = "metre:4/4 mm:q=60";
    let seconds = |text: &str| play(&format!("{mm} {text}"), &modern()).seconds();
    assert!(close(seconds("C5/h C5/h |"), 4.0));
    assert!(close(seconds("C5/h!fermata C5/h |"), 6.0));
    assert!(close(seconds("C5/h!caesura C5/h |"), 5.0));
    assert!(close(seconds("C5/h!breath C5/h |"), 4.0));
    let played = play(&format!("{mm} C5/h!caesura D5/h |"), &modern());
    let (one, two) = (&played.notes[0], &played.notes[1]);
    assert!(played.seconds_of(one).1 <= 2.0 && close(played.seconds_of(two).0, 3.0));
    let breath = play(&format!("{mm} ( C5/h!breath D5/h ) |"), &modern());
    assert!(breath.notes[0].length < q(2, 1) && breath.notes[0].length > q(3, 2));
    assert_eq!(breath.notes[1].attack, Attack::Plain);
}

#[test]
fn lengths_by_articulation() {
    let length = |sign: &str| play(&format!("metre:4/4 C5/q{sign} D5/q E5/h |"), &modern()).notes[0].length;
    assert_eq!(length("!staccatissimo"), q(1, 4));
    assert_eq!(length("!staccato"), q(1, 2));
    assert_eq!(length("!portato"), q(3, 4));
    assert_eq!(length("!staccato,tenuto"), q(3, 4));
    assert_eq!(length("!tenuto"), q(1, 1));
    assert_eq!(length(""), q(9, 10));
    let slurred = play("metre:4/4 ( C5/q D5/q ) E5/h |", &modern());
    assert_eq!(slurred.notes[0].length, q(1, 1));
    assert!(slurred.notes[0].joined_on && !slurred.notes[1].joined_on);
    let attacks: Vec<Attack> = slurred.notes.iter().map(|note| note.attack).collect();
    assert_eq!(attacks, [Attack::Plain, Attack::Joined, Attack::Plain]);
    // Dots under a slur: separated, softly begun.
    let portato = play("metre:4/4 ( C5/q!staccato D5/q!staccato ) E5/h |", &modern());
    assert_eq!(
        (portato.notes[0].length, portato.notes[1].attack),
        (q(3, 4), Attack::Soft)
    );
    // A repeated note under a slur must be begun again.
    assert_eq!(
        play("metre:4/4 ( C5/q C5/q ) E5/h |", &modern()).notes[1].attack,
        Attack::Plain
    );
    assert_eq!(
        play("metre:4/4 C5/q!accent D5/q E5/h |", &modern()).notes[0].attack,
        Attack::Strong
    );
}

#[test]
fn loudness_follows_the_hairpin_inside_a_note() {
    let played = play("metre:4/4 @p < C5/w . | @f C5/w |", &modern());
    let points = &played.notes[0].loudness;
    assert_eq!(points.first(), Some(&(q(0, 1), -8.0)));
    assert!(points.last().is_some_and(|(_, level)| *level > 2.0), "{points:?}");
    assert_eq!(played.notes[1].loudness[0].1, 4.0);
    let fp = play("metre:4/4 @fp C5/w |", &modern());
    assert_eq!((fp.notes[0].loudness[0].1, fp.notes[0].accent), (-8.0, 12.0));
}

/// Source: C.P.E. Bach 1753, after E. Fowles, Studies in Musical Graces, par. 6, rules A, B, C.
#[test]
fn long_appoggiaturas() {
    let old = |text: &str| held(&play(&format!("metre:4/4 mm:q=60 {text}"), &baroque()));
    assert_eq!(old("a:D5/e C5/h B4/h |")[..2], ["0 1 D5", "1 1 C5"]);
    assert_eq!(old("a:D5/e C5/h. B4/q |")[..2], ["0 2 D5", "2 1 C5"]);
    assert_eq!(old("a:D5/e C5/h~ C5/q B4/q |")[..2], ["0 2 D5", "2 1 C5"]);
}

/// Source: Grove's Dictionary (1879), vol. 1, "Appoggiatura": short before repeated notes.
#[test]
fn short_appoggiaturas_and_the_question() {
    let old = play("metre:4/4 mm:q=60 a:D5/e C5/h C5/h |", &baroque());
    assert_eq!(held(&old)[..2], ["0 1/16 D5", "1/16 31/16 C5"]);
    let kinds: Vec<&str> = old.findings.iter().map(|f| f.kind).collect();
    assert_eq!(kinds, ["grace-long-or-short"]);
    let long = play("metre:4/4 mm:q=60 a:D5/e C5/h B4/h |", &baroque());
    assert_eq!(
        long.findings[0].what,
        "a lone small note without a stroke (D5 to C5): long or short? It is played long here, 1 quarter note, by baroque custom"
    );
    let new = play("metre:4/4 mm:q=60 E5/h a:D5/e C5/h |", &modern());
    assert_eq!(held(&new), ["0 31/16 E5", "31/16 1/16 D5", "2 2 C5"]);
    assert_eq!(new.findings.len(), 1);
    assert_eq!(
        (new.notes[1].role, new.notes[2].attack),
        (Role::Grace, Attack::Joined)
    );
    // The teacher's choice is kept.
    let piece = sketch("metre:4/4 mm:q=60 E5/h a:D5/e C5/h |").expect("a sketch");
    let grace = piece.parts[0].events[1].id;
    let chosen = PlayOptions {
        choices: [(
            grace,
            Choice {
                long: Some(true),
                ..Choice::default()
            },
        )]
        .into(),
        ..modern()
    };
    let long = play_piece(&piece, &chosen);
    assert_eq!(held(&long), ["0 2 E5", "2 1 D5", "3 1 C5"]);
    assert!(long.findings.is_empty());
}

#[test]
fn slashed_graces_and_groups_are_never_long() {
    let slashed = play("metre:4/4 mm:q=60 E5/h g:D5/e C5/h |", &modern());
    assert_eq!(held(&slashed)[1..], ["31/16 1/16 D5", "2 2 C5"]);
    assert!(slashed.findings.is_empty());
    let group = play("metre:4/4 mm:q=60 E5/h a:B4/s a:D5/s C5/h |", &baroque());
    assert_eq!(held(&group)[1..], ["2 1/16 B4", "33/16 1/16 D5", "17/8 15/8 C5"]);
    assert!(group.findings.is_empty());
    // Nothing before it to take time from: on the beat.
    let first = play("metre:4/4 mm:q=60 g:D5/e C5/w |", &modern());
    assert_eq!(held(&first), ["0 1/16 D5", "1/16 63/16 C5"]);
    // A rest before it gives the time.
    let rest = play("metre:4/4 mm:q=60 E5/q r/q g:D5/e C5/h |", &modern());
    assert_eq!(held(&rest), ["0 1 E5", "31/16 1/16 D5", "2 2 C5"]);
}

#[test]
fn a_trill_is_played_in_the_key_in_force() {
    let played = play("key:-1 metre:4/4 mm:q=60 A4/w!trill |", &baroque());
    assert_eq!(
        played.notes[0].written.map(|p| p.to_string()).as_deref(),
        Some("Bb4")
    );
    assert_eq!(played.notes[0].role, Role::Ornament);
    let total = played
        .notes
        .iter()
        .fold(Quarters::ZERO, |sum, note| sum + note.held);
    assert_eq!(total, q(4, 1));
    assert_eq!(played.ornaments.len(), 1);
    let event = played.ornaments[0].event;
    assert_eq!(
        played.written_out(event).map(<[_]>::len),
        Some(played.notes.len())
    );
    // Over a tie one trill; a sign that stands on the second note of a tie begins there.
    let tied = play("metre:2/4 mm:q=60 A4/h~!trill | A4/h |", &modern());
    assert_eq!(
        tied.notes[0].written.map(|p| p.to_string()).as_deref(),
        Some("A4")
    );
    assert!(tied.notes.len() > 16);
    let late = play("metre:2/4 mm:q=60 A4/h~ | A4/h!trill |", &modern());
    assert_eq!(held(&late)[0], "0 2 A4");
}

/// Source: Grove, vol. 3, p. 481: the bound trill.
#[test]
fn a_bound_trill_goes_on_from_the_note_before() {
    let played = play("metre:4/4 mm:q=60 ( C5/h B4/h!trill ) |", &baroque());
    let first = &played.notes[0];
    assert!(first.held > q(2, 1), "{}", first.held);
    assert_eq!(
        played.notes[1].written.map(|p| p.to_string()).as_deref(),
        Some("B4")
    );
}

#[test]
fn transposing_parts_sound_where_they_sound() {
    let clarinet = play("trans:-1,-2 metre:4/4 D5/w |", &modern());
    assert_eq!(clarinet.notes[0].pitch, Some(Rational::whole(72)));
    let up = PlayOptions {
        transpose: Rational::whole(3),
        ..modern()
    };
    assert_eq!(
        play("metre:4/4 C5/w |", &up).notes[0].pitch,
        Some(Rational::whole(75))
    );
}

#[test]
fn an_unmarked_piece_says_so() {
    let played = play("metre:4/4 C5/w |", &modern());
    assert_eq!(played.findings[0].kind, "no-tempo-to-play");
    assert!((played.seconds() - 4.0 * 60.0 / 92.0).abs() < 1e-9);
}

#[test]
fn one_rule_alone() {
    let piece = sketch("metre:4/4 mm:q=60 E5/h A4/h!trill | G4/q F4/h. |").expect("a sketch");
    let trilled = piece.parts[0].events[1].id;
    let alone = super::lesson(&piece, 0, trilled, &baroque()).expect("a lesson");
    assert_eq!(alone.notes[0].onset, Quarters::ZERO);
    assert_eq!(
        alone
            .notes
            .last()
            .and_then(|n| n.written)
            .map(|p| p.to_string())
            .as_deref(),
        Some("G4")
    );
    assert!(close(alone.seconds(), 3.0), "{}", alone.seconds());
    let bars = (BarIndex(1), BarIndex(1));
    let clapped = super::rhythm(
        &piece,
        0,
        bars,
        notation::Pitch::parse("B4").expect("a pitch"),
        &modern(),
    )
    .expect("a rhythm");
    assert_eq!(held(&clapped), ["0 1 B4", "1 3 B4"]);
    let (one, two) =
        super::lookalikes(&piece, 0, (BarIndex(0), BarIndex(0)), bars, &modern()).expect("a pair");
    assert!(close(one.seconds(), two.seconds()));
}

#[test]
fn beats_of_compound_time_are_dotted() {
    let played = play("metre:6/8 mm:q.=60 C5/h. |", &modern());
    let beats: Vec<String> = played.beats.iter().map(|b| b.at.to_string()).collect();
    assert_eq!(beats, ["0", "3/2"]);
    assert!(close(played.seconds(), 2.0));
}

#[test]
fn keys_for_a_drone() {
    let region = |from, to, step| notation::KeyRegion {
        from: BarIndex(from),
        to: BarIndex(to),
        tonic: (step, 0),
        mode: "major".to_owned(),
        certainty: 0.9,
    };
    let options = PlayOptions {
        keys: vec![region(0, 0, notation::Step::C), region(1, 1, notation::Step::G)],
        ..modern()
    };
    let played = play("metre:4/4 C5/w | G4/w |", &options);
    let keys: Vec<(String, String)> = played
        .keys
        .iter()
        .map(|k| (k.from.to_string(), k.tonic.to_string()))
        .collect();
    assert_eq!(
        keys,
        [("0", "0"), ("4", "7")].map(|(a, b)| (a.to_owned(), b.to_owned()))
    );
    assert_eq!(
        play("key:-3 metre:4/4 C5/w |", &modern()).keys[0].tonic,
        Rational::whole(3)
    );
}

#[test]
fn signs_that_are_not_played_are_said_once() {
    let mut piece = sketch("metre:4/4 mm:q=60 C5/h D5/h | E5/w |").expect("a sketch");
    for event in &mut piece.parts[0].events {
        event.articulations.push(notation::Articulation {
            kind: notation::ArticulationKind::Falloff,
            side: None,
        });
    }
    let played = play_piece(&piece, &modern());
    let said: Vec<&str> = played
        .findings
        .iter()
        .map(|finding| finding.what.as_str())
        .collect();
    assert_eq!(
        said,
        ["falloff (3 times): the sign is not played; the notes sound plain"]
    );
}

#[test]
fn dashes_say_how_far_a_ritardando_reaches() {
    let mut piece = sketch("metre:4/4 mm:q=60 \"rit.\" C5/w | C5/w | C5/w | C5/w |").expect("a sketch");
    let id = piece.ids.give(notation::IdKind::Span);
    let anchor = |bar| {
        Some(notation::Anchor {
            place: Place::start_of(BarIndex(bar)),
            element: None,
        })
    };
    piece.parts[0].spans.push(notation::Span {
        id,
        kind: notation::SpanKind::Dashes,
        start: anchor(0),
        end: anchor(1),
        staff: None,
        side: None,
    });
    let played = play_piece(&piece, &modern());
    let bar = |n: i64| played.clock.ends(q(4 * n, 1)) - played.clock.ends(q(4 * (n - 1), 1));
    assert!(bar(1) > 4.1 && close(bar(2), 4.0), "{} {}", bar(1), bar(2));
}

#[test]
fn a_bar_under_a_repeat_sign_is_played_though_nobody_wrote_it_out() {
    let mut piece = sketch("metre:2/4 mm:q=60 C5/q D5/q | r/h |").expect("a sketch");
    let id = piece.ids.give(notation::IdKind::Span);
    let part = &mut piece.parts[0];
    part.events.pop();
    part.bar_groups.push(notation::BarGroup {
        id,
        start: BarIndex(1),
        bars: 1,
        kind: notation::BarGroupKind::MeasureRepeat { pattern: 1 },
    });
    part.index_bars(2);
    assert_eq!(
        held(&play_piece(&piece, &modern())),
        ["0 1 C5", "1 1 D5", "2 1 C5", "3 1 D5"]
    );
}

#[test]
fn a_tremolo_between_two_notes_alternates() {
    let mut piece = sketch("metre:2/4 mm:q=60 C5/q E5/q |").expect("a sketch");
    for event in &mut piece.parts[0].events {
        event.ornaments.push(notation::Ornament {
            kind: notation::OrnamentKind::Tremolo {
                strokes: 2,
                between: true,
            },
            side: None,
            accidentals: vec![],
        });
    }
    let played = play_piece(&piece, &modern());
    let names: Vec<String> = played
        .notes
        .iter()
        .filter_map(|n| n.written)
        .map(|p| p.to_string())
        .collect();
    assert_eq!(names, ["C5", "E5", "C5", "E5", "C5", "E5", "C5", "E5"]);
}

/// Source: common practice: ♩ = ♪ etc. aside, “accel.” quickens evenly, “più mosso” at once, and “a tempo” goes back.
#[test]
fn faster_and_back() {
    let played = play(
        "metre:4/4 mm:q=60 \"accel.\" C5/w | \"a_tempo\" C5/w | \"Più_mosso\" C5/w | \"Tempo_I\" C5/w |",
        &modern(),
    );
    let bar = |n: i64| played.clock.ends(q(4 * n, 1)) - played.clock.ends(q(4 * (n - 1), 1));
    assert!(bar(1) < 4.0 && close(bar(2), 4.0) && bar(3) < 4.0 && close(bar(4), 4.0));
}

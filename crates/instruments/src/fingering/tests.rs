//! Checks of the charts against what is published about them, and against the acoustics of the instruments.

use super::*;
use crate::facts::Grade;
use notation::Pitch;
use std::collections::BTreeSet;

fn pitch(name: &str) -> Pitch {
    Pitch::parse(name).expect(name)
}

fn chart_of(id: &str) -> &'static Chart {
    all_charts().find(|chart| chart.id == id).expect(id)
}

/// Notes with their fingerings, the basic one first, as `C4 0 13, D4 12`.
fn check_list(id: &str, list: &str, sign: impl Fn(&Fingering) -> String) -> usize {
    let chart = chart_of(id);
    let mut compared = 0;
    for entry in list.split(',') {
        let mut fields = entry.split_whitespace();
        let note = fields.next().expect("a note");
        let expected: Vec<&str> = fields.collect();
        let usable = |f: &&Fingering| f.use_for == Use::Any;
        let given: Vec<String> = chart
            .fingerings(pitch(note))
            .iter()
            .filter(usable)
            .map(&sign)
            .collect();
        if given.is_empty() {
            continue;
        }
        compared += 1;
        assert_eq!(
            given.first().map(String::as_str),
            expected.first().copied(),
            "{id} {note}: basic"
        );
        let expected: BTreeSet<&str> = expected.into_iter().collect();
        let given: BTreeSet<&str> = given.iter().map(String::as_str).collect();
        assert_eq!(given, expected, "{id} {note}");
    }
    compared
}

fn valves(fingering: &Fingering) -> String {
    let digits: String = fingering.name.chars().filter(char::is_ascii_digit).collect();
    let open = if digits.is_empty() { "0" } else { &digits };
    let thumb = if fingering.name.starts_with('T') { "T" } else { "" };
    format!("{thumb}{open}")
}

const TRUMPET: &str = "F#3 123, G3 13, G#3 23, A3 12 3, Bb3 1, B3 2, C4 0, C#4 123, D4 13, Eb4 23, E4 12 3, F4 1, F#4 2 \
     123, G4 0 13, G#4 23, A4 12 3, Bb4 1 123, B4 2 13, C5 0 23, C#5 12 123 3, D5 1 13, Eb5 2 23, E5 0 12 \
     3, F5 1, F#5 2 123, G5 0 13, G#5 23 123, A5 12 13 3, Bb5 1 23 123, B5 2 12 13 3, C6 0 1 23";
const EUPHONIUM: &str = "E2 123, F2 13, F#2 23, G2 12 3, G#2 1, A2 2, Bb2 0, B2 123, C3 13, C#3 23, D3 12 3, Eb3 1, E3 2 123, \
     F3 0 13, F#3 23, G3 12 3, G#3 1 123, A3 2 13, Bb3 0 23, B3 12 123 3, C4 1 13, C#4 2 23, D4 0 12 3, \
     Eb4 1, E4 2 123, F4 0 13, F#4 23 123, G4 12 13 3, G#4 1 23 123, A4 2 12 13 3, Bb4 0 1 23";
const EUPHONIUM_4: &str = "B1 1234, C2 134, C#2 234, D2 124 34, Eb2 14, E2 24 123, F2 4 13, F#2 23 1234, G2 12 134 3, G#2 1 \
     234, A2 2 124 34, Bb2 0 14, B2 24 1234 123, C3 4 134 13, C#3 23 234, D3 12 124 3 34, Eb3 1 14 1234, \
     E3 2 24 134 123, F3 0 4 234 13, F#3 23 124 1234 34, G3 12 14 134 3, G#3 1 24 234 123, A3 2 4 124 13 \
     34, Bb3 0 23 14, B3 12 24 1234 3 123, C4 1 4 134 13, C#4 2 23 234 1234, D4 0 12 124 134 3 34, Eb4 1 \
     14 234 1234, E4 2 24 124 134 123 34, F4 0 4 14 234 13, F#4 23 24 124 1234 123 34, G4 12 4 14 134 3 \
     13, G#4 1 23 24 234 123, A4 2 12 4 124 3 13 34, Bb4 0 1 23 14 1234";
const TUBA_BB: &str = "E1 123, F1 13, F#1 23, G1 12 3, G#1 1, A1 2, Bb1 0, B1 123, C2 13, C#2 23, D2 12 3, Eb2 1, E2 2 123, \
     F2 0 13, F#2 23, G2 12 3, G#2 1 123, A2 2 13, Bb2 0 23, B2 12 123 3, C3 1 13, C#3 2 23, D3 0 12 3, \
     Eb3 1, E3 2 123, F3 0 13, F#3 23 123, G3 12 13 3, G#3 1 23 123, A3 2 12 13 3, Bb3 0 1 23, B3 2 12 \
     123 3, C4 0 1 13, C#4 2 23, D4 0 12 3, Eb4 1 123, E4 2 13 123, F4 0 23 13";
const TUBA_C_4: &str = "D1 134, Eb1 234, E1 124 34, F1 14, F#1 24 123, G1 4 13, G#1 23 1234, A1 12 134 3, Bb1 1 234, B1 2 \
     124 34, C2 0 14, C#2 24 1234 123, D2 4 134 13, Eb2 23 234, E2 12 124 3 34, F2 1 14 1234, F#2 2 24 \
     134 123, G2 0 4 234 13, G#2 23 124 1234 34, A2 12 14 134 3, Bb2 1 24 234 123, B2 2 4 124 13 34, C3 0 \
     23 14, C#3 12 24 1234 3 123, D3 1 4 134 13, Eb3 2 23 234 1234, E3 0 12 124 134 3 34, F3 1 14 234 \
     1234, F#3 2 24 124 134 123 34, G3 0 4 14 234 13, G#3 23 24 124 1234 123 34, A3 12 4 14 134 3 13, Bb3 \
     1 23 24 234 123, B3 2 12 4 124 3 13 34, C4 0 1 23 14 1234, C#4 2 12 24 134 1234 3 123, D4 0 1 4 234 \
     134 13, Eb4 2 23 124 234 34, E4 0 12 14 124 3 34, F4 1 24 14 123";
const HORN: &str = "C3 0 T13, C#3 123 T23, D3 13 T12 T3, Eb3 23 T1, E3 12 3 T2, F3 1 T0, F#3 2 123 T123, G3 0 13 T13, \
     G#3 23 T23, A3 12 3 T12 T3, Bb3 1 123 T1, B3 2 13 T2 T123, C4 0 23 T0 T13, C#4 12 123 3 T23, D4 1 13 \
     T12 T3, Eb4 2 23 T1 T123, E4 0 12 3 T2 T13, F4 1 T0 T23, F#4 2 123 T12 T123 T3, G4 0 13 T1 T13, G#4 \
     T23 23 123 T2, A4 T12 12 13 3 T0 T3, Bb4 T1 1 23 123, B4 T2 2 12 13 3 T123, C5 T0 0 1 23 T13, C#5 \
     T23 2 12 123 3 T123, D5 T12 0 1 13 T13 T3, Eb5 T1 2 23 T23 T123, E5 T2 0 12 3 T12 T13 T3, F5 T0 1 \
     123 T1 T23, F#5 T2 2 13 123 T12 T123 T3, G5 T0 0 23 13 T1 T13, G#5 T23 12 23 3 T2, A5 T12 1 12 3 T0 \
     T3, Bb5 T1 2 1 T123, B5 T2 0 2 T13 T123, C6 T0 0 T23 T13";
const TROMBONE: &str = "E2 7, F2 6, F#2 5, G2 4, G#2 3, A2 2, Bb2 1, B2 7, C3 6, C#3 5, D3 4, Eb3 3, E3 2 7, F3 1 6, F#3 5, \
     G3 4, G#3 3 7, A3 2 6, Bb3 1 5, B3 4 7, C4 3 6, C#4 2 5, D4 1 4, Eb4 3, E4 2 7, F4 1 6, F#4 5 7, G4 \
     4 6, G#4 3 5 7, A4 2 4 6, Bb4 1 3 5, B4 2 4 7, C5 1 3 6, C#5 2 5, D5 1 4, Eb5 3 7, E5 2 6 7, F5 1 5 \
     6";

/// Source: Wikimedia image description "trumpet overtone series", a valve list of 31 notes; the alternates by the
/// valve rule.
#[test]
fn the_trumpet_has_the_published_list() {
    assert_eq!(check_list("trumpet", TRUMPET, valves), 31);
}

/// Source: the same rule, from the pitch of the instrument; the fourth valve replaces 1-3, 2-4 replaces 1-2-3 (valve
/// compensation). Below the open second harmonic less six semitones nothing is established for four valves.
#[test]
fn low_brass_follows_the_rule() {
    assert_eq!(check_list("euphonium", EUPHONIUM, valves), 31);
    assert_eq!(check_list("euphonium-4", EUPHONIUM_4, valves), 31);
    assert_eq!(check_list("tuba-bb", TUBA_BB, valves), 38);
    assert_eq!(check_list("tuba-c-4", TUBA_C_4, valves), 36);
}

/// Source: Scribd 570094472 and 377250727, horn charts: written G3–G4 on the F side, A♭4–C5 on either with the same
/// valves, from D♭5 up on the B♭ side.
#[test]
fn the_horn_changes_sides_where_the_charts_do() {
    assert_eq!(check_list("horn", HORN, valves), 37);
    let names = |note: &str| -> Vec<String> {
        chart_of("horn")
            .fingerings(pitch(note))
            .iter()
            .map(valves)
            .collect()
    };
    for note in ["G3", "Ab3", "C4", "G4"] {
        assert!(!names(note)[0].starts_with('T'), "{note} on the F side");
    }
    for note in ["Ab4", "A4", "Bb4", "B4", "C5"] {
        let names = names(note);
        assert_eq!(
            names[0].strip_prefix('T'),
            Some(
                names
                    .iter()
                    .find(|n| !n.starts_with('T'))
                    .expect("F side")
                    .as_str()
            ),
            "{note}"
        );
    }
    for note in ["Db5", "F5", "C6"] {
        assert!(names(note)[0].starts_with('T'), "{note} on the B♭ side");
    }
}

fn slide(fingering: &Fingering) -> String {
    fingering.name.to_string()
}

/// Source: the harmonic series. Source: Wikibooks, Trombone/Slide Positions: seven positions and their partials from the
/// second to the sixth, 35 pairs of note and position.
#[test]
fn the_trombone_has_the_published_positions() {
    assert_eq!(check_list("trombone", TROMBONE, slide), 38);
    let mut pairs = 0;
    for position in 1..=7 {
        for semitones in [12, 19, 24, 28, 31] {
            let note = chart::common_spelling(34 + semitones - (position - 1));
            let found = chart_of("trombone")
                .fingerings(note)
                .iter()
                .any(|f| f.name == position.to_string());
            assert!(found, "{note} in {position}");
            pairs += 1;
        }
    }
    assert_eq!(pairs, 35);
}

/// Source: OEIS A309909 (after Kennan, The Technique of Orchestration): the lowest position for each semitone from E2.
/// DIFFERENCE: above F4 its lowest positions use the flat seventh harmonic; ours stand on in-tune harmonics there.
#[test]
fn the_trombone_has_the_lowest_positions_of_the_handbook() {
    let published = [
        7, 6, 5, 4, 3, 2, 1, 7, 6, 5, 4, 3, 2, 1, 5, 4, 3, 2, 1, 4, 3, 2, 1, 3, 2, 1,
    ];
    for (key, position) in (40..).zip(published) {
        let basic = &chart_of("trombone").fingerings(chart::common_spelling(key))[0];
        assert_eq!(
            basic.name,
            position.to_string(),
            "{}",
            chart::common_spelling(key)
        );
    }
}

/// Source: a table of positions with the F attachment (clymer.altervista.org: low E at 2.32), and the same arithmetic.
#[test]
fn the_f_attachment_stands_where_it_is_computed() {
    let at = |note: &str| {
        chart_of("trombone-f")
            .fingerings(pitch(note))
            .iter()
            .find_map(|f| f.position.filter(|p| p.trigger).map(|p| p.tenths))
    };
    assert_eq!(at("F2"), Some(10));
    assert_eq!(at("E2"), Some(23));
    assert_eq!(at("C2"), Some(74));
    assert_eq!(at("B1"), None, "low B needs a second valve");
    // Slide positions are lengths: a semitone is a factor of 2^(1/12), and the tube with F is 2^(5/12) longer.
    for (n, tenths) in [(0, 10), (1, 23), (2, 36), (3, 49), (4, 62), (5, 74)] {
        let tube = 2f64.powf(5.0 / 12.0) * (2f64.powf(f64::from(n) / 12.0) - 1.0);
        let position = 1.0 + 12.0 * (1.0 + tube).log2();
        assert!(
            (position * 10.0 - f64::from(tenths)).abs() < 0.6,
            "{n}: {position}"
        );
    }
}

#[test]
fn no_gap_in_a_charts_compass_and_none_of_memory_alone_unlabelled() {
    for chart in all_charts() {
        let (low, high) = chart.compass().expect(chart.id);
        for key in low.key_number()..=high.key_number() {
            let note = chart::common_spelling(key);
            assert!(!chart.fingerings(note).is_empty(), "{} {note}", chart.id);
            assert_eq!(chart.gap(note), None);
        }
        for (note, fingerings) in chart.entries() {
            assert!(
                fingerings[0].use_for == Use::Any && fingerings[0].needs.is_empty()
                    || fingerings[0].position.is_some(),
                "{} {note}: basic",
                chart.id
            );
            for fingering in fingerings {
                let from_memory = fingering.sources.iter().all(|source| *source == "from memory");
                assert!(!from_memory || fingering.grade == Grade::C, "{} {note}", chart.id);
                assert!(!fingering.sources.is_empty());
            }
            let states: BTreeSet<_> = fingerings
                .iter()
                .map(|f| (f.state, f.harmonic, f.position))
                .collect();
            assert_eq!(
                states.len(),
                fingerings.len(),
                "{} {note}: twice the same",
                chart.id
            );
            let names: BTreeSet<_> = fingerings.iter().map(|f| (&f.name, f.harmonic)).collect();
            assert_eq!(
                names.len(),
                fingerings.len(),
                "{} {note}: twice the same name",
                chart.id
            );
        }
    }
}

/// The plain fingerings of the second register are those of the first with a change that is always the same.
fn check_register(
    id: &str,
    from: (&str, &str),
    semitones: i32,
    differ: &[&str],
    change: impl Fn(&State) -> State,
) -> usize {
    let chart = chart_of(id);
    let mut held = 0;
    for key in pitch(from.0).key_number()..=pitch(from.1).key_number() {
        let (low, high) = (
            chart::common_spelling(key),
            chart::common_spelling(key + semitones),
        );
        if differ.contains(&high.to_string().as_str()) {
            continue;
        }
        for fingering in chart.fingerings(low).iter().filter(|f| f.use_for == Use::Any) {
            let expected = change(&fingering.state);
            assert!(
                chart.fingerings(high).iter().any(|f| f.state == expected),
                "{id}: {low} {} gives {high} as {expected}",
                fingering.state
            );
            held += 1;
        }
    }
    held
}

/// Source: acoustics; a saxophone and a flute overblow the octave, with the octave key or without any change.
#[test]
fn saxophone_and_flute_overblow_the_octave() {
    let octave = Keys::parse("O").expect("a key");
    let sax = check_register("saxophone", ("D4", "C5"), 12, &[], |state| {
        state.with(Digit::LT, octave)
    });
    assert!(sax >= 15, "{sax}");
    let flute = check_register("flute", ("E4", "C#5"), 12, &[], |state| *state);
    assert!(flute >= 12, "{flute}");
}

/// Source: smoketalks.com, A. Barret: the first octave key from E5 to G♯5, the second from A5 to C6.
#[test]
fn the_oboe_overblows_the_octave_with_its_two_keys() {
    let (first, second) = (
        Keys::parse("O1").expect("a key"),
        Keys::parse("O2").expect("a key"),
    );
    check_register("oboe", ("E4", "G#4"), 12, &[], |state| {
        state.with(Digit::LT, first)
    });
    check_register("oboe", ("A4", "C5"), 12, &[], |state| {
        state.with(Digit::LP, second)
    });
}

/// Source: Woodwind Fingering Guide: with the register key every fingering E3–F4 sounds a twelfth higher.
#[test]
fn the_clarinet_overblows_the_twelfth() {
    let key = Keys::parse("o+R").expect("keys");
    let count = check_register("clarinet", ("E3", "F4"), 19, &[], |state| {
        state.with(Digit::LT, key)
    });
    assert!(count >= 20, "{count}");
}

/// Source: the hold and release advice of the charts' own report: nothing is given beyond these notes.
#[test]
fn what_is_not_established_says_so() {
    for (id, low, high) in [
        ("flute", "C4", "D6"),
        ("oboe", "Bb3", "C6"),
        ("english-horn", "B3", "C6"),
        ("clarinet", "E3", "C6"),
        ("saxophone", "Bb3", "F#6"),
        ("bassoon", "Bb1", "D4"),
        ("recorder", "C4", "B5"),
        ("recorder-f", "F4", "E6"),
        ("horn", "C3", "C6"),
        ("trumpet", "F#3", "C6"),
        ("trombone", "E2", "F5"),
    ] {
        let compass = chart_of(id).compass().expect(id);
        assert_eq!(
            (compass.0.to_string(), compass.1.to_string()),
            (low.to_owned(), high.to_owned()),
            "{id}"
        );
    }
    assert!(
        chart_of("bassoon")
            .gap(pitch("Eb4"))
            .expect("a gap")
            .contains("no established")
    );
    assert!(
        chart_of("flute")
            .gap(pitch("E6"))
            .expect("a gap")
            .contains("memory")
    );
    assert!(
        charts("contrabassoon").is_empty()
            && charts("violin").is_empty()
            && charts("bass-clarinet").is_empty()
    );
}

/// Source: enharmonic pairs (a bassoon course gives C♭ in G♭ major as B, E♯ in F♯ major as F).
#[test]
fn unusual_spellings_name_the_note_they_are_fingered_as() {
    for (written, plain) in [
        ("E#4", Some("F4")),
        ("B#3", Some("C4")),
        ("Cb5", Some("B4")),
        ("Fb4", Some("E4")),
        ("F##4", Some("G4")),
        ("Bbb4", Some("A4")),
        ("B##3", Some("C#4")),
        ("C#5", None),
        ("Db5", None),
        ("A#4", None),
        ("G4", None),
    ] {
        assert_eq!(
            fingered_as(pitch(written)).map(|p| p.to_string()).as_deref(),
            plain,
            "{written}"
        );
        let flute = chart_of("flute");
        if let Some(plain) = plain {
            assert_eq!(flute.fingerings(pitch(written)), flute.fingerings(pitch(plain)));
        }
    }
}

#[test]
fn a_player_may_call_a_fingering_as_she_likes() {
    let called = |id: &str, note: &str, name: &str| {
        chart_of(id)
            .fingerings(pitch(note))
            .iter()
            .position(|f| f.is_called(name))
    };
    assert_eq!(called("flute", "Bb4", "Thumb"), Some(1));
    assert_eq!(called("flute", "Bb4", "1 and 1"), Some(0));
    assert_eq!(called("flute", "Bb4", "LT:Bb L1 | R4:Eb"), Some(1));
    assert_eq!(called("trumpet", "E4", "3"), Some(1));
    assert_eq!(called("trumpet", "E4", "12"), Some(0));
    assert_eq!(called("trumpet", "C4", "0"), Some(0));
    assert_eq!(called("horn", "C5", "T"), Some(0));
    assert_eq!(called("flute", "Bb4", "elbow"), None);
}

/// Source: the hold rules of the charts (flute pages on B-flat; a list for the saxophone; B. Pimentel).
#[test]
fn keys_may_stay_down_where_the_sources_say_so() {
    let prepared = |id: &str, note: &str, index: usize| -> Vec<String> {
        chart_of(id).fingerings(pitch(note))[index]
            .prepared
            .iter()
            .map(|p| p.state.to_string())
            .collect()
    };
    assert_eq!(prepared("flute", "G4", 0), ["LT:Bb L1 L2 L3 | R4:Eb"]);
    assert!(prepared("flute", "B4", 0).is_empty());
    assert_eq!(prepared("saxophone", "A4", 0), ["L1:o+bis L2 |"]);
    assert_eq!(prepared("saxophone", "E4", 0).len(), 2);
    assert_eq!(prepared("clarinet", "A4", 0), ["L1:A | R1 R2 R3"]);
    assert_eq!(
        prepared("clarinet", "B4", 0),
        ["LT:o+R L1 L2 L3 L4:E | R1 R2 R3 R4:F"]
    );
    assert_eq!(prepared("oboe", "F4", 2), ["L1 L2 L3 | R1 R3 R4:Eb"]);
}

#[test]
fn a_fingering_reads_aloud() {
    let said =
        |id: &str, note: &str, index: usize| fingering_words(&chart_of(id).fingerings(pitch(note))[index]);
    assert_eq!(
        said("flute", "Bb4", 1),
        "left hand: thumb on the B♭ key, 1; right hand: 4 on the E♭ key"
    );
    assert_eq!(
        said("oboe", "D5", 0),
        "left hand: 1 half open, 2, 3; right hand: 1, 2, 3"
    );
    assert_eq!(
        said("clarinet", "C5", 0),
        "left hand: thumb and the register key, 1, 2, 3; right hand: 1, 2, 3, 4 on the F/C key"
    );
    assert_eq!(said("clarinet", "G4", 0), "nothing down");
    assert_eq!(said("horn", "A4", 0), "thumb (B♭ side), valves 1 and 2");
    assert_eq!(said("trombone", "F4", 1), "6th position");
    assert_eq!(
        said("bassoon", "C4", 0),
        "left hand: 1, 2, 3; left thumb flicks or holds the C key as the note starts"
    );
}

/// Every picture is well-formed, says its fingering in words, and holds no style that a strict page would refuse.
#[test]
fn every_fingering_is_drawn() {
    for chart in all_charts() {
        for (note, fingerings) in chart.entries() {
            for fingering in fingerings {
                let svg = diagram(fingering);
                let words = fingering_words(fingering);
                assert!(
                    svg.starts_with("<svg ") && svg.ends_with("</svg>"),
                    "{} {note}",
                    chart.id
                );
                assert!(
                    svg.contains(&format!("{words}</title>")),
                    "{} {note}: {words}",
                    chart.id
                );
                assert!(!svg.contains("style") && !svg.contains("#") && svg.contains("role=\"img\""));
                let filled = svg.matches("fill=\"currentColor\"/>").count();
                assert!(filled <= 8, "{} {note}", chart.id);
            }
        }
    }
}

#[test]
fn a_diagram_shows_what_is_pressed() {
    let drawn = |id: &str, note: &str, index: usize| diagram(&chart_of(id).fingerings(pitch(note))[index]);
    let holes = |svg: &str, fill: &str| svg.matches(&format!("fill=\"{fill}\"/>")).count();
    // Oboe E4: five fingers down, one up. Trumpet 1-3: two down, one up.
    let oboe = drawn("oboe", "E4", 0);
    assert_eq!(oboe.matches("<circle").count(), 6);
    assert_eq!(holes(&oboe, "currentColor"), 5);
    let trumpet = drawn("trumpet", "D4", 0);
    assert_eq!(
        (
            trumpet.matches("<circle").count(),
            holes(&trumpet, "currentColor")
        ),
        (3, 2)
    );
    assert!(drawn("oboe", "D5", 0).contains("0 0 0"), "half a hole is an arc");
    assert!(drawn("saxophone", "D6", 0).contains(">8va<"));
    assert!(
        drawn("oboe", "F4", 2).contains("stroke-dasharray"),
        "a key that may be added"
    );
}

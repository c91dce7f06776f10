//! Rhythm questions on sketches that a musician can read.

use super::*;
use notation::sketch;
use proptest::prelude::*;

fn both(text: &str) -> (MetreAnswer, RhythmAnswer) {
    both_in(text, CountingSystem::Numbers)
}

fn both_in(text: &str, system: CountingSystem) -> (MetreAnswer, RhythmAnswer) {
    let piece = sketch(text).unwrap();
    let ctx = Context::new(&piece, 0).unwrap();
    let metre = crate::metre::answer(&ctx, &crate::tempo::marked(&ctx));
    let rhythm = answer(&ctx, &metre, system);
    (metre, rhythm)
}

/// The first bar counted at tempo.
fn counted(text: &str) -> String {
    count_bar(
        &both(text).0,
        BarIndex(0),
        CountingSystem::Numbers,
        CountAt::Tempo,
    )
}

fn counted_in(system: CountingSystem, text: &str) -> String {
    count_bar(&both(text).0, BarIndex(0), system, CountAt::Tempo)
}

fn forms(text: &str) -> Vec<(String, usize, String)> {
    let (_, rhythm) = both(text);
    rhythm
        .patterns
        .into_iter()
        .map(|p| (p.pattern, p.count, p.counting))
        .collect()
}

/// Source: Counting (music), the encyclopaedia article: 1 & 2 &, 1 e & a, 1 la li, 1 la li & la li, 1 dra git 3 dra git.
#[test]
fn published_counts() {
    assert_eq!(counted("metre:4/4 C5/q C5/q C5/q C5/q |"), "1 2 3 4");
    assert_eq!(counted("metre:2/4 C5/e C5/e C5/e C5/e |"), "1 & 2 &");
    assert_eq!(counted("metre:1/4 C5/s C5/s C5/s C5/s |"), "1 e & a");
    assert_eq!(
        counted("metre:2/4 C5/e:3 C5/e:3 C5/e:3 C5/e:3 C5/e:3 C5/e:3 |"),
        "1 la li 2 la li"
    );
    let six = "C5/s:3 C5/s:3 C5/s:3 C5/s:3 C5/s:3 C5/s:3";
    assert_eq!(counted(&format!("metre:1/4 {six} |")), "1 la li & la li");
    assert_eq!(
        counted("metre:1/4 C5/s:6 C5/s:6 C5/s:6 C5/s:6 C5/s:6 C5/s:6 |"),
        "1 la li & la li"
    );
    let quarters = "C5/q:3 C5/q:3 C5/q:3";
    assert_eq!(
        counted(&format!("metre:4/4 {quarters} {quarters} |")),
        "1 dra git 3 dra git"
    );
    assert_eq!(
        counted("metre:6/8 C5/e C5/e C5/e C5/e C5/e C5/e |"),
        "1 la li 2 la li"
    );
    assert_eq!(
        counted("metre:6/8 \"Adagio\" C5/e C5/e C5/e C5/e C5/e C5/e |"),
        "1 2 3 4 5 6"
    );
}

/// Source: the Eastman system as described in Learn Music Theory 1.25 and by A Review of Rhythm Counting Systems.
#[test]
fn compound_sixteenths_and_thirty_seconds() {
    let six = "C5/s C5/s C5/s C5/s C5/s C5/s";
    assert_eq!(
        counted(&format!("metre:3/8 \"Presto\" {six} |")),
        "1 ta la ta li ta"
    );
    let eight = "C5/t C5/t C5/t C5/t C5/t C5/t C5/t C5/t";
    assert_eq!(counted(&format!("metre:1/4 {eight} |")), "1 ta e ta & ta a ta");
}

/// Source: issue 2 ("1 (2) &"); common practice for the rest.
#[test]
fn held_beats_and_rests_stand_in_brackets() {
    assert_eq!(counted("metre:4/4 C5/q. C5/e C5/h |"), "1 (2) & 3 (4)");
    assert_eq!(
        counted("metre:4/4 C5/e C5/q C5/q C5/q C5/e |"),
        "1 & (2) & (3) & (4) &"
    );
    assert_eq!(counted("metre:4/4 C5/q r/q r/e C5/e C5/q |"), "1 [2] [3] & 4");
    assert_eq!(counted("metre:4/4 r/h C5/e. C5/s C5/q |"), "[1] [2] 3 a 4");
    assert_eq!(counted("metre:2/4 C5/e r/e C5/q |"), "1 [&] 2");
    assert_eq!(counted("metre:3/4 C5/h. |"), "1 (2) (3)");
    assert_eq!(
        counted("metre:2/4 C5/e:3 r/e:3 C5/e:3 C5/q:3 C5/e:3 |"),
        "1 [la] li 2 li"
    );
    assert_eq!(counted("metre:2/2 C5/h. C5/q |"), "1 (2) &");
}

#[test]
fn ties_are_held_on_the_beat() {
    assert_eq!(
        counted("metre:4/4 C5/e C5/e~ C5/e C5/e C5/h |"),
        "1 & (2) & 3 (4)"
    );
    let (metre, rhythm) = both("metre:4/4 C5/h. C5/e C5/e~ | C5/q C5/q C5/h |");
    assert_eq!(
        count_bar(&metre, BarIndex(1), CountingSystem::Numbers, CountAt::Tempo),
        "(1) 2 3 (4)"
    );
    assert_eq!(
        rhythm.ties,
        [Tie {
            place: Place::start_of(BarIndex(1)),
            over: TieOver::BarLine
        }]
    );
    let tied = rhythm
        .patterns
        .iter()
        .find(|pattern| pattern.pattern == "~q")
        .unwrap();
    assert_eq!(
        (tied.name.as_str(), tied.counting.as_str()),
        ("tied quarter", "(1)")
    );
    let tied_on = rhythm
        .patterns
        .iter()
        .find(|pattern| pattern.pattern == "e e~")
        .unwrap();
    assert_eq!(tied_on.name, "two eighths, tied on");
}

#[test]
fn a_pickup_starts_on_its_own_count() {
    assert_eq!(counted("metre:4/4 G4/e | C5/w | C5/w |."), "&");
    assert_eq!(counted("metre:3/4 G4/q | C5/h. | C5/h |."), "3");
    assert_eq!(counted("metre:6/8 G4/e | C5/h. | C5/h C5/e |."), "li");
    let (_, rhythm) = both("metre:4/4 G4/e | C5/w | C5/w |.");
    let pickup = rhythm
        .patterns
        .iter()
        .find(|pattern| pattern.first.bar == BarIndex(0))
        .unwrap();
    assert_eq!(
        (
            pickup.pattern.as_str(),
            pickup.name.as_str(),
            pickup.counting.as_str()
        ),
        ("_e e", "eighth (pickup)", "&")
    );
    assert_eq!(pickup.first.offset, Quarters::ZERO);
}

#[test]
fn uneven_and_cut_metres() {
    let seven = "[ C5/e C5/e C5/e ] [ C5/e C5/e ] [ C5/e C5/e ] |";
    assert_eq!(counted(&format!("metre:7/8 {seven}")), "1 la li 2 & 3 &");
    assert_eq!(counted(&format!("metre:7/8 mm:e=120 {seven}")), "1 2 3 4 5 6 7");
    assert_eq!(counted("metre:¢ C5/h C5/q C5/e C5/e |"), "1 2 & a");
    assert_eq!(counted("metre:¢ \"Largo\" C5/h C5/q C5/e C5/e |"), "1 (2) 3 4 &");
    assert_eq!(counted("metre:3/4 \"Presto\" C5/q C5/q C5/q |"), "1 la li");
    let (metre, _) = both("metre:¢ C5/h C5/q C5/e C5/e |");
    assert_eq!(
        count_bar(&metre, BarIndex(0), CountingSystem::Numbers, CountAt::Slow),
        "1 (2) 3 4 &"
    );
}

#[test]
fn uncommon_tuplets_are_counted_through() {
    let five = "C5/s:5 C5/s:5 C5/s:5 C5/s:5 C5/s:5";
    assert_eq!(counted(&format!("metre:2/4 C5/q {five} |")), "1 2-2-3-4-5");
    // Four in three and two in three fall on halves and quarters of a beat.
    assert_eq!(
        counted("metre:3/4 C5/q:4:3 C5/q:4:3 C5/q:4:3 C5/q:4:3 |"),
        "1 a (2) & (3) e"
    );
    assert_eq!(counted("metre:6/8 C5/e:2:3 C5/e:2:3 C5/q. |"), "1 & 2");
    let (_, rhythm) = both(&format!("metre:2/4 C5/q {five} | {five} C5/q |"));
    assert_eq!(
        (rhythm.tuplets[0].count, rhythm.tuplets[0].name.as_str()),
        (2, "quintuplet of sixteenths")
    );
}

#[test]
fn nested_tuplets_are_found_and_said() {
    let mut piece = sketch("metre:2/4 C5/q:3 C5/q:3 C5/e:3 C5/e:3 C5/e:3 |").unwrap();
    let inner = notation::TupletRatio { actual: 3, normal: 2 };
    let mut offset = notation::Rational::new(4, 3);
    for event in piece.parts[0].events.iter_mut().skip(2) {
        let written = event.written.as_mut().unwrap();
        written.tuplets.push(inner);
        event.duration = written.quarters();
        event.place.offset = offset;
        offset += event.duration;
    }
    piece.bars[0].length = notation::Rational::whole(2);
    let ctx = Context::new(&piece, 0).unwrap();
    let metre = crate::metre::answer(&ctx, &crate::tempo::marked(&ctx));
    let rhythm = answer(&ctx, &metre, CountingSystem::Numbers);
    assert_eq!((rhythm.tuplets.len(), rhythm.tuplets[0].nested), (1, 1));
    assert_eq!(rhythm.patterns[0].pattern, "q:3 q:3 e:3:3 e:3:3 e:3:3");
    assert_eq!(rhythm.shortest().unwrap().name, "nested triplet eighth");
}

/// Source: Hoffman, Pelto & White 1996, as tabled by Gordon, Taking a Reasonable and Honest Look, p. 73.
#[test]
fn takadimi() {
    let say = |text: &str| counted_in(CountingSystem::Takadimi, text);
    assert_eq!(say("metre:2/4 C5/q C5/e C5/e |"), "ta ta di");
    assert_eq!(
        say("metre:2/4 C5/s C5/s C5/s C5/s C5/e C5/s C5/s |"),
        "ta ka di mi ta di mi"
    );
    assert_eq!(say("metre:6/8 C5/q. C5/e C5/e C5/e |"), "ta ta ki da");
    assert_eq!(
        say("metre:6/8 C5/s C5/s C5/s C5/s C5/s C5/s C5/q. |"),
        "ta va ki di da ma ta"
    );
    assert_eq!(
        say("metre:2/4 C5/s:5 C5/s:5 C5/s:5 C5/s:5 C5/s:5 C5/q |"),
        "ta ka di mi ti ta"
    );
    let seven = "C5/s:7 C5/s:7 C5/s:7 C5/s:7 C5/s:7 C5/s:7 C5/s:7";
    assert_eq!(say(&format!("metre:1/4 {seven} |")), "ta va ki di da mi ti");
    assert_eq!(
        say("metre:5/8 [ C5/e C5/e ] [ C5/e C5/e C5/e ] |"),
        "ta di ta ki da"
    );
    assert_eq!(say("metre:4/4 C5/q. C5/e C5/h |"), "ta (ta) di ta (ta)");
}

/// Source: tuneful, Meter, after Gordon, Learning Sequences in Music, pp. 74-89, 181-185.
#[test]
fn gordon() {
    let say = |text: &str| counted_in(CountingSystem::Gordon, text);
    assert_eq!(say("metre:2/4 C5/q C5/e C5/e |"), "du du de");
    assert_eq!(say("metre:1/4 C5/s C5/s C5/s C5/s |"), "du ta de ta");
    assert_eq!(say("metre:6/8 C5/e C5/e C5/e C5/q. |"), "du da di du");
    assert_eq!(
        say("metre:5/8 [ C5/e C5/e ] [ C5/e C5/e C5/e ] |"),
        "du be du ba bi"
    );
}

/// Source: Indian Prairie School District 204, Rhythm Syllables (2008); `tri-o-la` from memory.
#[test]
fn kodaly() {
    let say = |text: &str| counted_in(CountingSystem::Kodaly, text);
    assert_eq!(say("metre:4/4 C5/w |"), "ta-a-a-a");
    assert_eq!(say("metre:3/4 C5/h. |"), "ta-a-a");
    assert_eq!(say("metre:4/4 C5/h C5/q C5/e C5/e |"), "ta-a ta ti ti");
    assert_eq!(say("metre:2/4 C5/q. C5/e |"), "ta-i ti");
    assert_eq!(say("metre:2/4 C5/e C5/q C5/e |"), "ti ta ti");
    assert_eq!(
        say("metre:2/4 C5/s C5/s C5/s C5/s C5/e C5/s C5/s |"),
        "ti ka ti ka ti ti ka"
    );
    assert_eq!(say("metre:2/4 C5/e. C5/s C5/s C5/s C5/e |"), "ti-i ka ti ka ti");
    assert_eq!(say("metre:2/4 C5/e:3 C5/e:3 C5/e:3 r/q |"), "tri o la [ta]");
    assert_eq!(say("metre:6/8 C5/e C5/e C5/e C5/q. |"), "ti ti ti ta-i");
}

#[test]
fn the_vocabulary_of_a_line() {
    let found = forms("metre:4/4 C5/q C5/e C5/e C5/q. C5/e | C5/e C5/s C5/s C5/q C5/h |");
    let row = |form: &str, count, counting: &str| (form.to_owned(), count, counting.to_owned());
    assert_eq!(
        found,
        [
            row("q", 2, "1"),
            row("e e", 1, "1 &"),
            row("q. e", 1, "1 (2) &"),
            row("e s s", 1, "1 & a"),
            row("h", 1, "1 (2)"),
        ]
    );
}

#[test]
fn names_are_the_trades() {
    let name = |text: &str| both(text).1.patterns[0].name.clone();
    assert_eq!(name("metre:2/4 C5/q. C5/e |"), "dotted quarter–eighth");
    assert_eq!(name("metre:1/4 C5/e C5/s C5/s |"), "eighth–two sixteenths");
    assert_eq!(name("metre:2/4 C5/q:3 C5/q:3 C5/q:3 |"), "quarter-note triplet");
    assert_eq!(name("metre:1/4 C5/q:3 C5/e:3 |"), "triplet quarter–eighth");
    assert_eq!(
        name("metre:2/4 C5/e:6 C5/e:6 C5/e:6 C5/e:6 C5/e:6 C5/e:6 |"),
        "sextuplet of eighths"
    );
    assert_eq!(
        name("metre:2/4 C5/e C5/q C5/e |"),
        "eighth–quarter–eighth (syncopation)"
    );
    assert_eq!(
        name("metre:1/4 C5/s C5/e. |"),
        "sixteenth–dotted eighth (short–long snap)"
    );
    assert_eq!(name("metre:1/4 r/e C5/e |"), "eighth rest–eighth");
    assert_eq!(
        name("metre:1/4 C5/s C5/e C5/s |"),
        "sixteenth–eighth–sixteenth (syncopation)"
    );
    assert_eq!(name("metre:6/8 C5/q C5/e C5/q C5/e |"), "quarter–eighth");
    assert_eq!(name("metre:1/4 C5/s C5/s C5/s C5/s |"), "four sixteenths");
}

#[test]
fn compound_figures_have_a_slow_count() {
    let (_, rhythm) = both("metre:6/8 \"Allegro\" C5/q C5/e C5/e. C5/s C5/e |");
    assert_eq!(rhythm.patterns[0].counting, "1 li");
    assert_eq!(rhythm.patterns[0].slow_counting.as_deref(), Some("1 (2) 3"));
    assert_eq!(rhythm.patterns[1].counting, "1 ta li");
    assert_eq!(
        rhythm.bar_patterns[0].slow_counting.as_deref(),
        Some("1 (2) 3 4 (5) & 6")
    );
}

#[test]
fn slow_notes_after_fast_ones() {
    let fast = "C5/s C5/s C5/s C5/s";
    let (_, rhythm) = both(&format!("metre:4/4 {fast} C5/e C5/e {fast} {fast} | C5/q r/h. |"));
    assert_eq!(rhythm.slow_after_fast.len(), 2);
    assert_eq!(rhythm.slow_after_fast[0].place.offset, notation::Rational::ONE);
    assert!(
        rhythm.slow_after_fast[0].says.contains("rushed"),
        "{}",
        rhythm.slow_after_fast[0].says
    );
    assert!(rhythm.slow_after_fast[1].says.contains("cut short"));
    assert_eq!(rhythm.slow_after_fast[1].fast_notes, 10);
    for plain in [
        "metre:4/4 C5/q C5/q C5/q C5/q | C5/w |",
        "metre:4/4 C5/q C5/s C5/s C5/s C5/s C5/q r/q |",
    ] {
        assert!(both(plain).1.slow_after_fast.is_empty(), "{plain}");
    }
}

#[test]
fn rests_on_beats_and_entries_off_them() {
    let (_, rhythm) = both("metre:4/4 r/e C5/e C5/q r/q C5/q | R |");
    assert_eq!(
        rhythm
            .rests_on_beats
            .iter()
            .map(|rest| rest.beat)
            .collect::<Vec<_>>(),
        [1, 3]
    );
    assert!(rhythm.rests_on_beats[0].entry.is_some() && rhythm.rests_on_beats[1].entry.is_none());
    assert_eq!(rhythm.offbeat_entries.len(), 1);
    assert_eq!(rhythm.silent_bars, [BarIndex(1)]);
}

#[test]
fn hemiolas_are_seen() {
    let says = |text: &str| {
        both(text)
            .1
            .hemiolas
            .iter()
            .map(|h| (h.from.0, h.to.0))
            .collect::<Vec<_>>()
    };
    assert_eq!(
        says("metre:3/4 C5/h. | C5/h C5/q~ | C5/q C5/h | C5/h. |"),
        [(1, 2)]
    );
    assert_eq!(says("metre:6/8 C5/q. C5/q. | C5/q C5/q C5/q |"), [(1, 1)]);
    assert_eq!(says("metre:3/4 C5/q. C5/q. | C5/q C5/q C5/q |"), [(0, 0)]);
    assert!(says("metre:3/4 C5/h C5/q | C5/q C5/h | C5/h. |").is_empty());
}

#[test]
fn runs_divisions_and_dots() {
    let (_, rhythm) = both(
        "metre:4/4 C5/e C5/e C5/e:3 C5/e:3 C5/e:3 C5/e. C5/s C5/q | C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/h |",
    );
    assert_eq!(
        rhythm
            .division_changes
            .iter()
            .map(|change| change.from_to)
            .collect::<Vec<_>>(),
        [(2, 3), (3, 2)]
    );
    assert_eq!(
        (rhythm.dotted[0].name.as_str(), rhythm.dotted[0].count),
        ("dotted eighth–sixteenth", 1)
    );
    let run = rhythm.longest_run.unwrap();
    assert_eq!((run.notes, run.length), (8, notation::Rational::new(1, 4)));
    assert_eq!(
        rhythm.longest,
        Some((
            Place {
                bar: BarIndex(1),
                offset: notation::Rational::whole(2)
            },
            notation::Rational::whole(2)
        ))
    );
}

#[test]
fn grace_notes_are_not_counted() {
    let (metre, rhythm) = both("metre:2/4 g:D5/s C5/q a:D5/e C5/q |");
    assert_eq!(
        count_bar(&metre, BarIndex(0), CountingSystem::Numbers, CountAt::Tempo),
        "1 2"
    );
    assert_eq!(rhythm.patterns.len(), 1);
    assert_eq!(rhythm.patterns[0].count, 2);
}

#[test]
fn bars_that_do_not_add_up_are_still_counted() {
    let (metre, _) = both("metre:4/4 C5/w | C5/h C5/h C5/q C5/e | C5/q. | C5/w |");
    let count = |bar| count_bar(&metre, BarIndex(bar), CountingSystem::Numbers, CountAt::Tempo);
    assert_eq!(count(1), "1 (2) 3 (4) 5 6");
    assert_eq!(count(2), "1 (2)");
}

fn values() -> impl Strategy<Value = Vec<(usize, bool, bool)>> {
    proptest::collection::vec((0usize..7, any::<bool>(), any::<bool>()), 1..40)
}

/// A line of bars filled with notes and rests, ties among them.
fn line_of(metre: &str, eighths: usize, values: &[(usize, bool, bool)]) -> String {
    const NAMES: [(&str, usize); 7] = [
        ("s", 1),
        ("e", 2),
        ("e.", 3),
        ("q", 4),
        ("q.", 6),
        ("h", 8),
        ("h.", 12),
    ];
    let mut text = format!("metre:{metre} ");
    let mut left = eighths * 2;
    let mut tied = false;
    for (value, rest, tie) in values {
        let (name, length) = NAMES[*value];
        if length > left {
            continue;
        }
        let rest = *rest && !tied;
        text.push_str(&if rest {
            format!("r/{name} ")
        } else {
            format!("C5/{name}{} ", if *tie { "~" } else { "" })
        });
        tied = *tie && !rest;
        left -= length;
        if left == 0 {
            text.push_str("| ");
            left = eighths * 2;
        }
    }
    while left > 0 && left < eighths * 2 {
        text.push_str("C5/s ");
        left -= 1;
    }
    text.push('|');
    text
}

proptest! {
    /// Patterns times beats make up the beats of the sounding bars; every beat of a bar is said, plainly or in brackets.
    #[test]
    fn patterns_make_up_the_bars(values in values(), which in 0usize..6) {
        let (metre, eighths) = [("4/4", 8), ("3/4", 6), ("6/8", 6), ("7/8", 7), ("¢", 8), ("5/4", 10)][which];
        let (metre, rhythm) = both(&line_of(metre, eighths, &values));
        let beats: usize = metre
            .voice
            .bars
            .iter()
            .zip(&metre.grids)
            .filter(|(bar, _)| !bar.is_silent())
            .map(|(_, grid)| grid.beats().len())
            .sum();
        let sum: usize = rhythm.patterns.iter().map(|pattern| pattern.count * pattern.beats).sum();
        prop_assert_eq!(sum, beats);
        let bars: usize = rhythm.bar_patterns.iter().map(|pattern| pattern.count).sum();
        prop_assert_eq!(bars + rhythm.silent_bars.len(), metre.grids.len());
        for grid in &metre.grids {
            for at in [CountAt::Tempo, CountAt::Slow] {
                let count = count_bar(&metre, grid.bar, CountingSystem::Numbers, at);
                let words: Vec<&str> = count.split([' ', '-']).map(|w| w.trim_matches(['(', ')', '[', ']'])).collect();
                let beats = if at == CountAt::Tempo { grid.beats() } else { grid.slow_beats() };
                for beat in beats {
                    prop_assert!(words.contains(&beat.number.to_string().as_str()), "{} in {count}", beat.number);
                }
            }
        }
        for pattern in rhythm.patterns.iter().chain(&rhythm.bar_patterns) {
            prop_assert!(!pattern.name.is_empty() && !pattern.counting.is_empty(), "{pattern:?}");
            prop_assert_eq!(pattern.bars.first(), Some(&pattern.first.bar));
        }
    }

    /// Writing everything in notes half as long, in a metre half as long, changes no count and no pattern's number.
    #[test]
    fn scaling_keeps_the_counts(values in values()) {
        let long = line_of("4/4", 8, &values);
        let short = long.replace("4/4", "4/8").replace("C5/s", "C5/T").replace("r/s", "r/T")
            .replace("/e", "/s").replace("/q", "/e").replace("/h", "/q").replace("/T", "/t");
        let (long, short) = (both(&long).1, both(&short).1);
        let counts = |answer: &RhythmAnswer| {
            answer.patterns.iter().map(|p| (p.count, p.counting.clone())).collect::<Vec<_>>()
        };
        prop_assert_eq!(counts(&long), counts(&short));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Whatever stands in the file, every question is answered: no panic, no endless loop.
    #[test]
    fn any_page_is_answered(
        events in proptest::collection::vec((0i64..40, 1i64..9, 0i64..60, 1i64..13, 0u8..6), 0..60),
        bars in 1usize..6, beats in 0u16..70, power in 0u32..7, lengths in proptest::collection::vec((0i64..50, 1i64..9), 6),
        huge: bool,
    ) {
        let mut piece = sketch(&"C5/q r/q | ".repeat(bars)).unwrap();
        let model: Vec<notation::Event> = piece.parts[0].events.clone();
        piece.parts[0].events.clear();
        for (number, (num, den, long, parts, kind)) in events.into_iter().enumerate() {
            let mut event = model[usize::from(kind == 5)].clone();
            event.place = Place { bar: BarIndex::from_usize(number % bars), offset: notation::Rational::new(num, den) };
            event.duration = if huge && kind == 4 { notation::Rational::OVERFLOW } else { notation::Rational::new(long, parts) };
            if kind == 3 { event.written = None; }
            if kind == 2 && let Some(written) = &mut event.written {
                written.tuplets.push(notation::TupletRatio { actual: 7, normal: u16::try_from(den).unwrap() });
            }
            piece.parts[0].events.push(event);
        }
        for (bar, (num, den)) in piece.bars.iter_mut().zip(&lengths) {
            bar.length = if huge { notation::Rational::whole(i64::MAX) } else { notation::Rational::new(*num, *den) };
        }
        let mut change = sketch("metre:4/4 C5/q |").unwrap().parts[0].metres[0].clone();
        change.value = notation::Metre::new(beats, 2u16.pow(power));
        piece.parts[0].metres.push(change);
        piece.parts[0].index_bars(bars);
        let ctx = Context::new(&piece, 0).unwrap();
        let metre = crate::metre::answer(&ctx, &crate::tempo::marked(&ctx));
        for system in CountingSystem::ALL {
            let rhythm = answer(&ctx, &metre, system);
            let played: Vec<BarIndex> = metre.grids.iter().map(|grid| grid.bar).collect();
            let _ = crate::tempo::answer(&ctx, &metre, &rhythm, &played, &Default::default());
            for bar in played {
                let _ = count_bar(&metre, bar, system, CountAt::Slow);
            }
        }
    }
}

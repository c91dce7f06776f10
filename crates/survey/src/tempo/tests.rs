//! Tempo questions on sketches that a musician can read.

use super::*;
use crate::rhythm::CountingSystem;
use notation::sketch;
use proptest::prelude::*;

fn of_part(text: &str, name: &str, tongue: Option<f64>, order: Option<&[u32]>) -> TempoAnswer {
    let mut piece = sketch(text).unwrap();
    piece.parts[0].name = name.to_owned();
    let ctx = Context::new(&piece, 0).unwrap();
    let metre = crate::metre::answer(&ctx, &marked(&ctx));
    let rhythm = crate::rhythm::answer(&ctx, &metre, CountingSystem::Numbers);
    let straight: Vec<u32> = (0..u32::try_from(piece.bars.len()).unwrap()).collect();
    let played: Vec<BarIndex> = order
        .unwrap_or(&straight)
        .iter()
        .map(|bar| BarIndex(*bar))
        .collect();
    answer(
        &ctx,
        &metre,
        &rhythm,
        &played,
        &TempoOptions {
            tongue_per_second: tongue,
        },
    )
}

fn of(text: &str) -> TempoAnswer {
    of_part(text, "Clarinet", None, None)
}

fn first(text: &str) -> String {
    of(text).first_reading.unwrap().says()
}

/// So many bars of equal notes, stepping up and down.
fn bars_of(value: &str, notes: usize, bars: usize) -> String {
    const STEPS: [&str; 6] = ["C5", "D5", "E5", "F5", "E5", "D5"];
    let mut text = String::new();
    for bar in 0..bars {
        for note in 0..notes {
            text.push_str(&format!("{}/{value} ", STEPS[(bar * notes + note) % 6]));
        }
        text.push_str("| ");
    }
    text
}

/// Source: issue 2, common practice: an etude mostly in eighths, marked very fast, is first read at ♩ = 50 to 60.
#[test]
fn a_fast_etude_in_eighths_is_first_read_at_fifty_to_sixty() {
    let eighths = bars_of("e", 8, 16);
    assert_eq!(
        first(&format!("metre:4/4 \"Presto\" mm:q=168 {eighths}")),
        "♩ = 50–60"
    );
    assert_eq!(first(&format!("metre:4/4 \"Vivace\" {eighths}")), "♩ = 50–60");
    assert_eq!(first(&format!("metre:4/4 {eighths}")), "♩ = 50–60");
    // A final long note, a bar of quarters and one bar of sixteenths leave it in the same region.
    let mixed = format!("{eighths} {} {} C5/w |", bars_of("q", 4, 1), bars_of("s", 16, 1));
    let found = of(&format!("metre:4/4 \"Presto\" {mixed}"))
        .first_reading
        .unwrap();
    assert_eq!(found.high, 60);
    assert!((44..=50).contains(&found.low), "{}", found.says());
    assert_eq!(found.hardest.unwrap().bar, BarIndex(17));
}

#[test]
fn halving_the_values_lowers_it_and_the_tongue_never_raises_it() {
    let sixteenths = first(&format!("metre:4/4 \"Presto\" {}", bars_of("s", 16, 16)));
    assert_eq!(sixteenths, "♩ = 33–40 (click ♪ = 66–80)");
    let triplets = of(&format!("metre:4/4 \"Presto\" {}", bars_of("e:3", 12, 16)))
        .first_reading
        .unwrap();
    assert!(triplets.high < 60 && triplets.high > 42, "{}", triplets.says());
    let text = format!("metre:4/4 \"Presto\" {}", bars_of("e", 8, 16));
    let with = |tongue: f64| {
        of_part(&text, "Clarinet", Some(tongue), None)
            .first_reading
            .unwrap()
    };
    assert_eq!((with(8.0).high, with(8.0).limited_by), (60, LimitedBy::Reading));
    assert!(
        with(3.0).high < 40 && with(3.0).limited_by == LimitedBy::Tongue,
        "{}",
        with(3.0).says()
    );
    assert!(with(3.0).reason.contains("tongue of 3.0"));
}

#[test]
fn slurred_notes_need_no_tongue() {
    let slurred = "( C5/e D5/e E5/e F5/e E5/e D5/e C5/e D5/e ) | ".repeat(8);
    let found = of_part(&format!("metre:4/4 {slurred}"), "Clarinet", Some(2.0), None)
        .first_reading
        .unwrap();
    assert_eq!((found.high, found.limited_by), (48, LimitedBy::Tongue));
    let tongued = of_part(
        &format!("metre:4/4 {}", bars_of("e", 8, 8)),
        "Clarinet",
        Some(2.0),
        None,
    )
    .first_reading
    .unwrap();
    assert!(tongued.high < 48);
}

/// Source: issue 2: never told to read faster than its marked tempo.
#[test]
fn a_slow_piece_is_not_read_faster_than_marked() {
    let quarters = bars_of("q", 4, 16);
    let adagio = of(&format!("metre:4/4 \"Adagio\" {quarters}"))
        .first_reading
        .unwrap();
    assert_eq!(adagio.limited_by, LimitedBy::Marking);
    assert!(adagio.high <= 66, "{}", adagio.says());
    assert!(
        adagio.reason.contains("Adagio is slow enough"),
        "{}",
        adagio.reason
    );
    let marked = of(&format!("metre:4/4 mm:q=52 {quarters}"))
        .first_reading
        .unwrap();
    assert_eq!(marked.high, 52);
    let none = of(&format!("metre:4/4 {quarters}")).first_reading.unwrap();
    assert_eq!(none.high, 84);
}

#[test]
fn compound_and_cut_metres_are_read_on_their_own_beat() {
    let sixths = bars_of("e", 6, 16);
    assert_eq!(
        first(&format!("metre:6/8 \"Presto\" {sixths}")),
        "♩. = 40–48 (click ♪ = 120–144)"
    );
    let slow = of(&format!("metre:6/8 \"Adagio\" {sixths}"))
        .first_reading
        .unwrap();
    assert_eq!(
        (slow.beat.sign().as_str(), slow.limited_by),
        ("♪", LimitedBy::Marking)
    );
    assert!(slow.high <= 66);
    assert_eq!(
        first(&format!("metre:¢ \"Allegro\" {}", bars_of("e", 8, 16))),
        "♩ = 50–60"
    );
    assert_eq!(
        of(&format!("metre:¢ \"Allegro\" {}", bars_of("q", 4, 16)))
            .beat
            .unwrap()
            .sign(),
        "half"
    );
    let seven = of(&format!("metre:7/8 \"Allegro\" {}", bars_of("e", 7, 16)))
        .first_reading
        .unwrap();
    assert_eq!(seven.beat.sign(), "♪");
    let waltz = of(&format!("metre:3/4 \"Presto\" {}", bars_of("q", 3, 16)))
        .first_reading
        .unwrap();
    assert_eq!(waltz.beat.sign(), "♩");
}

#[test]
fn tables_are_read_on_the_beat_and_named() {
    let found = of("metre:6/8 \"Allegro\" C5/q. C5/q. |");
    assert_eq!(found.beat.unwrap().sign(), "♩.");
    assert!(found.ranges.len() >= 2);
    // Source: musique-harmonie.fr, Allegro 116-150: dotted quarters here, so 174 to 225 quarters a minute and more.
    assert!(
        found.speeds[0].low >= 109.0 * 1.5 - 0.1 && found.speeds[0].high <= 168.0 * 1.5 + 0.1,
        "{:?}",
        found.speeds
    );
    let moderato = of("metre:4/4 \"Moderato\" C5/w |");
    assert!(
        moderato.disagreement.contains("tables disagree"),
        "{}",
        moderato.disagreement
    );
    let waltz = of("metre:3/4 \"Presto\" C5/h. |");
    assert_eq!(waltz.beat.unwrap().sign(), "♩");
    let marked = of("metre:6/8 mm:e=180 C5/h. |").metronome.unwrap();
    assert_eq!((marked.printed_bpm(), marked.beat.sign().as_str()), (180.0, "♪"));
    let marked = of("metre:6/8 mm:q=90 C5/h. |").metronome.unwrap();
    assert_eq!(
        (marked.beats_a_minute.0, marked.beat.sign().as_str()),
        (60.0, "♩.")
    );
}

#[test]
fn playing_time_follows_the_play_order_and_the_changes() {
    let text = "metre:4/4 mm:q=60 C5/w | C5/w | mm:q=120 C5/w | C5/w |";
    let time = of(text).playing_time.unwrap();
    assert_eq!(
        (time.shortest_secs, time.longest_secs, time.bars),
        (12.0, 12.0, 4)
    );
    let repeated = of_part(text, "Clarinet", None, Some(&[0, 1, 0, 1, 2, 3]))
        .playing_time
        .unwrap();
    assert_eq!(repeated.longest_secs, 20.0);
    let words = of("metre:4/4 \"Andante\" C5/w | C5/w |").playing_time.unwrap();
    assert!(words.shortest_secs < words.longest_secs);
    assert!(of("metre:4/4 C5/w |").playing_time.is_none());
    let hint = of("metre:4/4 sound:tempo=120 C5/w |").playing_time.unwrap();
    assert_eq!(hint.longest_secs, 2.0);
    assert!(hint.basis.contains("not printed"));
}

#[test]
fn changes_come_in_order_and_go_back() {
    let bar = "C5/w |";
    let found = of(&format!(
        "metre:4/4 \"Allegro\" mm:q=120 {bar} \"rit.\" {bar} \"a_tempo\" {bar} \"piu_mosso\" {bar} \"Tempo_I\" {bar}"
    ));
    let reached: Vec<f64> = found
        .changes
        .iter()
        .map(|change| change.quarters_a_minute.unwrap().0.round())
        .collect();
    assert_eq!(found.changes.len(), 4);
    assert!(found.changes[0].gradual && found.changes[0].until == Some(Place::start_of(BarIndex(2))));
    assert!(
        reached[0] < 120.0 && reached[1] == 120.0 && reached[2] > 120.0 && reached[3] == 120.0,
        "{reached:?}"
    );
    assert_eq!(found.speeds.last().unwrap().low, 120.0);
}

#[test]
fn a_ritardando_without_an_end_lasts_a_few_bars() {
    let bars = "C5/w | ".repeat(12);
    let found = of(&format!("metre:4/4 mm:q=60 {bars} \"rit.\" {bars}"));
    assert_eq!(found.changes[0].until, Some(Place::start_of(BarIndex(16))));
    let time = found.playing_time.unwrap().longest_secs;
    assert!(time > 96.0 && time < 100.0, "{time}");
    // At the end of the piece it lasts to the end.
    let found = of(&format!("metre:4/4 mm:q=60 {bars} \"rit.\" C5/w | C5/w |."));
    assert_eq!(found.changes[0].until.unwrap().bar, BarIndex(14));
}

#[test]
fn a_manner_of_playing_is_not_a_new_tempo() {
    let found = of("metre:¢ mm:h=104 C5/w | C5/w | \"largamente\" C5/w | C5/w |");
    let time = found.playing_time.unwrap();
    assert!((time.longest_secs - 8.0 * 60.0 / 104.0).abs() < 1e-9, "{time:?}");
}

#[test]
fn the_same_beat_in_a_new_metre() {
    let found = of("metre:2/4 mm:q=60 C5/h | metre:6/8 \"L'istesso_tempo\" C5/h. | C5/h. |");
    assert_eq!(
        found.speeds.last().map(|speed| (speed.place.bar.0, speed.low)),
        Some((1, 90.0))
    );
    assert_eq!(found.playing_time.unwrap().longest_secs, 6.0);
}

#[test]
fn what_is_odd_is_said() {
    let kinds = |text: &str| {
        of(text)
            .findings
            .iter()
            .map(|finding| finding.kind)
            .collect::<Vec<_>>()
    };
    assert_eq!(kinds("metre:4/4 C5/w |"), ["no-tempo-printed"]);
    assert_eq!(
        kinds("metre:4/4 \"Largo\" mm:q=160 C5/w |"),
        ["metronome-outside-tables"]
    );
    assert!(kinds("metre:4/4 \"Largo\" mm:q=50 C5/w |").is_empty());
    let fast = of(&format!("metre:4/4 mm:q=144 {}", bars_of("s", 16, 8)));
    let speed = fast.speed_at_mark.unwrap();
    // Source: arithmetic, sixteenths at ♩ = 144 are 9.6 a second.
    assert!((speed.tongued_a_second.0 - 9.6).abs() < 1e-9);
    assert!(speed.says.contains("single tongue"), "{}", speed.says);
    assert_eq!(minutes(125.4), "2:05");
}

#[test]
fn strings_have_no_tongue() {
    let text = format!("metre:4/4 mm:q=144 {}", bars_of("s", 16, 8));
    assert!(
        !of_part(&text, "Viola", None, None)
            .speed_at_mark
            .unwrap()
            .says
            .contains("tongue")
    );
}

#[test]
fn nothing_and_silence_are_answered() {
    assert!(of("metre:4/4 R | R |").first_reading.is_none());
    let mut piece = sketch("metre:4/4 R |").unwrap();
    piece.bars.clear();
    piece.parts[0].index_bars(0);
    let ctx = Context::new(&piece, 0).unwrap();
    let metre = crate::metre::answer(&ctx, &marked(&ctx));
    let rhythm = crate::rhythm::answer(&ctx, &metre, CountingSystem::Numbers);
    let found = answer(&ctx, &metre, &rhythm, &[], &TempoOptions::default());
    assert!(found.playing_time.is_none() && found.first_reading.is_none());
}

proptest! {
    /// A slower tongue, a slower mark and shorter values never raise the first reading, which lies on the metronome
    /// and never above the mark.
    #[test]
    fn the_first_reading_moves_the_right_way(
        speed in 40u32..240, slower in 40u32..240, tongue in 10u32..120, slow_tongue in 10u32..120, value in 0usize..4,
    ) {
        const VALUES: [(&str, usize); 4] = [("q", 4), ("e", 8), ("s", 16), ("t", 32)];
        let read = |value: usize, speed: u32, tongue: u32| {
            let (name, notes) = VALUES[value];
            let text = format!("metre:4/4 mm:q={speed} {}", bars_of(name, notes, 4));
            of_part(&text, "Flute", Some(f64::from(tongue) / 10.0), None).first_reading.unwrap()
        };
        let found = read(value, speed, tongue);
        prop_assert!(found.low <= found.high);
        prop_assert!(u32::from(found.high) <= speed);
        prop_assert!(read(value, speed, tongue.min(slow_tongue)).high <= found.high);
        prop_assert!(read(value, speed.min(slower), tongue).high <= found.high);
        if value < 3 {
            let halved = read(value + 1, speed, tongue);
            prop_assert!(halved.high <= found.high && halved.low <= found.low);
        }
        let set = found.click.map_or((found.low, found.high), |(_, low, high)| (low, high));
        for mark in [set.0, set.1] {
            prop_assert!(mark < 40 || terms::tempo::METRONOME_MARKS.contains(&mark), "{mark}");
        }
    }

    /// Twice the tempo, half the time.
    #[test]
    fn time_scales_with_tempo(speed in 20u32..150, bars in 1usize..20) {
        let at = |speed: u32| of(&format!("metre:3/4 mm:q={speed} {}", bars_of("q", 3, bars))).playing_time.unwrap();
        let (slow, fast) = (at(speed), at(speed * 2));
        prop_assert!((slow.longest_secs - 2.0 * fast.longest_secs).abs() < 1e-6);
        let wanted = f64::from(u32::try_from(bars).unwrap()) * 180.0 / f64::from(speed);
        prop_assert!((slow.longest_secs - wanted).abs() < 1e-6);
    }
}

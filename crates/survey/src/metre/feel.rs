//! How many beats are felt in a bar at this tempo? 6/8 in six or in two, fast 3/4 in one, slow ¢ in four.
//!
//! A metronome mark decides first, by the note printed in it and then by its speed; then the tempo word; without
//! either, the way the metre is usually counted. Where the written beat would run past about 150 to 170 a minute it
//! is grouped, where it would crawl under about 45 it is divided.
//! Source: common practice; the crossing agrees with the pulse that is felt most readily, about 600 ms or 100 a
//! minute (Parncutt 1994, from memory): two beat levels three apart are equally near to it at 173 and 58 a minute.

use super::grouping::{Grouping, is_uneven};
use super::kind::MetreKind;
use super::unit::BeatUnit;
use crate::tempo::{Pace, TempoMark};
use notation::{Metre, MetrePart, MetreSymbol, Quarters, Rational};

/// Dotted beats are taken where the written beat would run faster than this, in written beats a minute.
const GROUP_COMPOUND: f64 = 150.0;
/// A bar of three is taken in one where the written beat would run this fast or faster.
const ONE_IN_BAR: f64 = 168.0;
/// A bar of four or two is taken in half as many beats at this speed of the written beat.
const PAIR: f64 = 192.0;
/// A half-note beat slower than this is divided into quarters.
const DIVIDE: f64 = 46.0;
/// A metre in halves whose metronome mark counts quarters is taken in quarters up to this speed of the quarter.
const QUARTERS_IN_CUT: f64 = 132.0;

/// What one counted beat is in terms of the written beat (the lower number).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum CountIn {
    /// The written beat itself.
    Written,
    /// Dotted beats of three written ones.
    Dotted,
    /// Two written beats to each counted one.
    Pairs,
    /// The whole bar is one beat.
    One,
    /// Half the written beat.
    Halved,
    /// Unequal beats of two and three.
    Groups,
}

/// How a metre is counted from a bar on.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Feel {
    /// What is counted.
    pub count_in: CountIn,
    /// The note of a beat (of the shortest where they are unequal).
    pub unit: BeatUnit,
    /// Length of each beat of a full bar in quarter notes, and into how many it divides (2 or 3).
    pub beats: Vec<(Quarters, u8)>,
    /// Why it is counted so, a clause.
    pub why: String,
}

/// The metre's one fraction, where it has only one.
fn single(metre: &Metre) -> Option<&MetrePart> {
    match metre.parts.as_slice() {
        [part] => Some(part),
        _ => None,
    }
}

/// How a metre is felt under a tempo mark.
pub(super) fn felt(metre: &Metre, grouping: Option<&Grouping>, mark: Option<&TempoMark>) -> Feel {
    let Some(part) = single(metre) else {
        return feel(
            metre,
            None,
            CountIn::Groups,
            "a mixed metre is counted by its printed parts",
        );
    };
    let asked = mark
        .and_then(|mark| mark.count_in)
        .and_then(|count| by_count(metre, part, grouping, count));
    if let Some((count_in, why)) = asked {
        return feel(metre, grouping, count_in, &why);
    }
    let (count_in, why) = match (MetreKind::of(metre), part.beats()) {
        (MetreKind::Compound, _) => compound(part, mark),
        (MetreKind::Asymmetric, _) => asymmetric(part, mark),
        (_, 3) => triple(part, mark),
        _ => even(metre, part, mark),
    };
    feel(metre, grouping, count_in, &why)
}

/// How a metre is counted in a slow first reading.
pub(super) fn slow(metre: &Metre, grouping: Option<&Grouping>) -> Feel {
    let count_in = match single(metre) {
        None => CountIn::Groups,
        Some(part) if part.beat_type <= 2 && part.beat_type > 0 => CountIn::Halved,
        Some(_) => CountIn::Written,
    };
    feel(metre, grouping, count_in, "slowly first")
}

/// Speeds of the written beat by the metronome mark.
fn written_speed(part: &MetrePart, mark: Option<&TempoMark>) -> Option<f64> {
    let (low, high) = mark?.quarters_a_minute()?;
    Some(f64::midpoint(low, high) * f64::from(part.beat_type) / 4.0)
}

/// The printed beat of the metronome mark, in written beats.
fn printed_beat(part: &MetrePart, mark: Option<&TempoMark>) -> Option<Rational> {
    let unit = mark?.metronome.as_ref()?.unit;
    let written = Rational::new(4, i64::from(part.beat_type));
    Some(unit.quarters() / written)
}

fn printed(mark: Option<&TempoMark>) -> String {
    let metronome = mark.and_then(|mark| mark.metronome.as_ref());
    metronome.map_or_else(String::new, |m| format!("{} = {}", m.unit.sign(), m.text))
}

fn words(mark: Option<&TempoMark>) -> String {
    mark.and_then(|mark| mark.words.clone()).unwrap_or_default()
}

fn compound(part: &MetrePart, mark: Option<&TempoMark>) -> (CountIn, String) {
    if let Some(speed) = written_speed(part, mark) {
        let beat = printed_beat(part, mark).unwrap_or_default();
        let dotted = if beat == Rational::ONE {
            speed > PAIR
        } else if beat == Rational::whole(3) {
            speed >= 3.0 * 40.0
        } else {
            speed > GROUP_COMPOUND
        };
        let count_in = if dotted { CountIn::Dotted } else { CountIn::Written };
        return (count_in, format!("by the mark {}", printed(mark)));
    }
    match mark.and_then(TempoMark::pace) {
        Some(Pace::Slow) => (
            CountIn::Written,
            format!("{} is slow enough to count every written beat", words(mark)),
        ),
        Some(_) => (
            CountIn::Dotted,
            format!("at {} the dotted beats are felt", words(mark)),
        ),
        None => (
            CountIn::Dotted,
            "no tempo is printed; dotted beats are usual".to_owned(),
        ),
    }
}

fn triple(part: &MetrePart, mark: Option<&TempoMark>) -> (CountIn, String) {
    if part.beat_type <= 2 {
        return halves(part, mark, false);
    }
    if let Some(speed) = written_speed(part, mark) {
        let whole_bar = printed_beat(part, mark) == Some(Rational::whole(3));
        let count_in = if whole_bar || speed >= ONE_IN_BAR {
            CountIn::One
        } else {
            CountIn::Written
        };
        return (count_in, format!("by the mark {}", printed(mark)));
    }
    let one = match mark.and_then(TempoMark::pace) {
        Some(Pace::VeryFast) => true,
        Some(Pace::Fast) => part.beat_type >= 8,
        _ => false,
    };
    match (one, mark.and_then(TempoMark::pace)) {
        (true, _) => (
            CountIn::One,
            format!("{} is fast enough for one beat to the bar", words(mark)),
        ),
        (false, Some(_)) => (
            CountIn::Written,
            format!("at {} every written beat is felt", words(mark)),
        ),
        (false, None) => (
            CountIn::Written,
            "no tempo is printed; the written beat is usual".to_owned(),
        ),
    }
}

fn even(metre: &Metre, part: &MetrePart, mark: Option<&TempoMark>) -> (CountIn, String) {
    if part.beat_type <= 2 {
        return halves(part, mark, metre.symbol == MetreSymbol::Cut);
    }
    let can_pair = part.beats().is_multiple_of(2);
    if let Some(speed) = written_speed(part, mark) {
        let pairs = can_pair && (speed >= PAIR || printed_beat(part, mark) == Some(Rational::whole(2)));
        let count_in = if pairs { CountIn::Pairs } else { CountIn::Written };
        return (count_in, format!("by the mark {}", printed(mark)));
    }
    (CountIn::Written, "the written beat".to_owned())
}

/// Metres in halves: in halves, or slowly in quarters.
fn halves(part: &MetrePart, mark: Option<&TempoMark>, cut: bool) -> (CountIn, String) {
    if let Some(speed) = written_speed(part, mark) {
        let quarters =
            printed_beat(part, mark) == Some(Rational::new(1, 2)) && speed * 2.0 <= QUARTERS_IN_CUT;
        let count_in = if quarters || speed < DIVIDE {
            CountIn::Halved
        } else {
            CountIn::Written
        };
        return (count_in, format!("by the mark {}", printed(mark)));
    }
    match mark.and_then(TempoMark::pace) {
        Some(Pace::Slow) => (
            CountIn::Halved,
            format!("{} is slow enough to count every quarter", words(mark)),
        ),
        _ if cut => (CountIn::Written, "¢ asks for two beats in a bar".to_owned()),
        _ => (CountIn::Written, "the written beat".to_owned()),
    }
}

fn asymmetric(part: &MetrePart, mark: Option<&TempoMark>) -> (CountIn, String) {
    if part.beat_type < 8 {
        let fast = written_speed(part, mark).is_some_and(|speed| speed >= 208.0);
        let count_in = if fast { CountIn::Groups } else { CountIn::Written };
        return (
            count_in,
            "the written beat, leaning on the start of each group".to_owned(),
        );
    }
    if let Some(speed) = written_speed(part, mark) {
        let single = printed_beat(part, mark) == Some(Rational::ONE);
        let written = speed <= if single { PAIR } else { GROUP_COMPOUND };
        let count_in = if written {
            CountIn::Written
        } else {
            CountIn::Groups
        };
        return (count_in, format!("by the mark {}", printed(mark)));
    }
    match mark.and_then(TempoMark::pace) {
        Some(Pace::Slow) => (
            CountIn::Written,
            format!("{} is slow enough to count every written beat", words(mark)),
        ),
        _ => (CountIn::Groups, "unequal beats, by the groups".to_owned()),
    }
}

/// "In 2", "alla breve": the way of counting that gives so many beats.
fn by_count(
    metre: &Metre,
    part: &MetrePart,
    grouping: Option<&Grouping>,
    count: u16,
) -> Option<(CountIn, String)> {
    let options = [
        CountIn::Written,
        CountIn::Dotted,
        CountIn::Pairs,
        CountIn::One,
        CountIn::Halved,
        CountIn::Groups,
    ];
    let fits = |count_in: &CountIn| {
        let allowed = match count_in {
            CountIn::Dotted => part.beats().is_multiple_of(3) && part.beats() > 3,
            CountIn::Pairs => part.beats().is_multiple_of(2) && part.beats() > 2,
            CountIn::One => part.beats() <= 4,
            CountIn::Groups => is_uneven(part) || part.groups.len() > 1,
            CountIn::Written | CountIn::Halved => true,
        };
        allowed && lengths(metre, grouping, *count_in).len() == usize::from(count)
    };
    options
        .into_iter()
        .find(fits)
        .map(|count_in| (count_in, format!("the words ask for {count} in a bar")))
}

fn feel(metre: &Metre, grouping: Option<&Grouping>, count_in: CountIn, why: &str) -> Feel {
    let beats = lengths(metre, grouping, count_in);
    let shortest = beats
        .iter()
        .map(|(length, _)| *length)
        .min()
        .unwrap_or(Rational::ONE);
    let unit = BeatUnit::of_quarters(shortest).unwrap_or(BeatUnit::QUARTER);
    Feel {
        count_in,
        unit,
        beats,
        why: why.to_owned(),
    }
}

/// The beats of a full bar: length in quarter notes and division.
pub(super) fn lengths(metre: &Metre, grouping: Option<&Grouping>, count_in: CountIn) -> Vec<(Quarters, u8)> {
    let Some(part) = single(metre) else {
        return mixed(metre);
    };
    let unit = Rational::new(4, i64::from(part.beat_type));
    let beats = part.beats().min(256);
    let even = |count: u16, length: Quarters, division: u8| vec![(length, division); usize::from(count)];
    match count_in {
        CountIn::Written => even(beats, unit, 2),
        CountIn::Dotted => even(beats / 3, unit * Rational::whole(3), 3),
        CountIn::Pairs => even(beats / 2, unit * Rational::whole(2), 2),
        CountIn::One => even(
            1,
            unit * Rational::whole(i64::from(beats)),
            if beats % 3 == 0 { 3 } else { 2 },
        ),
        CountIn::Halved => even(beats * 2, unit / Rational::whole(2), 2),
        CountIn::Groups => {
            let groups = grouping.map_or_else(|| part.groups.clone(), |grouping| grouping.groups.clone());
            grouped(&groups, unit)
        }
    }
}

fn grouped(groups: &[u16], unit: Quarters) -> Vec<(Quarters, u8)> {
    let beat = |group: &u16| {
        let length = unit * Rational::whole(i64::from(*group));
        (length, if group.is_multiple_of(3) { 3 } else { 2 })
    };
    groups.iter().filter(|group| **group > 0).map(beat).collect()
}

/// Fractions one after the other: quarters stay quarters, eighths fall into twos and threes.
fn mixed(metre: &Metre) -> Vec<(Quarters, u8)> {
    let mut beats = Vec::new();
    for part in &metre.parts {
        let unit = Rational::new(4, i64::from(part.beat_type));
        if part.beat_type < 8 {
            beats.extend(vec![(unit, 2); usize::from(part.beats().min(256))]);
        } else if part.groups.len() > 1 {
            beats.extend(grouped(&part.groups, unit));
        } else {
            let threes = part.beats() / 3;
            beats.extend(match part.beats() % 3 {
                _ if part.beats() > 256 => Vec::new(),
                0 => grouped(&vec![3; usize::from(threes)], unit),
                2 => grouped(&[vec![3; usize::from(threes)], vec![2]].concat(), unit),
                _ if part.beats() >= 4 => {
                    grouped(&[vec![2, 2], vec![3; usize::from(threes - 1)]].concat(), unit)
                }
                _ => grouped(&[1], unit),
            });
        }
    }
    beats
}

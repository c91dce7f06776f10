//! How slowly is it read the first time? A tempo from the beat, the fastest common subdivision and the hardest bar.
//!
//! Nothing published says how many notes a second a player of a level can read, so the rule is built from what is:
//! - The eyes run about one second ahead of the hands whatever the skill, 1.3 s at slow tempo, and hold about two
//!   notes (amateurs) to four (professionals). Source: Furneaux & Land 1999, Proc. R. Soc. B 266, 2435-2440.
//!   Two notes a second to a beat of two notes gives ♩ = 60 for running eighths, a slower hold ♩ = 50: the
//!   common practice of a first reading at 50 to 60.
//! - More notes to a beat are read in larger groups, up to a beat or so at a glance. Source: Truitt et al. 1997,
//!   Visual Cognition 4, 143 (eye–hand span a little more than one beat). The rate grows with the square root of the
//!   group, and no further than three a second, half way from the amateur's two to the professional's four: ours.
//! - The hardest bar is read at no more than three items a second (its notes, accidentals, leaps, rhythmic surprises),
//!   but is never let to slow the rest below three quarters of it: ours.
//! - The tongue is left at two fifths of its top speed, so that attention stays on the page: ours. Its top is the
//!   player's own number, or a student's by default: sixteenths at ♩ = 100, 6.7 a second (from memory; single
//!   reports of 6.7 to 8.4 a second among amateurs).
//! - Never faster than the marked tempo.

use super::TempoOptions;
use super::demand::{BarDemand, Demand};
use crate::Context;
use crate::metre::{BeatUnit, CountIn, MetreKind, MetreStretch, value_names};
use instruments::Family;
use notation::{Quarters, Rational};
use terms::tempo::METRONOME_MARKS;

/// Notes a second that an amateur's eyes keep ahead, in groups of two.
const NOTES_A_SECOND: f64 = 2.0;
/// The most notes a second, in groups as large as they may be.
const MOST_A_SECOND: f64 = 3.0;
/// Reading items a second in the hardest bar.
const ITEMS_A_SECOND: f64 = 3.0;
/// The slow end of the range, over the fast one: a second against 1.2 s of span.
const SLOW_END: f64 = 5.0 / 6.0;
/// How far the hardest bar can pull the slow end down.
const SLOWEST_END: f64 = 0.75;
/// The share of the tongue's top speed that a first reading uses.
const TONGUE_SHARE: f64 = 0.4;
/// A student's single tongue, in notes a second: sixteenths at ♩ = 100.
pub(super) const STUDENT_TONGUE: f64 = 100.0 * 4.0 / 60.0;

/// What a first reading's tempo depends on most.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum LimitedBy {
    /// How many notes a second can be read.
    Reading,
    /// How fast the player's tongue is.
    Tongue,
    /// The marked tempo is slow enough to read at.
    Marking,
}

/// A slow tempo for the first reading.
#[derive(Clone, PartialEq, Debug)]
pub struct FirstReading {
    /// The note that is counted.
    pub beat: BeatUnit,
    /// Slow end, in such notes a minute: for the hardest bars.
    pub low: u16,
    /// Fast end.
    pub high: u16,
    /// A smaller note to set the metronome to, where the beat is too slow or too large to follow: note, low, high.
    pub click: Option<(BeatUnit, u16, u16)>,
    /// What decides.
    pub limited_by: LimitedBy,
    /// The hardest bar and what it asks.
    pub hardest: Option<BarDemand>,
    /// Notes to the beat that the piece asks for most.
    pub notes_to_beat: u32,
    /// Why, sentences.
    pub reason: String,
    /// What the tempo was taken from, for whoever knows the player and can say more.
    pub asked: Asked,
}

/// What the page asks of any reader.
#[derive(Clone, PartialEq, Debug)]
pub struct Asked {
    /// The beat on which it is read.
    pub on: ReadingBeat,
    /// The shortest length that at least a fifth of the bars hold, in quarter notes.
    pub length: Quarters,
    /// Most notes to a group that at least a fifth of the bars reach.
    pub notes: u32,
    /// The same for tongued notes.
    pub tongued: u32,
    /// The slowest reading of the marked tempo in quarter notes a minute, and the mark; `None` if nothing is marked.
    pub marked: Option<(f64, String)>,
}

/// The beat that is read on, as one group, and the note that the metronome clicks.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct ReadingBeat {
    /// What is read as a group, in quarter notes.
    pub group: Quarters,
    /// What is shown as the beat.
    pub beat: BeatUnit,
    /// What is clicked, where that differs.
    pub click: Option<BeatUnit>,
}

/// Settings of a metronome for a range of tempi.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct MetronomeRange {
    /// Slow end, in beats a minute.
    pub low: u16,
    /// Fast end.
    pub high: u16,
    /// A smaller note to click where the beat is too slow or too large to follow: note, low, high.
    pub click: Option<(BeatUnit, u16, u16)>,
}

impl ReadingBeat {
    /// A range of tempi in quarter notes a minute on the marks of the metronome, no end faster than asked for.
    #[must_use]
    pub fn on_metronome(self, slow: f64, fast: f64) -> MetronomeRange {
        let group = self.group.to_f64().max(f64::MIN_POSITIVE);
        let (low, high, click) = settings(self, slow / group, fast / group);
        MetronomeRange { low, high, click }
    }
}

/// On which beat a metre is read first: ♩ in simple metres and in ¢, the dotted beat clicked in eighths in 6/8.
pub(super) fn reading_beat(stretch: Option<&MetreStretch>) -> ReadingBeat {
    let quarter = ReadingBeat {
        group: Rational::ONE,
        beat: BeatUnit::QUARTER,
        click: None,
    };
    let Some(stretch) = stretch else { return quarter };
    let Some(written) = (stretch.beat_type > 0).then(|| Rational::new(4, i64::from(stretch.beat_type)))
    else {
        return quarter;
    };
    let small = stretch.beat_type >= 8;
    let Some(unit) = BeatUnit::of_quarters(written) else {
        return quarter;
    };
    let dotted = written * Rational::whole(3);
    let threes = stretch.kind == MetreKind::Compound || small && stretch.beats == 3;
    match BeatUnit::of_quarters(dotted).filter(|_| threes) {
        Some(_) if stretch.feel().count_in == CountIn::Written => ReadingBeat {
            group: dotted,
            beat: unit,
            click: None,
        },
        Some(beat) => ReadingBeat {
            group: dotted,
            beat,
            click: Some(unit),
        },
        None if stretch.kind == MetreKind::Asymmetric && small => ReadingBeat {
            group: written * Rational::whole(2),
            beat: unit,
            click: None,
        },
        None if small => ReadingBeat {
            group: written,
            beat: unit,
            click: None,
        },
        None => quarter,
    }
}

/// Proposes a tempo for the first reading; `marked` is the marked speed in quarter notes a minute that it may not pass.
pub(super) fn first_reading(
    ctx: &Context,
    demand: &Demand,
    on: ReadingBeat,
    marked: Option<(f64, String)>,
    family: Option<Family>,
    options: &TempoOptions,
) -> Option<FirstReading> {
    let hardest = demand.hardest()?;
    let length = demand.common_length?;
    // Between the notes that a beat holds and the finest place on which one stands: a dotted rhythm is read as fast
    // as its notes come, but placed on the grid of its short one.
    let group = on.group.to_f64();
    let notes = f64::from(demand.common_notes.max(1));
    let grid = (group / length.to_f64()).max(1.0);
    let asked = (notes * grid).sqrt().max(1.0);
    let rate = (NOTES_A_SECOND * (asked / 2.0).sqrt()).min(MOST_A_SECOND);
    let mut fast = 60.0 * rate / asked;
    let mut limited_by = LimitedBy::Reading;
    let tongue = tongue_speed(family, options);
    if let Some(tongue) = tongue.filter(|_| demand.common_tongued > 0) {
        let limit = 60.0 * TONGUE_SHARE * tongue / f64::from(demand.common_tongued);
        if limit < fast {
            (fast, limited_by) = (limit, LimitedBy::Tongue);
        }
    }
    if let Some((marked, _)) = &marked
        && marked / group <= fast
    {
        (fast, limited_by) = (marked / group, LimitedBy::Marking);
    }
    let slow = (60.0 * ITEMS_A_SECOND / hardest.items_per_beat).clamp(SLOWEST_END * fast, SLOW_END * fast);
    let (low, high, click) = settings(on, slow, fast);
    let mut found = FirstReading {
        beat: on.beat,
        low,
        high,
        click,
        limited_by,
        hardest: Some(*hardest),
        notes_to_beat: demand.common_notes,
        reason: String::new(),
        asked: Asked {
            on,
            length,
            notes: demand.common_notes,
            tongued: demand.common_tongued,
            marked: marked.clone(),
        },
    };
    found.reason = reason(ctx, &found, on, length, tongue, marked.map(|(_, text)| text));
    Some(found)
}

/// The player's top single-tongue speed in notes a second: her own, or a student's where a tongue is used.
pub(super) fn tongue_speed(family: Option<Family>, options: &TempoOptions) -> Option<f64> {
    let own = options
        .tongue_per_second
        .filter(|speed| speed.is_finite() && *speed > 0.0);
    own.or_else(|| family.is_some_and(Family::is_wind).then_some(STUDENT_TONGUE))
}

/// The fastest click that is easy to play against: beyond it the beat itself is clicked. Ours.
const FASTEST_CLICK: f64 = 160.0;
/// The slowest that is easy to keep: below it a smaller note is clicked. The series of the metronome starts there.
const SLOWEST_CLICK: f64 = 40.0;

/// Metronome settings for a range given in groups a minute: low, high, and a click where it helps.
fn settings(on: ReadingBeat, slow: f64, fast: f64) -> (u16, u16, Option<(BeatUnit, u16, u16)>) {
    let to_beat = (on.group / on.beat.quarters()).to_f64();
    let (slow, fast) = (slow * to_beat, fast * to_beat);
    let each = on.click.map_or(1, |unit| thirds(on.beat, unit));
    if each > 1 && fast * f64::from(each) > FASTEST_CLICK || each == 1 && slow >= SLOWEST_CLICK {
        return (mark_below(slow, 1), mark_below(fast, 1), None);
    }
    // The click of the metre, or halves of the beat, halved again until a metronome goes so slowly.
    let mut times = if each > 1 { each } else { 2 };
    while slow * f64::from(times) < SLOWEST_CLICK && times < 8 {
        times *= 2;
    }
    let unit = BeatUnit::of_quarters(on.beat.quarters() / Rational::whole(i64::from(times)));
    let (low, high) = (
        mark_below(slow * f64::from(times), times),
        mark_below(fast * f64::from(times), times),
    );
    (low / times, high / times, unit.map(|unit| (unit, low, high)))
}

/// How many of a note make up a beat: three for a dotted beat's own division.
fn thirds(beat: BeatUnit, unit: BeatUnit) -> u16 {
    let times = (beat.quarters() / unit.quarters()).floor();
    u16::try_from(times.clamp(1, 12)).unwrap_or(1)
}

/// The fastest metronome mark no faster than a speed that `times` divides; below the series, evenly down to 20.
fn mark_below(speed: f64, times: u16) -> u16 {
    let fits = |mark: &u16| mark.is_multiple_of(times.max(1)) && f64::from(*mark) <= speed + 1e-9;
    let slower = (20..40)
        .step_by(2)
        .filter(|mark: &u16| mark.is_multiple_of(times.max(1)));
    let mut best = slower.clone().next().unwrap_or(20);
    for mark in slower.chain(METRONOME_MARKS).filter(fits) {
        best = mark;
    }
    best
}

fn reason(
    ctx: &Context,
    found: &FirstReading,
    on: ReadingBeat,
    length: Quarters,
    tongue: Option<f64>,
    marked: Option<String>,
) -> String {
    let value = BeatUnit::of_quarters(length).map(|unit| match unit.dots {
        0 => value_names(unit.value),
        _ => format!("{}s", unit.name()),
    });
    let value = value.unwrap_or_else(|| "tuplet notes".to_owned());
    let notes = found.notes_to_beat.max(1);

    let group = BeatUnit::of_quarters(on.group).map_or_else(|| "beat".to_owned(), BeatUnit::name);
    let mut says = vec![if notes == 1 {
        format!("Mostly one note to a {group}, placed on {value}.")
    } else {
        format!("The fastest common notes are {value}, up to {notes} to a {group}.")
    }];
    match found.limited_by {
        LimitedBy::Reading => says.push(
            "Eyes run about a second ahead and hold two to four notes (Furneaux & Land 1999): read no faster than that."
                .to_owned(),
        ),
        LimitedBy::Tongue => says.push(format!(
            "A tongue of {:.1} notes a second is kept at two fifths of its speed, so that attention stays on reading.",
            tongue.unwrap_or(STUDENT_TONGUE)
        )),
        LimitedBy::Marking => says.push(format!(
            "{} is slow enough to read at; start no faster.",
            marked.unwrap_or_else(|| "The marked tempo".to_owned())
        )),
    }
    if let Some(hardest) = found.hardest {
        let label = ctx.label(hardest.bar);
        says.push(format!(
            "Bar {label} asks most ({}): {} = {} there.",
            asks(&hardest),
            found.beat.sign(),
            found.low
        ));
    }
    says.join(" ")
}

fn asks(bar: &BarDemand) -> String {
    let some = |count: u32, one: &str| match count {
        0 => None,
        1 => Some(format!("1 {one}")),
        n => Some(format!("{n} {one}s")),
    };
    let parts = [
        some(bar.notes, "note"),
        some(bar.accidentals, "accidental"),
        some(bar.leaps, "wide leap"),
        (bar.rhythm > 0).then(|| "rests or syncopation".to_owned()),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

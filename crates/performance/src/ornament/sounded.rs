//! How long is each note of an ornament? The sign's notes laid into the time of the written note, by a named rule.
//!
//! The lengths add up to the written note's, exactly. How fast a trill goes is judgement: so many notes a second that
//! a student's fingers can follow. Moore (1992, from memory) measured 10 to 14 in fast piano trills.

use super::period::{Begin, Choice, Period};
use super::realise::OrnamentNotes;
use notation::{OrnamentKind, Pitch, Quarters, Rational};

/// Notes a second of a trill where nobody has said otherwise. Judgement: a good student's trill.
const TRILL_RATE: i64 = 9;
/// Past this many notes a second even four notes are too many, and three are played. Source: Moore 1992, from memory.
const FASTEST: i64 = 14;
/// Most units of one trill; a note under a long fermata needs no more.
const MOST_UNITS: i64 = 512;
/// The longest that a quick small note lasts, in seconds. Judgement.
const QUICK: (i64, i64) = (11, 100);
/// Turns on notes up to this many seconds are four equal notes. Judgement, after Gehrkens §69 ("short/fast").
const SHORT_TURN: (i64, i64) = (6, 10);

/// What stands around the ornamented note: the rules ask for it.
#[derive(Clone, PartialEq, Debug)]
pub struct Setting {
    /// The time to fill, in quarter notes.
    pub length: Quarters,
    /// The undotted value and its dots, of a note that is not tied on.
    pub dotted: Option<(Quarters, u8)>,
    /// Speed, in quarter notes a minute.
    pub speed: Rational,
    /// The note before, if it leads straight to this one.
    pub before: Option<Before>,
    /// The note after, if it follows at once; `None` before a rest or the end.
    pub after: Option<After>,
    /// Small notes printed at the end of the ornament (a termination).
    pub printed_end: Vec<Pitch>,
    /// A small note before it shows the upper note.
    pub upper_printed: bool,
    /// The note fills a bar of 3/4 or half a bar of 6/8.
    pub fills_its_bar: bool,
}

/// The note before an ornament.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Before {
    /// Its pitch.
    pub pitch: Pitch,
    /// Its length in quarter notes.
    pub length: Quarters,
    /// A slur leads from it to the ornament.
    pub slurred: bool,
    /// It is staccato.
    pub staccato: bool,
}

/// The note after an ornament.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct After {
    /// Its pitch.
    pub pitch: Pitch,
    /// Its length in quarter notes.
    pub length: Quarters,
    /// It falls on a beat.
    pub accented: bool,
    /// Another note as short follows it.
    pub two: bool,
}

/// An ornament as it sounds.
#[derive(Clone, PartialEq, Debug)]
pub struct Sounded {
    /// Pitches as written with their lengths in quarter notes; they add up to the written note.
    pub notes: Vec<(Pitch, Quarters)>,
    /// The first note is tied to the same note before it.
    pub tied_over: bool,
    /// The rule, a clause with its source.
    pub rule: &'static str,
}

impl Sounded {
    fn plain(main: Pitch, length: Quarters, rule: &'static str) -> Self {
        Self {
            notes: vec![(main, length)],
            tied_over: false,
            rule,
        }
    }
}

/// An ornament's notes in time.
#[must_use]
pub fn sounded(
    kind: &OrnamentKind,
    main: Pitch,
    notes: &OrnamentNotes,
    setting: &Setting,
    period: Period,
    choice: &Choice,
) -> Sounded {
    let period = choice.period.unwrap_or(period);
    let upper = choice.upper.or(notes.upper.as_ref().map(|n| n.pitch));
    let lower = choice.lower.or(notes.lower.as_ref().map(|n| n.pitch));
    let length = setting.length;
    if choice.plain || !length.is_positive() || length.is_overflow() {
        return Sounded::plain(main, length, "left away, as chosen");
    }
    match kind {
        OrnamentKind::Trill | OrnamentKind::Shake | OrnamentKind::WavyLine => match upper {
            Some(upper) => trill(
                main,
                upper,
                lower.unwrap_or_else(|| below(main, setting)),
                setting,
                period,
                choice,
            ),
            None => Sounded::plain(main, length, "no note above was found"),
        },
        OrnamentKind::InvertedMordent { long } => match upper {
            Some(upper) => short_wavy(main, upper, *long, setting, period, choice),
            None => Sounded::plain(main, length, "no note above was found"),
        },
        OrnamentKind::Turn
        | OrnamentKind::VerticalTurn
        | OrnamentKind::Haydn
        | OrnamentKind::DelayedTurn
        | OrnamentKind::InvertedTurn
        | OrnamentKind::InvertedVerticalTurn
        | OrnamentKind::DelayedInvertedTurn => match (upper, lower) {
            (Some(upper), Some(lower)) => turn(kind, main, upper, lower, setting, period),
            _ => Sounded::plain(main, length, "a note beside it was not found"),
        },
        OrnamentKind::Mordent { .. } | OrnamentKind::Schleifer if notes.notes.len() > 1 => {
            let mut figure = notes.notes.clone();
            if let (Some(chosen), Some(found)) = (choice.lower, notes.lower.as_ref()) {
                for note in figure.iter_mut().filter(|note| **note == found.pitch) {
                    *note = chosen;
                }
            }
            let rule = if *kind == OrnamentKind::Schleifer {
                "the slide: two quick notes from below, on the beat (common practice)"
            } else {
                "the mordent: main, lower, main, quick and on the beat (J.S. Bach's table of 1720, from memory)"
            };
            quick(&figure, setting, rule)
        }
        OrnamentKind::Tremolo {
            strokes,
            between: false,
        } => tremolo(main, *strokes, setting, choice),
        _ => Sounded::plain(main, length, "not an ornament of known notes: the plain note"),
    }
}

/// A lower neighbour for a termination where the sign names none: a step of the letter below, a semitone or tone away.
/// Source: Grove, vol. 3, p. 482: the termination is the lower neighbour and the main note. The interval: the diatonic
/// step is taken by the caller's signature where it has one; without it a whole tone (common practice).
fn below(main: Pitch, setting: &Setting) -> Pitch {
    setting
        .printed_end
        .first()
        .copied()
        .unwrap_or_else(|| main.transposed(-1, Rational::whole(-2)))
}

/// Seconds that a length lasts at the setting's speed.
fn seconds(length: Quarters, setting: &Setting) -> Rational {
    if setting.speed.is_positive() {
        length * Rational::whole(60) / setting.speed
    } else {
        Rational::whole(1)
    }
}

/// The largest binary fraction of a quarter note that lasts no longer than so many seconds.
pub(crate) fn quick_value(speed: Rational, at_most: Rational) -> Quarters {
    let limit = at_most * speed / Rational::whole(60);
    let mut value = Rational::ONE;
    while value > limit && value.den() < 256 {
        value = value * Rational::new(1, 2);
    }
    value
}

/// Into how many equal units a trill falls: 4, 8, 16 … or 6, 12, 24 … for a dotted note, as many as the speed allows.
fn units(setting: &Setting, choice: &Choice) -> i64 {
    let seconds = seconds(setting.length, setting);
    let rate = choice
        .notes_a_second
        .filter(|rate| rate.is_positive())
        .unwrap_or(Rational::whole(TRILL_RATE));
    if Rational::whole(4) > seconds * Rational::whole(FASTEST) && choice.notes_a_second.is_none() {
        return 3;
    }
    let mut count = if setting.length.num() % 3 == 0 { 6 } else { 4 };
    if count == 6 && Rational::whole(6) > seconds * rate {
        count = 4;
    }
    while count * 2 <= MOST_UNITS && Rational::whole(count * 2) <= seconds * rate {
        count *= 2;
    }
    count
}

fn trill(
    main: Pitch,
    upper: Pitch,
    lower: Pitch,
    setting: &Setting,
    period: Period,
    choice: &Choice,
) -> Sounded {
    let (from, tied_over, rule) = start(main, upper, setting, period, choice);
    let count = units(setting, choice);
    let unit = setting.length / Rational::whole(count);
    let long = |units: i64| unit * Rational::whole(units);
    if count == 3 {
        return Sounded {
            notes: vec![(main, unit), (upper, unit), (main, unit)],
            tied_over: false,
            rule: "too quick for a full trill: main, upper, main (Grove, vol. 3, p. 481)",
        };
    }
    let end: Vec<Pitch> = if !setting.printed_end.is_empty() {
        setting.printed_end.clone()
    } else if ends_by_rule(main, setting, period, choice, count) {
        vec![lower, main]
    } else {
        Vec::new()
    };
    let ending = i64::try_from(end.len()).unwrap_or(0).min(count - 2);
    let body = count - ending;
    let mut notes: Vec<(Pitch, Quarters)> = Vec::new();
    let (first, second) = match from {
        Begin::Upper => (upper, main),
        Begin::Main => (main, upper),
    };
    let alternate = |notes: &mut Vec<(Pitch, Quarters)>, singles: i64| {
        for n in 0..singles {
            notes.push((if n % 2 == 0 { first } else { second }, unit));
        }
    };
    match (from, ending > 0, body % 2 == 0) {
        (Begin::Upper, true, true) => alternate(&mut notes, body),
        (Begin::Upper, false, true) if body >= 6 => {
            // It usually comes to rest on the main note (Palmer).
            alternate(&mut notes, body - 3);
            notes.push((main, long(3)));
        }
        (Begin::Upper, _, true) => alternate(&mut notes, body),
        (Begin::Upper, _, false) => {
            alternate(&mut notes, body - 2);
            notes.push((main, long(2)));
        }
        (Begin::Main, true, true) => {
            alternate(&mut notes, body - 2);
            // The extra main note before the termination comes as a triplet: Grove, vol. 3, Ex. 19 and 20.
            let third = long(2) * Rational::new(1, 3);
            notes.extend([(main, third), (upper, third), (main, third)]);
        }
        (Begin::Main, false, true) => {
            alternate(&mut notes, body - 2);
            notes.push((main, long(2)));
        }
        (Begin::Main, _, false) => alternate(&mut notes, body),
    }
    notes.extend(
        end.iter()
            .take(usize::try_from(ending).unwrap_or(0))
            .map(|pitch| (*pitch, unit)),
    );
    Sounded {
        notes,
        tied_over,
        rule,
    }
}

/// Where a trill begins, whether its first note is tied over, and by which rule.
fn start(
    main: Pitch,
    upper: Pitch,
    setting: &Setting,
    period: Period,
    choice: &Choice,
) -> (Begin, bool, &'static str) {
    if let Some(from) = choice.from {
        return (from, false, "begins as chosen");
    }
    let before = setting.before;
    match period {
        Period::Modern if setting.upper_printed => (
            Begin::Upper,
            false,
            "from the upper note, which a small note before it shows (Grove, vol. 3)",
        ),
        Period::Modern => (
            Begin::Main,
            false,
            "from the main note, as in later music (Hummel 1828, after Grove, vol. 3)",
        ),
        _ if before.is_some_and(|before| before.slurred && before.pitch == upper) => (
            Begin::Upper,
            true,
            "bound trill: the slurred upper note before it is tied over (Grove, vol. 3, p. 481)",
        ),
        Period::Classical if before.is_some_and(|before| before.staccato && before.pitch == main) => (
            Begin::Main,
            false,
            "from the main note, after the same note staccato (Grove, vol. 3, p. 481)",
        ),
        Period::Classical
            if before.is_some_and(|before| before.pitch == upper && before.length <= Rational::ONE) =>
        {
            (
                Begin::Main,
                false,
                "from the main note, after a quick note one degree above (Grove, vol. 3, p. 481)",
            )
        }
        _ => (
            Begin::Upper,
            false,
            "from the upper note, on the beat (C.P.E. Bach 1753, after Palmer)",
        ),
    }
}

/// Whether lower and main note end a trill that has no printed termination.
///
/// Source: Grove, vol. 3, p. 482: added before an accented note even when unmarked, usually before a rest; none before
/// an unaccented note or on a very short one. Palmer (Bach): a long trill often takes one. Later music prints it
/// (common practice).
fn ends_by_rule(main: Pitch, setting: &Setting, period: Period, choice: &Choice, count: i64) -> bool {
    if let Some(chosen) = choice.termination {
        return chosen && count >= 4;
    }
    match (period, setting.after) {
        (Period::Modern, _) => false,
        (_, _) if count < 8 => false,
        (Period::Classical, None) => true,
        (Period::Classical, Some(after)) => after.accented,
        (Period::Baroque, Some(after)) => {
            let step = (after.pitch.diatonic() - main.diatonic()).abs();
            after.accented && step <= 1 && setting.length >= Rational::ONE
        }
        (Period::Baroque, None) => false,
    }
}

fn short_wavy(
    main: Pitch,
    upper: Pitch,
    long: bool,
    setting: &Setting,
    period: Period,
    choice: &Choice,
) -> Sounded {
    let from = choice.from.unwrap_or(match period {
        Period::Modern => Begin::Main,
        Period::Baroque | Period::Classical => Begin::Upper,
    });
    let (mut figure, rule) = match from {
        Begin::Main => (
            vec![main, upper, main],
            "main, upper, main (since about 1800: Gehrkens §68-69)",
        ),
        Begin::Upper => (
            vec![upper, main, upper, main],
            "a short trill from above, at least four notes (J.S. Bach 1720, after Palmer)",
        ),
    };
    if long {
        figure.extend([upper, main]);
    }
    quick(&figure, setting, rule)
}

/// All but the last note quick; the last rests. Where that would take more than half of the note, all are equal.
fn quick(figure: &[Pitch], setting: &Setting, rule: &'static str) -> Sounded {
    let length = setting.length;
    let count = Rational::whole(i64::try_from(figure.len()).unwrap_or(1).max(1));
    let before_last = count - Rational::ONE;
    let mut unit = quick_value(setting.speed, Rational::new(QUICK.0, QUICK.1));
    if unit * before_last * Rational::whole(2) > length {
        unit = length / count;
    }
    let last = length - unit * before_last;
    let mut notes: Vec<(Pitch, Quarters)> = figure.iter().map(|pitch| (*pitch, unit)).collect();
    if let Some(note) = notes.last_mut() {
        note.1 = last;
    }
    Sounded {
        notes,
        tied_over: false,
        rule,
    }
}

fn turn(
    kind: &OrnamentKind,
    main: Pitch,
    upper: Pitch,
    lower: Pitch,
    setting: &Setting,
    period: Period,
) -> Sounded {
    let inverted = matches!(
        kind,
        OrnamentKind::InvertedTurn | OrnamentKind::InvertedVerticalTurn | OrnamentKind::DelayedInvertedTurn
    );
    let figure = if inverted {
        [lower, main, upper, main]
    } else {
        [upper, main, lower, main]
    };
    let delayed = matches!(
        kind,
        OrnamentKind::DelayedTurn | OrnamentKind::DelayedInvertedTurn
    );
    if delayed {
        return delayed_turn(main, figure, setting);
    }
    let length = setting.length;
    if seconds(length, setting) <= Rational::new(SHORT_TURN.0, SHORT_TURN.1) {
        let unit = length * Rational::new(1, 4);
        return Sounded {
            notes: figure.map(|pitch| (pitch, unit)).to_vec(),
            tied_over: false,
            rule: "the turn: four equal notes on a short note (Gehrkens §69)",
        };
    }
    let from_below = |before: Before| before.pitch.diatonic() == main.diatonic() - 1;
    let five = !inverted
        && period != Period::Modern
        && setting
            .before
            .is_some_and(|before| before.staccato || from_below(before));
    if five {
        let figure = [main, upper, main, lower, main];
        return quick(
            &figure,
            setting,
            "five notes, the main note first, after a staccato note or one a step lower (Grove, vol. 4, geschnellter Doppelschlag)",
        );
    }
    quick(
        &figure,
        setting,
        "the turn: quick, then the fourth note held (Gehrkens §69)",
    )
}

/// A turn after the note.
///
/// Source: Gehrkens §70 (main note for nearly its whole value, then four equal notes); Grove, vol. 4, "Turn" (on a
/// dotted note followed by half its length the last note of the turn takes the place of the dot, on a double-dotted
/// one that of the first dot; not before two short notes, nor where the note fills a bar of 3/4 or half of 6/8).
fn delayed_turn(main: Pitch, figure: [Pitch; 4], setting: &Setting) -> Sounded {
    let [first, second, third, fourth] = figure;
    let length = setting.length;
    if let Some((base, dots)) = setting.dotted
        && dots > 0
    {
        let completes = setting.after.is_some_and(|after| match dots {
            1 => after.length + after.length == base && !after.two,
            _ => true,
        });
        if completes && !setting.fills_its_bar {
            let half = base * Rational::new(1, 2);
            let sixth = base * Rational::new(1, 6);
            return Sounded {
                notes: vec![
                    (main, half),
                    (first, sixth),
                    (second, sixth),
                    (third, sixth),
                    (fourth, length - base),
                ],
                tied_over: false,
                rule: "the last note of the turn takes the place of the dot (Grove, vol. 4, Turn)",
            };
        }
    }
    let mut unit = quick_value(setting.speed, Rational::new(2 * QUICK.0, QUICK.1));
    if unit * Rational::whole(8) > length {
        unit = length * Rational::new(1, 8);
    }
    let mut notes = vec![(main, length - unit * Rational::whole(4))];
    notes.extend(figure.map(|pitch| (pitch, unit)));
    Sounded {
        notes,
        tied_over: false,
        rule: "the main note nearly to its end, then four equal notes (Gehrkens §70)",
    }
}

/// Each stroke halves; the flags of the note count too. Source: common practice.
fn tremolo(main: Pitch, strokes: u8, setting: &Setting, choice: &Choice) -> Sounded {
    let unit = tremolo_unit(strokes, setting, choice);
    let count = (setting.length / unit).floor().clamp(1, MOST_UNITS);
    let unit = setting.length / Rational::whole(count);
    Sounded {
        notes: (0..count).map(|_| (main, unit)).collect(),
        tied_over: false,
        rule: "each stroke halves the note's value (common practice)",
    }
}

/// The note value of a measured tremolo, no faster than can be heard apart.
pub(crate) fn tremolo_unit(strokes: u8, setting: &Setting, choice: &Choice) -> Quarters {
    let mut unit = Rational::ONE;
    let base = setting.dotted.map_or(setting.length, |(base, _)| base);
    while unit > base && unit.den() < 256 {
        unit = unit * Rational::new(1, 2);
    }
    for _ in 0..strokes.min(5) {
        unit = unit * Rational::new(1, 2);
    }
    let rate = choice.notes_a_second.unwrap_or(Rational::whole(2 * TRILL_RATE));
    let doubled = |unit: Rational| unit + unit;
    while seconds(unit, setting) * rate < Rational::ONE && doubled(unit) <= setting.length {
        unit = doubled(unit);
    }
    unit
}

//! How fast is it everywhere, and how long does it play? Speeds in written order, slowest and fastest reading.
//!
//! Words are read on the felt beat by the slowest and the fastest table, a metronome mark as printed. Changes of
//! speed count by modest default factors (in the terms tables, from memory): nobody's ritardando is a number.
//! Fermatas, breaths and free passages add nothing here; the answer says how many there are.

use super::marked::{Marked, TempoMark};
use crate::metre::{CountIn, Feel, MetreAnswer, MetreStretch};
use notation::{BarIndex, Piece, Place, Quarters, Rational};
use terms::tempo::{ChangeDirection, Onset, TempoChange};

/// A gradual change whose end is not marked is taken to end after so many bars. Common practice: a ritardando
/// belongs to the end of its phrase.
const GRADUAL_BARS: u32 = 4;

/// A speed from a place on, in quarter notes a minute.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Speed {
    /// From where, in written order.
    pub place: Place,
    /// The slowest reading.
    pub low: f64,
    /// The fastest reading.
    pub high: f64,
}

/// One change of tempo, in written order.
#[derive(Clone, PartialEq, Debug)]
pub struct Change {
    /// Where.
    pub place: Place,
    /// As printed: the words, or the metronome mark.
    pub text: String,
    /// What happens, a clause.
    pub says: String,
    /// Whether the speed goes up, down, back, stays, or is set anew (`None`).
    pub direction: Option<ChangeDirection>,
    /// True for a gradual change.
    pub gradual: bool,
    /// Where a gradual change ends: at the next mark, or by default.
    pub until: Option<Place>,
    /// The speed reached, slowest and fastest, in quarter notes a minute; `None` if none is known.
    pub quarters_a_minute: Option<(f64, f64)>,
}

/// Speeds and changes in written order.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Timeline {
    pub(super) speeds: Vec<Speed>,
    pub(super) changes: Vec<Change>,
    /// The first speed is only the source's playback tempo.
    pub(super) from_hint: bool,
}

/// The note that a tempo table's number counts: the felt beat, but the written one where a whole bar is felt as one.
/// Source: the tables state their beat; common practice for 6/8 and ¢.
pub(super) fn table_beat(stretch: &MetreStretch, feel: &Feel) -> Quarters {
    match (feel.count_in, stretch.metre.parts.as_slice()) {
        (CountIn::One, [part]) => Rational::new(4, i64::from(part.beat_type)),
        _ => feel.unit.quarters(),
    }
}

fn beat_at(metre: &MetreAnswer, bar: BarIndex) -> Quarters {
    let Some(stretch) = metre.at(bar) else {
        return Rational::ONE;
    };
    let feel = stretch
        .feels
        .iter()
        .rev()
        .find(|(from, _)| *from <= bar)
        .map_or_else(|| stretch.feel(), |(_, f)| f);
    table_beat(stretch, feel)
}

/// The speed that a mark sets, in quarter notes a minute.
pub(super) fn set_speed(mark: &TempoMark, metre: &MetreAnswer) -> Option<(f64, f64)> {
    if let Some(speed) = mark.quarters_a_minute() {
        return Some(speed);
    }
    // A mark late in a bar is read on the beat that it brings in.
    let bar = if mark.place.offset.is_zero() {
        mark.place.bar
    } else {
        mark.place.bar.next()
    };
    let beat = beat_at(metre, bar).to_f64();
    let (mut low, mut high) = (f64::INFINITY, 0.0_f64);
    for (slow, fast) in mark.spans() {
        low = low.min(slow);
        high = high.max(fast);
    }
    (high > 0.0 && low > 0.0).then_some((low * beat, high * beat))
}

/// What is in force while the marks are read.
struct State {
    now: Option<(f64, f64)>,
    /// What "a tempo" goes back to.
    base: Option<(f64, f64)>,
    /// What it goes back to after a change at once without a gradual one since.
    before: Option<(f64, f64)>,
    first: Option<(f64, f64)>,
}

pub(super) fn timeline(piece: &Piece, metre: &MetreAnswer, marked: &Marked) -> Timeline {
    let mut found = Timeline::default();
    let mut state = State {
        now: None,
        base: None,
        before: None,
        first: None,
    };
    let starts_marked = marked
        .marks
        .first()
        .is_some_and(|mark| mark.sets() && mark.place.bar == BarIndex(0));
    if let Some((_, speed)) = marked
        .hints
        .first()
        .filter(|(place, _)| !starts_marked && place.bar == BarIndex(0))
    {
        found.from_hint = true;
        set(&mut state, (*speed, *speed));
        found.speeds.push(Speed {
            place: Place::default(),
            low: *speed,
            high: *speed,
        });
    }
    for (at, mark) in marked.marks.iter().enumerate() {
        let next = marked.marks.get(at + 1).map(|mark| mark.place);
        read_mark(piece, metre, mark, next, &mut state, &mut found);
    }
    found
}

fn set(state: &mut State, speed: (f64, f64)) {
    state.now = Some(speed);
    state.base = Some(speed);
    state.before = None;
    state.first = state.first.or(Some(speed));
}

fn read_mark(
    piece: &Piece,
    metre: &MetreAnswer,
    mark: &TempoMark,
    next: Option<Place>,
    state: &mut State,
    found: &mut Timeline,
) {
    let text = mark_text(mark);
    if let Some(speed) = set_speed(mark, metre).filter(|_| mark.sets() || state.now.is_none()) {
        set(state, speed);
        push(found, mark.place, speed);
        found
            .changes
            .push(change(mark.place, &text, set_says(mark), None, state.now));
    }
    if let Some((old, new)) = mark.equals
        && let Some(speed) = state.base
    {
        let ratio = (new.quarters() / old.quarters()).to_f64();
        let speed = (speed.0 * ratio, speed.1 * ratio);
        set(state, speed);
        push(found, mark.place, speed);
        let says = format!("the {} is as long as the {} was", new.name(), old.name());
        found.changes.push(change(
            mark.place,
            &text,
            says,
            Some(ChangeDirection::Same),
            state.now,
        ));
    }
    for wanted in mark.changes.iter().filter(|_| !mark.sets()) {
        if wanted.onset == Onset::Gradual
            && matches!(
                wanted.direction,
                ChangeDirection::Slower | ChangeDirection::Faster
            )
        {
            gradual(piece, mark, wanted, next, state, found);
        } else {
            at_once(metre, mark, wanted, state, found);
        }
    }
}

fn push(found: &mut Timeline, place: Place, (low, high): (f64, f64)) {
    found.speeds.retain(|speed| speed.place < place);
    found.speeds.push(Speed { place, low, high });
}

fn gradual(
    piece: &Piece,
    mark: &TempoMark,
    wanted: &TempoChange,
    next: Option<Place>,
    state: &mut State,
    found: &mut Timeline,
) {
    let end = gradual_end(piece, mark.place, next);
    let reached = state
        .now
        .map(|(low, high)| (low * wanted.factor, high * wanted.factor));
    if let Some((low, high)) = state.now {
        // Over the change the mean of the speeds at its ends is played.
        let mean = f64::midpoint(1.0, wanted.factor);
        push(found, mark.place, (low * mean, high * mean));
        if next != Some(end)
            && let Some(base) = state.base
        {
            found.speeds.push(Speed {
                place: end,
                low: base.0,
                high: base.1,
            });
        }
    }
    if next == Some(end) {
        // What follows at the mark sets or restores a speed; another gradual change goes on from the one reached.
        state.now = reached;
    }
    state.before = None;
    found.changes.push(Change {
        until: Some(end),
        gradual: true,
        ..change(
            mark.place,
            mark.words.as_deref().unwrap_or_default(),
            wanted.meaning.clone(),
            Some(wanted.direction),
            reached,
        )
    });
}

/// At the next mark if one comes soon, at a double bar or the end, else after a few bars.
fn gradual_end(piece: &Piece, from: Place, next: Option<Place>) -> Place {
    let bars = u32::try_from(piece.bars.len()).unwrap_or(u32::MAX);
    let limit = Place::start_of(BarIndex(from.bar.0.saturating_add(GRADUAL_BARS).min(bars)));
    let first = piece.barlines.partition_point(|line| line.place < from);
    let section = piece
        .barlines
        .iter()
        .skip(first)
        .take_while(|line| line.place < limit)
        .find(|line| {
            line.style
                .as_deref()
                .is_some_and(|style| style.starts_with("light-"))
                && line.place > from
        });
    let mut end = section.map_or(limit, |line| Place::start_of(line.place.bar.next()).min(limit));
    if let Some(next) = next {
        // Dashes often carry a change past the default: the next mark within twice that distance ends it.
        let far = Place::start_of(BarIndex(from.bar.0.saturating_add(2 * GRADUAL_BARS)));
        if next <= far && section.is_none_or(|line| next.bar <= line.place.bar.next()) {
            end = next;
        }
    }
    end
}

fn at_once(
    metre: &MetreAnswer,
    mark: &TempoMark,
    wanted: &TempoChange,
    state: &mut State,
    found: &mut Timeline,
) {
    let speed = match wanted.direction {
        ChangeDirection::Slower | ChangeDirection::Faster => {
            state.before = state.base;
            let speed = state
                .base
                .map(|(low, high)| (low * wanted.factor, high * wanted.factor));
            state.base = speed.or(state.base);
            speed
        }
        ChangeDirection::Back if wanted.to_first => {
            state.before = None;
            state.base = state.first;
            state.first
        }
        ChangeDirection::Back => {
            state.base = state.before.take().or(state.base);
            state.base
        }
        ChangeDirection::Same => {
            // The same beat in a new metre: the beat keeps its speed, whatever note it is.
            let before = beat_at(metre, BarIndex(mark.place.bar.0.saturating_sub(1))).to_f64();
            let ratio = beat_at(metre, mark.place.bar).to_f64() / before;
            state.base = state.base.map(|(low, high)| (low * ratio, high * ratio));
            state.base
        }
        ChangeDirection::Free | ChangeDirection::Held => state.now,
    };
    if let Some(speed) = speed {
        state.now = Some(speed);
        push(found, mark.place, speed);
    }
    let text = mark.words.as_deref().unwrap_or_default();
    found.changes.push(change(
        mark.place,
        text,
        wanted.meaning.clone(),
        Some(wanted.direction),
        state.now,
    ));
}

fn change(
    place: Place,
    text: &str,
    says: String,
    direction: Option<ChangeDirection>,
    quarters_a_minute: Option<(f64, f64)>,
) -> Change {
    Change {
        place,
        text: text.to_owned(),
        says,
        direction,
        gradual: false,
        until: None,
        quarters_a_minute,
    }
}

fn set_says(mark: &TempoMark) -> String {
    let words = mark.words.as_deref().and_then(|words| terms::read(words).meaning);
    words.unwrap_or_else(|| "a new tempo".to_owned())
}

/// As printed: words, then the metronome mark.
pub(super) fn mark_text(mark: &TempoMark) -> String {
    let metronome = mark
        .metronome
        .as_ref()
        .map(|m| format!("{} = {}", m.unit.sign(), m.text.trim()));
    let equals = mark
        .equals
        .map(|(old, new)| format!("{} = {}", old.sign(), new.sign()));
    // Words that hold the equation themselves are not followed by it again.
    let words = mark.words.clone();
    let twice = words.as_deref().is_some_and(|words| words.contains('='));
    let parts: Vec<String> = [words, metronome.filter(|_| !twice), equals]
        .into_iter()
        .flatten()
        .collect();
    parts.join(" ")
}

/// Seconds that each bar plays, slowest and fastest; `None` before any speed is known.
pub(super) fn bar_seconds(piece: &Piece, speeds: &[Speed]) -> Vec<Option<(f64, f64)>> {
    let mut seconds = Vec::with_capacity(piece.bars.len());
    // A first mark inside the first bars holds from the beginning.
    let mut current = speeds.first().copied();
    let mut next = 0;
    for (index, bar) in piece.bars.iter().enumerate() {
        let mut sum = (0.0, 0.0);
        let mut from = Quarters::ZERO;
        while let Some(speed) = speeds.get(next).filter(|speed| speed.place.bar.get() <= index) {
            let offset = if speed.place.bar.get() == index {
                speed.place.offset.min(bar.length)
            } else {
                Quarters::ZERO
            };
            if let Some(current) = current {
                add(&mut sum, offset - from, &current);
            }
            from = offset.max(from);
            current = Some(*speed);
            next += 1;
        }
        if let Some(current) = current {
            add(&mut sum, bar.length - from, &current);
        }
        seconds.push(current.map(|_| sum));
    }
    seconds
}

fn add(sum: &mut (f64, f64), length: Quarters, speed: &Speed) {
    let length = length.to_f64().max(0.0);
    sum.0 += length * 60.0 / speed.low;
    sum.1 += length * 60.0 / speed.high;
}

//! Which tempo, metre, key and names go into the file? Those in force at each bar as it sounds, written where they change.

use super::file::{meta, text};
use super::played::Played;
use crate::midi::quantise::is_compound;
use notation::{
    BarIndex, DirectionKind, Metre, Metronome, MetronomeValue, NoteValue, Part, Piece, Pitch, Place,
    Quarters, Rational, Step,
};
use std::collections::BTreeMap;

/// A time and the bytes of an event.
pub(super) type Sign = (Quarters, Vec<u8>);

/// The first track: names, tempo, metre, rehearsal marks.
pub(super) fn conductor(piece: &Piece, parts: &[&Part], bars: &[Played], tempo: Rational) -> Vec<Sign> {
    let mut signs = Vec::new();
    if let Some(title) = piece.credits.name() {
        signs.push((Quarters::ZERO, text(0x03, &title)));
    }
    for rights in &piece.credits.rights {
        signs.push((Quarters::ZERO, text(0x02, rights)));
    }
    tempos(piece, bars, tempo, &mut signs);
    metres(parts, bars, &mut signs);
    for (at, mark) in rehearsals(parts, bars) {
        signs.push((at, text(0x06, &mark)));
    }
    signs
}

/// Quarter notes a minute from each place on, as written.
fn tempo_map(piece: &Piece) -> BTreeMap<Place, Rational> {
    let mut map = BTreeMap::new();
    for hint in &piece.sound_hints {
        if let Some(tempo) = hint
            .get("tempo")
            .and_then(Rational::parse)
            .filter(|tempo| tempo.is_positive())
        {
            map.insert(hint.place, tempo);
        }
    }
    let mut marks: Vec<(Place, &Metronome)> = Vec::new();
    for direction in piece.parts.iter().flat_map(|part| &part.directions) {
        if let DirectionKind::Metronome(mark) = &direction.kind {
            marks.push((direction.place, mark));
        }
    }
    marks.sort_by_key(|(place, _)| *place);
    for (place, mark) in marks {
        let beat = length(mark.beat, mark.dots);
        let tempo = match &mark.value {
            MetronomeValue::PerMinute(_) => mark
                .value
                .range()
                .map(|(low, high)| (low + high) / Rational::whole(2) * beat),
            // The note on the left, as it was, is the note on the right, as it is now.
            MetronomeValue::Equals(value, dots) => map
                .range(..place)
                .next_back()
                .map(|(_, before): (&Place, &Rational)| *before * length(*value, *dots) / beat),
        };
        if let Some(tempo) = tempo.filter(|tempo| tempo.is_positive() && !tempo.is_overflow()) {
            map.insert(place, tempo);
        }
    }
    map
}

fn length(value: NoteValue, dots: u8) -> Quarters {
    let dots = u32::from(dots.min(10));
    value.quarters() * (Rational::whole(2) - Rational::new(1, 1 << dots))
}

fn tempos(piece: &Piece, bars: &[Played], default: Rational, signs: &mut Vec<Sign>) {
    let map = tempo_map(piece);
    let mut now = None;
    for bar in bars {
        let start = Place::start_of(bar.bar);
        let in_force = map
            .range(..=start)
            .next_back()
            .map_or(default, |(_, tempo)| *tempo);
        let inside = map
            .range(start..Place::start_of(bar.bar.next()))
            .filter(|(place, _)| place.offset.is_positive() && place.offset < bar.length)
            .map(|(place, tempo)| (place.offset, *tempo));
        for (offset, tempo) in [(Quarters::ZERO, in_force)].into_iter().chain(inside) {
            let micros = (Rational::whole(60_000_000) / tempo + Rational::new(1, 2)).floor();
            let micros = u32::try_from(micros.clamp(1, 0xFF_FFFF)).unwrap_or(500_000);
            if now.replace(micros) != Some(micros) {
                let [_, a, b, c] = micros.to_be_bytes();
                signs.push((bar.start + offset, meta(0x51, &[a, b, c])));
            }
        }
    }
}

/// Upper number and power of two of the lower one.
type Fraction = (u8, u8);

/// A metre as the file can say it, if it can.
fn fraction(metre: &Metre) -> Option<Fraction> {
    let (beats, beat_type) = metre.simple().filter(|(beats, _)| *beats > 0)?;
    let power = u8::try_from(beat_type.trailing_zeros()).ok()?;
    (beat_type.is_power_of_two() && power <= 7)
        .then(|| u8::try_from(beats).ok().map(|beats| (beats, power)))
        .flatten()
}

/// The metre that a bar of some length would have.
fn of_length(length: Quarters) -> Option<Fraction> {
    (2..=6).find_map(|power: u8| {
        let beats = length * Rational::new(1 << power, 4);
        let beats = beats.is_whole().then_some(beats.num())?;
        Some((u8::try_from(beats).ok().filter(|beats| *beats > 0)?, power))
    })
}

fn full((beats, power): Fraction) -> Quarters {
    Rational::new(i64::from(beats) * 4, 1 << power)
}

/// Metres where they change, and again after a bar that is shorter: that is how a reader knows where the bar lines are.
fn metres(parts: &[&Part], bars: &[Played], signs: &mut Vec<Sign>) {
    let mut now: Option<Fraction> = None;
    let mut in_step = true;
    for bar in bars {
        let start = Place::start_of(bar.bar);
        let stated = parts
            .iter()
            .find_map(|part| part.metre_at(start))
            .and_then(fraction);
        let metre = match stated {
            Some(metre) if bar.length <= full(metre) => Some(metre),
            _ => of_length(bar.length),
        };
        let Some(metre) = metre else {
            in_step = false;
            continue;
        };
        if now != Some(metre) || !in_step {
            let (beats, power) = metre;
            let compound = is_compound(beats, 1 << power);
            // Clocks of the metronome, 24 to a quarter note: one for each beat.
            let beat = if compound { 12 } else { 4 };
            let clocks = Rational::new(24 * beat, 1 << power).floor().clamp(1, 255);
            let clocks = u8::try_from(clocks).unwrap_or(24);
            signs.push((bar.start, meta(0x58, &[beats, power, clocks, 8])));
        }
        now = Some(metre);
        in_step = bar.length == full(metre);
    }
}

/// Rehearsal marks of all parts, each once.
fn rehearsals(parts: &[&Part], bars: &[Played]) -> Vec<(Quarters, String)> {
    let mut marks: BTreeMap<BarIndex, Vec<(Quarters, &str)>> = BTreeMap::new();
    for direction in parts.iter().flat_map(|part| &part.directions) {
        if let DirectionKind::Rehearsal(mark) = &direction.kind {
            let marks = marks.entry(direction.place.bar).or_default();
            let this = (direction.place.offset, mark.as_str());
            if !marks.contains(&this) && marks.len() < 100 {
                marks.push(this);
            }
        }
    }
    let in_bar = |bar: &Played| {
        let of = marks.get(&bar.bar).cloned().unwrap_or_default();
        let start = bar.start;
        of.into_iter()
            .map(move |(offset, mark)| (start + offset, mark.to_owned()))
    };
    bars.iter().flat_map(in_bar).collect()
}

/// Name, instrument, program and keys of a part.
pub(super) fn of_part(piece: &Piece, part: &Part, bars: &[Played], channel: u8) -> Vec<Sign> {
    let mut signs = Vec::new();
    if !part.name.trim().is_empty() {
        signs.push((Quarters::ZERO, text(0x03, &part.name)));
    }
    if let Some(instrument) = part.instrument_name.as_ref().filter(|name| !name.is_empty()) {
        signs.push((Quarters::ZERO, text(0x04, instrument)));
    }
    if let Some(program) = part.midi_program.filter(|program| (1..=128).contains(program)) {
        signs.push((Quarters::ZERO, vec![0xC0 | channel, program - 1]));
    }
    keys(piece, part, bars, &mut signs);
    signs
}

fn keys(piece: &Piece, part: &Part, bars: &[Played], signs: &mut Vec<Sign>) {
    let mut now = None;
    for bar in bars {
        let start = Place::start_of(bar.bar);
        let first = (Quarters::ZERO, part.key_at(1, start));
        let from = part.keys.partition_point(|change| change.place <= start);
        let inside = part.keys.get(from..).unwrap_or_default().iter();
        let inside = inside
            .take_while(|change| change.place.bar == bar.bar)
            .map(|change| (change.place.offset, Some(&change.value)));
        for (offset, key) in std::iter::once(first).chain(inside) {
            let Some(key) = key else { continue };
            let Some(fifths) = key.fifths else { continue };
            let place = Place { bar: bar.bar, offset };
            let sounding = fifths.saturating_add(shift(piece, part, place));
            // Past seven, the same keys by their other names.
            let sounding = match sounding {
                8.. => sounding - 12,
                ..=-8 => sounding + 12,
                _ => sounding,
            };
            let minor = u8::from(key.declared_mode.as_deref() == Some("minor"));
            if (-7..=7).contains(&sounding) && now.replace((sounding, minor)) != Some((sounding, minor)) {
                signs.push((bar.start + offset, meta(0x59, &[sounding.cast_unsigned(), minor])));
            }
        }
    }
}

/// Fifths from the written to the sounding key.
fn shift(piece: &Piece, part: &Part, place: Place) -> i8 {
    if piece.concert_pitch {
        return 0;
    }
    let c = Pitch::new(Step::C, 0, 4);
    i8::try_from(part.transposition_at(place).sounding(c).fifths()).unwrap_or(0)
}

//! What does the page say about speed? Tempo words and metronome marks in written order, each with its place.
//!
//! In a score the tempo often stands over the top part alone: marks of the other parts count where the part has none
//! at that place.

use notation::{
    Direction, DirectionKind, Id, MetronomeValue, NoteValue, Part, Piece, Place, Quarters, Rational, SpanKind,
};
use std::collections::BTreeMap;
use terms::tempo::TempoChange;

/// What is printed about speed at one place.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Mark {
    pub place: Place,
    pub element: Id,
    pub words: Option<String>,
    /// The words set a tempo (Andante), rather than change one or say how to play.
    pub is_tempo: bool,
    /// Note counted (in quarter notes) and how many a minute.
    pub metronome: Option<(Quarters, Rational)>,
    /// One note as long as another was: the old one and the new one, in quarter notes.
    pub equals: Option<(Quarters, Quarters)>,
    pub changes: Vec<TempoChange>,
    /// Where the dashes behind the words end.
    pub dashes_to: Option<Place>,
}

impl Mark {
    /// True if it sets a speed of its own.
    pub fn sets(&self) -> bool {
        self.metronome.is_some() || self.is_tempo
    }
}

/// The marks of a part in order of place, with those of the other parts at other places.
pub(super) fn marks(piece: &Piece, part_index: usize) -> Vec<Mark> {
    let mut found: BTreeMap<Place, Mark> = BTreeMap::new();
    if let Some(part) = piece.parts.get(part_index) {
        read_part(part, &mut found, &|_| true);
    }
    let own: Vec<Place> = found.keys().copied().collect();
    for (index, part) in piece.parts.iter().enumerate() {
        if index != part_index {
            let mut theirs = BTreeMap::new();
            read_part(part, &mut theirs, &|place| own.binary_search(&place).is_err());
            for (place, mark) in theirs {
                found.entry(place).or_insert(mark);
            }
        }
    }
    found.into_values().collect()
}

fn read_part(part: &Part, found: &mut BTreeMap<Place, Mark>, wanted: &dyn Fn(Place) -> bool) {
    let dashes = Dashes::of(part);
    for direction in part.directions.iter().filter(|direction| wanted(direction.place)) {
        match &direction.kind {
            DirectionKind::Words(text) => words(&dashes, direction, text, found),
            DirectionKind::Metronome(metronome) => {
                let unit = dotted(metronome.beat, metronome.dots);
                match &metronome.value {
                    MetronomeValue::Equals(value, dots) => {
                        mark(direction, found).equals = Some((unit, dotted(*value, *dots)));
                    }
                    MetronomeValue::PerMinute(_) => {
                        if let Some((low, high)) = metronome.value.range() {
                            let middle = (low + high) * Rational::new(1, 2);
                            mark(direction, found).metronome = Some((unit, middle));
                        }
                    }
                }
            }
            _ => {}
        }
    }
}

fn mark<'a>(direction: &Direction, found: &'a mut BTreeMap<Place, Mark>) -> &'a mut Mark {
    found.entry(direction.place).or_insert_with(|| Mark {
        place: direction.place,
        element: direction.id,
        words: None,
        is_tempo: false,
        metronome: None,
        equals: None,
        changes: Vec::new(),
        dashes_to: None,
    })
}

fn words(dashes: &Dashes, direction: &Direction, text: &str, found: &mut BTreeMap<Place, Mark>) {
    let is_tempo = is_tempo(text) && !terms::tempo::ranges(text).is_empty();
    let changes = terms::tempo::changes(text);
    let metronome = written_equation(text);
    if !is_tempo && changes.is_empty() && metronome.is_none() {
        return;
    }
    let dashes_to = dashes.behind(direction.place);
    let mark = mark(direction, found);
    match &mut mark.words {
        Some(already) => {
            already.push(' ');
            already.push_str(text.trim());
        }
        None => mark.words = Some(text.trim().to_owned()),
    }
    mark.is_tempo |= is_tempo;
    mark.changes.extend(changes);
    mark.metronome = mark.metronome.or(metronome);
    mark.dashes_to = mark.dashes_to.or(dashes_to);
}

/// Tempo words that inside a piece mostly say how to play, not how fast. Common practice.
const MANNERS: [&str; 1] = ["largamente"];

fn is_tempo(text: &str) -> bool {
    let reading = terms::read(text);
    let of_tempo = |word: &&terms::WordReading| word.kind == terms::Kind::Tempo;
    let mut tempos = reading.words.iter().filter(of_tempo);
    reading.kind == Some(terms::Kind::Tempo) && tempos.any(|word| !MANNERS.contains(&word.lemma.as_str()))
}

/// The dashes of a part, by their beginning.
#[derive(Debug, Default)]
pub(super) struct Dashes {
    lines: Vec<(Place, Place)>,
}

impl Dashes {
    pub fn of(part: &Part) -> Self {
        let dashes = part.spans.iter().filter(|span| span.kind == SpanKind::Dashes);
        let mut lines: Vec<(Place, Place)> = dashes
            .filter_map(|span| Some((span.start?.place, span.end?.place)))
            .collect();
        lines.sort_unstable();
        Self { lines }
    }

    /// Where those end that start with words at a place, or within a half note behind them in their bar.
    pub fn behind(&self, place: Place) -> Option<Place> {
        let first = self.lines.partition_point(|(start, _)| *start < place);
        let (start, end) = self.lines.get(first)?;
        let near = start.bar == place.bar && start.offset <= place.offset + Rational::whole(2);
        near.then_some(*end)
    }
}

fn dotted(value: NoteValue, dots: u8) -> Quarters {
    let dots = u32::from(dots.min(10));
    value.quarters() * (Rational::whole(2) - Rational::new(1, 1 << dots))
}

/// A metronome mark typed as words: `♩ = 96`, `(♩. = 60)`, with the note signs of Unicode or of SMuFL.
/// Source: SMuFL 1.4, metronome marks (U+ECA0 to U+ECB7); Unicode, musical symbols.
fn written_equation(text: &str) -> Option<(Quarters, Rational)> {
    let (before, after) = text.split_once('=')?;
    let before = before.trim_end();
    let undotted = before.trim_end_matches(['.', '\u{ECB7}', '\u{E1E7}', ' ']);
    let dots = before.chars().count() - undotted.chars().count();
    let value = match undotted.chars().last()? {
        '♩' | '\u{1D15F}' | '\u{ECA5}' | '\u{E1D5}' => NoteValue::Quarter,
        '♪' | '\u{1D160}' | '\u{ECA7}' | '\u{E1D7}' => NoteValue::Eighth,
        '\u{1D15E}' | '\u{ECA3}' | '\u{E1D3}' => NoteValue::Half,
        _ => return None,
    };
    let number = after.trim().trim_end_matches([')', ']']).to_owned();
    let (low, high) = MetronomeValue::PerMinute(number).range()?;
    let dots = u8::try_from(dots.min(2)).unwrap_or(0);
    Some((dotted(value, dots), (low + high) * Rational::new(1, 2)))
}

//! What of the other parts does everybody play by? Signs that a score prints once for all its players.

use notation::{Barline, Direction, DirectionKind, Part, Piece, Place, SoundHint};
use std::collections::{BTreeMap, BTreeSet};
use terms::Kind;

/// Playback hints that concern every player. Source: MusicXML 4.0, `sound`: the others are of one part's sound.
const FOR_ALL: [&str; 10] = [
    "tempo",
    "dacapo",
    "segno",
    "dalsegno",
    "coda",
    "tocoda",
    "fine",
    "forward-repeat",
    "time-only",
    "divisions",
];

/// Adds what the other parts say for all. What the part says itself, or a part above has said, is not said again,
/// in whatever words each of them prints it.
pub(super) fn take_directions(piece: &Piece, index: usize, part: &mut Part) {
    let mut sorts = Sorts::default();
    let mut said: BTreeSet<(Place, Sort)> = BTreeSet::new();
    for here in part.directions.chunk_by(|a, b| a.place == b.place) {
        said.extend(here.iter().filter_map(|d| Some((d.place, sorts.of(d, here)?))));
    }
    let mut taken: Vec<Direction> = Vec::new();
    for (_, other) in piece.parts.iter().enumerate().filter(|(i, _)| *i != index) {
        for here in other.directions.chunk_by(|a, b| a.place == b.place) {
            let mut new = Vec::new();
            for direction in here.iter().filter(|direction| direction.printed) {
                let Some(sort) = sorts.of(direction, here) else {
                    continue;
                };
                let sort = (direction.place, sort);
                if !said.contains(&sort) {
                    new.push(sort);
                    taken.push(Direction {
                        staff: None,
                        voice: None,
                        ..direction.clone()
                    });
                }
            }
            said.extend(new);
        }
    }
    // Taken before the part's own: they stand over the staff.
    taken.append(&mut part.directions);
    taken.sort_by_key(|direction| direction.place);
    part.directions = taken;
}

/// What a direction says to every player.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Sort {
    Tempo,
    Metronome,
    Rehearsal,
    /// A jump, a repeat, a sign: which.
    Road(String),
    Heading,
}

/// Words are often the same from part to part: each text is understood once.
#[derive(Default)]
struct Sorts {
    known: BTreeMap<String, Option<Sort>>,
}

impl Sorts {
    /// What a direction says to all; `None` if it is one player's own. `here` is all that stands at its place.
    fn of(&mut self, direction: &Direction, here: &[Direction]) -> Option<Sort> {
        self.alone(direction).or_else(|| {
            // `D.S.` and `con replica` in two texts, a coda sign between: one sentence.
            let sentence = matches!(direction.kind, DirectionKind::Words(_))
                && here
                    .iter()
                    .any(|d| matches!(self.alone(d), Some(Sort::Road(_))) && d.id != direction.id);
            sentence.then(|| Sort::Road("sentence".to_owned()))
        })
    }

    fn alone(&mut self, direction: &Direction) -> Option<Sort> {
        match &direction.kind {
            DirectionKind::Metronome(_) => Some(Sort::Metronome),
            DirectionKind::Rehearsal(_) => Some(Sort::Rehearsal),
            DirectionKind::Segno => Some(Sort::Road("segno".to_owned())),
            DirectionKind::Coda => Some(Sort::Road("coda".to_owned())),
            DirectionKind::Sign { name, .. } if name == "metronome" => Some(Sort::Metronome),
            DirectionKind::Words(text) => {
                if !self.known.contains_key(text) {
                    self.known.insert(text.clone(), of_words(text));
                }
                self.known.get(text).cloned().flatten()
            }
            DirectionKind::Dynamic(_) | DirectionKind::Sign { .. } => None,
        }
    }
}

fn of_words(text: &str) -> Option<Sort> {
    use terms::road::RoadKind;
    // When to be silent, and how the own page turns, is each player's own.
    let own = |kind: &RoadKind| matches!(kind, RoadKind::Tacet | RoadKind::TurnQuickly);
    let road = terms::road::road_words(text);
    if let Some(word) = road.iter().find(|word| !own(&word.kind)) {
        return Some(Sort::Road(format!("{:?}", word.kind)));
    }
    match terms::read(text).kind? {
        Kind::Tempo | Kind::ChangeOfTempo => Some(Sort::Tempo),
        Kind::Form => Some(Sort::Heading),
        _ => None,
    }
}

/// The bar lines of the part; what other parts' bar lines say at the same place is added to them.
pub(super) fn barlines(piece: &Piece, index: usize) -> Vec<Barline> {
    let mut lines: Vec<Barline> = Vec::new();
    let (own, others): (Vec<_>, Vec<_>) = piece.barlines.iter().partition(|line| line.part == index);
    let mut known: BTreeMap<(Place, u8), usize> = BTreeMap::new();
    for line in own.into_iter().chain(others) {
        let Some(at) = known.get(&(line.place, side(line))).copied() else {
            known.insert((line.place, side(line)), lines.len());
            lines.push(Barline {
                part: 0,
                ..line.clone()
            });
            continue;
        };
        let Some(kept) = lines.get_mut(at) else { continue };
        kept.repeat = kept.repeat.take().or_else(|| line.repeat.clone());
        kept.ending = kept.ending.take().or_else(|| line.ending.clone());
        kept.style = kept.style.take().or_else(|| line.style.clone());
        kept.segno = kept.segno.take().or_else(|| line.segno.clone());
        kept.coda = kept.coda.take().or_else(|| line.coda.clone());
        if kept.fermatas.is_empty() {
            kept.fermatas.clone_from(&line.fermatas);
        }
    }
    lines.sort_by_key(|line| (line.place, side(line)));
    lines
}

fn side(line: &Barline) -> u8 {
    match line.side {
        notation::BarSide::Left => 0,
        notation::BarSide::Middle => 1,
        notation::BarSide::Right => 2,
    }
}

/// The part's own playback hints, and of the others' what concerns every player.
pub(super) fn sound_hints(piece: &Piece, index: usize) -> Vec<SoundHint> {
    let mut hints: Vec<SoundHint> = Vec::new();
    let (own, others): (Vec<_>, Vec<_>) = piece.sound_hints.iter().partition(|hint| hint.part == index);
    for hint in own.iter().chain(&others) {
        // Most hints are written into every part.
        let said = |name: &str, value: &str| {
            hints
                .iter()
                .any(|known| known.place == hint.place && known.get(name) == Some(value))
        };
        let attributes: Vec<(String, String)> = hint
            .attributes
            .iter()
            .filter(|(name, value)| {
                hint.part == index || FOR_ALL.contains(&name.as_str()) && !said(name, value)
            })
            .cloned()
            .collect();
        if !attributes.is_empty() {
            hints.push(SoundHint {
                place: hint.place,
                part: 0,
                attributes,
            });
        }
    }
    hints.sort_by_key(|hint| hint.place);
    hints
}

//! What do several words mean together? Modifiers and heads composed into one plain English clause.

use crate::analysis::{Piece, Sense};
use crate::dictionary::{Entry, Modifier, Part, dictionary};
use crate::inflect::Shade;
use crate::kind::Kind;

mod phrase;

use phrase::{Class, Phrase, is_comparative};

/// How a unit is tied to the one before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Link {
    None,
    Comma,
    Line,
    And,
    Then,
    But,
    Or,
    /// A noun behind the word that describes it.
    Noun,
}

/// A head with the small words around it; places are indexes into the pieces.
#[derive(Clone, Debug)]
pub(crate) struct Unit {
    pub link: Link,
    pub before: Vec<Modifier>,
    pub head: Option<usize>,
    pub after: Vec<Modifier>,
    pub first: usize,
    pub last: usize,
}

/// Groups pieces into units. Small words go to the head that follows at once, else to the head before.
pub(crate) fn units(pieces: &[Piece]) -> Vec<Unit> {
    let mut grouping = Grouping {
        units: Vec::new(),
        waiting: Vec::new(),
        link: Link::None,
    };
    for (i, piece) in pieces.iter().enumerate() {
        if piece.gap.is_hard() || (piece.gap.line && i > 0) {
            grouping.settle();
            if grouping.link == Link::None && !grouping.units.is_empty() {
                grouping.link = if piece.gap.line { Link::Line } else { Link::Comma };
            }
        }
        match &piece.sense {
            Sense::Modifier(small) if small.connects() => {
                grouping.settle();
                grouping.link = link_of(small);
            }
            Sense::Modifier(small) => grouping.waiting.push((i, *small)),
            Sense::Term { entry, .. } if grouping.tempers(entry, pieces, piece) => grouping.temper(i),
            Sense::Term { .. } | Sense::Mark { .. } | Sense::Road(_) => grouping.head(i),
            Sense::Plain | Sense::Unknown => {
                grouping.settle();
                grouping.link = Link::Comma;
            }
        }
    }
    grouping.settle();
    grouping.units
}

fn link_of(small: &Modifier) -> Link {
    match (small.part, small.before) {
        (Part::But, _) => Link::But,
        (Part::Or, _) => Link::Or,
        (_, "then") => Link::Then,
        _ => Link::And,
    }
}

/// Most small words that one head takes on either side.
const MOST_SHADES: usize = 8;

struct Grouping {
    units: Vec<Unit>,
    waiting: Vec<(usize, Modifier)>,
    link: Link,
}

/// Tempo words that only temper the tempo word they follow: "Allegro moderato" is moderately fast.
const TEMPERING: [&str; 4] = ["moderato", "modéré", "mässig", "moderate"];

impl Grouping {
    fn tempers(&self, entry: &Entry, pieces: &[Piece], piece: &Piece) -> bool {
        let before = self.units.last().and_then(|unit| pieces.get(unit.head?));
        let tempo = before.is_some_and(|before| {
            matches!(&before.sense, Sense::Term { entry: head, .. }
                if head.kind == Kind::Tempo && !TEMPERING.contains(&head.term))
        });
        tempo
            && TEMPERING.contains(&entry.term)
            && self.waiting.is_empty()
            && self.link == Link::None
            && !piece.gap.is_hard()
            && !piece.gap.line
    }

    fn temper(&mut self, at: usize) {
        let moderately = dictionary()
            .modifiers()
            .find(|small| small.before == "moderately");
        if let (Some(unit), Some(small)) = (
            self.units.last_mut().filter(|u| u.after.len() < MOST_SHADES),
            moderately,
        ) {
            unit.after.push(small);
            unit.last = at;
        }
    }

    fn head(&mut self, at: usize) {
        // "as possible" always belongs to what stands before it.
        let behind = self
            .waiting
            .iter()
            .take_while(|(_, small)| small.part == Part::Possible)
            .count();
        if let Some(unit) = self.units.last_mut().filter(|_| behind > 0) {
            for (i, small) in self.waiting.drain(..behind).take(MOST_SHADES) {
                unit.after.push(small);
                unit.last = i;
            }
        }
        // Nobody prints so many small words; what is far from the head is left out of the meaning.
        let surplus = self.waiting.len().saturating_sub(MOST_SHADES);
        self.waiting.drain(..surplus);
        let first = self.waiting.first().map_or(at, |&(i, _)| i);
        let before = self.waiting.drain(..).map(|(_, small)| small).collect();
        let link = std::mem::replace(&mut self.link, Link::None);
        self.units.push(Unit {
            link,
            before,
            head: Some(at),
            after: Vec::new(),
            first,
            last: at,
        });
    }

    /// Gives waiting small words to the head before them, or lets them stand alone.
    fn settle(&mut self) {
        let waiting = std::mem::take(&mut self.waiting);
        let (Some(&(first, _)), Some(&(last, _))) = (waiting.first(), waiting.last()) else {
            return;
        };
        let mut words = waiting.into_iter().map(|(_, small)| small).take(MOST_SHADES);
        match self
            .units
            .last_mut()
            .filter(|unit| self.link == Link::None && unit.head.is_some())
        {
            Some(unit) => {
                unit.after
                    .extend(words.by_ref().filter(|small| !small.only_joins()));
                unit.last = last;
            }
            None => {
                let before: Vec<_> = words.by_ref().filter(|small| !small.only_joins()).collect();
                if !before.is_empty() {
                    let link = std::mem::replace(&mut self.link, Link::None);
                    self.units.push(Unit {
                        link,
                        before,
                        head: None,
                        after: Vec::new(),
                        first,
                        last,
                    });
                }
            }
        }
    }
}

/// The meaning of one unit, and its kind.
pub(crate) fn unit_meaning(unit: &Unit, pieces: &[Piece], whole: bool) -> Option<(String, Kind)> {
    let Some(piece) = unit.head.and_then(|at| pieces.get(at)) else {
        let words: Vec<&str> = unit.before.iter().map(|small| small.after).collect();
        return Some((words.join(" "), Kind::Modifier));
    };
    match &piece.sense {
        Sense::Term { entry, shade, .. } => {
            let bare = unit
                .before
                .iter()
                .chain(&unit.after)
                .all(|small| small.part == Part::Thing);
            if whole && bare && *shade == Shade::Plain {
                return Some((entry.meaning.to_owned(), entry.kind));
            }
            Some(shaded(entry, *shade, unit))
        }
        Sense::Mark { meaning } => Some((plain_shades(meaning, unit), Kind::Dynamic)),
        Sense::Road(word) => Some((plain_shades(&word.meaning(), unit), Kind::RoadMap)),
        Sense::Modifier(_) | Sense::Plain | Sense::Unknown => None,
    }
}

fn plain_shades(meaning: &str, unit: &Unit) -> String {
    let mut phrase = Phrase {
        text: meaning.to_owned(),
        class: Class::State,
        countable: false,
    };
    unit.before
        .iter()
        .rev()
        .for_each(|small| phrase.shade_before(small));
    unit.after.iter().for_each(|small| phrase.shade_after(small));
    phrase.text
}

fn shaded(entry: &Entry, shade: Shade, unit: &Unit) -> (String, Kind) {
    let mut phrase = Phrase {
        text: core(entry.meaning).to_owned(),
        class: class_of(entry),
        countable: entry.kind == Kind::Form,
    };
    phrase.inflect(shade);
    if phrase.class == Class::Thing {
        unit.after.iter().for_each(|small| phrase.shade_before(small));
    }
    unit.before
        .iter()
        .rev()
        .for_each(|small| phrase.shade_before(small));
    if class_of(entry) != Class::Thing {
        unit.after.iter().for_each(|small| phrase.shade_after(small));
    }
    let compared = shade == Shade::More
        || unit.before.iter().chain(&unit.after).any(|small| {
            matches!(small.part, Part::More | Part::Less)
                || matches!(small.before, "more and more" | "less and less")
        });
    let at_speed_of = unit.before.iter().any(|small| small.before == "at the speed of");
    let kind = match entry.kind {
        Kind::Form if at_speed_of => Kind::Tempo,
        Kind::Form if unit.before.iter().any(|small| small.part == Part::Like) => Kind::Character,
        Kind::Tempo if compared => Kind::ChangeOfTempo,
        Kind::Character if compared && entry.pace().is_some() => Kind::ChangeOfTempo,
        kind => kind,
    };
    (phrase.text, kind)
}

/// The part of a meaning that composes: up to the first comma, colon, semicolon or bracket.
fn core(meaning: &str) -> &str {
    meaning
        .split([',', ':', ';', '('])
        .next()
        .unwrap_or(meaning)
        .trim_end()
}

fn class_of(entry: &Entry) -> Class {
    let text = core(entry.meaning);
    if entry.is_thing() {
        return Class::Thing;
    }
    match entry.kind {
        Kind::RoadMap | Kind::Instrument | Kind::Form => Class::Order,
        Kind::ChangeOfTempo | Kind::ChangeOfDynamic => {
            if is_comparative(text.split(' ').next().unwrap_or(text)) {
                Class::Compared
            } else {
                Class::Process
            }
        }
        _ if is_comparative(text) => Class::Compared,
        _ => Class::State,
    }
}

/// Whether a unit is a bare noun that the describing unit before it belongs to: "mit innigster | Empfindung".
pub(crate) fn is_described_noun(unit: &Unit, before: Option<&Unit>, pieces: &[Piece]) -> bool {
    let thing = unit.head.and_then(|at| pieces.get(at)).is_some_and(|piece| {
        matches!(&piece.sense, Sense::Term { entry, .. } if entry.is_thing() && entry.kind == Kind::Character)
    });
    let with = before.is_some_and(|unit| {
        unit.before
            .iter()
            .any(|small| matches!(small.part, Part::With | Part::Without))
    });
    thing && with && unit.link == Link::None && unit.before.is_empty()
}

/// Joins the meanings of several units into one.
pub(crate) fn joined(parts: &[(Link, String)]) -> String {
    let mut text = String::new();
    for (i, (link, part)) in parts.iter().enumerate() {
        if i > 0 && *link == Link::Noun {
            text.push(' ');
        } else if i > 0 {
            let comma = i > 1 || text.contains(',');
            text.push_str(match link {
                Link::None | Link::Comma | Link::Noun => ", ",
                Link::Line => "; ",
                Link::And if comma => ", and ",
                Link::And => " and ",
                Link::Then => ", then ",
                Link::But => ", but ",
                Link::Or => " or ",
            });
        }
        text.push_str(part);
    }
    text
}

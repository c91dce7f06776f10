//! What does an engraver need otherwise than a reader? Words that belong together as one, ends where a player looks for
//! them, and nothing that is only kept for reading back.
//!
//! What words mean is not known here: the caller says how each is set.

use super::xml::Node;
use super::{Writer, time};
use notation::{
    Anchor, BarIndex, Direction, DirectionKind, Ending, Event, Id, Part, Piece, Place, Rational, Span,
    SpanKind, Technical,
};
use std::collections::{BTreeMap, BTreeSet};

/// Writing for an engraver. What is written so is drawn well, but does not read back as the same page.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Engraving {
    /// How words are set, by their direction; those not named are set as words usually are.
    pub words: BTreeMap<Id, WordSetting>,
    /// Directions that are left out, because they say what another says at the same place.
    pub hidden: BTreeSet<Id>,
    /// Places before which white space stands in the line (between phrases): each the start of an event, or of a bar.
    pub spaces: BTreeSet<Place>,
}

/// How words are set.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct WordSetting {
    /// As what.
    pub style: WordStyle,
    /// A direction at the same place that stands in one line with them: a metronome mark behind a tempo, a coda sign behind
    /// “To Coda”. It is not drawn a second time.
    pub with: Option<Id>,
}

/// As what words are set.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum WordStyle {
    /// A tempo, bold.
    Tempo,
    /// Where to go: upright, and ending at the bar line if it stands at the end of the bar.
    Jump,
}

/// The longest rehearsal mark that gets a box; longer ones are headings.
const BOXED_LETTERS: usize = 3;

impl Writer<'_> {
    /// The directions of a bar, for an engraver.
    pub(super) fn engraved_directions(
        &mut self,
        part: usize,
        directions: &[&Direction],
        engraving: &Engraving,
        out: &mut Vec<Node>,
    ) {
        let beside: Vec<Id> = directions
            .iter()
            .filter_map(|direction| engraving.words.get(&direction.id)?.with)
            .collect();
        for direction in directions {
            if !direction.printed
                || beside.contains(&direction.id)
                || engraving.hidden.contains(&direction.id)
            {
                continue;
            }
            let plain = self.direction(part, direction);
            let node = match (&direction.kind, engraving.words.get(&direction.id)) {
                (DirectionKind::Words(text), Some(setting)) => {
                    let with = directions
                        .iter()
                        .find(|other| Some(other.id) == setting.with)
                        .map(|other| self.direction(part, other));
                    match setting.style {
                        WordStyle::Tempo => tempo(plain, text, with),
                        WordStyle::Jump => jump(plain, text, with, self.at_end(direction.place)),
                    }
                }
                (DirectionKind::Rehearsal(text), _) if text.chars().count() <= BOXED_LETTERS => {
                    plain.emptied().child(rend("rend", "box", text))
                }
                (DirectionKind::Sign { name, text }, _) if text.trim().is_empty() && plain.is("dir") => {
                    plain.emptied().lines(&sign_words(name))
                }
                _ => plain,
            };
            out.push(node);
        }
    }

    /// The white spaces inside a bar and at its end: invisible metres, which take room and say nothing. (At the start of a bar
    /// the engraver would take none for them.)
    pub(super) fn white_spaces(&self, part: usize, bar: BarIndex, staff: u8) -> Vec<(Place, Node)> {
        let (Some(engraving), Some(plan)) = (&self.options.engraving, self.parts.get(part)) else {
            return Vec::new();
        };
        let (first, next) = (Place::start_of(bar), Place::start_of(bar.next()));
        let metre = plan.part.metre_at(first).and_then(|metre| metre.parts.first());
        let count: u16 = metre.map_or(4, |metre| metre.groups.iter().sum());
        let unit = metre.map_or(4, |metre| metre.beat_type);
        let end = Place {
            bar,
            offset: self
                .piece
                .bars
                .get(bar.get())
                .map_or(notation::Quarters::ZERO, |bar| bar.length),
        };
        let space = |(nth, place): (usize, &Place)| {
            let node = Node::new("meterSig")
                .id(format!("white{bar}-{staff}-{}", nth + 1))
                .attr("count", count)
                .attr("unit", unit)
                .attr("form", "invis");
            (if *place == next { end } else { *place }, node)
        };
        let places = engraving
            .spaces
            .range(first..=next)
            .filter(|place| **place != first);
        places.enumerate().map(space).collect()
    }

    fn at_end(&self, place: Place) -> bool {
        self.piece
            .bars
            .get(place.bar.get())
            .is_some_and(|bar| place.offset.is_positive() && place.offset >= bar.length)
    }

    /// A breath mark or caesura stands after its note, shortly before the next.
    pub(super) fn engraved_breath(&self, part: usize, event: &Event, node: &mut Node) {
        let Some(plan) = self.parts.get(part) else { return };
        if !event.is_note() || !event.duration.is_positive() {
            return;
        }
        let after = Place {
            offset: event.place.offset + event.duration * Rational::new(4, 5),
            ..event.place
        };
        node.unset("startid");
        node.set("tstamp", time::tstamp(plan.part, after));
        node.set("staff", plan.staff(event.staff));
    }
}

/// A technical mark in words, where the standard has no sign: the string's number in a circle, else what it says, or its name.
pub(super) fn technical(node: Node, mark: &Technical) -> Node {
    if !node.is("dir") {
        return node;
    }
    match mark.name.as_str() {
        "string" => node.emptied().child(rend("rend", "circle", &mark.text)),
        name if mark.text.trim().is_empty() => node.lines(&sign_words(name)),
        _ => node,
    }
}

/// What stands in a volta bracket: the words printed, or the numbers with a full stop.
pub(super) fn ending_words(ending: &Ending) -> String {
    if ending.text.is_empty() {
        let numbers: Vec<&str> = ending
            .number
            .split(',')
            .map(str::trim)
            .filter(|n| !n.is_empty())
            .collect();
        if numbers.is_empty() {
            String::new()
        } else {
            format!("{}.", numbers.join(", "))
        }
    } else {
        ending.text.clone()
    }
}

/// What a sign is called where nothing else is printed with it.
pub(super) fn sign_words(name: &str) -> String {
    name.replace(['-', '_'], " ")
}

/// A tempo's words, and its metronome mark in the same line.
fn tempo(plain: Node, text: &str, with: Option<Node>) -> Node {
    let mut node = plain.renamed("tempo").emptied();
    node.push(Node::new("rend").attr("fontweight", "bold").lines(text));
    if let Some(mark) = with {
        node.push_text("\u{2002}");
        let mut rend = Node::new("rend").attr("fontweight", "normal");
        rend.absorb(mark);
        node.push(rend);
    }
    node
}

/// Where to go, with its sign.
fn jump(plain: Node, text: &str, with: Option<Node>, at_end: bool) -> Node {
    let mut rend = Node::new("rend").attr("fontstyle", "normal");
    if at_end {
        rend.set("halign", "right");
    }
    rend = rend.lines(text);
    let sign = with.and_then(|node| match node.get("func") {
        Some("coda") => Some("\u{e048}"),
        Some("segno") => Some("\u{e047}"),
        _ => None,
    });
    if let Some(sign) = sign {
        rend.push_text(" ");
        rend.push(Node::new("rend").attr("fontfam", "smufl").lines(sign));
    }
    plain.emptied().child(rend)
}

fn rend(name: &'static str, value: &str, text: &str) -> Node {
    Node::new("rend").attr(name, value).lines(text)
}

/// The end of a span at the end of a bar where the source says the start of the next: a hairpin or a line that ends with a
/// bar must not reach over its bar line, nor into the next system.
pub(super) fn ended_in_bar(piece: &Piece, part: &Part, span: &Span) -> Option<Anchor> {
    let reaching = matches!(
        span.kind,
        SpanKind::Crescendo { .. }
            | SpanKind::Diminuendo { .. }
            | SpanKind::TrillLine
            | SpanKind::Dashes
            | SpanKind::Bracket
    );
    let (start, end) = (span.start?, span.end?);
    if !reaching || end.element.is_some() || !end.place.offset.is_zero() || end.place.bar <= start.place.bar {
        return None;
    }
    let bar = BarIndex(end.place.bar.0.checked_sub(1)?);
    let length = piece.bars.get(bar.get())?.length;
    let place = Place { bar, offset: length };
    // A hairpin to a note alone in its bar would have no length.
    if place <= start.place || part.bar_events(bar).is_empty() {
        return None;
    }
    Some(Anchor { place, element: None })
}

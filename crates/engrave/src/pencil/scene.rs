//! Where in a system is what a mark holds on to? Bars, notes, beats and lines, from the engraver's boxes.

use job::{Boxed, Rect, STAFF_SPACE, System};
use notation::{Anchor, BarGroupKind, BarIndex, Event, Id, Piece, Place};
use std::collections::BTreeMap;

/// A system with what stands in it.
pub(super) struct Scene<'a> {
    pub system: &'a System,
    pub piece: &'a Piece,
    by_id: BTreeMap<&'a str, &'a Boxed>,
    /// The bars drawn here, in order, each by the box of its staff.
    bars: Vec<(BarIndex, Rect)>,
    /// Notes and rests drawn here, in order of place.
    stops: Vec<Stop<'a>>,
    /// Grace notes drawn here: they take no room in time, but a mark may belong to one.
    graces: Vec<Stop<'a>>,
}

/// A note or rest as drawn.
#[derive(Clone, Copy)]
pub(super) struct Stop<'a> {
    pub event: &'a Event,
    /// Its head, or the rest.
    pub rect: Rect,
    /// The left edge of all that belongs to it: its accidental, the grace notes before it.
    pub left: f64,
}

impl<'a> Scene<'a> {
    /// The scene of a system.
    pub fn of(system: &'a System, piece: &'a Piece) -> Self {
        let mut by_id = BTreeMap::new();
        for thing in &system.boxes {
            by_id.entry(thing.id.as_str()).or_insert(thing);
        }
        let mut bars = Vec::new();
        for (index, bar) in piece.bars.iter().enumerate() {
            if let Some(thing) = by_id.get(bar.id.to_string().as_str()) {
                bars.push((BarIndex::from_usize(index), thing.rect));
            }
        }
        let mut scene = Self {
            system,
            piece,
            by_id,
            bars,
            stops: Vec::new(),
            graces: Vec::new(),
        };
        (scene.stops, scene.graces) = scene.find_stops();
        scene
    }

    fn boxed(&self, id: impl std::fmt::Display) -> Option<Rect> {
        let thing = self.by_id.get(id.to_string().as_str())?;
        (thing.rect.w > 0.0 && thing.rect.h > 0.0).then_some(thing.rect)
    }

    fn find_stops(&self) -> (Vec<Stop<'a>>, Vec<Stop<'a>>) {
        let (mut stops, mut small) = (Vec::new(), Vec::new());
        let mut graces: Option<f64> = None;
        for (bar, _) in &self.bars {
            for part in &self.piece.parts {
                for event in part.bar_events(*bar) {
                    let Some(rect) = self.event_rect(event) else {
                        continue;
                    };
                    let accidental = event.heads().iter().filter_map(|head| self.accidental(head.id));
                    let mut left = accidental.map(|accidental| accidental.x).fold(rect.x, f64::min);
                    if event.is_grace() {
                        graces = Some(graces.map_or(left, |known: f64| known.min(left)));
                        small.push(Stop { event, rect, left });
                        continue;
                    }
                    if let Some(grace) = graces.take() {
                        left = left.min(grace);
                    }
                    stops.push(Stop { event, rect, left });
                }
            }
        }
        stops.sort_by(|a: &Stop, b: &Stop| {
            a.event
                .place
                .cmp(&b.event.place)
                .then(a.rect.x.total_cmp(&b.rect.x))
        });
        (stops, small)
    }

    /// Of a chord the highest head.
    fn event_rect(&self, event: &Event) -> Option<Rect> {
        let heads = event.heads().iter().filter_map(|head| self.boxed(head.id));
        heads
            .min_by(|a, b| a.y.total_cmp(&b.y))
            .or_else(|| self.boxed(event.id))
    }

    /// The printed accidental of a head.
    fn accidental(&self, head: Id) -> Option<Rect> {
        self.boxed(format_args!("{head}-accid"))
    }

    /// The stop that an anchor holds on to: its event, the event of its head, or what stands at its place.
    pub fn stop(&self, anchor: &Anchor) -> Option<Stop<'a>> {
        let element = anchor.element;
        let of = |stop: &&Stop| {
            element
                .is_some_and(|id| stop.event.id == id || stop.event.heads().iter().any(|head| head.id == id))
        };
        let at = |stop: &&Stop| element.is_none() && stop.event.place == anchor.place;
        let mut stop = *self
            .stops
            .iter()
            .chain(&self.graces)
            .find(of)
            .or_else(|| self.stops.iter().find(at))?;
        if let Some(rect) = element.and_then(|id| self.boxed(id)) {
            stop.rect = rect;
        }
        Some(stop)
    }

    /// Everything that belongs to the head of a stop: head and accidental.
    pub fn with_accidental(&self, stop: &Stop) -> Rect {
        let near =
            |rect: &Rect| (rect.y + rect.h / 2.0 - stop.rect.y - stop.rect.h / 2.0).abs() < STAFF_SPACE;
        let signs = stop
            .event
            .heads()
            .iter()
            .filter_map(|head| self.accidental(head.id));
        signs.filter(near).fold(stop.rect, |all, one| all.around(&one))
    }

    /// What stands close to a head and is read with it: its dots, articulations close over or under it.
    pub fn close_to(&self, head: &Rect) -> Vec<Rect> {
        const CLOSE: f64 = 0.8 * STAFF_SPACE;
        let belongs = |thing: &&Boxed| {
            let (x, y) = (
                thing.rect.x + thing.rect.w / 2.0,
                thing.rect.y + thing.rect.h / 2.0,
            );
            match thing.class.as_str() {
                "artic" => {
                    (head.x..=head.right()).contains(&x)
                        && thing.rect.y < head.bottom() + CLOSE
                        && thing.rect.bottom() > head.y - CLOSE
                }
                "dots" | "dot" => {
                    (head.right()..=head.right() + CLOSE).contains(&thing.rect.x)
                        && (head.y - 0.3 * STAFF_SPACE..=head.bottom() + 0.3 * STAFF_SPACE).contains(&y)
                }
                _ => false,
            }
        };
        let found = self.system.boxes.iter().filter(belongs);
        found.map(|thing| thing.rect).collect()
    }

    /// The next thing to the right of a stop: a note or rest in its bar, else the bar's end.
    pub fn after(&self, stop: &Stop) -> f64 {
        let bar = stop.event.place.bar;
        let next = self
            .stops
            .iter()
            .filter(|other| other.event.place.bar == bar && other.rect.x > stop.rect.x + 1.0)
            .map(|other| other.left)
            .filter(|left| *left > stop.rect.right())
            .fold(f64::INFINITY, f64::min);
        let end = self
            .bar(bar)
            .map_or(stop.rect.right() + STAFF_SPACE, |rect| rect.right());
        next.min(end)
    }

    /// The stops of a bar, in order.
    pub fn stops_of(&self, bar: BarIndex) -> impl Iterator<Item = &Stop<'a>> {
        self.stops.iter().filter(move |stop| stop.event.place.bar == bar)
    }

    /// The box of a bar's staff; of a bar inside a rest of several bars, that of the rest.
    pub fn bar(&self, bar: BarIndex) -> Option<Rect> {
        let (index, rect) = self.bars.iter().rev().find(|(index, _)| *index <= bar)?;
        (*index == bar || self.covered(*index, bar)).then_some(*rect)
    }

    /// Whether one sign at the first bar stands for the second, too.
    fn covered(&self, first: BarIndex, bar: BarIndex) -> bool {
        let groups = self.piece.parts.iter().flat_map(|part| &part.bar_groups);
        groups
            .filter(|group| matches!(group.kind, BarGroupKind::MultiRest) && group.start <= first)
            .any(|group| bar.0 < group.start.0.saturating_add(group.bars))
    }

    /// True if a bar is the first of the system.
    pub fn is_first(&self, bar: BarIndex) -> bool {
        self.bars.first().is_some_and(|(first, _)| bar <= *first)
    }

    /// True if anything between two bars is drawn here.
    pub fn touches(&self, from: BarIndex, to: BarIndex) -> bool {
        self.bar(from).is_some() || self.bars.iter().any(|(bar, _)| (from..=to).contains(bar))
    }

    /// Where in a bar the music begins: the left edge of its first note or rest.
    pub fn music_from(&self, bar: BarIndex) -> Option<f64> {
        let left = self
            .stops_of(bar)
            .map(|stop| stop.left)
            .fold(f64::INFINITY, f64::min);
        left.is_finite().then_some(left)
    }

    /// Where in a bar the music ends: the right edge of its last note or rest.
    pub fn music_to(&self, bar: BarIndex) -> Option<f64> {
        let right = self
            .stops_of(bar)
            .map(|stop| stop.rect.right())
            .fold(f64::NEG_INFINITY, f64::max);
        right.is_finite().then_some(right)
    }

    /// The x of a place: the middle of what stands there, else in proportion between its neighbours.
    pub fn x_of(&self, place: Place) -> Option<f64> {
        let rect = self.bar(place.bar)?;
        let middle = |stop: &Stop| stop.rect.x + stop.rect.w / 2.0;
        // A rest that fills its bar stands in the middle of it, not at its beginning.
        let fills = |stop: &Stop| matches!(stop.event.kind, notation::EventKind::Rest { whole_bar: true });
        let stops: Vec<&Stop> = self.stops_of(place.bar).filter(|stop| !fills(stop)).collect();
        if let Some(stop) = stops.iter().find(|stop| stop.event.place.offset == place.offset) {
            return Some(middle(stop));
        }
        let before = stops
            .iter()
            .rev()
            .find(|stop| stop.event.place.offset < place.offset);
        let after = stops.iter().find(|stop| stop.event.place.offset > place.offset);
        let length = self
            .piece
            .bars
            .get(place.bar.get())
            .map_or(0.0, |bar| bar.length.to_f64());
        let (from, x_from) = before.map_or((0.0, rect.x + STAFF_SPACE), |stop| {
            (stop.event.place.offset.to_f64(), middle(stop))
        });
        let (to, x_to) = after.map_or((length, rect.right()), |stop| {
            (stop.event.place.offset.to_f64(), middle(stop))
        });
        let part = if to > from {
            (place.offset.to_f64() - from) / (to - from)
        } else {
            0.0
        };
        Some(x_from + (x_to - x_from) * part.clamp(0.0, 1.0))
    }

    /// Lines that can't be helped where a sign goes round notes: staff lines, ledger lines, stems, bar lines. Each a little
    /// wider than itself, since a cell has ink if any of it has.
    pub fn lines(&self, cell: f64) -> Vec<Rect> {
        let mut lines = Vec::new();
        for thing in &self.system.boxes {
            match thing.class.as_str() {
                "staff" => lines.extend(staff_lines(&thing.rect, cell)),
                "stem" | "barLine" => lines.push(wider(&thing.rect, 0.2 * cell)),
                "note" => lines.extend(self.ledger_lines(&thing.rect, cell)),
                _ => {}
            }
        }
        lines.extend(staff_lines(&self.system.staff, cell));
        lines
    }

    /// Ledger lines have no box: they lie at whole spaces beyond the staff, a little wider than their head.
    fn ledger_lines(&self, head: &Rect, cell: f64) -> Vec<Rect> {
        let staff = &self.system.staff;
        let middle = head.y + head.h / 2.0;
        let line = |y: f64| {
            let reach = 0.45 * STAFF_SPACE;
            wider(
                &Rect {
                    x: head.x - reach,
                    y: y - 10.0,
                    w: head.w + 2.0 * reach,
                    h: 20.0,
                },
                0.2 * cell,
            )
        };
        let mut lines = Vec::new();
        for count in 1..=12 {
            let away = f64::from(count) * STAFF_SPACE;
            if middle < staff.y - away + 0.25 * STAFF_SPACE {
                lines.push(line(staff.y - away));
            }
            if middle > staff.bottom() + away - 0.25 * STAFF_SPACE {
                lines.push(line(staff.bottom() + away));
            }
        }
        lines
    }
}

fn wider(rect: &Rect, by: f64) -> Rect {
    Rect {
        x: rect.x - by,
        y: rect.y - by,
        w: rect.w + 2.0 * by,
        h: rect.h + 2.0 * by,
    }
}

/// The lines of a staff by its box, from the top.
fn staff_lines(staff: &Rect, cell: f64) -> Vec<Rect> {
    let middle = staff.y + staff.h / 2.0;
    let gaps = (staff.h / STAFF_SPACE).round().clamp(0.0, 12.0);
    let mut lines = Vec::new();
    let mut at = -gaps / 2.0;
    while at <= gaps / 2.0 + 0.1 {
        let y = middle + at * STAFF_SPACE;
        lines.push(wider(
            &Rect {
                x: staff.x,
                y: y - 7.0,
                w: staff.w,
                h: 14.0,
            },
            0.2 * cell,
        ));
        at += 1.0;
    }
    lines
}

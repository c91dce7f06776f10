//! What reaches over several notes, or stands above or below? Slurs, hairpins, ottavas, endings, segno and coda, breath marks and
//! dynamics, tied to notes by their place in the picture and paired across systems.

use super::System;
use super::builder::{Builder, Spot};
use super::event::sign_at;
use crate::page_bars::At;
use crate::signs::Beside;
use crate::vocabulary::Flag;
use notation::{
    Anchor, Articulation, ArticulationKind, BarIndex, BarSide, Direction, DirectionKind, Id, IdKind, Origin,
    Place, Span, SpanKind,
};

/// Pixels by which a sign may stand off its note: a staff space and a half.
pub(super) const NEAR: f32 = 15.0;

/// Page and box of a sign: two staff spaces wide, as high as its staff and two spaces more.
pub(super) fn page_box(system: &System, x: f32) -> (u32, [f32; 4]) {
    let part = (x / system.width.max(1.0)).clamp(0.0, 1.0);
    let middle = system.middle.0 + (system.middle.1 - system.middle.0) * part;
    let space = 10.0 * system.scale;
    let page = u32::try_from(system.page).unwrap_or(u32::MAX);
    (
        page,
        [
            system.left + x * system.scale - space,
            middle - 4.0 * space,
            2.0 * space,
            8.0 * space,
        ],
    )
}

/// A dynamic so many bars after a hairpin's beginning is surely where it leads: our own judgement.
const NEAR_BARS: usize = 2;

/// How loud letters say, `pppp` the softest; none of an accent (`sf`, `fp`). Source: common practice.
fn loudness(name: &str) -> Option<usize> {
    const LEVELS: [&str; 10] = ["pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff"];
    LEVELS.iter().position(|level| *level == name)
}

/// Whether a hairpin leads from one loudness (as far as it is known) to another.
fn leads_to(kind: &SpanKind, before: Option<usize>, after: Option<usize>) -> bool {
    let Some(after) = after else { return false };
    before.is_none_or(|before| match kind {
        SpanKind::Crescendo { .. } => after > before,
        _ => after < before,
    })
}

impl Builder<'_> {
    /// Everything that holds on to notes already placed.
    pub(super) fn reaching(&mut self) {
        self.slurs();
        self.trill_lines();
        self.tuplets();
        self.ottava_spans();
        self.ottavas_left_out();
        let systems = self.systems;
        let mut hairpin: Option<(SpanKind, Place, Beside, usize)> = None;
        for (number, system) in systems.iter().enumerate() {
            for mark in &system.seen.dynamics {
                self.dynamic(number, mark, &mut hairpin);
            }
        }
        if let Some((kind, start, ..)) = hairpin {
            self.told.open(start, "hairpin", false);
            self.span(kind, Some(free(start)), None);
        }
        for (number, system) in systems.iter().enumerate() {
            for road in &system.seen.roads {
                self.road(number, road);
            }
        }
        self.close_endings();
        self.fitting_endings();
        self.words();
    }

    fn span(&mut self, kind: SpanKind, start: Option<Anchor>, end: Option<Anchor>) {
        let id = self.piece.ids.give(IdKind::Span);
        self.part.spans.push(Span {
            id,
            kind,
            start,
            end,
            staff: None,
            side: None,
        });
    }

    fn spots_with_signs(&self) -> Vec<(Spot, At)> {
        let mut out = Vec::with_capacity(self.spots.len());
        for spot in &self.spots {
            let signs = &self.systems[spot.system].seen.signs;
            let sign = signs.iter().position(|sign| {
                (sign.x - spot.x).abs() < 0.5 && !sign.is(Flag::Chord) && !sign.is(Flag::SecondVoice)
            });
            if let Some(sign) = sign {
                out.push((
                    *spot,
                    At {
                        system: spot.system,
                        sign,
                    },
                ));
            }
        }
        out
    }

    fn slurs(&mut self) {
        let mut open: Vec<Anchor> = Vec::new();
        for (spot, at) in self.spots_with_signs() {
            let Some(sign) = sign_at(self.systems, at) else {
                continue;
            };
            let here = held(&spot);
            if sign.is(Flag::SlurEnd) {
                match open.pop() {
                    Some(start) => self.span(SpanKind::Slur, Some(start), Some(here)),
                    None => {
                        self.told.open(spot.place, "slur", true);
                        self.span(SpanKind::Slur, None, Some(here));
                    }
                }
            }
            if sign.is(Flag::SlurStart) {
                open.push(here);
            }
        }
        for start in open {
            self.told.open(start.place, "slur", false);
            self.span(SpanKind::Slur, Some(start), None);
        }
    }

    fn trill_lines(&mut self) {
        let spots = self.spots_with_signs();
        for (n, (spot, at)) in spots.iter().enumerate() {
            if sign_at(self.systems, *at).is_some_and(|sign| sign.is(Flag::TrillLine)) {
                let last = spots[n..]
                    .iter()
                    .map(|(s, _)| s)
                    .find(|s| !s.grace)
                    .unwrap_or(spot);
                self.span(SpanKind::TrillLine, Some(held(spot)), Some(held(last)));
            }
        }
    }

    /// The groups of tuplets, from what the values were read as and where numbers stand.
    fn tuplets(&mut self) {
        let mut open: Vec<(Anchor, notation::TupletRatio)> = Vec::new();
        let mut last: Option<Anchor> = None;
        let mut spans = Vec::new();
        for (spot, at) in self.spots_with_signs() {
            if spot.grace {
                continue;
            }
            let Some(event) = self.part.events.get(spot.event) else {
                continue;
            };
            let chain = event
                .written
                .as_ref()
                .map_or(&[][..], |written| written.tuplets.as_slice());
            let starts = sign_at(self.systems, at).is_some_and(|sign| sign.is(Flag::TupletStart));
            let new_bar = last.is_some_and(|last| last.place.bar != spot.place.bar);
            // A number here begins the group anew; a shorter chain or a new bar ends what was open.
            let keep = if new_bar || starts {
                0
            } else {
                open.len().min(chain.len())
            };
            while open.len() > keep {
                if let (Some((start, ratio)), Some(end)) = (open.pop(), last) {
                    spans.push((start, end, ratio));
                }
            }
            while open.len() < chain.len() {
                open.push((held(&spot), chain[open.len()]));
            }
            last = Some(held(&spot));
            if sign_at(self.systems, at).is_some_and(|sign| sign.is(Flag::TupletEnd))
                && let Some((start, ratio)) = open.pop()
            {
                spans.push((start, held(&spot), ratio));
                // What stays open outside goes on with the next note.
            }
        }
        while let (Some((start, ratio)), Some(end)) = (open.pop(), last) {
            spans.push((start, end, ratio));
        }
        for (start, end, ratio) in spans {
            let kind = SpanKind::Tuplet {
                actual: ratio.actual,
                normal: ratio.normal,
                bracket: false,
            };
            self.span(kind, Some(start), Some(end));
        }
    }

    fn ottava_spans(&mut self) {
        let mut open: Option<(i8, Anchor, Anchor)> = None;
        let mut spans = Vec::new();
        for spot in self.spots.iter().filter(|spot| !spot.grace) {
            let ranges = self.ottavas.get(spot.system).map_or(&[][..], Vec::as_slice);
            let here = ranges
                .iter()
                .find(|(from, to, _)| (*from..=*to).contains(&spot.x))
                .map(|(.., kind)| *kind);
            match (&mut open, here) {
                (Some((kind, _, end)), Some(now)) if *kind == now => *end = held(spot),
                (state, now) => {
                    spans.extend(state.take());
                    *state = now.map(|kind| (kind, held(spot), held(spot)));
                }
            }
        }
        spans.extend(open);
        for (octaves, start, end) in spans {
            self.span(SpanKind::Ottava { octaves }, Some(start), Some(end));
        }
    }

    fn ottavas_left_out(&mut self) {
        for (system, mark, end) in std::mem::take(&mut self.no_ottavas) {
            let Some(bar) = self.bar_near(system, mark.x, false) else {
                continue;
            };
            self.told.left_out(Place::start_of(bar), system, mark);
            self.told.silent(end.map(|end| (system, end.number)));
        }
    }

    /// The note or rest of a system nearest to a place in its picture.
    fn nearest(&self, system: usize, x: f32) -> Option<Spot> {
        let spots = self
            .spots
            .iter()
            .filter(|spot| spot.system == system && !spot.grace);
        spots
            .min_by(|a, b| (a.x - x).abs().total_cmp(&(b.x - x).abs()))
            .copied()
    }

    fn dynamic(
        &mut self,
        system: usize,
        mark: &Beside,
        hairpin: &mut Option<(SpanKind, Place, Beside, usize)>,
    ) {
        let Some(spot) = self.nearest(system, mark.x) else {
            return;
        };
        let kind = match mark.name {
            "cresc" => SpanKind::Crescendo { niente: false },
            "dim" => SpanKind::Diminuendo { niente: false },
            "cresc_end" | "dim_end" => {
                let past = mark.x > spot.x + NEAR;
                let end = if past { spot.end } else { spot.place };
                match hairpin.take() {
                    Some((kind, start, ..)) if start <= end => {
                        self.span(kind, Some(free(start)), Some(free(end)))
                    }
                    Some((kind, start, ..)) => {
                        self.span(kind, Some(free(start)), Some(free(spot.end)));
                    }
                    None => {
                        self.told.open(spot.place, "hairpin", true);
                        let kind = if mark.name == "dim_end" {
                            SpanKind::Diminuendo { niente: false }
                        } else {
                            SpanKind::Crescendo { niente: false }
                        };
                        self.span(kind, None, Some(free(end)));
                    }
                }
                return;
            }
            name => {
                self.direction(system, mark, spot.place, DirectionKind::Dynamic(name.to_owned()));
                // A hairpin whose end was not seen leads to the next dynamic. Source: common practice. It is asked about only where that
                // dynamic is far away, or tells of no such change.
                let before = self.loud;
                self.loud = loudness(name).or(before);
                if let Some((kind, start, ..)) = hairpin.take_if(|(_, start, ..)| *start < spot.place) {
                    let near = spot.place.bar.get() - start.bar.get() <= NEAR_BARS;
                    if !(near && leads_to(&kind, before, loudness(name))) {
                        self.told.open(start, "hairpin", false);
                    }
                    self.span(kind, Some(free(start)), Some(free(spot.place)));
                }
                return;
            }
        };
        if let Some((kind, start, ..)) = hairpin.take() {
            self.told.open(start, "hairpin", false);
            self.span(kind, Some(free(start)), Some(free(spot.place)));
        }
        *hairpin = Some((kind, spot.place, mark.clone(), system));
    }

    pub(super) fn direction(&mut self, system: usize, mark: &Beside, place: Place, kind: DirectionKind) {
        let id = self.piece.ids.give(IdKind::Direction);
        self.beside_origin(id, system, mark);
        self.told.beside(place, mark);
        self.part.directions.push(Direction {
            id,
            place,
            staff: None,
            voice: None,
            side: None,
            printed: true,
            kind,
        });
    }

    fn beside_origin(&mut self, id: Id, system: usize, mark: &Beside) {
        if let Some(system) = self.systems.get(system) {
            let origin = Origin {
                confidence: Some(mark.sure),
                page_box: Some(page_box(system, mark.x)),
                ..Origin::default()
            };
            self.piece.provenance.origins.insert(id, origin);
        }
    }

    /// The bar of a system in which x lies, by where its left (or right) edge stands.
    pub(super) fn bar_near(&self, system: usize, x: f32, by_end: bool) -> Option<BarIndex> {
        let bars = self.bar_spots.iter().filter(|bar| bar.system == system);
        if by_end {
            let width = self.systems.get(system)?.width;
            let off = |to: f32| (to.min(width) - x).abs();
            bars.min_by(|a, b| off(a.to).total_cmp(&off(b.to)))
                .map(|bar| bar.last)
        } else {
            let inside = bars
                .clone()
                .filter(|bar| bar.from <= x + NEAR)
                .max_by(|a, b| a.from.total_cmp(&b.from));
            inside.or_else(|| bars.clone().next()).map(|bar| bar.first)
        }
    }

    fn road(&mut self, system: usize, road: &Beside) {
        match road.name {
            "segno" | "coda" => {
                let kind = if road.name == "segno" {
                    DirectionKind::Segno
                } else {
                    DirectionKind::Coda
                };
                if let Some(bar) = self.bar_near(system, road.x, false) {
                    self.road_sign(system, road, Place::start_of(bar), kind);
                }
            }
            "breath" | "caesura" => self.breath(system, road),
            "vend" => {
                if let Some(bar) = self.bar_near(system, road.x, true) {
                    self.ending(bar, BarSide::Right, "", (system, road));
                }
            }
            name if name.starts_with('v') => {
                if let Some(bar) = self.bar_near(system, road.x, false) {
                    let numbers: Vec<String> = name.chars().skip(1).map(String::from).collect();
                    self.ending(bar, BarSide::Left, &numbers.join(", "), (system, road));
                }
            }
            _ => {}
        }
    }

    fn breath(&mut self, system: usize, road: &Beside) {
        let before = self
            .spots
            .iter()
            .filter(|spot| spot.system == system && !spot.grace && spot.note && spot.x < road.x + NEAR * 0.3)
            .max_by(|a, b| a.x.total_cmp(&b.x))
            .copied();
        let Some(spot) = before else { return };
        self.told.beside(spot.place, road);
        if let Some(event) = self.part.events.get_mut(spot.event) {
            event.articulations.push(Articulation {
                kind: if road.name == "breath" {
                    ArticulationKind::BreathMark("comma".to_owned())
                } else {
                    ArticulationKind::Caesura(String::new())
                },
                side: None,
            });
        }
    }
}

fn held(spot: &Spot) -> Anchor {
    Anchor {
        place: spot.place,
        element: Some(spot.id),
    }
}

fn free(place: Place) -> Anchor {
    Anchor { place, element: None }
}

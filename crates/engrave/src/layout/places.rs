//! Where does everything stand on paper? From the engraver's boxes to millimetres on pages, by our ids.

use super::DrawnBySystem;
use super::sheet::Sheet;
use crate::printable::Printable;
use job::{Engraved, Rect};
use notation::{BarGroupKind, BarIndex, Id, Piece};
use std::collections::BTreeMap;

/// Where everything stands: bars, events, heads, directions, spans, and the pencil marks.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Places {
    /// By our id. Something that reaches over several systems stands in several places.
    pub of: BTreeMap<Id, Vec<Spot>>,
    /// By the mark's index in the list given; empty for a mark that was not drawn.
    pub marks: Vec<Vec<Spot>>,
}

/// One place on paper.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Spot {
    /// The page, from 0.
    pub page: usize,
    /// The system in the whole part, from 0.
    pub system: usize,
    /// The rectangle on the page, in millimetres from its upper left corner.
    pub rect_mm: Rect,
}

#[expect(clippy::too_many_arguments, reason = "everything that laying out has found")]
pub(super) fn places(
    piece: &Piece,
    printable: &Printable,
    engraved: &Engraved,
    sheet: &Sheet,
    starts: &[usize],
    tops: &[f64],
    drawn: &DrawnBySystem,
    marks: usize,
) -> Places {
    let ids = drawn_ids(piece);
    let mut places = Places {
        of: BTreeMap::new(),
        marks: vec![Vec::new(); marks],
    };
    for (page, pair) in starts.windows(2).enumerate() {
        for system in pair[0]..pair[1] {
            let (Some(of), Some(top)) = (engraved.systems.get(system), tops.get(system)) else {
                continue;
            };
            let spot = |rect: &Rect| Spot {
                page,
                system,
                rect_mm: Rect {
                    x: (rect.x - of.staff.x + sheet.side) * sheet.unit_mm,
                    y: (rect.y - of.staff.y + top) * sheet.unit_mm,
                    w: rect.w * sheet.unit_mm,
                    h: rect.h * sheet.unit_mm,
                },
            };
            for boxed in &of.boxes {
                if let Some(id) = ids.get(boxed.id.as_str()) {
                    places.of.entry(*id).or_default().push(spot(&boxed.rect));
                }
            }
            for mark in drawn.get(system).into_iter().flatten() {
                if let Some(list) = places.marks.get_mut(mark.mark) {
                    list.push(spot(&mark.rect));
                }
            }
        }
    }
    for (id, drawn) in &printable.drawn_as {
        if let Some(spots) = places.of.get(drawn).cloned() {
            places.of.entry(*id).or_insert(spots);
        }
    }
    share_signs(piece, &mut places);
    places
}

/// Everything of ours that can be drawn, by the name it is drawn under.
pub(crate) fn drawn_ids(piece: &Piece) -> BTreeMap<String, Id> {
    let bars = piece.bars.iter().map(|bar| bar.id);
    let parts = piece.parts.iter().flat_map(|part| {
        let events = part
            .events
            .iter()
            .flat_map(|event| std::iter::once(event.id).chain(event.heads().iter().map(|head| head.id)));
        let directions = part.directions.iter().map(|direction| direction.id);
        let spans = part.spans.iter().map(|span| span.id);
        let groups = part.bar_groups.iter().map(|group| group.id);
        let clefs = part.clefs.iter().map(|change| change.id);
        let keys = part.keys.iter().map(|change| change.id);
        let metres = part.metres.iter().map(|change| change.id);
        events
            .chain(directions)
            .chain(spans)
            .chain(groups)
            .chain(clefs)
            .chain(keys)
            .chain(metres)
    });
    bars.chain(parts).map(|id| (id.to_string(), id)).collect()
}

/// The bars of a rest drawn as one sign stand where its first one stands.
fn share_signs(piece: &Piece, places: &mut Places) {
    let groups = piece.parts.iter().flat_map(|part| &part.bar_groups);
    for group in groups.filter(|group| group.kind == BarGroupKind::MultiRest) {
        let of = |bar: u32| piece.bars.get(BarIndex(bar).get()).map(|bar| bar.id);
        let Some(first) = of(group.start.0).and_then(|id| places.of.get(&id)).cloned() else {
            continue;
        };
        for bar in (1..group.bars)
            .filter_map(|n| group.start.0.checked_add(n))
            .map_while(of)
        {
            places.of.entry(bar).or_insert_with(|| first.clone());
        }
    }
}

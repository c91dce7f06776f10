//! Where do marks of different sort stand against each other in one bar? A marcato downbeat against staccato.

use crate::Context;
use notation::{ArticulationKind, BarIndex, Id, Place};

/// What a mark does to a note.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Sort {
    Heavy,
    Short,
    Long,
}

fn sort_of(kind: &ArticulationKind) -> Option<Sort> {
    match kind {
        ArticulationKind::Accent | ArticulationKind::Marcato | ArticulationKind::Stress => Some(Sort::Heavy),
        ArticulationKind::Staccato | ArticulationKind::Staccatissimo | ArticulationKind::Spiccato => {
            Some(Sort::Short)
        }
        ArticulationKind::Tenuto | ArticulationKind::Portato => Some(Sort::Long),
        _ => None,
    }
}

/// A bar with marks of different sorts on different notes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Contrast {
    /// The bar.
    pub bar: BarIndex,
    /// The first mark of each sort, and where, in order.
    pub marks: Vec<(String, (Place, Id))>,
}

impl Contrast {
    /// `marcato on the downbeat against staccato`.
    #[must_use]
    pub fn says(&self) -> String {
        let said: Vec<String> = self
            .marks
            .iter()
            .map(|(mark, (place, _))| {
                if place.offset.is_zero() {
                    format!("{mark} on the downbeat")
                } else {
                    mark.clone()
                }
            })
            .collect();
        said.join(" against ")
    }
}

pub(super) fn contrasts(ctx: &Context) -> Vec<Contrast> {
    let mut found = Vec::new();
    for index in 0..ctx.piece.bars.len() {
        let bar = BarIndex::from_usize(index);
        let mut seen: Vec<(Sort, String, (Place, Id))> = Vec::new();
        for event in ctx.part.bar_events(bar).iter().filter(|e| !e.cue && e.printed) {
            let mut sorts: Vec<(Sort, &str)> = Vec::new();
            for articulation in &event.articulations {
                if let Some(sort) = sort_of(&articulation.kind) {
                    sorts.push((sort, articulation.kind.mark()));
                }
            }
            // On one note the strongest decides: an accent with a dot is an accent.
            let heavy = sorts.iter().find(|(sort, _)| *sort == Sort::Heavy);
            if let Some((sort, mark)) = heavy.or(sorts.first())
                && !seen.iter().any(|(s, ..)| s == sort)
            {
                seen.push((*sort, (*mark).to_owned(), (event.place, event.id)));
            }
        }
        if seen.len() > 1 {
            found.push(Contrast {
                bar,
                marks: seen.into_iter().map(|(_, mark, at)| (mark, at)).collect(),
            });
        }
    }
    found
}

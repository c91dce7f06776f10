//! Which marks stand on the page, how often and where?

use super::meaning::{mark_meaning, technical_meaning};
use crate::Context;
use instruments::Family;
use notation::{ArticulationKind, BarIndex, DirectionKind, Event, Id, Place};

/// One sort of mark.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct MarkCount {
    /// The trade's word (`staccato`, `up-bow`).
    pub mark: String,
    /// How often.
    pub count: usize,
    /// The bars, each once, in order.
    pub bars: Vec<BarIndex>,
    /// Every place.
    pub at: Vec<(Place, Id)>,
    /// What it means on this instrument; empty if we have nothing to say.
    pub means: String,
}

/// Words that say how to play.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TechniqueWord {
    /// As printed.
    pub text: String,
    /// What they mean.
    pub meaning: String,
    /// Where.
    pub place: Place,
    /// The direction.
    pub element: Id,
}

pub(super) struct Found {
    pub(super) marks: Vec<MarkCount>,
    pub(super) technical: Vec<MarkCount>,
    pub(super) breath_marks: Vec<(Place, Id)>,
    pub(super) caesuras: Vec<(Place, Id)>,
}

pub(super) fn marks(ctx: &Context, family: Option<Family>) -> Found {
    let mut found = Found {
        marks: Vec::new(),
        technical: Vec::new(),
        breath_marks: Vec::new(),
        caesuras: Vec::new(),
    };
    for event in ctx.part.events.iter().filter(|e| !e.cue && e.printed) {
        let here = (event.place, event.id);
        for articulation in &event.articulations {
            match articulation.kind {
                ArticulationKind::BreathMark(_) => found.breath_marks.push(here),
                ArticulationKind::Caesura(_) => found.caesuras.push(here),
                _ => {}
            }
            count(&mut found.marks, articulation.kind.mark(), here, || {
                mark_meaning(&articulation.kind, family).to_owned()
            });
        }
        for name in technical(event) {
            count(&mut found.technical, name, here, || {
                technical_meaning(name, family).to_owned()
            });
        }
    }
    found
}

fn technical(event: &Event) -> impl Iterator<Item = &str> {
    let heads = event.heads().iter().flat_map(|head| &head.technical);
    event.technical.iter().chain(heads).map(|mark| mark.name.as_str())
}

fn count(list: &mut Vec<MarkCount>, mark: &str, here: (Place, Id), means: impl FnOnce() -> String) {
    let entry = match list.iter().position(|m| m.mark == mark) {
        Some(index) => list.get_mut(index),
        None => {
            list.push(MarkCount {
                mark: mark.to_owned(),
                count: 0,
                bars: Vec::new(),
                at: Vec::new(),
                means: means(),
            });
            list.last_mut()
        }
    };
    let Some(entry) = entry else { return };
    entry.count += 1;
    entry.at.push(here);
    if entry.bars.last() != Some(&here.0.bar) {
        entry.bars.push(here.0.bar);
    }
}

/// Directions in words whose meaning is a technique or an articulation.
pub(super) fn words(ctx: &Context) -> Vec<TechniqueWord> {
    ctx.part
        .directions
        .iter()
        .filter_map(|direction| {
            let DirectionKind::Words(text) = &direction.kind else {
                return None;
            };
            let reading = ::terms::read(text);
            let has = |wanted: ::terms::Kind| reading.kinds.contains(&wanted);
            // The "sostenuto" of "Andante sostenuto" belongs to the tempo.
            let technique = (has(::terms::Kind::Technique) || has(::terms::Kind::Articulation))
                && !has(::terms::Kind::Tempo);
            technique.then(|| TechniqueWord {
                text: text.split_whitespace().collect::<Vec<_>>().join(" "),
                meaning: reading.meaning.unwrap_or_default(),
                place: direction.place,
                element: direction.id,
            })
        })
        .collect()
}

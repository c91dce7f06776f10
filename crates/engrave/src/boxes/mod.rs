//! Where is what the engraver tells no box of, and what does it tell wrongly? Words get their boxes, what stands in several
//! systems gets one in each, and words that meet others or leave the page are moved.

mod texts;
mod tidy;

use job::{Boxed, Engraved, Rect, STAFF_HEIGHT, System};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

/// The engraved systems with all boxes, and their drawings with words moved where they have to be.
pub(crate) struct Complete<'a> {
    /// The systems.
    pub engraved: Engraved,
    /// Their drawings, without the definitions.
    pub svgs: Vec<Cow<'a, str>>,
}

/// Completes what the press answered; `svgs` are the definitions and then a drawing for each system, `width` is how wide a
/// system may be.
pub(crate) fn complete<'a>(engraved: &Engraved, svgs: &'a [String], width: f64) -> Complete<'a> {
    let staves: Vec<Rect> = engraved.systems.iter().map(|system| system.staff).collect();
    let shared = shared(engraved);
    let mut done = Complete {
        engraved: Engraved {
            systems: Vec::with_capacity(engraved.systems.len()),
            complaints: engraved.complaints.clone(),
        },
        svgs: Vec::with_capacity(engraved.systems.len()),
    };
    for (index, system) in engraved.systems.iter().enumerate() {
        let svg = svgs.get(index + 1).map_or("", String::as_str);
        let mut system = system.clone();
        system
            .boxes
            .retain(|boxed| is_own(boxed, index, &staves, &shared));
        let words = texts::texts(svg);
        add_words(&mut system, &words);
        if system.ink.is_none() {
            system.bounds = bounds(&system);
        }
        let moved = tidy::tidy(&mut system, &words, width);
        done.svgs.push(tidy::moved(svg, &moved));
        done.engraved.systems.push(system);
    }
    done
}

/// The ids that stand in more than one system.
fn shared(engraved: &Engraved) -> BTreeSet<String> {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let mut shared = BTreeSet::new();
    for (index, system) in engraved.systems.iter().enumerate() {
        for boxed in &system.boxes {
            if *seen.entry(boxed.id.as_str()).or_insert(index) != index {
                shared.insert(boxed.id.clone());
            }
        }
    }
    shared
}

/// The engraver knows one box of what reaches over several systems, and tells it in each: it is that of the staff it lies at.
fn is_own(boxed: &Boxed, index: usize, staves: &[Rect], shared: &BTreeSet<String>) -> bool {
    let middle = boxed.rect.y + boxed.rect.h / 2.0;
    let away = |staff: &Rect| (staff.y - middle).max(middle - staff.bottom()).max(0.0);
    let Some(own) = staves.get(index).map(away) else {
        return true;
    };
    let near = [index.checked_sub(1), index.checked_add(1)];
    let near = near.into_iter().flatten().filter_map(|at| staves.get(at));
    let nearest = near.map(away).fold(f64::INFINITY, f64::min);
    own <= nearest || !shared.contains(&boxed.id) && own < FAR
}

/// Nothing of a system is farther from its staff, in units.
const FAR: f64 = 6.0 * STAFF_HEIGHT;

fn add_words(system: &mut System, words: &[texts::Words]) {
    for word in words {
        let known = system
            .boxes
            .iter()
            .any(|boxed| boxed.id == word.id && boxed.rect.w > 0.0);
        if !known {
            system.boxes.push(Boxed {
                id: word.id.clone(),
                class: word.class.clone(),
                measure: word.measure.clone(),
                rect: word.rect,
            });
        }
    }
}

/// Around all boxes; only for systems without an ink map, which knows better.
fn bounds(system: &System) -> Rect {
    let drawn = system
        .boxes
        .iter()
        .map(|boxed| &boxed.rect)
        .filter(|rect| rect.w > 0.0 || rect.h > 0.0);
    drawn.fold(system.staff, |all, rect| all.around(rect))
}

#[cfg(test)]
mod tests;

//! Which letters does the signature alter, how often do they come, and where first?

use super::signature::SignatureRegion;
use crate::context::Context;
use notation::{Alter, Place, Step};

/// A letter that a signature alters.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct AlteredLetter {
    /// The letter.
    pub letter: Step,
    /// What the signature does to it, in semitones.
    pub alter: Alter,
    /// From where that signature holds.
    pub since: Place,
    /// How many notes on that letter take the signature's alteration (notes tied over count once, grace notes count).
    pub count: u32,
    /// How many notes on that letter are altered otherwise.
    pub otherwise: u32,
    /// The first note that takes it.
    pub first: Option<Place>,
}

/// The altered letters of each signature, in printed order.
#[must_use]
pub fn altered_letters(ctx: &Context<'_>, regions: &[SignatureRegion]) -> Vec<AlteredLetter> {
    let mut letters = Vec::new();
    for (i, region) in regions.iter().enumerate() {
        let until = regions.get(i + 1).map(|next| next.place);
        let mut here: Vec<AlteredLetter> = region
            .signature
            .altered()
            .into_iter()
            .map(|(letter, alter)| AlteredLetter {
                letter,
                alter,
                since: region.place,
                count: 0,
                otherwise: 0,
                first: None,
            })
            .collect();
        if !here.is_empty() {
            count(ctx, region.place, until, &mut here);
        }
        letters.append(&mut here);
    }
    letters
}

fn count(ctx: &Context<'_>, from: Place, until: Option<Place>, letters: &mut [AlteredLetter]) {
    let events = &ctx.part.events;
    let start = events.partition_point(|event| event.place < from);
    let within = events[start..]
        .iter()
        .take_while(|event| until.is_none_or(|until| event.place < until));
    for event in within.filter(|event| !event.cue) {
        for head in event.heads().iter().filter(|head| !head.tie_stop) {
            let Some(pitch) = head.pitch() else { continue };
            for letter in letters.iter_mut().filter(|letter| letter.letter == pitch.step) {
                if letter.alter == pitch.alter {
                    letter.count += 1;
                    letter.first.get_or_insert(event.place);
                } else {
                    letter.otherwise += 1;
                }
            }
        }
    }
}

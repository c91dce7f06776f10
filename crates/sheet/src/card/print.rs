//! How does the card reach the typesetter? Cards of a postcard's size, two on a sheet, with lines to cut along.

use super::steps::with_bars;
use super::{Card, Look};
use crate::prep::Excerpts;
use crate::typst::{Paper, Typ, TypstSheet};
use crate::words::{BarWord, held};

/// How the cards look; kept apart so that it can be read.
const TEMPLATE: &str = concat!(include_str!("../typ/signs.typ"), include_str!("../typ/card.typ"));

/// The cards as a document for the typesetter: two on each page, 105 × 148 mm each (A6, ISO 216).
#[must_use]
pub fn card_typst(cards: &[Card], excerpts: &Excerpts, paper: Paper, bar_word: BarWord) -> TypstSheet {
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    let data = Typ::Dict(vec![
        ("paper", Typ::text(paper.name())),
        (
            "cards",
            Typ::List(
                cards
                    .iter()
                    .map(|card| one(card, excerpts, bar_word, &mut files))
                    .collect(),
            ),
        ),
    ]);
    TypstSheet {
        source: format!("{TEMPLATE}\n#cards({})\n", data.source()),
        files,
    }
}

fn one(card: &Card, excerpts: &Excerpts, bar_word: BarWord, files: &mut Vec<(String, Vec<u8>)>) -> Typ {
    let slot = card.slot.as_ref();
    let picture = slot.and_then(|slot| Some((slot, excerpts.get(&slot.id)?)));
    let picture = picture.map_or(Typ::None, |(slot, excerpt)| {
        let name = format!("{}.svg", slot.id);
        if !files.iter().any(|(known, _)| *known == name) {
            files.push((name.clone(), excerpt.svg.clone().into_bytes()));
        }
        Typ::Dict(vec![
            ("file", Typ::text(name)),
            ("width", Typ::Number(excerpt.width_mm)),
            ("alt", Typ::text(bar_word.say(&slot.alt))),
        ])
    });
    let steps = card.timed();
    let step = |(from, to, step): &(u16, u16, &super::Step)| {
        Typ::Dict(vec![
            ("from", Typ::Text(from.to_string())),
            ("to", Typ::Text(to.to_string())),
            ("name", Typ::text(bar_word.say(step.look.name()))),
            ("says", Typ::Text(held(&bar_word.say(&with_bars(step))))),
            ("doing", Typ::text(bar_word.say(step.doing))),
            ("dynamics", Typ::Yes(step.look == Look::Dynamics)),
            ("hardest", Typ::Yes(step.look == Look::Hardest)),
        ])
    };
    Typ::Dict(vec![
        ("title", Typ::text(&card.title)),
        (
            "facts",
            Typ::list(&card.facts, |fact| Typ::text(bar_word.say(fact))),
        ),
        ("seconds", Typ::Text(card.seconds.to_string())),
        ("picture", picture),
        ("steps", Typ::list(&steps, step)),
    ])
}

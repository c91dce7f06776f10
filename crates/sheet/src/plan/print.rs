//! How does the plan's page reach the typesetter? Our template, and after it the page as one literal.

use super::page::{DayCard, How, PlanPage, SpotCard, TurnLine};
use crate::prep::Excerpts;
use crate::typst::{Paper, Typ, TypstSheet};
use crate::words::{BarWord, held};

/// How the page looks; kept apart so that it can be read.
const TEMPLATE: &str = concat!(include_str!("../typ/signs.typ"), include_str!("../typ/plan.typ"));

/// The page as a document for the typesetter.
#[must_use]
pub fn plan_typst(page: &PlanPage, excerpts: &Excerpts, paper: Paper, bar_word: BarWord) -> TypstSheet {
    let mut files = Vec::new();
    let data = data(page, excerpts, paper, bar_word, "", &mut files);
    TypstSheet {
        source: format!("{TEMPLATE}\n#plan({})\n", data.source()),
        files,
    }
}

/// Several pages as one document, each with its own word for a bar, on leaves of their own; printed on both sides each begins
/// on a right-hand page.
#[must_use]
pub fn plans_typst(pages: &[(PlanPage, Excerpts, BarWord)], paper: Paper, double_sided: bool) -> TypstSheet {
    let mut files = Vec::new();
    let mut all = Vec::new();
    for (number, (page, excerpts, bar_word)) in pages.iter().enumerate() {
        let prefix = format!("{}-", number + 1);
        all.push(data(page, excerpts, paper, *bar_word, &prefix, &mut files));
    }
    let all = Typ::List(all).source();
    TypstSheet {
        source: format!("{TEMPLATE}\n#plans({all}, {double_sided})\n"),
        files,
    }
}

/// A page as a literal; its pictures are called by their slots after a prefix.
fn data(
    page: &PlanPage,
    excerpts: &Excerpts,
    paper: Paper,
    bar_word: BarWord,
    prefix: &str,
    files: &mut Vec<(String, Vec<u8>)>,
) -> Typ {
    let say = |text: &str| Typ::Text(held(&bar_word.say(text)));
    let all = |texts: &[String]| Typ::list(texts, |text| say(text));
    let turn = |turn: &TurnLine| {
        Typ::Dict(vec![
            ("minutes", Typ::text(&turn.minutes)),
            ("name", say(&turn.name)),
            ("bars", say(&turn.bars)),
            ("tempo", say(&turn.tempo)),
            ("how", say(&turn.how)),
            ("why", say(&turn.why)),
            ("rest", Typ::Yes(turn.rest)),
            ("reached", Typ::Yes(turn.reached)),
        ])
    };
    let day = |day: &DayCard| {
        Typ::Dict(vec![
            ("name", Typ::text(&day.name)),
            ("minutes", Typ::text(&day.minutes)),
            ("about", say(&day.about)),
            ("turns", Typ::list(&day.turns, turn)),
        ])
    };
    let how = |how: &How| {
        Typ::Dict(vec![
            ("name", say(&how.name)),
            ("what", say(&how.what)),
            ("stop", say(&how.stop)),
        ])
    };
    let mut spots = Vec::new();
    for spot in &page.spots {
        spots.push(self::spot(page, spot, excerpts, &say, (prefix, files)));
    }
    let pair = |(name, text): &(String, String)| Typ::Dict(vec![("name", say(name)), ("text", say(text))]);
    Typ::Dict(vec![
        ("paper", Typ::text(paper.name())),
        ("title", Typ::text(&page.title)),
        ("facts", all(&page.facts)),
        ("handed", Typ::list(&page.handed, Typ::text)),
        ("span", Typ::text(&page.span)),
        ("milestones", Typ::list(&page.milestones, pair)),
        ("days", Typ::list(&page.days, day)),
        ("how", Typ::list(&page.how, how)),
        ("spots", Typ::List(spots)),
        ("left", all(&page.left)),
        ("cautions", all(&page.cautions)),
    ])
}

fn spot(
    page: &PlanPage,
    spot: &SpotCard,
    excerpts: &Excerpts,
    say: &impl Fn(&str) -> Typ,
    (prefix, files): (&str, &mut Vec<(String, Vec<u8>)>),
) -> Typ {
    let slot = page.slots.iter().find(|slot| slot.slot.id == spot.slot);
    let picture = slot
        .zip(excerpts.get(&spot.slot))
        .map_or(Typ::None, |(slot, excerpt)| {
            let name = format!("{prefix}{}.svg", spot.slot);
            files.push((name.clone(), excerpt.svg.clone().into_bytes()));
            Typ::Dict(vec![
                ("file", Typ::text(name)),
                ("width", Typ::Number(excerpt.width_mm)),
                ("alt", say(&slot.slot.alt)),
            ])
        });
    Typ::Dict(vec![
        ("bars", say(&spot.bars)),
        ("why", say(&spot.why)),
        ("doing", say(&spot.doing)),
        ("picture", picture),
    ])
}

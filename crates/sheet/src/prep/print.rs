//! How does the sheet reach the typesetter? Our template, and after it the sheet as one literal.

use super::{
    Answer, Bracket, Breathing, Climb, Detail, Excerpts, Fingers, Gloss, PrepSheet, Returns, Short, Slot,
};
use crate::letters::has_all;
use crate::terminal::said;
use crate::typst::{Paper, Typ, TypstSheet};
use crate::words::BarWord;
use crate::words::held;

/// How the pages look; kept apart so that it can be read.
const TEMPLATE: &str = concat!(include_str!("../typ/signs.typ"), include_str!("../typ/prep.typ"));

/// The sheet as a document for the typesetter. It has up to two pages at a level that fits; how many it really has is
/// known only after typesetting: while there are more, take the next [`PrepSheet::at`].
#[must_use]
pub fn prep_typst(sheet: &PrepSheet, excerpts: &Excerpts, paper: Paper, bar_word: BarWord) -> TypstSheet {
    let mut writer = Writer {
        bar_word,
        slots: &sheet.slots,
        excerpts,
        files: Vec::new(),
    };
    let data = writer.sheet(sheet, paper);
    TypstSheet {
        source: format!("{TEMPLATE}\n#prep({})\n", data.source()),
        files: writer.files,
    }
}

/// The title of a drawing of ours: what it shows in words.
fn words(svg: &str) -> String {
    let title = svg
        .split("<title>")
        .nth(1)
        .and_then(|rest| rest.split("</title>").next());
    let title = title
        .unwrap_or_default()
        .replace("&lt;", "<")
        .replace("&gt;", ">");
    title.replace("&amp;", "&")
}

/// Whether something from the file can't be printed.
fn lacks(sheet: &PrepSheet) -> bool {
    let words = sheet.glossary.items.iter().map(|gloss| &gloss.term);
    let given = sheet.facts.iter().chain(&sheet.handed).chain(words);
    given.chain([&sheet.title]).any(|text| !has_all(text))
}

const LACKING: &str = "Where “…” stands in the title or a name, the printing fonts don't have its letters: they are on the page on \
                       screen.";

struct Writer<'a> {
    bar_word: BarWord,
    slots: &'a [Slot],
    excerpts: &'a Excerpts,
    files: Vec<(String, Vec<u8>)>,
}

impl Writer<'_> {
    fn say(&self, text: &str) -> Typ {
        Typ::Text(held(&self.bar_word.say(text)))
    }

    fn all(&self, texts: &[String]) -> Typ {
        Typ::list(texts, |text| self.say(text))
    }

    /// Bars as they are said (`bars 4–7`), or nothing.
    fn bars(&self, bars: &[String]) -> Typ {
        if bars.is_empty() {
            Typ::None
        } else {
            self.say(&said(bars))
        }
    }

    fn sheet(&mut self, sheet: &PrepSheet, paper: Paper) -> Typ {
        // The least levels are set a little smaller, too.
        let size = match sheet.level {
            0 => 10.0,
            1 => 9.6,
            2 => 9.3,
            3 => 9.0,
            _ => 8.7,
        };
        let mut cautions = sheet.cautions.clone();
        if lacks(sheet) {
            cautions.push(LACKING.to_owned());
        }
        Typ::Dict(vec![
            ("paper", Typ::text(paper.name())),
            ("size", Typ::Number(size)),
            ("title", Typ::text(&sheet.title)),
            ("facts", self.all(&sheet.facts)),
            ("handed", Typ::list(&sheet.handed, Typ::text)),
            ("look", self.brackets(&sheet.look_first)),
            (
                "answers",
                Typ::List(sheet.answers.iter().map(|answer| self.answer(answer)).collect()),
            ),
            ("spots", self.brackets(&sheet.spots)),
            (
                "climb",
                sheet.climb.as_ref().map_or(Typ::None, |climb| self.climb(climb)),
            ),
            (
                "fingers",
                sheet
                    .fingers
                    .as_ref()
                    .map_or(Typ::None, |fingers| self.fingers(fingers)),
            ),
            (
                "breath",
                sheet
                    .breath
                    .as_ref()
                    .map_or(Typ::None, |breath| self.breath(breath)),
            ),
            (
                "returns",
                sheet
                    .returns
                    .as_ref()
                    .map_or(Typ::None, |returns| self.returns(returns)),
            ),
            ("words", self.short(&sheet.glossary, |gloss| self.gloss(gloss))),
            ("cautions", self.all(&cautions)),
        ])
    }

    fn short<T>(&self, list: &Short<T>, each: impl Fn(&T) -> Typ) -> Typ {
        let more = match list.more {
            0 => Typ::None,
            more => Typ::Text(format!("+ {more} more on the full survey")),
        };
        Typ::Dict(vec![("items", Typ::list(&list.items, each)), ("more", more)])
    }

    /// The picture of a slot, if it was brought: its file goes with the source.
    fn picture(&mut self, slot: Option<&String>) -> Typ {
        let Some(id) = slot else { return Typ::None };
        let slot = self.slots.iter().find(|slot| slot.id == *id);
        let Some((slot, excerpt)) = slot.zip(self.excerpts.get(id)) else {
            return Typ::None;
        };
        let name = format!("{id}.svg");
        self.files.push((name.clone(), excerpt.svg.clone().into_bytes()));
        Typ::Dict(vec![
            ("file", Typ::text(name)),
            ("width", Typ::Number(excerpt.width_mm)),
            ("alt", self.say(&slot.alt)),
        ])
    }

    fn brackets(&mut self, list: &Short<Bracket>) -> Typ {
        let pictures: Vec<Typ> = list
            .items
            .iter()
            .map(|item| self.picture(item.slot.as_ref()))
            .collect();
        let items = list.items.iter().zip(pictures).map(|(item, picture)| {
            Typ::Dict(vec![
                ("rank", Typ::Text(item.rank.to_string())),
                ("bars", self.say(&item.bars)),
                ("into", self.say(&item.into)),
                ("why", self.all(&item.reasons)),
                ("doing", self.say(&item.doing)),
                ("also", self.say(&item.also)),
                ("picture", picture),
            ])
        });
        let items = items.collect();
        let more = self.short::<Bracket>(
            &Short {
                items: Vec::new(),
                more: list.more,
            },
            |_| Typ::None,
        );
        let Typ::Dict(mut pairs) = more else {
            return Typ::None;
        };
        if let Some(first) = pairs.first_mut() {
            first.1 = Typ::List(items);
        }
        Typ::Dict(pairs)
    }

    fn answer(&mut self, answer: &Answer) -> Typ {
        let picture = self.picture(answer.slot.as_ref());
        Typ::Dict(vec![
            ("name", self.say(answer.name)),
            ("says", self.say(&answer.says)),
            ("dynamics", Typ::Yes(answer.id == "dynamics")),
            (
                "details",
                Typ::list(&answer.details, |detail| self.detail(detail)),
            ),
            ("picture", picture),
        ])
    }

    fn detail(&self, detail: &Detail) -> Typ {
        Typ::Dict(vec![
            ("label", self.say(&detail.label)),
            ("text", self.say(&detail.text)),
            ("bars", self.bars(&detail.bars)),
        ])
    }

    fn climb(&self, climb: &Climb) -> Typ {
        let rung = |tick: &crate::model::Tick| {
            Typ::Dict(vec![
                ("tempo", self.say(&tick.tempo)),
                ("click", self.say(&tick.click)),
                ("fewest", Typ::Number(f64::from(tick.times.0))),
                ("most", Typ::Number(f64::from(tick.times.1))),
            ])
        };
        Typ::Dict(vec![
            ("says", self.say(&climb.says)),
            ("details", Typ::list(&climb.details, |detail| self.detail(detail))),
            ("rungs", self.short(&climb.rungs, rung)),
            ("advice", self.say(&climb.advice)),
        ])
    }

    fn fingers(&mut self, fingers: &Fingers) -> Typ {
        let mut files = Vec::new();
        let mut items = Vec::new();
        for (number, note) in fingers.notes.items.iter().enumerate() {
            let pictures = note.pictures.iter().enumerate().map(|(which, picture)| {
                let name = format!("fingering-{number}-{which}.svg");
                files.push((name.clone(), picture.svg.clone().into_bytes()));
                Typ::Dict(vec![
                    ("file", Typ::text(name)),
                    ("caption", Typ::text(&picture.caption)),
                    (
                        "alt",
                        Typ::text(format!("{}: {}", note.note, words(&picture.svg))),
                    ),
                ])
            });
            let pictures = Typ::List(pictures.collect());
            items.push(Typ::Dict(vec![
                ("note", Typ::text(&note.note)),
                ("text", self.say(&note.text)),
                ("bars", self.bars(&note.bars)),
                ("pictures", pictures),
            ]));
        }
        self.files.extend(files);
        let more = match fingers.notes.more {
            0 => Typ::None,
            more => Typ::Text(format!("+ {more} more on the full survey")),
        };
        Typ::Dict(vec![
            ("says", self.say(&fingers.says)),
            ("items", Typ::List(items)),
            ("more", more),
            (
                "details",
                Typ::list(&fingers.details, |detail| self.detail(detail)),
            ),
        ])
    }

    fn breath(&self, breath: &Breathing) -> Typ {
        let sign = |detail: &Detail| {
            Typ::Dict(vec![
                ("sign", Typ::text(&detail.label)),
                ("place", self.say(&detail.text)),
            ])
        };
        Typ::Dict(vec![
            ("name", self.say(&breath.name)),
            ("says", self.say(&breath.says)),
            ("signs", self.short(&breath.signs, sign)),
        ])
    }

    fn returns(&self, returns: &Returns) -> Typ {
        Typ::Dict(vec![
            ("says", self.say(&returns.says)),
            ("form", self.say(&returns.form)),
            ("bars", self.short(&returns.bars, |detail| self.detail(detail))),
        ])
    }

    fn gloss(&self, gloss: &Gloss) -> Typ {
        Typ::Dict(vec![
            ("term", Typ::text(&gloss.term)),
            ("meaning", Typ::text(&gloss.meaning)),
            ("bars", self.bars(&gloss.bars)),
            ("dynamic", Typ::Yes(gloss.dynamic)),
        ])
    }
}

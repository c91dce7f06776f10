//! How do the questions of looking first stand on paper, and what there is to see behind them? In words, or for the typesetter.

use crate::prep::Handed;
use crate::typst::{Paper, Typ, TypstSheet};
use crate::words::{BarWord, held};
use notation::Piece;
use practice::look_first::{Ask, Choosing, Compared, Time, compare};
use std::fmt::Write as _;
use survey::Question;

/// How the page looks; kept apart so that it can be read.
const TEMPLATE: &str = concat!(include_str!("typ/signs.typ"), include_str!("typ/look.typ"));

/// Runs of bars that are named at one place.
const RUNS: usize = 6;

/// The questions of a piece, and what there is to see.
#[derive(Clone, Copy, Debug)]
pub struct LookPage<'a> {
    /// What the piece is called.
    pub title: &'a str,
    /// For whom, and when, as it is to be printed; room to write where nothing is said.
    pub handed: &'a Handed,
    /// The piece, for the labels of its bars.
    pub piece: &'a Piece,
    /// How long there is.
    pub time: Time,
    /// The questions.
    pub asks: &'a [Ask],
    /// Her word for a bar.
    pub bar_word: BarWord,
}

impl LookPage<'_> {
    /// What there is to see, whoever answers: as for somebody who has not looked at all.
    fn there(&self) -> Vec<Compared> {
        compare(self.asks, &[])
    }

    fn say(&self, text: &str) -> String {
        self.bar_word.say(text)
    }

    fn bars(&self, bars: &[notation::BarIndex]) -> String {
        let named = |bar: &notation::BarIndex| (bar.get(), self.piece.label(*bar).trim().to_owned());
        let named: Vec<(usize, String)> = bars.iter().map(named).collect();
        let runs = crate::words::bar_runs(&named, RUNS);
        if runs.is_empty() {
            String::new()
        } else {
            self.say(&crate::terminal::said(&runs))
        }
    }

    const fn clock(&self) -> &'static str {
        match self.time {
            Time::Thirty => "half a minute",
            Time::Sixty => "a minute",
            Time::Free => "take your time",
        }
    }
}

/// The questions on a page, what there is to see on the next.
#[must_use]
pub fn look_typst(page: &LookPage, paper: Paper) -> TypstSheet {
    let there = page.there();
    let text = |text: &str| Typ::Text(held(&page.say(text)));
    let questions = page.asks.iter().zip(&there).map(|(ask, told)| {
        let choosing = ask.choose.as_ref();
        let choices = choosing.map_or(&[][..], |choosing| choosing.choices.as_slice());
        Typ::Dict(vec![
            ("name", text(ask.look.name())),
            (
                "dynamics",
                Typ::Yes(ask.look == practice::look_first::Look::Asked(Question::Dynamics)),
            ),
            (
                "asks",
                text(choosing.map_or("", |choosing| choosing.asks.as_str())),
            ),
            (
                "several",
                Typ::Yes(choosing.is_some_and(|choosing| choosing.several)),
            ),
            ("choices", Typ::list(choices, |choice| text(&choice.says))),
            (
                "point",
                text(ask.point.as_ref().map_or("", |pointing| pointing.asks.as_str())),
            ),
            (
                "there",
                Typ::list(&told.said, |said| {
                    Typ::Dict(vec![
                        ("says", text(&said.says)),
                        ("evidence", text(&said.evidence)),
                        ("bars", Typ::text(page.bars(&said.bars))),
                    ])
                }),
            ),
            ("beside", text(&told.beside)),
        ])
    });
    let data = Typ::Dict(vec![
        ("paper", Typ::text(paper.name())),
        ("title", Typ::text(page.title)),
        ("clock", Typ::text(page.clock())),
        ("name", Typ::text(&page.handed.player)),
        ("date", Typ::text(&page.handed.date)),
        ("questions", Typ::List(questions.collect())),
    ]);
    TypstSheet {
        source: format!("{TEMPLATE}\n#look({})\n", data.source()),
        files: Vec::new(),
    }
}

/// The same in words: the questions, and under a line what there is to see.
#[must_use]
pub fn look_text(page: &LookPage) -> String {
    let mut out = format!("{}: look first, {}\n", page.title, page.clock());
    // Writing to a string can't fail.
    for (number, ask) in page.asks.iter().enumerate() {
        let _ = write!(out, "\n{}. {}\n", number + 1, ask.look.name());
        if let Some(choosing) = &ask.choose {
            choices(&mut out, page, choosing);
        }
        if let Some(pointing) = &ask.point {
            let _ = writeln!(out, "   {} Bars: ______", page.say(&pointing.asks));
        }
    }
    out.push_str("\n----- What there is to see -----\n");
    for told in page.there() {
        let _ = write!(out, "\n{}\n", told.look.name());
        for said in &told.said {
            let bars = page.bars(&said.bars);
            let at = if bars.is_empty() {
                String::new()
            } else {
                format!(" ({bars})")
            };
            let evidence = if said.evidence.is_empty() {
                String::new()
            } else {
                format!(": {}", page.say(&said.evidence))
            };
            let _ = writeln!(
                out,
                "   {}{evidence}{at}",
                page.say(&said.says).trim_end_matches('.')
            );
        }
        if !told.beside.is_empty() {
            let _ = writeln!(out, "   {}", page.say(&told.beside));
        }
    }
    out
}

fn choices(out: &mut String, page: &LookPage, choosing: &Choosing) {
    let all = if choosing.several { " Choose all." } else { "" };
    let _ = writeln!(out, "   {}{all}", page.say(&choosing.asks));
    for choice in &choosing.choices {
        let _ = writeln!(out, "   [ ] {}", page.say(&choice.says));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;
    use practice::look_first::{Looked, asks};
    use survey::{Context, Options};

    fn with_page(text: &str, check: impl Fn(&LookPage)) {
        let piece = sketch(text).unwrap();
        let survey = survey::survey(&piece, 0, &Question::ALL, &Options::default()).unwrap();
        let ctx = Context::new(&piece, 0).unwrap();
        let looked = Looked {
            ctx: &ctx,
            survey: &survey,
            study: None,
        };
        let asks = asks(&looked, Time::Sixty, 2);
        check(&LookPage {
            title: "A \"piece\" #x",
            handed: &Handed::default(),
            piece: &piece,
            time: Time::Sixty,
            asks: &asks,
            bar_word: BarWord::default(),
        });
    }

    #[test]
    fn the_questions_come_first_and_give_nothing_away() {
        with_page(
            "key:1 metre:3/4 @p G4/q B4/q D5/q | G5/h. | F#5/q E5/q D5/q | G4/h. |.",
            |page| {
                let text = look_text(page);
                let (asked, told) = text.split_once("----- What there is to see -----").unwrap();
                assert!(
                    asked.contains("Which key?")
                        && asked.contains("[ ] G major")
                        && asked.contains("[ ] E minor")
                );
                assert!(told.contains("G major: ") && !told.contains("E minor\n"));
                assert!(told.contains("3 beats, each a quarter; begin on 1"));
            },
        );
    }

    #[test]
    fn words_of_a_file_stay_words_for_the_typesetter() {
        with_page("metre:4/4 \"#panic()\" C5/w | D5/w | E5/w | F5/w |.", |page| {
            let sheet = look_typst(page, Paper::A4);
            assert!(sheet.source.contains("title: \"A \\\"piece\\\" #x\""));
            assert!(!sheet.source.contains("\n#panic"));
        });
    }

    /// Source: the routines named in [`crate::card::ROUTINES`]. The order of the questions goes against no pair on which two routines
    /// more agree, as that of the card.
    #[test]
    fn the_questions_follow_the_published_routines() {
        use crate::card::{Look as OnCard, ROUTINES, Routine};
        use practice::look_first::Look;
        let on_card = |look: &Look| match look {
            Look::Asked(Question::Key) => Some(OnCard::Key),
            Look::Asked(Question::Metre) => Some(OnCard::Metre),
            Look::Asked(Question::Tempo) => Some(OnCard::Tempo),
            Look::Asked(Question::Accidentals | Question::Rhythm) => Some(OnCard::Trap),
            Look::Asked(Question::RoadMap) => Some(OnCard::RoadMap),
            Look::Asked(Question::Dynamics) => Some(OnCard::Dynamics),
            Look::Hardest => Some(OnCard::Hardest),
            _ => None,
        };
        let at =
            |routine: &Routine, look: OnCard| routine.order.iter().position(|group| group.contains(&look));
        let before = |one: OnCard, other: OnCard| {
            let named = |routine: &&Routine| {
                at(routine, one)
                    .zip(at(routine, other))
                    .is_some_and(|(a, b)| a < b)
            };
            ROUTINES.iter().filter(named).count()
        };
        for time in Time::ALL {
            let order: Vec<OnCard> = time.order().iter().filter_map(on_card).collect();
            assert_eq!(order.len(), 8, "all that the card looks at is asked");
            for (index, one) in order.iter().enumerate() {
                for other in &order[index + 1..] {
                    assert!(
                        before(*other, *one) < before(*one, *other) + 2,
                        "{time:?}: {one:?}, {other:?}"
                    );
                }
            }
        }
    }
}

//! Where do these words send the player? Jump, end and repeat words as structured values.
//!
//! Understands abbreviations in any spacing ("D.C.", "D. C", "dacapo", "D.S. 𝄋 al 𝄌"), words split over lines, and
//! whole sentences in Italian, French, German and English. It does not know the page: whether "Fine" really ends the
//! piece, or which bar a jump leads to, is for the caller to decide.
//!
//! Source of what the words mean: common practice; Grove 1883, vol. 3, "Repeat", and UC Davis form page (no repeats
//! after a jump by default); M. Rudolf, summarised by S. Rosenblum, "Inner Repeats in the Minuet or Scherzo da Capo"
//! ("ma senza replica" as the written override).

use std::ops::Range;

use crate::kind::Language;
use crate::words::{self, Token};

mod scan;
mod vocabulary;

pub(crate) use scan::scan;

/// What a road word asks for, or marks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RoadKind {
    /// Back to the beginning.
    DaCapo,
    /// Back to the sign.
    DalSegno,
    /// Leap from here to the coda (the second time).
    ToCoda,
    /// The coda starts here.
    CodaHere,
    /// The sign to come back to stands here.
    SegnoHere,
    /// The end, once the jump has been made.
    FineHere,
    /// "al Fine", "al Segno" standing alone: it goes on from a jump written nearby.
    Continuation,
    /// Play the passage this many times in all.
    PlayTimes(u8),
    /// Bis: play it twice.
    Bis,
    /// Repeat as often as needed (vamp, repeat and fade).
    RepeatFreely,
    /// Repeat this section.
    RepeatSection,
    /// With or without the repeats, standing alone.
    RepeatsRule,
    /// Only in these passes: the words name the first, second … or last time.
    Passes {
        /// The passes named, counted from 1.
        numbers: Vec<u8>,
        /// The last pass is named.
        last: bool,
        /// False for "tacet 1st time": silent in these passes.
        play: bool,
    },
    /// The next section follows at once.
    Attacca,
    /// The next section follows (segue).
    Segue,
    /// Turn the page quickly.
    TurnQuickly,
    /// Silent in this movement or section.
    Tacet,
}

/// How far the music goes after a jump.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Target {
    /// To the word Fine.
    Fine,
    /// To the coda sign, then leap to the coda.
    Coda,
    /// To the sign.
    Sign,
}

/// Whether repeats are taken after the jump.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Repeats {
    /// With them.
    With,
    /// Without them.
    Without,
}

/// One road word or sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RoadWord {
    /// What it asks for.
    pub kind: RoadKind,
    /// How far to play after the jump.
    pub until: Option<Target>,
    /// What follows after that ("e poi la coda").
    pub then: Option<Target>,
    /// Whether repeats are taken.
    pub repeats: Option<Repeats>,
    /// The section that is named ("Menuetto" of "Menuetto da capo").
    pub section: Option<String>,
    /// As printed.
    pub text: String,
    /// Bytes of the text that it takes.
    pub range: Range<usize>,
}

/// Every road word in a text, in order.
///
/// ```
/// use terms::road::{RoadKind, Target, road_words};
/// let words = road_words("Menuetto D.C.\nal Fine");
/// assert_eq!(words.len(), 1);
/// assert_eq!((&words[0].kind, words[0].until), (&RoadKind::DaCapo, Some(Target::Fine)));
/// ```
pub fn road_words(text: &str) -> Vec<RoadWord> {
    let tokens: Vec<Token> = words::tokens(text);
    scan(text, &tokens).into_iter().map(|(_, word)| word).collect()
}

impl RoadWord {
    /// The words in plain English.
    pub fn meaning(&self) -> String {
        let mut text = match &self.kind {
            RoadKind::DaCapo => self.jump("go back to the beginning"),
            RoadKind::DalSegno => self.jump("go back to the sign"),
            RoadKind::ToCoda => "from here leap to the coda, after the jump back".to_owned(),
            RoadKind::CodaHere => "the coda, the closing section, starts here".to_owned(),
            RoadKind::SegnoHere => "the sign to come back to".to_owned(),
            RoadKind::FineHere => "the end, once the jump back has been made".to_owned(),
            RoadKind::Continuation => match self.until {
                Some(Target::Sign) => "play to the sign".to_owned(),
                Some(Target::Coda) => "play to the coda sign".to_owned(),
                _ => "play to the word Fine".to_owned(),
            },
            RoadKind::PlayTimes(times) => format!("play it {times} times in all"),
            RoadKind::Bis => "play it twice".to_owned(),
            RoadKind::RepeatFreely => "repeat as often as needed".to_owned(),
            RoadKind::RepeatSection => "repeat".to_owned(),
            RoadKind::RepeatsRule => return self.repeats_clause().trim_start_matches(", ").to_owned(),
            RoadKind::Passes { numbers, last, play } => passes(numbers, *last, *play),
            RoadKind::Attacca => "go on at once, without a pause".to_owned(),
            RoadKind::Segue if self.then == Some(Target::Coda) => "the coda follows".to_owned(),
            RoadKind::Segue => "go on: the next section follows, or continue in the same way".to_owned(),
            RoadKind::TurnQuickly => "turn the page quickly".to_owned(),
            RoadKind::Tacet => "silent: do not play here".to_owned(),
        };
        text.push_str(self.repeats_clause());
        text
    }

    fn jump(&self, start: &str) -> String {
        let mut text = start.to_owned();
        text.push_str(match self.until {
            Some(Target::Fine) => " and play to the word Fine",
            Some(Target::Coda) => ", then leap to the coda at its sign",
            Some(Target::Sign) => " and play to the sign",
            None => "",
        });
        if self.then == Some(Target::Coda) && self.until != Some(Target::Coda) {
            text.push_str(", then play the coda");
        }
        text
    }

    fn repeats_clause(&self) -> &'static str {
        match self.repeats {
            Some(Repeats::With) => ", with the repeats",
            Some(Repeats::Without) => ", without the repeats",
            None => "",
        }
    }

    /// The usual name of what the words ask for.
    pub fn lemma(&self) -> &'static str {
        match (&self.kind, self.until) {
            (RoadKind::DaCapo, Some(Target::Fine)) => "da capo al fine",
            (RoadKind::DaCapo, Some(Target::Coda)) => "da capo al coda",
            (RoadKind::DaCapo, Some(Target::Sign)) => "da capo al segno",
            (RoadKind::DaCapo, None) => "da capo",
            (RoadKind::DalSegno, Some(Target::Fine)) => "dal segno al fine",
            (RoadKind::DalSegno, Some(Target::Coda)) => "dal segno al coda",
            (RoadKind::DalSegno, Some(Target::Sign)) => "dal segno al segno",
            (RoadKind::DalSegno, None) => "dal segno",
            (RoadKind::ToCoda, _) => "al coda",
            (RoadKind::CodaHere, _) => "coda",
            (RoadKind::SegnoHere, _) => "segno",
            (RoadKind::FineHere, _) => "fine",
            (RoadKind::Continuation, Some(Target::Sign)) => "al segno",
            (RoadKind::Continuation, Some(Target::Coda)) => "al coda",
            (RoadKind::Continuation, _) => "al fine",
            (RoadKind::PlayTimes(_), _) => "times",
            (RoadKind::Bis, _) => "bis",
            (RoadKind::RepeatFreely, _) => "vamp",
            (RoadKind::RepeatSection, _) => "replica",
            (RoadKind::RepeatsRule, _) if self.repeats == Some(Repeats::Without) => "senza replica",
            (RoadKind::RepeatsRule, _) => "con replica",
            (RoadKind::Passes { .. }, _) => "volta",
            (RoadKind::Attacca, _) => "attacca",
            (RoadKind::Segue, _) => "segue",
            (RoadKind::TurnQuickly, _) => "volti subito",
            (RoadKind::Tacet, _) => "tacet",
        }
    }

    /// The language of [`RoadWord::lemma`].
    pub(crate) fn language(&self) -> Language {
        match self.kind {
            RoadKind::PlayTimes(_) | RoadKind::RepeatFreely => Language::English,
            RoadKind::Bis | RoadKind::Tacet => Language::Latin,
            _ => Language::Italian,
        }
    }
}

fn passes(numbers: &[u8], last: bool, play: bool) -> String {
    let mut names: Vec<String> = numbers.iter().map(|number| ordinal(*number)).collect();
    if last {
        names.push("last".to_owned());
    }
    let start = if play { "only the" } else { "silent the" };
    format!("{start} {} time", names.join(" and "))
}

fn ordinal(number: u8) -> String {
    match number {
        1 => "first".to_owned(),
        2 => "second".to_owned(),
        3 => "third".to_owned(),
        other => format!("{other}th"),
    }
}

#[cfg(test)]
mod tests;

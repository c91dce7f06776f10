//! What do several words mean together? Modifiers and heads composed into one plain English clause.

use crate::analysis::{Piece, Sense};
use crate::dictionary::{Entry, Modifier, Part, dictionary};
use crate::inflect::Shade;
use crate::kind::Kind;

/// How a unit is tied to the one before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Link {
    None,
    Comma,
    Line,
    And,
    Then,
    But,
    Or,
    /// A noun behind the word that describes it.
    Noun,
}

/// A head with the small words around it; places are indexes into the pieces.
#[derive(Clone, Debug)]
pub(crate) struct Unit {
    pub link: Link,
    pub before: Vec<&'static Modifier>,
    pub head: Option<usize>,
    pub after: Vec<&'static Modifier>,
    pub first: usize,
    pub last: usize,
}

/// Groups pieces into units. Small words go to the head that follows at once, else to the head before.
pub(crate) fn units(pieces: &[Piece]) -> Vec<Unit> {
    let mut grouping = Grouping {
        units: Vec::new(),
        waiting: Vec::new(),
        link: Link::None,
    };
    for (i, piece) in pieces.iter().enumerate() {
        if piece.gap.is_hard() || (piece.gap.line && i > 0) {
            grouping.settle();
            if grouping.link == Link::None && !grouping.units.is_empty() {
                grouping.link = if piece.gap.line { Link::Line } else { Link::Comma };
            }
        }
        match &piece.sense {
            Sense::Modifier(small) if small.connects() => {
                grouping.settle();
                grouping.link = link_of(small);
            }
            Sense::Modifier(small) => grouping.waiting.push((i, small)),
            Sense::Term { entry, .. } if grouping.tempers(entry, pieces, piece) => grouping.temper(i),
            Sense::Term { .. } | Sense::Mark { .. } | Sense::Road(_) => grouping.head(i),
            Sense::Plain | Sense::Unknown => {
                grouping.settle();
                grouping.link = Link::Comma;
            }
        }
    }
    grouping.settle();
    grouping.units
}

fn link_of(small: &Modifier) -> Link {
    match (small.part, small.before) {
        (Part::But, _) => Link::But,
        (Part::Or, _) => Link::Or,
        (_, "then") => Link::Then,
        _ => Link::And,
    }
}

struct Grouping {
    units: Vec<Unit>,
    waiting: Vec<(usize, &'static Modifier)>,
    link: Link,
}

/// Tempo words that only temper the tempo word they follow: "Allegro moderato" is moderately fast.
const TEMPERING: [&str; 4] = ["moderato", "modéré", "mässig", "moderate"];

impl Grouping {
    fn tempers(&self, entry: &Entry, pieces: &[Piece], piece: &Piece) -> bool {
        let before = self.units.last().and_then(|unit| pieces.get(unit.head?));
        let tempo = before.is_some_and(|before| {
            matches!(&before.sense, Sense::Term { entry: head, .. }
                if head.kind == Kind::Tempo && !TEMPERING.contains(&head.term))
        });
        tempo
            && TEMPERING.contains(&entry.term)
            && self.waiting.is_empty()
            && self.link == Link::None
            && !piece.gap.is_hard()
            && !piece.gap.line
    }

    fn temper(&mut self, at: usize) {
        let moderately = dictionary()
            .modifiers
            .iter()
            .find(|small| small.before == "moderately");
        if let (Some(unit), Some(small)) = (self.units.last_mut(), moderately) {
            unit.after.push(small);
            unit.last = at;
        }
    }

    fn head(&mut self, at: usize) {
        // "as possible" always belongs to what stands before it.
        while let Some(&(i, small)) = self.waiting.first() {
            let Some(unit) = self.units.last_mut().filter(|_| small.part == Part::Possible) else {
                break;
            };
            unit.after.push(small);
            unit.last = i;
            self.waiting.remove(0);
        }
        let first = self.waiting.first().map_or(at, |&(i, _)| i);
        let before = self.waiting.drain(..).map(|(_, small)| small).collect();
        let link = std::mem::replace(&mut self.link, Link::None);
        self.units.push(Unit {
            link,
            before,
            head: Some(at),
            after: Vec::new(),
            first,
            last: at,
        });
    }

    /// Gives waiting small words to the head before them, or lets them stand alone.
    fn settle(&mut self) {
        let waiting = std::mem::take(&mut self.waiting);
        let (Some(&(first, _)), Some(&(last, _))) = (waiting.first(), waiting.last()) else {
            return;
        };
        let mut words = waiting.into_iter().map(|(_, small)| small);
        match self
            .units
            .last_mut()
            .filter(|unit| self.link == Link::None && unit.head.is_some())
        {
            Some(unit) => {
                unit.after
                    .extend(words.by_ref().filter(|small| !small.only_joins()));
                unit.last = last;
            }
            None => {
                let before: Vec<_> = words.by_ref().filter(|small| !small.only_joins()).collect();
                if !before.is_empty() {
                    let link = std::mem::replace(&mut self.link, Link::None);
                    self.units.push(Unit {
                        link,
                        before,
                        head: None,
                        after: Vec::new(),
                        first,
                        last,
                    });
                }
            }
        }
    }
}

/// How a head takes its small words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Class {
    /// Describes ("fast"); takes very, not too.
    State,
    /// Already compared ("faster"); takes much, a little.
    Compared,
    /// A noun; takes with, without, like.
    Thing,
    /// A process ("slowing down"); shaded from behind.
    Process,
    /// An instruction or name; small words stand in front unchanged.
    Order,
}

/// The meaning of one unit, and its kind.
pub(crate) fn unit_meaning(unit: &Unit, pieces: &[Piece], whole: bool) -> Option<(String, Kind)> {
    let Some(piece) = unit.head.and_then(|at| pieces.get(at)) else {
        let words: Vec<&str> = unit.before.iter().map(|small| small.after).collect();
        return Some((words.join(" "), Kind::Modifier));
    };
    match &piece.sense {
        Sense::Term { entry, shade, .. } => {
            let bare = unit
                .before
                .iter()
                .chain(&unit.after)
                .all(|small| small.part == Part::Thing);
            if whole && bare && *shade == Shade::Plain {
                return Some((entry.meaning.to_owned(), entry.kind));
            }
            Some(shaded(entry, *shade, unit))
        }
        Sense::Mark { meaning } => Some((plain_shades(meaning, unit), Kind::Dynamic)),
        Sense::Road(word) => Some((plain_shades(&word.meaning(), unit), Kind::RoadMap)),
        Sense::Modifier(_) | Sense::Plain | Sense::Unknown => None,
    }
}

fn plain_shades(meaning: &str, unit: &Unit) -> String {
    let mut phrase = Phrase {
        text: meaning.to_owned(),
        class: Class::State,
        countable: false,
    };
    unit.before
        .iter()
        .rev()
        .for_each(|small| phrase.shade_before(small));
    unit.after.iter().for_each(|small| phrase.shade_after(small));
    phrase.text
}

fn shaded(entry: &Entry, shade: Shade, unit: &Unit) -> (String, Kind) {
    let mut phrase = Phrase {
        text: core(entry.meaning).to_owned(),
        class: class_of(entry),
        countable: entry.kind == Kind::Form,
    };
    phrase.inflect(shade);
    if phrase.class == Class::Thing {
        unit.after.iter().for_each(|small| phrase.shade_before(small));
    }
    unit.before
        .iter()
        .rev()
        .for_each(|small| phrase.shade_before(small));
    if class_of(entry) != Class::Thing {
        unit.after.iter().for_each(|small| phrase.shade_after(small));
    }
    let compared = shade == Shade::More
        || unit.before.iter().chain(&unit.after).any(|small| {
            matches!(small.part, Part::More | Part::Less)
                || matches!(small.before, "more and more" | "less and less")
        });
    let at_speed_of = unit.before.iter().any(|small| small.before == "at the speed of");
    let kind = match entry.kind {
        Kind::Form if at_speed_of => Kind::Tempo,
        Kind::Form if unit.before.iter().any(|small| small.part == Part::Like) => Kind::Character,
        Kind::Tempo if compared => Kind::ChangeOfTempo,
        Kind::Character if compared && entry.pace().is_some() => Kind::ChangeOfTempo,
        kind => kind,
    };
    (phrase.text, kind)
}

/// The part of a meaning that composes: up to the first comma, colon, semicolon or bracket.
fn core(meaning: &str) -> &str {
    meaning
        .split([',', ':', ';', '('])
        .next()
        .unwrap_or(meaning)
        .trim_end()
}

fn class_of(entry: &Entry) -> Class {
    let text = core(entry.meaning);
    if entry.is_thing() {
        return Class::Thing;
    }
    match entry.kind {
        Kind::RoadMap | Kind::Instrument | Kind::Form => Class::Order,
        Kind::ChangeOfTempo | Kind::ChangeOfDynamic => {
            if is_comparative(text.split(' ').next().unwrap_or(text)) {
                Class::Compared
            } else {
                Class::Process
            }
        }
        _ if is_comparative(text) => Class::Compared,
        _ => Class::State,
    }
}

fn is_comparative(word: &str) -> bool {
    COMPARED.iter().any(|(_, compared)| *compared == word)
}

/// Short English adjectives and their comparatives.
const COMPARED: [(&str, &str); 28] = [
    ("fast", "faster"),
    ("slow", "slower"),
    ("slowly", "slower"),
    ("quick", "quicker"),
    ("swift", "swifter"),
    ("lively", "livelier"),
    ("broad", "broader"),
    ("broadly", "broader"),
    ("calm", "calmer"),
    ("soft", "softer"),
    ("loud", "louder"),
    ("light", "lighter"),
    ("heavy", "heavier"),
    ("heavily", "heavier"),
    ("sweet", "sweeter"),
    ("sweetly", "sweeter"),
    ("warm", "warmer"),
    ("bright", "brighter"),
    ("gentle", "gentler"),
    ("gently", "gentler"),
    ("strong", "stronger"),
    ("bold", "bolder"),
    ("short", "shorter"),
    ("brisk", "brisker"),
    ("clear", "clearer"),
    ("fierce", "fiercer"),
    ("tight", "tighter"),
    ("near", "nearer"),
];

fn comparative(text: &str) -> String {
    let text = text.strip_prefix("very ").unwrap_or(text);
    match COMPARED.iter().find(|(plain, _)| *plain == text) {
        Some((_, compared)) => (*compared).to_owned(),
        None => format!("more {text}"),
    }
}

/// A clause under construction.
struct Phrase {
    text: String,
    class: Class,
    /// A piece, a dance, a section: takes an article.
    countable: bool,
}

impl Phrase {
    fn inflect(&mut self, shade: Shade) {
        match shade {
            Shade::Plain => {}
            Shade::Extremely => self.text = self.graded("extremely"),
            Shade::Slightly => self.text = self.graded("somewhat"),
            Shade::More => {
                self.text = comparative(&self.text);
                self.class = Class::Compared;
            }
            Shade::Most => self.text = format!("most {}", self.text),
        }
    }

    fn shade_before(&mut self, small: &Modifier) {
        match self.class {
            Class::Process => self.shade_process(small),
            Class::Thing => self.shade_thing(small),
            Class::Order => self.in_front(small.before),
            Class::State | Class::Compared => self.shade_state(small),
        }
    }

    fn shade_after(&mut self, small: &Modifier) {
        match (self.class, small.part) {
            (Class::State | Class::Compared, Part::NotMuch) => self.behind(&format!(", {}", small.after)),
            (Class::State | Class::Compared, Part::Gradually) => {
                self.behind(&format!(" {}", small.after));
            }
            (Class::Order, _) => self.behind(&format!(" {}", small.after)),
            _ => self.shade_before(small),
        }
    }

    fn shade_state(&mut self, small: &Modifier) {
        match small.part {
            Part::Degree => self.text = self.graded(small.before),
            Part::Always if self.class == Class::Compared => self.in_front("ever"),
            Part::NotMuch => {
                let bare = self.text.strip_prefix("very ").unwrap_or(&self.text);
                self.text = format!("{} {bare}", small.before);
            }
            Part::More => {
                self.text = comparative(&self.text);
                self.class = Class::Compared;
            }
            Part::Less => {
                self.text = format!("less {}", self.text.strip_prefix("very ").unwrap_or(&self.text));
                self.class = Class::Compared;
            }
            Part::Possible => {
                let bare = self
                    .text
                    .strip_prefix("very ")
                    .or_else(|| self.text.strip_prefix("extremely "));
                self.text = format!("as {} as possible", bare.unwrap_or(&self.text));
            }
            Part::Without => self.text = format!("without being {}", self.text),
            Part::Thing => {}
            _ if small.before == "more and more" => {
                let more = comparative(&self.text);
                self.text = if more.contains(' ') {
                    format!("more and {more}")
                } else {
                    format!("{more} and {more}")
                };
                self.class = Class::Compared;
            }
            _ => self.in_front(small.before),
        }
    }

    /// A degree before a describing clause, without "very very" and without "a little very".
    fn graded(&self, degree: &str) -> String {
        let text = self.text.as_str();
        if self.class == Class::Compared {
            let degree = match degree {
                "very" | "extremely" => "much",
                "slightly" => "a little",
                other => other,
            };
            return format!("{degree} {text}");
        }
        let strong = text
            .strip_prefix("very ")
            .or_else(|| text.strip_prefix("extremely "));
        match (strong, degree) {
            (Some(rest), "very" | "extremely") => format!("extremely {rest}"),
            (
                Some(rest),
                "slightly" | "a little" | "rather" | "fairly" | "somewhat" | "moderately" | "quite",
            ) => {
                format!("fairly {rest}")
            }
            (None, "very" | "extremely") if opens_with_preposition(text) => format!("very much {text}"),
            (None, "slightly" | "a little") if opens_with_preposition(text) => format!("somewhat {text}"),
            _ => format!("{degree} {text}"),
        }
    }

    fn shade_thing(&mut self, small: &Modifier) {
        match small.part {
            Part::Degree => {
                let degree = match small.before {
                    "very" | "extremely" => "much",
                    "slightly" | "somewhat" => "a little",
                    "rather" | "fairly" | "quite" => "some",
                    other => other,
                };
                self.in_front(degree);
            }
            Part::NotMuch => self.in_front("not too much"),
            Part::Like => self.text = format!("like {}", with_article(&self.text)),
            Part::Almost if self.countable => self.text = format!("almost {}", with_article(&self.text)),
            Part::Almost => self.in_front("almost"),
            Part::Thing => {}
            Part::Other if small.before == "at the speed of" => {
                self.text = format!("at the speed of {}", with_article(&self.text));
            }
            Part::Possible => self.behind(" as possible"),
            _ => self.in_front(small.before),
        }
    }

    fn shade_process(&mut self, small: &Modifier) {
        if let Some(rest) = self.text.strip_prefix("getting ") {
            let inner = match (small.part, small.before) {
                (Part::Degree, "very" | "extremely") => Some("much"),
                (Part::Degree, "slightly" | "a little") => Some("a little"),
                (Part::Degree, "somewhat" | "rather" | "fairly") => Some("somewhat"),
                (Part::More, _) => Some("even"),
                (_, "still") => Some("still"),
                _ => None,
            };
            if let Some(word) = inner {
                self.text = format!("getting {word} {rest}");
                return;
            }
            if small.before == "more and more" {
                self.text = format!("getting {rest} and {rest}");
                return;
            }
        }
        match small.part {
            Part::NotMuch => self.behind(", but not too much"),
            Part::Suddenly
            | Part::Almost
            | Part::Not
            | Part::Without
            | Part::With
            | Part::Like
            | Part::Until => {
                self.in_front(small.before);
            }
            Part::Possible => self.behind(" as much as possible"),
            Part::More => self.behind(" still more"),
            Part::Thing => {}
            _ => self.behind(&format!(" {}", small.after)),
        }
    }

    fn in_front(&mut self, words: &str) {
        self.text = format!("{words} {}", self.text);
    }

    fn behind(&mut self, words: &str) {
        self.text.push_str(words);
    }
}

fn opens_with_preposition(text: &str) -> bool {
    ["at ", "in ", "with ", "like ", "as ", "without ", "on "]
        .iter()
        .any(|word| text.starts_with(word))
}

fn with_article(noun: &str) -> String {
    if ["a ", "an ", "the "]
        .iter()
        .any(|article| noun.starts_with(article))
    {
        return noun.to_owned();
    }
    let article = if noun.starts_with(['a', 'e', 'i', 'o', 'u']) {
        "an"
    } else {
        "a"
    };
    format!("{article} {noun}")
}

/// Whether a unit is a bare noun that the describing unit before it belongs to: "mit innigster | Empfindung".
pub(crate) fn is_described_noun(unit: &Unit, before: Option<&Unit>, pieces: &[Piece]) -> bool {
    let thing = unit.head.and_then(|at| pieces.get(at)).is_some_and(|piece| {
        matches!(&piece.sense, Sense::Term { entry, .. } if entry.is_thing() && entry.kind == Kind::Character)
    });
    let with = before.is_some_and(|unit| {
        unit.before
            .iter()
            .any(|small| matches!(small.part, Part::With | Part::Without))
    });
    thing && with && unit.link == Link::None && unit.before.is_empty()
}

/// Joins the meanings of several units into one.
pub(crate) fn joined(parts: &[(Link, String)]) -> String {
    let mut text = String::new();
    for (i, (link, part)) in parts.iter().enumerate() {
        if i > 0 && *link == Link::Noun {
            text.push(' ');
        } else if i > 0 {
            let comma = i > 1 || text.contains(',');
            text.push_str(match link {
                Link::None | Link::Comma | Link::Noun => ", ",
                Link::Line => "; ",
                Link::And if comma => ", and ",
                Link::And => " and ",
                Link::Then => ", then ",
                Link::But => ", but ",
                Link::Or => " or ",
            });
        }
        text.push_str(part);
    }
    text
}

//! How does English say a shaded word? Degrees, comparatives, nouns with their prepositions, processes.

use crate::dictionary::{Modifier, Part};
use crate::inflect::Shade;

/// How a head takes its small words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Class {
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

pub(super) fn is_comparative(word: &str) -> bool {
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
pub(super) struct Phrase {
    pub(super) text: String,
    pub(super) class: Class,
    /// A piece, a dance, a section: takes an article.
    pub(super) countable: bool,
}

impl Phrase {
    pub(super) fn inflect(&mut self, shade: Shade) {
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

    pub(super) fn shade_before(&mut self, small: &Modifier) {
        match self.class {
            Class::Process => self.shade_process(small),
            Class::Thing => self.shade_thing(small),
            Class::Order => self.in_front(small.before),
            Class::State | Class::Compared => self.shade_state(small),
        }
    }

    pub(super) fn shade_after(&mut self, small: &Modifier) {
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
            Part::Possible if self.text.starts_with("as ") => {}
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

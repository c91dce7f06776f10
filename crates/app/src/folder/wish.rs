//! What does a teacher mean by her words? `B♭ clarinet, crosses the break, no more than three flats, fits Pernille` becomes a search.
//!
//! Words between commas are one wish. What is understood as a wish narrows by it and is said back; everything else is looked for
//! as words in titles, composers, purposes and keys.

use crate::folder::features::FEATURES;
use notation::Pitch;
use store::{PieceSearch, PlayerRow};

/// A search, and what was understood.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Wish {
    /// What is asked of the store.
    pub search: PieceSearch,
    /// Each wish as it was understood.
    pub understood: Vec<String>,
}

/// Reads her words; `players` are those of the studio.
pub(super) fn read(words: &str, players: &[PlayerRow]) -> Wish {
    let mut wish = Wish::default();
    let mut plain: Vec<&str> = Vec::new();
    for phrase in words
        .split([',', ';'])
        .map(str::trim)
        .filter(|phrase| !phrase.is_empty())
    {
        if !wish.take(&phrase.to_lowercase(), players) {
            plain.push(phrase);
        }
    }
    wish.search.words = plain.join(" ");
    if !plain.is_empty() {
        wish.understood.push(format!("the words “{}”", wish.search.words));
    }
    wish
}

impl Wish {
    /// Takes one phrase as a wish, if it is one.
    fn take(&mut self, phrase: &str, players: &[PlayerRow]) -> bool {
        self.fits(phrase, players)
            || self.signature(phrase)
            || self.length(phrase)
            || self.metre(phrase)
            || self.feature(phrase)
            || self.instrument(phrase)
    }

    /// `fits Pernille`.
    fn fits(&mut self, phrase: &str, players: &[PlayerRow]) -> bool {
        let Some(name) = phrase
            .strip_prefix("fits ")
            .or_else(|| phrase.strip_prefix("for "))
            .map(str::trim)
        else {
            return false;
        };
        let found = players
            .iter()
            .find(|player| player.name.to_lowercase().starts_with(name));
        let Some(profile) = found.and_then(|player| Some((player, player.profile().ok()?))) else {
            return false;
        };
        let (player, profile) = profile;
        let mut said = format!("fits {}", player.name);
        let instrument = profile.instrument.as_deref().and_then(instruments::identify_name);
        if let Some(found) = instrument {
            self.search.instruments.push(found.instrument.id.to_owned());
            said.push_str(&format!(": {}", found.instrument.name));
        }
        if let Some(range) = &profile.range {
            let key = |text: &str| Pitch::parse(text).map(|pitch| i64::from(pitch.key_number()));
            self.search.not_below = key(&range.low);
            self.search.not_above = key(&range.high);
            said.push_str(&format!(", {} to {}", range.low, range.high));
        }
        self.understood.push(said);
        true
    }

    /// `no more than three flats`, `no sharps`.
    fn signature(&mut self, phrase: &str) -> bool {
        let (flats, rest) = if let Some(rest) = phrase
            .strip_suffix("flats")
            .or_else(|| phrase.strip_suffix("flat"))
        {
            (true, rest.trim())
        } else if let Some(rest) = phrase
            .strip_suffix("sharps")
            .or_else(|| phrase.strip_suffix("sharp"))
        {
            (false, rest.trim())
        } else {
            return false;
        };
        let number = if rest == "no" { Some(0) } else { at_most(rest) };
        let Some(number) = number.filter(|number| *number <= 7) else {
            return false;
        };
        let name = if flats { "flats" } else { "sharps" };
        if flats {
            self.search.most_flats = Some(number);
        } else {
            self.search.most_sharps = Some(number);
        }
        self.understood.push(format!("no more than {number} {name}"));
        true
    }

    /// `at most 40 bars`, `at least 2 minutes`.
    fn length(&mut self, phrase: &str) -> bool {
        let unit = |names: &[&str]| {
            names
                .iter()
                .find_map(|name| phrase.strip_suffix(name))
                .map(str::trim)
        };
        if let Some(rest) = unit(&["bars", "measures"]) {
            if let Some(most) = at_most(rest) {
                self.search.most_bars = Some(most);
                self.understood.push(format!("at most {most} bars"));
                return true;
            }
            if let Some(least) = at_least(rest) {
                self.search.least_bars = Some(least);
                self.understood.push(format!("at least {least} bars"));
                return true;
            }
        }
        if let Some(rest) = unit(&["minutes", "minute"]) {
            let seconds = |minutes: i64| i32::try_from(minutes * 60).ok().map(f64::from);
            if let Some(most) = at_most(rest) {
                self.search.most_seconds = seconds(most);
                self.understood.push(format!("at most {most} minutes long"));
                return true;
            }
            if let Some(least) = at_least(rest) {
                self.search.least_seconds = seconds(least);
                self.understood.push(format!("at least {least} minutes long"));
                return true;
            }
        }
        false
    }

    /// `6/8`, `in 6/8`.
    fn metre(&mut self, phrase: &str) -> bool {
        let metre = phrase.strip_prefix("in ").unwrap_or(phrase);
        let parts = metre.split_once('/').filter(|(top, bottom)| {
            let digits =
                |text: &str| !text.is_empty() && text.chars().all(|c| c.is_ascii_digit() || c == '+');
            digits(top) && digits(bottom)
        });
        if parts.is_none() {
            return false;
        }
        self.search.metres.push(metre.to_owned());
        self.understood.push(format!("in {metre}"));
        true
    }

    /// `dotted rhythms`, `no triplets`.
    fn feature(&mut self, phrase: &str) -> bool {
        let (without, rest) = match phrase
            .strip_prefix("no ")
            .or_else(|| phrase.strip_prefix("without "))
        {
            Some(rest) => (true, rest),
            None => (false, phrase.strip_prefix("with ").unwrap_or(phrase)),
        };
        let Some(feature) = FEATURES
            .iter()
            .find(|feature| feature.said.iter().any(|said| rest.starts_with(said)))
        else {
            return false;
        };
        if without {
            self.search.without.push(feature.id.to_owned());
            self.understood.push(format!("without {}", feature.name));
        } else {
            self.search.features.push(feature.id.to_owned());
            self.understood.push(feature.name.to_owned());
        }
        true
    }

    fn instrument(&mut self, phrase: &str) -> bool {
        let Some(found) = instruments::identify_name(phrase) else {
            return false;
        };
        self.search.instruments.push(found.instrument.id.to_owned());
        self.understood.push(found.instrument.name.to_owned());
        true
    }
}

/// The number after `no more than`, `at most`, `up to`.
fn at_most(phrase: &str) -> Option<i64> {
    ["no more than", "not more than", "at most", "up to", "under"]
        .iter()
        .find_map(|words| phrase.strip_prefix(words))
        .and_then(|rest| number(rest.trim()))
}

/// The number after `at least`, `more than`.
fn at_least(phrase: &str) -> Option<i64> {
    ["at least", "no less than", "over"]
        .iter()
        .find_map(|words| phrase.strip_prefix(words))
        .and_then(|rest| number(rest.trim()))
}

fn number(text: &str) -> Option<i64> {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
        "twelve",
    ];
    let word = WORDS
        .iter()
        .position(|word| *word == text)
        .and_then(|at| i64::try_from(at).ok());
    word.or_else(|| text.parse().ok())
        .filter(|number| (0..=100_000).contains(number))
}

#[cfg(test)]
mod tests {
    use super::read;

    #[test]
    fn a_teachers_sentence_becomes_a_search() {
        let wish = read(
            "B♭ clarinet, crosses the break, dotted rhythms, no more than three flats, no triplets, 6/8",
            &[],
        );
        let search = &wish.search;
        assert_eq!(search.instruments, ["clarinet-bb"]);
        assert_eq!(search.features, ["crosses-break", "dotted-rhythms"]);
        assert_eq!(search.without, ["triplets"]);
        assert_eq!((search.most_flats, search.most_sharps), (Some(3), None));
        assert_eq!(search.metres, ["6/8"]);
        assert_eq!(search.words, "");
        assert_eq!(wish.understood.len(), 6);
    }

    #[test]
    fn what_is_no_wish_is_looked_for_as_words() {
        let wish = read("evening air, at most 40 bars, fits Nobody", &[]);
        assert_eq!(wish.search.words, "evening air fits Nobody");
        assert_eq!(wish.search.most_bars, Some(40));
        assert_eq!(read("  , ;", &[]).search, store::PieceSearch::default());
    }

    #[test]
    fn numbers_that_say_nothing_are_words() {
        assert_eq!(
            read("no more than ninety flats", &[]).search.words,
            "no more than ninety flats"
        );
        assert_eq!(
            read("at most 99999999999999999999 bars", &[]).search.most_bars,
            None
        );
        assert_eq!(read("no sharps", &[]).search.most_sharps, Some(0));
    }
}

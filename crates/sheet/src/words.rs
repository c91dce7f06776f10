//! How is it said? Lists of bars, plurals, numbers, and the player's own word for a bar.

/// The word for a bar that the player is used to.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum BarWord {
    /// British usage.
    #[default]
    Bar,
    /// American usage.
    Measure,
}

/// Bars said shortly, run by run: `4–7`, `12`; at most so many runs and then `and n more`. Runs are told by index.
#[must_use]
pub fn bar_runs(bars: &[(usize, String)], most: usize) -> Vec<String> {
    let mut bars = bars.to_vec();
    bars.sort_by_key(|(index, _)| *index);
    bars.dedup_by_key(|(index, _)| *index);
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for at in 0..bars.len() {
        match runs.last_mut() {
            Some((_, last)) if bars[at].0 == bars[*last].0 + 1 => *last = at,
            _ => runs.push((at, at)),
        }
    }
    let mut said: Vec<String> = runs
        .iter()
        .take(most)
        .map(|&(from, to)| match to - from {
            0 => bars[from].1.clone(),
            1 => format!("{}, {}", bars[from].1, bars[to].1),
            _ => format!("{}–{}", bars[from].1, bars[to].1),
        })
        .collect();
    let left: usize = runs.iter().skip(most).map(|(from, to)| to - from + 1).sum();
    if left > 0 {
        said.push(format!("and {left} more"));
    }
    said
}

/// `1 note`, `3 notes`.
#[must_use]
pub fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// Minutes and seconds: `1 min 05 s`, `48 s`.
#[must_use]
pub fn clock(seconds: f64) -> String {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped just before"
    )]
    let whole = seconds.round().clamp(0.0, 1e9) as u64;
    if whole < 60 {
        format!("{whole} s")
    } else {
        format!("{} min {:02} s", whole / 60, whole % 60)
    }
}

/// A share as a whole percentage.
#[must_use]
pub fn percent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

impl BarWord {
    /// The sentence in the player's word: every whole word `bar`/`bars` becomes `measure`/`measures`;
    /// `bar line` and `double bar`, which are the same on both sides of the ocean, stay.
    #[must_use]
    pub fn say(self, text: &str) -> String {
        if self == Self::Bar || !text.to_ascii_lowercase().contains("bar") {
            return text.to_owned();
        }
        let mut out = String::with_capacity(text.len() + 16);
        let mut rest = text;
        while let Some(at) = rest.to_ascii_lowercase().find("bar") {
            let (before, from) = rest.split_at(at);
            let plural = from.get(3..4).is_some_and(|s| s.eq_ignore_ascii_case("s"));
            let (word, after) = from.split_at(if plural { 4 } else { 3 });
            let starts = before
                .chars()
                .next_back()
                .or(out.chars().next_back().filter(|_| before.is_empty()));
            let whole = !starts.is_some_and(char::is_alphanumeric)
                && !after.chars().next().is_some_and(char::is_alphanumeric);
            let fixed = after.trim_start_matches([' ', '-']).starts_with("line")
                || before.trim_end().to_ascii_lowercase().ends_with("double");
            out.push_str(before);
            if whole && !fixed {
                let upper = word.starts_with('B');
                out.push_str(match (upper, plural) {
                    (false, false) => "measure",
                    (false, true) => "measures",
                    (true, false) => "Measure",
                    (true, true) => "Measures",
                });
            } else {
                out.push_str(word);
            }
            rest = after;
        }
        out.push_str(rest);
        out
    }
}

#[cfg(feature = "whole")]
/// A text of at most so many letters, cut after a clause, else at a word.
pub(crate) fn clip(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let cut: String = text.chars().take(most.saturating_sub(2)).collect();
    let clause = cut.rfind("; ").filter(|at| *at * 5 > cut.len() * 2);
    if let Some(clauses) = clause.and_then(|at| cut.get(..at)) {
        return format!("{clauses}\u{a0}…");
    }
    let word = cut.rfind(' ').filter(|at| *at * 3 > cut.len() * 2);
    let cut = word.and_then(|at| cut.get(..at)).unwrap_or(&cut);
    format!("{}…", cut.trim_end_matches([' ', ',', ';', ':', '–', '—', '(']))
}

/// A space that no line is broken at.
pub(crate) const HELD: char = '\u{a0}';

/// A sentence of ours with what belongs together held together: `♩ = 60`, `bar 12`, `beat 3`.
pub(crate) fn held(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let mut out = String::with_capacity(text.len() + 16);
    for (index, word) in words.iter().enumerate() {
        out.push_str(word);
        let Some(next) = words.get(index + 1) else { break };
        let number = next.starts_with(|c: char| c.is_ascii_digit());
        let bar = word.trim_start_matches(['(', '[']).to_ascii_lowercase();
        let names = matches!(
            bar.as_str(),
            "bar" | "bars" | "measure" | "measures" | "beat" | "="
        );
        let together = number && names || *next == "=" || *word == "+" && number;
        out.push(if together { HELD } else { ' ' });
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn listed(indices: &[usize], most: usize) -> String {
        let bars: Vec<(usize, String)> = indices.iter().map(|i| (*i, (i + 1).to_string())).collect();
        crate::terminal::said(&bar_runs(&bars, most))
    }

    #[test]
    fn bars_are_said_in_runs() {
        assert_eq!(listed(&[3], 9), "bar 4");
        assert_eq!(listed(&[6, 3, 4, 5, 11], 9), "bars 4–7, 12");
        assert_eq!(listed(&[0, 1, 1], 9), "bars 1, 2");
        assert_eq!(listed(&[0, 2, 4, 6, 7], 2), "bars 1, 3 and 3 more");
    }

    #[test]
    fn measures_for_those_who_say_measures() {
        let say = |text: &str| BarWord::Measure.say(text);
        assert_eq!(
            say("Bar 4 after the double bar, bars 5–6"),
            "Measure 4 after the double bar, measures 5–6"
        );
        assert_eq!(say("over the bar line"), "over the bar line");
        assert_eq!(say("a barcarolle in one bar"), "a barcarolle in one measure");
        assert_eq!(BarWord::Bar.say("bar 4"), "bar 4");
    }

    #[test]
    fn times() {
        assert_eq!(clock(48.2), "48 s");
        assert_eq!(clock(64.9), "1 min 05 s");
    }

    #[cfg(feature = "whole")]
    #[test]
    fn a_text_is_cut_at_a_word() {
        assert_eq!(clip("short", 9), "short");
        assert_eq!(clip("the leading note, C sharp", 20), "the leading note…");
        assert_eq!(
            clip("one thing; another; a third one", 24),
            "one thing; another\u{a0}…"
        );
        assert_eq!(clip("Donaudampfschiff", 9), "Donauda…");
    }

    #[test]
    fn what_belongs_together_is_held_together() {
        assert_eq!(
            held("start at ♩ = 60 (bars 4–7, beat 2) in the bar line"),
            "start at ♩\u{a0}=\u{a0}60 (bars\u{a0}4–7, beat\u{a0}2) in the bar line"
        );
        assert_eq!(held(" a  b "), " a  b ");
    }
}

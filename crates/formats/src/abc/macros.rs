//! What does a shorthand of the transcriber stand for? Macros, static and transposing, written out in a line of music.
//!
//! Source: ABC 2.1, section 9: `m: ~G3 = G{A}G{F}G`; in a transposing macro (`m: ~n3 = n{o}n{m}n`) the letter `n` is any
//! note and the letters h to z are the notes around it.

use notation::Step;

/// More macros than any tune defines.
const MOST: usize = 200;
/// No macro's pattern is longer.
const LONGEST: usize = 80;
/// A line does not grow beyond this many times its length (and some).
const MOST_GROWTH: usize = 16;

#[derive(Clone, PartialEq, Eq, Debug)]
struct Macro {
    pattern: String,
    text: String,
    /// Where the pattern's `n` stands.
    note: Option<usize>,
}

/// The macros in force.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Macros {
    list: Vec<Macro>,
}

impl Macros {
    /// Takes in an `m:` field; false if it is none or one too many.
    pub(super) fn define(&mut self, field: &str) -> bool {
        let Some((pattern, text)) = field.split_once('=').or_else(|| field.split_once(' ')) else {
            return false;
        };
        // An accidental may be part of the pattern: `T=c2 = …`. The last lone sign parts them.
        let (pattern, text) = match field.rfind(" = ") {
            Some(at) => (
                field.get(..at).unwrap_or_default(),
                field.get(at + 3..).unwrap_or_default(),
            ),
            None => (pattern, text),
        };
        let (pattern, text) = (pattern.trim(), text.trim());
        if pattern.is_empty() || pattern.len() > LONGEST || text.len() > 1_000 || self.list.len() >= MOST {
            return false;
        }
        self.list.retain(|known| known.pattern != pattern);
        self.list.push(Macro {
            pattern: pattern.to_owned(),
            text: text.to_owned(),
            note: pattern.find('n'),
        });
        // The longest pattern is tried first.
        self.list
            .sort_by_key(|known| std::cmp::Reverse(known.pattern.len()));
        true
    }

    /// True if none is defined.
    pub(super) fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// The line with its macros written out; `None` if there are none in it.
    pub(super) fn expand(&self, line: &str) -> Option<String> {
        let mut out = String::new();
        let most = line.len() * MOST_GROWTH + 10_000;
        let (mut from, mut at) = (0, 0);
        let mut quoted = false;
        let mut found = false;
        while let Some(first) = line.get(at..).and_then(|rest| rest.chars().next()) {
            quoted ^= first == '"';
            let rest = line.get(at..).unwrap_or_default();
            let hit = if quoted || out.len() > most {
                None
            } else {
                self.list.iter().find_map(|known| known.matches(rest))
            };
            match hit {
                Some((taken, text)) if taken > 0 => {
                    found = true;
                    out.push_str(line.get(from..at).unwrap_or_default());
                    out.push_str(&text);
                    at += taken;
                    from = at;
                }
                _ => at += first.len_utf8(),
            }
        }
        if !found {
            return None;
        }
        out.push_str(line.get(from..).unwrap_or_default());
        Some(out)
    }
}

impl Macro {
    /// How many bytes of the text the pattern takes, and what stands for them.
    fn matches(&self, text: &str) -> Option<(usize, String)> {
        let Some(at) = self.note else {
            return text
                .starts_with(&self.pattern)
                .then(|| (self.pattern.len(), self.text.clone()));
        };
        let (before, after) = (self.pattern.get(..at)?, self.pattern.get(at + 1..)?);
        let rest = text.strip_prefix(before)?;
        let letter = rest
            .chars()
            .next()
            .filter(|c| matches!(c, 'A'..='G' | 'a'..='g'))?;
        let marks = rest.get(1..)?;
        let count = marks
            .bytes()
            .take(8)
            .take_while(|b| matches!(b, b',' | b'\''))
            .count();
        let tail = marks.get(count..)?;
        let remains = tail.strip_prefix(after)?;
        // `~n` is not the start of `~c2`: the length belongs to the note.
        if remains.starts_with(|c: char| c.is_ascii_digit() || c == '/')
            && !after.ends_with(|c: char| c.is_ascii_digit() || c == '/')
        {
            return None;
        }
        let mut height = height_of(letter)?;
        for mark in marks.get(..count)?.chars() {
            height += if mark == '\'' { 7 } else { -7 };
        }
        Some((before.len() + 1 + count + after.len(), self.written_out(height)))
    }

    /// The text with every letter from h to z as the note that far from the one found.
    fn written_out(&self, height: i32) -> String {
        let mut out = String::with_capacity(self.text.len());
        let mut quoted = false;
        let mut named = false;
        for c in self.text.chars() {
            quoted ^= c == '"';
            named ^= c == '!';
            match c {
                'h'..='z' if !quoted && !named => {
                    let away =
                        i32::try_from(u32::from(c)).unwrap_or(0) - i32::try_from(u32::from('n')).unwrap_or(0);
                    note(height + away, &mut out);
                }
                _ => out.push(c),
            }
        }
        out
    }
}

/// Steps above `C,,,,` … as the letter is written: `C` is 28, `c` 35.
fn height_of(letter: char) -> Option<i32> {
    let step = Step::from_letter(letter)?;
    Some(step.index() + if letter.is_ascii_lowercase() { 35 } else { 28 })
}

fn note(height: i32, out: &mut String) {
    let letter = Step::from_index(height).letter();
    let octave = height.div_euclid(7);
    if octave >= 5 {
        out.push(letter.to_ascii_lowercase());
        (5..octave.min(12)).for_each(|_| out.push('\''));
    } else {
        out.push(letter);
        (octave.max(-4)..4).for_each(|_| out.push(','));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: ABC 2.1, sections 9.1 and 9.2.
    #[test]
    fn static_and_transposing_macros() {
        let mut macros = Macros::default();
        assert!(macros.define(" ~G3 = G{A}G{F}G"));
        assert_eq!(macros.expand("A ~G3 B ~F3").as_deref(), Some("A G{A}G{F}G B ~F3"));
        assert!(macros.define("~n3 = n{o}n{m}n"));
        assert_eq!(
            macros.expand("~c3 ~G3 ~B3 ~a'3 ~C,3").as_deref(),
            Some("c{d}c{B}c G{A}G{F}G B{c}B{A}B a'{b'}a'{g'}a' C,{D,}C,{B,,}C,")
        );
        assert_eq!(macros.expand("no macros |\"~c3\""), None);
        assert!(macros.define("T=c2 = (3c/d/c/ B/c/"));
        assert_eq!(macros.expand("T=c2").as_deref(), Some("(3c/d/c/ B/c/"));
        assert!(!macros.define("nothing"));
    }

    #[test]
    fn a_line_does_not_grow_without_end() {
        let mut macros = Macros::default();
        macros.define(&format!("A = {}", "B".repeat(900)));
        let line = "A".repeat(10_000);
        let grown = macros.expand(&line).map_or(0, |text| text.len());
        assert!(grown < line.len() * (MOST_GROWTH + 2) + 12_000, "{grown}");
    }
}

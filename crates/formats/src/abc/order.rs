//! In what order are the tune's parts played? The header's `P:` as a list of names.
//!
//! Source: ABC 2.1, section 3.1.9: `P:A3(BC)2` is A A A B C B C; dots mean nothing.

/// More parts in an order than any tune has.
const MOST: usize = 1_000;

/// The names in order; `None` if the text is no such list (words, an unclosed parenthesis, too many).
pub(super) fn order(text: &str) -> Option<Vec<String>> {
    // Words such as `modern version` are no list of letters.
    let word = |run: &str| run.len() > 3 && run.bytes().all(|b| b.is_ascii_lowercase());
    if text.split(|c: char| !c.is_ascii_lowercase()).any(word) {
        return None;
    }
    let mut reader = Reader {
        rest: text.trim(),
        depth: 0,
    };
    let list = reader.list()?;
    (reader.rest.is_empty() && !list.is_empty()).then_some(list)
}

struct Reader<'a> {
    rest: &'a str,
    depth: u8,
}

impl Reader<'_> {
    fn list(&mut self) -> Option<Vec<String>> {
        let mut list: Vec<String> = Vec::new();
        while let Some(first) = self.rest.chars().next() {
            let after = self.rest.get(first.len_utf8()..)?;
            let group = match first {
                '.' | ' ' | '\t' | '-' | ',' => {
                    self.rest = after;
                    continue;
                }
                ')' => break,
                '(' => {
                    self.depth = self.depth.checked_add(1).filter(|depth| *depth < 20)?;
                    self.rest = after;
                    let inside = self.list()?;
                    self.rest = self.rest.strip_prefix(')')?;
                    self.depth -= 1;
                    inside
                }
                'A'..='Z' | 'a'..='z' => {
                    self.rest = after;
                    vec![first.to_string()]
                }
                _ => return None,
            };
            let times = self.times();
            if list.len() + group.len().checked_mul(times)? > MOST {
                return None;
            }
            for _ in 0..times {
                list.extend(group.iter().cloned());
            }
        }
        Some(list)
    }

    fn times(&mut self) -> usize {
        let rest = self.rest.trim_start_matches(['.', ' ']);
        let digits = rest.len() - rest.trim_start_matches(|c: char| c.is_ascii_digit()).len();
        let Some(times) = rest.get(..digits.min(4)).and_then(|n| n.parse().ok()) else {
            return 1;
        };
        self.rest = rest.get(digits..).unwrap_or_default();
        times
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: ABC 2.1, 3.1.9.
    #[test]
    fn orders_are_written_out() {
        let said = |text: &str| order(text).map(|list| list.concat());
        assert_eq!(said("ABABCDCD").as_deref(), Some("ABABCDCD"));
        assert_eq!(said("A3").as_deref(), Some("AAA"));
        assert_eq!(said("(AB)3").as_deref(), Some("ABABAB"));
        assert_eq!(
            said("((AB)3.(CD)3)2").as_deref(),
            Some("ABABABCDCDCDABABABCDCDCD")
        );
        assert_eq!(said(".(.A.2.B.).3.").as_deref(), Some("AABAABAAB"));
        for none in [
            "",
            "(AB",
            "A)B",
            "A9999",
            "1",
            "Modern version",
            "((((((((((((((((((((((A",
        ] {
            assert_eq!(said(none), None, "{none}");
        }
    }
}

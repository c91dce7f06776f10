//! Which passes is an ending for? `1`, `1,2`, `1-3`, `1 3`, `1.–3.`, read from what is printed.

use std::collections::BTreeSet;

/// No printed ending goes past this; larger numbers are misprints and would only cost time.
pub(super) const MOST_PASSES: u32 = 99;

/// The passes named by an ending's number; empty if it names none.
pub(super) fn passes(text: &str) -> BTreeSet<u32> {
    let mut found = BTreeSet::new();
    let mut range_from: Option<u32> = None;
    let mut last: Option<u32> = None;
    let mut digits = String::new();
    for c in text.chars().chain([' ']) {
        if c.is_ascii_digit() {
            digits.push(c);
            continue;
        }
        if let Some(number) = digits
            .parse::<u32>()
            .ok()
            .filter(|n| (1..=MOST_PASSES).contains(n))
        {
            match range_from.take() {
                Some(from) if from <= number => found.extend(from..=number),
                _ => {
                    found.insert(number);
                }
            }
            last = Some(number);
        }
        digits.clear();
        if matches!(c, '-' | '–' | '—') {
            range_from = last;
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_as_printed() {
        let read = |text: &str| passes(text).into_iter().collect::<Vec<_>>();
        assert_eq!(read("1"), [1]);
        assert_eq!(read("1,2"), [1, 2]);
        assert_eq!(read("1, 2, 3"), [1, 2, 3]);
        assert_eq!(read("1-3"), [1, 2, 3]);
        assert_eq!(read("1.–3."), [1, 2, 3]);
        assert_eq!(read("1 3"), [1, 3]);
        assert_eq!(read("1.2.3."), [1, 2, 3]);
        assert_eq!(read("2nd time"), [2]);
        assert!(read("").is_empty() && read("  ").is_empty() && read("last").is_empty());
        assert!(read("0").is_empty() && read("99999999999999999999").is_empty());
        assert_eq!(read("3-1"), [1, 3]);
    }
}

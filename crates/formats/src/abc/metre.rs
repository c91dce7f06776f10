//! What do `M:` and `L:` say? The metre, and the length of a plain letter.
//!
//! Source: ABC 2.1, sections 3.1.6 (meter) and 3.1.7 (unit note length).

use notation::{Metre, MetrePart, MetreSymbol, Quarters, Rational};

/// A metre; `Some(None)` for free metre, `None` if the text is no metre.
pub(super) fn metre(text: &str) -> Option<Option<Metre>> {
    let text = text.trim();
    let plain = |symbol, beats, beat_type| {
        Some(Some(Metre {
            parts: vec![MetrePart {
                groups: vec![beats],
                beat_type,
            }],
            symbol,
        }))
    };
    match text {
        "C" | "c" => return plain(MetreSymbol::Common, 4, 4),
        "C|" | "c|" => return plain(MetreSymbol::Cut, 2, 2),
        "" => return Some(None),
        _ if text.eq_ignore_ascii_case("none") || text.eq_ignore_ascii_case("free") => return Some(None),
        _ => {}
    }
    // Several fractions, joined by a plus or a space: `2/4+3/8`, `(2+3)/8 3/4`.
    let mut parts = Vec::new();
    let mut rest = text;
    while !rest.is_empty() {
        let slash = rest.find('/')?;
        let above = rest.get(..slash)?;
        let below = rest.get(slash + 1..)?.trim_start();
        let digits = below.len() - below.trim_start_matches(|c: char| c.is_ascii_digit()).len();
        let beat_type: u16 = below
            .get(..digits)?
            .parse()
            .ok()
            .filter(|n| (1..=1024).contains(n))?;
        let groups: Option<Vec<u16>> = above
            .trim()
            .trim_start_matches('(')
            .trim_end_matches(')')
            .split(['+', ' '])
            .filter(|group| !group.trim().is_empty())
            .map(|group| group.trim().parse().ok().filter(|n| (1..=1000).contains(n)))
            .collect();
        let groups = groups.filter(|groups| !groups.is_empty() && groups.len() <= 64)?;
        parts.push(MetrePart { groups, beat_type });
        if parts.len() > 16 {
            return None;
        }
        rest = below.get(digits..)?.trim_start();
        rest = rest.strip_prefix('+').unwrap_or(rest).trim_start();
    }
    Some(Some(Metre {
        parts,
        symbol: MetreSymbol::Numbers,
    }))
}

/// True for 6/8, 9/8, 12/8: there `(5` and `(7` stand in the time of three.
/// Source: ABC 2.1, 4.13.
pub(super) fn is_compound(metre: Option<&Metre>) -> bool {
    let numbers = metre.and_then(Metre::simple);
    numbers.is_some_and(|(beats, _)| beats > 3 && beats % 3 == 0)
}

/// The length of a plain letter where no `L:` says it, in quarter notes: a sixteenth in metres shorter than 3/4, else an eighth.
pub(super) fn usual_unit(metre: Option<&Metre>) -> Quarters {
    let short = metre
        .and_then(Metre::length)
        .is_some_and(|length| length < Quarters::whole(3));
    if short {
        Rational::new(1, 4)
    } else {
        Rational::new(1, 2)
    }
}

/// The length in an `L:` field, in quarter notes; `None` if it is none.
pub(super) fn unit(text: &str) -> Option<Quarters> {
    fraction(text.trim()).map(|whole| whole * Quarters::whole(4))
}

/// A fraction of a whole note like `1/8`, or `1`; longer than nothing and not longer than 64 whole notes.
pub(super) fn fraction(text: &str) -> Option<Rational> {
    let value = Rational::parse(text)?;
    let usable = value.is_positive() && value <= Rational::whole(64) && value.den() <= 4096;
    usable.then_some(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn metres_of_every_form() {
        let said = |text: &str| metre(text).map(|m| m.map_or_else(|| "free".to_owned(), |m| m.name()));
        for (text, name) in [
            ("4/4", "4/4"),
            ("C", "C"),
            ("C|", "¢"),
            ("none", "free"),
            ("free", "free"),
            ("", "free"),
            ("(2+3+2)/8", "2+3+2/8"),
            ("2+3+2/8", "2+3+2/8"),
            ("2/4+3/8", "2/4+3/8"),
            ("(3 2)/8", "3+2/8"),
        ] {
            assert_eq!(said(text).as_deref(), Some(name), "{text}");
        }
        for text in ["waltz", "3/", "/4", "0/4", "3/0", "3/4x", "99999/4"] {
            assert_eq!(metre(text), None, "{text}");
        }
    }

    /// Source: ABC 2.1, 3.1.7: 2/4 = 0.5 gives a sixteenth; 4/4, 6/8 and 3/4, `C|` and free metre an eighth.
    #[test]
    fn the_usual_unit_follows_the_metre() {
        let unit_of = |text: &str| usual_unit(metre(text).flatten().as_ref());
        for text in ["4/4", "6/8", "3/4", "C", "C|", "none"] {
            assert_eq!(unit_of(text), Rational::new(1, 2), "{text}");
        }
        for text in ["2/4", "3/8", "5/8"] {
            assert_eq!(unit_of(text), Rational::new(1, 4), "{text}");
        }
        assert_eq!(unit("1/16"), Some(Rational::new(1, 4)));
        assert_eq!(unit("1"), Some(Rational::whole(4)));
        assert_eq!(unit("0"), None);
    }
}

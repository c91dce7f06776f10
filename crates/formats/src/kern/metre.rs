//! What metre is it? Fractions by what follows `*M`, their symbols by `*met`.
//!
//! Source: Humdrum reference, tandem interpretations; `*met(c)` by common usage.

use super::layout::Home;
use super::part::Reader;
use super::scan::Cell;
use notation::{Change, DirectionKind, Metre, MetrePart, MetreSymbol, Quarters, Severity};

impl<'a> Reader<'a, '_> {
    /// Reads a metre by what follows `*M`.
    pub(super) fn metre(&mut self, cell: &Cell<'a>, home: Home, text: &str) {
        let place = self.place();
        let Some(mut metre) = metre(text) else {
            let what = format!("the metre “{text}” is not a fraction; it was left out");
            self.find(
                home.part,
                Severity::Caution,
                "metre-unclear",
                what,
                "read the metre on the page",
            );
            return;
        };
        let state = &mut self.parts[home.part];
        let symbol = state
            .symbol
            .filter(|(at, _)| *at == place)
            .map(|(_, symbol)| symbol);
        metre.symbol = symbol.filter(|_| !metre.parts.is_empty()).unwrap_or(metre.symbol);
        let last = state.part.metres.last();
        let same =
            |change: &Change<Metre>| change.value.parts == metre.parts && change.value.symbol == metre.symbol;
        if last
            .is_some_and(|change| same(change) || change.place == place && change.value.parts == metre.parts)
        {
            return;
        }
        self.put_metre(cell, home, metre);
    }

    fn put_metre(&mut self, cell: &Cell<'a>, home: Home, metre: Metre) {
        let length = metre.length();
        let change = self.change(cell, None, metre);
        let state = &mut self.parts[home.part];
        state.part.metres.push(change);
        if self.offset.is_zero() {
            (state.metre, state.next_metre) = (length, None);
        } else {
            state.next_metre = Some(length);
        }
    }

    /// `*met(c)` beside `*M4/4` says how the metre is printed.
    pub(super) fn metre_symbol(&mut self, cell: &Cell<'a>, home: Home, text: &str) {
        let place = self.place();
        let symbol = match text {
            "c" | "C" => MetreSymbol::Common,
            "c|" | "C|" => MetreSymbol::Cut,
            other => {
                let kind = DirectionKind::Sign {
                    name: "mensuration".to_owned(),
                    text: other.chars().take(20).collect(),
                };
                return self.direct(cell, home, None, true, kind);
            }
        };
        let state = &mut self.parts[home.part];
        state.symbol = Some((place, symbol));
        match state.part.metres.last_mut() {
            Some(change) if change.place == place => change.value.symbol = symbol,
            _ => {}
        }
    }

    /// A symbol that no metre came with stands for the usual one.
    pub(super) fn settle_symbol(&mut self, cell: &Cell<'a>, home: Home) {
        let Some((place, symbol)) = self.parts[home.part].symbol.take() else {
            return;
        };
        let last = self.parts[home.part].part.metres.last();
        if last.is_some_and(|change| change.place == place) {
            return;
        }
        let (beats, beat_type) = if symbol == MetreSymbol::Cut {
            (2, 2)
        } else {
            (4, 4)
        };
        let metre = Metre {
            symbol,
            ..Metre::new(beats, beat_type)
        };
        if last.is_some_and(|change| change.value == metre) {
            return;
        }
        (self.bar, self.offset) = (place.bar, place.offset);
        self.put_metre(cell, home, metre);
    }
}

/// A metre by what follows `*M`: `4/4`, `3+2/8`, `2/4+3/8`; `X` and `?` for music without measure.
pub(super) fn metre(text: &str) -> Option<Metre> {
    if matches!(text, "X" | "X/X" | "FREI" | "?") {
        return Some(Metre {
            parts: Vec::new(),
            symbol: MetreSymbol::Senza,
        });
    }
    let mut parts = Vec::new();
    let mut groups: Vec<u16> = Vec::new();
    let mut rest = text;
    while !rest.is_empty() {
        let (number, after) = number(rest)?;
        groups.push(u16::try_from(number).ok().filter(|n| (1..=1_000).contains(n))?);
        if let Some(more) = after.strip_prefix('+') {
            rest = more;
        } else {
            let (under, more) = number_after(after, '/')?;
            parts.push(MetrePart {
                groups: std::mem::take(&mut groups),
                beat_type: under,
            });
            rest = match more.strip_prefix('+') {
                Some(more) if !more.is_empty() => more,
                None if more.is_empty() => more,
                _ => return None,
            };
        }
        if parts.len() + groups.len() > 64 {
            return None;
        }
    }
    let metre = Metre {
        parts,
        symbol: MetreSymbol::Numbers,
    };
    (groups.is_empty() && metre.length().is_some()).then_some(metre)
}

/// The number below; 0 and 00 stand for a breve and a long, which no whole number of a whole note can.
fn number_after(text: &str, sign: char) -> Option<(u16, &str)> {
    let (number, rest) = number(text.strip_prefix(sign)?)?;
    let number = u16::try_from(number).ok().filter(|n| (1..=1_024).contains(n))?;
    Some((number, rest))
}

fn number(text: &str) -> Option<(u32, &str)> {
    let rest = text.trim_start_matches(|c: char| c.is_ascii_digit());
    Some((text[..text.len() - rest.len()].parse().ok()?, rest))
}

/// How long a bar is by an interpretation, if it is a metre.
pub(super) fn metre_length(token: &str) -> Option<Option<Quarters>> {
    let text = token.strip_prefix("*M").filter(|text| !text.starts_with('M'))?;
    metre(text).map(|metre| metre.length())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn metres() {
        let name = |text| metre(text).map(|metre| metre.fraction());
        assert_eq!(name("6/8").as_deref(), Some("6/8"));
        assert_eq!(name("3+2/8").as_deref(), Some("3+2/8"));
        assert_eq!(name("2/4+3/8").as_deref(), Some("2/4+3/8"));
        assert_eq!(name("X").as_deref(), Some("senza misura"));
        for text in [
            "4",
            "4/",
            "/4",
            "0/4",
            "4/0",
            "4/4+",
            "+4/4",
            "4/4x",
            "99999999999/4",
        ] {
            assert_eq!(name(text), None, "{text}");
        }
    }
}

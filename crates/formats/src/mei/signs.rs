//! What do single control events mean in the page model? Dynamics and words, jumps, fermatas, ornaments, octave lines.
//!
//! Source: MEI 5.0, the page of each element; the model's names are MusicXML 4.0's.

use super::control::Kind;
use super::values::{accidental, is_true, short};
use crate::xml::El;
use notation::{DirectionKind, Fermata, OrnamentKind, Side};

/// Dynamic marks by their letters.
/// Source: MusicXML 4.0, dynamics.
const DYNAMICS: [&str; 28] = [
    "p", "pp", "ppp", "pppp", "ppppp", "pppppp", "f", "ff", "fff", "ffff", "fffff", "ffffff", "mp", "mf",
    "sf", "sfp", "sfpp", "fp", "rf", "rfz", "sfz", "sffz", "fz", "n", "pf", "sfzp", "sff", "rfp",
];

/// A dynamic: a mark, words, or a mark with words beside it (`p dolce`, `più f`).
pub(super) fn dynamics(text: &str) -> Vec<(DirectionKind, bool)> {
    let is_mark = |word: &str| DYNAMICS.contains(&word);
    let pieces: Vec<&str> = text.split(' ').collect();
    let mut said = Vec::new();
    let words = |pieces: &[&str]| {
        let words = pieces.join(" ").trim().to_owned();
        (!words.is_empty()).then_some((DirectionKind::Words(words), true))
    };
    match pieces.as_slice() {
        [mark] if is_mark(mark) => said.push((DirectionKind::Dynamic((*mark).to_owned()), true)),
        [mark, rest @ ..] if is_mark(mark) => {
            said.push((DirectionKind::Dynamic((*mark).to_owned()), true));
            said.extend(words(rest));
        }
        [rest @ .., mark] if is_mark(mark) => {
            said.extend(words(rest));
            said.push((DirectionKind::Dynamic((*mark).to_owned()), true));
        }
        all => said.extend(words(all)),
    }
    said
}

/// Words, with the segno and coda signs in them as signs.
pub(super) fn with_signs(text: &str) -> Vec<(DirectionKind, bool)> {
    let mut said = Vec::new();
    let mut words = String::new();
    let flush = |words: &mut String, said: &mut Vec<(DirectionKind, bool)>| {
        let text = super::text::letters(words);
        if !text.trim().is_empty() {
            said.push((DirectionKind::Words(text.trim().to_owned()), true));
        }
        words.clear();
    };
    for c in text.chars() {
        let sign = match c {
            '\u{E047}' | '\u{1D10B}' => DirectionKind::Segno,
            '\u{E048}' | '\u{1D10C}' => DirectionKind::Coda,
            _ => {
                words.push(c);
                continue;
            }
        };
        flush(&mut words, &mut said);
        if said.len() < 20 {
            said.push((sign, true));
        }
    }
    flush(&mut words, &mut said);
    said
}

/// A `repeatMark`: the sign, or the words of a jump with what they say to playback.
pub(super) fn repeat_mark(el: El<'_, '_>, text: &str) -> Kind {
    let words = |usual: &str| {
        DirectionKind::Words(if text.is_empty() {
            usual.to_owned()
        } else {
            text.to_owned()
        })
    };
    let (said, hint) = match el.attr("func") {
        Some("segno") if text.is_empty() => (DirectionKind::Segno, Some(("segno", "segno"))),
        Some("coda") if text.is_empty() => (DirectionKind::Coda, None),
        Some("segno") => (words("Segno"), Some(("segno", "segno"))),
        Some("fine") => (words("Fine"), Some(("fine", "yes"))),
        Some("daCapo") => (words("D.C."), Some(("dacapo", "yes"))),
        Some("dalSegno") => (words("D.S."), Some(("dalsegno", "segno"))),
        _ => (words("repeat mark"), None),
    };
    Kind::Jump { said, hint }
}

pub(super) fn fermata(el: El<'_, '_>) -> Fermata {
    let shape = match el.attr("shape") {
        Some("square") => "square",
        Some("angular") => "angled",
        _ => "",
    };
    let inverted = match el.attr("form") {
        Some(form) => form == "inv",
        None => el.attr("place") == Some("below"),
    };
    Fermata {
        shape: shape.to_owned(),
        inverted,
    }
}

/// The shape of a breath mark or caesura, by the end of its glyph's name.
/// Source: SMuFL 1.4, range "Holds and pauses"; MusicXML 4.0, breath-mark-value and caesura-value.
pub(super) fn break_shape(el: El<'_, '_>, family: &str) -> String {
    let shape = el
        .attr("glyph.name")
        .and_then(|name| name.strip_prefix(family))
        .unwrap_or_default();
    shape.to_lowercase().chars().take(20).collect()
}

/// Octaves by which an `octave` draws the notes away from their sound.
pub(super) fn octaves(el: El<'_, '_>) -> i8 {
    let octaves = match el.attr("dis") {
        Some("15") => 2,
        Some("22") => 3,
        _ => 1,
    };
    if el.attr("dis.place") == Some("below") {
        -octaves
    } else {
        octaves
    }
}

/// The ornament; `text` is what stands in an `ornam`.
/// The forms `inv` and `norm` are MEI 3's: a mordent without and with the stroke, a turn inverted or not.
pub(super) fn ornament(el: El<'_, '_>, text: &str) -> Option<OrnamentKind> {
    let form = el.attr("form");
    let delayed = is_true(el, "delayed");
    Some(match el.name() {
        "trill" => OrnamentKind::Trill,
        "mordent" => {
            let long = is_true(el, "long");
            match form {
                Some("upper" | "inv") => OrnamentKind::InvertedMordent { long },
                _ => OrnamentKind::Mordent { long },
            }
        }
        "turn" => match (form, delayed) {
            (Some("lower" | "inv"), false) => OrnamentKind::InvertedTurn,
            (Some("lower" | "inv"), true) => OrnamentKind::DelayedInvertedTurn,
            (_, false) => OrnamentKind::Turn,
            (_, true) => OrnamentKind::DelayedTurn,
        },
        _ => {
            let name = if text.is_empty() {
                el.attr("glyph.name").unwrap_or("ornament")
            } else {
                text
            };
            match name {
                "schleifer" | "ornamentSchleifer" => OrnamentKind::Schleifer,
                "ornamentHaydn" => OrnamentKind::Haydn,
                "ornamentShake3" | "shake" => OrnamentKind::Shake,
                "ornamentTurnUp" => OrnamentKind::VerticalTurn,
                other => OrnamentKind::Other(short(other)),
            }
        }
    })
}

/// Accidentals above and below an ornament.
pub(super) fn ornament_accidentals(el: El<'_, '_>) -> Vec<(String, Side)> {
    let one = |name: &str, side: Side| {
        let sign = el.attr(name)?;
        Some((
            accidental(sign).0.map_or_else(|| short(sign), str::to_owned),
            side,
        ))
    };
    [one("accidupper", Side::Above), one("accidlower", Side::Below)]
        .into_iter()
        .flatten()
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_told_from_words() {
        let said = |text: &str| {
            dynamics(text)
                .into_iter()
                .map(|(kind, _)| match kind {
                    DirectionKind::Dynamic(mark) => format!("[{mark}]"),
                    DirectionKind::Words(words) => words,
                    other => format!("{other:?}"),
                })
                .collect::<Vec<_>>()
                .join(" ")
        };
        assert_eq!(said("mf"), "[mf]");
        assert_eq!(said("p dolce"), "[p] dolce");
        assert_eq!(said("più f"), "più [f]");
        assert_eq!(said("cresc."), "cresc.");
        assert_eq!(said(""), "");
    }
}

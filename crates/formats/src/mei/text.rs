//! What words stand in an element that mixes text and markup? Line breaks kept, blanks of the file's layout not.

use crate::xml::El;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

/// Longer than any text on a page, in characters.
const MOST: usize = 20_000;

/// The words of an element and of all that is in it; `source` is the text that the element was read from.
/// Of alternatives inside the text, corrections stand for what they correct.
pub(super) fn words(source: &str, el: El<'_, '_>) -> String {
    let mut text = String::new();
    if el.children().next().is_none() {
        add(&mut text, el.raw_text());
        return tidy(&text);
    }
    let (from, to) = el.range();
    let slice = source.get(from as usize..to as usize).unwrap_or_default();
    mixed(slice, &mut text, true);
    if tidy(&text).is_empty() {
        text.clear();
        mixed(slice, &mut text, false);
    }
    tidy(&text)
}

/// What is left out of a text where something stands in its place.
const REPLACED: [&str; 5] = ["sic", "orig", "del", "rdg", "expan"];

fn mixed(slice: &str, text: &mut String, choose: bool) {
    let mut reader = Reader::from_str(slice);
    let mut depth = 0_usize;
    let mut silent: Option<usize> = None;
    while let Ok(event) = reader.read_event() {
        match event {
            Event::Start(tag) => {
                depth += 1;
                if choose && silent.is_none() && REPLACED.contains(&tag.name().as_ref()) {
                    silent = Some(depth);
                } else if silent.is_none() {
                    markup(&tag, text);
                }
            }
            Event::End(_) => {
                if silent == Some(depth) {
                    silent = None;
                }
                depth = depth.saturating_sub(1);
            }
            Event::Empty(tag) if silent.is_none() => markup(&tag, text),
            Event::Text(found) if silent.is_none() => add(text, &found.into_inner()),
            Event::CData(found) if silent.is_none() => add(text, &found.into_inner()),
            Event::GeneralRef(name) if silent.is_none() => text.push_str(&unfolded(&name.into_inner())),
            Event::Eof => return,
            _ => {}
        }
        if text.len() > MOST * 4 {
            return;
        }
    }
}

/// Blanks of all kinds are one space; a line break is only what `<lb/>` makes.
fn add(text: &mut String, found: &str) {
    for c in found.chars() {
        if !c.is_whitespace() {
            text.push(c);
        } else if !text.ends_with([' ', '\n']) {
            text.push(' ');
        }
    }
}

fn markup(tag: &BytesStart<'_>, text: &mut String) {
    match tag.name().as_ref() {
        "lb" => text.push('\n'),
        "symbol" => {
            let sign = |name: &str| {
                let mut attributes = tag.attributes();
                let attributes = attributes.with_checks(false).flatten();
                let value = attributes.filter(|a| a.key.0 == name).map(|a| a.value).next()?;
                glyph(value.trim())
            };
            text.extend(sign("glyph.num").or_else(|| sign("glyph.name")));
        }
        _ => {}
    }
}

pub(super) fn unfolded(name: &str) -> String {
    let code = name
        .strip_prefix('#')
        .and_then(|number| match number.strip_prefix(['x', 'X']) {
            Some(hex) => u32::from_str_radix(hex, 16).ok(),
            None => number.parse().ok(),
        });
    let plain = match name {
        "amp" => Some('&'),
        "lt" => Some('<'),
        "gt" => Some('>'),
        "quot" => Some('"'),
        "apos" => Some('\''),
        _ => code.and_then(char::from_u32),
    };
    plain.map_or_else(|| format!("&{name};"), String::from)
}

/// Lines without blanks at their ends, no empty lines around.
fn tidy(text: &str) -> String {
    let lines: Vec<&str> = text.split('\n').map(str::trim).collect();
    let text = lines.join("\n");
    text.trim_matches('\n').chars().take(MOST).collect()
}

/// A glyph by its code point (`U+ECA5`) or its SMuFL name.
/// Source: SMuFL 1.4, ranges "Metronome marks", "Dynamics", "Repeats".
pub(super) fn glyph(name: &str) -> Option<char> {
    let hex = name.strip_prefix("U+").or_else(|| name.strip_prefix("#x"));
    if let Some(hex) = hex {
        return u32::from_str_radix(hex, 16).ok().and_then(char::from_u32);
    }
    Some(match name {
        "metNoteDoubleWhole" => '\u{ECA0}',
        "metNoteWhole" => '\u{ECA2}',
        "metNoteHalfUp" => '\u{ECA3}',
        "metNoteQuarterUp" => '\u{ECA5}',
        "metNote8thUp" => '\u{ECA7}',
        "metNote16thUp" => '\u{ECA9}',
        "metNote32ndUp" => '\u{ECAB}',
        "metAugmentationDot" => '\u{ECB7}',
        "segno" => '\u{E047}',
        "coda" => '\u{E048}',
        _ => return None,
    })
}

/// The text with the signs of the SMuFL private area turned into letters where they are letters, else left out.
/// Source: SMuFL 1.4, range "Dynamics" (U+E520–U+E54F).
pub(super) fn letters(text: &str) -> String {
    let mut said = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\u{E520}' => said.push('p'),
            '\u{E521}' => said.push('m'),
            '\u{E522}' => said.push('f'),
            '\u{E523}' => said.push('r'),
            '\u{E524}' => said.push('s'),
            '\u{E525}' => said.push('z'),
            '\u{E526}' => said.push('n'),
            '\u{E52A}' => said.push_str("ppp"),
            '\u{E52B}' => said.push_str("pp"),
            '\u{E52C}' => said.push_str("mp"),
            '\u{E52D}' => said.push_str("mf"),
            '\u{E52F}' => said.push_str("ff"),
            '\u{E530}' => said.push_str("fff"),
            '\u{E534}' => said.push_str("fp"),
            '\u{E535}' => said.push_str("fz"),
            '\u{E536}' => said.push_str("sf"),
            '\u{E539}' => said.push_str("sfz"),
            '\u{E000}'..='\u{F8FF}' => {}
            c => said.push(c),
        }
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(source: &str) -> String {
        let mut text = String::new();
        mixed(source, &mut text, true);
        tidy(&text)
    }

    #[test]
    fn text_around_markup_is_one_text() {
        assert_eq!(
            said("<dir><rend>cresc.</rend> poco\n   a poco</dir>"),
            "cresc. poco a poco"
        );
        assert_eq!(said("<dir>one<lb/>two &amp; &#x266F;</dir>"), "one\ntwo & ♯");
        assert_eq!(
            said("<dir><choice><sic>alegro</sic><corr>allegro</corr></choice> assai</dir>"),
            "allegro assai"
        );
        assert_eq!(
            said("<tempo><symbol glyph.name='metNoteQuarterUp'/> = 96</tempo>"),
            "\u{ECA5} = 96"
        );
        assert_eq!(letters("\u{E522}\u{E520}"), "fp");
    }
}

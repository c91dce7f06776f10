//! Which letters does a text string mean? Accents, ligatures, named entities and code points, as ABC writes them.
//!
//! Source: ABC 2.1, section 8.2 (text strings): mnemonics `\'e`, entities `&eacute;`, fixed width `\u00e9`.

use std::borrow::Cow;

/// The text with its accents in place; borrowed where nothing is encoded.
pub(super) fn decoded(text: &str) -> Cow<'_, str> {
    if !text.contains(['\\', '&', '$']) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find(['\\', '&', '$']) {
        out.push_str(rest.get(..at).unwrap_or_default());
        let here = rest.get(at..).unwrap_or_default();
        let taken = match here.as_bytes().first() {
            Some(b'\\') => mnemonic(here, &mut out),
            Some(b'&') => entity(here, &mut out),
            _ => font(here, &mut out),
        };
        rest = here.get(taken..).unwrap_or_default();
    }
    out.push_str(rest);
    Cow::Owned(out)
}

/// The same, owned.
pub(super) fn plain(text: &str) -> String {
    decoded(text).into_owned()
}

/// `$1` switches a font; `$$` is a dollar sign. Source: ABC 2.1, section 11.4.2.
fn font(here: &str, out: &mut String) -> usize {
    match here.as_bytes().get(1) {
        Some(b'0'..=b'4') => 2,
        Some(b'$') => {
            out.push('$');
            2
        }
        _ => {
            out.push('$');
            1
        }
    }
}

fn entity(here: &str, out: &mut String) -> usize {
    let end = here.bytes().take(12).position(|b| b == b';');
    let found = end.and_then(|end| Some((end, named(here.get(1..end)?)?)));
    match found {
        Some((end, letter)) => {
            out.push(letter);
            end + 1
        }
        None => {
            out.push('&');
            1
        }
    }
}

fn named(name: &str) -> Option<char> {
    if let Some(number) = name.strip_prefix('#') {
        let code = match number.strip_prefix(['x', 'X']) {
            Some(hex) => u32::from_str_radix(hex, 16).ok()?,
            None => number.parse().ok()?,
        };
        return char::from_u32(code).filter(|c| !c.is_control());
    }
    let plain = match name {
        "amp" => '&',
        "quot" => '"',
        "lt" => '<',
        "gt" => '>',
        "apos" => '\'',
        "nbsp" => '\u{a0}',
        "copy" => '©',
        "flat" => '♭',
        "sharp" => '♯',
        "natural" => '♮',
        "szlig" => 'ß',
        "aelig" => 'æ',
        "AElig" => 'Æ',
        "oelig" => 'œ',
        "OElig" => 'Œ',
        "eth" => 'ð',
        "ETH" => 'Ð',
        "thorn" => 'þ',
        "THORN" => 'Þ',
        "aring" => 'å',
        "Aring" => 'Å',
        "oslash" => 'ø',
        "Oslash" => 'Ø',
        _ => {
            // A letter and the name of its accent: `eacute`.
            let letter = name.chars().next()?;
            let accent = match name.get(letter.len_utf8()..)? {
                "grave" => '`',
                "acute" => '\'',
                "circ" => '^',
                "tilde" => '~',
                "uml" => '"',
                "cedil" => 'c',
                "caron" => 'v',
                "breve" => 'u',
                "ring" => 'o',
                _ => return None,
            };
            accented(accent, letter)?
        }
    };
    Some(plain)
}

fn mnemonic(here: &str, out: &mut String) -> usize {
    let mut chars = here.chars().skip(1);
    let (Some(first), second) = (chars.next(), chars.next()) else {
        out.push('\\');
        return 1;
    };
    // Characters with a meaning of their own.
    if matches!(first, '\\' | '%' | '&' | ';' | '*') {
        out.push(first);
        return 1 + first.len_utf8();
    }
    let digits = match first {
        'u' => 4,
        'U' => 8,
        _ => 0,
    };
    if digits > 0
        && let Some(code) = here.get(2..2 + digits)
        && code.bytes().all(|b| b.is_ascii_hexdigit())
        && let Some(letter) = u32::from_str_radix(code, 16).ok().and_then(char::from_u32)
    {
        if !letter.is_control() {
            out.push(letter);
        }
        return 2 + digits;
    }
    if let Some(second) = second {
        let pair = [first, second];
        let letter = ligature(pair).or_else(|| accented(first, second));
        if let Some(letter) = letter {
            out.push(letter);
            return 1 + first.len_utf8() + second.len_utf8();
        }
    }
    // An escaped quotation mark, or a backslash that means nothing.
    if first == '"' {
        out.push('"');
        return 2;
    }
    out.push('\\');
    1
}

fn ligature(pair: [char; 2]) -> Option<char> {
    Some(match pair {
        ['A', 'A'] => 'Å',
        ['a', 'a'] => 'å',
        ['A', 'E'] => 'Æ',
        ['a', 'e'] => 'æ',
        ['O', 'E'] => 'Œ',
        ['o', 'e'] => 'œ',
        ['s', 's'] => 'ß',
        ['D', 'H'] | ['-', 'D'] => 'Ð',
        ['d', 'h'] => 'ð',
        ['-', 'd'] => 'đ',
        ['T', 'H'] => 'Þ',
        ['t', 'h'] => 'þ',
        ['/', 'O'] => 'Ø',
        ['/', 'o'] => 'ø',
        ['/', 'D'] => 'Đ',
        ['/', 'd'] => 'đ',
        ['/', 'L'] => 'Ł',
        ['/', 'l'] => 'ł',
        _ => return None,
    })
}

/// A letter with an accent above or below, as one character.
fn accented(accent: char, letter: char) -> Option<char> {
    const TABLE: [(char, &str, &str); 11] = [
        ('`', "AEIOUaeiouNn", "ÀÈÌÒÙàèìòùǸǹ"),
        ('\'', "AEIOUYaeiouyCcLlNnRrSsZz", "ÁÉÍÓÚÝáéíóúýĆćĹĺŃńŔŕŚśŹź"),
        ('^', "AEIOUaeiouCcGgHhJjSsWwYy", "ÂÊÎÔÛâêîôûĈĉĜĝĤĥĴĵŜŝŴŵŶŷ"),
        ('"', "AEIOUYaeiouy", "ÄËÏÖÜŸäëïöüÿ"),
        ('~', "ANOIUanoiu", "ÃÑÕĨŨãñõĩũ"),
        ('c', "CcGgKkLlNnRrSsTt", "ÇçĢģĶķĻļŅņŖŗŞşŢţ"),
        ('o', "AaUu", "ÅåŮů"),
        ('=', "AEIOUaeiouDdHhTt", "ĀĒĪŌŪāēīōūĐđĦħŦŧ"),
        ('u', "AEGIOUaegiou", "ĂĔĞĬŎŬăĕğĭŏŭ"),
        ('v', "CDENRSTZcdenrstz", "ČĎĚŇŘŠŤŽčďěňřšťž"),
        (';', "AEIUaeiu", "ĄĘĮŲąęįų"),
    ];
    const MORE: [(char, &str, &str); 2] = [('H', "OoUu", "ŐőŰű"), ('.', "CEGIZcegz", "ĊĖĠİŻċėġż")];
    TABLE
        .iter()
        .chain(&MORE)
        .filter(|(sign, ..)| *sign == accent)
        .find_map(|(_, letters, accented)| {
            letters
                .chars()
                .position(|l| l == letter)
                .and_then(|at| accented.chars().nth(at))
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: ABC 2.1, section 8.2, table of accents and ligatures.
    #[test]
    fn accents_by_mnemonic_entity_and_code() {
        for (text, meant) in [
            ("plain", "plain"),
            (r"Cancion de pi\~nata", "Cancion de piñata"),
            (r"caf\'e and caf&eacute; and caf\u00e9", "café and café and café"),
            (r#"Fr\"ohlich"#, "Fröhlich"),
            (
                r"gar\ccon \oe\ae\ss \AA\aa \/O \HO \vc \=a \uA",
                "garçon œæß Åå Ø Ő č ā Ă",
            ),
            (r"Smith \& Sons, 100\%, a\\b", r"Smith & Sons, 100%, a\b"),
            ("&copy; 1900 &amp; &#9837; &nosuch; &", "© 1900 & ♭ &nosuch; &"),
            ("$1bold$0 costs $$5", "bold costs $5"),
            (r"ends with \", r"ends with \"),
            (r"\u00", r"\u00"),
        ] {
            assert_eq!(decoded(text), meant, "{text}");
        }
    }
}

//! Which letters count as the same? Words are compared without capitals, accents, ligatures and music glyphs.

/// Appends the folded form of one character: lower case, no accent, ß as ss, œ as oe; music letters (𝆑) as letters.
pub(crate) fn push_folded(c: char, out: &mut String) {
    if c.is_ascii() {
        out.push(c.to_ascii_lowercase());
        return;
    }
    match c {
        'à' | 'á' | 'â' | 'ã' | 'ä' | 'å' | 'ā' | 'À' | 'Á' | 'Â' | 'Ã' | 'Ä' | 'Å' | 'Ā' => {
            out.push('a')
        }
        'è' | 'é' | 'ê' | 'ë' | 'ē' | 'ě' | 'È' | 'É' | 'Ê' | 'Ë' | 'Ē' | 'Ě' => out.push('e'),
        'ì' | 'í' | 'î' | 'ï' | 'ī' | 'Ì' | 'Í' | 'Î' | 'Ï' | 'Ī' => out.push('i'),
        'ò' | 'ó' | 'ô' | 'õ' | 'ö' | 'ō' | 'ő' | 'ø' | 'Ò' | 'Ó' | 'Ô' | 'Õ' | 'Ö' | 'Ō' | 'Ő' | 'Ø' => {
            out.push('o')
        }
        'ù' | 'ú' | 'û' | 'ü' | 'ū' | 'ű' | 'Ù' | 'Ú' | 'Û' | 'Ü' | 'Ū' | 'Ű' => out.push('u'),
        'ç' | 'ć' | 'č' | 'Ç' | 'Ć' | 'Č' => out.push('c'),
        'ñ' | 'ń' | 'Ñ' | 'Ń' => out.push('n'),
        'š' | 'ś' | 'Š' | 'Ś' => out.push('s'),
        'ž' | 'ź' | 'ż' | 'Ž' | 'Ź' | 'Ż' => out.push('z'),
        'ý' | 'ÿ' | 'Ý' | 'Ÿ' => out.push('y'),
        'ß' | 'ẞ' => out.push_str("ss"),
        'œ' | 'Œ' => out.push_str("oe"),
        'æ' | 'Æ' => out.push_str("ae"),
        'ﬁ' => out.push_str("fi"),
        'ﬂ' => out.push_str("fl"),
        'ﬀ' => out.push_str("ff"),
        '×' => out.push('x'),
        _ => match music_letters(c) {
            Some(letters) => out.push_str(letters),
            None if is_skipped(c) => {}
            None => out.extend(c.to_lowercase()),
        },
    }
}

/// Folds a whole string, as one word.
#[cfg(test)]
fn folded(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        push_folded(c, &mut out);
    }
    out
}

/// The letters of a dynamics glyph. Source: Unicode block Musical Symbols (U+1D18C–U+1D191); SMuFL, range Dynamics
/// (U+E520–U+E526), from memory.
pub(crate) fn music_letters(c: char) -> Option<&'static str> {
    Some(match c {
        '\u{1D18F}' | '\u{E520}' => "p",
        '\u{1D190}' | '\u{E521}' => "m",
        '\u{1D191}' | '\u{E522}' => "f",
        '\u{1D18C}' | '\u{E523}' => "r",
        '\u{1D18D}' | '\u{E524}' => "s",
        '\u{1D18E}' | '\u{E525}' => "z",
        '\u{E526}' => "n",
        _ => return None,
    })
}

/// The road-map sign that a glyph is, as a word. Source: Unicode U+1D109–U+1D10C; SMuFL U+E045–U+E048, from memory.
pub(crate) fn sign_word(c: char) -> Option<&'static str> {
    match c {
        '\u{1D10B}' | '\u{E047}' => Some("segno"),
        '\u{1D10C}' | '\u{E048}' | '⊕' => Some("coda"),
        '\u{1D109}' | '\u{E045}' => Some("ds"),
        '\u{1D10A}' | '\u{E046}' => Some("dc"),
        _ => None,
    }
}

/// Characters that stand inside a word without being a letter of it: combining accents, ordinal signs, soft hyphen.
pub(crate) fn is_skipped(c: char) -> bool {
    matches!(c, '\u{300}'..='\u{36F}' | 'º' | 'ª' | '°' | '\u{AD}' | '\u{200B}'..='\u{200D}' | '\u{FEFF}')
}

/// One bit for each letter of the alphabet that a folded word holds.
pub(crate) fn letter_set(word: &str) -> u32 {
    word.bytes()
        .filter(u8::is_ascii_lowercase)
        .fold(0, |set, b| set | 1 << (b - b'a'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn accents_capitals_and_ligatures_do_not_matter() {
        assert_eq!(folded("MÄßIG"), "massig");
        assert_eq!(folded("très"), "tres");
        assert_eq!(folded("tre\u{300}s"), "tres");
        assert_eq!(folded("chœur"), "choeur");
        assert_eq!(folded("𝆑𝆑"), "ff");
    }
}

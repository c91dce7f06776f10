//! Which letters do the fonts have that we print with? Latin, Greek, Cyrillic, Hebrew and musical signs; for the others there
//! would be empty boxes on the paper.

/// What the upright text font has, and the musical signs that stand in our own words, as ranges of code points; code points
/// without a meaning may lie between. A test holds it against the font files.
const HAS: [(char, char); 33] = [
    (' ', '~'),
    ('\u{a0}', '\u{2e4}'),
    ('\u{300}', '\u{34e}'),
    ('\u{374}', '\u{375}'),
    ('\u{37a}', '\u{37e}'),
    ('\u{384}', '\u{3ce}'),
    ('\u{3fd}', '\u{477}'),
    ('\u{48c}', '\u{4c4}'),
    ('\u{4d0}', '\u{4f9}'),
    ('\u{5b0}', '\u{5c3}'),
    ('\u{5d0}', '\u{5ea}'),
    ('\u{1e00}', '\u{2027}'),
    ('\u{202f}', '\u{2037}'),
    ('\u{2039}', '\u{203e}'),
    ('\u{2070}', '\u{209c}'),
    ('€', '€'),
    ('№', '№'),
    ('™', '™'),
    ('\u{2153}', '\u{2184}'),
    ('←', '\u{219b}'),
    ('\u{2200}', '\u{220d}'),
    ('\u{220f}', '\u{222e}'),
    ('≈', '≈'),
    ('≠', '≡'),
    ('≤', '≥'),
    ('⊓', '⊓'),
    ('⊕', '⊕'),
    ('⁄', '⁄'),
    ('\u{e045}', '\u{e04a}'),
    ('■', '□'),
    ('♩', '♯'),
    ('𝄋', '𝄌'),
    ('𝄐', '𝄐'),
];
/// Double accidentals.
const DOUBLE: [char; 2] = ['𝄪', '𝄫'];

/// Whether a sign can be printed.
pub(crate) fn has(c: char) -> bool {
    DOUBLE.contains(&c) || HAS.iter().any(|(from, to)| (*from..=*to).contains(&c))
}

/// Whether all of a text can be printed; white space and signs without a shape don't matter.
pub(crate) fn has_all(text: &str) -> bool {
    text.chars()
        .all(|c| c.is_whitespace() || c.is_control() || has(c))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    fn number(bytes: &[u8], at: usize, length: usize) -> usize {
        bytes[at..at + length]
            .iter()
            .fold(0, |sum, byte| sum * 256 + usize::from(*byte))
    }

    /// The code points of a font file.
    ///
    /// Source: OpenType 1.9, `cmap`, formats 4 and 12.
    fn code_points(font: &[u8]) -> BTreeSet<u32> {
        let tables = (0..number(font, 4, 2)).map(|n| 12 + 16 * n);
        let cmap = tables
            .into_iter()
            .find(|at| &font[*at..at + 4] == b"cmap")
            .unwrap();
        let cmap = &font[number(font, cmap + 8, 4)..];
        let mut found = BTreeSet::new();
        for table in 0..number(cmap, 2, 2) {
            let at = number(cmap, 4 + 8 * table + 4, 4);
            match number(cmap, at, 2) {
                12 => {
                    for group in 0..number(cmap, at + 12, 4) {
                        let (from, to) = (
                            number(cmap, at + 16 + 12 * group, 4),
                            number(cmap, at + 20 + 12 * group, 4),
                        );
                        found.extend((from..=to).map(|code| u32::try_from(code).unwrap()));
                    }
                }
                4 => {
                    let segments = number(cmap, at + 6, 2) / 2;
                    for segment in 0..segments {
                        let to = number(cmap, at + 14 + 2 * segment, 2);
                        let from = number(cmap, at + 16 + 2 * (segments + segment), 2);
                        found.extend((from..=to).map(|code| u32::try_from(code).unwrap()));
                    }
                }
                _ => {}
            }
        }
        found
    }

    /// Source: the font files. What has a meaning and isn't in the text font is in the music font.
    #[test]
    fn the_fonts_have_what_we_say() {
        let text = fonts::TEXT
            .iter()
            .find(|font| !font.bold && !font.italic)
            .unwrap();
        let (text, music) = (code_points(text.bytes), code_points(fonts::MUSIC.bytes));
        let mut missing = 0;
        for (from, to) in HAS {
            for c in from..=to {
                let has = text.contains(&u32::from(c)) || music.contains(&u32::from(c)) || c == '⊓';
                // Code points that nobody has given a letter are no loss: they are few.
                missing += usize::from(!has && !c.is_alphanumeric());
                assert!(has || !c.is_alphanumeric(), "{c:?}");
            }
        }
        assert!(missing < 60, "{missing}");
        assert!(DOUBLE.iter().all(|c| music.contains(&u32::from(*c))));
        // Drawn with the music font's bow signs.
        assert!(music.contains(&0xe610) && music.contains(&0xe612));
        assert!(!has('月') && !has('🎻') && !has('ع') && has('ё') && has('ế'));
    }

    /// Every sign that our own sentences use.
    #[test]
    fn our_own_signs_can_be_printed() {
        assert!(has_all(
            "♩. = 60 ♪ ♭ ♯ ♮ 𝄪 𝄫 𝄋 𝄌 𝄐 ⊓ ∨ “a” ‘b’ – — … · × ½ % ¢ & é ä ñ\n"
        ));
    }
}

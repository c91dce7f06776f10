//! Which letters and signs are printed with? Fonts as included bytes, nothing else.
//!
//! Each is under the SIL Open Font License 1.1; its text stands beside it in `data/` and in [`Font::licence`].

/// One font file.
#[derive(Clone, Copy, Debug)]
pub struct Font {
    /// The family, as a style sheet names it.
    pub family: &'static str,
    /// Whether it is bold.
    pub bold: bool,
    /// Whether it is italic.
    pub italic: bool,
    /// The file.
    pub bytes: &'static [u8],
    /// Its licence.
    pub licence: &'static str,
}

/// The family of musical signs.
///
/// Source: Standard Music Font Layout (SMuFL), whose reference font it is.
pub const MUSIC_FAMILY: &str = "Bravura";
/// The family of printed words.
pub const TEXT_FAMILY: &str = "Libertinus Serif";
/// The family of what is written in pencil.
pub const HAND_FAMILY: &str = "Architects Daughter";

const TEXT_LICENCE: &str = include_str!("../data/LibertinusSerif.licence.txt");

/// The musical signs.
pub const MUSIC: Font = Font {
    family: MUSIC_FAMILY,
    bold: false,
    italic: false,
    bytes: include_bytes!("../data/Bravura.otf"),
    licence: include_str!("../data/Bravura.licence.txt"),
};

/// A font as a page carries it with itself: compressed (WOFF2). Words and hand hold the letters of European languages and the
/// signs that we print (`tools/webfonts`); the musical signs are whole, since their name is reserved for the unchanged font.
#[derive(Clone, Copy, Debug)]
pub struct WebFont {
    /// The family, as a style sheet names it.
    pub family: &'static str,
    /// Whether it is bold.
    pub bold: bool,
    /// Whether it is italic.
    pub italic: bool,
    /// The file.
    pub woff2: &'static [u8],
}

/// All that pages can carry.
pub const WEB: [WebFont; 6] = [
    web(
        MUSIC_FAMILY,
        false,
        false,
        include_bytes!("../data/Bravura.woff2"),
    ),
    web(
        HAND_FAMILY,
        false,
        false,
        include_bytes!("../data/ArchitectsDaughter-Regular.woff2"),
    ),
    web(
        TEXT_FAMILY,
        false,
        false,
        include_bytes!("../data/LibertinusSerif-Regular.woff2"),
    ),
    web(
        TEXT_FAMILY,
        false,
        true,
        include_bytes!("../data/LibertinusSerif-Italic.woff2"),
    ),
    web(
        TEXT_FAMILY,
        true,
        false,
        include_bytes!("../data/LibertinusSerif-Bold.woff2"),
    ),
    web(
        TEXT_FAMILY,
        true,
        true,
        include_bytes!("../data/LibertinusSerif-BoldItalic.woff2"),
    ),
];

/// The pencil.
pub const HAND: Font = Font {
    family: HAND_FAMILY,
    bold: false,
    italic: false,
    bytes: include_bytes!("../data/ArchitectsDaughter-Regular.ttf"),
    licence: include_str!("../data/ArchitectsDaughter.licence.txt"),
};

/// The printed words: upright, italic, bold, bold italic.
pub const TEXT: [Font; 4] = [
    text(
        false,
        false,
        include_bytes!("../data/LibertinusSerif-Regular.ttf"),
    ),
    text(false, true, include_bytes!("../data/LibertinusSerif-Italic.ttf")),
    text(true, false, include_bytes!("../data/LibertinusSerif-Bold.ttf")),
    text(
        true,
        true,
        include_bytes!("../data/LibertinusSerif-BoldItalic.ttf"),
    ),
];

/// All of them.
pub const ALL: [Font; 6] = [MUSIC, HAND, TEXT[0], TEXT[1], TEXT[2], TEXT[3]];

const fn text(bold: bool, italic: bool, bytes: &'static [u8]) -> Font {
    Font {
        family: TEXT_FAMILY,
        bold,
        italic,
        bytes,
        licence: TEXT_LICENCE,
    }
}

const fn web(family: &'static str, bold: bool, italic: bool, woff2: &'static [u8]) -> WebFont {
    WebFont {
        family,
        bold,
        italic,
        woff2,
    }
}

#[cfg(test)]
mod tests {
    use super::{ALL, WEB};

    #[test]
    fn what_pages_carry_is_compressed_and_small() {
        for font in WEB {
            assert!(font.woff2.starts_with(b"wOF2"), "{}", font.family);
            assert!(font.woff2.len() < 300_000, "{}", font.family);
        }
    }

    #[test]
    fn every_font_is_a_font_file_with_an_open_licence() {
        for font in ALL {
            assert!(
                font.bytes.starts_with(b"OTTO") || font.bytes.starts_with(&[0, 1, 0, 0]),
                "{}",
                font.family
            );
            assert!(
                font.licence.contains("SIL OPEN FONT LICENSE Version 1.1"),
                "{}",
                font.family
            );
        }
    }
}

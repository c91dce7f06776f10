//! Which values does the standard allow? Names outside these lists can't be written.
//!
//! Source: musicxml.xsd, version 4.0 (W3C Music Notation Community Group), the simple type named at each list.

/// `fermata-shape`.
pub(super) const FERMATAS: &[&str] = &[
    "normal",
    "angled",
    "square",
    "double-angled",
    "double-square",
    "double-dot",
    "half-curve",
    "curlew",
    "",
];

/// `bar-style`.
pub(super) const BAR_STYLES: &[&str] = &[
    "regular",
    "dotted",
    "dashed",
    "heavy",
    "light-light",
    "light-heavy",
    "heavy-light",
    "heavy-heavy",
    "tick",
    "short",
    "none",
];

/// `effect-value`.
pub(super) const EFFECT: &[&str] = &[
    "anvil",
    "auto horn",
    "bird whistle",
    "cannon",
    "duck call",
    "gun shot",
    "klaxon horn",
    "lions roar",
    "lotus flute",
    "megaphone",
    "police whistle",
    "siren",
    "slide whistle",
    "thunder sheet",
    "wind machine",
    "wind whistle",
];

/// `glass-value`.
pub(super) const GLASS: &[&str] = &["glass harmonica", "glass harp", "wind chimes"];

/// `membrane-value`.
pub(super) const MEMBRANE: &[&str] = &[
    "bass drum",
    "bass drum on side",
    "bongos",
    "Chinese tomtom",
    "conga drum",
    "cuica",
    "goblet drum",
    "Indo-American tomtom",
    "Japanese tomtom",
    "military drum",
    "snare drum",
    "snare drum snares off",
    "tabla",
    "tambourine",
    "tenor drum",
    "timbales",
    "tomtom",
];

/// `metal-value`.
pub(super) const METAL: &[&str] = &[
    "agogo",
    "almglocken",
    "bell",
    "bell plate",
    "bell tree",
    "brake drum",
    "cencerro",
    "chain rattle",
    "Chinese cymbal",
    "cowbell",
    "crash cymbals",
    "crotale",
    "cymbal tongs",
    "domed gong",
    "finger cymbals",
    "flexatone",
    "gong",
    "hi-hat",
    "high-hat cymbals",
    "handbell",
    "jaw harp",
    "jingle bells",
    "musical saw",
    "shell bells",
    "sistrum",
    "sizzle cymbal",
    "sleigh bells",
    "suspended cymbal",
    "tam tam",
    "tam tam with beater",
    "triangle",
    "Vietnamese hat",
];

/// `pitched-value`.
pub(super) const PITCHED: &[&str] = &[
    "celesta",
    "chimes",
    "glockenspiel",
    "lithophone",
    "mallet",
    "marimba",
    "steel drums",
    "tubaphone",
    "tubular chimes",
    "vibraphone",
    "xylophone",
];

/// `principal-voice-symbol`.
pub(super) const PRINCIPAL_VOICES: &[&str] = &["Hauptstimme", "Nebenstimme", "plain", "none"];

/// `staff-divide-symbol`.
pub(super) const STAFF_DIVIDES: &[&str] = &["down", "up", "up-down"];

/// `wood-value`.
pub(super) const WOOD: &[&str] = &[
    "bamboo scraper",
    "board clapper",
    "cabasa",
    "castanets",
    "castanets with handle",
    "claves",
    "football rattle",
    "guiro",
    "log drum",
    "maraca",
    "maracas",
    "quijada",
    "rainstick",
    "ratchet",
    "reco-reco",
    "sandpaper blocks",
    "slit drum",
    "temple block",
    "vibraslap",
    "whip",
    "wood block",
];

/// `accidental-value`.
pub(super) const ACCIDENTALS: &[&str] = &[
    "sharp",
    "natural",
    "flat",
    "double-sharp",
    "sharp-sharp",
    "flat-flat",
    "natural-sharp",
    "natural-flat",
    "quarter-flat",
    "quarter-sharp",
    "three-quarters-flat",
    "three-quarters-sharp",
    "sharp-down",
    "sharp-up",
    "natural-down",
    "natural-up",
    "flat-down",
    "flat-up",
    "double-sharp-down",
    "double-sharp-up",
    "flat-flat-down",
    "flat-flat-up",
    "arrow-down",
    "arrow-up",
    "triple-sharp",
    "triple-flat",
    "slash-quarter-sharp",
    "slash-sharp",
    "slash-flat",
    "double-slash-flat",
    "sharp-1",
    "sharp-2",
    "sharp-3",
    "sharp-5",
    "flat-1",
    "flat-2",
    "flat-3",
    "flat-4",
    "sori",
    "koron",
    "other",
];

/// `arrow-direction`.
pub(super) const ARROW_DIRECTIONS: &[&str] = &[
    "left",
    "up",
    "right",
    "down",
    "northwest",
    "northeast",
    "southeast",
    "southwest",
    "left right",
    "up down",
    "northwest southeast",
    "northeast southwest",
    "other",
];

/// `arrow-style`.
pub(super) const ARROW_STYLES: &[&str] = &[
    "single", "double", "filled", "hollow", "paired", "combined", "other",
];

/// `breath-mark-value`.
pub(super) const BREATH_MARKS: &[&str] = &["", "comma", "tick", "upbow", "salzedo"];

/// `caesura-value`.
pub(super) const CAESURAS: &[&str] = &["normal", "thick", "short", "curved", "single", ""];

/// `handbell-value`.
pub(super) const HANDBELLS: &[&str] = &[
    "belltree",
    "damp",
    "echo",
    "gyro",
    "hand martellato",
    "mallet lift",
    "mallet table",
    "martellato",
    "martellato lift",
    "muted martellato",
    "pluck lift",
    "swing",
];

/// `notehead-value`.
pub(super) const NOTEHEADS: &[&str] = &[
    "slash",
    "triangle",
    "diamond",
    "square",
    "cross",
    "x",
    "circle-x",
    "inverted triangle",
    "arrow down",
    "arrow up",
    "circled",
    "slashed",
    "back slashed",
    "normal",
    "cluster",
    "circle dot",
    "left triangle",
    "rectangle",
    "none",
    "do",
    "re",
    "mi",
    "fa",
    "fa up",
    "so",
    "la",
    "ti",
    "other",
];

/// The elements of `dynamics` but the free one.
pub(super) const DYNAMICS: &[&str] = &[
    "p", "pp", "ppp", "pppp", "ppppp", "pppppp", "f", "ff", "fff", "ffff", "fffff", "ffffff", "mp", "mf",
    "sf", "sfp", "sfpp", "fp", "rf", "rfz", "sfz", "sffz", "fz", "n", "pf", "sfzp",
];

/// `ending-number`: blanks, or numbers from 1 with commas between.
pub(super) fn is_ending_number(text: &str) -> bool {
    let number = |text: &str| {
        text.starts_with(|c: char| ('1'..='9').contains(&c)) && text.bytes().all(|b| b.is_ascii_digit())
    };
    text.chars().all(|c| c == ' ')
        || text.split(',').enumerate().all(|(at, part)| {
            number(if at == 0 {
                part
            } else {
                part.strip_prefix(' ').unwrap_or(part)
            })
        })
}

/// `xs:NMTOKEN`, by the letters that names have in practice.
pub(super) fn is_name_token(text: &str) -> bool {
    !text.is_empty()
        && text
            .chars()
            .all(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | ':'))
}

/// A number without sign or exponent.
pub(super) fn is_plain_decimal(text: &str) -> bool {
    let (whole, rest) = text.split_once('.').unwrap_or((text, ""));
    let digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
    !(whole.is_empty() && rest.is_empty()) && digits(whole) && digits(rest)
}

/// Whether an attribute of `sound` may have a value; `None` for an attribute that it does not have.
pub(super) fn sound_allows(name: &str, value: &str) -> Option<bool> {
    let signed = value.strip_prefix(['-', '+']).unwrap_or(value);
    Some(match name {
        "tempo" | "dynamics" => is_plain_decimal(value.strip_prefix('+').unwrap_or(value)),
        "dacapo" | "forward-repeat" | "pizzicato" => matches!(value, "yes" | "no"),
        "segno" | "dalsegno" | "coda" | "tocoda" | "fine" => true,
        "divisions" => is_plain_decimal(value),
        "time-only" => !value.is_empty() && is_ending_number(value),
        "pan" | "elevation" => {
            is_plain_decimal(signed)
                && notation::Rational::parse(signed).is_some_and(|n| n <= notation::Rational::whole(180))
        }
        "damper-pedal" | "soft-pedal" | "sostenuto-pedal" => {
            matches!(value, "yes" | "no") || is_plain_decimal(value)
        }
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_names() {
        for (text, is) in [
            ("1", true),
            ("1,2", true),
            ("1, 2", true),
            ("", true),
            (" ", true),
            ("1.", false),
            ("0", false),
            ("1,", false),
        ] {
            assert_eq!(is_ending_number(text), is, "{text:?}");
        }
        assert!(is_name_token("verse-1") && !is_name_token("a b") && !is_name_token(""));
        assert!(
            is_plain_decimal("96.5")
                && is_plain_decimal(".5")
                && !is_plain_decimal("")
                && !is_plain_decimal("1e5")
        );
        assert_eq!(sound_allows("tempo", "-3"), Some(false));
        assert_eq!(sound_allows("colour", "red"), None);
        assert_eq!(sound_allows("pan", "-180"), Some(true));
    }
}

//! How fast do published tables say each term is? One table per source, each with the name a musician may read.
//!
//! A row's names are folded: Italian first, then French and German where the table gives them. All numbers count the
//! beat that the table assumes: the quarter note in 2/4, 3/4 and 4/4; read them on the beat in 6/8 and in cut time.

use super::{TempoRow, TempoTable};

const BEAT: &str = "the beat (the quarter note in simple time)";

const fn row(names: &'static [&'static str], low: Option<u16>, high: Option<u16>) -> TempoRow {
    TempoRow {
        names,
        low,
        high,
        approximate: false,
    }
}

const fn about(names: &'static [&'static str], speed: u16) -> TempoRow {
    TempoRow {
        names,
        low: Some(speed),
        high: Some(speed),
        approximate: true,
    }
}

const fn single(names: &'static [&'static str], speed: u16) -> TempoRow {
    TempoRow {
        names,
        low: Some(speed),
        high: Some(speed),
        approximate: false,
    }
}

/// Every table, in the order in which they are shown.
pub(super) const TABLES: &[TempoTable] = &[
    TempoTable {
        name: "metronome-box scale",
        source: "classic scale printed on metronome boxes",
        beat: BEAT,
        rows: METRONOME_BOX,
    },
    TempoTable {
        name: "French band site",
        source: "musique-harmonie.fr, table of tempo terms",
        beat: BEAT,
        rows: FRENCH_BAND,
    },
    TempoTable {
        name: "Portuguese encyclopaedia",
        source: "Portuguese encyclopaedia article on tempo",
        beat: BEAT,
        rows: PORTUGUESE,
    },
    TempoTable {
        name: "older English list",
        source: "older English encyclopaedia list of tempo terms",
        beat: BEAT,
        rows: ENGLISH_LIST,
    },
    TempoTable {
        name: "string-shop handbook",
        source: "coronastrings, tempo table",
        beat: BEAT,
        rows: STRING_SHOP,
    },
    TempoTable {
        name: "three-language table",
        source: "thoughtco.com, multilingual tempo commands",
        beat: BEAT,
        rows: THREE_LANGUAGES,
    },
    TempoTable {
        name: "music21 defaults",
        source: "music21, tempo.py, defaultTempoValues (single values)",
        beat: BEAT,
        rows: MUSIC21,
    },
];

/// Source: classic scale printed on metronome boxes.
const METRONOME_BOX: &[TempoRow] = &[
    row(&["largo"], Some(40), Some(60)),
    row(&["larghetto"], Some(60), Some(66)),
    row(&["adagio"], Some(66), Some(76)),
    row(&["andante"], Some(76), Some(108)),
    row(&["moderato"], Some(108), Some(120)),
    row(&["allegro"], Some(120), Some(168)),
    row(&["presto"], Some(168), Some(200)),
    row(&["prestissimo"], Some(200), Some(208)),
];

/// Source: musique-harmonie.fr.
const FRENCH_BAND: &[TempoRow] = &[
    row(&["grave"], Some(40), Some(45)),
    row(&["largo"], Some(45), Some(55)),
    row(&["larghetto"], Some(50), Some(60)),
    row(&["lento"], Some(52), Some(65)),
    row(&["adagio"], Some(55), Some(70)),
    row(&["adagietto"], Some(58), Some(75)),
    row(&["andante"], Some(60), Some(90)),
    row(&["andantino"], Some(70), Some(100)),
    row(&["moderato"], Some(80), Some(105)),
    row(&["allegretto"], Some(100), Some(120)),
    row(&["allegro"], Some(116), Some(150)),
    row(&["vivace"], Some(126), Some(170)),
    row(&["presto"], Some(144), Some(200)),
    row(&["prestissimo"], Some(184), None),
];

/// Source: Portuguese encyclopaedia article on tempo.
const PORTUGUESE: &[TempoRow] = &[
    row(&["grave"], Some(40), Some(48)),
    row(&["largo"], Some(48), Some(58)),
    row(&["larghetto"], Some(59), Some(65)),
    row(&["adagio"], Some(66), Some(72)),
    row(&["andante"], Some(73), Some(80)),
    row(&["andantino"], Some(80), Some(95)),
    row(&["moderato"], Some(96), Some(104)),
    row(&["allegretto"], Some(105), Some(120)),
    row(&["allegro"], Some(121), Some(140)),
    row(&["vivace"], Some(141), Some(168)),
    row(&["presto"], Some(169), Some(180)),
    row(&["prestissimo"], Some(181), Some(208)),
];

/// Source: older English encyclopaedia list (two web copies).
const ENGLISH_LIST: &[TempoRow] = &[
    row(&["grave"], Some(20), Some(40)),
    row(&["largo"], Some(45), Some(50)),
    row(&["lento"], Some(40), Some(45)),
    row(&["adagio"], Some(55), Some(65)),
    row(&["adagietto"], Some(65), Some(69)),
    row(&["andante"], Some(73), Some(77)),
    row(&["moderato"], Some(86), Some(97)),
    row(&["allegretto"], Some(98), Some(109)),
    row(&["allegro"], Some(109), Some(132)),
    row(&["vivace"], Some(132), Some(140)),
    row(&["presto"], Some(168), Some(177)),
    row(&["prestissimo"], Some(178), None),
];

/// Source: coronastrings.
const STRING_SHOP: &[TempoRow] = &[
    row(&["largo"], Some(40), Some(60)),
    row(&["lento"], Some(40), Some(60)),
    row(&["adagio"], Some(66), Some(76)),
    row(&["andante"], Some(76), Some(108)),
    row(&["moderato"], Some(108), Some(120)),
    row(&["allegro"], Some(120), Some(168)),
    row(&["presto"], Some(168), Some(200)),
];

/// Source: thoughtco.com multilingual tempo commands. DIFFERENCE: the table prints "assez vite" twice (adagietto, sic,
/// and allegretto); only the second is kept.
const THREE_LANGUAGES: &[TempoRow] = &[
    row(
        &["larghissimo", "extremement large", "sehr breit"],
        None,
        Some(40),
    ),
    about(&["grave", "solenne", "schwer"], 40),
    row(&["largo", "large", "largement", "breit"], Some(42), Some(66)),
    row(&["lentissimo", "tres lent", "sehr langsam"], None, Some(48)),
    row(&["lento", "lent", "langsam"], Some(52), Some(68)),
    row(&["larghetto", "assez large", "etwas breit"], Some(56), Some(64)),
    row(&["adagio", "a l aise", "gemachlich"], Some(60), Some(80)),
    row(&["adagietto", "ziemlich ruhig"], Some(68), Some(76)),
    about(&["tranquillo", "tranquille", "ruhig"], 80),
    row(&["andante", "allant", "gehend"], Some(80), Some(100)),
    row(&["moderato", "modere", "massig"], Some(88), Some(112)),
    row(
        &["allegretto", "assez vite", "ein wenig schnell"],
        Some(100),
        Some(128),
    ),
    row(
        &["allegro", "allegre", "vite", "frohlich", "lustig"],
        Some(112),
        Some(160),
    ),
    about(&["vivace", "vif", "lebhaft"], 140),
    row(&["presto", "rapide", "sehr schnell"], Some(140), Some(200)),
    about(&["allegrissimo", "tres vite", "geschwind"], 168),
    about(&["vivacissimo", "extremement vif", "sehr rasch"], 200),
    row(
        &["prestissimo", "tres rapide", "ausserst schnell"],
        Some(188),
        Some(220),
    ),
];

/// Source: music21 10.5.1, `tempo.defaultTempoValues`; its authors mark andante moderato, allegro moderato and
/// allegrissimo as needing a number.
const MUSIC21: &[TempoRow] = &[
    single(&["larghissimo"], 16),
    single(&["largamente"], 32),
    single(&["grave"], 40),
    single(&["molto adagio"], 40),
    single(&["largo"], 46),
    single(&["lento"], 52),
    single(&["adagio"], 56),
    single(&["slow"], 56),
    single(&["langsam"], 56),
    single(&["larghetto"], 60),
    single(&["adagietto"], 66),
    single(&["andante"], 72),
    single(&["andantino"], 80),
    single(&["andante moderato"], 83),
    single(&["maestoso"], 88),
    single(&["moderato"], 92),
    single(&["moderate"], 92),
    single(&["allegretto"], 108),
    single(&["animato"], 120),
    single(&["allegro moderato"], 128),
    single(&["allegro"], 132),
    single(&["fast"], 132),
    single(&["schnell"], 132),
    single(&["allegrissimo"], 140),
    single(&["molto allegro"], 144),
    single(&["tres vite"], 144),
    single(&["vivace"], 160),
    single(&["vivacissimo"], 168),
    single(&["presto"], 184),
    single(&["prestissimo"], 208),
];

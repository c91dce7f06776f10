//! What do the published tables say? Only rows whose values were read on the page named; letters without octaves are left out.

use super::{Keys, Level, Modes, Rhythms, Table};

/// A level that says nothing yet.
const EMPTY: Level = Level {
    name: "",
    instruments: &[],
    range: None,
    span: None,
    keys: Keys::Unsaid,
    modes: Modes::Both,
    metres: &[],
    changes: None,
    rhythms: None,
    tempo: None,
    bars: None,
    leap: None,
    accidentals: None,
    dynamics: None,
    articulation: None,
};

const fn upto(flats: i8, sharps: i8) -> Keys {
    Keys::Upto { flats, sharps }
}

const fn rhythms(
    to_a_quarter: i64,
    dots: (bool, bool),
    triplets: bool,
    syncopation: bool,
) -> Option<Rhythms> {
    Some(Rhythms {
        to_a_quarter,
        dotted_quarter: dots.0,
        dotted_eighth: dots.1,
        triplets,
        syncopation,
    })
}

const LEVELS: &[&str] = &["pp", "p", "mp", "mf", "f", "ff"];
const LEVELS_FP: &[&str] = &["pp", "p", "mp", "mf", "f", "ff", "fp"];

const PLAIN: &[&str] = &["2/4", "3/4", "4/4"];
const PLAIN_SIX: &[&str] = &["2/4", "3/4", "4/4", "6/8"];
const PLAIN_SIX_CUT: &[&str] = &["2/4", "3/4", "4/4", "6/8", "2/2"];

/// Every table.
pub(super) static ALL: &[Table] = &[
    MISSOURI_SOLOS,
    MISSOURI_READING,
    TEXAS_STRINGS,
    BAND_PUBLISHER,
    STRING_PUBLISHER,
    RETAILER,
    FLUTE_ASSOCIATION,
    FLUTE_STUDIO,
    FLORIDA_MIDDLE,
    GEORGIA_RANGES,
    STRING_HALF_GRADES,
    STRING_STEPS,
    VIOLIN_GRADES,
    FLUTE_TEACHER,
    MAINE_READING,
];

const MISSOURI_SOLOS: Table = Table {
    name: "Missouri solo matrix",
    source: "MSHSAA solo matrix for flute and clarinet (moam.info 5a0c350f; documents.pub)",
    about: "classes C (easiest), B, A of a state festival",
    levels: &[
        Level {
            name: "class C",
            instruments: &["flute"],
            range: Some(("D4", "Eb6")),
            keys: upto(3, 1),
            rhythms: rhythms(4, (true, true), true, true),
            tempo: Some((60.0, 108.0)),
            ..EMPTY
        },
        Level {
            name: "class B",
            instruments: &["flute"],
            range: Some(("C4", "G6")),
            keys: upto(4, 2),
            tempo: Some((60.0, 120.0)),
            ..EMPTY
        },
        Level {
            name: "class A",
            instruments: &["flute"],
            range: Some(("B3", "C7")),
            keys: Keys::Any,
            ..EMPTY
        },
        Level {
            name: "class C",
            instruments: &["clarinet-bb", "clarinet-a", "clarinet-eb"],
            range: Some(("E3", "C6")),
            keys: upto(3, 1),
            rhythms: rhythms(4, (true, true), true, true),
            tempo: Some((60.0, 108.0)),
            ..EMPTY
        },
        Level {
            name: "class B",
            instruments: &["clarinet-bb", "clarinet-a", "clarinet-eb"],
            range: Some(("E3", "Eb6")),
            keys: upto(4, 2),
            tempo: Some((60.0, 120.0)),
            ..EMPTY
        },
        Level {
            name: "class A",
            instruments: &["clarinet-bb", "clarinet-a", "clarinet-eb"],
            range: Some(("E3", "G6")),
            keys: Keys::Any,
            ..EMPTY
        },
    ],
};

const MISSOURI_READING: Table = Table {
    name: "Missouri band sight-reading",
    source: "MSHSAA band sight-reading (docslib 9768571, 6587630)",
    about: "concert F, B♭, E♭ and their relative minors; a range of an octave and a third",
    levels: &[
        Level {
            name: "class 1",
            instruments: &["flute", "reed", "brass"],
            span: Some(16),
            keys: Keys::Concert(&[-1, -2, -3]),
            metres: PLAIN,
            rhythms: rhythms(4, (true, false), false, true),
            tempo: Some((88.0, 92.0)),
            ..EMPTY
        },
        Level {
            name: "class 2",
            instruments: &["flute", "reed", "brass"],
            span: Some(16),
            keys: Keys::Concert(&[-1, -2, -3]),
            metres: &["2/4", "3/4", "4/4", "5/4", "6/8", "2/2"],
            rhythms: rhythms(4, (true, true), false, true),
            ..EMPTY
        },
    ],
};

const fn modes(major: &'static [i8], minor: &'static [i8]) -> Modes {
    Modes::Listed { major, minor }
}

const TEXAS_STRINGS: Table = Table {
    name: "Texas orchestra sight-reading",
    source: "UIL orchestra sight-reading criteria (uiltexas.org; uil.utexas.edu/music/sight_read_orch.html)",
    about: "levels I to VI for string orchestra; IV is III with harder rhythm; a page is judged by its signatures",
    levels: &[
        Level {
            name: "level I",
            instruments: &["string"],
            keys: Keys::Concert(&[2, 1]),
            modes: Modes::Major,
            changes: Some((2, 0)),
            ..EMPTY
        },
        Level {
            name: "level II",
            instruments: &["string"],
            keys: Keys::Concert(&[2, 1, 0]),
            modes: Modes::Major,
            changes: Some((2, 0)),
            ..EMPTY
        },
        Level {
            name: "level III",
            instruments: &["string"],
            keys: Keys::Concert(&[2, 1, 0, -1]),
            modes: modes(&[2, 1, 0, -1], &[-1, 0, 1]),
            changes: Some((2, 2)),
            ..EMPTY
        },
        Level {
            name: "level IV",
            instruments: &["string"],
            keys: Keys::Concert(&[2, 1, 0, -1]),
            modes: modes(&[2, 1, 0, -1], &[-1, 0, 1]),
            changes: Some((2, 2)),
            ..EMPTY
        },
        Level {
            name: "level V",
            instruments: &["string"],
            keys: Keys::Concert(&[2, 1, 0, -1, -2, -3]),
            modes: modes(&[2, 1, 0, -1], &[-1, 0, -3, -2]),
            changes: Some((3, 3)),
            ..EMPTY
        },
        Level {
            name: "level VI",
            instruments: &["string"],
            keys: Keys::Concert(&[2, 1, 0, -1, -2, -3]),
            modes: modes(&[2, 1, 0, -1, -2], &[-1, 0, -3, -2]),
            changes: Some((3, 3)),
            ..EMPTY
        },
    ],
};

const BAND_PUBLISHER: Table = Table {
    name: "band publisher's grades",
    source: "nemusicpub.com/grading",
    about: "its ranges give letters without octaves and are not judged",
    levels: &[
        Level {
            name: "grade ½",
            instruments: &["flute", "reed", "brass"],
            keys: Keys::Concert(&[-2, -3]),
            modes: Modes::Major,
            metres: &["2/4", "4/4"],
            rhythms: rhythms(1, (false, false), false, false),
            accidentals: Some(false),
            ..EMPTY
        },
        Level {
            name: "grade 1",
            instruments: &["flute", "reed", "brass"],
            keys: Keys::Concert(&[-2, -3]),
            metres: PLAIN,
            rhythms: rhythms(2, (false, false), false, false),
            ..EMPTY
        },
        Level {
            name: "grade 1½",
            instruments: &["flute", "reed", "brass"],
            keys: Keys::Concert(&[-1, -2, -3, -4]),
            metres: PLAIN_SIX_CUT,
            rhythms: rhythms(4, (true, true), false, true),
            ..EMPTY
        },
        Level {
            name: "grade 2",
            instruments: &["flute", "reed", "brass"],
            keys: Keys::Concert(&[0, -1, -2, -3, -4]),
            metres: PLAIN_SIX_CUT,
            tempo: Some((0.0, 126.0)),
            ..EMPTY
        },
    ],
};

const STRING_PUBLISHER: Table = Table {
    name: "string orchestra publisher's grades",
    source: "zicatomusic.com/grade-levels",
    about: "positions and shifts are not judged here",
    levels: &[
        Level {
            name: "grade 2",
            instruments: &["string"],
            keys: Keys::Concert(&[0, 1, 2, 3, -1, -2]),
            metres: PLAIN_SIX,
            rhythms: rhythms(4, (true, true), true, true),
            tempo: Some((60.0, 140.0)),
            ..EMPTY
        },
        Level {
            name: "grade 3",
            instruments: &["string"],
            keys: Keys::Concert(&[0, 1, 2, 3, -1, -2, -3]),
            metres: &["2/4", "3/4", "4/4", "6/8", "7/8", "5/4"],
            tempo: Some((50.0, 160.0)),
            ..EMPTY
        },
        Level {
            name: "grade 4",
            instruments: &["string"],
            keys: upto(4, 4),
            tempo: Some((40.0, 170.0)),
            ..EMPTY
        },
    ],
};

const RETAILER: Table = Table {
    name: "retailer's general scale",
    source: "hickeys.com, our_grading_system",
    about: "for any instrument; keys are counted, not named, and not judged here",
    levels: &[
        Level {
            name: "level 1",
            span: Some(12),
            metres: PLAIN,
            rhythms: rhythms(1, (false, false), false, false),
            dynamics: Some(&[]),
            ..EMPTY
        },
        Level {
            name: "level 2",
            span: Some(19),
            metres: PLAIN,
            rhythms: rhythms(2, (true, false), false, false),
            dynamics: Some(&["p", "mf", "f"]),
            ..EMPTY
        },
        Level {
            name: "level 3",
            metres: PLAIN_SIX_CUT,
            rhythms: rhythms(4, (true, true), false, true),
            dynamics: Some(LEVELS),
            ..EMPTY
        },
        Level {
            name: "level 4",
            span: Some(24),
            metres: &["2/4", "3/4", "4/4", "6/8", "2/2", "3/8", "9/8", "4/2", "12/8"],
            dynamics: Some(LEVELS_FP),
            ..EMPTY
        },
        Level {
            name: "level 5",
            metres: &[
                "2/4", "3/4", "4/4", "6/8", "2/2", "3/8", "9/8", "4/2", "12/8", "5/4", "7/4", "3/2",
            ],
            ..EMPTY
        },
    ],
};

const FLUTE_ASSOCIATION: Table = Table {
    name: "flute association's criteria",
    source: "National Flute Association criteria, letters A to J; A and B seen (flutecentric.com)",
    about: "registers are numbered from low C, so that G1–A2 is G4–A5 here: from memory",
    levels: &[
        Level {
            name: "A",
            instruments: &["flute"],
            range: Some(("G4", "A5")),
            keys: upto(2, 1),
            metres: PLAIN,
            rhythms: rhythms(2, (false, false), false, false),
            leap: Some(12),
            articulation: Some(&[]),
            ..EMPTY
        },
        Level {
            name: "B",
            instruments: &["flute"],
            range: Some(("D4", "D6")),
            keys: upto(3, 2),
            metres: &["2/4", "3/4", "4/4", "6/8", "3/8"],
            rhythms: rhythms(2, (true, false), true, false),
            articulation: Some(&["slur", "staccato"]),
            ..EMPTY
        },
    ],
};

const FLUTE_STUDIO: Table = Table {
    name: "flute studio's levels",
    source: "kirkland-music.com",
    about: "",
    levels: &[
        Level {
            name: "level 1",
            instruments: &["flute"],
            range: Some(("C4", "D6")),
            keys: upto(3, 3),
            metres: PLAIN,
            rhythms: rhythms(2, (true, false), false, false),
            ..EMPTY
        },
        Level {
            name: "level 2",
            instruments: &["flute"],
            range: Some(("C4", "A6")),
            keys: upto(4, 4),
            rhythms: rhythms(4, (true, true), true, true),
            ..EMPTY
        },
    ],
};

const FLORIDA_MIDDLE: Table = Table {
    name: "Florida middle-school reading, class MD",
    source: "FBA sight-reading criteria, class MD",
    about: "six notes of concert B♭; mostly stepwise, no awkward leaps (not judged)",
    levels: &[Level {
        name: "class MD",
        instruments: &["flute", "reed", "brass"],
        span: Some(9),
        keys: Keys::Concert(&[-2]),
        modes: Modes::Major,
        metres: PLAIN,
        rhythms: rhythms(2, (false, false), false, false),
        bars: Some((40, 64)),
        ..EMPTY
    }],
};

const GEORGIA_RANGES: Table = Table {
    name: "Georgia chromatic ranges",
    source: "GMEA district and all-state chromatic ranges (docsbay)",
    about: "the range of the scale asked at an audition, not of pieces; only rows whose octaves are said",
    levels: &[
        Level {
            name: "middle school",
            instruments: &["flute"],
            range: Some(("C4", "F6")),
            ..EMPTY
        },
        Level {
            name: "grades 9–12",
            instruments: &["flute"],
            range: Some(("C4", "C7")),
            ..EMPTY
        },
        Level {
            name: "middle school",
            instruments: &["clarinet-bb"],
            range: Some(("E3", "D6")),
            ..EMPTY
        },
        Level {
            name: "grades 9–12",
            instruments: &["clarinet-bb"],
            range: Some(("E3", "G6")),
            ..EMPTY
        },
        Level {
            name: "middle school",
            instruments: &["bassoon"],
            range: Some(("Bb1", "F4")),
            ..EMPTY
        },
        Level {
            name: "grades 9–12",
            instruments: &["bassoon"],
            range: Some(("Bb1", "Bb4")),
            ..EMPTY
        },
        Level {
            name: "middle school",
            instruments: &["soprano-sax", "alto-sax", "tenor-sax", "baritone-sax"],
            range: Some(("C4", "D6")),
            ..EMPTY
        },
        Level {
            name: "grades 9–12",
            instruments: &["soprano-sax", "alto-sax", "tenor-sax", "baritone-sax"],
            range: Some(("Bb3", "F6")),
            ..EMPTY
        },
    ],
};

const STRING_HALF_GRADES: Table = Table {
    name: "string publisher's half grades",
    source: "kendormusic.com, string grading",
    about: "positions beyond the first come from grade 2 on and are not judged here",
    levels: &[
        Level {
            name: "grade ½",
            instruments: &["string"],
            span: Some(9),
            keys: Keys::Concert(&[2]),
            modes: Modes::Major,
            metres: &["4/4"],
            ..EMPTY
        },
        Level {
            name: "grade 1",
            instruments: &["string"],
            keys: Keys::Concert(&[2, 1]),
            modes: Modes::Major,
            metres: PLAIN,
            rhythms: rhythms(2, (false, false), false, false),
            ..EMPTY
        },
        Level {
            name: "grade 1½",
            instruments: &["string"],
            keys: Keys::Concert(&[2, 1]),
            modes: Modes::Major,
            metres: PLAIN,
            rhythms: rhythms(2, (true, false), false, true),
            ..EMPTY
        },
        Level {
            name: "grade 2–2½",
            instruments: &["string"],
            keys: Keys::Concert(&[2, 1, 0, 3, -1, -2]),
            modes: Modes::Major,
            metres: PLAIN_SIX,
            ..EMPTY
        },
    ],
};

const STRING_STEPS: Table = Table {
    name: "string orchestra steps",
    source: "string orchestra grading (docslib 12446430)",
    about: "extensions and positions (none before 2) are not judged here",
    levels: &[
        Level {
            name: "½",
            instruments: &["string"],
            keys: Keys::Concert(&[1, 2]),
            modes: Modes::Major,
            ..EMPTY
        },
        Level {
            name: "1–1½",
            instruments: &["string"],
            keys: Keys::Concert(&[0, 1, 2]),
            modes: Modes::Major,
            ..EMPTY
        },
        Level {
            name: "2–2½",
            instruments: &["string"],
            keys: Keys::Concert(&[0, 1, 2, 3, -1, -2]),
            modes: Modes::Major,
            ..EMPTY
        },
    ],
};

const VIOLIN_GRADES: Table = Table {
    name: "violin sight-reading by grades",
    source: "violin sight-reading of an examination board, grades 1 to 3 (musicalchildren.co.uk)",
    about: "bars and keys; E minor of grade 2 is the natural minor",
    levels: &[
        Level {
            name: "grade 1",
            instruments: &["violin"],
            keys: Keys::Concert(&[2, 3]),
            modes: Modes::Major,
            bars: Some((4, 4)),
            ..EMPTY
        },
        Level {
            name: "grade 2",
            instruments: &["violin"],
            keys: Keys::Concert(&[1, 2, 3]),
            modes: modes(&[1, 2, 3], &[1]),
            bars: Some((4, 4)),
            accidentals: Some(false),
            ..EMPTY
        },
        Level {
            name: "grade 3",
            instruments: &["violin"],
            keys: Keys::Concert(&[1, 2, 3, 0, -1, -2]),
            modes: modes(&[1, 2, 3, 0, -1, -2], &[0, -1, -2]),
            bars: Some((8, 8)),
            ..EMPTY
        },
    ],
};

const FLUTE_TEACHER: Table = Table {
    name: "flute teacher's first level",
    source: "J. Cluff's flute levels, level 1 (a conservatory's grade 1)",
    about: "registers are numbered from low C, so that low G–A2 is G4–A5 here: from memory",
    levels: &[Level {
        name: "level 1",
        instruments: &["flute"],
        range: Some(("G4", "A5")),
        keys: upto(1, 2),
        metres: PLAIN,
        rhythms: rhythms(2, (false, false), false, false),
        ..EMPTY
    }],
};

const MAINE_KEYS: Keys = Keys::Concert(&[-1, -3, -4, 1, 0]);

const MAINE_READING: Table = Table {
    name: "Maine district honours reading",
    source: "Maine district 3 honours festival, sight-reading",
    about: "concert F, E♭, A♭, G, C, not B♭; flutes, clarinets, trumpets and saxophones read sixteenths and dotted eighths too",
    levels: &[
        Level {
            name: "all other winds",
            instruments: &[
                "piccolo",
                "oboe",
                "english-horn",
                "bassoon",
                "contrabassoon",
                "bass-clarinet",
                "horn",
                "trombone-tenor",
                "trombone-bass",
                "euphonium",
                "tuba",
            ],
            keys: MAINE_KEYS,
            metres: PLAIN,
            rhythms: rhythms(2, (true, false), false, false),
            dynamics: Some(LEVELS),
            articulation: Some(&["slur", "staccato", "accent"]),
            ..EMPTY
        },
        Level {
            name: "flute, clarinet, trumpet, saxophone",
            instruments: &[
                "flute",
                "clarinet-bb",
                "clarinet-eb",
                "clarinet-a",
                "trumpet-bb",
                "trumpet-c",
                "soprano-sax",
                "alto-sax",
                "tenor-sax",
                "baritone-sax",
            ],
            keys: MAINE_KEYS,
            metres: PLAIN,
            rhythms: rhythms(4, (true, true), false, false),
            dynamics: Some(LEVELS),
            articulation: Some(&["slur", "staccato", "accent"]),
            ..EMPTY
        },
    ],
};

//! In what order do an ornament's notes come? Each sign's notes, with the customs that begin it differently.

use super::neighbour::{Neighbour, Reason, neighbour};
use super::surroundings::{Surroundings, alter_of_sign};
use notation::{Alter, Ornament, OrnamentKind, Pitch, Rational, Side};

/// The notes of one ornament.
#[derive(Clone, PartialEq, Debug)]
pub struct OrnamentNotes {
    /// The trade's word for the sign.
    pub mark: String,
    /// The notes in playing order: a trill's two notes once, the others as a figure.
    pub notes: Vec<Pitch>,
    /// The note above, if the ornament uses one.
    pub upper: Option<Neighbour>,
    /// The note below, if the ornament uses one.
    pub lower: Option<Neighbour>,
    /// Why these notes, a clause.
    pub why: String,
    /// The same figure with another note, where the page can be read in two ways.
    pub alternatives: Vec<Alternative>,
    /// How it begins by custom, where customs differ.
    pub starts: Vec<Start>,
}

/// Another reading of the page.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Alternative {
    /// The notes in playing order.
    pub notes: Vec<Pitch>,
    /// Why it may be meant, a clause.
    pub why: String,
}

/// One custom of beginning an ornament.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Start {
    /// Whose custom, a clause with its source.
    pub custom: &'static str,
    /// The first notes in that custom.
    pub notes: Vec<Pitch>,
}

/// What an ornament's figure is made of.
#[derive(Clone, Copy)]
enum Note {
    Main,
    Upper,
    Lower,
}

use Note::{Lower, Main, Upper};

/// Source: W. Palmer, notes to his 1968 edition of Bach: the trill "always begins on the tone above", at least four
/// notes. Grove, vol. 3: later music begins on the main note unless a small note before it shows the upper; Hummel
/// (1828, from memory) for the date.
const TRILL_STARTS: [(&str, &[Note]); 2] = [
    (
        "before about 1828: from the upper note, on the beat (C.P.E. Bach 1753, after Palmer)",
        &[Upper, Main, Upper, Main],
    ),
    (
        "later: from the main note (Hummel 1828, after Grove)",
        &[Main, Upper, Main, Upper],
    ),
];

/// Source: W. Palmer (Bach: a trill from above, at least four notes); Gehrkens, Music Notation and Terminology, §68-69.
const SHORT_WAVY_STARTS: [(&str, &[Note]); 2] = [
    (
        "in Bach's time: a short trill from above (Palmer)",
        &[Upper, Main, Upper, Main],
    ),
    (
        "after about 1800: main, upper, main (Gehrkens §68-69)",
        &[Main, Upper, Main],
    ),
];

/// The notes of an ornament on a note.
///
/// ```
/// use notation::{Ornament, OrnamentKind, Pitch};
/// use performance::ornament::{Surroundings, realise};
/// let sign = Ornament { kind: OrnamentKind::Trill, side: None, accidentals: vec![] };
/// let trill = realise(&sign, Pitch::parse("B4").unwrap(), &Surroundings::default());
/// assert_eq!(trill.notes[1].to_string(), "C5");
/// ```
#[must_use]
pub fn realise(ornament: &Ornament, main: Pitch, around: &Surroundings) -> OrnamentNotes {
    let (figure, starts) = figure(&ornament.kind);
    let uses_upper = figure.iter().any(|note| matches!(note, Upper));
    let uses_lower = figure.iter().any(|note| matches!(note, Lower));
    let (above, below) = signs(ornament, uses_upper, uses_lower);
    let upper = uses_upper.then(|| neighbour(main, true, above, around));
    let lower = uses_lower.then(|| neighbour(main, false, below, around));
    let (up, down) = (upper.as_ref().map(|n| n.pitch), lower.as_ref().map(|n| n.pitch));
    let mut notes = spell(figure, main, up, down);
    if ornament.kind == OrnamentKind::Schleifer {
        notes = slide(main, around);
    }
    let starts = starts
        .iter()
        .map(|(custom, figure)| Start {
            custom,
            notes: spell(figure, main, up, down),
        })
        .collect();
    OrnamentNotes {
        mark: ornament.kind.mark().to_owned(),
        why: match ornament.kind {
            OrnamentKind::Tremolo { strokes, between } => tremolo(strokes, between),
            _ => why(upper.as_ref(), lower.as_ref(), around),
        },
        alternatives: alternatives(figure, main, upper.as_ref(), lower.as_ref(), around),
        notes,
        upper,
        lower,
        starts,
    }
}

type Starts = &'static [(&'static str, &'static [Note])];

/// The order of notes for each sign.
///
/// Source: Gehrkens, Music Notation and Terminology, §68-70 (mordents, turn over and after the note); Bach's table of
/// 1720 for the mordent (main, lower, main; from memory, in keeping with Palmer); Grove vol. 4 for the inverted turn;
/// MusicXML 4.0 for `vertical-turn` and `shake`.
fn figure(kind: &OrnamentKind) -> (&'static [Note], Starts) {
    match kind {
        OrnamentKind::Trill | OrnamentKind::Shake | OrnamentKind::WavyLine => (&[Main, Upper], &TRILL_STARTS),
        OrnamentKind::Turn | OrnamentKind::VerticalTurn | OrnamentKind::Haydn => {
            (&[Upper, Main, Lower, Main], &[])
        }
        OrnamentKind::DelayedTurn => (&[Main, Upper, Main, Lower, Main], &[]),
        OrnamentKind::InvertedTurn | OrnamentKind::InvertedVerticalTurn => (&[Lower, Main, Upper, Main], &[]),
        OrnamentKind::DelayedInvertedTurn => (&[Main, Lower, Main, Upper, Main], &[]),
        OrnamentKind::Mordent { long: false } => (&[Main, Lower, Main], &[]),
        OrnamentKind::Mordent { long: true } => (&[Main, Lower, Main, Lower, Main], &[]),
        OrnamentKind::InvertedMordent { long: false } => (&[Main, Upper, Main], &SHORT_WAVY_STARTS),
        OrnamentKind::InvertedMordent { long: true } => {
            (&[Main, Upper, Main, Upper, Main], &SHORT_WAVY_STARTS)
        }
        OrnamentKind::Schleifer | OrnamentKind::Tremolo { .. } | OrnamentKind::Other(_) => (&[Main], &[]),
    }
}

/// The alterations printed for the upper and the lower note. An ornament with one neighbour takes any sign for it.
/// Source: Grove vol. 4: a sign above a turn alters the upper note, a sign below it the lower.
fn signs(ornament: &Ornament, upper: bool, lower: bool) -> (Option<Alter>, Option<Alter>) {
    let find = |side: Option<Side>| {
        let here = ornament
            .accidentals
            .iter()
            .filter(|(_, at)| side.is_none_or(|side| *at == side));
        here.filter_map(|(sign, _)| alter_of_sign(sign)).next()
    };
    match (upper, lower) {
        (true, false) => (find(None), None),
        (false, true) => (None, find(None)),
        _ => (find(Some(Side::Above)), find(Some(Side::Below))),
    }
}

fn spell(figure: &[Note], main: Pitch, upper: Option<Pitch>, lower: Option<Pitch>) -> Vec<Pitch> {
    let spelled = figure.iter().map(|note| match note {
        Main => Some(main),
        Upper => upper,
        Lower => lower,
    });
    spelled.flatten().collect()
}

/// The slide: the two notes below, then the main note. Source: common practice (from a third below, by step).
fn slide(main: Pitch, around: &Surroundings) -> Vec<Pitch> {
    let second = neighbour(main, false, None, around).pitch;
    let third = neighbour(second, false, None, around).pitch;
    vec![third, second, main]
}

/// Source: common practice: each stroke halves the value, three are often as fast as one can.
fn tremolo(strokes: u8, between: bool) -> String {
    let how = if between {
        "alternating with the next note"
    } else {
        "repeated"
    };
    match strokes {
        1 => format!("{how} in eighths"),
        2 => format!("{how} in sixteenths"),
        3 => format!("{how} in 32nds, or as fast as you can"),
        _ => format!("{how} as fast as you can"),
    }
}

fn why(upper: Option<&Neighbour>, lower: Option<&Neighbour>, around: &Surroundings) -> String {
    let clause = |name: &str, neighbour: &Neighbour| {
        let key = match (neighbour.reason, &around.local) {
            (Reason::LocalKey, Some(key)) => format!(" ({})", key.name()),
            _ => String::new(),
        };
        format!(
            "{name} {} {}{key}",
            neighbour.pitch.sign(),
            neighbour.reason.words()
        )
    };
    let upper = upper.map(|neighbour| clause("upper note", neighbour));
    let lower = lower.map(|neighbour| clause("lower note", neighbour));
    upper.into_iter().chain(lower).collect::<Vec<_>>().join("; ")
}

fn alternatives(
    figure: &[Note],
    main: Pitch,
    upper: Option<&Neighbour>,
    lower: Option<&Neighbour>,
    around: &Surroundings,
) -> Vec<Alternative> {
    let mut found = Vec::new();
    let (up, down) = (upper.map(|n| n.pitch), lower.map(|n| n.pitch));
    for (other, reason) in upper.map(|n| n.others.as_slice()).unwrap_or_default() {
        let why = format!("{} {}", other.sign(), words(*reason, around));
        found.push(Alternative {
            notes: spell(figure, main, Some(*other), down),
            why,
        });
    }
    for (other, reason) in lower.map(|n| n.others.as_slice()).unwrap_or_default() {
        let why = format!("{} {}", other.sign(), words(*reason, around));
        found.push(Alternative {
            notes: spell(figure, main, up, Some(*other)),
            why,
        });
    }
    if let Some(lower) = lower.filter(|lower| !matches!(lower.reason, Reason::Sign | Reason::Accidental)) {
        // Source: Grove, "Appoggiatura": the lower auxiliary is one semitone below, the upper follows the scale.
        let semitone = main.transposed(-1, Rational::whole(-1));
        let known = found
            .iter()
            .any(|other: &Alternative| other.notes.contains(&semitone));
        if semitone != lower.pitch && !known {
            let why = format!(
                "{} a semitone below, as many play a lower auxiliary (Grove)",
                semitone.sign()
            );
            found.push(Alternative {
                notes: spell(figure, main, up, Some(semitone)),
                why,
            });
        }
    }
    found
}

fn words(reason: Reason, around: &Surroundings) -> String {
    match (reason, &around.local) {
        (Reason::LocalKey, Some(key)) => format!("if the passage is in {}", key.name()),
        _ => reason.words().to_owned(),
    }
}

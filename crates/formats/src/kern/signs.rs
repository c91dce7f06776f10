//! Which sign does a signifier stand for? Articulation, ornaments, technical marks, and how they go to an event.
//!
//! Source: Humdrum reference, `**kern`, "Summary of Signifiers"; doubled signs (`^^`, `TT`) by common usage.

use super::token::Marked;
use notation::{
    Articulation, ArticulationKind, Event, EventKind, Fermata, Ornament, OrnamentKind, Side, Technical,
};

/// A sign at a note.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Sign {
    Articulation(ArticulationKind),
    /// An ornament; for trills and mordents, the semitones to the other note as far as the signifier tells.
    Ornament(OrnamentKind, Option<Interval>),
    /// A technical mark of the whole event: name and text.
    Technical(&'static str, &'static str),
    /// A harmonic, which belongs to its head.
    Harmonic,
    Dynamic(&'static str),
    Fermata,
    Arpeggio,
    Tremolo {
        strokes: u8,
        between: bool,
    },
    GlissandoStart,
    GlissandoEnd,
    /// The wavy line of a trill goes on over this note.
    TrillLine {
        first: bool,
    },
}

/// How far the other note of an ornament is, and where.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Interval {
    pub up: bool,
    /// One semitone; otherwise two or more.
    pub semitone: bool,
}

/// The sign of a signifier repeated so often; `None` if it is none.
pub(super) fn of(c: char, run: usize) -> Option<Sign> {
    use ArticulationKind as A;
    use OrnamentKind as O;
    let interval = |up| {
        Some(Interval {
            up,
            semitone: c.is_ascii_lowercase(),
        })
    };
    let long = run > 1;
    Some(match c {
        '\'' => Sign::Articulation(A::Staccato),
        '`' => Sign::Articulation(A::Staccatissimo),
        's' => Sign::Articulation(A::Spiccato),
        '~' => Sign::Articulation(A::Tenuto),
        '^' if run > 1 => Sign::Articulation(A::Marcato),
        '^' => Sign::Articulation(A::Accent),
        'I' => Sign::Articulation(A::Other("articulation".to_owned())),
        ',' => Sign::Articulation(A::BreathMark(String::new())),
        '"' => Sign::Technical("other-technical", "pizzicato"),
        'U' => Sign::Technical("other-technical", "con sordino"),
        'u' => Sign::Technical("down-bow", ""),
        'v' => Sign::Technical("up-bow", ""),
        'o' => Sign::Harmonic,
        'z' => Sign::Dynamic("sfz"),
        ';' => Sign::Fermata,
        ':' => Sign::Arpeggio,
        'T' | 't' if run > 2 => Sign::TrillLine { first: false },
        'T' | 't' if run == 2 => Sign::TrillLine { first: true },
        'T' | 't' => Sign::Ornament(O::Trill, interval(true)),
        'M' | 'm' => Sign::Ornament(O::Mordent { long }, interval(false)),
        'W' | 'w' => Sign::Ornament(O::InvertedMordent { long }, interval(true)),
        'S' => Sign::Ornament(O::Turn, None),
        '$' => Sign::Ornament(O::InvertedTurn, None),
        'R' => Sign::Ornament(O::Other("turn at the end".to_owned()), None),
        'O' => Sign::Ornament(O::Other("ornament".to_owned()), None),
        'H' => Sign::GlissandoStart,
        'h' => Sign::GlissandoEnd,
        _ => return None,
    })
}

/// Puts a sign to an event and one of its heads. What reaches further is left to `spans`.
pub(super) fn put(event: &mut Event, head: usize, marked: &Marked) {
    let side = marked.side;
    match &marked.sign {
        Sign::Articulation(kind) => {
            // The notes of a chord repeat what stands once at the chord.
            if head == 0 || !event.articulations.iter().any(|known| known.kind == *kind) {
                event.articulations.push(Articulation {
                    kind: kind.clone(),
                    side,
                });
            }
        }
        Sign::Ornament(kind, _) => add_ornament(event, head, kind.clone(), side),
        Sign::TrillLine { first: true } => add_ornament(event, head, OrnamentKind::Trill, side),
        Sign::Tremolo { strokes, between } => {
            let flags = event.written.as_ref().map_or(0, |written| {
                (notation::NoteValue::Quarter as u8).saturating_sub(written.value as u8)
            });
            let kind = OrnamentKind::Tremolo {
                strokes: strokes.saturating_sub(if *between { 0 } else { flags }),
                between: *between,
            };
            add_ornament(event, head, kind, side);
        }
        Sign::Technical(name, text) => {
            let mark = Technical {
                name: (*name).to_owned(),
                text: (*text).to_owned(),
                side,
            };
            if !event.technical.contains(&mark) {
                event.technical.push(mark);
            }
        }
        Sign::Harmonic => {
            if let EventKind::Chord(heads) = &mut event.kind
                && let Some(head) = heads.get_mut(head)
            {
                head.technical.push(Technical {
                    name: "harmonic".to_owned(),
                    text: String::new(),
                    side,
                });
            }
        }
        Sign::Dynamic(letters) => {
            if !event.dynamics.iter().any(|known| known == letters) {
                event.dynamics.push((*letters).to_owned());
            }
        }
        Sign::Fermata => {
            let fermata = Fermata {
                shape: String::new(),
                inverted: side == Some(Side::Below),
            };
            if !event.fermatas.contains(&fermata) {
                event.fermatas.push(fermata);
            }
        }
        Sign::Arpeggio => {
            event.arpeggio.get_or_insert_with(String::new);
        }
        Sign::GlissandoStart | Sign::GlissandoEnd | Sign::TrillLine { first: false } => {}
    }
}

fn add_ornament(event: &mut Event, head: usize, kind: OrnamentKind, side: Option<Side>) {
    if head > 0 && event.ornaments.iter().any(|known| known.kind == kind) {
        return;
    }
    event.ornaments.push(Ornament {
        kind,
        side,
        accidentals: Vec::new(),
    });
}

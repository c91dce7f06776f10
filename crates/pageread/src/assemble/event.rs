//! How does one note, chord or rest look in the page model? Its signs, one by one.

use super::System;
use crate::page_bars::At;
use crate::signs::Sign;
use crate::vocabulary::{Ask, Flag};
use notation::{Articulation, ArticulationKind, Event, Fermata, Ornament, OrnamentKind, Side, Technical};

/// The sign at a place.
pub(super) fn sign_at(systems: &[System], at: At) -> Option<&Sign> {
    systems.get(at.system)?.seen.signs.get(at.sign)
}

/// Puts onto an event all that is printed at its first sign.
pub(super) fn adorn(event: &mut Event, sign: &Sign) {
    let articulations = [
        (Flag::Staccatissimo, ArticulationKind::Staccatissimo),
        (Flag::Staccato, ArticulationKind::Staccato),
        (Flag::Tenuto, ArticulationKind::Tenuto),
        (Flag::Accent, ArticulationKind::Accent),
        (Flag::Marcato, ArticulationKind::Marcato),
    ];
    for (flag, kind) in articulations {
        if sign.is(flag) {
            event.articulations.push(Articulation { kind, side: None });
        }
    }
    for (flag, name) in [
        (Flag::UpBow, "up-bow"),
        (Flag::DownBow, "down-bow"),
        (Flag::Harmonic, "harmonic"),
        (Flag::Stopped, "stopped"),
    ] {
        if sign.is(flag) {
            event.technical.push(technical(name, ""));
        }
    }
    if sign.is(Flag::Fermata) {
        event.fermatas.push(Fermata {
            shape: String::new(),
            inverted: false,
        });
    }
    if sign.is(Flag::Arpeggio) {
        event.arpeggio = Some(String::new());
    }
    let ornament = match sign.answer(Ask::Ornament) {
        1 => Some(OrnamentKind::Trill),
        2 => Some(OrnamentKind::Mordent { long: false }),
        3 => Some(OrnamentKind::InvertedMordent { long: false }),
        4 => Some(OrnamentKind::Turn),
        5 => Some(OrnamentKind::InvertedTurn),
        _ => None,
    };
    if let Some(kind) = ornament {
        let accidental = crate::pitches::accidental(sign.answer(Ask::OrnamentAccidental));
        event.ornaments.push(Ornament {
            kind,
            side: None,
            accidentals: accidental
                .map(|(name, _)| (name.to_owned(), Side::Above))
                .into_iter()
                .collect(),
        });
    }
    let strokes = u8::try_from(sign.answer(Ask::Tremolo)).unwrap_or(0);
    if strokes > 0 {
        event.ornaments.push(Ornament {
            kind: OrnamentKind::Tremolo {
                strokes,
                between: false,
            },
            side: None,
            accidentals: Vec::new(),
        });
    }
}

/// A technical mark by its name in MusicXML 4.0.
pub(super) fn technical(name: &str, text: &str) -> Technical {
    Technical {
        name: name.to_owned(),
        text: text.to_owned(),
        side: None,
    }
}

/// The finger at a head, if one is printed.
pub(super) fn finger(sign: &Sign) -> Option<Technical> {
    let answer = sign.answer(Ask::Finger);
    (answer > 0).then(|| technical("fingering", &(answer - 1).to_string()))
}

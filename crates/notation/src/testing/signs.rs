//! What stands beside the notes? Clefs, keys, metres and transpositions; words, dynamics, tempo marks, signs, playback hints.

use super::Maker;
use crate::{
    BarIndex, Change, Clef, ClefSign, Direction, DirectionKind, IdKind, KeySignature, Metre, Metronome,
    MetronomeValue, NoteValue, Part, Place, Rational, SoundHint, Step, Transposition,
};

impl Maker<'_> {
    fn change<T>(&mut self, place: Place, staff: Option<u8>, value: T) -> Change<T> {
        Change {
            id: self.piece.ids.give(IdKind::Change),
            place,
            staff,
            value,
            printed: true,
        }
    }

    fn key(&mut self) -> KeySignature {
        if self.chance(self.palette.listed_keys, 20) {
            return KeySignature {
                fifths: None,
                listed: vec![(Step::F, Rational::ONE), (Step::B, Rational::whole(-1))],
                declared_mode: None,
            };
        }
        let fifths = self
            .choices
            .pick(&[0, 1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 6, -6, 7, -7]);
        let mut key = KeySignature::of_fifths(fifths);
        key.declared_mode = self.choices.chance(80).then(|| "minor".to_owned());
        key
    }

    fn clef(&mut self) -> Clef {
        let (sign, line, octave_change) = self.choices.pick(&[
            (ClefSign::G, 2, 0),
            (ClefSign::F, 4, 0),
            (ClefSign::C, 3, 0),
            (ClefSign::C, 4, 0),
            (ClefSign::G, 2, -1),
            (ClefSign::F, 4, 1),
        ]);
        Clef {
            sign,
            line,
            octave_change,
        }
    }

    /// What is in force from the start and what changes, on a part of known staves.
    pub(super) fn part_changes(&mut self, part: &mut Part, metres: &[(usize, Metre, bool)]) {
        let start = Place::default();
        for (bar, metre, printed) in metres {
            let mut change = self.change(Place::start_of(BarIndex::from_usize(*bar)), None, metre.clone());
            change.printed = *printed;
            part.metres.push(change);
        }
        let key = self.key();
        let change = self.change(start, None, key);
        part.keys.push(change);
        for staff in 1..=part.staves {
            let clef = self.clef();
            let staff = (part.staves > 1).then_some(staff);
            let change = self.change(start, staff, clef);
            part.clefs.push(change);
        }
        if self.chance(self.palette.transposition, 90) {
            let (diatonic, chromatic, octaves) =
                self.choices
                    .pick(&[(-1, -2, 0), (-4, -7, 0), (2, 3, 0), (0, 0, -1)]);
            let value = Transposition {
                diatonic,
                chromatic: Rational::whole(chromatic),
                octaves,
                doubled: octaves != 0 && self.choices.chance(40),
            };
            let change = self.change(start, None, value);
            part.transpositions.push(change);
        }
        for bar in 1..self.piece.bars.len() {
            if self.chance(self.palette.changes, 25) {
                let key = self.key();
                let mut change = self.change(Place::start_of(BarIndex::from_usize(bar)), None, key);
                change.printed = !self.chance(self.palette.hidden, 30);
                part.keys.push(change);
            }
            if self.chance(self.palette.changes, 25) {
                let clef = self.clef();
                let place = self.place(bar);
                let staff = (part.staves > 1).then(|| 1 + u8::from(self.choices.chance(128)));
                let change = self.change(place, staff, clef);
                part.clefs.push(change);
            }
        }
        part.clefs.sort_by_key(|change| change.place);
    }

    /// Words and signs, and playback hints.
    pub(super) fn directions(&mut self, part: &mut Part, number: usize) {
        for bar in 0..self.piece.bars.len() {
            for _ in 0..2 {
                if self.chance(self.palette.directions, 40) {
                    let kind = self.word();
                    self.direction(part, bar, kind);
                }
            }
            if self.chance(self.palette.signs, 15) {
                let (name, text) = self.choices.pick(&SIGNS);
                let (name, text) = (name.to_owned(), text.to_owned());
                self.direction(part, bar, DirectionKind::Sign { name, text });
            }
            if self.chance(self.palette.sound_hints, 20) {
                let (name, value) = self.choices.pick(&HINTS);
                let place = self.place(bar);
                self.piece.sound_hints.push(SoundHint {
                    place,
                    part: number,
                    attributes: vec![(name.to_owned(), value.to_owned())],
                });
            }
        }
    }

    fn direction(&mut self, part: &mut Part, bar: usize, kind: DirectionKind) {
        let side = self.side();
        let place = self.place(bar);
        let staff = (part.staves > 1 && self.choices.chance(128)).then_some(2);
        let voice = self.choices.chance(20).then(|| part.voices[0].clone());
        part.directions.push(Direction {
            id: self.piece.ids.give(IdKind::Direction),
            place,
            staff,
            voice,
            side,
            printed: true,
            kind,
        });
    }

    fn word(&mut self) -> DirectionKind {
        match self.choices.below(9) {
            0 => DirectionKind::Words("cantabile".to_owned()),
            1 => DirectionKind::Dynamic(
                self.choices
                    .pick(&["p", "mf", "sfz", "sfmp", "poco f"])
                    .to_owned(),
            ),
            2 => DirectionKind::Words(" poco a poco\n& dolce ".to_owned()),
            3 => DirectionKind::Rehearsal("A".to_owned()),
            4 => DirectionKind::Segno,
            5 => DirectionKind::Coda,
            6 => {
                let text = self.choices.pick(&["96", "c. 60", "100-108"]);
                self.metronome(MetronomeValue::PerMinute(text.to_owned()))
            }
            7 => self.metronome(MetronomeValue::Equals(NoteValue::Quarter, 1)),
            _ => DirectionKind::Words("D.C. al Fine".to_owned()),
        }
    }

    fn metronome(&mut self, value: MetronomeValue) -> DirectionKind {
        DirectionKind::Metronome(Metronome {
            beat: self
                .choices
                .pick(&[NoteValue::Quarter, NoteValue::Half, NoteValue::Eighth]),
            dots: u8::from(self.choices.chance(60)),
            value,
            parentheses: self.choices.chance(40),
        })
    }
}

/// Signs that stand in a direction of their own, with texts as the MusicXML reader makes them.
const SIGNS: [(&str, &str); 11] = [
    ("eyeglasses", ""),
    ("damp", ""),
    ("damp-all", ""),
    ("string-mute", "on"),
    ("staff-divide", "up"),
    ("symbol", "brassMuteOpen"),
    ("harp-pedals", "D Cb B E F# G A"),
    ("scordatura", "1: E5, 4: Ab3"),
    ("accordion-registration", "accordion-high 2"),
    ("percussion", "other drum"),
    ("other-direction", "glance at the conductor"),
];

const HINTS: [(&str, &str); 7] = [
    ("tempo", "96"),
    ("dacapo", "yes"),
    ("fine", "yes"),
    ("tocoda", "coda1"),
    ("dynamics", "88.5"),
    ("swing", "2:1 eighth"),
    ("swing", "straight"),
];

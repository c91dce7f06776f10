//! Which signs stand at the notes? Articulation, ornaments with accidentals, technical marks, fermatas, dynamics, syllables.

use super::Maker;
use crate::{
    Articulation, ArticulationKind, Event, EventKind, Fermata, Lyric, Ornament, OrnamentKind, Part, Side,
    Technical,
};

impl Maker<'_> {
    pub(super) fn marks(&mut self, part: &mut Part) {
        for event in &mut part.events {
            match event.kind {
                EventKind::Chord(_) => self.note_marks(event),
                EventKind::Rest { .. } if self.chance(self.palette.fermatas, 10) => self.fermata(event),
                _ => {}
            }
        }
    }

    pub(super) fn side(&mut self) -> Option<Side> {
        self.choices.pick(&[None, Some(Side::Above), Some(Side::Below)])
    }

    fn note_marks(&mut self, event: &mut Event) {
        for _ in 0..2 {
            if self.chance(self.palette.articulations, 25) {
                let kind = self.articulation();
                let side = self.side();
                event.articulations.push(Articulation { kind, side });
            }
        }
        if self.chance(self.palette.ornaments, 20) && !event.is_grace() {
            let ornament = self.ornament();
            event.ornaments.push(ornament);
        }
        if self.chance(self.palette.technical, 20) {
            let (name, text) = self.choices.pick(&OF_EVENT);
            let side = self.side();
            event.technical.push(technical(name, text, side));
        }
        if self.chance(self.palette.fermatas, 12) {
            self.fermata(event);
        }
        if self.chance(self.palette.directions, 8) {
            event
                .dynamics
                .push(self.choices.pick(&["f", "sfz", "mp", "più f"]).to_owned());
        }
        if self.chance(self.palette.lyrics, 20) {
            for line in 0..1 + self.choices.below(2) {
                let lyric = self.lyric(line + 1);
                event.lyrics.push(lyric);
            }
        }
        let EventKind::Chord(heads) = &mut event.kind else {
            return;
        };
        if heads.len() > 1 && self.chance(self.palette.articulations, 40) {
            event.arpeggio = Some(self.choices.pick(&["", "up", "down", "not"]).to_owned());
        }
        for head in heads {
            if self.chance(self.palette.technical, 20) {
                let (name, text) = self.choices.pick(&OF_HEAD);
                // Bends and frets stand where they stand.
                let side = self.side().filter(|_| !matches!(name, "bend" | "fret"));
                head.technical.push(technical(name, text, side));
            }
            if self.chance(self.palette.articulations, 6) {
                head.shape = self
                    .choices
                    .pick(&[None, Some("x".to_owned()), Some("diamond".to_owned())]);
                head.parentheses = self.choices.chance(128);
            }
            head.let_ring = !head.tie_start && self.chance(self.palette.ties, 4);
        }
    }

    fn articulation(&mut self) -> ArticulationKind {
        use ArticulationKind as A;
        self.choices.pick(&[
            A::Staccato,
            A::Accent,
            A::Tenuto,
            A::Marcato,
            A::Staccatissimo,
            A::Portato,
            A::Spiccato,
            A::Scoop,
            A::Plop,
            A::Doit,
            A::Falloff,
            A::BreathMark("comma".to_owned()),
            A::BreathMark(String::new()),
            A::Caesura("thick".to_owned()),
            A::Stress,
            A::Unstress,
            A::SoftAccent,
            A::Other("half-pressure & slow".to_owned()),
        ])
    }

    fn ornament(&mut self) -> Ornament {
        use OrnamentKind as O;
        let kind = self.choices.pick(&[
            O::Trill,
            O::Mordent { long: false },
            O::Turn,
            O::InvertedTurn,
            O::DelayedTurn,
            O::DelayedInvertedTurn,
            O::VerticalTurn,
            O::InvertedVerticalTurn,
            O::Shake,
            O::Mordent { long: true },
            O::InvertedMordent { long: false },
            O::Schleifer,
            O::Haydn,
            O::Tremolo {
                strokes: 3,
                between: false,
            },
            O::Tremolo {
                strokes: 0,
                between: false,
            },
            O::Other("ornamentPrecompSlide".to_owned()),
        ]);
        let side = if matches!(kind, O::Tremolo { .. }) {
            None
        } else {
            self.side()
        };
        let mut accidentals = Vec::new();
        if self.choices.chance(60) && !matches!(kind, O::Tremolo { .. } | O::Other(_)) {
            accidentals.push(("sharp".to_owned(), Side::Above));
            if self.choices.chance(60) {
                accidentals.push(("natural".to_owned(), Side::Below));
            }
        }
        Ornament {
            kind,
            side,
            accidentals,
        }
    }

    fn fermata(&mut self, event: &mut Event) {
        let shape = self
            .choices
            .pick(&["", "angled", "square", "double-dot"])
            .to_owned();
        let inverted = self.choices.chance(60);
        event.fermatas.push(Fermata { shape, inverted });
    }

    fn lyric(&mut self, line: usize) -> Lyric {
        let syllabic = self.choices.pick(&["single", "begin", "middle", "end", ""]);
        let text = self.choices.pick(&["la", "Süß", "a‿e", "‘Tis", "o & o"]);
        Lyric {
            line: line.to_string(),
            text: text.to_owned(),
            syllabic: syllabic.to_owned(),
            extend: self.choices.chance(60),
        }
    }
}

fn technical(name: &str, text: &str, side: Option<Side>) -> Technical {
    Technical {
        name: name.to_owned(),
        text: text.to_owned(),
        side,
    }
}

/// Marks of the whole event, with their texts.
const OF_EVENT: [(&str, &str); 16] = [
    ("up-bow", ""),
    ("down-bow", ""),
    ("double-tongue", ""),
    ("triple-tongue", ""),
    ("stopped", ""),
    ("open", ""),
    ("half-muted", ""),
    ("snap-pizzicato", ""),
    ("heel", ""),
    ("toe", ""),
    ("flip", ""),
    ("smear", ""),
    ("golpe", ""),
    ("handbell", "damp"),
    ("harmon-mute", "half (left)"),
    ("other-technical", "bow on the bridge"),
];

/// Marks of one head, with their texts.
const OF_HEAD: [(&str, &str); 13] = [
    ("fingering", "1"),
    ("fingering", "-3"),
    ("fingering", "(4)"),
    ("string", "2"),
    ("fret", "7"),
    ("pluck", "p"),
    ("harmonic", "natural, touching-pitch"),
    ("open-string", ""),
    ("thumb-position", ""),
    ("bend", "2, pre-bend, with-bar scoop"),
    ("hole", "ring finger half (bottom)"),
    ("arrow", "up single"),
    ("fingernails", ""),
];

//! How long does a note of this articulation sound, and how does it begin?
//!
//! Source: nineteenth-century tutors, from memory: the dash a quarter of the note, the dot half, dots under a slur three
//! quarters. An unmarked tongued note gives up a tenth, at most a 32nd; tenuto and slurred notes nothing (judgement).

use super::note::Attack;
use notation::{ArticulationKind, Event, Quarters, Rational};

/// Marks on a note, gathered over its tied parts.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(super) struct Touch {
    staccato: bool,
    staccatissimo: bool,
    tenuto: bool,
    portato: bool,
    accent: bool,
    marcato: bool,
    gentle: bool,
    unstress: bool,
    breath: bool,
}

/// What a breath takes from the note before it, in seconds. Judgement: a quick catch breath.
const BREATH: (i64, i64) = (3, 10);

impl Touch {
    pub fn of<'a>(events: impl Iterator<Item = &'a Event>) -> Self {
        let mut touch = Self::default();
        for mark in events.flat_map(|event| &event.articulations) {
            match mark.kind {
                ArticulationKind::Staccato | ArticulationKind::Spiccato => touch.staccato = true,
                ArticulationKind::Staccatissimo => touch.staccatissimo = true,
                ArticulationKind::Tenuto => touch.tenuto = true,
                ArticulationKind::Portato => touch.portato = true,
                ArticulationKind::Accent => touch.accent = true,
                ArticulationKind::Marcato => touch.marcato = true,
                ArticulationKind::Stress | ArticulationKind::SoftAccent => touch.gentle = true,
                ArticulationKind::Unstress => touch.unstress = true,
                ArticulationKind::BreathMark(_) => touch.breath = true,
                _ => {}
            }
        }
        touch
    }

    pub fn is_staccato(self) -> bool {
        self.staccato || self.staccatissimo
    }

    /// Dots under a slur, or dot and line together.
    fn is_portato(self, under_slur: bool) -> bool {
        self.portato || self.staccato && (self.tenuto || under_slur)
    }

    /// True if a slur's note is all the same separated from the next.
    pub fn separates(self) -> bool {
        self.staccato || self.staccatissimo || self.portato || self.breath
    }

    /// How much of the written length sounds; `joined` if a slur leads on.
    pub fn sounding(self, held: Quarters, under_slur: bool, joined: bool, speed: Rational) -> Quarters {
        let part = |num, den| held * Rational::new(num, den);
        let length = if self.staccatissimo {
            part(1, 4)
        } else if self.is_portato(under_slur) {
            part(3, 4)
        } else if self.staccato {
            part(1, 2)
        } else if joined || self.tenuto {
            held
        } else {
            held - part(1, 10).min(Rational::new(1, 8))
        };
        if !self.breath {
            return length;
        }
        let breath = Rational::new(BREATH.0, BREATH.1) * speed / Rational::whole(60);
        let breath = Rational::new((breath * Rational::whole(96)).floor().max(1), 96);
        length.min(held - breath.min(part(1, 2)))
    }

    /// How the note begins; `joined` if a slur leads to it.
    pub fn attack(self, under_slur: bool, joined: bool) -> Attack {
        if self.accent || self.marcato {
            Attack::Strong
        } else if self.is_portato(under_slur) {
            Attack::Soft
        } else if self.is_staccato() {
            Attack::Crisp
        } else if joined {
            Attack::Joined
        } else {
            Attack::Plain
        }
    }

    /// Decibels by which the beginning stands out. Judgement: one mark for an accent.
    pub fn accent(self) -> f64 {
        if self.marcato {
            6.0
        } else if self.accent {
            4.0
        } else if self.gentle {
            2.0
        } else if self.unstress {
            -2.0
        } else {
            0.0
        }
    }
}

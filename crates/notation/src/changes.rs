//! What is in force? Clefs, keys, metres and transpositions as dated changes.

use crate::id::Id;
use crate::pitch::{Alter, Pitch, Step};
use crate::place::Place;
use crate::rational::{Quarters, Rational};

/// A value that takes effect at a place and holds until the next one.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Change<T> {
    /// Its name.
    pub id: Id,
    /// From where.
    pub place: Place,
    /// The staff of the part it is for, from 1; `None` for all of them.
    pub staff: Option<u8>,
    /// What is in force from there.
    pub value: T,
    /// False if the source says it is not printed.
    pub printed: bool,
}

/// The sign of a clef.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum ClefSign {
    /// G clef.
    G,
    /// F clef.
    F,
    /// C clef.
    C,
    /// Unpitched percussion.
    Percussion,
    /// Tablature.
    Tab,
    /// Jianpu numbers.
    Jianpu,
    /// No clef shown.
    None,
}

/// A clef: sign, line it sits on, octave mark.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Clef {
    /// The sign.
    pub sign: ClefSign,
    /// The staff line it names, 1 at the bottom.
    pub line: i8,
    /// Octaves by which the written notes sound higher (+) or lower (−): the small 8 above or below.
    pub octave_change: i8,
}

impl Clef {
    /// The treble clef.
    pub const TREBLE: Self = Self {
        sign: ClefSign::G,
        line: 2,
        octave_change: 0,
    };
    /// The bass clef.
    pub const BASS: Self = Self {
        sign: ClefSign::F,
        line: 4,
        octave_change: 0,
    };

    /// The trade's name: treble, bass, alto, tenor …
    #[must_use]
    pub fn name(self) -> String {
        let base = match (self.sign, self.line) {
            (ClefSign::G, 2) => "treble",
            (ClefSign::G, 1) => "French violin",
            (ClefSign::F, 4) => "bass",
            (ClefSign::F, 3) | (ClefSign::C, 5) => "baritone",
            (ClefSign::F, 5) => "sub-bass",
            (ClefSign::C, 1) => "soprano",
            (ClefSign::C, 2) => "mezzo-soprano",
            (ClefSign::C, 3) => "alto",
            (ClefSign::C, 4) => "tenor",
            (ClefSign::Percussion, _) => "percussion",
            (ClefSign::Tab, _) => "tablature",
            (ClefSign::Jianpu, _) => "jianpu",
            (ClefSign::None, _) => "none",
            (sign, line) => return format!("{sign:?} clef on line {line}"),
        };
        match self.octave_change {
            0 => base.to_owned(),
            1 => format!("{base} (8 above)"),
            -1 => format!("{base} (8 below)"),
            2 => format!("{base} (15 above)"),
            -2 => format!("{base} (15 below)"),
            n => format!("{base} ({n} octaves)"),
        }
    }

    /// Sign and line: `G2`, `F4`, `C3`, with `8va`/`8vb` for octave clefs; `percussion`, `TAB`, `none` otherwise.
    #[must_use]
    pub fn code(self) -> String {
        let octave = match self.octave_change {
            1 => "8va",
            -1 => "8vb",
            2 => "15ma",
            -2 => "15mb",
            _ => "",
        };
        match self.sign {
            ClefSign::G | ClefSign::F | ClefSign::C => format!("{:?}{}{octave}", self.sign, self.line),
            ClefSign::Percussion => "percussion".to_owned(),
            ClefSign::Tab => "TAB".to_owned(),
            ClefSign::Jianpu => "jianpu".to_owned(),
            ClefSign::None => "none".to_owned(),
        }
    }

    /// Where a pitch stands on a five-line staff: 0 is the bottom line, 8 the top line, odd numbers spaces.
    /// `None` where the clef gives no pitch. An ottava is not counted here: move the pitch first.
    #[must_use]
    pub fn staff_position(self, pitch: Pitch) -> Option<i32> {
        let reference = match self.sign {
            ClefSign::G => Step::G.index() + 4 * 7,
            ClefSign::F => Step::F.index() + 3 * 7,
            ClefSign::C => 4 * 7,
            _ => return None,
        };
        let bottom = reference - 2 * (i32::from(self.line) - 1) + 7 * i32::from(self.octave_change);
        Some(pitch.diatonic() - bottom)
    }

    /// Ledger lines needed by a pitch on a five-line staff.
    #[must_use]
    pub fn ledger_lines(self, pitch: Pitch) -> u32 {
        let Some(position) = self.staff_position(pitch) else {
            return 0;
        };
        let lines = if position < 0 {
            -position / 2
        } else {
            (position - 8).max(0) / 2
        };
        lines.unsigned_abs()
    }
}

/// A key signature.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct KeySignature {
    /// Sharps (+) or flats (−) of a traditional signature; `None` for one that lists its alterations.
    pub fifths: Option<i8>,
    /// The alterations of a non-traditional signature, in printed order.
    pub listed: Vec<(Step, Alter)>,
    /// The mode the source declares; often a default of the program that wrote it, never relied on.
    pub declared_mode: Option<String>,
}

/// Letters in the order in which sharps enter a signature.
const SHARPS: [Step; 7] = [Step::F, Step::C, Step::G, Step::D, Step::A, Step::E, Step::B];

impl KeySignature {
    /// A traditional signature.
    #[must_use]
    pub fn of_fifths(fifths: i8) -> Self {
        Self {
            fifths: Some(fifths),
            ..Self::default()
        }
    }

    /// What the signature does to a letter, in semitones.
    #[must_use]
    pub fn alter_of(&self, step: Step) -> Alter {
        let Some(fifths) = self.fifths else {
            return self
                .listed
                .iter()
                .find(|(s, _)| *s == step)
                .map_or(Rational::ZERO, |(_, alter)| *alter);
        };
        let fifths = i32::from(fifths);
        // F is the first letter sharpened and the last flattened; beyond seven, letters are doubly altered.
        let place = step.fifths() + 1;
        Rational::whole(i64::from((fifths - place + 6).div_euclid(7)))
    }

    /// The letters that the signature alters, in printed order, with their alteration.
    #[must_use]
    pub fn altered(&self) -> Vec<(Step, Alter)> {
        let Some(fifths) = self.fifths else {
            return self.listed.clone();
        };
        let letters: Vec<Step> = if fifths >= 0 {
            SHARPS.to_vec()
        } else {
            SHARPS.iter().rev().copied().collect()
        };
        letters
            .into_iter()
            .map(|s| (s, self.alter_of(s)))
            .filter(|(_, alter)| !alter.is_zero())
            .collect()
    }

    /// In words: `2 flats`, `1 sharp`, `no sharps or flats`, `F♯ B♭ (non-traditional)`.
    #[must_use]
    pub fn name(&self) -> String {
        match self.fifths {
            Some(0) => "no sharps or flats".to_owned(),
            Some(n) => {
                let (count, sign) = (n.unsigned_abs(), if n > 0 { "sharp" } else { "flat" });
                format!("{count} {sign}{}", if count == 1 { "" } else { "s" })
            }
            None => {
                let listed: Vec<String> = self
                    .listed
                    .iter()
                    .map(|(s, a)| format!("{}{}", s.letter(), crate::pitch::alter_sign(*a)))
                    .collect();
                format!("{} (non-traditional)", listed.join(" "))
            }
        }
    }
}

/// How a metre is printed.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum MetreSymbol {
    /// Two numbers.
    #[default]
    Numbers,
    /// C.
    Common,
    /// ¢.
    Cut,
    /// The upper number alone.
    SingleNumber,
    /// The beat shown as a note, dotted where it is.
    Note,
    /// Metre in force though none is printed (senza misura).
    Senza,
}

/// A metre, possibly compound of several (3+2/8 + 3/4).
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Metre {
    /// Each fraction: the numbers above (3+2 is `[3, 2]`) and the number below. Empty for senza misura.
    pub parts: Vec<MetrePart>,
    /// How it is printed.
    pub symbol: MetreSymbol,
}

/// One fraction of a metre.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct MetrePart {
    /// The numbers above, as printed groups.
    pub groups: Vec<u16>,
    /// The number below.
    pub beat_type: u16,
}

impl Metre {
    /// A plain metre of two numbers.
    #[must_use]
    pub fn new(beats: u16, beat_type: u16) -> Self {
        Self {
            parts: vec![MetrePart {
                groups: vec![beats],
                beat_type,
            }],
            symbol: MetreSymbol::Numbers,
        }
    }

    /// The length of a full bar in quarter notes; `None` without measure.
    #[must_use]
    pub fn length(&self) -> Option<Quarters> {
        if self.parts.is_empty() {
            return None;
        }
        let sum = self
            .parts
            .iter()
            .fold(Quarters::ZERO, |sum, part| sum + part.length());
        (!sum.is_overflow() && sum.is_positive()).then_some(sum)
    }

    /// Upper number summed and lower number of a metre of one fraction.
    #[must_use]
    pub fn simple(&self) -> Option<(u16, u16)> {
        match self.parts.as_slice() {
            [part] => Some((part.beats(), part.beat_type)),
            _ => None,
        }
    }

    /// As it is said: `4/4`, `C`, `¢`, `3+2/8`, `2/4+3/8`, `senza misura`.
    #[must_use]
    pub fn name(&self) -> String {
        match self.symbol {
            MetreSymbol::Common => "C".to_owned(),
            MetreSymbol::Cut => "¢".to_owned(),
            _ => self.fraction(),
        }
    }

    /// In numbers whatever the symbol: `4/4`, `3+2/8`.
    #[must_use]
    pub fn fraction(&self) -> String {
        if self.parts.is_empty() {
            return "senza misura".to_owned();
        }
        let said: Vec<String> = self
            .parts
            .iter()
            .map(|part| {
                let groups: Vec<String> = part.groups.iter().map(u16::to_string).collect();
                format!("{}/{}", groups.join("+"), part.beat_type)
            })
            .collect();
        said.join("+")
    }
}

impl MetrePart {
    /// The numbers above, summed.
    #[must_use]
    pub fn beats(&self) -> u16 {
        self.groups.iter().fold(0, |sum, n| sum.saturating_add(*n))
    }

    /// Length in quarter notes.
    #[must_use]
    pub fn length(&self) -> Quarters {
        Rational::new(i64::from(self.beats()) * 4, i64::from(self.beat_type))
    }
}

/// What is added to a written pitch to get the sounding one.
/// Source: MusicXML 4.0, `<transpose>`: "what must be added to a written pitch to get a correct sounding pitch".
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct Transposition {
    /// Letter steps, octaves not counted in.
    pub diatonic: i32,
    /// Semitones, octaves not counted in.
    pub chromatic: Rational,
    /// Octaves added.
    pub octaves: i32,
    /// An octave below is doubled as well.
    pub doubled: bool,
}

impl Transposition {
    /// True if written and sounding are the same.
    #[must_use]
    pub fn is_none(self) -> bool {
        self.diatonic == 0 && self.chromatic.is_zero() && self.octaves == 0
    }

    /// Semitones from written to sounding, octaves counted in.
    #[must_use]
    pub fn semitones(self) -> Rational {
        self.chromatic + Rational::whole(i64::from(self.octaves.clamp(-20, 20)) * 12)
    }

    /// The sounding pitch of a written one.
    #[must_use]
    pub fn sounding(self, written: Pitch) -> Pitch {
        let octaves = self.octaves.clamp(-20, 20);
        written.transposed(self.diatonic.clamp(-200, 200) + 7 * octaves, self.semitones())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: any theory primer (common practice): F C G D A E B for sharps, the reverse for flats.
    #[test]
    fn signatures_alter_the_right_letters() {
        let names = |fifths| -> String {
            KeySignature::of_fifths(fifths)
                .altered()
                .iter()
                .map(|(s, _)| s.letter())
                .collect()
        };
        assert_eq!(names(0), "");
        assert_eq!(names(2), "FC");
        assert_eq!(names(-3), "BEA");
        assert_eq!(names(7), "FCGDAEB");
        assert_eq!(names(-7), "BEADGCF");
        assert_eq!(KeySignature::of_fifths(8).alter_of(Step::F), Rational::whole(2));
        assert_eq!(KeySignature::of_fifths(-8).alter_of(Step::B), Rational::whole(-2));
        assert_eq!(KeySignature::of_fifths(8).alter_of(Step::C), Rational::whole(1));
    }

    #[test]
    fn positions_and_ledger_lines() {
        let at = |clef: Clef, name: &str| clef.staff_position(Pitch::parse(name).expect(name));
        assert_eq!(at(Clef::TREBLE, "E4"), Some(0));
        assert_eq!(at(Clef::TREBLE, "F5"), Some(8));
        assert_eq!(at(Clef::BASS, "G2"), Some(0));
        assert_eq!(
            at(
                Clef {
                    sign: ClefSign::C,
                    line: 3,
                    octave_change: 0
                },
                "F3"
            ),
            Some(0)
        );
        assert_eq!(
            at(
                Clef {
                    sign: ClefSign::C,
                    line: 4,
                    octave_change: 0
                },
                "D3"
            ),
            Some(0)
        );
        let ledgers = |clef: Clef, name: &str| clef.ledger_lines(Pitch::parse(name).expect(name));
        for (name, lines) in [
            ("D4", 0),
            ("C4", 1),
            ("A3", 2),
            ("G5", 0),
            ("A5", 1),
            ("C6", 2),
            ("C7", 5),
        ] {
            assert_eq!(ledgers(Clef::TREBLE, name), lines, "{name}");
        }
    }

    #[test]
    fn bar_lengths() {
        assert_eq!(Metre::new(6, 8).length(), Some(Rational::whole(3)));
        let mixed = Metre {
            parts: vec![
                MetrePart {
                    groups: vec![3, 2],
                    beat_type: 8,
                },
                MetrePart {
                    groups: vec![3],
                    beat_type: 4,
                },
            ],
            symbol: MetreSymbol::Numbers,
        };
        assert_eq!(mixed.length(), Some(Rational::new(11, 2)));
        assert_eq!(mixed.fraction(), "3+2/8+3/4");
        assert_eq!(Metre::new(4, 0).length(), None);
    }
}

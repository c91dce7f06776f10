//! Between which bounds is a piece composed? What a table, a model piece, the player and single wishes leave open.

use super::figure::{Figure, Figures};
use super::key::Key;
use super::marks::Sign;
use super::measure::Measure;
use instruments::{Experience, Family};
use load::Player;
use load::levels::{Level, Table};
use notation::Pitch;
use thiserror::Error;

/// Why no piece can be made, said to a musician.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[error("{what} — {advice}")]
pub struct Refusal {
    /// What contradicts what, or what could not be found.
    pub what: String,
    /// What to change.
    pub advice: String,
}

impl Refusal {
    pub(super) fn new(what: impl Into<String>, advice: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            advice: advice.into(),
        }
    }
}

/// Where the bounds come from.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Source {
    /// A level of a published table.
    Level(&'static Table, &'static Level),
    /// Another piece.
    Model,
    /// What is usual for the player.
    Player,
}

/// Which single notes may be altered from the signature.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Altered {
    /// None: no minor with its leading note either.
    None,
    /// Sixth and seventh of minor.
    Minor,
    /// Also a raised fourth before the dominant.
    Chromatic,
}

/// What a piece may hold, and what it must.
#[derive(Clone, Debug)]
pub struct Bounds {
    /// Where they come from.
    pub source: Source,
    /// In words, for the one who asked.
    pub named: String,
    /// Written keys.
    pub keys: Vec<Key>,
    /// Metres.
    pub metres: Vec<Measure>,
    /// Lowest written note.
    pub low: Pitch,
    /// Highest written note.
    pub high: Pitch,
    /// Most semitones from the lowest to the highest note of one piece.
    pub span: i32,
    /// Both ends of the range are wished for: the piece reaches up to the highest.
    pub reach: bool,
    /// The lowest note is the tonic (first pieces: six notes of one scale).
    pub from_tonic: bool,
    /// Rhythms.
    pub figures: Figures,
    /// Rhythms that must be there.
    pub must: Figures,
    /// Widest leap in semitones.
    pub leap: i32,
    /// Altered notes.
    pub altered: Altered,
    /// Felt beats a minute.
    pub tempo: (u16, u16),
    /// True if the tempo was said, not just usual.
    pub tempo_said: bool,
    /// Bars that may be chosen from.
    pub bars: Vec<usize>,
    /// Dynamic levels from the softest; empty for none.
    pub dynamics: Vec<&'static str>,
    /// Whether there are hairpins.
    pub hairpins: bool,
    /// Slurs and marks that may be there.
    pub signs: Vec<Sign>,
    /// Slurs and marks that must be there.
    pub must_signs: Vec<Sign>,
    /// Whether it begins with a pickup; `None` leaves it open.
    pub pickup: Option<bool>,
    /// Eighths only in pairs on one note.
    pub repeated_pairs: bool,
    /// Mostly by step: 1 is usual, more is stricter.
    pub steps: f64,
    /// Notes struck in a quarter note's time, about.
    pub density: (f64, f64),
    /// What there is to read in a quarter note's time, in bits: least and most; `None` is open.
    pub load: Option<(f64, f64)>,
    /// Notes without a fingering that she can reach.
    pub avoid: Vec<Pitch>,
    /// What is said beside the answer: what could not be taken over.
    pub remarks: Vec<String>,
}

/// Single wishes; what is not wished for stays as it is.
#[derive(Clone, Debug, Default)]
pub struct Wished {
    /// This key.
    pub key: Option<Key>,
    /// This metre.
    pub metre: Option<Measure>,
    /// So many bars, a pickup not counted.
    pub bars: Option<usize>,
    /// These rhythms, all of them and no others.
    pub figures: Option<Figures>,
    /// No note below.
    pub lowest: Option<Pitch>,
    /// No note above.
    pub highest: Option<Pitch>,
    /// Felt beats a minute.
    pub tempo: Option<u16>,
    /// Widest leap in semitones.
    pub leap: Option<i32>,
    /// These dynamic levels and no others; empty for none.
    pub dynamics: Option<Vec<&'static str>>,
    /// These slurs and marks, all of them and no others; empty for none.
    pub signs: Option<Vec<Sign>>,
    /// With or without a pickup.
    pub pickup: Option<bool>,
}

/// Fewest and most bars that are composed.
pub const BARS: (usize, usize) = (2, 64);
/// Fewest semitones in which there is room for a melody: a fifth.
const ROOM: i32 = 7;

impl Bounds {
    /// The bounds with single wishes put in.
    ///
    /// # Errors
    /// If a wish lies outside what the level or the player allows, or leaves no room.
    pub fn with(mut self, wished: &Wished) -> Result<Self, Refusal> {
        if let Some(key) = wished.key {
            self.key(key)?;
        }
        if let Some(metre) = &wished.metre {
            self.metre(metre)?;
        }
        if let Some(bars) = wished.bars {
            self.length(bars)?;
        }
        if let Some(figures) = wished.figures {
            self.rhythms(figures)?;
        }
        self.range(wished.lowest, wished.highest)?;
        if let Some(tempo) = wished.tempo {
            self.speed(tempo)?;
        }
        if let Some(leap) = wished.leap {
            self.widest(leap)?;
        }
        if let Some(levels) = &wished.dynamics {
            self.levels(levels)?;
        }
        if let Some(signs) = &wished.signs {
            self.articulation(signs)?;
        }
        if let Some(pickup) = wished.pickup {
            if pickup && matches!(self.source, Source::Level(_, level) if level.bars.is_some()) {
                return Err(Refusal::new(
                    format!("{} counts every bar, and a pickup would be one more", self.named),
                    "leave the pickup out",
                ));
            }
            self.pickup = Some(pickup);
        }
        self.agree()
    }

    /// True if the bounds are a table's, which wishes can't leave.
    pub(super) const fn fixed(&self) -> bool {
        matches!(self.source, Source::Level(..))
    }

    /// True if the number of bars was said.
    pub(super) fn fixed_length(&self) -> bool {
        matches!(self.source, Source::Level(_, level) if level.bars.is_some())
    }

    fn key(&mut self, key: Key) -> Result<(), Refusal> {
        if self.fixed() && !self.keys.contains(&key) {
            let names: Vec<String> = self.keys.iter().map(|key| key.name()).collect();
            return Err(Refusal::new(
                format!(
                    "{} has no {} for this instrument as written",
                    self.named,
                    key.name()
                ),
                format!("there are {}; or choose another level", names.join(", ")),
            ));
        }
        if key.minor && self.altered == Altered::None {
            return Err(Refusal::new(
                format!(
                    "{} allows no accidentals, and minor needs its leading note raised",
                    self.named
                ),
                "choose a major key",
            ));
        }
        self.keys = vec![key];
        Ok(())
    }

    fn metre(&mut self, metre: &Measure) -> Result<(), Refusal> {
        if self.fixed() && !self.metres.contains(metre) {
            let names: Vec<String> = self.metres.iter().map(Measure::name).collect();
            return Err(Refusal::new(
                format!("{} has no {}", self.named, metre.name()),
                format!("there are {}; or choose another level", names.join(", ")),
            ));
        }
        self.metres = vec![metre.clone()];
        Ok(())
    }

    fn length(&mut self, bars: usize) -> Result<(), Refusal> {
        let (fewest, most) = match self.source {
            Source::Level(_, level) => level.bars.unwrap_or(BARS),
            _ => BARS,
        };
        if !(fewest..=most).contains(&bars) {
            return Err(Refusal::new(
                format!("{bars} bars can't be had: {fewest} to {most} are composed here"),
                "ask for a number between",
            ));
        }
        self.bars = vec![bars];
        Ok(())
    }

    fn rhythms(&mut self, figures: Figures) -> Result<(), Refusal> {
        let allowed = self.figures.with(Figure::Rests);
        if self.fixed() && !figures.within(allowed) {
            let beyond: Vec<&str> = figures
                .iter()
                .filter(|figure| !allowed.has(*figure))
                .map(Figure::words)
                .collect();
            return Err(Refusal::new(
                format!("{} has no {}", self.named, beyond.join(", ")),
                format!("it has {}; or choose another level", self.figures.words()),
            ));
        }
        // Dotted quarters stand with eighths, dotted eighths with sixteenths.
        let mut whole = figures;
        if figures.has(Figure::DottedQuarters) {
            whole = whole.with(Figure::Eighths);
        }
        if figures.has(Figure::DottedEighths) {
            whole = whole.with(Figure::Sixteenths);
        }
        self.figures = whole;
        self.must = figures;
        // What is wished for decides how much there is to read.
        self.load = None;
        Ok(())
    }

    fn range(&mut self, lowest: Option<Pitch>, highest: Option<Pitch>) -> Result<(), Refusal> {
        let outside = |wish: Pitch, end: Pitch, way: &str| {
            Refusal::new(
                format!(
                    "{} lies {way} {}, where the range of {} ends",
                    wish.sign(),
                    end.sign(),
                    self.named
                ),
                "ask for a note inside it, another level or another player",
            )
        };
        if let Some(low) = lowest.filter(|low| low.key_number() < self.low.key_number()) {
            return Err(outside(low, self.low, "below"));
        }
        if let Some(high) = highest.filter(|high| high.key_number() > self.high.key_number()) {
            return Err(outside(high, self.high, "above"));
        }
        self.reach = highest.is_some();
        self.from_tonic &= lowest.is_none() && highest.is_none();
        self.low = lowest.unwrap_or(self.low);
        self.high = highest.unwrap_or(self.high);
        if lowest.is_some() && highest.is_some() && !self.fixed() {
            self.span = self.high.key_number() - self.low.key_number();
        }
        Ok(())
    }

    fn speed(&mut self, tempo: u16) -> Result<(), Refusal> {
        let said = self.fixed() && self.tempo_said;
        if said && !(self.tempo.0..=self.tempo.1).contains(&tempo) {
            return Err(Refusal::new(
                format!("{tempo} lies outside the tempi of {}", self.named),
                format!("it has {} to {} beats a minute", self.tempo.0, self.tempo.1),
            ));
        }
        if !(30..=208).contains(&tempo) {
            return Err(Refusal::new(
                format!("{tempo} is no tempo for a reading piece"),
                "ask for 30 to 208 beats a minute",
            ));
        }
        self.tempo = (tempo, tempo);
        self.tempo_said = true;
        Ok(())
    }

    fn widest(&mut self, leap: i32) -> Result<(), Refusal> {
        let most = match self.source {
            Source::Level(_, level) => level.leap.unwrap_or(12),
            _ => 12,
        };
        if !(2..=most).contains(&leap) {
            return Err(Refusal::new(
                format!("leaps of {leap} semitones can't be had here"),
                format!("ask for 2 (steps alone) to {most}"),
            ));
        }
        self.leap = leap;
        Ok(())
    }

    fn levels(&mut self, levels: &[&'static str]) -> Result<(), Refusal> {
        if let Source::Level(_, level) = self.source
            && let Some(allowed) = level.dynamics
            && let Some(beyond) = levels.iter().find(|mark| !allowed.contains(mark))
        {
            return Err(Refusal::new(
                format!("{} has no {beyond}", self.named),
                format!("it has {}", listed(allowed)),
            ));
        }
        self.dynamics = DYNAMICS
            .into_iter()
            .filter(|level| levels.contains(level))
            .collect();
        self.hairpins &= !self.dynamics.is_empty();
        Ok(())
    }

    fn articulation(&mut self, signs: &[Sign]) -> Result<(), Refusal> {
        if let Source::Level(_, level) = self.source
            && let Some(allowed) = level.articulation
            && let Some(beyond) = signs.iter().find(|sign| !allowed.contains(&sign.word()))
        {
            return Err(Refusal::new(
                format!("{} has no {}", self.named, beyond.word()),
                format!("it has {}", listed(allowed)),
            ));
        }
        self.signs = signs.to_vec();
        self.must_signs = signs.to_vec();
        Ok(())
    }

    /// Whether all of it can be had at once.
    fn agree(mut self) -> Result<Self, Refusal> {
        let room = (self.high.key_number() - self.low.key_number()).min(self.span);
        if room < ROOM {
            return Err(Refusal::new(
                format!(
                    "from {} to {} there is no room for a melody",
                    self.low.sign(),
                    self.high.sign()
                ),
                "give at least a fifth",
            ));
        }
        let must = self.must;
        let all = self.metres.clone();
        self.metres.retain(|metre| can_have(metre, self.figures, must));
        if self.metres.is_empty() {
            let names: Vec<String> = all.iter().map(Measure::name).collect();
            let words = if must == Figures::PLAIN {
                self.figures
            } else {
                must
            };
            return Err(Refusal::new(
                format!("{} can't be written in {}", words.words(), names.join(", ")),
                "ask for another metre or other rhythms",
            ));
        }
        Ok(self)
    }
}

/// Whether a metre can be filled with these rhythms and show those that must be there.
pub(super) fn can_have(metre: &Measure, figures: Figures, must: Figures) -> bool {
    use super::cells::cells;
    let shows = |figure: Figure| {
        metre
            .kinds()
            .iter()
            .flat_map(|kind| cells(*kind))
            .any(|cell| cell.needs.has(figure) && cell.needs.within(figures))
    };
    let plain = |figure: Figure| {
        // Eighths and dotted quarters are what a compound beat is made of.
        metre.compound() && matches!(figure, Figure::Eighths | Figure::DottedQuarters)
    };
    let small = metre.beat_type == 8 && !figures.has(Figure::Eighths);
    !small
        && must
            .iter()
            .all(|figure| plain(figure) || shows(figure) || figure == Figure::Rests)
}

/// Dynamic levels that are composed with, from the softest.
pub const DYNAMICS: [&str; 6] = ["pp", "p", "mp", "mf", "f", "ff"];

fn listed(words: &[&str]) -> String {
    if words.is_empty() {
        "none".to_owned()
    } else {
        words.join(", ")
    }
}

/// What is usual where nothing is said, from 1 (the first pieces) to 8 (the hardest that are composed). House judgement.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Usual {
    pub(super) figures: Figures,
    pub(super) leap: i32,
    pub(super) span: i32,
    pub(super) tempo: (u16, u16),
    pub(super) bars: &'static [usize],
    pub(super) dynamics: &'static [&'static str],
    pub(super) hairpins: bool,
    pub(super) signs: &'static [Sign],
    pub(super) steps: f64,
    pub(super) density: (f64, f64),
    pub(super) altered: Altered,
    pub(super) sharps: i8,
    /// What there is to read in a quarter note's time, in bits, about.
    pub(super) load: f64,
}

/// What there is to read, in bits in a quarter note's time, at our steps from 1 to 8: what tunes of each step come to when
/// nothing steers them, evened out so that each step has more than the one before (`examples/readings.rs`).
const LOADS: [f64; 8] = [3.0, 4.5, 5.5, 6.3, 7.0, 7.7, 8.4, 9.1];

impl Usual {
    /// Least and most to read.
    pub(super) fn band(&self) -> (f64, f64) {
        (self.load - 0.4, self.load + 0.4)
    }
}

impl Usual {
    pub(super) fn at(step: u8) -> Self {
        use Figure::{DottedEighths, DottedQuarters, Eighths, Rests, Sixteenths, Syncopation, Triplets};
        use Sign::{Accent, Slur, Staccato, Tenuto};
        let basic = Self {
            figures: Figures::PLAIN,
            leap: 5,
            span: 9,
            tempo: (66, 88),
            bars: &[8],
            dynamics: &["mf"],
            hairpins: false,
            signs: &[],
            steps: 1.5,
            density: (0.7, 0.95),
            altered: Altered::Minor,
            sharps: 2,
            load: LOADS
                .get(usize::from(step.saturating_sub(1)))
                .copied()
                .unwrap_or(LOADS[7]),
        };
        match step {
            0 | 1 => basic,
            2 => Self {
                figures: Figures::of(&[Eighths]),
                leap: 7,
                span: 12,
                tempo: (66, 96),
                dynamics: &["p", "mf", "f"],
                signs: &[Slur],
                steps: 1.3,
                density: (0.9, 1.2),
                ..basic
            },
            3 => Self {
                figures: Figures::of(&[Eighths, DottedQuarters, Rests]),
                leap: 7,
                span: 14,
                tempo: (72, 104),
                dynamics: &["p", "mf", "f"],
                hairpins: true,
                signs: &[Slur, Staccato],
                steps: 1.15,
                density: (1.1, 1.4),
                sharps: 3,
                ..basic
            },
            4 => Self {
                figures: Figures::of(&[Eighths, DottedQuarters, Rests, Sixteenths]),
                leap: 9,
                span: 16,
                tempo: (72, 108),
                bars: &[8, 8, 12],
                dynamics: &["p", "mp", "mf", "f"],
                hairpins: true,
                signs: &[Slur, Staccato],
                steps: 1.0,
                density: (1.3, 1.6),
                sharps: 3,
                ..basic
            },
            5 => Self {
                figures: Figures::of(&[Eighths, DottedQuarters, Rests, Sixteenths, DottedEighths]),
                leap: 12,
                span: 17,
                tempo: (72, 112),
                bars: &[8, 12],
                dynamics: &["p", "mp", "mf", "f"],
                hairpins: true,
                signs: &[Slur, Staccato, Accent],
                steps: 0.95,
                density: (1.5, 1.9),
                altered: Altered::Chromatic,
                sharps: 4,
                ..basic
            },
            6 => Self {
                figures: Figures::of(&[
                    Eighths,
                    DottedQuarters,
                    Rests,
                    Sixteenths,
                    DottedEighths,
                    Syncopation,
                ]),
                leap: 12,
                span: 19,
                tempo: (72, 116),
                bars: &[8, 12, 16],
                dynamics: &["pp", "p", "mp", "mf", "f"],
                hairpins: true,
                signs: &[Slur, Staccato, Accent, Tenuto],
                steps: 0.9,
                density: (1.8, 2.2),
                altered: Altered::Chromatic,
                sharps: 4,
                ..basic
            },
            more => Self {
                figures: Figures::of(&[
                    Eighths,
                    DottedQuarters,
                    Rests,
                    Sixteenths,
                    DottedEighths,
                    Syncopation,
                    Triplets,
                ]),
                leap: 12,
                span: if more == 7 { 21 } else { 24 },
                tempo: (66, 116),
                bars: &[12, 16],
                dynamics: &["pp", "p", "mp", "mf", "f", "ff"],
                hairpins: true,
                signs: &[Slur, Staccato, Accent, Tenuto],
                steps: if more == 7 { 0.85 } else { 0.75 },
                density: if more == 7 { (2.1, 2.5) } else { (2.4, 2.9) },
                altered: Altered::Chromatic,
                sharps: if more == 7 { 5 } else { 6 },
                ..basic
            },
        }
    }

    /// The step that suits a player of whom only the level is known.
    pub(super) const fn for_player(experience: Experience) -> u8 {
        match experience {
            Experience::Student => 2,
            Experience::Intermediate => 4,
            Experience::Professional => 7,
        }
    }
}

/// Her written range, or where there is none a comfortable one in the treble.
pub(super) fn range_of(player: &Player) -> (Pitch, Pitch) {
    player.written_range().unwrap_or((
        Pitch::new(notation::Step::C, 0, 4),
        Pitch::new(notation::Step::A, 0, 5),
    ))
}

/// Notes of her range for which every fingering of the chart is out of her reach.
pub(super) fn unreachable(player: &Player) -> Vec<Pitch> {
    let chart = player
        .instrument
        .and_then(|instrument| instruments::fingering::chart(instrument.id));
    let Some(chart) = chart else { return Vec::new() };
    let mut pitches: Vec<Pitch> = player.out_of_reach.iter().map(|(pitch, _)| *pitch).collect();
    pitches.dedup();
    pitches
        .into_iter()
        .filter(|pitch| {
            let known = chart.fingerings(*pitch);
            let barred = |name: &str| {
                player
                    .out_of_reach
                    .iter()
                    .any(|(of, barred)| of.key_number() == pitch.key_number() && barred == name)
            };
            !known.is_empty() && known.iter().all(|fingering| barred(fingering.name.as_ref()))
        })
        .collect()
}

/// Whether the player breathes.
pub(super) fn breathes(player: &Player) -> bool {
    player
        .instrument
        .is_none_or(|instrument| instrument.family.breathes())
}

/// Bowed or plucked.
pub(super) fn bows(player: &Player) -> bool {
    player
        .instrument
        .is_some_and(|instrument| matches!(instrument.family, Family::String))
}

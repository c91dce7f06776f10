//! Which published level table does the piece fit, criterion by criterion, and what exceeds it? Never a bare grade.
//!
//! Each table keeps to what its page says; a criterion that a table leaves out is not judged. Tables are listed in
//! [`tables`] with their sources. They disagree with each other, and that is shown, not averaged.

mod criteria;
mod page;
mod tables;

pub use page::Page;

use instruments::Instrument;

/// A published level table.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Table {
    /// A short name a teacher knows it by.
    pub name: &'static str,
    /// Where it was read.
    pub source: &'static str,
    /// What it is for, or what to know before relying on it; may be empty.
    pub about: &'static str,
    /// Its levels for these instruments, easiest first.
    pub levels: &'static [Level],
}

/// One level of a table, for some instruments. What is `None` or empty the table doesn't say.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Level {
    /// The table's own word for it.
    pub name: &'static str,
    /// Ids or families of the instruments it is for; empty for all.
    pub instruments: &'static [&'static str],
    /// Lowest and highest note as written.
    pub range: Option<(&'static str, &'static str)>,
    /// Most semitones from lowest to highest note, where the table gives a span.
    pub span: Option<i32>,
    /// Signatures.
    pub keys: Keys,
    /// Which of them are major, which minor.
    pub modes: Modes,
    /// Time signatures, as printed (`4/4`, `C` counts as `4/4`, `¢` as `2/2`); empty if not said.
    pub metres: &'static [&'static str],
    /// Most changes of metre and of key.
    pub changes: Option<(usize, usize)>,
    /// What rhythms may hold.
    pub rhythms: Option<Rhythms>,
    /// Slowest and fastest, in beats a minute.
    pub tempo: Option<(f64, f64)>,
    /// Bars, fewest and most.
    pub bars: Option<(usize, usize)>,
    /// Largest leap in semitones.
    pub leap: Option<i32>,
    /// Whether single notes may be altered from the signature.
    pub accidentals: Option<bool>,
    /// Dynamic levels; empty for none at all.
    pub dynamics: Option<&'static [&'static str]>,
    /// Slurs and marks of articulation, by the survey's words (`slur`, `staccato`); empty for single tongue or bow alone.
    pub articulation: Option<&'static [&'static str]>,
}

/// Which modes a level allows. A page is judged by its signatures; what is newly written keeps to this too.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Modes {
    /// The table doesn't say, or says both.
    Both,
    /// Major only.
    Major,
    /// Signatures at concert pitch, by fifths, for major and for minor.
    Listed {
        /// For major keys.
        major: &'static [i8],
        /// For minor keys.
        minor: &'static [i8],
    },
}

/// What signatures a level allows.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Keys {
    /// The table doesn't say.
    Unsaid,
    /// Any.
    Any,
    /// At most so many flats and sharps, as written.
    Upto {
        /// Flats.
        flats: i8,
        /// Sharps.
        sharps: i8,
    },
    /// These signatures at concert pitch, by fifths.
    Concert(&'static [i8]),
}

/// What rhythms a level allows.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Rhythms {
    /// The shortest note value, in notes to a quarter note (2 for eighths).
    pub to_a_quarter: i64,
    /// Dotted quarter and eighth.
    pub dotted_quarter: bool,
    /// Dotted eighth and sixteenth.
    pub dotted_eighth: bool,
    /// Triplets.
    pub triplets: bool,
    /// Syncopation.
    pub syncopation: bool,
}

/// How one criterion comes out.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Criterion {
    /// `range`, `keys`, `metres`, `changes`, `rhythms`, `tempo`, `length`, `leaps`, `accidentals`, `dynamics`, `articulation`.
    pub name: &'static str,
    /// True if the piece keeps within it; `None` if the page or the table doesn't say enough.
    pub fits: Option<bool>,
    /// Why, a clause.
    pub why: String,
}

/// How the piece stands in one table.
#[derive(Clone, PartialEq, Debug)]
pub struct Standing {
    /// The table.
    pub table: &'static Table,
    /// The easiest level it fits in everything that could be judged; else the one it exceeds least.
    pub level: &'static Level,
    /// True if every criterion judged fits.
    pub fits: bool,
    /// Each criterion of that level.
    pub criteria: Vec<Criterion>,
}

impl Standing {
    /// In a sentence: the table, the level and what exceeds it.
    #[must_use]
    pub fn says(&self) -> String {
        let (table, level) = (self.table.name, self.level.name);
        if self.fits {
            return format!("{table}: fits {level} in all that it names");
        }
        let exceeding: Vec<&str> = self
            .criteria
            .iter()
            .filter(|criterion| criterion.fits == Some(false))
            .map(|criterion| criterion.name)
            .collect();
        format!(
            "{table}: nearest is {level}, exceeded in {}",
            exceeding.join(", ")
        )
    }
}

/// Every table.
#[must_use]
pub fn tables() -> &'static [Table] {
    tables::ALL
}

impl Table {
    /// Its levels for an instrument, easiest first; without one, those for any instrument.
    pub fn levels_for(&self, instrument: Option<&Instrument>) -> impl Iterator<Item = &'static Level> {
        self.levels.iter().filter(move |level| is_for(level, instrument))
    }
}

impl Level {
    /// Every criterion that the level names, judged by itself.
    #[must_use]
    pub fn judge(&self, page: &Page) -> Vec<Criterion> {
        criteria::judge(self, page)
    }
}

/// The piece in every table that is for its instrument.
#[must_use]
pub fn standings(page: &Page, instrument: Option<&Instrument>) -> Vec<Standing> {
    tables::ALL
        .iter()
        .filter_map(|table| standing(table, page, instrument))
        .collect()
}

fn standing(table: &'static Table, page: &Page, instrument: Option<&Instrument>) -> Option<Standing> {
    let mut best: Option<(usize, Standing)> = None;
    for level in table.levels.iter().filter(|level| is_for(level, instrument)) {
        let criteria = criteria::judge(level, page);
        let exceeded = criteria
            .iter()
            .filter(|criterion| criterion.fits == Some(false))
            .count();
        if best.as_ref().is_none_or(|(least, _)| exceeded < *least) {
            let standing = Standing {
                table,
                level,
                fits: exceeded == 0,
                criteria,
            };
            best = Some((exceeded, standing));
        }
    }
    best.map(|(_, standing)| standing)
}

/// A level without instruments is for all; one with them is for these, by id or family. `flute` is the instrument, unless
/// another family stands beside it.
fn is_for(level: &Level, instrument: Option<&Instrument>) -> bool {
    let families = ["reed", "brass", "string"];
    let by_family = level.instruments.iter().any(|name| families.contains(name));
    level.instruments.is_empty()
        || instrument.is_some_and(|instrument| {
            level
                .instruments
                .iter()
                .any(|name| *name == instrument.id || by_family && *name == instrument.family.word())
        })
}

#[cfg(test)]
mod tests;

//! How is a rhythm counted aloud? Numbers and syllables by default, three other published systems by option.
//!
//! A note is spoken plainly, a beat that is only held stands in round brackets, a rest in square ones: `1 (2) &`,
//! `1 [2] 3`. Tied-on notes are held. Nothing is said for held time inside a beat.
//!
//! Sources. Numbers: `1 e & a` and `n la li` of the encyclopaedia article "Counting (music)"; in compound beats
//! `1 ta la ta li ta` and `ta` for whatever is finer: the Eastman system as described in Learn Music Theory 1.25;
//! quarter triplets `1 dra git`, sixteenth triplets `1 la li & la li`: the same encyclopaedia article.
//! Kodály: Indian Prairie School District 204, Rhythm Syllables (2008): `ta-a`, `ti ti`, `ti ka ti ka`, `ta-i ti`,
//! `ti-i ka`; triplets `tri-o-la` from memory. Takadimi: Hoffman, Pelto & White 1996, with five and seven as quoted
//! by Gordon, Taking a Reasonable and Honest Look at Tonal Solfege and Rhythm Solfege, p. 73.
//! Gordon: `du de`, `du da di`, `ta` for the next level, `be` and `ba bi` in unequal beats: tuneful, Meter, after
//! Gordon, Learning Sequences in Music, pp. 74-89 and 181-185.

use super::cell::{Cell, CellKind, Cells};
use super::tuplet::TupletGroup;
use crate::metre::Beat;
use notation::{Quarters, Rational};

/// A published way of counting aloud.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default)]
pub enum CountingSystem {
    /// Numbers on the beats, syllables between them.
    #[default]
    Numbers,
    /// Syllables by note value, after Kodály.
    Kodaly,
    /// Syllables by place in the beat (Hoffman, Pelto & White).
    Takadimi,
    /// Syllables by place in the beat, after Gordon.
    Gordon,
}

impl CountingSystem {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Numbers, Self::Kodaly, Self::Takadimi, Self::Gordon];

    /// The name in JSON and on the command line.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Numbers => "numbers",
            Self::Kodaly => "kodaly",
            Self::Takadimi => "takadimi",
            Self::Gordon => "gordon",
        }
    }

    /// The name as a musician writes it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Numbers => "numbers and syllables",
            Self::Kodaly => "Kodály",
            Self::Takadimi => "Takadimi",
            Self::Gordon => "Gordon",
        }
    }

    /// The system of a name; case and the accent of Kodály don't matter.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        let name = name.trim().to_lowercase().replace('á', "a");
        Self::ALL.into_iter().find(|system| system.id() == name)
    }
}

/// One word of a count, under its place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct CountWord {
    /// Where it is said, in quarter notes from the start of the bar.
    pub offset: Quarters,
    /// What is said, brackets and all.
    pub text: String,
}

/// The words of a count, at positions of the full bar. Beats are numbered as they come in `beats`.
pub(crate) fn count(bar: &Cells, cells: &[Cell], beats: &[Beat], system: CountingSystem) -> Vec<CountWord> {
    let unequal = beats
        .iter()
        .any(|beat| Some(beat.length) != beats.first().map(|first| first.length));
    let mut words = Vec::with_capacity(cells.len() + beats.len());
    let mut next = 0;
    for beat in beats {
        let fine = is_fine(cells, next, beat);
        let voice = Speaker {
            system,
            beat,
            unequal,
            fine,
        };
        let starts_here = cells.get(next).is_some_and(|cell| cell.start == beat.start);
        if !starts_here && let Some(cell) = next.checked_sub(1).and_then(|at| cells.get(at)) {
            let inside = cell.start < beat.start && beat.start < cell.end();
            if inside && let Some(text) = voice.passed(cell, bar) {
                words.push(CountWord {
                    offset: beat.start,
                    text,
                });
            }
        }
        while let Some(cell) = cells.get(next).filter(|cell| cell.start < beat.end()) {
            if let Some(text) = voice.word(cells, next, bar) {
                words.push(CountWord {
                    offset: cell.start,
                    text,
                });
            }
            next += 1;
        }
    }
    words
}

/// Joins words as they are printed; parts of an irregular group hang together with hyphens.
pub(crate) fn join(words: &[CountWord]) -> String {
    let mut text = String::new();
    for word in words {
        if !text.is_empty() && !word.text.starts_with('-') {
            text.push(' ');
        }
        text.push_str(&word.text);
    }
    text
}

/// True if a cell of the beat starts off its quarters: thirty-seconds in a quarter-note beat.
fn is_fine(cells: &[Cell], first: usize, beat: &Beat) -> bool {
    let inside = cells
        .iter()
        .skip(first)
        .take_while(|cell| cell.start < beat.end());
    inside.filter(|cell| cell.group.is_none()).any(|cell| {
        let quarters = (cell.start - beat.start) / beat.length * Rational::whole(4);
        beat.division == 2 && !quarters.is_whole()
    })
}

/// Says the words of one beat.
struct Speaker<'a> {
    system: CountingSystem,
    beat: &'a Beat,
    unequal: bool,
    fine: bool,
}

impl Speaker<'_> {
    /// The word for a beat that passes while a note is held or a rest goes on.
    fn passed(&self, cell: &Cell, bar: &Cells) -> Option<String> {
        if self.system == CountingSystem::Kodaly || cell.kind == CellKind::Missing {
            return None;
        }
        // Groups that are counted across the beat (`1 dra git`) pass over it.
        let group = cell.group.and_then(|group| bar.groups.get(group));
        if group.is_some_and(|group| self.across(group)) {
            return None;
        }
        let word = self.on_beat();
        Some(if cell.sounds() {
            format!("({word})")
        } else {
            format!("[{word}]")
        })
    }

    fn word(&self, cells: &[Cell], at: usize, bar: &Cells) -> Option<String> {
        let cell = cells.get(at)?;
        let on_beat = cell.start == self.beat.start;
        match cell.kind {
            CellKind::Missing => None,
            CellKind::Note => Some(self.syllable(cells, at, bar)),
            CellKind::Rest => Some(bracket_rest(&self.syllable(cells, at, bar))),
            CellKind::Held if self.system == CountingSystem::Kodaly && at > 0 => None,
            CellKind::Held if on_beat || at == 0 => Some(format!("({})", self.syllable(cells, at, bar))),
            CellKind::Held => None,
        }
    }

    fn on_beat(&self) -> String {
        match self.system {
            CountingSystem::Numbers => self.beat.number.to_string(),
            CountingSystem::Gordon => "du".to_owned(),
            CountingSystem::Takadimi | CountingSystem::Kodaly => "ta".to_owned(),
        }
    }

    fn syllable(&self, cells: &[Cell], at: usize, bar: &Cells) -> String {
        let Some(cell) = cells.get(at) else {
            return String::new();
        };
        let group = cell.group.and_then(|group| bar.groups.get(group));
        if self.system == CountingSystem::Kodaly {
            return kodaly(cells, at, group);
        }
        let inside = (cell.start - self.beat.start) / self.beat.length;
        if inside.is_zero() {
            return self.on_beat();
        }
        match group {
            Some(group) => self.in_group(group, cell.start, inside),
            None => self.plain(inside),
        }
    }

    /// A place in a beat that no tuplet bends.
    fn plain(&self, inside: Rational) -> String {
        if self.beat.division == 3 {
            self.third(inside)
        } else {
            self.half(inside)
        }
    }

    fn half(&self, inside: Rational) -> String {
        let eighths = inside * Rational::whole(8);
        let eighth = if eighths.is_whole() { eighths.num() } else { -1 };
        match (self.system, eighth) {
            (CountingSystem::Numbers, 2) => "e",
            (CountingSystem::Numbers, 4) => "&",
            (CountingSystem::Numbers, 6) => "a",
            // Thirty-seconds: the half beat is taken as the beat, so that every note has a syllable of the system.
            (CountingSystem::Takadimi, 1 | 5) if self.fine => "ka",
            (CountingSystem::Takadimi, 2 | 6) if self.fine => "di",
            (CountingSystem::Takadimi, 3 | 7) if self.fine => "mi",
            (CountingSystem::Takadimi, 4) if self.fine => "ta",
            (CountingSystem::Takadimi, 2) => "ka",
            (CountingSystem::Takadimi, 4) => "di",
            (CountingSystem::Takadimi, 6) => "mi",
            (CountingSystem::Gordon, 4) if self.unequal => "be",
            (CountingSystem::Gordon, 4) => "de",
            _ => "ta",
        }
        .to_owned()
    }

    fn third(&self, inside: Rational) -> String {
        let sixths = inside * Rational::whole(6);
        let sixth = if sixths.is_whole() { sixths.num() } else { -1 };
        match (self.system, sixth) {
            (CountingSystem::Numbers, 2) => "la",
            (CountingSystem::Numbers, 4) => "li",
            (CountingSystem::Takadimi, 1) => "va",
            (CountingSystem::Takadimi, 2) => "ki",
            (CountingSystem::Takadimi, 3) => "di",
            (CountingSystem::Takadimi, 4) => "da",
            (CountingSystem::Takadimi, 5) => "ma",
            (CountingSystem::Gordon, 2) if self.unequal => "ba",
            (CountingSystem::Gordon, 4) if self.unequal => "bi",
            (CountingSystem::Gordon, 2) => "da",
            (CountingSystem::Gordon, 4) => "di",
            _ => "ta",
        }
        .to_owned()
    }

    /// True for a group that is counted across beats: three in two beats, five in two …
    fn across(&self, group: &TupletGroup) -> bool {
        let beats = group.length / self.beat.length;
        let actual = i64::from(group.ratio.actual);
        let by_beats = beats.is_whole()
            && beats.num() > 0
            && actual % beats.num() == 0
            && matches!(actual / beats.num(), 2 | 3 | 4 | 6);
        let longer = group.length > self.beat.length && !by_beats && !self.lands_on_halves(group);
        // Three halves in four beats keep their held beats: they fall between the notes.
        longer && !(group.ratio.actual == 3 && beats == Rational::whole(4))
    }

    /// True if every note of the group falls on a half, quarter or eighth of a beat (two in three, four in three).
    fn lands_on_halves(&self, group: &TupletGroup) -> bool {
        let step = group.length / self.beat.length / Rational::whole(i64::from(group.ratio.actual));
        (step * Rational::whole(8)).is_whole() && self.beat.division == 2
    }

    fn in_group(&self, group: &TupletGroup, position: Quarters, inside: Rational) -> String {
        let actual = group.ratio.actual;
        let beats = group.length / self.beat.length;
        let each = Rational::whole(i64::from(actual)) / beats;
        let division = group.division_at(position);
        if actual == 3 && beats > Rational::ONE && beats.is_whole() {
            return self.long_triplet(division);
        }
        if each == Rational::whole(3) {
            return self.third(inside);
        }
        if each == Rational::whole(6) {
            return self.sextuplet(inside);
        }
        if each == Rational::whole(2) || each == Rational::whole(4) || self.lands_on_halves(group) {
            return self.half(inside);
        }
        self.irregular(actual, division)
    }

    /// Three notes over several beats.
    fn long_triplet(&self, division: Option<u16>) -> String {
        match (self.system, division) {
            (CountingSystem::Numbers, Some(1)) => "dra",
            (CountingSystem::Numbers, Some(2)) => "git",
            (CountingSystem::Takadimi, Some(1)) => "ki",
            (CountingSystem::Takadimi, Some(2)) => "da",
            (CountingSystem::Gordon, Some(1)) => "da",
            (CountingSystem::Gordon, Some(2)) => "di",
            _ => "ta",
        }
        .to_owned()
    }

    /// Six in a beat: two groups of three.
    fn sextuplet(&self, inside: Rational) -> String {
        let sixths = inside * Rational::whole(6);
        match (self.system, sixths.is_whole().then(|| sixths.num())) {
            (CountingSystem::Numbers, Some(1 | 4)) => "la".to_owned(),
            (CountingSystem::Numbers, Some(2 | 5)) => "li".to_owned(),
            (CountingSystem::Numbers, Some(3)) => "&".to_owned(),
            (CountingSystem::Numbers, _) => "ta".to_owned(),
            _ => self.third(inside),
        }
    }

    /// Five, seven and the like: counted through evenly, hanging on the beat's word (common practice).
    fn irregular(&self, actual: u16, division: Option<u16>) -> String {
        const FIVE: [&str; 5] = ["ta", "ka", "di", "mi", "ti"];
        const SEVEN: [&str; 7] = ["ta", "va", "ki", "di", "da", "mi", "ti"];
        let Some(division) = division else {
            return "-ta".to_owned();
        };
        let taka = match (self.system, actual) {
            (CountingSystem::Takadimi, 5) => FIVE.get(usize::from(division)),
            (CountingSystem::Takadimi, 7) => SEVEN.get(usize::from(division)),
            _ => None,
        };
        match taka {
            Some(syllable) => (*syllable).to_owned(),
            None if self.system == CountingSystem::Gordon => "ta".to_owned(),
            None => format!("-{}", division + 1),
        }
    }
}

fn bracket_rest(word: &str) -> String {
    match word.strip_prefix('-') {
        Some(rest) => format!("-[{rest}]"),
        None => format!("[{word}]"),
    }
}

/// Syllables by length: a note's ties within the pattern are joined to it.
fn kodaly(cells: &[Cell], at: usize, group: Option<&TupletGroup>) -> String {
    let Some(cell) = cells.get(at) else {
        return String::new();
    };
    if let Some(group) = group.filter(|group| group.ratio.actual == 3) {
        let from = group.division_at(cell.start).unwrap_or(0);
        let to = group.division_at(cell.end()).unwrap_or(from + 1).min(3);
        let said: Vec<&str> = ["tri", "o", "la"]
            .into_iter()
            .skip(usize::from(from))
            .take(usize::from(to.saturating_sub(from)).max(1))
            .collect();
        return said.join("-");
    }
    let held = cells
        .iter()
        .skip(at + 1)
        .take_while(|next| next.kind == CellKind::Held);
    let length = held.fold(
        cell.length,
        |sum, next| if cell.sounds() { sum + next.length } else { sum },
    );
    let quarters = length.floor();
    let rest = length - Rational::whole(quarters);
    if quarters >= 1 {
        let held = usize::try_from(quarters - 1).unwrap_or(0).min(64);
        let tail = if rest.is_zero() { "" } else { "-i" };
        return format!("ta{}{tail}", "-a".repeat(held));
    }
    if rest == Rational::new(3, 4) {
        return "ti-i".to_owned();
    }
    if rest < Rational::new(1, 2) {
        let place = cell.start / Rational::new(1, 4);
        let odd = !(place / Rational::whole(2)).is_whole();
        return if odd { "ka" } else { "ti" }.to_owned();
    }
    "ti".to_owned()
}

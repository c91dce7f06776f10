//! What does a rubric give for it? Published ones with numbers in them, each named, and the teacher's own; never a score without.

use crate::heard::{Heard, hundredths};
use crate::numbers::real;

/// What a line of a rubric counts.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Measure {
    /// Waits and goings-back together.
    Hesitations,
    /// Goings-back alone.
    Restarts,
    /// Bars in which something was not in time.
    RhythmBars,
    /// Pitches not as written: wrong, missing, too many.
    Pitches,
    /// Pitches at their place, in hundredths of those reached.
    RightHundredths,
    /// Bars with any mistake of pitch or time.
    FaultyBars,
    /// Bars without one, of those reached.
    CleanBars,
    /// Hundredths by which the tempo in the middle lies off that of the page.
    TempoOff,
    /// Written notes whose tuning is plainly off.
    NotesOutOfTune,
}

impl Measure {
    /// All of them.
    pub const ALL: [Self; 9] = [
        Self::Hesitations,
        Self::Restarts,
        Self::RhythmBars,
        Self::Pitches,
        Self::RightHundredths,
        Self::FaultyBars,
        Self::CleanBars,
        Self::TempoOff,
        Self::NotesOutOfTune,
    ];

    /// Its name in a rubric's file and in JSON.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Hesitations => "hesitations",
            Self::Restarts => "restarts",
            Self::RhythmBars => "rhythm-bars",
            Self::Pitches => "pitches",
            Self::RightHundredths => "right-hundredths",
            Self::FaultyBars => "faulty-bars",
            Self::CleanBars => "clean-bars",
            Self::TempoOff => "tempo-off",
            Self::NotesOutOfTune => "notes-out-of-tune",
        }
    }

    /// The measure of a name.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|measure| measure.id() == id)
    }

    /// Its value; `None` where it can't be told.
    #[must_use]
    pub fn of(self, heard: &Heard) -> Option<f64> {
        let counts = &heard.counts;
        if !heard.tells() {
            return None;
        }
        Some(match self {
            Self::Hesitations => real(counts.hesitations + counts.restarts),
            Self::Restarts => real(counts.restarts),
            Self::RhythmBars => real(counts.rhythm_bars),
            Self::Pitches => real(counts.wrong + counts.missing + counts.extra),
            Self::RightHundredths => {
                real(usize::try_from(hundredths(counts.right, counts.notes)).unwrap_or(0))
            }
            Self::FaultyBars => real(counts.bars - counts.clean_bars),
            Self::CleanBars => real(counts.clean_bars),
            Self::TempoOff => {
                let tempo = &heard.tempo;
                (tempo.bpm? / tempo.model_bpm? - 1.0).abs() * 100.0
            }
            Self::NotesOutOfTune => real(heard.intonation.iter().filter(|one| one.matters).count()),
        })
    }
}

/// One row: so many points while the value is no higher (or no lower) than a limit.
#[derive(Clone, PartialEq, Debug)]
pub struct Level {
    /// The limit: at most this much; of what is better higher, at least this much. `None` for all that is left.
    pub limit: Option<f64>,
    /// Points.
    pub points: f64,
    /// How the rubric puts it.
    pub words: String,
}

/// A line of a rubric.
#[derive(Clone, PartialEq, Debug)]
pub struct RubricLine {
    /// What the rubric calls it.
    pub name: String,
    /// What is counted for it.
    pub measure: Measure,
    /// Whether more is better.
    pub more_is_better: bool,
    /// From the best to the least.
    pub levels: Vec<Level>,
}

/// A rubric.
#[derive(Clone, PartialEq, Debug)]
pub struct Rubric {
    /// Its name.
    pub name: String,
    /// Where it comes from.
    pub source: String,
    /// Its lines.
    pub lines: Vec<RubricLine>,
}

/// A line filled in.
#[derive(Clone, PartialEq, Debug)]
pub struct Given {
    /// What the rubric calls it.
    pub name: String,
    /// What was counted.
    pub measure: Measure,
    /// How much.
    pub value: f64,
    /// Points.
    pub points: f64,
    /// The most that it gives.
    pub most: f64,
    /// How the rubric puts it.
    pub words: String,
}

/// A rubric filled in.
#[derive(Clone, PartialEq, Debug)]
pub struct Judged {
    /// Its name.
    pub name: String,
    /// Where it comes from.
    pub source: String,
    /// Its lines; those that can't be told are left out.
    pub lines: Vec<Given>,
    /// How many lines could not be told.
    pub untold: usize,
}

/// Fills a rubric in.
#[must_use]
pub fn judge(heard: &Heard, rubric: &Rubric) -> Judged {
    let lines: Vec<Given> = rubric
        .lines
        .iter()
        .filter_map(|line| given(heard, line))
        .collect();
    Judged {
        name: rubric.name.clone(),
        source: rubric.source.clone(),
        untold: rubric.lines.len() - lines.len(),
        lines,
    }
}

fn given(heard: &Heard, line: &RubricLine) -> Option<Given> {
    let value = line.measure.of(heard)?;
    let meets = |level: &&Level| {
        level.limit.is_none_or(|limit| {
            if line.more_is_better {
                value >= limit
            } else {
                value <= limit
            }
        })
    };
    let level = line.levels.iter().find(meets).or(line.levels.last())?;
    Some(Given {
        name: line.name.clone(),
        measure: line.measure,
        value,
        points: level.points,
        most: line.levels.iter().map(|level| level.points).fold(0.0, f64::max),
        words: level.words.clone(),
    })
}

fn line(name: &str, measure: Measure, levels: &[(f64, f64, &str)]) -> RubricLine {
    RubricLine {
        name: name.to_owned(),
        measure,
        more_is_better: false,
        levels: levels
            .iter()
            .map(|(limit, points, words)| Level {
                limit: limit.is_finite().then_some(*limit),
                points: *points,
                words: (*words).to_owned(),
            })
            .collect(),
    }
}

/// Published rubrics of which some lines are numbers; only those lines are filled in.
#[must_use]
pub fn published() -> Vec<Rubric> {
    const REST: f64 = f64::INFINITY;
    // Source: scribd.com/document/408779357 (opened as a search excerpt): steady beat, rhythm and pitch by mistakes counted.
    let sixteen = [
        (0.0, 4.0, "none"),
        (2.0, 3.0, "1 or 2"),
        (4.0, 2.0, "3 or 4"),
        (REST, 1.0, "5 or more"),
    ];
    // Source: rcampus.com, public rubric VXB9AWB, "Sight Reading Skills" (opened as a search excerpt). It leaves 1 bar and 1–2 pitches
    // open; they are counted to the row below the best.
    let bars = [
        (0.0, 5.0, "all right"),
        (2.0, 4.0, "missed in 2 bars"),
        (6.0, 3.0, "missed in 3–6 bars"),
        (9.0, 2.0, "missed in 7–9 bars"),
        (REST, 1.0, "missed in more than 9 bars"),
    ];
    let pitches = [
        (0.0, 5.0, "all right"),
        (5.0, 4.0, "3–5 missed"),
        (9.0, 3.0, "6–9 missed"),
        (13.0, 2.0, "10–13 missed"),
        (REST, 1.0, "more than 13 missed"),
    ];
    vec![
        Rubric {
            name: "Sight-reading rubric, 16 points".to_owned(),
            source: "scribd.com/document/408779357; the lines for beat, rhythm (by bars) and pitch"
                .to_owned(),
            lines: vec![
                line(
                    "steady beat: hesitations or pauses",
                    Measure::Hesitations,
                    &sixteen,
                ),
                line("rhythm: mistakes", Measure::RhythmBars, &sixteen),
                line("pitch: mistakes", Measure::Pitches, &sixteen),
            ],
        },
        Rubric {
            name: "Sight Reading Skills".to_owned(),
            source: "rcampus.com, public rubric VXB9AWB; the lines for rhythm and pitch".to_owned(),
            lines: vec![
                line("rhythm reading", Measure::RhythmBars, &bars),
                line("pitch reading", Measure::Pitches, &pitches),
            ],
        },
    ]
}

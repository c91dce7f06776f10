//! Question 4 as JSON.

use crate::at::{At, Evidence, InBar, Places};
use schemars::JsonSchema;
use serde::Serialize;
use survey::rhythm::{Pattern, RhythmAnswer, TieOver};

/// Rhythm: the vocabulary and how to count it, and where rhythm goes wrong.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Rhythm {
    /// Every distinct figure of one beat, or as many as its notes are held, the most frequent first.
    pub patterns: Vec<PatternSaid>,
    /// Every distinct whole bar.
    pub bar_patterns: Vec<PatternSaid>,
    /// The system of counting: `numbers`, `kodaly`, `takadimi`, `gordon`.
    pub system: String,
    /// The shortest note in the trade's words: `sixteenth`, `triplet eighth`.
    pub shortest: Option<String>,
    /// Its length in quarter notes.
    pub shortest_quarters: Option<f64>,
    /// The longest sounding note, ties joined, in quarter notes.
    pub longest_quarters: Option<f64>,
    /// Printed values, the shortest first.
    pub values: Vec<Value>,
    /// Tuplets by kind.
    pub tuplets: Vec<Tuplet>,
    /// Ties by what they reach over.
    pub ties: Ties,
    /// Dotted rhythms by kind.
    pub dotted: Vec<Dotted>,
    /// Syncopation of each bar, after Longuet-Higgins & Lee 1984; null where no note is held over a stronger place.
    pub syncopation: Vec<Syncopation>,
    /// Slow notes right after fast ones: where readers rush.
    pub slow_after_fast: Vec<Place>,
    /// Beats that start in silence.
    pub rests_on_beats: Vec<At>,
    /// Notes that enter off the beat after silence.
    pub offbeat_entries: Vec<At>,
    /// Where the division of the beat changes.
    pub division_changes: Vec<Division>,
    /// Hemiolas.
    pub hemiolas: Vec<Hemiola>,
    /// The longest unbroken run of the shortest notes.
    pub longest_run: Option<Run>,
    /// Bars in which nothing sounds.
    pub silent_bars: Vec<InBar>,
    /// The whole answer in one line.
    pub summary: String,
    /// The voice that was read; empty if there is only one.
    pub voice: String,
    /// Where to look.
    pub evidence: Vec<Evidence>,
}

/// A rhythmic figure.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PatternSaid {
    /// Values from long to short by letter: `w h q e s t x`, dots `.`, triplet `e:3`, rest `rq`, tied-in `~e`.
    pub pattern: String,
    /// In the trade's words.
    pub name: String,
    /// How many beats it fills.
    pub beats: usize,
    /// How often it comes.
    pub count: usize,
    /// Label of the bar where it comes first.
    pub first_bar: String,
    /// That bar counted from 0.
    pub first_bar_index: u32,
    /// How to count it aloud at tempo.
    pub counting: String,
    /// How to count it in a slow first reading, where that differs.
    pub slow_counting: Option<String>,
}

/// A note value in use.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Value {
    /// In the trade's words.
    pub name: String,
    /// Length in quarter notes.
    pub quarters: f64,
    /// How many notes.
    pub count: usize,
    /// In how many bars.
    pub bars: usize,
    /// Where first.
    #[serde(flatten)]
    pub first: At,
}

/// A kind of tuplet.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Tuplet {
    /// In the trade's words.
    pub name: String,
    /// Notes printed.
    pub actual: u16,
    /// Notes whose time they take.
    pub normal: u16,
    /// How many groups.
    pub count: usize,
    /// Groups with a tuplet inside.
    pub nested: usize,
    /// Labels of the bars.
    pub bars: Vec<String>,
    /// The same bars counted from 0.
    pub bar_indices: Vec<u32>,
}

/// Ties.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Ties {
    /// Inside a beat.
    pub inside: usize,
    /// Over a beat.
    pub over_beats: Vec<At>,
    /// Over a bar line.
    pub over_bar_lines: Vec<At>,
}

/// A dotted rhythm.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Dotted {
    /// In the trade's words.
    pub name: String,
    /// How often.
    pub count: usize,
    /// Where first.
    #[serde(flatten)]
    pub first: At,
}

/// A bar's syncopation.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Syncopation {
    /// The bar.
    #[serde(flatten)]
    pub bar: InBar,
    /// The sum over its syncopated pairs; null if there is no pair at all.
    pub score: Option<u32>,
    /// Weighted note-to-beat distance (Gómez and others 2005).
    pub note_to_beat: f64,
}

/// A place and what happens there.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Place {
    /// What happens.
    pub text: String,
    /// Where.
    #[serde(flatten)]
    pub at: At,
}

/// A change of division.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Division {
    /// Notes to a beat before.
    pub from: u16,
    /// Notes to a beat from here on.
    pub to: u16,
    /// Where.
    #[serde(flatten)]
    pub at: At,
}

/// A hemiola.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Hemiola {
    /// First bar.
    pub from: InBar,
    /// Last bar.
    pub to: InBar,
    /// What it is.
    pub text: String,
}

/// A run of short notes.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Run {
    /// How many notes.
    pub notes: usize,
    /// Length of each in quarter notes.
    pub quarters: f64,
    /// The first.
    pub from: At,
    /// The last.
    pub to: At,
}

pub(crate) fn rhythm(answer: &RhythmAnswer, places: Places) -> Rhythm {
    let at = |place: notation::Place| places.at(place, None);
    let over = |which: TieOver| answer.ties.iter().filter(move |tie| tie.over == which);
    let pattern = |p: &Pattern| PatternSaid {
        pattern: p.pattern.clone(),
        name: p.name.clone(),
        beats: p.beats,
        count: p.count,
        first_bar: places.label(p.first.bar),
        first_bar_index: p.first.bar.0,
        counting: p.counting.clone(),
        slow_counting: p.slow_counting.clone(),
    };
    Rhythm {
        patterns: answer.patterns.iter().map(pattern).collect(),
        bar_patterns: answer.bar_patterns.iter().map(pattern).collect(),
        system: answer.system.id().to_owned(),
        shortest: answer.shortest().map(|value| value.name.clone()),
        shortest_quarters: answer.shortest().map(|value| value.length.to_f64()),
        longest_quarters: answer.longest.map(|(_, length)| length.to_f64()),
        values: answer
            .values
            .iter()
            .map(|v| Value {
                name: v.name.clone(),
                quarters: v.length.to_f64(),
                count: v.count,
                bars: v.bars,
                first: at(v.first),
            })
            .collect(),
        tuplets: answer
            .tuplets
            .iter()
            .map(|t| Tuplet {
                name: t.name.clone(),
                actual: t.ratio.actual,
                normal: t.ratio.normal,
                count: t.count,
                nested: t.nested,
                bars: t.bars.iter().map(|bar| places.label(*bar)).collect(),
                bar_indices: t.bars.iter().map(|bar| bar.0).collect(),
            })
            .collect(),
        ties: Ties {
            inside: over(TieOver::Inside).count(),
            over_beats: over(TieOver::Beat).map(|tie| at(tie.place)).collect(),
            over_bar_lines: over(TieOver::BarLine).map(|tie| at(tie.place)).collect(),
        },
        dotted: answer
            .dotted
            .iter()
            .map(|d| Dotted {
                name: d.name.clone(),
                count: d.count,
                first: at(d.first),
            })
            .collect(),
        syncopation: answer
            .syncopation
            .iter()
            .map(|s| Syncopation {
                bar: places.bar(s.bar),
                score: s.score,
                note_to_beat: s.note_to_beat,
            })
            .collect(),
        slow_after_fast: answer
            .slow_after_fast
            .iter()
            .map(|s| Place {
                text: s.says.clone(),
                at: at(s.place),
            })
            .collect(),
        rests_on_beats: answer.rests_on_beats.iter().map(|r| at(r.place)).collect(),
        offbeat_entries: answer.offbeat_entries.iter().map(|place| at(*place)).collect(),
        division_changes: answer
            .division_changes
            .iter()
            .map(|d| Division {
                from: d.from_to.0,
                to: d.from_to.1,
                at: at(d.place),
            })
            .collect(),
        hemiolas: answer
            .hemiolas
            .iter()
            .map(|h| Hemiola {
                from: places.bar(h.from),
                to: places.bar(h.to),
                text: h.says.clone(),
            })
            .collect(),
        longest_run: answer.longest_run.as_ref().map(|run| Run {
            notes: run.notes,
            quarters: run.length.to_f64(),
            from: at(run.from_to.0),
            to: at(run.from_to.1),
        }),
        silent_bars: places.bars(&answer.silent_bars),
        summary: answer.summary.clone(),
        voice: answer.voice.clone(),
        evidence: places.evidence(&answer.evidence),
    }
}

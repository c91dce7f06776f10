//! Question 4, rhythm: which rhythms make up the piece, how are they counted, and where do they trip a reader?
//!
//! One voice is read, the one with the most notes. Grace notes take no time and are not counted.

mod cell;
mod counting;
mod hazards;
mod hemiola;
mod names;
mod notes;
mod pattern;
mod syncopation;
mod tuplet;
mod values;
pub mod voice;

pub use counting::{CountWord, CountingSystem};
pub use hazards::{DivisionChange, RestOnBeat, Run, SlowAfterFast};
pub use hemiola::Hemiola;
pub(crate) use notes::{Struck, struck};
pub use pattern::Pattern;
pub use syncopation::BarSyncopation;
pub use tuplet::{TupletGroup, tuplet_word};
pub use values::{DottedUse, Tie, TieOver, TupletUse, ValueUse};

use crate::metre::{BeatUnit, MetreAnswer};
use crate::{Context, Evidence};
use notation::{BarIndex, Finding, Place, Quarters, Severity};

/// What the page says about rhythm.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct RhythmAnswer {
    /// How it is counted.
    pub system: CountingSystem,
    /// The voice that was read, in words; empty if there is only one.
    pub voice: String,
    /// The vocabulary: every distinct figure (one beat, two, or as long as its notes are held), most frequent first.
    pub patterns: Vec<Pattern>,
    /// Every distinct whole bar, most frequent first.
    pub bar_patterns: Vec<Pattern>,
    /// Printed note values, shortest first.
    pub values: Vec<ValueUse>,
    /// The longest sounding note, ties joined: where it is struck and how long it lasts in quarter notes.
    pub longest: Option<(Place, Quarters)>,
    /// Tuplets by kind.
    pub tuplets: Vec<TupletUse>,
    /// Every tie, by what it reaches over.
    pub ties: Vec<Tie>,
    /// Dotted rhythms by kind.
    pub dotted: Vec<DottedUse>,
    /// Each bar's syncopation.
    pub syncopation: Vec<BarSyncopation>,
    /// Slow notes right after fast ones.
    pub slow_after_fast: Vec<SlowAfterFast>,
    /// Beats that start in silence in bars that sound.
    pub rests_on_beats: Vec<RestOnBeat>,
    /// Notes that enter off the beat after silence.
    pub offbeat_entries: Vec<Place>,
    /// Where triplets follow pairs, or pairs triplets.
    pub division_changes: Vec<DivisionChange>,
    /// Hemiolas.
    pub hemiolas: Vec<Hemiola>,
    /// The longest unbroken run of the shortest notes.
    pub longest_run: Option<Run>,
    /// Bars in which nothing sounds.
    pub silent_bars: Vec<BarIndex>,
    /// The whole answer in one line.
    pub summary: String,
    /// What can be checked by eye.
    pub evidence: Vec<Evidence>,
    /// Findings: several voices, bars read in another voice.
    pub findings: Vec<Finding>,
}

impl RhythmAnswer {
    /// The shortest printed value.
    #[must_use]
    pub fn shortest(&self) -> Option<&ValueUse> {
        self.values.first()
    }

    /// The syncopation of a bar by Longuet-Higgins & Lee; `None` where there is none.
    #[must_use]
    pub fn syncopation_of(&self, bar: BarIndex) -> Option<u32> {
        let at = self
            .syncopation
            .binary_search_by_key(&bar, |score| score.bar)
            .ok()?;
        self.syncopation.get(at)?.score
    }

    /// The most syncopated bars, highest first; bars where no note is itself held or silenced over a stronger place
    /// are left out.
    #[must_use]
    pub fn most_syncopated(&self) -> Vec<BarSyncopation> {
        let mut bars: Vec<BarSyncopation> = self
            .syncopation
            .iter()
            .filter(|bar| bar.strict > 0)
            .copied()
            .collect();
        bars.sort_by_key(|bar| (std::cmp::Reverse((bar.strict, bar.score)), bar.bar));
        bars
    }

    /// The slow notes after fast ones, those after the longest runs and the greatest slowing first.
    #[must_use]
    pub fn worst_slow_after_fast(&self) -> Vec<&SlowAfterFast> {
        let mut places: Vec<&SlowAfterFast> = self.slow_after_fast.iter().collect();
        places.sort_by_key(|slow| {
            (
                std::cmp::Reverse((slow.fast_notes.min(16), slow.slow / slow.fast)),
                slow.place,
            )
        });
        places
    }
}

/// At which speed a bar is counted.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum CountAt {
    /// The beats as they are felt at tempo.
    Tempo,
    /// The beats of a slow first reading.
    Slow,
}

/// Answers the question for a part.
#[must_use]
pub fn answer(ctx: &Context, metre: &MetreAnswer, system: CountingSystem) -> RhythmAnswer {
    let voice = &metre.voice;
    let notes = struck(voice, &metre.grids);
    let mut collected = values::Collected::default();
    let mut division_changes = Vec::new();
    let mut division = None;
    for (bar, grid) in voice.bars.iter().zip(&metre.grids) {
        let whole = cell::cells(bar, grid, grid.beats());
        collected.add(&whole, grid);
        if grid.counted {
            hazards::division_changes(&whole, grid, &mut division, &mut division_changes);
        }
    }
    let (tuplets, dotted) = collected.finish();
    let (patterns, bar_patterns) = pattern::vocabulary(voice, &metre.grids, system);
    let silent = voice
        .bars
        .iter()
        .zip(&metre.grids)
        .filter(|(bar, _)| bar.is_silent());
    // The longest note; the first of several.
    let longest = notes.iter().rev().max_by_key(|note| note.length);
    let mut answer = RhythmAnswer {
        system,
        voice: voice.says(),
        patterns,
        bar_patterns,
        values: values::values(voice, &metre.grids),
        longest: longest.map(|note| (note.place, note.length)),
        tuplets,
        ties: values::ties(voice, &metre.grids),
        dotted,
        syncopation: syncopation::syncopation(voice, &metre.grids),
        slow_after_fast: hazards::slow_after_fast(&notes),
        rests_on_beats: hazards::rests_on_beats(voice, &metre.grids),
        offbeat_entries: hazards::offbeat_entries(&notes),
        division_changes,
        hemiolas: hemiola::hemiolas(metre),
        longest_run: hazards::longest_run(&notes),
        silent_bars: silent.map(|(_, grid)| grid.bar).collect(),
        ..RhythmAnswer::default()
    };
    answer.summary = summary(&answer);
    answer.evidence = evidence(ctx, &answer);
    answer.findings = findings(ctx, metre);
    answer
}

/// The count of one bar as it stands, word by word, each under its place; empty where nothing is counted.
#[must_use]
pub fn count_words(
    metre: &MetreAnswer,
    bar: BarIndex,
    system: CountingSystem,
    at: CountAt,
) -> Vec<CountWord> {
    let Some(grid) = metre.grid(bar).filter(|grid| grid.counted) else {
        return Vec::new();
    };
    let beats = match at {
        CountAt::Tempo => grid.beats(),
        CountAt::Slow => grid.slow_beats(),
    };
    let whole = cell::cells(metre.voice.bar(bar), grid, beats);
    let mut words = counting::count(&whole, &whole.cells, beats, system);
    for word in &mut words {
        word.offset = grid.offset(word.offset);
    }
    words
}

/// The count of one bar as it stands, as one text: `1 (2) & 3 [4]`.
#[must_use]
pub fn count_bar(metre: &MetreAnswer, bar: BarIndex, system: CountingSystem, at: CountAt) -> String {
    counting::join(&count_words(metre, bar, system, at))
}

fn summary(answer: &RhythmAnswer) -> String {
    let Some(shortest) = answer.shortest() else {
        return "No notes.".to_owned();
    };
    let sounding = answer.patterns.iter().filter(|pattern| !pattern.silent).count();
    let plural = if sounding == 1 { "" } else { "s" };
    let mut says = vec![
        format!("{sounding} rhythm pattern{plural}"),
        format!("shortest value {}", shortest.name),
    ];
    if let Some(longest) = answer
        .longest
        .and_then(|(_, length)| BeatUnit::of_quarters(length))
    {
        says.push(format!("longest {}", longest.name()));
    }
    for tuplet in answer.tuplets.iter().take(2) {
        says.push(format!("{} × {}", tuplet.count, tuplet.name));
    }
    let count = |over: TieOver| answer.ties.iter().filter(|tie| tie.over == over).count();
    let (bar_lines, beats) = (count(TieOver::BarLine), count(TieOver::Beat));
    if bar_lines + beats > 0 {
        says.push(format!("ties over {bar_lines} bar lines and {beats} beats"));
    }
    format!("{}.", says.join("; "))
}

fn evidence(ctx: &Context, answer: &RhythmAnswer) -> Vec<Evidence> {
    let mut evidence = Vec::new();
    if let Some(shortest) = answer.shortest() {
        evidence.push(Evidence::at(
            shortest.first,
            format!("the first {}, the shortest value", shortest.name),
        ));
    }
    if let Some((place, length)) = answer.longest {
        let name = BeatUnit::of_quarters(length).map_or_else(|| format!("{length} quarters"), BeatUnit::name);
        evidence.push(Evidence::at(
            place,
            format!("the longest note, {name} with its ties"),
        ));
    }
    for bar in answer.most_syncopated().into_iter().take(3) {
        let says = format!(
            "syncopation {} (Longuet-Higgins & Lee) in bar {}",
            bar.score.unwrap_or(0),
            ctx.label(bar.bar)
        );
        evidence.push(Evidence::at(Place::start_of(bar.bar), says));
    }
    for slow in answer.worst_slow_after_fast().into_iter().take(5) {
        evidence.push(Evidence::at(slow.place, slow.says.clone()));
    }
    for hemiola in &answer.hemiolas {
        evidence.push(Evidence::at(Place::start_of(hemiola.from), hemiola.says.clone()));
    }
    evidence
}

fn findings(ctx: &Context, metre: &MetreAnswer) -> Vec<Finding> {
    let voice = &metre.voice;
    if voice.voices < 2 {
        return Vec::new();
    }
    let mut advice = "the other voices are not counted".to_owned();
    if let Some(first) = voice.borrowed.first() {
        advice = format!(
            "in {} bars it is silent and another is read, first in bar {}",
            voice.borrowed.len(),
            ctx.label(*first)
        );
    }
    let finding = Finding::new(Severity::Note, "one-voice-counted", voice.says(), advice);
    vec![finding.in_part(&ctx.part.name)]
}

#[cfg(test)]
mod tests;

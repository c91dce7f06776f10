//! What was heard in a take, as JSON: notes, bars, restarts, tuning, time, dynamics, what to work on, rubrics filled in.

use crate::at::{AtBeat, InBar, Places};
use crate::say::{self, FindingSaid, pitch_name, share};
use notation::{BarIndex, Finding, Piece, Pitch};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use take::heard::{self, Followed, Heard, HeardNote, Reached, Touch};
use take::judge::Judged;
use take::{JumpKind, Was};

/// The version of this contract: the first number changes when something is taken away or means something else.
pub const TAKE_VERSION: &str = "1.0";

/// What was heard in a take.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(title = "Foreread take")]
pub struct TakeJson {
    /// The version of this contract.
    pub version: String,
    /// The piece's name.
    pub piece: String,
    /// The part, where the file holds several.
    pub part: Option<String>,
    /// The recording's file name, without folders.
    pub recording: String,
    /// How long the recording is.
    pub seconds: f64,
    /// The player's A4 in hertz: given, or as the take has it.
    pub a4: f64,
    /// Cents are against `equal` semitones or `just` intervals over the key's tonic.
    pub tuned_by: String,
    /// How much of what sounded could be told apart, from 0 to 1.
    pub sure: f64,
    /// In a teacher's words.
    pub summary: Vec<String>,
    /// The three things worth working on, the first first.
    pub work: Vec<WorkSaid>,
    /// Notes in order of time.
    pub notes: Vec<NoteHeard>,
    /// Bars in the order in which they are to be played.
    pub bars: Vec<BarHeard>,
    /// Where the player did not go on where the music does.
    pub restarts: Vec<RestartSaid>,
    /// Waits where the music has none.
    pub hesitations: Vec<HesitationSaid>,
    /// Tuning by written note, from low to high.
    pub intonation: Vec<IntonationSaid>,
    /// Wrong notes played the same way more than once.
    pub learned: Vec<LearnedSaid>,
    /// Changes of dynamics.
    pub dynamics: Vec<DynamicSaid>,
    /// Staccato and slurs.
    pub articulation: Vec<TouchSaid>,
    /// The tempo of the whole.
    pub tempo: TempoHeardSaid,
    /// What was counted.
    pub counts: TakeCounts,
    /// Rubrics filled in; those published only in the lines that are numbers.
    pub rubrics: Vec<RubricSaid>,
    /// What was found wrong, guessed or odd.
    pub findings: Vec<FindingSaid>,
}

/// One note.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct NoteHeard {
    /// Which of the notes to be played, from 0, repeats unfolded; of an extra note the one after which it came.
    pub index: usize,
    /// Where it stands on the page.
    #[serde(flatten)]
    pub at: AtBeat,
    /// As written for the player; null for an extra note.
    pub written: Option<String>,
    /// When it began, in seconds; of a missing note when it was due.
    pub onset_secs: f64,
    /// When it ended.
    pub end_secs: f64,
    /// What was heard, as it would be written for the player; null where no pitch can be told.
    pub heard: Option<String>,
    /// Cents beside the page, of right notes; above 0 is sharp.
    pub cents: Option<f64>,
    /// Seconds by which it came later than the player's own pulse; early is below 0.
    pub late_secs: Option<f64>,
    /// `right`, `wrong`, `missing`, `unparted` (sounding on from the same pitch with no new attack heard, or too short to tell) or `extra`.
    pub played: String,
    /// It is played once more later on.
    pub again: bool,
    /// How sure it is, from 0 to 1.
    pub sure: f64,
}

/// One bar as it was to be played.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct BarHeard {
    /// Which.
    #[serde(flatten)]
    pub bar: InBar,
    /// For the how-manieth time, from 1.
    pub pass: u32,
    /// `whole`, `partly` or `not`.
    pub heard: String,
    /// Notes that begin in it.
    pub notes: usize,
    /// At their pitch, the last time each was played.
    pub right: usize,
    /// Another pitch.
    pub wrong: usize,
    /// Not heard.
    pub missing: usize,
    /// Too many.
    pub extra: usize,
    /// How often the player went back from here.
    pub restarts: usize,
    /// Waits in it.
    pub hesitations: usize,
    /// Notes far from the player's own pulse.
    pub out_of_time: usize,
    /// Everything at its pitch and in time, at one go.
    pub clean: bool,
    /// Felt beats a minute; null where too little was heard.
    pub tempo: Option<f64>,
    /// The felt beat, in quarter notes.
    pub beat_quarters: f64,
}

/// A jump.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct RestartSaid {
    /// When it went on, in seconds.
    pub at_secs: f64,
    /// The bar that was left.
    pub from_bar: String,
    /// That bar counted from 0.
    pub from_bar_index: u32,
    /// Quarter notes from its start to the last note before.
    pub from_offset: f64,
    /// The bar with which it went on.
    pub to_bar: String,
    /// That bar counted from 0.
    pub to_bar_index: u32,
    /// Quarter notes from its start to the first note after.
    pub to_offset: f64,
    /// `back`, `on` (something left out) or `page` (a repeat taken otherwise than written).
    pub kind: String,
}

/// A wait.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct HesitationSaid {
    /// When the music was due, in seconds.
    pub at_secs: f64,
    /// How much longer it took.
    pub secs: f64,
    /// The bar of the note that was waited for.
    pub bar: String,
    /// That bar counted from 0.
    pub bar_index: u32,
    /// Quarter notes from its start.
    pub offset: f64,
}

/// The tuning of a written note.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct IntonationSaid {
    /// As written for the player.
    pub written: String,
    /// In the middle; above 0 is sharp.
    pub cents: f64,
    /// How far single times lie from that, in the middle.
    pub spread: f64,
    /// How often it was heard long and surely enough.
    pub count: usize,
    /// Plainly off, often enough and not by chance.
    pub matters: bool,
}

/// A wrong note that was learned.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct LearnedSaid {
    /// Where.
    pub bar: String,
    /// The bar counted from 0.
    pub bar_index: u32,
    /// Quarter notes from its start.
    pub offset: f64,
    /// What is written.
    pub written: Option<String>,
    /// What was played.
    pub heard: String,
    /// How often.
    pub times: usize,
}

/// A change of dynamics.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct DynamicSaid {
    /// Where the new loudness begins.
    pub bar: String,
    /// The bar counted from 0.
    pub bar_index: u32,
    /// Quarter notes from its start.
    pub offset: f64,
    /// `louder` or `softer`.
    pub asked: String,
    /// Decibels by which the player's level changed.
    pub heard_db: f64,
    /// `yes`, `little` or `no`.
    pub followed: String,
}

/// An articulation.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct TouchSaid {
    /// `short` (staccato) or `slurred`.
    pub touch: String,
    /// Notes that have it and were heard well enough.
    pub count: usize,
    /// How many were not played so.
    pub missed: usize,
    /// The bars of those.
    pub bars: Vec<InBar>,
}

/// The tempo of the whole.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct TempoHeardSaid {
    /// The felt beat, in quarter notes; null if no tempo was heard.
    pub beat_quarters: Option<f64>,
    /// Felt beats a minute, in the middle of the bars.
    pub bpm: Option<f64>,
    /// As the page has it, or its usual reading.
    pub page_bpm: Option<f64>,
    /// Half of the bars lie within so many beats a minute.
    pub within: f64,
    /// Hundredths by which the end is faster than the beginning.
    pub gains: f64,
}

/// What was counted.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct TakeCounts {
    /// Written notes reached, each place once.
    pub notes: usize,
    /// At their pitch, the last time they were played.
    pub right: usize,
    /// Another pitch.
    pub wrong: usize,
    /// Not heard.
    pub missing: usize,
    /// Notes too many.
    pub extra: usize,
    /// Times the player went back.
    pub restarts: usize,
    /// Waits.
    pub hesitations: usize,
    /// Bars in which something was not in time.
    pub rhythm_bars: usize,
    /// Bars reached.
    pub bars: usize,
    /// Clean at one go.
    pub clean_bars: usize,
}

/// One thing to work on.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct WorkSaid {
    /// What.
    pub what: String,
    /// What was heard that says so.
    pub why: String,
    /// What to do.
    pub how: String,
    /// The first bar; null for the whole.
    pub from_bar: Option<String>,
    /// The last bar.
    pub to_bar: Option<String>,
    /// The drill by its fixed name (`foreread drill PIECE --list`); null if it is none of them.
    pub drill: Option<String>,
}

/// A rubric filled in.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct RubricSaid {
    /// Its name.
    pub name: String,
    /// Where it comes from.
    pub source: String,
    /// Its lines.
    pub lines: Vec<RubricLineSaid>,
    /// Lines that can't be told of this take.
    pub untold: usize,
}

/// A line of a rubric.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct RubricLineSaid {
    /// What the rubric calls it.
    pub name: String,
    /// What was counted for it, by its fixed name.
    pub measure: String,
    /// How much.
    pub value: f64,
    /// Points.
    pub points: f64,
    /// The most that it gives.
    pub most: f64,
    /// How the rubric puts it.
    pub words: String,
}

/// What is read again of a take that was told earlier, to compare with.
#[derive(Clone, Debug, Deserialize)]
pub struct EarlierTake {
    /// The recording's file name.
    pub recording: String,
    /// How long it is, in seconds.
    pub seconds: f64,
    /// Its bars.
    pub bars: Vec<EarlierBar>,
    /// Its tempo.
    pub tempo: EarlierTempo,
    /// Its tuning.
    pub intonation: Vec<EarlierIntonation>,
    /// What was counted.
    pub counts: EarlierCounts,
    /// In a teacher's words.
    pub summary: Vec<String>,
}

/// See [`BarHeard`].
#[derive(Clone, Debug, Deserialize)]
#[expect(missing_docs, reason = "as in the contract")]
pub struct EarlierBar {
    pub bar_index: u32,
    pub heard: String,
    pub notes: usize,
    pub clean: bool,
    pub tempo: Option<f64>,
}

/// See [`TempoHeardSaid`].
#[derive(Clone, Debug, Deserialize)]
#[expect(missing_docs, reason = "as in the contract")]
pub struct EarlierTempo {
    pub beat_quarters: Option<f64>,
    pub bpm: Option<f64>,
}

/// See [`IntonationSaid`].
#[derive(Clone, Debug, Deserialize)]
#[expect(missing_docs, reason = "as in the contract")]
pub struct EarlierIntonation {
    pub written: String,
    pub cents: f64,
    pub matters: bool,
}

/// See [`TakeCounts`].
#[derive(Clone, Copy, Debug, Deserialize)]
#[expect(missing_docs, reason = "as in the contract")]
pub struct EarlierCounts {
    pub notes: usize,
    pub right: usize,
    pub restarts: usize,
    pub hesitations: usize,
    pub bars: usize,
    pub clean_bars: usize,
}

/// A take that was told earlier; `None` if the text is of no take, or of a contract that means something else.
#[must_use]
pub fn read_take(text: &str) -> Option<EarlierTake> {
    #[derive(Deserialize)]
    struct Version {
        version: String,
    }
    let first = |version: &str| version.split('.').next().map(str::to_owned);
    let said: Version = serde_json::from_str(text).ok()?;
    if first(&said.version) != first(TAKE_VERSION) {
        return None;
    }
    serde_json::from_str(text).ok()
}

/// A take as it was heard, with what surrounds it.
#[derive(Clone, Copy, Debug)]
pub struct TakeWritten<'a> {
    /// The piece as it was laid against.
    pub piece: &'a Piece,
    /// Its name.
    pub title: &'a str,
    /// The part, where the file holds several.
    pub part: Option<&'a str>,
    /// The recording's file name.
    pub recording: &'a str,
    /// How long it is.
    pub seconds: f64,
    /// Cents are against pure intervals.
    pub just: bool,
    /// What was heard.
    pub heard: &'a Heard,
    /// Rubrics filled in.
    pub judged: &'a [Judged],
    /// What was found on the way.
    pub findings: &'a [Finding],
}

/// The JSON text.
#[must_use]
pub fn take_text(written: &TakeWritten) -> String {
    let mut text = serde_json::to_string_pretty(&take_json(written)).unwrap_or_default();
    text.push('\n');
    text
}

/// The JSON Schema of a take, as kept in `docs/take.schema.json`.
#[must_use]
pub fn take_schema() -> String {
    let mut text = serde_json::to_string_pretty(&schemars::schema_for!(TakeJson)).unwrap_or_default();
    text.push('\n');
    text
}

fn take_json(written: &TakeWritten) -> TakeJson {
    let heard = written.heard;
    let places = Places { piece: written.piece };
    let label = |bar: BarIndex| places.label(bar);
    TakeJson {
        version: TAKE_VERSION.to_owned(),
        piece: written.title.to_owned(),
        part: written.part.map(str::to_owned),
        recording: written.recording.to_owned(),
        seconds: milli(written.seconds),
        a4: milli(heard.a4),
        tuned_by: if written.just { "just" } else { "equal" }.to_owned(),
        sure: share(heard.sure),
        summary: heard.summary.clone(),
        work: heard.work.iter().map(|work| work_said(work, places)).collect(),
        notes: heard.notes.iter().map(|note| note_heard(note, places)).collect(),
        bars: heard.bars.iter().map(|bar| bar_heard(bar, places)).collect(),
        restarts: heard
            .restarts
            .iter()
            .map(|jump| RestartSaid {
                at_secs: milli(jump.at_secs),
                from_bar: label(jump.from.bar),
                from_bar_index: jump.from.bar.0,
                from_offset: jump.from.offset.to_f64(),
                to_bar: label(jump.to.bar),
                to_bar_index: jump.to.bar.0,
                to_offset: jump.to.offset.to_f64(),
                kind: match jump.kind {
                    JumpKind::Back => "back",
                    JumpKind::On => "on",
                    JumpKind::Page => "page",
                }
                .to_owned(),
            })
            .collect(),
        hesitations: heard
            .hesitations
            .iter()
            .map(|wait| HesitationSaid {
                at_secs: milli(wait.at_secs),
                secs: milli(wait.secs),
                bar: label(wait.place.bar),
                bar_index: wait.place.bar.0,
                offset: wait.place.offset.to_f64(),
            })
            .collect(),
        intonation: heard
            .intonation
            .iter()
            .map(|one| IntonationSaid {
                written: pitch_name(one.written),
                cents: tenth(one.cents),
                spread: tenth(one.spread),
                count: one.count,
                matters: one.matters,
            })
            .collect(),
        learned: heard
            .learned
            .iter()
            .map(|one| LearnedSaid {
                bar: label(one.place.bar),
                bar_index: one.place.bar.0,
                offset: one.place.offset.to_f64(),
                written: one.written.map(pitch_name),
                heard: pitch_name(one.heard),
                times: one.times,
            })
            .collect(),
        dynamics: heard
            .dynamics
            .iter()
            .map(|one| DynamicSaid {
                bar: label(one.place.bar),
                bar_index: one.place.bar.0,
                offset: one.place.offset.to_f64(),
                asked: if one.asked_db > 0.0 { "louder" } else { "softer" }.to_owned(),
                heard_db: tenth(one.heard_db),
                followed: match one.followed {
                    Followed::Yes => "yes",
                    Followed::Little => "little",
                    Followed::No => "no",
                }
                .to_owned(),
            })
            .collect(),
        articulation: heard
            .touches
            .iter()
            .map(|one| TouchSaid {
                touch: match one.touch {
                    Touch::Short => "short",
                    Touch::Slurred => "slurred",
                }
                .to_owned(),
                count: one.count,
                missed: one.missed,
                bars: places.bars(&one.bars),
            })
            .collect(),
        tempo: TempoHeardSaid {
            beat_quarters: heard.tempo.bpm.map(|_| heard.tempo.beat.to_f64()),
            bpm: heard.tempo.bpm.map(tenth),
            page_bpm: heard.tempo.model_bpm.map(tenth),
            within: tenth(heard.tempo.within),
            gains: tenth(heard.tempo.gains),
        },
        counts: counts(&heard.counts),
        rubrics: written.judged.iter().map(rubric).collect(),
        findings: say::findings(written.findings),
    }
}

fn note_heard(note: &HeardNote, places: Places) -> NoteHeard {
    NoteHeard {
        index: note.expected,
        at: AtBeat {
            at: places.at(note.place, Some(note.event)),
            beat: milli(note.beat),
        },
        written: note.written.map(pitch_name),
        onset_secs: milli(note.onset_secs),
        end_secs: milli(note.end_secs),
        heard: note.heard.map(|pitch: Pitch| pitch_name(pitch)),
        cents: note.cents.map(tenth),
        late_secs: note.late_secs.map(milli),
        played: match note.was {
            Was::Right => "right",
            Was::Wrong => "wrong",
            Was::Missing => "missing",
            Was::Unparted => "unparted",
            Was::Extra => "extra",
        }
        .to_owned(),
        again: note.again,
        sure: share(note.sure),
    }
}

fn bar_heard(bar: &heard::HeardBar, places: Places) -> BarHeard {
    BarHeard {
        bar: places.bar(bar.bar),
        pass: bar.pass,
        heard: match bar.reached {
            Reached::Not => "not",
            Reached::Partly => "partly",
            Reached::Whole => "whole",
        }
        .to_owned(),
        notes: bar.expected,
        right: bar.right,
        wrong: bar.wrong,
        missing: bar.missing,
        extra: bar.extra,
        restarts: bar.restarts,
        hesitations: bar.hesitations,
        out_of_time: bar.out_of_time,
        clean: bar.clean(),
        tempo: bar.tempo.map(tenth),
        beat_quarters: bar.beat.to_f64(),
    }
}

fn work_said(work: &heard::WorkOn, places: Places) -> WorkSaid {
    WorkSaid {
        what: work.what.clone(),
        why: work.why.clone(),
        how: work.how.clone(),
        from_bar: work.bars.map(|(from, _)| places.label(from)),
        to_bar: work.bars.map(|(_, to)| places.label(to)),
        drill: work.drill.map(str::to_owned),
    }
}

const fn counts(counts: &heard::Counts) -> TakeCounts {
    TakeCounts {
        notes: counts.notes,
        right: counts.right,
        wrong: counts.wrong,
        missing: counts.missing,
        extra: counts.extra,
        restarts: counts.restarts,
        hesitations: counts.hesitations,
        rhythm_bars: counts.rhythm_bars,
        bars: counts.bars,
        clean_bars: counts.clean_bars,
    }
}

fn rubric(judged: &Judged) -> RubricSaid {
    RubricSaid {
        name: judged.name.clone(),
        source: judged.source.clone(),
        lines: judged
            .lines
            .iter()
            .map(|line| RubricLineSaid {
                name: line.name.clone(),
                measure: line.measure.id().to_owned(),
                value: tenth(line.value),
                points: line.points,
                most: line.most,
                words: line.words.clone(),
            })
            .collect(),
        untold: judged.untold,
    }
}

/// To milliseconds.
fn milli(seconds: f64) -> f64 {
    (seconds * 1000.0).round() / 1000.0
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

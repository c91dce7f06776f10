//! How does the tempo climb, as JSON? Rungs on the metronome's own marks, by a published scheme.

use load::Study;
use load::ladder::Rung;
use schemars::JsonSchema;
use serde::Serialize;
use survey::metre::BeatUnit;

/// From the first tempo to the one to climb to.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct LadderSaid {
    /// The scheme by its fixed name: `straight`, `up-three-down-two`, `up-two-down-one`, `slow-and-full`, `every-second-mark`.
    pub scheme: String,
    /// Where the scheme is published.
    pub source: String,
    /// The scheme in words.
    pub words: String,
    /// What to do when it sticks, and when to stop.
    pub advice: String,
    /// The first rung's tempo; null without rungs.
    pub from: Option<Beats>,
    /// The tempo to climb to, as it is marked or asked for: between two marks of the metronome perhaps.
    pub goal: GoalSaid,
    /// The rungs in order.
    pub rungs: Vec<RungSaid>,
}

/// Notes a minute.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Beats {
    /// The note: `quarter`, `dotted quarter`.
    pub beat: String,
    /// Such notes a minute.
    pub bpm: u16,
}

/// The tempo to climb to.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct GoalSaid {
    /// The felt beat.
    pub beat: String,
    /// The same as a sign where there is one: ♩.
    pub beat_sign: String,
    /// Such beats a minute.
    pub bpm: f64,
    /// Where it is from, a clause.
    pub why: String,
}

/// One rung.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct RungSaid {
    /// The note that is counted.
    pub beat: String,
    /// Such notes a minute: a mark of the metronome.
    pub bpm: u16,
    /// Fewest times to play it there.
    pub times: u8,
    /// Most times; the same where the scheme names one number.
    pub times_most: u8,
    /// What the metronome clicks: the beat itself, or a smaller note where the beat is slow, so many times as fast.
    pub click: Beats,
    /// As it is pencilled: `♩ = 96`, `♩. = 44 (click ♪ = 132)`.
    pub says: String,
}

fn beats(beat: BeatUnit, bpm: u16) -> Beats {
    Beats {
        beat: beat.name(),
        bpm,
    }
}

pub(super) fn ladder(study: &Study) -> Option<LadderSaid> {
    let (ladder, goal) = (study.ladder.as_ref()?, study.goal.as_ref()?);
    let rung = |rung: &Rung| RungSaid {
        beat: rung.beat.name(),
        bpm: rung.bpm,
        times: rung.times.0,
        times_most: rung.times.1,
        click: beats(rung.click, rung.click_bpm),
        says: rung.says(),
    };
    Some(LadderSaid {
        scheme: ladder.scheme.id().to_owned(),
        source: ladder.scheme.source().to_owned(),
        words: ladder.scheme.words().to_owned(),
        advice: ladder.advice.to_owned(),
        from: ladder.rungs.first().map(|rung| beats(rung.beat, rung.bpm)),
        goal: GoalSaid {
            beat: goal.beat.name(),
            beat_sign: goal.beat.sign(),
            bpm: goal.bpm,
            why: goal.from.clone(),
        },
        rungs: ladder.rungs.iter().map(rung).collect(),
    })
}

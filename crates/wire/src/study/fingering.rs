//! How is each note fingered, as JSON? An entry or a gap for every note, the chart's words once, trills, keys that stay down.

use super::Said;
use crate::at::{At, AtBeat};
use crate::say::pitch_name;
use instruments::fingering::{Chart, Fingering, Tendency, fingering_words};
use load::fingers::{Chosen, Gap, Stay, Tending, TrillFingering};
use notation::Pitch;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// The fingering of one note: a proposal, unless `own`.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct FingeringSaid {
    /// Which note.
    #[serde(flatten)]
    pub at: AtBeat,
    /// Written pitch.
    pub written: String,
    /// The fingering's name in the trade (`one-and-one`, `fork`, `1-2`, `4`); `plain` where there is only one. How it goes,
    /// how far to trust it and its sources: `fingering_more.used`.
    pub fingering: String,
    /// What is pressed, keys that stay down included, in our notation: `LT L1 L2 L3 | R1 R2 R3 R4:Eb`, left hand before the
    /// bar; a digit alone closes its own hole or key, `:` names another. Brass: the fingers of the valves.
    pub pressed: String,
    /// True for the basic fingering of the chart with nothing held.
    pub basic: bool,
    /// True if it is another than the basic one, whatever is held.
    pub alternate: bool,
    /// True if the player, her teacher or the page chose it.
    pub own: bool,
    /// Why this one; null for a basic fingering.
    pub reason: Option<String>,
    /// The plain note that an unusual spelling is fingered as (`F5` for `E#5`); absent for usual spellings.
    #[serde(rename = "as", skip_serializing_if = "Option::is_none")]
    pub fingered_as: Option<String>,
    /// The same in words: `E♯ is fingered as F`; absent for usual spellings.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub said: Option<String>,
    /// How the note tends to be out of tune; absent if no source says. The source: `fingering_more.tendencies`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tendency: Option<String>,
    /// What stays down or goes down early; absent if nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub held: Option<String>,
    /// How far to trust it: `two sources agree`, `one source`, `from memory`.
    pub grade: String,
}

/// What is to be said about fingerings as a whole.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct FingeringMore {
    /// The chart used; null if there is none, and then `means` says why.
    pub chart: Option<ChartSaid>,
    /// Each fingering that is used, once, in the order in which they first come.
    pub used: Vec<UsedFingering>,
    /// Pitches without a fingering here, each once, in the order in which they first come.
    pub gaps: Vec<GapSaid>,
    /// The trills, in order.
    pub trills: Vec<TrillSaid>,
    /// Stretches through which keys stay down.
    pub stays: Vec<StaySaid>,
    /// Notes that tend to be out of tune or otherwise different, by pitch and fingering.
    pub tendencies: Vec<TendingSaid>,
    /// What all movements come to with the fingerings chosen, in movements of one finger.
    pub movements: f64,
    /// What they would come to with the basic fingering for every note; never less.
    pub movements_all_basic: f64,
    /// What it means for the player.
    pub means: String,
}

/// A chart of fingerings.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct ChartSaid {
    /// Its fixed name.
    pub id: String,
    /// What it is for.
    pub title: String,
    /// What a teacher says about the whole.
    pub notes: Vec<Remark>,
}

/// Something said, with its source.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Remark {
    /// What.
    pub says: String,
    /// Where it was read.
    pub source: String,
}

/// A fingering with its sources.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct UsedFingering {
    /// Written pitch.
    pub written: String,
    /// Its name, as in `fingering`.
    pub fingering: String,
    /// What it presses by itself, in our notation.
    pub pressed: String,
    /// In words: `left hand: thumb, 1, 2, 3; right hand: 1, 2`.
    pub in_words: String,
    /// For how many notes it is used.
    pub times: usize,
    /// How far to trust it.
    pub grade: String,
    /// Where it was read; empty for the player's own.
    pub sources: Vec<String>,
    /// A remark, disagreements of the sources included; may be empty.
    pub remark: String,
    /// How it tends with this fingering; null if no source says.
    pub tendency: Option<Remark>,
    /// What the instrument must have for it; empty if it is on every one.
    pub needs: String,
}

/// A pitch for which no fingering is known here.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct GapSaid {
    /// Where it first comes.
    #[serde(flatten)]
    pub at: AtBeat,
    /// Written pitch.
    pub written: String,
    /// How often it comes.
    pub times: usize,
    /// How it tends to be out of tune; null if no source says.
    pub tendency: Option<Remark>,
    /// Why none is given.
    pub why: String,
}

/// A trill.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct TrillSaid {
    /// Which note.
    #[serde(flatten)]
    pub at: AtBeat,
    /// That note as written.
    pub main: String,
    /// The note above it, as written.
    pub upper: String,
    /// False where no fingering fit for a trill is known here.
    pub known: bool,
    /// How the two notes are fingered; null where one of them has none.
    pub fingerings: Option<TrillPair>,
    /// In words.
    pub says: String,
}

/// The two fingerings of a trill.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct TrillPair {
    /// For the main note, by name.
    pub main: String,
    /// What it presses.
    pub main_pressed: String,
    /// For the note above, by name.
    pub upper: String,
    /// What it presses.
    pub upper_pressed: String,
}

/// Keys that stay down through a stretch of notes.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct StaySaid {
    /// The first note under which they are held.
    pub from: At,
    /// The last one.
    pub to: At,
    /// For how many notes.
    pub notes: usize,
    /// In words.
    pub says: String,
    /// Where it was read.
    pub source: String,
}

/// A note that tends to be different.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct TendingSaid {
    /// Where it first comes.
    #[serde(flatten)]
    pub at: AtBeat,
    /// Written pitch.
    pub written: String,
    /// The fingering's name; empty where none is known.
    pub fingering: String,
    /// How often it comes with that fingering.
    pub times: usize,
    /// How it tends.
    pub says: String,
    /// Where it was read.
    pub source: String,
}

pub(super) fn entries(said: Said) -> Vec<FingeringSaid> {
    said.study
        .fingering
        .notes
        .iter()
        .map(|note| entry(note, said))
        .collect()
}

fn entry(note: &Chosen, said: Said) -> FingeringSaid {
    FingeringSaid {
        at: said.at(note.place, Some(note.event)),
        written: pitch_name(note.written),
        fingering: note.fingering.name.to_string(),
        pressed: note.state.to_string(),
        basic: note.basic,
        alternate: note.alternate,
        own: note.own,
        reason: note.reason.clone(),
        fingered_as: note.as_pitch.map(pitch_name),
        said: note.said.clone(),
        tendency: note.tendency.map(|tendency| tendency.says.to_owned()),
        held: note.held.as_ref().map(|held| held.says.to_owned()),
        grade: note.fingering.grade.words().to_owned(),
    }
}

pub(super) fn more(said: Said) -> FingeringMore {
    let answer = &said.study.fingering;
    FingeringMore {
        chart: answer.chart.map(chart),
        used: used(&answer.notes),
        gaps: answer.gaps.iter().map(|one| gap(one, said)).collect(),
        trills: answer.trills.iter().map(|one| trill(one, said)).collect(),
        stays: answer.stays().iter().map(|one| stay(one, said)).collect(),
        tendencies: answer.tendencies().iter().map(|one| tending(one, said)).collect(),
        movements: answer.total,
        movements_all_basic: answer.all_basic,
        means: answer.means.clone(),
    }
}

fn remark(tendency: Tendency) -> Remark {
    Remark {
        says: tendency.says.to_owned(),
        source: tendency.source.to_owned(),
    }
}

fn chart(chart: &Chart) -> ChartSaid {
    ChartSaid {
        id: chart.id.to_owned(),
        title: chart.title.to_owned(),
        notes: chart
            .notes
            .iter()
            .map(|(says, source)| Remark {
                says: (*says).to_owned(),
                source: (*source).to_owned(),
            })
            .collect(),
    }
}

fn used(notes: &[Chosen]) -> Vec<UsedFingering> {
    let mut used: Vec<UsedFingering> = Vec::new();
    let mut numbers: BTreeMap<(Pitch, &str), usize> = BTreeMap::new();
    for note in notes {
        let slot = (note.written, note.fingering.name.as_ref());
        let number = *numbers.entry(slot).or_insert_with(|| {
            used.push(one_used(note.written, &note.fingering));
            used.len() - 1
        });
        if let Some(used) = used.get_mut(number) {
            used.times += 1;
        }
    }
    used
}

fn one_used(written: Pitch, fingering: &Fingering) -> UsedFingering {
    UsedFingering {
        written: pitch_name(written),
        fingering: fingering.name.to_string(),
        pressed: fingering.state.to_string(),
        in_words: fingering_words(fingering),
        times: 0,
        grade: fingering.grade.words().to_owned(),
        sources: fingering.sources.iter().map(|s| (*s).to_owned()).collect(),
        remark: fingering.remark.to_owned(),
        tendency: fingering.tendency.or(fingering.lesser).map(remark),
        needs: fingering.needs.to_owned(),
    }
}

fn gap(gap: &Gap, said: Said) -> GapSaid {
    GapSaid {
        at: said.at(gap.place, Some(gap.event)),
        written: pitch_name(gap.written),
        times: gap.times,
        tendency: gap.tendency.map(remark),
        why: gap.why.clone(),
    }
}

fn trill(trill: &TrillFingering, said: Said) -> TrillSaid {
    TrillSaid {
        at: said.at(trill.place, Some(trill.event)),
        main: pitch_name(trill.main),
        upper: pitch_name(trill.upper),
        known: trill.known,
        fingerings: trill.fingerings.as_ref().map(|(main, upper)| TrillPair {
            main: main.name.to_string(),
            main_pressed: main.state.to_string(),
            upper: upper.name.to_string(),
            upper_pressed: upper.state.to_string(),
        }),
        says: trill.says.clone(),
    }
}

fn stay(stay: &Stay, said: Said) -> StaySaid {
    StaySaid {
        from: said.places.at(stay.from, None),
        to: said.places.at(stay.to, None),
        notes: stay.notes,
        says: stay.says.to_owned(),
        source: stay.source.to_owned(),
    }
}

fn tending(tending: &Tending, said: Said) -> TendingSaid {
    TendingSaid {
        at: said.at(tending.place, Some(tending.event)),
        written: pitch_name(tending.written),
        fingering: tending.fingering.clone(),
        times: tending.times,
        says: tending.says.to_owned(),
        source: tending.source.to_owned(),
    }
}

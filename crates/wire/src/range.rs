//! Question 2 as JSON.

use crate::at::{At, Evidence, NoteAt, Places};
use crate::say::pitch_name;
use schemars::JsonSchema;
use serde::Serialize;
use survey::range::{Extreme, RangeAnswer};

/// Range: how low and how high, where the part lives, ledger lines, leaps.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Range {
    /// The lowest written note; null without pitched notes.
    pub lowest: Option<End>,
    /// The highest written note.
    pub highest: Option<End>,
    /// The lowest sounding note, where transposition changes on the way.
    pub lowest_sounding: Option<End>,
    /// The highest sounding note.
    pub highest_sounding: Option<End>,
    /// The middle 80 per cent by duration, written.
    pub tessitura: Option<Tessitura>,
    /// The note with the most ledger lines.
    pub most_ledger_lines: Option<Ledger>,
    /// Notes with at least one ledger line.
    pub ledger_notes: usize,
    /// The largest leaps, the largest first.
    pub leaps: Vec<Leap>,
    /// Events of two notes and more.
    pub double_stops: usize,
    /// How it sits on the instrument; null if the instrument is not known.
    pub instrument: Option<Fit>,
    /// What it means for the player.
    pub means: String,
    /// Where to look.
    pub evidence: Vec<Evidence>,
}

/// One end of the range.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct End {
    /// Written pitch.
    pub written: String,
    /// Sounding pitch.
    pub sounding: String,
    /// True if it is a grace note.
    pub grace: bool,
    /// How often this pitch is written.
    pub times: usize,
    /// Where it first stands.
    #[serde(flatten)]
    pub at: At,
}

/// Where the part lives.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Tessitura {
    /// A tenth of the played time lies below.
    pub low: String,
    /// Half of the played time lies below.
    pub middle: String,
    /// A tenth of the played time lies above.
    pub high: String,
}

/// A note on ledger lines.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Ledger {
    /// How many lines.
    pub lines: u32,
    /// Which note, where.
    #[serde(flatten)]
    pub note: NoteAt,
}

/// A leap.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Leap {
    /// The interval by name.
    pub interval: String,
    /// Its size in semitones.
    pub semitones: i64,
    /// Upwards.
    pub up: bool,
    /// A rest between gives time to prepare.
    pub over_rest: bool,
    /// From this note.
    pub from: NoteAt,
    /// To this one.
    pub to: NoteAt,
}

/// How the range sits on the instrument.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Fit {
    /// The instrument's name.
    pub name: String,
    /// The usual written ranges, as guidance.
    pub usual: Vec<Usual>,
    /// Notes beyond the widest of them.
    pub beyond: Vec<BeyondUsual>,
    /// Where the ranges come from.
    pub sources: Vec<String>,
}

/// A usual range.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Usual {
    /// Whose: student, intermediate, professional.
    pub experience: String,
    /// Lowest written note.
    pub low: String,
    /// Highest written note.
    pub high: String,
}

/// A pitch beyond the usual range.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct BeyondUsual {
    /// Written pitch.
    pub written: String,
    /// The limit it passes.
    pub limit: String,
    /// Above or below.
    pub above: bool,
    /// Where it stands.
    pub at: Vec<At>,
}

pub(crate) fn range(answer: &RangeAnswer, places: Places) -> Range {
    let end = |extreme: &Option<Extreme>| {
        extreme.map(|e| End {
            written: pitch_name(e.written),
            sounding: pitch_name(e.sounding),
            grace: e.grace,
            times: e.times,
            at: places.at(e.place, Some(e.head)),
        })
    };
    Range {
        lowest: end(&answer.lowest),
        highest: end(&answer.highest),
        lowest_sounding: end(&answer.lowest_sounding),
        highest_sounding: end(&answer.highest_sounding),
        tessitura: answer.tessitura.map(|t| Tessitura {
            low: pitch_name(t.low),
            middle: pitch_name(t.middle),
            high: pitch_name(t.high),
        }),
        most_ledger_lines: answer.ledger.most.as_ref().map(|n| Ledger {
            lines: n.lines,
            note: places.note(n.pitch, n.place, n.event),
        }),
        ledger_notes: answer.ledger.notes,
        leaps: answer
            .leaps
            .iter()
            .map(|leap| Leap {
                interval: leap.name.clone(),
                semitones: leap.semitones,
                up: leap.up,
                over_rest: leap.over_rest,
                from: places.note(leap.from, leap.from_place, leap.from_event),
                to: places.note(leap.to, leap.to_place, leap.to_event),
            })
            .collect(),
        double_stops: answer.double_stops.as_ref().map_or(0, |d| d.count),
        instrument: answer.fit.as_ref().map(|fit| Fit {
            name: fit.instrument.name.to_owned(),
            usual: fit
                .usual
                .iter()
                .map(|u| Usual {
                    experience: format!("{:?}", u.experience).to_lowercase(),
                    low: pitch_name(u.low),
                    high: pitch_name(u.high),
                })
                .collect(),
            beyond: fit
                .beyond
                .iter()
                .map(|b| BeyondUsual {
                    written: pitch_name(b.written),
                    limit: pitch_name(b.limit),
                    above: b.above,
                    at: b
                        .at
                        .iter()
                        .map(|(place, id)| places.at(*place, Some(*id)))
                        .collect(),
                })
                .collect(),
            sources: fit.sources.iter().map(|s| (*s).to_owned()).collect(),
        }),
        means: answer.means.clone(),
        evidence: places.evidence(&answer.evidence),
    }
}

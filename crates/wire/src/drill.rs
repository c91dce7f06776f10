//! Which drills are offered, as JSON? Each with its bars, what it is for, when to stop, how fast and how often.

use crate::at::Places;
use crate::say::{self, tonic_name};
use crate::study::PlayerSaid;
use crate::survey::{PieceSaid, Written, findings, piece};
use practice::drill::{Matter, Offer, Order};
use schemars::JsonSchema;
use serde::Serialize;

/// The drills that the piece offers to a player.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(title = "Foreread drills")]
pub struct DrillsJson {
    /// The version of this contract, that of the survey's.
    pub version: String,
    /// What they are made from.
    pub piece: PieceSaid,
    /// For whom.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub player: Option<PlayerSaid>,
    /// Where the cap on repetitions was read.
    pub at_most_source: String,
    /// The drills: scales first, then spot by spot with those first that meet its trouble, then bars that look alike.
    pub drills: Vec<DrillSaid>,
    /// What the reader of the file, the survey and the study found wrong, guessed or odd.
    pub reader_findings: Vec<say::FindingSaid>,
}

/// One drill.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct DrillSaid {
    /// Its kind: `scale`, `arpeggio`, `dotted`, `reverse-dotted`, `triplets`, `groups-with-stops`, `add-from-start`,
    /// `add-from-end`, `without-ornaments`, `without-slurs`, `tongue-only`, `rhythm-only`, `leaps-filled`, `fingering-trill`,
    /// `register-slurs`, `half-speed`, `through-keys` or `look-alikes`.
    pub kind: String,
    /// What stands over it.
    pub title: String,
    /// The bars it is made from; for a scale those that ask for it.
    #[serde(flatten)]
    pub bars: BarsSaid,
    /// The trouble spot that it is for, from 1, as `foreread spots` ranks them; null for any other.
    pub spot: Option<usize>,
    /// The earlier bars that the bars of a look-alike resemble.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub like: Option<BarsSaid>,
    /// The scale.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub scale: Option<ScaleSaid>,
    /// The broken chord.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chord: Option<ChordSaid>,
    /// The notes to go between, for trills and slurs over a break; empty for any other.
    pub pairs: Vec<PairSaid>,
    /// The order of keys, of a figure through them: `fourths` or `semitones`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub through: Option<String>,
    /// What it is for.
    pub what_for: String,
    /// When to stop.
    pub when_to_stop: String,
    /// At what tempo to start.
    pub tempo: DrillTempo,
    /// How often at most in one sitting.
    pub at_most: u8,
    /// What to mind where lips, tongue or hands can suffer.
    pub cautions: Vec<String>,
}

/// Some bars, both ends included.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct BarsSaid {
    /// Label of the first bar.
    pub from_bar: String,
    /// That bar counted from 0.
    pub from_bar_index: u32,
    /// Label of the last bar.
    pub to_bar: String,
    /// That bar counted from 0.
    pub to_bar_index: u32,
}

/// A scale.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct ScaleSaid {
    /// Its first note as written, `Bb`.
    pub tonic: String,
    /// `major`, `natural-minor`, `harmonic-minor`, `melodic-minor`, `dorian`, `phrygian`, `lydian`, `mixolydian` or `chromatic`.
    pub form: String,
}

/// A broken chord.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct ChordSaid {
    /// Its root as written, `Bb`.
    pub root: String,
    /// `major`, `minor`, `dominant-seventh` or `diminished-seventh`.
    pub chord: String,
}

/// Two notes.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PairSaid {
    /// The first as written.
    pub from: String,
    /// Its fingering where it is not the usual one.
    pub from_fingering: Option<String>,
    /// The second as written.
    pub to: String,
    /// Its fingering where it is not the usual one.
    pub to_fingering: Option<String>,
}

/// A tempo.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct DrillTempo {
    /// The note that is counted: `quarter`, `quarter.`, `eighth`.
    pub beat: String,
    /// So many a minute, a mark of the metronome.
    pub bpm: u16,
}

/// What to write.
#[derive(Clone, Copy, Debug)]
pub struct DrillsWritten<'a> {
    /// The piece with its survey and study.
    pub survey: Written<'a>,
    /// The offers.
    pub offers: &'a [Offer],
}

/// The drills as plain types.
#[must_use]
pub fn drills_json(what: &DrillsWritten) -> DrillsJson {
    let places = Places {
        piece: what.survey.piece,
    };
    DrillsJson {
        version: crate::VERSION.to_owned(),
        piece: piece(&what.survey),
        player: what.survey.study.map(crate::study::player_of),
        at_most_source: practice::drill::CAPS_SOURCE.to_owned(),
        drills: what.offers.iter().map(|offer| said(offer, places)).collect(),
        reader_findings: findings(&what.survey),
    }
}

/// Writes the drills as JSON text with a line end after it.
///
/// # Errors
/// What the writer says.
pub fn write_drills(what: &DrillsWritten, mut out: impl std::io::Write) -> std::io::Result<()> {
    serde_json::to_writer_pretty(&mut out, &drills_json(what))?;
    out.write_all(b"\n")
}

fn bars(span: practice::BarSpan, places: Places) -> BarsSaid {
    BarsSaid {
        from_bar: places.label(span.from),
        from_bar_index: span.from.0,
        to_bar: places.label(span.to),
        to_bar_index: span.to.0,
    }
}

fn said(offer: &Offer, places: Places) -> DrillSaid {
    let mut said = DrillSaid {
        kind: offer.kind.id().to_owned(),
        title: offer.title.clone(),
        bars: bars(offer.span, places),
        spot: offer.spot.map(|spot| spot + 1),
        like: None,
        scale: None,
        chord: None,
        pairs: Vec::new(),
        through: None,
        what_for: offer.what_for.clone(),
        when_to_stop: offer.when_to_stop.clone(),
        tempo: DrillTempo {
            beat: offer.tempo.beat.code(),
            bpm: offer.tempo.bpm,
        },
        at_most: offer.at_most,
        cautions: offer
            .cautions
            .iter()
            .map(|caution| (*caution).to_owned())
            .collect(),
    };
    match &offer.matter {
        Matter::Bars => {}
        Matter::Like(span) => said.like = Some(bars(*span, places)),
        Matter::Scale { tonic, form } => {
            said.scale = Some(ScaleSaid {
                tonic: tonic_name(tonic.0, tonic.1),
                form: form.id().to_owned(),
            });
        }
        Matter::Chord { root, chord, .. } => {
            said.chord = Some(ChordSaid {
                root: tonic_name(root.0, root.1),
                chord: chord.id().to_owned(),
            });
        }
        Matter::Notes(pairs) => {
            let pair = |pair: &practice::drill::Pair| PairSaid {
                from: pair.from.to_string(),
                from_fingering: pair.from_fingering.clone(),
                to: pair.to.to_string(),
                to_fingering: pair.to_fingering.clone(),
            };
            said.pairs = pairs.iter().map(pair).collect();
        }
        Matter::Through(order) => {
            let order = match order {
                Order::Fourths => "fourths",
                Order::Semitones => "semitones",
            };
            said.through = Some(order.to_owned());
        }
    }
    said
}

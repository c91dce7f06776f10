//! What of a piece do level tables ask? Taken from its survey.

use notation::Pitch;
use survey::Survey;
use survey::metre::MetreKind;

/// What level tables ask of a piece.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Page {
    /// Lowest and highest written note.
    pub range: Option<(Pitch, Pitch)>,
    /// Signatures as written, by fifths, with the labels of their bars.
    pub signatures: Vec<i8>,
    /// By how many fifths the part is written above concert pitch.
    pub written_above_concert: i32,
    /// Time signatures as fractions, in order, changes included (`4/4`, `6/8`).
    pub metres: Vec<String>,
    /// True if there is a compound metre.
    pub compound: bool,
    /// Most notes to a quarter note, tuplets aside.
    pub to_a_quarter: i64,
    /// Dotted rhythms by their names.
    pub dotted: Vec<String>,
    /// True if there are tuplets.
    pub tuplets: bool,
    /// Bars with syncopation.
    pub syncopated_bars: usize,
    /// Beats a minute at the marked tempo: slowest and fastest reading of the mark; `None` if nothing is marked.
    pub tempo: Option<(f64, f64)>,
    /// Bars.
    pub bars: usize,
    /// Largest leap in semitones.
    pub leap: Option<i32>,
    /// Notes altered from the signature.
    pub altered: usize,
    /// Dynamic levels and accents printed, each once.
    pub dynamics: Vec<String>,
    /// `slur` if there is one, and marks of articulation by their words, each once.
    pub articulation: Vec<String>,
}

impl Page {
    /// What a whole survey says. Questions that were not asked leave their fields empty.
    #[must_use]
    pub fn of(survey: &Survey, bars: usize) -> Self {
        let mut page = Self {
            bars,
            ..Self::default()
        };
        if let Some(range) = &survey.range {
            page.range = range
                .lowest
                .as_ref()
                .zip(range.highest.as_ref())
                .map(|(low, high)| (low.written, high.written));
            page.leap = range.leaps.iter().map(|leap| semitones(leap.from, leap.to)).max();
        }
        if let Some(key) = &survey.key {
            page.signatures = key
                .signatures
                .iter()
                .filter_map(|region| region.signature.fifths)
                .collect();
            page.written_above_concert = fifths_between(key.tonic, key.concert.tonic);
        }
        if let Some(metre) = &survey.metre {
            page.metres = metre
                .metres
                .iter()
                .map(|stretch| fraction(stretch.beats, stretch.beat_type))
                .collect();
            page.compound = metre
                .metres
                .iter()
                .any(|stretch| stretch.kind == MetreKind::Compound);
        }
        if let Some(rhythm) = &survey.rhythm {
            let shortest = rhythm
                .values
                .iter()
                .filter_map(|value| value.unit)
                .map(|unit| unit.value.quarters())
                .min();
            page.to_a_quarter = shortest.map_or(1, |length| length.den().max(1));
            page.dotted = rhythm.dotted.iter().map(|dotted| dotted.name.clone()).collect();
            page.tuplets = !rhythm.tuplets.is_empty();
            page.syncopated_bars = rhythm.syncopation.iter().filter(|bar| bar.strict > 0).count();
        }
        if let Some(tempo) = &survey.tempo {
            let tables = tempo
                .ranges
                .iter()
                .filter_map(|range| range.low.zip(range.high))
                .reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
            page.tempo = tempo
                .metronome
                .as_ref()
                .map(|mark| mark.beats_a_minute)
                .or(tables);
        }
        if let Some(accidentals) = &survey.accidentals {
            page.altered = accidentals.altered_notes;
        }
        if let Some(dynamics) = &survey.dynamics {
            for mark in &dynamics.marks {
                let plain = mark.plain().to_owned();
                if !page.dynamics.contains(&plain) {
                    page.dynamics.push(plain);
                }
            }
        }
        if let Some(articulation) = &survey.articulation {
            if articulation.slurs.count > 0 {
                page.articulation.push("slur".to_owned());
            }
            let marks = articulation.marks.iter().map(|mark| mark.mark.clone());
            page.articulation
                .extend(marks.filter(|mark| mark != "breath mark" && mark != "caesura"));
        }
        page
    }
}

fn fraction(beats: u16, beat_type: u16) -> String {
    format!("{beats}/{beat_type}")
}

fn semitones(a: Pitch, b: Pitch) -> i32 {
    (a.key_number() - b.key_number()).abs()
}

/// By how many fifths one tonic lies above the other.
fn fifths_between(written: (notation::Step, i8), concert: (notation::Step, i8)) -> i32 {
    let fifths = |(step, alter): (notation::Step, i8)| step.fifths() + 7 * i32::from(alter);
    fifths(written) - fifths(concert)
}

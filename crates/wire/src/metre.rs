//! Question 3 as JSON.

use crate::at::{At, Evidence, InBar, Places};
use schemars::JsonSchema;
use serde::Serialize;
use survey::metre::MetreAnswer;

/// A metre from its bar on, one for each time signature of the source.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Metre {
    /// Where it stands.
    #[serde(flatten)]
    pub at: At,
    /// The last bar in which it holds.
    pub to_bar: String,
    /// That bar counted from 0.
    pub to_bar_index: u32,
    /// The upper number, summed; 0 without measure.
    pub beats: u16,
    /// The lower number; 0 without measure.
    pub beat_type: u16,
    /// In numbers whatever the symbol: `4/4`, `3+2/8`, `2/4+3/8`, `senza misura`.
    pub fraction: String,
    /// How it is printed: `common`, `cut`, `single-number`, `note`, `none` (senza misura), else `normal`.
    pub symbol: String,
    /// As printed: `C`, `¢`, `6/8`.
    pub printed: String,
    /// `simple`, `compound`, `asymmetric` or `free`.
    pub kind: String,
    /// Duple, triple, quadruple …
    pub size: String,
    /// The note of the felt beat: `quarter`, `dotted quarter`.
    pub beat_unit: String,
    /// Beats felt in a bar.
    pub beats_felt: usize,
    /// Written beats in each group of an uneven metre; empty otherwise.
    pub groups: Vec<u16>,
    /// How to count it.
    pub how_to_count: String,
}

/// What the metre question found beside the metres.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct MetreMore {
    /// The pickup; null if the piece starts on the downbeat.
    pub anacrusis: Option<Anacrusis>,
    /// What is counted aloud before playing.
    pub count_in: String,
    /// Short bars that together make one.
    pub split_bars: Vec<Split>,
    /// Bars that don't add up.
    pub uneven_bars: Vec<Uneven>,
    /// The whole answer in one line.
    pub summary: String,
    /// Where to look.
    pub evidence: Vec<Evidence>,
}

/// The pickup.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Anacrusis {
    /// Its bar.
    #[serde(flatten)]
    pub bar: InBar,
    /// Its length in quarter notes.
    pub quarters: f64,
    /// Its length in felt beats.
    pub beats: f64,
    /// The count on which it enters.
    pub enters_on: String,
    /// Bars that complete it.
    pub completed_by: Vec<InBar>,
}

/// Short bars that together make one.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Split {
    /// Its first piece.
    pub first: InBar,
    /// Its last piece.
    pub last: InBar,
}

/// A bar that doesn't add up.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Uneven {
    /// The bar.
    #[serde(flatten)]
    pub bar: InBar,
    /// What is written, in quarter notes.
    pub quarters: f64,
    /// What the metre asks for, in quarter notes.
    pub asked: f64,
    /// A bar at least twice as long as asked: usually a cadenza.
    pub cadenza: bool,
}

fn symbol(metre: &notation::Metre) -> &'static str {
    use notation::MetreSymbol;
    match metre.symbol {
        MetreSymbol::Common => "common",
        MetreSymbol::Cut => "cut",
        MetreSymbol::SingleNumber => "single-number",
        MetreSymbol::Note => "note",
        MetreSymbol::Senza => "none",
        MetreSymbol::Numbers => "normal",
    }
}

pub(crate) fn metres(answer: &MetreAnswer, part: Option<&notation::Part>, places: Places) -> Vec<Metre> {
    part.map_or(&[][..], |part| &part.metres)
        .iter()
        .filter(|change| change.staff.is_none_or(|staff| staff == 1))
        .filter_map(|change| {
            let stretch = answer.at(change.place.bar)?;
            let (beats, beat_type) = common(&change.value);
            Some(Metre {
                at: places.at(change.place, Some(change.id)),
                to_bar: places.label(stretch.to),
                to_bar_index: stretch.to.0,
                beats,
                beat_type,
                fraction: change.value.fraction(),
                symbol: symbol(&change.value).to_owned(),
                printed: change.value.name(),
                kind: stretch.kind.word().to_owned(),
                size: stretch.size.to_owned(),
                beat_unit: stretch.feel().unit.name(),
                beats_felt: stretch.beats_felt(),
                groups: stretch
                    .grouping
                    .as_ref()
                    .map_or_else(Vec::new, |g| g.groups.clone()),
                how_to_count: stretch.how_to_count.clone(),
            })
        })
        .collect()
}

/// Upper and lower number, fractions added over the largest lower one (3/8 + 2/4 is 7/8); 0 without measure.
fn common(metre: &notation::Metre) -> (u16, u16) {
    let lower = metre.parts.iter().map(|part| part.beat_type).max().unwrap_or(0);
    let upper = metre.parts.iter().fold(0_u16, |sum, part| {
        let scale = lower.checked_div(part.beat_type).unwrap_or(1);
        sum.saturating_add(part.beats().saturating_mul(scale))
    });
    (upper, lower)
}

pub(crate) fn more(answer: &MetreAnswer, places: Places) -> MetreMore {
    MetreMore {
        anacrusis: answer.anacrusis.as_ref().map(|a| Anacrusis {
            bar: places.bar(a.bar),
            quarters: a.length.to_f64(),
            beats: a.beats.to_f64(),
            enters_on: a.enters_on.clone(),
            completed_by: places.bars(&a.complements),
        }),
        count_in: answer.count_in.clone(),
        split_bars: answer
            .splits
            .iter()
            .map(|s| Split {
                first: places.bar(s.first),
                last: places.bar(s.last),
            })
            .collect(),
        uneven_bars: answer
            .uneven
            .iter()
            .map(|u| Uneven {
                bar: places.bar(u.bar),
                quarters: u.written.to_f64(),
                asked: u.asked.to_f64(),
                cadenza: u.cadenza,
            })
            .collect(),
        summary: answer.summary.clone(),
        evidence: places.evidence(&answer.evidence),
    }
}

//! Where will it go wrong, as JSON? Ranked brackets with reasons and one suggestion each.

use super::Said;
use crate::at::InBar;
use schemars::JsonSchema;
use serde::Serialize;

/// A bracket of trouble, one to four bars.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct TroubleSpot {
    /// Label of its first bar.
    pub from_bar: String,
    /// That bar counted from 0.
    pub from_bar_index: u32,
    /// Label of its last bar.
    pub to_bar: String,
    /// That bar counted from 0.
    pub to_bar_index: u32,
    /// Why, the strongest reason first.
    pub reasons: Vec<String>,
    /// What to do about it.
    pub suggestion: String,
    /// True for the few to read slowly before anything else.
    pub slowly_first: bool,
    /// Other bars that are the same as one of these.
    pub also_bars: Vec<InBar>,
    /// The bar on whose downbeat practice of the bracket ends, since joins fail most; null at the end of the piece.
    pub into: Option<InBar>,
}

pub(super) fn spots(said: Said) -> Vec<TroubleSpot> {
    let places = said.places;
    said.study
        .spots
        .iter()
        .map(|spot| TroubleSpot {
            from_bar: places.label(spot.from),
            from_bar_index: spot.from.0,
            to_bar: places.label(spot.to),
            to_bar_index: spot.to.0,
            reasons: spot.reasons.clone(),
            suggestion: spot.suggestion.to_owned(),
            slowly_first: spot.slowly_first,
            also_bars: places.bars(&spot.also),
            into: said.next_downbeat(spot.to).map(|bar| places.bar(bar)),
        })
        .collect()
}

//! How is a place written? Bar as printed, bar by index, offset in quarter notes, element.

use crate::say::pitch_name;
use notation::{BarIndex, Id, Piece, Pitch, Place};
use schemars::JsonSchema;
use serde::Serialize;

/// A place on the page.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct At {
    /// The bar's printed label.
    pub bar: String,
    /// The bar counted from 0 in printed order: its identity, since labels can repeat.
    pub bar_index: u32,
    /// Quarter notes from the start of the bar.
    pub offset: f64,
    /// The element's id, where the statement is about one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub element: Option<String>,
}

/// A place on the page, with its beat.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct AtBeat {
    /// Where.
    #[serde(flatten)]
    pub at: At,
    /// The felt beat as it is counted aloud, from 1: 2 on the second beat, 2.5 half way through it. A pickup has the beats
    /// of the full bar that it ends. Where no beat is felt, quarter notes from 1.
    pub beat: f64,
}

/// A bar.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct InBar {
    /// The bar's printed label.
    pub bar: String,
    /// The bar counted from 0.
    pub bar_index: u32,
}

/// A written pitch and where it stands.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct NoteAt {
    /// The written pitch, like `Bb1`, `E#2`, `F##4`.
    pub written: String,
    /// Where.
    #[serde(flatten)]
    pub at: At,
}

/// Something seen, and where to look.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Evidence {
    /// What is seen there.
    pub text: String,
    /// The bar's printed label; absent for the piece as a whole.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bar: Option<String>,
    /// The bar counted from 0.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bar_index: Option<u32>,
    /// Quarter notes from the start of the bar.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub offset: Option<f64>,
    /// The element's id.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub element: Option<String>,
}

/// Looks labels up in the piece.
#[derive(Clone, Copy)]
pub(crate) struct Places<'a> {
    pub(crate) piece: &'a Piece,
}

impl Places<'_> {
    pub(crate) fn at(self, place: Place, element: Option<Id>) -> At {
        At {
            bar: self.label(place.bar),
            bar_index: place.bar.0,
            offset: place.offset.to_f64(),
            element: element.map(|id| id.to_string()),
        }
    }

    /// A place where something ends or acts at the end of a bar: the start of a bar is the end of the one before.
    pub(crate) fn closing(self, place: Place, element: Option<Id>) -> At {
        let before = place
            .bar
            .0
            .checked_sub(1)
            .filter(|_| place.offset.is_zero())
            .map(BarIndex);
        let Some((bar, written)) = before.and_then(|bar| Some((bar, self.piece.bars.get(bar.get())?))) else {
            return self.at(place, element);
        };
        self.at(
            Place {
                bar,
                offset: written.length,
            },
            element,
        )
    }

    pub(crate) fn bar(self, bar: BarIndex) -> InBar {
        InBar {
            bar: self.label(bar),
            bar_index: bar.0,
        }
    }

    pub(crate) fn bars(self, bars: &[BarIndex]) -> Vec<InBar> {
        bars.iter().map(|bar| self.bar(*bar)).collect()
    }

    pub(crate) fn label(self, bar: BarIndex) -> String {
        self.piece.label(bar).to_owned()
    }

    pub(crate) fn note(self, written: Pitch, place: Place, element: Id) -> NoteAt {
        NoteAt {
            written: pitch_name(written),
            at: self.at(place, Some(element)),
        }
    }

    pub(crate) fn evidence(self, evidence: &[survey::Evidence]) -> Vec<Evidence> {
        evidence
            .iter()
            .map(|one| Evidence {
                text: one.says.clone(),
                bar: one.place.map(|place| self.label(place.bar)),
                bar_index: one.place.map(|place| place.bar.0),
                offset: one.place.map(|place| place.offset.to_f64()),
                element: one.element.map(|id| id.to_string()),
            })
            .collect()
    }
}

//! What does the page ask of this player, as JSON? Everything of a study, beside the survey's own answers.

mod alike;
mod breath;
mod fingering;
mod ladder;
mod levels;
mod loads;
mod player;
mod spots;

#[cfg(feature = "whole")]
pub(crate) use player::PlayerSaid;

use crate::at::{AtBeat, Places};
use load::Study;
use notation::{BarIndex, Id, Place};
use schemars::JsonSchema;
use serde::Serialize;

/// What is there only where a player or an instrument was given.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct StudySaid {
    /// For whom: what everything below is measured against.
    pub player: player::PlayerSaid,
    /// How hard each bar is, with reasons; one for each bar, in order.
    pub load: Vec<loads::BarLoadSaid>,
    /// Where it will go wrong: brackets of one to four bars, the worst first.
    pub trouble_spots: Vec<spots::TroubleSpot>,
    /// Bars that are an earlier bar over again, in order.
    pub look_alikes: Vec<alike::LookAlikeSaid>,
    /// How much of the piece is new, its form, passages and figures that return.
    pub look_alikes_more: alike::LookAlikesMore,
    /// Where to breathe, at the first tempo and at the final one; empty for instruments that don't.
    pub breaths: Vec<breath::BreathSaid>,
    /// What is to be said about breathing as a whole.
    pub breaths_more: breath::BreathsMore,
    /// Bowing signs, where the player would not know; strings only.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bowings: Option<Vec<breath::Bowing>>,
    /// Where the bowings come from; strings only.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bowings_more: Option<breath::BowingsMore>,
    /// The fingering, position or valves of every note that has one, grace notes included, in order.
    pub fingering: Vec<fingering::FingeringSaid>,
    /// The chart, what is not known, trills, keys that stay down.
    pub fingering_more: fingering::FingeringMore,
    /// From the first tempo to the one to climb to; absent where there is no tempo to climb to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ladder: Option<ladder::LadderSaid>,
    /// How the piece stands in each published level table that is for the instrument. Tables disagree.
    pub levels: Vec<levels::LevelSaid>,
    /// The phrases of the line, in order: a proposal.
    pub phrases: Vec<breath::PhraseSaid>,
}

#[cfg(feature = "whole")]
/// For whom a study is.
pub(crate) fn player_of(study: &Study) -> PlayerSaid {
    player::player(&study.player)
}

/// Says places with their beats.
#[derive(Clone, Copy)]
struct Said<'a> {
    places: Places<'a>,
    study: &'a Study,
}

impl Said<'_> {
    fn beat(self, place: Place) -> f64 {
        let grid = self.study.grids.get(place.bar.get());
        grid.map_or_else(
            || 1.0 + place.offset.to_f64(),
            |grid| grid.said_beat(place.offset),
        )
    }

    fn at(self, place: Place, element: Option<Id>) -> AtBeat {
        AtBeat {
            at: self.places.at(place, element),
            beat: self.beat(place),
        }
    }

    /// The bar of the next downbeat after a bar: the second half of a split bar has none.
    fn next_downbeat(self, after: BarIndex) -> Option<BarIndex> {
        (after.get() + 1..self.places.piece.bars.len())
            .find(|bar| {
                let grid = self.study.grids.get(*bar);
                grid.is_none_or(|grid| grid.lead.is_zero())
            })
            .map(BarIndex::from_usize)
    }
}

pub(crate) fn study(study: &Study, part: Option<&notation::Part>, places: Places) -> StudySaid {
    let said = Said { places, study };
    let line = part.map_or_else(Vec::new, |part| notation::line(places.piece, part));
    let notes = breath::Notes {
        part,
        line: &line,
        said,
    };
    StudySaid {
        player: player::player(&study.player),
        load: loads::loads(said),
        trouble_spots: spots::spots(said),
        look_alikes: alike::look_alikes(said),
        look_alikes_more: alike::more(said),
        breaths: breath::breaths(&notes),
        breaths_more: breath::more(&study.breath),
        bowings: breath::bowings(&notes),
        bowings_more: breath::bowings_more(&study.breath),
        fingering: fingering::entries(said),
        fingering_more: fingering::more(said),
        ladder: ladder::ladder(study),
        levels: levels::levels(&study.levels),
        phrases: breath::phrases(said),
    }
}

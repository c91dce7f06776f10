//! What has to be decided before a part can sound? Speed, range, repeats, period: the page first, then these.

use super::beats::BarBeats;
use crate::ornament::{Choice, Period};
use crate::road::RoadOptions;
use notation::{BarIndex, Id, KeyRegion, Quarters, Rational};
use std::collections::BTreeMap;

/// What the page does not say, and what the player wants.
#[derive(Clone, PartialEq, Debug)]
pub struct PlayOptions {
    /// Whose rules ornaments and note lengths follow.
    pub period: Period,
    /// What the teacher has chosen, by the event that carries the ornament (of grace notes: the first of the group).
    pub choices: BTreeMap<Id, Choice>,
    /// The keys found, for the notes of ornaments and a drone that follows.
    pub keys: Vec<KeyRegion>,
    /// The beats as they are felt, by bar; a bar without an entry is beaten by its metre.
    pub beats: Vec<BarBeats>,
    /// How fast.
    pub tempo: PlayTempo,
    /// The tempo table by which words are read, by its name; `None`: the first table that lists the word.
    pub table: Option<String>,
    /// Beats a minute where nothing on the page or in the file gives a speed.
    pub unmarked: Rational,
    /// First and last written bar to play; `None`: all.
    pub bars: Option<(BarIndex, BarIndex)>,
    /// Whether repeats are taken.
    pub repeats: Repeats,
    /// What the road map leaves open.
    pub road: RoadOptions,
    /// How often the range is played.
    pub times: u32,
    /// Bars of count-in; before a pickup the missing beats come on top.
    pub count_in: u32,
    /// Count in again before each time round.
    pub count_in_again: bool,
    /// Semitones added to the sounding pitch.
    pub transpose: Rational,
}

impl Default for PlayOptions {
    fn default() -> Self {
        Self {
            period: Period::default(),
            choices: BTreeMap::new(),
            keys: Vec::new(),
            beats: Vec::new(),
            tempo: PlayTempo::Written,
            table: None,
            unmarked: Rational::whole(92),
            bars: None,
            repeats: Repeats::Taken,
            road: RoadOptions::default(),
            times: 1,
            count_in: 0,
            count_in_again: false,
            transpose: Rational::ZERO,
        }
    }
}

/// How fast, beside what is written; held between a twentieth and twenty times of it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum PlayTempo {
    /// As written.
    Written,
    /// So many hundredths of the written speed, changes of tempo in proportion.
    Percent(Rational),
    /// The passage begins at so many of a note a minute; changes of tempo in proportion.
    Starts {
        /// The note, in quarter notes.
        note: Quarters,
        /// How many a minute.
        per_minute: Rational,
    },
}

/// Whether repeats are taken.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Repeats {
    /// As the road map says.
    #[default]
    Taken,
    /// Straight through, each bar once, last endings only: for practising a passage.
    StraightThrough,
}

//! How long is there to look, and how far does the routine come in that time?
//!
//! In an audition there is half a minute or a whole one. The order is that of the study card (`crates/sheet/src/card/order.rs`, held
//! against nine published routines there); what the card has no seconds for comes after it.

use super::Look;
use survey::Question;

/// How long there is to look.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Time {
    /// Half a minute.
    Thirty,
    /// A minute.
    #[default]
    Sixty,
    /// As long as she likes.
    Free,
}

const KEY: Look = Look::Asked(Question::Key);
const METRE: Look = Look::Asked(Question::Metre);
const TEMPO: Look = Look::Asked(Question::Tempo);
const ACCIDENTALS: Look = Look::Asked(Question::Accidentals);
const RHYTHM: Look = Look::Asked(Question::Rhythm);
const ROAD_MAP: Look = Look::Asked(Question::RoadMap);
const DYNAMICS: Look = Look::Asked(Question::Dynamics);
const CLEFS: Look = Look::Asked(Question::Clefs);
const RANGE: Look = Look::Asked(Question::Range);
const TERMS: Look = Look::Asked(Question::Terms);
const ARTICULATION: Look = Look::Asked(Question::Articulation);
const ORNAMENTS: Look = Look::Asked(Question::Ornaments);

/// Half a minute: what a wrong reading would spoil from the first bar on, and the hardest place; then the rest.
const THIRTY: [Look; 14] = [
    KEY,
    METRE,
    TEMPO,
    Look::Hardest,
    ACCIDENTALS,
    RHYTHM,
    ROAD_MAP,
    DYNAMICS,
    CLEFS,
    RANGE,
    TERMS,
    ARTICULATION,
    ORNAMENTS,
    Look::Returns,
];
/// A minute, or as long as she likes.
const SIXTY: [Look; 14] = [
    KEY,
    METRE,
    TEMPO,
    ACCIDENTALS,
    RHYTHM,
    Look::Hardest,
    ROAD_MAP,
    DYNAMICS,
    CLEFS,
    RANGE,
    TERMS,
    ARTICULATION,
    ORNAMENTS,
    Look::Returns,
];

impl Time {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Thirty, Self::Sixty, Self::Free];

    /// In seconds; `None` without a clock.
    #[must_use]
    pub const fn seconds(self) -> Option<u16> {
        match self {
            Self::Thirty => Some(30),
            Self::Sixty => Some(60),
            Self::Free => None,
        }
    }

    /// The name in JSON and in addresses.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Thirty => "30",
            Self::Sixty => "60",
            Self::Free => "free",
        }
    }

    /// The time of a name.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|time| time.id() == id)
    }

    /// Everything that is looked at, in order.
    #[must_use]
    pub const fn order(self) -> &'static [Look] {
        match self {
            Self::Thirty => &THIRTY,
            Self::Sixty | Self::Free => &SIXTY,
        }
    }

    /// What the routine comes to in the time: what is left out after that is no fault of hers.
    #[must_use]
    pub const fn reached(self) -> &'static [Look] {
        match self {
            Self::Thirty => THIRTY.split_at(4).0,
            Self::Sixty => SIXTY.split_at(8).0,
            Self::Free => &SIXTY,
        }
    }
}

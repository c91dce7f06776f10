//! What kinds of drill are there?

/// A kind of drill. The plan asks for drills by kind and bars; what stands in each is made in this module.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum DrillKind {
    /// Scales of the piece's key regions over the player's range, in its rhythms and articulation.
    Scale,
    /// Arpeggios of the same.
    Arpeggio,
    /// A run as dotted pairs.
    Dotted,
    /// A run as reversed dotted pairs.
    ReverseDotted,
    /// A run regrouped in triplets.
    Triplets,
    /// A run in groups with a stop after each.
    GroupsWithStops,
    /// One more note each time, from the first.
    AddFromStart,
    /// One more note each time, from the last.
    AddFromEnd,
    /// Without the ornaments.
    WithoutOrnaments,
    /// Without the slurs.
    WithoutSlurs,
    /// The tonguing alone, on one note.
    TongueOnly,
    /// The rhythm alone, on one pitch.
    RhythmOnly,
    /// Leaps filled in by step.
    LeapsFilled,
    /// Two fingerings of one note in turn.
    FingeringTrill,
    /// Slurs over the register break.
    RegisterSlurs,
    /// At half speed, in the written metre.
    HalfSpeed,
    /// The figure through other keys.
    ThroughKeys,
    /// Look-alike bars one after the other.
    LookAlikes,
}

impl DrillKind {
    /// All of them.
    pub const ALL: [Self; 18] = [
        Self::Scale,
        Self::Arpeggio,
        Self::Dotted,
        Self::ReverseDotted,
        Self::Triplets,
        Self::GroupsWithStops,
        Self::AddFromStart,
        Self::AddFromEnd,
        Self::WithoutOrnaments,
        Self::WithoutSlurs,
        Self::TongueOnly,
        Self::RhythmOnly,
        Self::LeapsFilled,
        Self::FingeringTrill,
        Self::RegisterSlurs,
        Self::HalfSpeed,
        Self::ThroughKeys,
        Self::LookAlikes,
    ];

    /// The name in options and JSON.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Scale => "scale",
            Self::Arpeggio => "arpeggio",
            Self::Dotted => "dotted",
            Self::ReverseDotted => "reverse-dotted",
            Self::Triplets => "triplets",
            Self::GroupsWithStops => "groups-with-stops",
            Self::AddFromStart => "add-from-start",
            Self::AddFromEnd => "add-from-end",
            Self::WithoutOrnaments => "without-ornaments",
            Self::WithoutSlurs => "without-slurs",
            Self::TongueOnly => "tongue-only",
            Self::RhythmOnly => "rhythm-only",
            Self::LeapsFilled => "leaps-filled",
            Self::FingeringTrill => "fingering-trill",
            Self::RegisterSlurs => "register-slurs",
            Self::HalfSpeed => "half-speed",
            Self::ThroughKeys => "through-keys",
            Self::LookAlikes => "look-alikes",
        }
    }

    /// The kind with a name.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.id() == id)
    }

    /// In words, as a heading says it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Scale => "scale",
            Self::Arpeggio => "arpeggio",
            Self::Dotted => "in dotted rhythm",
            Self::ReverseDotted => "in reversed dotted rhythm",
            Self::Triplets => "regrouped in threes",
            Self::GroupsWithStops => "in groups with stops",
            Self::AddFromStart => "one note more each time",
            Self::AddFromEnd => "one note more each time, from the end",
            Self::WithoutOrnaments => "without the ornaments",
            Self::WithoutSlurs => "without the slurs",
            Self::TongueOnly => "the attacks alone, on one note",
            Self::RhythmOnly => "the rhythm alone, on one pitch",
            Self::LeapsFilled => "leaps filled in by step",
            Self::FingeringTrill => "to and fro between two notes",
            Self::RegisterSlurs => "slurs from register to register",
            Self::HalfSpeed => "at half speed",
            Self::ThroughKeys => "the figure through the keys",
            Self::LookAlikes => "two that look alike, back to back",
        }
    }
}

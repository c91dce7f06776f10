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

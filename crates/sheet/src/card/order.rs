//! In what order does a player look in an audition's study minute? As most routines that teachers have published have it.
//!
//! Each routine is noted as the order in which it names our topics; topics named in one breath stand together. A test holds
//! our order against every pair on which the routines speak.

/// What is looked at, in our order.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Look {
    /// The key, and where it is proved.
    Key,
    /// The metre, and how to count.
    Metre,
    /// The tempo to start at.
    Tempo,
    /// The first accidental, rhythm or change that trips.
    Trap,
    /// The hardest bar, fingered silently.
    Hardest,
    /// Repeats and jumps.
    RoadMap,
    /// Loud and soft.
    Dynamics,
    /// Back to the first bar.
    Last,
}

impl Look {
    /// What stands before the finding.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Key => "Key",
            Self::Metre => "Metre and count",
            Self::Tempo => "Tempo",
            Self::Trap => "First trap",
            Self::Hardest => "Hardest place",
            Self::RoadMap => "Road map",
            Self::Dynamics => "Dynamics",
            Self::Last => "Last look",
        }
    }

    /// What to do there, with an instrument or with the voice alone.
    #[must_use]
    pub const fn doing(self, sung: bool) -> &'static str {
        match self {
            Self::Key if sung => "hear its scale",
            Self::Hardest if sung => "hear it inside, slowly",
            Self::Key => "finger its scale",
            Self::Metre => "count a bar inside",
            Self::Tempo => "let it run inside",
            Self::Trap => "say to yourself what comes",
            Self::Hardest => "finger it without a sound, slowly",
            Self::RoadMap => "follow it with the eyes",
            Self::Dynamics => "hear them inside",
            Self::Last => "hear the first note, breathe, and then go on whatever happens",
        }
    }
}

/// A published routine: its source, and its topics in its order, those named together in one group.
pub struct Routine {
    /// Where it is published.
    pub source: &'static str,
    /// Its order.
    pub order: &'static [&'static [Look]],
}

use Look::{Dynamics, Hardest, Key, Metre, RoadMap, Tempo, Trap};

/// Routines of school band directors, youth orchestras, an academy and studio teachers, as read. One of them chooses the
/// tempo after looking at the hardest place; here the tempo that is given was chosen by it already.
pub const ROUTINES: [Routine; 9] = [
    Routine {
        source: "T. Elmer, sight-reading organizer, Naperville community school district 203, 2000",
        order: &[&[Key], &[Metre, Tempo], &[Trap], &[Dynamics, RoadMap]],
    },
    Routine {
        source: "D. Granlie, sight reading tips, bandmasters.net",
        order: &[&[Key], &[Metre, Tempo], &[Trap], &[RoadMap], &[Dynamics]],
    },
    Routine {
        source: "C. Murff, sight reading, Spartanburg district 5",
        order: &[&[Key], &[Metre, Tempo], &[Trap], &[Dynamics, RoadMap]],
    },
    Routine {
        source: "Versluis, steps for sight reading, gcsdstaff.org",
        order: &[&[Key], &[Metre, Tempo], &[Trap], &[Dynamics]],
    },
    Routine {
        source: "Virginia Academy of Music, advanced sight reading",
        order: &[&[Key], &[Metre], &[Tempo]],
    },
    Routine {
        source: "lisaflute.com, sight-reading tips for an audition, 2011",
        order: &[&[Key], &[Metre], &[Trap], &[Hardest], &[Dynamics]],
    },
    Routine {
        source: "E. Erenberg, sight-read in five steps, 2018",
        order: &[&[Key], &[Metre], &[Hardest], &[Tempo]],
    },
    Routine {
        source: "Wisconsin Youth Symphony Orchestras, sight-reading at auditions",
        order: &[&[Key], &[Trap], &[Metre], &[Tempo]],
    },
    Routine {
        source: "A sight-reading checklist, bahrainmusic.com.bh",
        order: &[&[Metre], &[Key], &[Trap], &[Dynamics], &[Tempo]],
    },
];

/// How the seconds are shared out: judgement, the longest for the hardest place; the order is [`ROUTINES`]'.
pub(super) const SIXTY: [(Look, u16); 8] = [
    (Key, 8),
    (Metre, 7),
    (Tempo, 5),
    (Trap, 9),
    (Hardest, 14),
    (RoadMap, 6),
    (Dynamics, 5),
    (Look::Last, 6),
];
/// The same for half a minute: what a wrong reading would spoil from the first bar on, and the hardest place.
pub(super) const THIRTY: [(Look, u16); 5] =
    [(Key, 6), (Metre, 5), (Tempo, 4), (Hardest, 10), (Look::Last, 5)];

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Look; 7] = [Key, Metre, Tempo, Trap, Hardest, RoadMap, Dynamics];

    /// How many routines name one before the other.
    fn before(one: Look, other: Look) -> usize {
        let at = |routine: &Routine, look: Look| routine.order.iter().position(|group| group.contains(&look));
        let named = |routine: &&Routine| {
            at(routine, one)
                .zip(at(routine, other))
                .is_some_and(|(a, b)| a < b)
        };
        ROUTINES.iter().filter(named).count()
    }

    /// Source: the routines named above. Our order goes against no pair on which two routines more agree.
    #[test]
    fn the_order_is_that_of_most_routines() {
        for (index, one) in ALL.iter().enumerate() {
            for other in &ALL[index + 1..] {
                let (ours, theirs) = (before(*one, *other), before(*other, *one));
                assert!(theirs < ours + 2, "{one:?} {ours} before {other:?} {theirs}");
            }
        }
        assert!(before(Key, Metre) > 6 && before(Metre, Key) == 1);
        assert!(before(Metre, Trap) >= 6 && before(Trap, Dynamics) >= 4);
        // The only routine that speaks of both puts the tempo after the hardest place.
        assert_eq!((before(Tempo, Hardest), before(Hardest, Tempo)), (0, 1));
    }

    #[test]
    fn the_seconds_add_up_and_the_order_is_ours() {
        let sum = |plan: &[(Look, u16)]| plan.iter().map(|(_, seconds)| seconds).sum::<u16>();
        assert_eq!((sum(&SIXTY), sum(&THIRTY)), (60, 30));
        for plan in [&SIXTY[..], &THIRTY[..]] {
            assert!(plan.is_sorted_by_key(|(look, _)| *look));
        }
    }
}

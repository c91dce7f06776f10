//! What does a teacher say with a drill? What it is for, when to stop, how often at most, what to mind.
//!
//! Caps and rests by their sources; the rest is common practice of studio teaching.

use super::DrillKind;
use instruments::Family;

/// Where the cap on repetitions and the rest for brass players were read.
pub const CAPS_SOURCE: &str =
    "lib.msu.edu (musicians' health: at most six repetitions; brass players rest as long as they play)";
/// At most so many times in one sitting. Source: [`CAPS_SOURCE`].
pub(crate) const MOST_TIMES: u8 = 6;
/// Pairs that look alike and drills that are long in themselves: fewer. Judgement under [`MOST_TIMES`].
const FEW_TIMES: u8 = 3;

/// How often at most in one sitting.
pub(crate) const fn at_most(kind: DrillKind) -> u8 {
    match kind {
        DrillKind::Scale
        | DrillKind::Arpeggio
        | DrillKind::ThroughKeys
        | DrillKind::AddFromStart
        | DrillKind::AddFromEnd => 2,
        DrillKind::RegisterSlurs | DrillKind::FingeringTrill | DrillKind::TongueOnly => FEW_TIMES,
        _ => MOST_TIMES,
    }
}

/// What a drill is for.
pub(crate) const fn what_for(kind: DrillKind, family: Option<Family>, slide: bool) -> &'static str {
    match kind {
        DrillKind::FingeringTrill if slide => {
            "So that the slide goes straight to its place and stops there, and the air goes on."
        }
        DrillKind::Scale => "So that the key lies in ear and hand before the piece is read.",
        DrillKind::Arpeggio => "So that the chord's leaps are heard before they are played.",
        DrillKind::Dotted => {
            "So that the fingers move at once and early: every second change is quick, between two rests of the hand."
        }
        DrillKind::ReverseDotted => {
            "So that the other half of the changes becomes quick as well: play it after the dotted form."
        }
        DrillKind::Triplets => "So that no finger leans on the usual beat: the accents fall on other notes.",
        DrillKind::GroupsWithStops => {
            "So that each beat is played at tempo in one thought, and the next is ready in the mind before it sounds."
        }
        DrillKind::AddFromStart => "So that the passage grows from what is already sure.",
        DrillKind::AddFromEnd => {
            "So that you always play towards what you know best: the end is sure before the beginning is tried."
        }
        DrillKind::WithoutOrnaments => {
            "So that pulse and line are sure before the ornaments come back; they must then fit in without moving a beat."
        }
        DrillKind::WithoutSlurs if slide => {
            "So that the slide is there when the tongue begins; then the slurs come back."
        }
        DrillKind::WithoutSlurs => match family {
            Some(Family::String | Family::Plucked) => {
                "So that every change of finger is heard by itself; then the slurs come back."
            }
            _ => "So that every note begins with the fingers already there; then the slurs come back.",
        },
        DrillKind::TongueOnly => match family {
            Some(Family::String) => {
                "So that the right hand learns its strokes alone, while the left has nothing to do."
            }
            _ => "So that the tongue learns its pattern alone, light and even, while the fingers rest.",
        },
        DrillKind::RhythmOnly => {
            "So that the rhythm is sure before the notes are added: count aloud, clap it, then play it."
        }
        DrillKind::LeapsFilled => {
            "So that the far note is heard before it is played: walk there by step, then leap."
        }
        DrillKind::FingeringTrill => {
            "So that the change of fingers is even both ways: all fingers of a move go down or up together."
        }
        DrillKind::RegisterSlurs => match family {
            Some(Family::Brass) => {
                "So that the slots are found by air and ear: the lips move as little as they can."
            }
            _ => "So that the air carries over the break and the fingers only follow.",
        },
        DrillKind::HalfSpeed => {
            "So that there is time to hear and to see each note before it comes. Every value is written twice as long."
        }
        DrillKind::ThroughKeys => {
            "So that the hand knows the figure and not only its notes; the written key is easy afterwards."
        }
        DrillKind::LookAlikes => "So that the eye looks for what differs before the fingers run on.",
    }
}

/// When to stop. Source of "three times": common practice; a spot is left when it is right three times in a row.
pub(crate) const fn when_to_stop(kind: DrillKind) -> &'static str {
    match kind {
        DrillKind::Scale | DrillKind::Arpeggio => {
            "When it is even and in tune once up and down without a second thought; then go on to the piece."
        }
        DrillKind::Dotted | DrillKind::ReverseDotted | DrillKind::Triplets | DrillKind::GroupsWithStops => {
            "When it is clean three times in a row at this tempo; then once as written, slowly."
        }
        DrillKind::AddFromStart | DrillKind::AddFromEnd => {
            "Go on to the next step when one is clean twice; if one is not after four tries, go two steps back and leave it there for today."
        }
        DrillKind::WithoutOrnaments => {
            "When the beat holds three times in a row; then put one ornament back at a time."
        }
        DrillKind::WithoutSlurs => "When it is clean three times in a row; then as written.",
        DrillKind::TongueOnly => {
            "As soon as it gets heavy or uneven, at the latest after three times. Speed comes back the next day, not now."
        }
        DrillKind::RhythmOnly => {
            "When you can count it aloud and play it three times in a row; then with the notes."
        }
        DrillKind::LeapsFilled => "When the leap alone is right three times in a row without the steps.",
        DrillKind::FingeringTrill => "When it is even for one line; at once when the hand gets tight.",
        DrillKind::RegisterSlurs => "When three slurs in a row speak without a bump or a gap.",
        DrillKind::HalfSpeed => {
            "When it is clean three times in a row; then one mark faster, as the ladder says."
        }
        DrillKind::ThroughKeys => "After four keys a day; begin the next day where you stopped.",
        DrillKind::LookAlikes => {
            "When you can say aloud what differs and play both right three times in turn."
        }
    }
}

/// What everybody minds. Source: Playing-related pain means stop: common practice of performing-arts medicine; ask a teacher
/// and, if it stays, a physician.
pub(crate) const PAIN: &str =
    "Stop at once if anything hurts; if it comes back, ask your teacher and a physician.";
/// Source: lib.msu.edu (brass: rest as much as you play).
pub(crate) const BRASS: &str = "Rest as long as you have played before the next time.";
const TONGUE: &str = "Keep the tongue light: a tired tongue gets slow, and forcing it makes it stiff.";
const HAND: &str = "Shake the hands out between times: quick to-and-fro strains them.";
const HIGH: &str = "High notes tire the lips: not more than a few times, and never at the end of a long day.";

/// What to mind, most important first.
pub(crate) fn cautions(kind: DrillKind, family: Option<Family>) -> Vec<&'static str> {
    let mut all = vec![PAIN];
    if family == Some(Family::Brass) && kind != DrillKind::RhythmOnly {
        all.push(BRASS);
    }
    let blown = family.is_some_and(Family::is_wind);
    match kind {
        DrillKind::TongueOnly if blown => all.push(TONGUE),
        DrillKind::FingeringTrill | DrillKind::Triplets | DrillKind::Dotted | DrillKind::ReverseDotted => {
            all.push(HAND)
        }
        DrillKind::Scale | DrillKind::Arpeggio | DrillKind::ThroughKeys | DrillKind::RegisterSlurs
            if blown && family != Some(Family::Flute) =>
        {
            all.push(HIGH);
        }
        _ => {}
    }
    all
}

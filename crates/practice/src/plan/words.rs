//! What does a turn say? What to do and when to stop, in a teacher's words. Common practice throughout, where nothing else is said.

use super::turn::TurnKind;
use crate::drill::DrillKind;

/// What to do and when to stop, for turns that are about no drill.
pub(super) const fn turn(kind: TurnKind, visit: usize) -> (&'static str, &'static str) {
    match kind {
        TurnKind::WarmUp => (
            "long tones first, softly; then the scale slowly, slurred and tongued, even from note to note",
            "when the sound is free",
        ),
        TurnKind::Look => (
            "without the instrument: key, metre, repeats, the highest note, the bar with most accidentals; hum the first line",
            "when you could tell somebody how it goes",
        ),
        TurnKind::Read => (
            "count a bar, then play slowly without stopping, on into the next downbeat; mark what surprised you, and read it once more",
            "after the second reading, right or not",
        ),
        TurnKind::Spot => (
            "slowly, from the bar before into the next downbeat",
            "after three right in a row",
        ),
        TurnKind::Climb => match visit {
            0 => (
                "slow ones first, then the faster one once, whatever happens; on into the next downbeat",
                "when it tires, or goes wrong twice",
            ),
            _ => (
                "again, after other things: see what has stayed",
                "after as many tries as are marked",
            ),
        },
        TurnKind::Keep => (
            "slow ones first, none left out; then once at tempo, where it is marked; on into the next downbeat",
            "after that, whatever happened",
        ),
        TurnKind::Chain => (
            "begin here and play to the end of the stretch, always into what you know",
            "at the end, once",
        ),
        TurnKind::LookAlikes => (
            "one after the other, and say aloud what differs",
            "when you could start either from its first note",
        ),
        TurnKind::RunThrough => (
            "without stopping, mistakes and all; afterwards mark three places, no more",
            "at the end: nothing is repaired now",
        ),
        TurnKind::Mock => (
            "as on the day: walk in, bow, one start, no second try; have somebody listen, or record it",
            "at the end; write down what to keep and one thing to change",
        ),
        TurnKind::SightReading => (
            "something you have never seen, easier than what you are learning: half a minute to look, then once through without stopping",
            "at its end, once",
        ),
        TurnKind::Mental => (
            "without the instrument: hear it, feel the fingers, breathe where you will breathe",
            "when the picture blurs",
        ),
        TurnKind::Sing => (
            "sing it on note names or la, beating time; or listen to a good recording with the page",
            "when it sings by itself",
        ),
        TurnKind::Silent => (
            "without a sound: finger it in rhythm, and hear it",
            "when the fingers are together",
        ),
        TurnKind::Rest => ("put the instrument down", ""),
    }
}

/// What to do and when to stop by a drill, where the drill itself doesn't say.
pub(super) const fn drill(kind: DrillKind) -> (&'static str, &'static str) {
    const IN_A_ROW: &str = "after three right in a row";
    const AS_WRITTEN: &str = "when it goes as written again";
    match kind {
        DrillKind::Scale => ("the scale of these bars, in their rhythm", "when it is even"),
        DrillKind::Arpeggio => ("the arpeggio of these bars, in their rhythm", "when it is even"),
        DrillKind::Dotted => ("in dotted pairs, long–short", "once right; then as written"),
        DrillKind::ReverseDotted => ("in dotted pairs, short–long", "once right; then as written"),
        DrillKind::Triplets => ("grouped in threes", "once right; then as written"),
        DrillKind::GroupsWithStops => (
            "group by group, with a stop on the first note of the next",
            IN_A_ROW,
        ),
        DrillKind::AddFromStart => (
            "one more note each time, from the first",
            "when the last note is in",
        ),
        DrillKind::AddFromEnd => (
            "one more note each time, from the last",
            "when the first note is in",
        ),
        DrillKind::WithoutOrnaments => ("without the ornaments, in time", AS_WRITTEN),
        DrillKind::WithoutSlurs => ("every note tongued", AS_WRITTEN),
        DrillKind::TongueOnly => ("the tonguing alone, on one note", IN_A_ROW),
        DrillKind::RhythmOnly => ("count and clap it, then on one note", IN_A_ROW),
        DrillKind::LeapsFilled => ("leaps filled in by step, then as written", IN_A_ROW),
        DrillKind::FingeringTrill => (
            "its two hardest notes to and fro, slowly",
            "when the fingers are together",
        ),
        DrillKind::RegisterSlurs => (
            "slurred over the break, air first",
            "when both notes speak at once",
        ),
        DrillKind::HalfSpeed => ("at half speed, with everything that is printed", IN_A_ROW),
        DrillKind::ThroughKeys => ("the figure through other keys, by ear", "after three keys"),
        DrillKind::LookAlikes => turn(TurnKind::LookAlikes, 0),
    }
}

/// Ways that fit any passage, in the order in which they are taken where no drill is offered.
pub(super) const ANY_DRILL: [DrillKind; 5] = [
    DrillKind::AddFromEnd,
    DrillKind::RhythmOnly,
    DrillKind::GroupsWithStops,
    DrillKind::AddFromStart,
    DrillKind::HalfSpeed,
];

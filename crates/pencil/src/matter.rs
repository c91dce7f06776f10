//! What can be marked? One name for each matter that a teacher can want, leave out, or give another sign.

use notation::PencilSign;

/// What a mark is about.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Matter {
    /// Where it will go wrong.
    HardSpots,
    /// Passages that are repeated.
    Repeats,
    /// Leaps of the eye: D.C., D.S., coda, a long first ending.
    Jumps,
    /// The last beats before a leap that comes late and is forgotten.
    LookAhead,
    /// A new key signature.
    KeyChanges,
    /// A new metre.
    MetreChanges,
    /// A new clef.
    ClefChanges,
    /// Another tempo.
    TempoChanges,
    /// Notes altered without a sign of their own, and the first of each altered kind.
    AlteredNotes,
    /// One letter in two forms close together.
    TwoForms,
    /// Spellings that hide another note.
    Enharmonics,
    /// Accidentals that a reader would miss.
    Courtesies,
    /// The beats over a rhythm that is hard to keep in.
    Beats,
    /// The count under a rhythm.
    Counts,
    /// Breaths for the final tempo.
    Breaths,
    /// Breaths for slow practice only.
    SlowBreaths,
    /// Fingerings other than the usual ones.
    Fingerings,
    /// Bars that are another bar, or nearly.
    LookAlikes,
    /// Ornaments written out in small notes: only on request.
    Ornaments,
}

use PencilSign as Sign;

impl Matter {
    /// All of them, in the order in which a legend tells them.
    pub const ALL: [Self; 19] = [
        Self::HardSpots,
        Self::Repeats,
        Self::Jumps,
        Self::LookAhead,
        Self::KeyChanges,
        Self::MetreChanges,
        Self::ClefChanges,
        Self::TempoChanges,
        Self::AlteredNotes,
        Self::TwoForms,
        Self::Enharmonics,
        Self::Courtesies,
        Self::Beats,
        Self::Counts,
        Self::Breaths,
        Self::SlowBreaths,
        Self::Fingerings,
        Self::LookAlikes,
        Self::Ornaments,
    ];

    /// Its name in a legend file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::HardSpots => "hard-spots",
            Self::Repeats => "repeats",
            Self::Jumps => "jumps",
            Self::LookAhead => "look-ahead",
            Self::KeyChanges => "key-changes",
            Self::MetreChanges => "metre-changes",
            Self::ClefChanges => "clef-changes",
            Self::TempoChanges => "tempo-changes",
            Self::AlteredNotes => "altered-notes",
            Self::TwoForms => "two-forms",
            Self::Enharmonics => "enharmonics",
            Self::Courtesies => "courtesy-accidentals",
            Self::Beats => "beats",
            Self::Counts => "counts",
            Self::Breaths => "breaths",
            Self::SlowBreaths => "slow-breaths",
            Self::Fingerings => "fingerings",
            Self::LookAlikes => "look-alikes",
            Self::Ornaments => "ornaments",
        }
    }

    /// The matter of a name; spaces, underscores and case don't matter.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        let name = name.trim().to_lowercase().replace(['_', ' '], "-");
        Self::ALL.into_iter().find(|matter| matter.name() == name)
    }

    /// The signs that can say it, the usual one first.
    #[must_use]
    pub const fn signs(self) -> &'static [PencilSign] {
        match self {
            Self::HardSpots => &[Sign::SpotBracket, Sign::RepeatHook, Sign::Eyeglasses, Sign::Words],
            Self::Repeats => &[Sign::RepeatHook, Sign::SpotBracket, Sign::Eyeglasses, Sign::Words],
            Self::Jumps => &[Sign::JumpArrow, Sign::Eyeglasses, Sign::Words],
            Self::LookAhead
            | Self::KeyChanges
            | Self::MetreChanges
            | Self::ClefChanges
            | Self::TempoChanges => &[Sign::Eyeglasses, Sign::Words],
            Self::AlteredNotes | Self::TwoForms | Self::Enharmonics => {
                &[Sign::Circle, Sign::Courtesy, Sign::Words]
            }
            Self::Courtesies => &[Sign::Courtesy, Sign::Circle],
            Self::Beats => &[Sign::BeatStrokes, Sign::Counts],
            Self::Counts => &[Sign::Counts, Sign::BeatStrokes],
            Self::Breaths => &[Sign::Breath],
            Self::SlowBreaths => &[Sign::SlowBreath, Sign::Breath],
            Self::Fingerings => &[Sign::Fingering, Sign::FingeringDiagram],
            Self::LookAlikes => &[Sign::LookAlike, Sign::Words],
            Self::Ornaments => &[Sign::SmallNotes],
        }
    }

    /// What its sign means, said in a legend unless the teacher has words of her own.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::HardSpots => "a hard spot: work it out slowly before you play",
            Self::Repeats => "from here to here again",
            Self::Jumps => "go on at this bar",
            Self::LookAhead => "the jump is coming",
            Self::KeyChanges => "a new key signature",
            Self::MetreChanges => "a new metre",
            Self::ClefChanges => "a new clef",
            Self::TempoChanges => "another tempo",
            Self::AlteredNotes => "altered, and easily missed",
            Self::TwoForms => "the same letter in another form just before",
            Self::Enharmonics => "spelled in an unusual way: it is this note",
            Self::Courtesies => "a reminder: the note is so",
            Self::Beats => "here are the beats",
            Self::Counts => "count it so",
            Self::Breaths => "breathe",
            Self::SlowBreaths => "breathe only while it is slow",
            Self::Fingerings => "finger it so: a proposal, the teacher decides",
            Self::LookAlikes => "the same letter: the same bar; with a stroke: it differs",
            Self::Ornaments => "the ornament played so: a proposal, the teacher decides",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_matter_is_found_by_its_name_and_has_a_sign() {
        for matter in Matter::ALL {
            assert_eq!(Matter::from_name(&matter.name().replace('-', " ")), Some(matter));
            assert!(!matter.signs().is_empty());
        }
        assert_eq!(Matter::from_name("colours"), None);
    }
}

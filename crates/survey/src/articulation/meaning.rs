//! What does a mark mean on this instrument? In a few plain words; common practice throughout, the teacher decides.

use instruments::Family;
use notation::ArticulationKind;

/// How separate notes are said: tongued, bowed, or simply separate.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Separate {
    /// Winds.
    Tongued,
    /// Bowed strings.
    Bowed,
    /// Everyone else.
    #[default]
    Detached,
}

impl Separate {
    /// By family; for an unknown instrument the neutral word.
    #[must_use]
    pub const fn of(family: Option<Family>) -> Self {
        match family {
            Some(Family::Flute | Family::Reed | Family::Brass) => Self::Tongued,
            Some(Family::String) => Self::Bowed,
            _ => Self::Detached,
        }
    }

    /// `tongue two`.
    #[must_use]
    pub const fn verb(self) -> &'static str {
        match self {
            Self::Tongued => "tongue",
            Self::Bowed => "bow",
            Self::Detached => "detach",
        }
    }

    /// `all tongued`.
    #[must_use]
    pub const fn done(self) -> &'static str {
        match self {
            Self::Tongued => "tongued",
            Self::Bowed => "bowed separately",
            Self::Detached => "detached",
        }
    }

    /// `tongued notes`.
    #[must_use]
    pub const fn adjective(self) -> &'static str {
        match self {
            Self::Tongued => "tongued",
            Self::Bowed => "separately bowed",
            Self::Detached => "detached",
        }
    }
}

/// What an articulation mark asks for.
/// Source: common practice; the breath rule (shorten the note before, never the one after) greyflute.com, Breath mark
/// guide.
#[must_use]
pub fn mark_meaning(kind: &ArticulationKind, family: Option<Family>) -> &'static str {
    use ArticulationKind as K;
    use Family as F;
    match (kind, family) {
        (K::Staccato, Some(F::Reed)) => "short: the tongue goes back to the reed, the air keeps going",
        (K::Staccato, Some(F::Flute)) => "short: a light tongue, the air keeps going",
        (K::Staccato, Some(F::Brass)) => "short: the air ends the note, not the tongue",
        (K::Staccato, Some(F::String)) => {
            "short: the bow stops on the string, or leaves it where the style asks"
        }
        (K::Staccato, Some(F::Voice)) => "short: a small new impulse of breath on each note",
        (K::Staccato, _) => "short: about half its value, then silence",
        (K::Staccatissimo, Some(F::String)) => "very short, the bow off the string",
        (K::Staccatissimo, _) => "as short as it still speaks clearly",
        (K::Spiccato, Some(F::String)) => "off the string: the bow bounces",
        (K::Spiccato, _) => "very short and light",
        (K::Tenuto, Some(F::Flute | F::Reed | F::Brass)) => {
            "full length, with a soft tongue and a little weight"
        }
        (K::Tenuto, _) => "full length, with a little weight",
        (K::Accent, Some(F::Flute | F::Reed | F::Brass)) => "more air at the start, then let it relax",
        (K::Accent, Some(F::String)) => "more bow speed or weight at the start, then let go",
        (K::Accent, _) => "stronger at the start than its neighbours",
        (K::Marcato, Some(F::Flute | F::Reed | F::Brass)) => {
            "strong and set apart: firm tongue, then a little space before the next"
        }
        (K::Marcato, _) => "strong and set apart: a little space before the next",
        (K::Portato, Some(F::Flute | F::Reed | F::Brass)) => "gently tongued again on one stream of air",
        (K::Portato, Some(F::String)) => "pulses in one bow",
        (K::Portato, _) => "long but gently set apart",
        (K::BreathMark(_), Some(F::String | F::Plucked | F::Keyboard | F::Percussion)) => {
            "a small lift: shorten the note before, never delay the one after"
        }
        (K::BreathMark(_), _) => "breathe: shorten the note before, never the one after",
        (K::Caesura(_), _) => "a full stop: silence, then start anew",
        (K::Scoop, _) => "slide up into the note",
        (K::Plop, _) => "drop into the note from above",
        (K::Doit, _) => "slide up away from the note",
        (K::Falloff, _) => "slide down away from the note",
        (K::Stress, _) => "a stressed syllable",
        (K::Unstress, _) => "an unstressed syllable",
        (K::SoftAccent, _) => "a gentle swell on the note",
        (K::Other(_), _) => "",
    }
}

/// What a technical mark asks for, by its name in MusicXML 4.0; empty for a name that we do not know.
/// Source: MusicXML 4.0, technical; common practice.
#[must_use]
pub fn technical_meaning(name: &str, family: Option<Family>) -> &'static str {
    match name {
        "up-bow" => "up-bow: from the tip to the frog",
        "down-bow" => "down-bow: from the frog to the tip",
        "harmonic" if family == Some(Family::String) => "harmonic: touch the string lightly",
        "harmonic" => "harmonic",
        "open-string" => "open string",
        "thumb-position" => "thumb position",
        "fingering" => "fingering as printed",
        "pluck" => "plucking finger as printed",
        "string" => "which string",
        "fret" => "which fret",
        "double-tongue" => "double tongue",
        "triple-tongue" => "triple tongue",
        "stopped" if family == Some(Family::Brass) => "stopped with the hand",
        "stopped" if family == Some(Family::String) => "pizzicato with the left hand",
        "stopped" => "stopped",
        "snap-pizzicato" => "pluck so that the string snaps back",
        "open" => "open, no mute or hand",
        "half-muted" => "half covered",
        "harmon-mute" => "harmon mute",
        "hole" => "fingering diagram",
        "heel" => "heel",
        "toe" => "toe",
        "fingernails" => "with the fingernails",
        "hammer-on" => "hammer on",
        "pull-off" => "pull off",
        "bend" | "brass-bend" => "bend the pitch",
        "tap" => "tap",
        "flip" => "flip: up and quickly back to the next",
        "smear" => "smear: slide up into the note",
        "golpe" => "tap the body",
        _ => "",
    }
}

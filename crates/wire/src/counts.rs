//! The plain counts as JSON: what is on the page, one by one.

use crate::clefs::code;
use crate::say::pitch_name;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;
use survey::counts::PartCounts;

/// How many of each thing the source holds, as written (repeats not unfolded).
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Counts {
    /// The whole part.
    #[serde(flatten)]
    pub whole: Counted,
    /// Staff by staff, where there are several.
    pub staves: Vec<StaffCounts>,
}

/// Counts of one staff.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct StaffCounts {
    /// The staff, from 1.
    pub staff: u8,
    /// Its counts; slurs and hairpins belong to the part.
    #[serde(flatten)]
    pub counts: Counted,
}

/// The counts.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Counted {
    /// Notes and chords, a chord once; grace and cue notes too.
    pub events: usize,
    /// Pitched heads.
    pub heads: usize,
    /// Events with two heads or more.
    pub chords: usize,
    /// Grace events.
    pub grace: usize,
    /// Notes, chords and rests in tuplets.
    pub tuplet_members: usize,
    /// Events in which a tie starts.
    pub ties: usize,
    /// Heads altered from the signature.
    pub altered: usize,
    /// Heads with a printed accidental.
    pub shown_acc: usize,
    /// Heads altered by two semitones or more.
    pub double_acc: usize,
    /// Rests.
    pub rests: usize,
    /// Slurs that end.
    pub slurs: usize,
    /// Ornaments by kind.
    pub ornaments: BTreeMap<String, usize>,
    /// Articulation marks by kind.
    pub articulations: BTreeMap<String, usize>,
    /// Technical marks by kind.
    pub technical: BTreeMap<String, usize>,
    /// Dynamic marks by kind.
    pub dynamics: BTreeMap<String, usize>,
    /// Hairpins by kind.
    pub hairpins: BTreeMap<String, usize>,
    /// Fermatas over notes; one for a chord.
    pub fermatas: usize,
    /// Fermatas on rests and bar lines.
    pub fermatas_elsewhere: usize,
    /// Events with an arpeggio sign.
    pub arpeggios: usize,
    /// Heads that the source says are not printed.
    pub hidden_heads: usize,
    /// Rests that the source says are not printed.
    pub hidden_rests: usize,
    /// Heads of cue notes.
    pub cue_heads: usize,
    /// The lowest written pitch.
    pub lowest: Option<String>,
    /// The highest written pitch.
    pub highest: Option<String>,
    /// Every clef of the source in order.
    pub clefs: Vec<String>,
}

fn counted(counts: &survey::counts::Counts) -> Counted {
    let marks = |marks: &survey::counts::Marks| -> BTreeMap<String, usize> {
        marks.iter().map(|(name, count)| (name.clone(), *count)).collect()
    };
    Counted {
        events: counts.events,
        heads: counts.heads,
        chords: counts.chords,
        grace: counts.grace,
        tuplet_members: counts.tuplet_members,
        ties: counts.ties,
        altered: counts.altered,
        shown_acc: counts.shown_acc,
        double_acc: counts.double_acc,
        rests: counts.rests,
        slurs: counts.slurs,
        ornaments: marks(&counts.ornaments),
        articulations: marks(&counts.articulations),
        technical: marks(&counts.technical),
        dynamics: marks(&counts.dynamics),
        hairpins: marks(&counts.hairpins),
        fermatas: counts.fermatas,
        fermatas_elsewhere: counts.fermatas_elsewhere,
        arpeggios: counts.arpeggios,
        hidden_heads: counts.hidden_heads,
        hidden_rests: counts.hidden_rests,
        cue_heads: counts.cue_heads,
        lowest: counts.lowest.map(pitch_name),
        highest: counts.highest.map(pitch_name),
        clefs: counts.clefs.iter().map(|clef| code(*clef)).collect(),
    }
}

pub(crate) fn counts(counts: &PartCounts) -> Counts {
    Counts {
        whole: counted(&counts.whole),
        staves: counts
            .staves
            .iter()
            .map(|(staff, counts)| StaffCounts {
                staff: *staff,
                counts: counted(counts),
            })
            .collect(),
    }
}

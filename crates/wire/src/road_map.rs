//! Question 7 as JSON.

use crate::at::{At, Evidence, InBar, Places};
use performance::road::{JumpKind, Leap, LeapKind, Until};
use schemars::JsonSchema;
use serde::Serialize;
use survey::road_map::RoadMapAnswer;

/// Road map: in which order the bars are played, and where a reader gets lost.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct RoadMap {
    /// The labels of the bars as played. A bar cut by a repeat in its middle comes once for each piece played.
    pub play_order: Vec<String>,
    /// The same bars counted from 0.
    pub play_order_indices: Vec<u32>,
    /// The same in words, bars read straight on drawn together: `1–8, 1–16, 9–24`.
    pub in_words: String,
    /// How many bars are played.
    pub bars_played: usize,
    /// How long that is, in quarter notes.
    pub quarters_played: f64,
    /// Jumps as written: D.C. and D.S.
    pub jumps: Vec<Jump>,
    /// Every leap of the eye in the order made, repeats and endings too.
    pub leaps: Vec<LeapSaid>,
    /// Repeated passages.
    pub repeats: Vec<Repeat>,
    /// Endings.
    pub endings: Vec<Ending>,
    /// Sections of the written page.
    pub sections: Vec<Section>,
    /// Double and final bar lines.
    pub double_bars: Vec<DoubleBar>,
    /// Where Fine acts.
    pub fines: Vec<At>,
    /// Where the player leaves for a coda, and the coda.
    pub codas: Vec<FromTo>,
    /// Fermatas on notes, rests and bar lines.
    pub fermatas: Vec<Fermata>,
    /// Caesuras and breath marks.
    pub breaks: Vec<Break>,
    /// Where the music ends: after this place.
    pub ends_at: At,
    /// Bars that are never played.
    pub never_played: Vec<InBar>,
    /// Where a reader gets lost.
    pub traps: Vec<Trap>,
    /// Whether repeats are taken after a jump and who says so; empty without a jump.
    pub repeats_after_jump: String,
    /// What it means for the player.
    pub means: String,
    /// Where to look.
    pub evidence: Vec<Evidence>,
}

/// A D.C. or D.S. as written.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Jump {
    /// `da capo` or `dal segno`.
    pub kind: String,
    /// The words as printed; null if only the file's playback hint says it.
    pub words: Option<String>,
    /// Where it is taken.
    #[serde(flatten)]
    pub at: At,
    /// Where it goes.
    pub to: At,
    /// `fine`, `coda`, `section` or `end`.
    pub until: String,
    /// How often it was taken.
    pub taken: u32,
}

/// One leap of the eye.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct LeapSaid {
    /// `repeat`, `ending`, `da capo`, `dal segno`, `to coda`, `go on` or `section` (the next in the source's own order).
    pub kind: String,
    /// The place left.
    pub from: At,
    /// The place where reading goes on.
    pub to: At,
    /// How many played bars come before it.
    pub after: usize,
}

/// From one place to another.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct FromTo {
    /// From.
    pub from: At,
    /// To.
    pub to: At,
}

/// A repeated passage.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Repeat {
    /// Where it starts.
    pub from: At,
    /// Where it ends.
    pub to: At,
    /// How many times it is played in all.
    pub times: u32,
    /// False if no start-repeat is printed.
    pub printed_start: bool,
}

/// An ending.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Ending {
    /// What is printed at its bracket.
    pub printed: String,
    /// The times through for which it is played.
    pub passes: Vec<u32>,
    /// Where it starts.
    pub from: At,
    /// Where it ends.
    pub to: At,
}

/// A section.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Section {
    /// Where it starts.
    pub from: At,
    /// Where it ends.
    pub to: At,
    /// The rehearsal mark or heading; empty if none.
    pub heading: String,
    /// The key signature changes there.
    pub key_change: bool,
    /// The metre changes there.
    pub metre_change: bool,
}

/// A double or final bar line.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct DoubleBar {
    /// True for a final bar line.
    pub last: bool,
    /// Where.
    #[serde(flatten)]
    pub at: At,
}

/// A fermata.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Fermata {
    /// `note`, `rest` or `bar line`.
    pub on: String,
    /// The shape as the standard names it; empty for the usual one.
    pub shape: String,
    /// A new section begins right after it.
    pub before_section: bool,
    /// Where.
    #[serde(flatten)]
    pub at: At,
}

/// A caesura or breath mark.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Break {
    /// `caesura` or `breath mark`.
    pub kind: String,
    /// Where.
    #[serde(flatten)]
    pub at: At,
}

/// Where a reader gets lost.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Trap {
    /// What sort.
    pub kind: String,
    /// What it is.
    pub text: String,
    /// Where to look.
    #[serde(flatten)]
    pub at: At,
    /// Where the way leads.
    pub to: Option<At>,
}

const fn leap_word(leap: &Leap) -> &'static str {
    match leap.kind {
        LeapKind::Repeat => "repeat",
        LeapKind::Ending => "ending",
        LeapKind::DaCapo => "da capo",
        LeapKind::DalSegno => "dal segno",
        LeapKind::ToCoda => "to coda",
        LeapKind::GoOn => "go on",
        LeapKind::Section => "section",
    }
}

pub(crate) fn road_map(answer: &RoadMapAnswer, places: Places) -> RoadMap {
    use survey::road_map::{BreakKind, HeldOn};
    let at = |place: notation::Place| places.at(place, None);
    let closing = |place: notation::Place| places.closing(place, None);
    let map = &answer.unfolding;
    RoadMap {
        play_order: answer.play_order.iter().map(|bar| bar.label.clone()).collect(),
        play_order_indices: answer.play_order.iter().map(|bar| bar.bar.0).collect(),
        in_words: survey::road_map::order_in_words(places.piece, &answer.runs),
        bars_played: answer.bars_played,
        quarters_played: answer.quarters_played.to_f64(),
        jumps: map
            .jumps
            .iter()
            .map(|j| Jump {
                kind: match j.kind {
                    JumpKind::DaCapo => "da capo",
                    JumpKind::DalSegno => "dal segno",
                }
                .to_owned(),
                words: j.words.clone(),
                at: places.closing(j.at, j.element),
                to: at(j.target),
                until: match j.until {
                    Until::Fine => "fine",
                    Until::Coda => "coda",
                    Until::Section(_) => "section",
                    Until::End => "end",
                }
                .to_owned(),
                taken: j.taken,
            })
            .collect(),
        leaps: map
            .leaps
            .iter()
            .map(|l| LeapSaid {
                kind: leap_word(l).to_owned(),
                from: closing(l.from),
                to: at(l.to),
                after: l.after,
            })
            .collect(),
        repeats: map
            .repeats
            .iter()
            .map(|r| Repeat {
                from: at(r.start),
                to: closing(r.end),
                times: r.times,
                printed_start: r.printed_start,
            })
            .collect(),
        endings: map
            .endings
            .iter()
            .map(|e| Ending {
                printed: e.printed.clone(),
                passes: e.passes.iter().copied().collect(),
                from: at(e.start),
                to: closing(e.end),
            })
            .collect(),
        sections: map
            .sections
            .iter()
            .map(|s| Section {
                from: at(s.start),
                to: closing(s.end),
                heading: s.heading.clone(),
                key_change: s.key_change,
                metre_change: s.metre_change,
            })
            .collect(),
        double_bars: answer
            .double_bars
            .iter()
            .map(|(place, last)| DoubleBar {
                last: *last,
                at: closing(*place),
            })
            .collect(),
        fines: map.fines.iter().map(|place| closing(*place)).collect(),
        codas: map
            .codas
            .iter()
            .map(|(from, to)| FromTo {
                from: closing(*from),
                to: at(*to),
            })
            .collect(),
        fermatas: answer
            .fermatas
            .iter()
            .map(|f| Fermata {
                on: match f.on {
                    HeldOn::Note => "note",
                    HeldOn::Rest => "rest",
                    HeldOn::BarLine => "bar line",
                }
                .to_owned(),
                shape: f.shape.clone(),
                before_section: f.before_section,
                at: places.at(f.place, Some(f.element)),
            })
            .collect(),
        breaks: answer
            .breaks
            .iter()
            .map(|b| Break {
                kind: match b.kind {
                    BreakKind::Caesura => "caesura",
                    BreakKind::BreathMark => "breath mark",
                }
                .to_owned(),
                at: places.at(b.place, Some(b.element)),
            })
            .collect(),
        ends_at: closing(map.ends_at),
        never_played: places.bars(&map.never_played),
        traps: answer
            .traps
            .iter()
            .map(|t| Trap {
                kind: t.kind.name().to_owned(),
                text: t.says.clone(),
                at: at(t.place),
                to: t.to.map(at),
            })
            .collect(),
        repeats_after_jump: answer.repeats_after_jump.clone(),
        means: answer.means.clone(),
        evidence: places.evidence(&answer.evidence),
    }
}

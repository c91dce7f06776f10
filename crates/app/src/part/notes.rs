//! What stands in the margin, and where on the page does each note of it belong? The pencil's reasons and the findings, in
//! reading order, line by line.

use crate::hers;
use crate::part::point::Labels;
use crate::prepared::Prepared;
use engrave::Spot;
use notation::{BarIndex, Finding, PencilMark, PencilSign, Place, Severity};
use pencil::Matter;

/// One note in the margin.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Note {
    /// Its name on the screen.
    pub id: String,
    /// Where it belongs.
    pub place: Place,
    /// The bars it is about.
    pub bars: (BarIndex, BarIndex),
    /// What it is about, in a word or two.
    pub about: &'static str,
    /// Why, or what is found.
    pub why: String,
    /// What to do; may be empty.
    pub doing: String,
    /// The sign pencilled for it, if it is one of the pencil's.
    pub sign: Option<PencilSign>,
    /// Where the sign stands; empty where no room was for it, or none is wanted.
    pub spots: Vec<Spot>,
    /// Its index among the copy's marks, if it is one.
    pub mark: Option<usize>,
    /// Whether it is the teacher's own.
    pub hers: bool,
    /// Whether she has kept it for good.
    pub kept: bool,
}

/// A line of the page with its notes.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Line {
    /// The system in the whole part, from 0.
    pub system: usize,
    /// Its first and last bar.
    pub bars: (BarIndex, BarIndex),
    /// Its notes, in reading order.
    pub notes: Vec<Note>,
}

/// All notes, line by line; lines without any are there, too.
pub(crate) fn lines(part: &Prepared) -> Vec<Line> {
    let mut lines = empty_lines(part);
    for note in notes(part) {
        let at = lines
            .iter()
            .rposition(|line| line.bars.0 <= note.place.bar)
            .unwrap_or(0);
        if let Some(line) = lines.get_mut(at) {
            line.notes.push(note);
        }
    }
    lines
}

/// The system that a bar stands in (the first of several).
pub(crate) fn system_of(part: &Prepared, bar: BarIndex) -> Option<usize> {
    let id = part.copy.piece.bars.get(bar.get())?.id;
    part.copy.laid.places.of.get(&id)?.first().map(|spot| spot.system)
}

fn empty_lines(part: &Prepared) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    for bar in (0..part.copy.piece.bars.len()).map(BarIndex::from_usize) {
        let system = system_of(part, bar).unwrap_or_else(|| lines.last().map_or(0, |line| line.system));
        match lines.last_mut() {
            Some(line) if line.system >= system => line.bars.1 = bar,
            _ => lines.push(Line {
                system,
                bars: (bar, bar),
                notes: Vec::new(),
            }),
        }
    }
    lines
}

/// The notes in reading order.
pub(crate) fn notes(part: &Prepared) -> Vec<Note> {
    let copy = &part.copy;
    let spots = |index: usize| copy.laid.places.marks.get(index).cloned().unwrap_or_default();
    let marks = copy.marks.iter().enumerate().map(|(index, mark)| Note {
        hers: part.hers_at(index).is_some() || hers::is_hers(part, index),
        ..of_mark(index, mark, spots(index))
    });
    let findings = copy
        .findings
        .iter()
        .enumerate()
        .filter_map(|(index, finding)| of_finding(index, finding));
    let mut notes: Vec<Note> = marks.chain(findings).collect();
    // Of one place: what is pencilled first, in the order of the legend.
    notes.sort_by_key(|note| (note.place, note.spots.is_empty()));
    notes
}

fn of_mark(index: usize, mark: &PencilMark, spots: Vec<Spot>) -> Note {
    let (why, doing) = mark.reason.split_once(" — ").unwrap_or((&mark.reason, ""));
    Note {
        id: format!("m{index}"),
        place: mark.from.place,
        bars: (mark.from.place.bar, mark.end().place.bar.max(mark.from.place.bar)),
        about: about(mark),
        why: why.to_owned(),
        doing: doing.to_owned(),
        sign: Some(mark.sign),
        spots,
        // What a call corrects is changed in the call.
        mark: (mark.matter != desk::ERRATA).then_some(index),
        hers: false,
        kept: mark.kept,
    }
}

/// A finding with a place; what is said of the whole piece stands elsewhere.
fn of_finding(index: usize, finding: &Finding) -> Option<Note> {
    // That a mark found no room is plain from its note.
    if finding.kind == "no-room-for-a-mark" {
        return None;
    }
    let bar = finding.bar?;
    Some(Note {
        id: format!("f{index}"),
        place: Place {
            bar,
            offset: finding.offset.unwrap_or_default(),
        },
        bars: (bar, bar),
        about: match finding.severity {
            Severity::Note => "to know",
            Severity::Caution => "to look at",
            Severity::Problem => "to put right",
        },
        why: finding.what.clone(),
        doing: finding.advice.clone(),
        sign: None,
        spots: Vec::new(),
        mark: None,
        hers: false,
        kept: false,
    })
}

/// What a mark is about, as a teacher would head it.
fn about(mark: &PencilMark) -> &'static str {
    match Matter::from_name(&mark.matter) {
        Some(Matter::HardSpots) => "hard spot",
        Some(Matter::Repeats) => "repeat",
        Some(Matter::Jumps) => "jump",
        Some(Matter::LookAhead) => "look ahead",
        Some(Matter::KeyChanges) => "new key",
        Some(Matter::MetreChanges) => "new metre",
        Some(Matter::ClefChanges) => "new clef",
        Some(Matter::TempoChanges) => "another tempo",
        Some(Matter::AlteredNotes) => "altered note",
        Some(Matter::TwoForms) => "two forms of a letter",
        Some(Matter::Enharmonics) => "spelling",
        Some(Matter::Courtesies) => "accidental",
        Some(Matter::Beats) => "beats",
        Some(Matter::Counts) => "count",
        Some(Matter::Breaths) => "breath",
        Some(Matter::SlowBreaths) => "breath, while slow",
        Some(Matter::Fingerings) => "fingering",
        Some(Matter::LookAlikes) => "look-alike",
        Some(Matter::Ornaments) => "ornament",
        None if mark.question == "hers" => "the teacher",
        None if mark.matter == desk::ERRATA => "erratum",
        None => "mark",
    }
}

impl Note {
    /// Whether its sign stands on the page.
    pub fn is_drawn(&self) -> bool {
        !self.spots.is_empty()
    }

    /// Where its sign stands, for the script: `page x y w h` in millimetres, places divided by commas.
    pub fn where_drawn(&self) -> String {
        let said = |spot: &Spot| {
            let rect = &spot.rect_mm;
            format!(
                "{} {:.2} {:.2} {:.2} {:.2}",
                spot.page, rect.x, rect.y, rect.w, rect.h
            )
        };
        self.spots.iter().map(said).collect::<Vec<_>>().join(",")
    }

    /// Its bars, one by one.
    pub fn all_bars(&self) -> Vec<BarIndex> {
        (self.bars.0.0..=self.bars.1.0).map(BarIndex).collect()
    }

    /// `Bar 4`.
    pub fn heading(&self, labels: &Labels) -> String {
        labels.run(self.bars.0, self.bars.1)
    }
}

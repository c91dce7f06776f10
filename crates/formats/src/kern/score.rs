//! How do records become a piece? Record by record, all parts side by side; then what is known only at the end.

use super::accidentals::Marks;
use super::bars::Boundaries;
use super::columns::Wrong;
use super::credits::{self, Titles};
use super::layout::{self, Layout};
use super::part::{PartState, Reader, SlotState, SpineState};
use super::records::Kind;
use super::scan::{self, Cell, Layout as Trouble, Line, Scan};
use super::sections::Labels;
use super::user::{self, Meanings};
use super::{instruments, verses};
use crate::FormatError;
use crate::assemble::{MOST_CELLS, MOST_EVENTS, MOST_PARTS, Score};
use crate::report::Here;
use notation::{BarIndex, Finding, IdKind, Origin, Part, Piece, Place, Quarters, Severity, Side};
use std::collections::BTreeMap;

/// A note takes some 1,400 bytes of memory, read and surveyed: so many, and one more for so many bytes of text, stay under twenty times the
/// text and 64 MB.
const MOST_IN_A_SHORT_TEXT: usize = 41_000;
const TEXT_OF_A_NOTE: usize = 70;

/// Reads the decoded text of a score.
pub(super) fn read(text: &str) -> Result<(Piece, Vec<Finding>), FormatError> {
    if u32::try_from(text.len()).is_err() {
        return Err(FormatError::Unfolds {
            megabytes: text.len() as u64 / 1_000_000,
            limit: 4_000,
        });
    }
    let scan = scan::scan(text)?;
    let layout = layout::layout(&scan);
    if layout.parts.is_empty() {
        return Err(FormatError::NoBars {
            what: "it has no **kern spine",
        });
    }
    if scan.lengths.is_empty() {
        return Err(FormatError::NoBars {
            what: "its **kern spines hold no notes",
        });
    }
    if layout.parts.len() > MOST_PARTS || layout.parts.len() * scan.lengths.len() > MOST_CELLS {
        return Err(FormatError::TooMuch {
            line: 1,
            place: "the spines".to_owned(),
            what: "more parts".to_owned(),
        });
    }
    let mut reader = reader(&scan, layout);
    reader.most = MOST_EVENTS.min(MOST_IN_A_SHORT_TEXT + text.len() / TEXT_OF_A_NOTE);
    reader.make_voices();
    reader.make_bars();
    reader.report_layout();
    reader.run()
}

fn reader<'a, 's>(scan: &'s Scan<'a>, layout: Layout<'a>) -> Reader<'a, 's> {
    let mut score = Score::default();
    // Of the records hardly half hold a note of each part; no more room is asked for than the notes of all may take.
    let records = scan.lines.iter().filter(|line| line.kind == Kind::Data).count();
    let events = (records / 2).min(MOST_EVENTS / layout.parts.len().max(1));
    score
        .piece
        .provenance
        .origins
        .reserve(events * layout.parts.len());
    let parts = (0..layout.parts.len())
        .map(|number| part(&layout, number, events, &mut score))
        .collect();
    Reader {
        most: MOST_EVENTS,
        spines: spine_states(scan, &layout),
        slots: scan.slots.iter().map(|_| SlotState::default()).collect(),
        scan,
        layout,
        score,
        parts,
        meanings: Meanings::new(),
        leftover: super::leftover::Leftover::default(),
        bar: BarIndex(0),
        offset: Quarters::ZERO,
        started: false,
        index: 0,
        last_data: 0,
        implied_accidentals: false,
        comments: 0,
    }
}

/// The spines, with the verse that each spine of words is for its notes.
fn spine_states(scan: &Scan<'_>, layout: &Layout<'_>) -> Vec<SpineState> {
    let mut verses_of: BTreeMap<usize, usize> = BTreeMap::new();
    let state = |(spine, home): (&super::columns::Spine<'_>, &Option<super::layout::Home>)| {
        let mut state = SpineState::default();
        if let Some(home) = home.filter(|_| verses::is_verse(spine.kind)) {
            let verse = verses_of.entry(home.notes).or_default();
            *verse += 1;
            state.verse = *verse;
        }
        state
    };
    scan.spines.iter().zip(&layout.homes).map(state).collect()
}

/// A part for which so many events are likely.
fn part(layout: &Layout<'_>, number: usize, events: usize, score: &mut Score) -> PartState {
    let plan = &layout.parts[number];
    let id = score.piece.ids.give(IdKind::Part);
    let known = instruments::named(plan.code);
    let limit = |text: &str| text.chars().take(200).collect::<String>();
    let printed = limit(plan.name);
    let name = match known {
        _ if !printed.is_empty() => printed,
        Some((name, _)) => name.to_owned(),
        None => String::new(),
    };
    let mut part = Part::new(id, name.clone());
    part.events.reserve(events);
    part.abbreviation = limit(plan.abbreviation);
    part.instrument_name = known
        .map(|(name, _)| name.to_owned())
        .or_else(|| (!plan.code.is_empty()).then(|| limit(plan.code)));
    part.instrument_sound = known.map(|(_, sound)| sound.to_owned());
    part.staves = plan.staves;
    let spines: Vec<String> = plan.spines.iter().map(|spine| (spine + 1).to_string()).collect();
    let origin = Origin {
        foreign_id: Some(format!("spine {}", spines.join(", "))),
        ..Origin::default()
    };
    score.piece.provenance.origins.insert(id, origin);
    let shown = if name.is_empty() {
        format!("part {}", number + 1)
    } else {
        name
    };
    PartState {
        part,
        name: shown,
        facts: Vec::new(),
        first_event: 0,
        content: Quarters::ZERO,
        metre: None,
        next_metre: None,
        open: Vec::new(),
        symbol: None,
    }
}

/// What is gathered while the records are read.
#[derive(Default)]
struct Gathered {
    titles: Titles,
    labels: Labels,
    boundaries: Boundaries,
    marks: Marks,
}

impl<'a> Reader<'a, '_> {
    fn run(mut self) -> Result<(Piece, Vec<Finding>), FormatError> {
        let scan = self.scan;
        let mut gathered = Gathered::default();
        self.define_signifiers();
        self.last_data = scan
            .lines
            .iter()
            .rposition(|line| line.kind == Kind::Data)
            .unwrap_or(0);
        let last = BarIndex::from_usize(scan.lengths.len() - 1);
        let mut current = BarIndex(0);
        for (index, line) in scan.lines.iter().enumerate() {
            self.index = index;
            while current.0 < line.bar && current < last {
                self.bar = current;
                self.end_bar();
                current = current.next();
            }
            self.go_to(line);
            self.record(line, &mut gathered);
            if self.too_much() {
                return Err(FormatError::TooMuch {
                    line: line.number as usize,
                    place: format!("bar {}", self.score.piece.label(self.bar)),
                    what: "more notes".to_owned(),
                });
            }
        }
        self.bar = current;
        self.end_bar();
        Ok(self.finish(gathered))
    }

    fn record(&mut self, line: &Line<'a>, gathered: &mut Gathered) {
        match line.kind {
            Kind::Reference => self.reference(line, &mut gathered.titles),
            Kind::Global => self.global(line),
            Kind::Exclusive => {}
            Kind::Local => {
                for cell in self.scan.cells(line) {
                    self.local(cell);
                }
            }
            Kind::Interpretation => {
                if let Some(label) = self
                    .scan
                    .cells(line)
                    .iter()
                    .find_map(|cell| cell.text.strip_prefix("*>"))
                {
                    gathered.labels.take(label, self.place());
                }
                for cell in self.scan.cells(line) {
                    if let Some(home) = self.home(cell) {
                        self.tandem(cell, home);
                    }
                }
            }
            Kind::Bar => self.bar_record(line, &mut gathered.boundaries),
            Kind::Data => self.data(line, &mut gathered.marks),
        }
    }

    /// What the file's own signifiers mean stands before or after the music.
    fn define_signifiers(&mut self) {
        // Most files give these two the same meaning; some are shared without the records that say so.
        self.meanings.insert('>', user::Meaning::Above);
        self.meanings.insert('<', user::Meaning::Below);
        let scan = self.scan;
        for line in scan.lines.iter().filter(|line| line.kind == Kind::Reference) {
            if let Some(("RDF**kern", value)) = credits::split(line.text) {
                user::define(&mut self.meanings, value);
            }
        }
    }

    fn reference(&mut self, line: &Line<'a>, titles: &mut Titles) {
        let Some((key, value)) = credits::split(line.text) else {
            return;
        };
        match key {
            "RDF**kern" => {}
            "OMD" if self.started && self.index < self.last_data => {
                // A new heading among the music.
                if let Some(home) = self.top() {
                    let cell = Cell {
                        slot: 0,
                        at: line.at,
                        text: line.text,
                    };
                    let text: String = value.chars().take(500).collect();
                    for kind in super::words::printed(&text) {
                        self.direct(&cell, home, Some(Side::Above), true, kind);
                    }
                }
            }
            _ => titles.take(key, value, &mut self.score.piece),
        }
    }

    /// A bar line; one that stands in some columns only is none for the grid unless the first has it.
    fn bar_record(&mut self, line: &Line<'a>, boundaries: &mut Boundaries) {
        let mut done: Vec<usize> = Vec::new();
        for cell in self.scan.cells(line) {
            let Some(home) = self.home(cell) else { continue };
            let is_notes = self.scan.spines[self.spine_of(cell)].is_kern();
            if !is_notes || !cell.text.starts_with('=') || done.last() == Some(&home.part) {
                continue;
            }
            done.push(home.part);
            self.bar_line(cell, home.part, line.bar, boundaries);
        }
    }

    fn data(&mut self, line: &Line<'a>, marks: &mut Marks) {
        let cells = self.scan.cells(line);
        let is_notes = |reader: &Self, cell: &Cell<'a>| reader.scan.spines[reader.spine_of(cell)].is_kern();
        for cell in cells {
            let spine = self.spine_of(cell);
            self.spines[spine].event = None;
        }
        for cell in cells {
            let Some(home) = self.home(cell) else { continue };
            if !is_notes(self, cell) {
                continue;
            }
            let spine = self.spine_of(cell);
            self.settle_designation(cell, home, spine);
            self.settle_symbol(cell, home);
            self.go_to(line);
            let event = self.token(cell, home, marks);
            let known = &mut self.spines[spine].event;
            *known = known.or(event);
        }
        self.started = true;
        for cell in cells {
            let Some(home) = self.home(cell) else { continue };
            let kind = self.scan.spines[self.spine_of(cell)].kind;
            match kind {
                "kern" => {}
                "dynam" | "dyn" => self.dynamics(cell, home),
                "fing" | "fingering" => self.fingering(cell, home),
                kind if verses::is_verse(kind) => self.syllable(cell, home),
                kind => self.beside(cell, home, kind),
            }
        }
        self.forget_events(cells);
    }

    /// A syllable belongs to a note of its own record only.
    fn forget_events(&mut self, cells: &[Cell<'a>]) {
        for cell in cells {
            let spine = self.spine_of(cell);
            self.spines[spine].event = None;
        }
    }

    fn finish(mut self, gathered: Gathered) -> (Piece, Vec<Finding>) {
        let Gathered {
            mut titles,
            labels,
            boundaries,
            marks,
        } = gathered;
        let bars = self.scan.lengths.len();
        self.put_bar_lines(boundaries);
        self.put_sections(labels);
        self.heading(&titles);
        titles.settle(&mut self.score.piece);
        self.finish_hairpins();
        self.finish_spans();
        for state in &mut self.parts {
            if state.part.voices.is_empty() {
                state.part.voices.push("1".to_owned());
            }
            join_staves(&mut state.part);
            state.part.index_bars(bars);
        }
        self.work_out_accidentals(&marks);
        self.check_ties();
        self.closing_remarks();
        let Self {
            mut score,
            parts,
            leftover,
            ..
        } = self;
        for state in parts {
            score.facts.push(state.facts);
            score.piece.parts.push(state.part);
        }
        leftover.report(&mut score.report);
        score.settle();
        (score.piece, score.report.finish())
    }

    /// The movement's designation, as a rule its tempo, is printed over the first bar.
    fn heading(&mut self, titles: &Titles) {
        let (Some(words), Some(home)) = (titles.designation.clone(), self.top()) else {
            return;
        };
        (self.bar, self.offset) = (BarIndex(0), Quarters::ZERO);
        let cell = Cell {
            slot: 0,
            at: 0,
            text: "",
        };
        for kind in super::words::printed(&words) {
            self.direct(&cell, home, Some(Side::Above), true, kind);
        }
    }

    fn closing_remarks(&mut self) {
        let mut note = |kind, what: String| {
            self.score
                .report
                .push(Finding::new(Severity::Note, kind, what, ""));
        };
        if self.implied_accidentals {
            note(
                "accidentals-implied",
                "the file gives pitches rather than printed signs; accidentals were printed by the usual rule".to_owned(),
            );
        }
        if self.comments > 0 {
            let count = self.comments;
            note(
                "comments-kept",
                format!(
                    "remarks of the encoder at notes ({count}) were kept but are not taken for printed words"
                ),
            );
        }
    }

    /// Reports what was wrong with the layout of the text.
    fn report_layout(&mut self) {
        for trouble in &self.scan.troubles {
            let (kind, what, advice) = say(&trouble.what, trouble.line);
            let bars = self.scan.lengths.len();
            let bar = BarIndex::from_usize((trouble.bar as usize).min(bars - 1));
            let here = Here {
                part: None,
                bar: Some((bar, self.score.piece.label(bar).to_owned())),
                offset: Quarters::ZERO,
            };
            let severity = match trouble.what {
                Trouble::Count { .. } | Trouble::Path(_) => Severity::Problem,
                Trouble::More | Trouble::Held | Trouble::Unended => Severity::Note,
                Trouble::Uneven | Trouble::Overflow => Severity::Caution,
            };
            self.score
                .report
                .push(here.put(Finding::new(severity, kind, what, advice)));
        }
    }
}

fn say(trouble: &Trouble, line: usize) -> (&'static str, String, &'static str) {
    const CHECK: &str = "compare this bar with the page";
    match trouble {
        Trouble::Count { found, expected } => (
            "columns-wrong",
            format!("line {line} of the file has {found} columns where {expected} are needed"),
            "check which notes sound together from here on",
        ),
        Trouble::Path(wrong) => (
            "columns-wrong",
            match wrong {
                Wrong::JoinAlone => format!("line {line} of the file joins a column with none beside it"),
                Wrong::Exchange => format!("line {line} of the file exchanges a column with no other"),
                Wrong::TooMany => format!("line {line} of the file makes more columns than a score has"),
            },
            "check which notes sound together from here on",
        ),
        Trouble::Unended => (
            "not-ended",
            "the file does not end its columns; it may have been cut off".to_owned(),
            "look whether the end of the piece is there",
        ),
        Trouble::More => (
            "several-pieces",
            format!("after this piece the file goes on with another (line {line}), which was not read"),
            "put it into a file of its own",
        ),
        Trouble::Uneven => (
            "columns-uneven",
            format!("the notes that meet in line {line} of the file do not come out at the same time"),
            CHECK,
        ),
        Trouble::Held => (
            "held-over-bar",
            "a note of the bar before is held over the bar line without a tie".to_owned(),
            "",
        ),
        Trouble::Overflow => (
            "duration-unusable",
            format!("a note in line {line} of the file ends too late to be counted"),
            CHECK,
        ),
    }
}

/// What all staves of a part say at one place is said once, for all of them.
fn join_staves(part: &mut Part) {
    let staves = usize::from(part.staves);
    if staves < 2 {
        return;
    }
    part.clefs.sort_by_key(|change| (change.place, change.staff));
    join(&mut part.keys, staves);
    join(&mut part.transpositions, staves);
    part.metres
        .dedup_by(|later, first| later.place == first.place && later.value == first.value);
}

fn join<T: PartialEq>(changes: &mut Vec<notation::Change<T>>, staves: usize) {
    changes.sort_by_key(|change| (change.place, change.staff));
    let mut joined: Vec<notation::Change<T>> = Vec::with_capacity(changes.len());
    let mut rest = std::mem::take(changes).into_iter().peekable();
    while let Some(first) = rest.next() {
        let place: Place = first.place;
        let mut group = vec![first];
        while let Some(next) = rest.next_if(|next| next.place == place) {
            group.push(next);
        }
        let all = group.len() == staves && group.iter().all(|change| change.value == group[0].value);
        if all {
            let mut group = group.into_iter();
            joined.extend(group.next().map(|change| notation::Change {
                staff: None,
                ..change
            }));
        } else {
            joined.extend(group);
        }
    }
    *changes = joined;
}

//! Which road signs stand on the page? Bar lines, words, signs and playback hints of all parts, pooled by place.

use super::grid::Grid;
use super::words::{self, Instruction, JumpWords, Tail};
use notation::{DirectionKind, EndingKind, Id, Part, Piece, Place};
use std::collections::BTreeMap;

/// Everything that can change the order of bars, each place in the grid's one form, in order of place.
#[derive(Debug, Default)]
pub(super) struct Signs {
    pub starts: Vec<RepeatStart>,
    pub ends: Vec<RepeatEnd>,
    pub brackets: Vec<Bracket>,
    pub lines: Vec<Line>,
    pub marks: Vec<Mark>,
    /// Where coda signs and headings stand.
    pub codas: Vec<Place>,
    /// Where a fermata's note, rest or bar line ends.
    pub fermatas: Vec<Place>,
    /// Those over bar lines.
    pub bar_fermatas: Vec<Place>,
    /// Where the key signature or the metre changes: the place, and whether the metre does.
    pub changes: Vec<(Place, bool)>,
    /// Words at the start of a bar, by place: names of sections stand among them.
    pub headings: Vec<(Place, String)>,
    /// Rehearsal marks.
    pub rehearsals: Vec<(Place, String)>,
}

/// `|:`
#[derive(Debug)]
pub(super) struct RepeatStart {
    pub at: Place,
    pub parts: Vec<usize>,
}

/// `:|`
#[derive(Debug)]
pub(super) struct RepeatEnd {
    pub at: Place,
    pub parts: Vec<usize>,
    pub times: Option<u32>,
    pub after_jump: Option<bool>,
}

/// One end of a volta bracket.
#[derive(Debug)]
pub(super) struct Bracket {
    pub at: Place,
    pub kind: EndingKind,
    pub number: String,
    pub text: String,
    pub parts: Vec<usize>,
    /// Parts that print another number here.
    pub disagree: bool,
}

/// A double or final bar line without a repeat sign.
#[derive(Debug)]
pub(super) struct Line {
    pub at: Place,
    /// It ends something: thin and thick, or two thick strokes.
    pub is_final: bool,
}

/// A jump, Fine, segno or coda, as words, as a sign or as a playback hint.
#[derive(Clone, Debug)]
pub(super) struct Mark {
    /// Where it is printed (not yet where it acts).
    pub place: Place,
    pub part: usize,
    pub what: What,
    pub from: From,
    /// The name that ties a jump to its target in the playback hints; usually empty.
    pub token: String,
    /// The passes on which it acts, where the source says so.
    pub time_only: Vec<u32>,
    pub element: Option<Id>,
}

/// What a mark says.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum What {
    Jump(JumpWords),
    /// Words that complete a jump nearby.
    Tail(Tail),
    /// So many times in all, of the repeat that ends here or next.
    Times(u32),
    Fine,
    ToCoda,
    Coda,
    Segno,
}

/// How a mark is given.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum From {
    Words(String),
    Sign,
    Barline,
    Sound,
}

impl Signs {
    pub(super) fn gather(piece: &Piece, grid: &Grid) -> Self {
        let mut signs = Self::default();
        signs.bar_lines(piece, grid);
        for (index, part) in piece.parts.iter().enumerate() {
            signs.printed_marks(index, part);
            signs.page(grid, part);
        }
        signs.sound_hints(piece, grid);
        for list in [&mut signs.headings, &mut signs.rehearsals] {
            list.sort();
            list.dedup();
        }
        signs.marks.sort_by_key(|mark| (mark.place, mark.part));
        let codas = signs.marks.iter().filter(|mark| mark.what == What::Coda);
        signs.codas = codas.map(|mark| grid.place(mark.place)).collect();
        signs.codas.sort();
        signs.starts.sort_by_key(|start| start.at);
        signs.starts.dedup_by_key(|start| start.at);
        signs.fermatas.sort();
        signs.fermatas.dedup();
        signs.changes.sort();
        signs.changes.dedup();
        signs
    }

    fn bar_lines(&mut self, piece: &Piece, grid: &Grid) {
        let mut starts: BTreeMap<Place, RepeatStart> = BTreeMap::new();
        let mut ends: BTreeMap<Place, RepeatEnd> = BTreeMap::new();
        let mut lines: BTreeMap<Place, Line> = BTreeMap::new();
        let mut brackets: BTreeMap<(Place, bool), Bracket> = BTreeMap::new();
        for line in &piece.barlines {
            let at = grid.barline(line);
            match &line.repeat {
                Some(repeat) if repeat.forward => {
                    let start = starts
                        .entry(at)
                        .or_insert_with(|| RepeatStart { at, parts: vec![] });
                    start.parts.push(line.part);
                }
                Some(repeat) => {
                    let end = ends.entry(at).or_insert_with(|| RepeatEnd {
                        at,
                        parts: vec![],
                        times: None,
                        after_jump: None,
                    });
                    end.parts.push(line.part);
                    end.times = end.times.or(repeat.times);
                    end.after_jump = end.after_jump.or(repeat.after_jump);
                }
                None => {
                    let style = line.style.as_deref().unwrap_or("");
                    let is_final = matches!(style, "light-heavy" | "heavy-heavy" | "heavy");
                    if is_final || style == "light-light" || style == "heavy-light" {
                        let known = lines.entry(at).or_insert(Line { at, is_final });
                        known.is_final |= is_final;
                    }
                }
            }
            if let Some(ending) = &line.ending {
                let key = (at, ending.kind == EndingKind::Start);
                let bracket = brackets.entry(key).or_insert_with(|| Bracket {
                    at,
                    kind: ending.kind,
                    number: ending.number.clone(),
                    text: ending.text.clone(),
                    parts: vec![],
                    disagree: false,
                });
                bracket.parts.push(line.part);
                bracket.disagree |= bracket.number.trim() != ending.number.trim();
                if bracket.number.trim().is_empty() {
                    bracket.number.clone_from(&ending.number);
                }
            }
            if !line.fermatas.is_empty() {
                self.fermatas.push(at);
                self.bar_fermatas.push(at);
            }
            self.bar_line_marks(line);
        }
        self.starts = starts.into_values().collect();
        self.ends = ends.into_values().collect();
        self.lines = lines.into_values().collect();
        // At one place a bracket ends before the next begins.
        self.brackets = brackets.into_values().collect();
    }

    fn bar_line_marks(&mut self, line: &notation::Barline) {
        for (token, what) in [(&line.segno, What::Segno), (&line.coda, What::Coda)] {
            if let Some(token) = token {
                self.marks.push(Mark {
                    place: line.place,
                    part: line.part,
                    what,
                    from: From::Barline,
                    token: token.clone(),
                    time_only: vec![],
                    element: Some(line.id),
                });
            }
        }
    }

    /// Words and signs of a part. Those at one place are read together: `D.S. al` and a coda sign are one sentence.
    fn printed_marks(&mut self, index: usize, part: &Part) {
        let mut from = 0;
        while let Some(first) = part.directions.get(from) {
            let here = part
                .directions
                .iter()
                .skip(from)
                .take_while(|d| d.place == first.place);
            let group: Vec<_> = here.collect();
            from += group.len();
            let mut sentence = String::new();
            let mut texts = Vec::new();
            let mut element = None;
            let mut signs = Vec::new();
            for direction in &group {
                let piece: &str = match &direction.kind {
                    DirectionKind::Words(text) => text,
                    DirectionKind::Coda => {
                        signs.push((What::Coda, direction.id));
                        words::CODA_SIGN
                    }
                    DirectionKind::Segno => {
                        signs.push((What::Segno, direction.id));
                        words::SEGNO_SIGN
                    }
                    _ => continue,
                };
                if matches!(direction.kind, DirectionKind::Words(_)) {
                    element = element.or(Some(direction.id));
                    texts.push(piece);
                }
                if !sentence.is_empty() {
                    sentence.push(' ');
                }
                sentence.push_str(piece);
            }
            let read = if element.is_some() {
                words::read_together(&texts, &sentence)
            } else {
                vec![]
            };
            for (what, id) in signs {
                // A sign inside a sentence (`to ⊕`, `D.S. al ⊕`) is a word of it.
                let spoken_for = read.iter().any(|word| match word {
                    Instruction::Jump(_) | Instruction::Tail(_) => true,
                    Instruction::ToCoda => what == What::Coda,
                    _ => false,
                });
                if !spoken_for {
                    self.push(index, first.place, what, From::Sign, Some(id));
                }
            }
            for word in read {
                let what = match word {
                    Instruction::Jump(jump) => What::Jump(jump),
                    Instruction::Tail(tail) => What::Tail(tail),
                    Instruction::Times(times) => What::Times(times),
                    Instruction::Fine => What::Fine,
                    Instruction::ToCoda => What::ToCoda,
                    Instruction::Coda => What::Coda,
                    Instruction::Segno => What::Segno,
                };
                self.push(index, first.place, what, From::Words(sentence.clone()), element);
            }
        }
    }

    fn push(&mut self, part: usize, place: Place, what: What, from: From, element: Option<Id>) {
        self.marks.push(Mark {
            place,
            part,
            what,
            from,
            token: String::new(),
            time_only: vec![],
            element,
        });
    }

    fn page(&mut self, grid: &Grid, part: &Part) {
        for event in part.events.iter().filter(|event| !event.fermatas.is_empty()) {
            let end = Place {
                bar: event.place.bar,
                offset: event.end_offset(),
            };
            self.fermatas.push(grid.place(end));
        }
        let start = Place::default();
        self.changes.extend(
            part.keys
                .iter()
                .map(|c| (grid.place(c.place), false))
                .filter(|c| c.0 > start),
        );
        self.changes.extend(
            part.metres
                .iter()
                .map(|c| (grid.place(c.place), true))
                .filter(|c| c.0 > start),
        );
        for direction in &part.directions {
            match &direction.kind {
                DirectionKind::Words(text) => {
                    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
                    if direction.place.offset.is_zero() || words::is_section_name(&text) {
                        self.headings.push((Place::start_of(direction.place.bar), text));
                    }
                }
                DirectionKind::Rehearsal(text) => {
                    self.rehearsals
                        .push((grid.place(direction.place), text.trim().to_owned()));
                }
                _ => {}
            }
        }
    }

    fn sound_hints(&mut self, piece: &Piece, grid: &Grid) {
        for hint in &piece.sound_hints {
            let time_only: Vec<u32> = hint
                .get("time-only")
                .map(|text| super::number::passes(text).into_iter().collect())
                .unwrap_or_default();
            if hint.get("forward-repeat") == Some("yes") {
                let at = grid.place(hint.place);
                self.starts.push(RepeatStart {
                    at,
                    parts: vec![hint.part],
                });
            }
            for (name, value) in &hint.attributes {
                let what = match name.as_str() {
                    "dacapo" if value == "yes" => What::Jump(JumpWords::plain(super::JumpKind::DaCapo)),
                    "dalsegno" => What::Jump(JumpWords::plain(super::JumpKind::DalSegno)),
                    "fine" if value != "no" => What::Fine,
                    "tocoda" => What::ToCoda,
                    "coda" => What::Coda,
                    "segno" => What::Segno,
                    _ => continue,
                };
                let token = if matches!(name.as_str(), "dacapo" | "fine") {
                    String::new()
                } else {
                    value.clone()
                };
                self.marks.push(Mark {
                    place: hint.place,
                    part: hint.part,
                    what,
                    from: From::Sound,
                    token,
                    time_only: time_only.clone(),
                    element: None,
                });
            }
        }
    }

    /// A double or final bar line, a repeat sign: where a section can end.
    pub(super) fn section_ends_at(&self, at: Place) -> bool {
        self.line_at(at).is_some() || self.end_at(at) || self.start_from(at) == Some(at)
    }

    /// The first end-repeat after a place.
    pub(super) fn end_after(&self, at: Place) -> Option<Place> {
        self.ends
            .get(self.ends.partition_point(|end| end.at <= at))
            .map(|end| end.at)
    }

    /// The first double or final bar line after a place.
    pub(super) fn line_after(&self, at: Place) -> Option<Place> {
        self.lines
            .get(self.lines.partition_point(|line| line.at <= at))
            .map(|line| line.at)
    }

    /// The first start-repeat at or after a place.
    pub(super) fn start_from(&self, at: Place) -> Option<Place> {
        self.starts
            .get(self.starts.partition_point(|start| start.at < at))
            .map(|start| start.at)
    }

    pub(super) fn line_at(&self, at: Place) -> Option<&Line> {
        self.lines
            .binary_search_by_key(&at, |line| line.at)
            .ok()
            .and_then(|i| self.lines.get(i))
    }

    pub(super) fn end_at(&self, at: Place) -> bool {
        self.ends.binary_search_by_key(&at, |end| end.at).is_ok()
    }
}

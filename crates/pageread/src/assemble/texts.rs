//! What became of each line of text, and why is it worth looking at? What the teacher said of one is done here.

use super::System;
use super::builder::Builder;
use super::lettered::{MIDDLE, begins_with, box_of};
use super::places::bar_at;
use crate::text::{MetronomeSaid, TextAt, TextKind, TextLine};
use crate::words::{Text, is_dynamic, text_of};
use notation::{BarIndex, DirectionKind, Id, Metronome, Place};
use std::collections::BTreeMap;

/// A line of text with its place and what it was taken for.
#[derive(Clone, PartialEq, Debug)]
pub struct ReadText {
    /// Its name for edits.
    pub at: TextAt,
    /// The page, from 0; left, top, width and height in pixels of the file.
    pub page_box: (u32, [f32; 4]),
    /// Its box in pixels of its system's picture; none for what stands above the first system of its page or below the last.
    pub line_box: Option<[f32; 4]>,
    /// The bar in which it begins.
    pub bar: Option<BarIndex>,
    /// Its letters as they were read, or as somebody put them right.
    pub read: String,
    /// What was taken for its words; of a metronome mark, those before it.
    pub text: String,
    /// What it was taken for; none if it was left out.
    pub kind: Option<TextKind>,
    /// Its metronome mark.
    pub mark: Option<MetronomeSaid>,
    /// The same in words, or why it was left out.
    pub taken_for: String,
    /// How sure, from 0 to 1.
    pub sure: f32,
    /// Why it is worth looking at; empty if it is not.
    pub doubt: String,
    /// What it became in the piece.
    pub became: Vec<Id>,
}

/// What was found of the lines so far.
#[derive(Debug, Default)]
pub(super) struct Texts {
    now: Option<TextAt>,
    hers: bool,
    found: BTreeMap<TextAt, Found>,
}

#[derive(Debug, Default)]
struct Found {
    right: bool,
    kind: Option<TextKind>,
    left_out: &'static str,
    text: Option<String>,
    mark: Option<MetronomeSaid>,
    doubt: Vec<String>,
    became: Vec<Id>,
}

impl Texts {
    /// What follows is about this line.
    pub(super) fn begin(&mut self, at: TextAt, line: &TextLine) {
        self.now = Some(at);
        self.hers = line.is_said();
        let left_out = "nothing that is known here";
        let found = Found {
            left_out,
            right: line.right,
            ..Found::default()
        };
        self.found.insert(at, found);
    }

    /// Whether somebody said what the line is.
    pub(super) const fn is_hers(&self) -> bool {
        self.hers
    }

    pub(super) const fn now(&self) -> Option<TextAt> {
        self.now
    }

    fn found(&mut self) -> Option<&mut Found> {
        self.found.get_mut(&self.now?)
    }

    /// The line was taken for this; what it was taken for first stays.
    pub(super) fn kind(&mut self, kind: TextKind) {
        if let Some(found) = self.found() {
            found.kind.get_or_insert(kind);
        }
    }

    pub(super) fn left_out(&mut self, why: &'static str) {
        if let Some(found) = self.found() {
            found.left_out = why;
        }
    }

    /// Its words as they stand in the piece; those before a metronome mark.
    pub(super) fn words(&mut self, text: &str) {
        if let Some(found) = self.found()
            && found.text.is_none()
        {
            found.text = Some(text.to_owned());
        }
    }

    pub(super) fn mark(&mut self, mark: &Metronome) {
        if let Some(found) = self.found() {
            found.mark = MetronomeSaid::of(mark);
            found.kind = Some(TextKind::Tempo);
            found.text.get_or_insert_default();
        }
    }

    pub(super) fn doubt(&mut self, why: String) {
        if let Some(found) = self.found() {
            found.doubt.push(why);
        }
    }

    /// Whether somebody said that a line is right.
    pub(super) fn is_right(&self, at: TextAt) -> bool {
        self.found.get(&at).is_some_and(|found| found.right)
    }

    pub(super) fn doubt_of(&mut self, at: TextAt, why: String) {
        if let Some(found) = self.found.get_mut(&at) {
            found.doubt.push(why);
        }
    }

    /// What was taken for the number of a bar is the page's.
    pub(super) fn numbers_the_page(&mut self, at: TextAt) {
        if let Some(found) = self.found.get_mut(&at) {
            (found.kind, found.left_out) = (None, "the number of the page");
        }
    }

    pub(super) fn became(&mut self, id: Id) {
        if let Some(found) = self.found() {
            found.became.push(id);
        }
    }
}

impl Builder<'_> {
    /// Title, names and part as the teacher said them: before anything is guessed of the head.
    pub(super) fn said_of_the_head(&mut self) {
        let lines = self
            .systems
            .iter()
            .flat_map(|system| system.beyond.iter().chain(&system.words));
        for line in lines {
            let text = line.text.clone();
            match line.is {
                Some(TextKind::Title) => self.piece.credits.title = Some(text),
                Some(TextKind::Composer) => {
                    let role = super::head::role_of(&text).to_owned();
                    self.piece.credits.people.push((role, text));
                }
                Some(TextKind::Part) => self.part.name = text,
                Some(TextKind::Other) => self.piece.credits.page_words.push(text),
                _ => {}
            }
        }
    }

    /// A line of which somebody said what it is, to its place.
    pub(super) fn said(
        &mut self,
        system: usize,
        line: &TextLine,
        numbers: &mut Vec<(BarIndex, u32, TextAt)>,
    ) {
        let kind = line.is.unwrap_or(TextKind::Tempo);
        self.texts.kind(kind);
        self.texts.words(line.text.trim_matches(['⟦', '⟧', ' ']));
        if kind.of_the_head() {
            return;
        }
        let (system, line) = self.line_of(system, line);
        let text = line.text.trim_matches(['⟦', '⟧', ' ']).to_owned();
        let (left, _, right, _) = line.bounds;
        let bar = self.bar_near(system, left, false);
        match kind {
            TextKind::Rehearsal => {
                if let Some(bar) = bar {
                    self.last_letter = text.chars().next().or(self.last_letter);
                    self.letter(
                        system,
                        &line,
                        Place::start_of(bar),
                        DirectionKind::Rehearsal(text),
                    );
                }
            }
            TextKind::BarNumber => {
                if let (Some(bar), Ok(number), Some(at)) = (bar, text.parse(), self.texts.now()) {
                    numbers.push((bar, number, at));
                }
            }
            TextKind::Jump => {
                if let Some(place) = self.at_end(system, right) {
                    self.letter(system, &line, place, DirectionKind::Words(text));
                }
            }
            TextKind::Dynamic if is_dynamic(&text) => {
                if let Some(place) = self.at(system, left) {
                    self.letter(system, &line, place, DirectionKind::Dynamic(text));
                }
            }
            _ => {
                let begins = match self.systems.get(system) {
                    Some(of) if line.mark.is_some() => begins_with(of, &line),
                    _ => left,
                };
                if let Some(place) = self.at(system, begins) {
                    self.said_words(system, &line, place, text);
                }
            }
        }
    }

    fn said_words(&mut self, system: usize, line: &TextLine, place: Place, text: String) {
        let (before, mark, after) = match (line.mark.as_ref().and_then(MetronomeSaid::mark), text_of(&text)) {
            (Some(mark), _) => (Some(text), Some(mark), None),
            (None, Some(Text::Metronome { before, mark, after })) => (before, Some(mark), after),
            (None, _) => (Some(text), None, None),
        };
        for words in before.into_iter().filter(|words| !words.is_empty()) {
            self.letter(system, line, place, DirectionKind::Words(words));
        }
        if let Some(mark) = mark {
            self.letter(system, line, place, DirectionKind::Metronome(mark));
        }
        if let Some(words) = after {
            self.letter(system, line, place, DirectionKind::Words(words));
        }
    }

    /// What stands above all systems of a page or below them, as seen from the nearest of them.
    pub(super) fn seen_from_staff(&self, first: usize, line: &TextLine) -> Option<(usize, TextLine)> {
        let page = self.systems.get(first)?.page;
        let (left, top, right, bottom) = line.bounds;
        let height = f32::midpoint(top, bottom);
        let of_page = self
            .systems
            .iter()
            .enumerate()
            .filter(|(_, system)| system.page == page);
        let (number, system) = of_page.min_by(|(_, a), (_, b)| {
            let off = |system: &System| (system.middle.0 - height).abs();
            off(a).total_cmp(&off(b))
        })?;
        let x = |x: f32| (x - system.left) / system.scale;
        let y = |y: f32| MIDDLE + (y - system.middle.0) / system.scale;
        let line = TextLine {
            bounds: (x(left), y(top), x(right), y(bottom)),
            ..line.clone()
        };
        Some((number, line))
    }
}

/// Every line of text, page by page.
pub(super) fn texts(builder: &Builder<'_>) -> Vec<ReadText> {
    let mut out = Vec::new();
    for (number, system) in builder.systems.iter().enumerate() {
        let page = u32::try_from(system.page).unwrap_or(u32::MAX);
        let at = |beyond, line: &TextLine| TextAt {
            system: u32::try_from(number).unwrap_or(u32::MAX),
            beyond,
            number: line.number,
        };
        for line in &system.beyond {
            let (left, top, right, bottom) = line.bounds;
            let page_box = (page, [left, top, right - left, bottom - top]);
            out.push(read_text(builder, at(true, line), line, page_box, None, None));
        }
        for line in &system.words {
            let (left, top, right, bottom) = line.bounds;
            let line_box = Some([left, top, right - left, bottom - top]);
            let bar = bar_at(builder, number, left);
            out.push(read_text(
                builder,
                at(false, line),
                line,
                box_of(system, line),
                line_box,
                bar,
            ));
        }
    }
    out
}

fn read_text(
    builder: &Builder<'_>,
    at: TextAt,
    line: &TextLine,
    page_box: (u32, [f32; 4]),
    line_box: Option<[f32; 4]>,
    bar: Option<BarIndex>,
) -> ReadText {
    let nothing = Found::default();
    let found = builder.texts.found.get(&at).unwrap_or(&nothing);
    let text = found.text.clone().unwrap_or_else(|| line.text.clone());
    let directions = &builder.part.directions;
    let mut placed = directions
        .iter()
        .filter(|direction| found.became.contains(&direction.id));
    let bar = placed.next().map(|direction| direction.place.bar).or(bar);
    ReadText {
        at,
        page_box,
        line_box,
        bar: bar.filter(|_| found.kind.is_none_or(|kind| !kind.of_the_head())),
        read: line.text.clone(),
        taken_for: taken_for(found, &text),
        text,
        kind: found.kind,
        mark: found.mark.clone(),
        sure: line.sure,
        doubt: if !line.right && found.kind.is_some() {
            found.doubt.join("; ")
        } else {
            String::new()
        },
        became: found.became.clone(),
    }
}

fn taken_for(found: &Found, text: &str) -> String {
    let Some(kind) = found.kind else {
        return format!("“{text}” was left out: {}", found.left_out);
    };
    let mark = found.mark.as_ref().map(MetronomeSaid::said);
    match mark {
        None => format!("{} “{text}”", kind.name()),
        Some(mark) if text.is_empty() => format!("metronome mark, {mark}"),
        Some(mark) => format!("{} “{text}”, metronome mark, {mark}", kind.name()),
    }
}

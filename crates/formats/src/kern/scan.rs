//! When is each record? The text as records with their columns, each in its bar and at its offset.
//!
//! A record starts where the notes before it in its columns have ended; a bar ends where those end that go on after the
//! bar line. So the time of a bar never depends on mistakes in earlier ones.

use super::columns::{Columns, Slot, Spine, Step, Wrong};
use super::duration;
use super::records::{Kind, Record, records};
use crate::FormatError;
use crate::assemble::{LONGEST_BAR, MOST_BARS, MOST_CELLS, MOST_EVENTS};
use notation::{Quarters, Rational};

/// A token that is not null.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cell<'a> {
    pub slot: Slot,
    /// The byte where it starts.
    pub at: u32,
    pub text: &'a str,
}

/// A record with its place.
#[derive(Clone, Debug)]
pub(super) struct Line<'a> {
    pub number: u32,
    pub kind: Kind,
    pub at: u32,
    /// The whole record for comments; empty otherwise.
    pub text: &'a str,
    /// From and to in [`Scan::cells`].
    cells: (u32, u32),
    pub bar: u32,
    pub offset: Quarters,
}

/// Something wrong with the layout of the text.
#[derive(Clone, Debug)]
pub(super) struct Trouble {
    pub line: usize,
    pub bar: u32,
    pub what: Layout,
}

/// What can be wrong with it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Layout {
    Count { found: usize, expected: usize },
    Path(Wrong),
    Unended,
    More,
    Uneven,
    Held,
    Overflow,
}

/// The text read so far.
#[derive(Debug, Default)]
pub(super) struct Scan<'a> {
    pub lines: Vec<Line<'a>>,
    cells: Vec<Cell<'a>>,
    pub spines: Vec<Spine<'a>>,
    /// For each slot its spine and voice.
    pub slots: Vec<(usize, u16)>,
    /// The length of each bar that holds something.
    pub lengths: Vec<Quarters>,
    pub troubles: Vec<Trouble>,
}

impl<'a> Scan<'a> {
    /// The tokens of a line.
    pub(super) fn cells(&self, line: &Line<'a>) -> &[Cell<'a>] {
        self.cells
            .get(line.cells.0 as usize..line.cells.1 as usize)
            .unwrap_or_default()
    }
}

/// More columns than are looked through in all for times that no note tells.
const MOST_SEARCHED: usize = 50_000_000;
/// More troubles than are told.
const MOST_TROUBLES: usize = 1_000;

/// Reads the records of a text.
pub(super) fn scan(text: &str) -> Result<Scan<'_>, FormatError> {
    let mut scanner = Scanner::default();
    let mut steps = Vec::new();
    let mut tokens = Vec::new();
    for record in records(text) {
        if scanner.ended && !matches!(record.kind, Kind::Reference | Kind::Global) {
            if record.kind == Kind::Exclusive {
                scanner.trouble(record.line, Layout::More);
            }
            break;
        }
        scanner.record(&record, &mut tokens, &mut steps)?;
    }
    Ok(scanner.finish())
}

#[derive(Debug, Default)]
struct Scanner<'a> {
    scan: Scan<'a>,
    columns: Columns<'a>,
    /// Where the last note of each slot ends in its bar.
    ends: Vec<Quarters>,
    /// The duration last stated in each slot.
    last: Vec<Quarters>,
    now: Quarters,
    /// A record with time stands at `now` already.
    timed: bool,
    /// The bar holds data.
    filled: bool,
    /// A bar line was met; where its bar ended is known at the next note.
    at_bar_line: bool,
    /// The last line of the bar before, exclusive.
    uneven: Option<u32>,
    ended: bool,
    line: usize,
    /// Tokens of notes so far.
    tokens: usize,
    /// Columns looked through for a time that no note of the record tells.
    searched: usize,
}

impl<'a> Scanner<'a> {
    fn trouble(&mut self, line: usize, what: Layout) {
        if self.scan.troubles.len() < MOST_TROUBLES {
            let bar = self.bar();
            self.scan.troubles.push(Trouble { line, bar, what });
        }
    }

    fn bar(&self) -> u32 {
        let pending = usize::from(self.at_bar_line && self.filled);
        u32::try_from(self.scan.lengths.len() + pending).unwrap_or(u32::MAX)
    }

    fn record(
        &mut self,
        record: &Record<'a>,
        tokens: &mut Vec<(usize, &'a str)>,
        steps: &mut Vec<Step>,
    ) -> Result<(), FormatError> {
        self.line = record.line;
        tokens.clear();
        if !matches!(record.kind, Kind::Reference | Kind::Global) {
            tokens.extend(record.tokens());
            self.fit(record, tokens);
        }
        if record.kind == Kind::Exclusive {
            self.exclusive(tokens);
        }
        let cells = self.take_cells(tokens)?;
        let range = cells.0 as usize..cells.1 as usize;
        let bar = match record.kind {
            Kind::Data => self.data(range)?,
            Kind::Bar => {
                self.bar_line();
                self.bar()
            }
            _ => self.bar(),
        };
        let whole = matches!(record.kind, Kind::Reference | Kind::Global);
        self.scan.lines.push(Line {
            number: u32::try_from(record.line).unwrap_or(u32::MAX),
            kind: record.kind,
            at: u32::try_from(record.at).unwrap_or(u32::MAX),
            text: if whole { record.text } else { "" },
            cells,
            bar,
            offset: self.now,
        });
        if record.kind == Kind::Interpretation && tokens.iter().any(|(_, t)| is_path(t)) {
            self.paths(tokens, steps);
        }
        Ok(())
    }

    /// Fits the tokens of a record to the columns.
    fn fit(&mut self, record: &Record<'a>, tokens: &mut Vec<(usize, &'a str)>) {
        let expected = self.columns.now.len();
        if expected == 0 || tokens.len() == expected {
            return;
        }
        let found = tokens.len();
        // Doubled tabs leave empty tokens, which the syntax does not have.
        if found > expected {
            tokens.retain(|(_, token)| !token.is_empty());
        }
        if tokens.len() == expected {
            return;
        }
        self.trouble(record.line, Layout::Count { found, expected });
        tokens.truncate(expected);
    }

    fn exclusive(&mut self, tokens: &[(usize, &'a str)]) {
        let kind = |token: &'a str| token.trim_matches(|c| c == '*' || c == ' ');
        if self.columns.now.is_empty() {
            for (_, token) in tokens.iter().take(super::columns::MOST_COLUMNS) {
                let slot = self.columns.open(kind(token));
                self.columns.now.push(slot);
            }
        } else {
            for (column, (_, token)) in tokens
                .iter()
                .enumerate()
                .filter(|(_, (_, t))| t.starts_with("**"))
            {
                let Some(slot) = self.columns.now.get(column).copied() else {
                    continue;
                };
                let spine = self.columns.spine_of(slot);
                let known = self.columns.spines.get_mut(spine);
                if let Some(known) = known.filter(|known| known.kind.is_empty()) {
                    known.kind = kind(token);
                } else if self.columns.spines.get(spine).map(|s| s.kind) != Some(kind(token)) {
                    self.columns.now[column] = self.columns.open(kind(token));
                }
            }
        }
        self.grow();
    }

    fn grow(&mut self) {
        self.ends.resize(self.columns.slots.len(), Quarters::ZERO);
        self.last.resize(self.columns.slots.len(), Quarters::ONE);
    }

    fn take_cells(&mut self, tokens: &[(usize, &'a str)]) -> Result<(u32, u32), FormatError> {
        let start = self.scan.cells.len();
        for ((at, token), slot) in tokens.iter().zip(&self.columns.now) {
            if matches!(*token, "." | "*" | "!" | "") {
                continue;
            }
            self.scan.cells.push(Cell {
                slot: *slot,
                at: u32::try_from(*at).unwrap_or(u32::MAX),
                text: token,
            });
        }
        let small = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        if self.columns.slots.len() > 4 * super::columns::MOST_COLUMNS {
            return Err(self.too_much("more spines"));
        }
        Ok((small(start), small(self.scan.cells.len())))
    }

    fn too_much(&self, what: &str) -> FormatError {
        FormatError::TooMuch {
            line: self.line,
            place: format!("bar {}", self.scan.lengths.len() + 1),
            what: what.to_owned(),
        }
    }

    fn is_kern(&self, slot: Slot) -> bool {
        self.columns
            .spines
            .get(self.columns.spine_of(slot))
            .is_some_and(Spine::is_kern)
    }

    /// Places a record of data; the bar that it is in.
    fn data(&mut self, range: std::ops::Range<usize>) -> Result<u32, FormatError> {
        let cells = self.scan.cells.get(range).unwrap_or_default().to_vec();
        let kern: Vec<(Slot, Option<Quarters>)> = cells
            .iter()
            .filter(|cell| self.is_kern(cell.slot))
            .map(|cell| (cell.slot, length(cell.text, self.last[cell.slot])))
            .collect();
        self.tokens += kern.len();
        if self.tokens > MOST_EVENTS {
            return Err(self.too_much("more notes"));
        }
        let timed = kern.iter().any(|(_, length)| length.is_some());
        if !kern.is_empty() {
            self.settle_bar(&kern)?;
            self.place(&kern, timed);
            self.filled = true;
        }
        for (slot, length) in &kern {
            let Some(length) = length else { continue };
            let end = self.now + *length;
            self.last[*slot] = *length;
            if end.is_overflow() || end > LONGEST_BAR {
                self.trouble(self.line, Layout::Overflow);
            } else {
                self.ends[*slot] = end;
            }
        }
        self.timed |= timed;
        Ok(self.bar())
    }

    /// Moves the time to where the notes of these columns start.
    fn place(&mut self, kern: &[(Slot, Option<Quarters>)], timed: bool) {
        let now = self.now;
        let moved = self.timed;
        let starts = |slot: Slot| {
            let end = self.ends[slot];
            (end > now || end == now && !moved).then_some(end)
        };
        let own = kern
            .iter()
            .filter(|(_, length)| length.is_some() || !timed)
            .filter_map(|(slot, _)| starts(*slot));
        let (mut first, mut latest) = (None, None);
        for end in own {
            first = Some(first.unwrap_or(end).min(end));
            latest = Some(latest.unwrap_or(end).max(end));
        }
        if first != latest {
            let bar = self.bar();
            if self.uneven != Some(bar) {
                self.uneven = Some(bar);
                self.trouble(self.line, Layout::Uneven);
            }
        }
        let next = latest.or_else(|| self.next_end());
        if let Some(next) = next.filter(|next| *next > now) {
            self.now = next;
            self.timed = false;
        }
    }

    /// Where the first of all notes that sound now ends.
    fn next_end(&mut self) -> Option<Quarters> {
        self.searched += self.columns.now.len();
        if self.searched > MOST_SEARCHED {
            return None;
        }
        let notes = self.columns.now.iter().filter(|slot| self.is_kern(**slot));
        notes
            .map(|slot| self.ends[*slot])
            .filter(|end| *end > self.now)
            .min()
    }

    fn bar_line(&mut self) {
        self.at_bar_line = self.filled;
    }

    /// Ends the bar before the last bar line: where those columns have come that start anew.
    fn settle_bar(&mut self, starters: &[(Slot, Option<Quarters>)]) -> Result<(), FormatError> {
        if !self.at_bar_line {
            return Ok(());
        }
        let furthest = self.furthest();
        let own = starters.iter().map(|(slot, _)| self.ends[*slot]).max();
        let end = own.filter(|end| end.is_positive()).unwrap_or(furthest);
        let end = if end < furthest && self.all_held(starters, end) {
            self.trouble(self.line, Layout::Held);
            end
        } else {
            furthest
        };
        self.end_bar(end)
    }

    fn furthest(&self) -> Quarters {
        let ends = self.columns.now.iter().map(|slot| self.ends[*slot]);
        ends.max().unwrap_or_default().max(self.now)
    }

    /// True if nothing that starts now is still sounding past `end`.
    fn all_held(&self, starters: &[(Slot, Option<Quarters>)], end: Quarters) -> bool {
        starters.iter().all(|(slot, _)| self.ends[*slot] <= end) && end >= self.now
    }

    fn end_bar(&mut self, end: Quarters) -> Result<(), FormatError> {
        let bars = self.scan.lengths.len() + 1;
        if bars > MOST_BARS || bars.saturating_mul(self.columns.slots.len()) > MOST_CELLS {
            return Err(self.too_much("more bars"));
        }
        self.scan.lengths.push(end);
        for slot_end in &mut self.ends {
            *slot_end = (*slot_end - end).max(Quarters::ZERO);
        }
        self.now = Quarters::ZERO;
        self.timed = false;
        self.filled = false;
        self.at_bar_line = false;
        Ok(())
    }

    fn paths(&mut self, tokens: &[(usize, &'a str)], steps: &mut Vec<Step>) {
        steps.clear();
        let plain: Vec<&str> = tokens.iter().map(|(_, token)| *token).collect();
        if let Some(wrong) = self.columns.apply(&plain, steps) {
            self.trouble(self.line, Layout::Path(wrong));
        }
        self.grow();
        for step in steps.iter() {
            match *step {
                Step::Split(from, to) => {
                    self.ends[to] = self.ends[from];
                    self.last[to] = self.last[from];
                }
                Step::Join(into, from) => self.ends[into] = self.ends[into].max(self.ends[from]),
            }
        }
        self.ended = self.columns.now.is_empty();
    }

    fn finish(mut self) -> Scan<'a> {
        if !self.ended {
            self.trouble(self.line, Layout::Unended);
        }
        if self.filled {
            let end = self.ends.iter().copied().max().unwrap_or_default().max(self.now);
            self.scan.lengths.push(end);
        }
        self.scan.spines = self.columns.spines;
        self.scan.slots = self.columns.slots;
        later_places(&mut self.scan);
        self.scan
    }
}

/// Interpretations and comments stand where the next data stands, or at the end of their bar.
fn later_places(scan: &mut Scan<'_>) {
    let last = u32::try_from(scan.lengths.len())
        .unwrap_or(u32::MAX)
        .saturating_sub(1);
    let mut next: Option<(u32, Quarters)> = None;
    for line in scan.lines.iter_mut().rev() {
        match line.kind {
            Kind::Data => next = Some((line.bar, line.offset)),
            Kind::Bar => {}
            _ => {
                line.offset = match next {
                    Some((bar, offset)) if bar == line.bar => offset,
                    _ => scan.lengths.get(line.bar as usize).copied().unwrap_or_default(),
                };
            }
        }
        if line.bar > last && line.kind != Kind::Bar {
            line.bar = last;
            line.offset = scan.lengths.get(last as usize).copied().unwrap_or_default();
        }
    }
}

fn is_path(token: &str) -> bool {
    matches!(token, "*^" | "*v" | "*x" | "*+" | "*-")
}

/// How long a token of notes lasts; `None` for grace notes and what takes no time.
pub(super) fn length(token: &str, last: Quarters) -> Option<Quarters> {
    let first = token.split(' ').find(|part| !part.is_empty())?;
    if first.bytes().any(|b| matches!(b, b'q' | b'Q')) {
        return None;
    }
    let pitched = first.bytes().any(|b| b.is_ascii_alphabetic());
    let number = number(first);
    if number.is_empty() {
        return pitched.then_some(last);
    }
    let stated = duration::stated(number).map(|stated| stated.quarters);
    Some(stated.filter(|q| *q <= Rational::whole(400)).unwrap_or(last))
}

/// The duration's digits in a token, those of a tremolo between `@` left out.
pub(super) fn number(token: &str) -> &str {
    let mut at = 0;
    let bytes = token.as_bytes();
    while let Some(byte) = bytes.get(at) {
        if *byte == b'@' {
            at += bytes[at..].iter().take_while(|b| **b == b'@').count();
            at += bytes[at..].iter().take_while(|b| b.is_ascii_digit()).count();
            at += bytes[at..].iter().take_while(|b| **b == b'@').count();
        } else if byte.is_ascii_digit() {
            return &token[at..at + duration::span(&token[at..])];
        } else {
            at += 1;
        }
    }
    ""
}

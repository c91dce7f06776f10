//! How is the score barred? Labels, bar lines with repeats and fermatas, and what each bar holds.
//!
//! Source: Humdrum reference, barlines: the number names the bar that follows; `|` is thin, `!` thick, `:` a repeat,
//! `-` invisible, `'` and `` ` `` partial.

use super::metre;
use super::part::Reader;
use super::records::Kind;
use super::scan::{Cell, Scan};
use crate::assemble::{self, PartBar};
use notation::{BarIndex, BarSide, Barline, EventKind, Fermata, IdKind, NoteValue, Place, Quarters, Repeat};

/// What a bar-line token says.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct BarToken {
    /// The number with its letter.
    pub label: Option<String>,
    /// `==` or more.
    pub double: bool,
    /// The lines as drawn, repeats left out: `|!`.
    lines: String,
    back: bool,
    forward: bool,
    fermata: bool,
    invisible: bool,
    /// Partial or dotted: its style by name.
    partial: Option<&'static str>,
    /// Signifiers that are none of a bar line's.
    pub others: Vec<char>,
}

/// Reads a token that starts with `=`.
pub(super) fn bar_token(text: &str) -> BarToken {
    let mut token = BarToken::default();
    let rest = text.trim_start_matches('=');
    token.double = text.len() - rest.len() > 1;
    let after = rest.trim_start_matches(|c: char| c.is_ascii_digit());
    let digits = &rest[..rest.len() - after.len()];
    let style = if digits.is_empty() {
        rest
    } else {
        after.trim_start_matches(|c: char| c.is_ascii_lowercase())
    };
    if !digits.is_empty() {
        let label = &rest[..rest.len() - style.len()];
        token.label = Some(label.chars().take(40).collect());
    }
    let mut signs = String::new();
    for c in style.chars().take(100) {
        match c {
            '|' | '!' | ':' => signs.push(c),
            '-' => token.invisible = true,
            ';' => token.fermata = true,
            '\'' => token.partial = Some("short"),
            '`' => token.partial = Some("tick"),
            '"' | '.' => token.partial = Some("dotted"),
            // An editor's, or not printed.
            'y' => token.invisible = true,
            'x' | 'X' | 'Y' | '?' => {}
            other => token.others.push(other),
        }
    }
    token.back = signs.starts_with(':');
    token.forward = signs.len() > 1 && signs.ends_with(':');
    token.lines = signs.replace(':', "");
    token
}

impl BarToken {
    /// The style by its name in MusicXML, `last` being the end of the piece.
    fn style(&self, last: bool) -> Option<&'static str> {
        if self.invisible {
            return Some("none");
        }
        if self.back {
            return Some("light-heavy");
        }
        if self.forward {
            return None;
        }
        match self.lines.as_str() {
            "||" => Some("light-light"),
            "|!" | "|!|" => Some("light-heavy"),
            "!|" => Some("heavy-light"),
            "!!" => Some("heavy-heavy"),
            "!" => Some("heavy"),
            "|" => None,
            "" if self.partial.is_some() => self.partial,
            "" if self.double => Some(if last { "light-heavy" } else { "light-light" }),
            "" => None,
            _ => Some("light-light"),
        }
    }

    /// What two bar lines without music between them say together.
    fn join(&mut self, other: Self) {
        self.back |= other.back;
        self.forward |= other.forward;
        self.fermata |= other.fermata;
        self.double |= other.double;
        self.invisible &= other.invisible;
        if self.lines.len() < other.lines.len() {
            self.lines = other.lines;
        }
        self.partial = self.partial.or(other.partial);
    }
}

/// The label of each bar, and whether it is counted, from the bar lines and the lengths.
pub(super) fn labels(scan: &Scan<'_>) -> Vec<(String, bool)> {
    let bars = scan.lengths.len();
    let mut given: Vec<Option<String>> = vec![None; bars];
    let mut metres: Vec<Option<Quarters>> = vec![None; bars];
    let mut metre = None;
    let mut next_bar = 0;
    for line in &scan.lines {
        let bar = (line.bar as usize).min(bars.saturating_sub(1));
        while next_bar <= bar && (line.kind == Kind::Data || next_bar < bar) {
            if let Some(slot) = metres.get_mut(next_bar) {
                *slot = metre;
            }
            next_bar += 1;
        }
        match line.kind {
            Kind::Bar => {
                let token = scan.cells(line).iter().find(|cell| cell.text.starts_with('='));
                let label = token.and_then(|cell| bar_token(cell.text).label);
                if let (Some(slot), Some(label)) = (given.get_mut(line.bar as usize), label) {
                    *slot = Some(label);
                }
            }
            Kind::Interpretation => {
                let found = scan
                    .cells(line)
                    .iter()
                    .find_map(|cell| metre::metre_length(cell.text));
                metre = found.unwrap_or(metre);
            }
            _ => {}
        }
    }
    name_bars(&given, &metres, &scan.lengths)
}

fn name_bars(
    given: &[Option<String>],
    metres: &[Option<Quarters>],
    lengths: &[Quarters],
) -> Vec<(String, bool)> {
    let bars = lengths.len();
    let number = |label: &str| {
        label
            .trim_end_matches(|c: char| !c.is_ascii_digit())
            .parse::<u32>()
            .ok()
    };
    let short = |bar: usize| metres[bar].is_some_and(|metre| lengths[bar] < metre);
    let fills = |bar: usize| {
        bar > 0 && short(bar) && short(bar - 1) && metres[bar] == Some(lengths[bar - 1] + lengths[bar])
    };
    // The next number that is given, from each bar on.
    let mut following: Vec<Option<(usize, u32)>> = vec![None; bars + 1];
    for bar in (0..bars).rev() {
        let own = given[bar].as_deref().and_then(number).map(|n| (bar, n));
        following[bar] = own.or(following[bar + 1]);
    }
    let mut labels: Vec<(String, bool)> = Vec::with_capacity(bars);
    let mut last: Option<u32> = None;
    let (mut uncounted, mut halved) = (0_u32, false);
    for bar in 0..bars {
        if let Some(label) = &given[bar] {
            let pickup = bar == 0 && label == "0";
            last = number(label).or(last);
            labels.push((label.clone(), pickup));
            halved = false;
            continue;
        }
        let next = following[bar];
        let before = last;
        let from_next = next.and_then(|(at, n)| n.checked_sub(u32::try_from(at - bar).ok()?));
        let (label, implicit) = match (before, from_next) {
            (None, Some(n)) => (n, n == 0),
            (None, None) if bar == 0 => {
                let pickup = next.is_some() || bars > 1 && short(0);
                (u32::from(!pickup), pickup)
            }
            (None, None) => (u32::try_from(bar).unwrap_or(u32::MAX), false),
            (Some(before), _) => {
                let squeezed = next.is_some_and(|(_, n)| n == before.saturating_add(1));
                let half = squeezed || fills(bar) && !halved && !(bar == 1 && labels[0].1);
                (before.saturating_add(1), half)
            }
        };
        halved = implicit;
        if implicit && bar > 0 {
            uncounted += 1;
            labels.push((format!("X{uncounted}"), true));
        } else {
            last = Some(label);
            labels.push((label.to_string(), implicit));
        }
    }
    labels
}

/// All bar lines by the bar that they stand before, part by part.
#[derive(Debug, Default)]
pub(super) struct Boundaries {
    lines: std::collections::BTreeMap<(u32, usize), (BarToken, u32)>,
}

impl Boundaries {
    pub(super) fn add(&mut self, bar: u32, part: usize, token: BarToken, at: u32) {
        match self.lines.entry((bar, part)) {
            std::collections::btree_map::Entry::Vacant(vacant) => drop(vacant.insert((token, at))),
            std::collections::btree_map::Entry::Occupied(mut known) => {
                // Columns of one part in one record say it once.
                if known.get().0 != token {
                    known.get_mut().0.join(token);
                }
            }
        }
    }
}

impl<'a> Reader<'a, '_> {
    /// Makes the grid of bars.
    pub(super) fn make_bars(&mut self) {
        for (index, (label, implicit)) in labels(self.scan).into_iter().enumerate() {
            let bar = self.score.bar_mut(index);
            (bar.label, bar.implicit) = (label, implicit);
        }
    }

    /// Reads the bar line of a column.
    pub(super) fn bar_line(&mut self, cell: &Cell<'a>, part: usize, bar: u32, boundaries: &mut Boundaries) {
        let token = bar_token(cell.text);
        for c in &token.others {
            self.left_out(Some(part), false, &format!("“{c}” at bar lines"));
        }
        boundaries.add(bar, part, token, cell.at);
    }

    /// Ends the bar being read in all parts.
    pub(super) fn end_bar(&mut self) {
        for state in &mut self.parts {
            assemble::mark_after_graces(&mut state.part, state.first_event);
            mark_bar_rests(state);
            state.facts.push(PartBar {
                content: std::mem::take(&mut state.content),
                metre: state.metre,
                whole_rest: None,
                section_end: false,
            });
            state.first_event = state.part.events.len();
            if let Some(metre) = state.next_metre.take() {
                state.metre = metre;
            }
        }
        for slot in &mut self.slots {
            slot.graces = 0;
            slot.beams = 0;
        }
    }

    /// Puts the bar lines into the piece, when all are read.
    pub(super) fn put_bar_lines(&mut self, boundaries: Boundaries) {
        let bars = u32::try_from(self.scan.lengths.len()).unwrap_or(u32::MAX);
        for ((bar, part), (token, at)) in boundaries.lines {
            if bar > 0 {
                let place = self.end_of(bar - 1);
                let style = token.style(bar == bars);
                let repeat = token.back.then(|| repeat(false));
                let fermatas = if token.fermata {
                    vec![plain_fermata()]
                } else {
                    Vec::new()
                };
                let section_end =
                    token.back || style.is_some_and(|s| s.contains("light") || s.contains("heavy"));
                if let Some(facts) = self.parts[part].facts.get_mut(place.bar.get()) {
                    facts.section_end |= section_end;
                }
                self.put_line(part, place, BarSide::Right, style, repeat, fermatas, at);
            }
            if token.forward && bar < bars {
                let place = Place::start_of(BarIndex(bar));
                self.put_line(
                    part,
                    place,
                    BarSide::Left,
                    Some("heavy-light"),
                    Some(repeat(true)),
                    Vec::new(),
                    at,
                );
            }
        }
    }

    /// The end of a bar.
    pub(super) fn end_of(&self, bar: u32) -> Place {
        Place {
            bar: BarIndex(bar),
            offset: self.scan.lengths.get(bar as usize).copied().unwrap_or_default(),
        }
    }

    #[expect(clippy::too_many_arguments, reason = "all that a bar line says")]
    fn put_line(
        &mut self,
        part: usize,
        place: Place,
        side: BarSide,
        style: Option<&str>,
        repeat: Option<Repeat>,
        fermatas: Vec<Fermata>,
        at: u32,
    ) {
        if style.is_none() && repeat.is_none() && fermatas.is_empty() {
            return;
        }
        let cell = Cell {
            slot: 0,
            at,
            text: "=",
        };
        self.score.taken += 1;
        let id = self.id(IdKind::Barline, &cell);
        self.score.piece.barlines.push(Barline {
            id,
            part,
            place,
            side,
            style: style.map(str::to_owned),
            repeat,
            ending: None,
            fermatas,
            segno: None,
            coda: None,
        });
    }
}

fn repeat(forward: bool) -> Repeat {
    Repeat {
        forward,
        times: None,
        after_jump: None,
    }
}

fn plain_fermata() -> Fermata {
    Fermata {
        shape: String::new(),
        inverted: false,
    }
}

/// A rest alone in its voice that fills the bar is printed as a bar's rest, whatever value its length would have.
fn mark_bar_rests(state: &mut super::part::PartState) {
    let Some(metre) = state.metre else { return };
    let voices = state.part.voices.len();
    let Some(bar) = state.part.events.get_mut(state.first_event..) else {
        return;
    };
    let fills = |event: &notation::Event| {
        matches!(event.kind, EventKind::Rest { .. })
            && event.duration == metre
            && event.place.offset.is_zero()
            && !event.cue
            && event.grace.is_none()
    };
    if !bar.iter().any(fills) {
        return;
    }
    let mut in_voice = vec![0_u32; voices];
    for event in bar.iter() {
        if let Some(count) = in_voice.get_mut(usize::from(event.voice)) {
            *count += 1;
        }
    }
    for event in bar {
        if fills(event) && in_voice.get(usize::from(event.voice)) == Some(&1) {
            event.kind = EventKind::Rest { whole_bar: true };
            if event
                .written
                .as_ref()
                .is_some_and(|w| w.value != NoteValue::Whole || w.dots > 0)
            {
                event.written = None;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: Humdrum reference, barlines, "Examples".
    #[test]
    fn bar_lines_as_the_reference_shows_them() {
        let style = |text: &str| bar_token(text).style(false);
        let repeats = |text: &str| (bar_token(text).back, bar_token(text).forward);
        assert_eq!(bar_token("=29a;").label.as_deref(), Some("29a"));
        assert!(bar_token("=29c;").fermata && bar_token("====;").fermata);
        assert_eq!(style("=|"), None);
        assert_eq!(style("=!"), Some("heavy"));
        assert_eq!(style("==|!"), Some("light-heavy"));
        assert_eq!(style("=29-"), Some("none"));
        assert_eq!(style("='"), Some("short"));
        assert_eq!(style("=29`"), Some("tick"));
        assert_eq!(style("=4||"), Some("light-light"));
        assert_eq!(
            (style("=="), bar_token("==").style(true)),
            (Some("light-light"), Some("light-heavy"))
        );
        assert_eq!(repeats("=:|:"), (true, true));
        assert_eq!(repeats("=:|!|:"), (true, true));
        assert_eq!(repeats("==:|!"), (true, false));
        assert_eq!(repeats("=5!|:"), (false, true));
        assert_eq!(bar_token("=5q").others, Vec::<char>::new());
        assert_eq!(bar_token("=*").others, ['*']);
    }

    fn named(given: &[Option<&str>], lengths: &[i64]) -> Vec<String> {
        let given: Vec<Option<String>> = given.iter().map(|g| g.map(str::to_owned)).collect();
        let lengths: Vec<Quarters> = lengths.iter().map(|n| Quarters::whole(*n)).collect();
        let metres = vec![Some(Quarters::whole(4)); lengths.len()];
        name_bars(&given, &metres, &lengths)
            .into_iter()
            .map(|(label, implicit)| if implicit { format!("({label})") } else { label })
            .collect()
    }

    #[test]
    fn labels_are_those_given_or_counted() {
        let (some, none) = (Some, None);
        assert_eq!(
            named(&[none, some("1"), some("2")], &[1, 4, 4]),
            ["(0)", "1", "2"]
        );
        assert_eq!(named(&[none, some("2"), some("3")], &[4, 4, 4]), ["1", "2", "3"]);
        assert_eq!(
            named(&[some("1"), none, some("2")], &[3, 1, 4]),
            ["1", "(X1)", "2"]
        );
        assert_eq!(named(&[some("1"), none, some("3")], &[4, 4, 4]), ["1", "2", "3"]);
        assert_eq!(named(&[none, none, none], &[4, 4, 4]), ["1", "2", "3"]);
        assert_eq!(
            named(&[none, none, none, none], &[1, 4, 3, 1]),
            ["(0)", "1", "2", "(X1)"]
        );
        assert_eq!(named(&[some("12a"), some("12b")], &[4, 4]), ["12a", "12b"]);
    }
}

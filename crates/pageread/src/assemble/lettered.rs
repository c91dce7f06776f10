//! Where do the words on the page belong? Tempo, rehearsal marks and words at their notes, bar numbers held against the count of bars,
//! title and names above the music.

use super::System;
use super::builder::{Builder, Spot};
use super::head::{is_an_instrument, is_head};
use super::page_numbers::{Printed, page_numbers};
use crate::text::{TextAt, TextKind, TextLine};
use crate::words::{Text, ends_something, is_chord, kind_of, known, put_right, text_of};
use notation::{
    BarIndex, Direction, DirectionKind, Finding, How, IdKind, MetreSymbol, Metronome, MetronomeValue,
    NoteValue, Origin, Piece, Place, Severity, Side,
};

/// Pixels of a staff space in a system's picture, and the row of its middle line.
pub(super) const SPACE: f32 = 10.0;
pub(super) const MIDDLE: f32 = 112.0;
/// A capital alone is a rehearsal mark only where the reader is so sure of it.
const SURE_LETTER: f32 = 0.97;
/// So many names of chords over a part are no accident: rehearsal letters come more seldom.
const MANY_CHORDS: usize = 6;
/// Words less sure than this are told.
const DOUBTFUL: f32 = 0.8;
/// Why.
const NOT_SURE: &str = "its letters are not surely read";

impl Builder<'_> {
    /// Everything that is written in letters and figures.
    pub(super) fn words(&mut self) {
        let systems = self.systems;
        self.said_of_the_head();
        let mut numbers: Vec<(BarIndex, u32, TextAt)> = Vec::new();
        let mut told: Vec<Finding> = Vec::new();
        let all = systems.iter().flat_map(|system| &system.words);
        let chords = all.filter(|word| is_above(word) && is_chord(&word.text)).count() >= MANY_CHORDS;
        if chords {
            told.push(Finding::new(
                Severity::Note,
                "chord-names-left-out",
                "names of chords stand over this part; they were left out",
                "nothing is lost of the notes",
            ));
        }
        for (number, system) in systems.iter().enumerate() {
            let first = number == 0 || systems[number - 1].page != system.page;
            if self.is_sung_under(number) {
                told.push(self.sung(number));
            }
            for word in &system.words {
                let at = TextAt {
                    system: u32::try_from(number).unwrap_or(u32::MAX),
                    beyond: false,
                    number: word.number,
                };
                self.texts.begin(at, word);
                if word.is_said() {
                    self.said(number, word, &mut numbers);
                    continue;
                }
                if first && is_head(system, word) {
                    continue;
                }
                if first && number > 0 && self.is_running_head(word) {
                    self.texts.left_out("title or part, said before");
                    continue;
                }
                if number == 0 && is_above(word) && self.part.name.is_empty() && is_an_instrument(&word.text)
                {
                    word.text.clone_into(&mut self.part.name);
                    self.texts.kind(TextKind::Part);
                    self.doubt_of_letters(word);
                    continue;
                }
                if chords && is_above(word) && is_chord(&word.text) {
                    self.texts.left_out("the name of a chord");
                    continue;
                }
                let (line, word) = self.line_of(number, word);
                self.word(line, &word, &mut numbers, &mut told);
            }
        }
        self.head(&mut numbers);
        self.printed_numbers(&numbers, &mut told);
        self.told.words(told);
    }

    fn is_sung_under(&self, system: usize) -> bool {
        self.sung_at.get(system).is_some_and(Option::is_some)
    }

    /// Whether words stand on the line of those to be sung.
    fn is_sung(&self, system: usize, word: &TextLine) -> bool {
        let height = f32::midpoint(word.bounds.1, word.bounds.3);
        let at = self.sung_at.get(system).copied().flatten();
        !is_above(word) && at.is_some_and(|at| height > at - ONE_LINE)
    }

    /// What can only stand above a line and was found below one belongs to the next on its page (a mark over a tempo over a slur).
    pub(super) fn line_of(&self, system: usize, word: &TextLine) -> (usize, TextLine) {
        let (Some(here), Some(next)) = (self.systems.get(system), self.systems.get(system + 1)) else {
            return (system, word.clone());
        };
        if here.page != next.page || is_above(word) || self.is_sung(system, word) {
            return (system, word.clone());
        }
        let (left, top, right, bottom) = word.bounds;
        let x = |x: f32| (here.left + x * here.scale - next.left) / next.scale;
        let down = (next.middle.0 - here.middle.0) / next.scale;
        let y = |y: f32| MIDDLE + (y - MIDDLE) * here.scale / next.scale - down;
        let moved = TextLine {
            bounds: (x(left), y(top), x(right), y(bottom)),
            ..word.clone()
        };
        let below = match word.is {
            Some(kind) => matches!(kind, TextKind::Tempo | TextKind::Rehearsal | TextKind::BarNumber),
            None => word.mark.is_some() || belongs_below(word, &moved, next),
        };
        if below {
            (system + 1, moved)
        } else {
            (system, word.clone())
        }
    }

    fn word(
        &mut self,
        system: usize,
        word: &TextLine,
        numbers: &mut Vec<(BarIndex, u32, TextAt)>,
        told: &mut Vec<Finding>,
    ) {
        let place = self.systems.get(system);
        let Some(system_of) = place else { return };
        if self.is_sung(system, word) {
            self.texts.left_out("words to be sung");
            return;
        }
        if belongs_to_a_sign(system_of, word) {
            let why = "it belongs to a sign (a fingering, a tuplet, an ending, a dynamic)";
            self.texts.left_out(why);
            return;
        }
        let Some(text) = text_of(&word.text) else { return };
        let left = word.bounds.0;
        let at_start = self.at(system, left);
        match text {
            Text::Metronome {
                before,
                mut mark,
                after,
            } => {
                let begins = begins_with(system_of, word);
                let Some(place) = self.at(system, begins) else {
                    return;
                };
                if let Some(what) = self.beat_in_doubt(word, &mut mark, place) {
                    self.texts.doubt(what.to_owned());
                    let finding = Finding::new(
                        Severity::Caution,
                        "doubtful-words",
                        what,
                        "compare it with the page",
                    );
                    told.push(self.at_bar(place, finding));
                }
                self.words_at(system, word, place, before, told);
                self.letter(system, word, place, DirectionKind::Metronome(mark));
                self.words_at(system, word, place, after, told);
            }
            Text::Figures(number) => {
                self.texts.left_out("figures that number no bar");
                if let (Some(bar), Some(at)) = (self.numbered(system, word), self.texts.now()) {
                    self.texts.kind(TextKind::BarNumber);
                    numbers.push((bar, number, at));
                }
            }
            Text::Rehearsal { text, framed: true } if is_string_number(&text) && !is_above(word) => {}
            Text::Rehearsal { text, framed } => {
                let bar = self.bar_near(system, left, false);
                let alone = is_above(word)
                    && word.sure > SURE_LETTER
                    && word.bounds.3 - word.bounds.1 > 1.2 * SPACE
                    && self.begins_a_bar(system, left);
                let follows = next_letter(&text, self.last_letter);
                if (framed || alone && follows)
                    && let Some(bar) = bar
                {
                    self.last_letter = text.chars().next().or(self.last_letter);
                    self.doubt_of_letters(word);
                    self.letter(system, word, Place::start_of(bar), DirectionKind::Rehearsal(text));
                }
            }
            Text::Dynamic(letters) => {
                if let Some(place) = at_start {
                    self.doubt_of_letters(word);
                    self.letter(system, word, place, DirectionKind::Dynamic(letters));
                }
            }
            Text::Words(text) => {
                let place = if ends_something(&text) {
                    self.at_end(system, word.bounds.2)
                } else {
                    at_start
                };
                if let Some(place) = place {
                    self.words_at(system, word, place, Some(text), told);
                }
            }
        }
    }

    /// Words at a place; what was read wrongly is put right and told.
    fn words_at(
        &mut self,
        system: usize,
        word: &TextLine,
        place: Place,
        text: Option<String>,
        told: &mut Vec<Finding>,
    ) {
        let Some(text) = text else { return };
        let mut say = |of: &Self, severity, kind, what: String| {
            let finding = Finding::new(severity, kind, what, "compare it with the page");
            told.push(of.at_bar(place, finding));
        };
        let text = match put_right(&text, word.sure) {
            Some(right) => {
                self.texts.doubt(format!(
                    "read as “{text}”, and the dictionary's spelling was taken"
                ));
                say(
                    self,
                    Severity::Note,
                    "words-put-right",
                    format!("“{right}” was taken for what was read as “{text}”"),
                );
                right
            }
            None => {
                if word.sure < DOUBTFUL {
                    self.texts.doubt(NOT_SURE.to_owned());
                    say(
                        self,
                        Severity::Caution,
                        "doubtful-words",
                        format!("the words “{text}” are not surely read"),
                    );
                }
                text
            }
        };
        self.letter(system, word, place, DirectionKind::Words(text));
    }

    /// Letters that are not surely read, where no dictionary helps.
    pub(super) fn doubt_of_letters(&mut self, word: &TextLine) {
        if word.sure < DOUBTFUL {
            self.texts.doubt(NOT_SURE.to_owned());
        }
    }

    pub(super) fn letter(&mut self, system: usize, word: &TextLine, place: Place, kind: DirectionKind) {
        let side = if is_above(word) { Side::Above } else { Side::Below };
        if let Some(system) = self.systems.get(system) {
            self.put(place, side, kind, box_of(system, word), word.sure);
        }
    }

    pub(super) fn put(
        &mut self,
        place: Place,
        side: Side,
        kind: DirectionKind,
        page_box: (u32, [f32; 4]),
        sure: f32,
    ) {
        let id = self.piece.ids.give(IdKind::Direction);
        self.texts.became(id);
        match &kind {
            DirectionKind::Metronome(mark) => {
                self.texts.kind(TextKind::Tempo);
                self.texts.mark(mark);
            }
            DirectionKind::Rehearsal(text) => {
                self.texts.kind(TextKind::Rehearsal);
                self.texts.words(text);
            }
            DirectionKind::Dynamic(text) => {
                self.texts.kind(TextKind::Dynamic);
                self.texts.words(text);
            }
            DirectionKind::Words(text) => {
                self.texts.kind(kind_of(text));
                self.texts.words(text);
            }
            _ => {}
        }
        let origin = Origin {
            how: if self.texts.is_hers() {
                How::Edited
            } else {
                How::Printed
            },
            confidence: Some(sure),
            page_box: Some(page_box),
            ..Origin::default()
        };
        self.piece.provenance.origins.insert(id, origin);
        self.part.directions.push(Direction {
            id,
            place,
            staff: None,
            voice: None,
            side: Some(side),
            printed: true,
            kind,
        });
    }

    /// What is to be asked about the note of a metronome mark: it was not seen, or it was seen hollow in a metre that counts quarters
    /// or eighths. The two are hard to tell in small print (of twelve marks of the demo pieces three were misread so, no half note
    /// stood there), and the metre decides: our own judgement.
    fn beat_in_doubt(&self, word: &TextLine, mark: &mut Metronome, place: Place) -> Option<&'static str> {
        if word.text.trim_start_matches('(').trim_start().starts_with('=') {
            return Some("the note of this metronome mark was not seen; a quarter note was taken for it");
        }
        let mut metres = self.part.metres.iter().filter(|change| change.place <= place);
        let counts_halves = metres.next_back().is_none_or(|change| {
            let mut parts = change.value.parts.iter();
            change.value.symbol == MetreSymbol::Cut || parts.any(|part| part.beat_type <= 2)
        });
        if mark.beat != NoteValue::Half
            || counts_halves
            || !matches!(mark.value, MetronomeValue::PerMinute(_))
        {
            return None;
        }
        mark.beat = NoteValue::Quarter;
        Some(
            "the note of this metronome mark looked like a half note; the metre counts shorter ones, and a quarter note was taken",
        )
    }

    pub(super) fn at_bar(&self, place: Place, finding: Finding) -> Finding {
        let bar = self.piece.bars.get(place.bar.get());
        finding.at_bar(place.bar, bar.map_or("", |bar| bar.label.as_str()))
    }

    /// The place of the note or rest at which words begin: the first whose head is not left of them by more than two spaces, in the
    /// bar over which they begin; the bar's beginning where they stand before its first note.
    pub(super) fn at(&self, system: usize, left: f32) -> Option<Place> {
        let bar = self.bar_near(system, left, false)?;
        let spots = self.spots_of(system).filter(|spot| spot.place.bar == bar);
        let behind: Vec<&Spot> = spots.collect();
        if behind.first().is_none_or(|first| left < first.x) {
            return Some(Place::start_of(bar));
        }
        let nearest = behind
            .iter()
            .min_by(|a, b| (a.x - left - 8.0).abs().total_cmp(&(b.x - left - 8.0).abs()))?;
        Some(nearest.place)
    }

    /// The place of the last note or rest of the bar under which words end.
    pub(super) fn at_end(&self, system: usize, right: f32) -> Option<Place> {
        let bars = self.bar_spots.iter().filter(|bar| bar.system == system);
        let over = bars
            .clone()
            .find(|bar| bar.from <= right && right <= bar.to + 2.0 * SPACE);
        let bar = over
            .or_else(|| bars.max_by(|a, b| a.from.total_cmp(&b.from)))?
            .last;
        let last = self
            .spots
            .iter()
            .rev()
            .find(|spot| spot.place.bar == bar && !spot.grace);
        Some(last.map_or_else(|| Place::start_of(bar), |spot| spot.place))
    }

    fn spots_of(&self, system: usize) -> impl Iterator<Item = &Spot> {
        self.spots
            .iter()
            .filter(move |spot| spot.system == system && !spot.grace)
    }

    /// Whether x lies at the beginning of a bar: before its first note, or near its bar line.
    fn begins_a_bar(&self, system: usize, x: f32) -> bool {
        let mut bars = self.bar_spots.iter().filter(|bar| bar.system == system);
        bars.any(|bar| (x - bar.from).abs() < 3.0 * SPACE)
            || self.spots_of(system).next().is_none_or(|first| x < first.x)
    }

    /// The bar that figures above it number: they stand at its beginning.
    fn numbered(&self, system: usize, word: &TextLine) -> Option<BarIndex> {
        if !is_above(word) {
            return None;
        }
        let first = self.bar_spots.iter().find(|bar| bar.system == system)?;
        let first_note = self.spots_of(system).next().map_or(f32::MAX, |spot| spot.x);
        if word.bounds.0 < first_note {
            return Some(first.first);
        }
        let middle = f32::midpoint(word.bounds.0, word.bounds.2);
        let mut bars = self.bar_spots.iter().filter(|bar| bar.system == system);
        bars.find(|bar| (middle - bar.from).abs() < 2.0 * SPACE)
            .map(|bar| bar.first)
    }

    /// Bar numbers on the page against our own count: a piece that begins later is counted from there; a step is told.
    fn printed_numbers(&mut self, numbers: &[(BarIndex, u32, TextAt)], told: &mut Vec<Finding>) {
        let counted: Vec<(BarIndex, i64, i64, TextAt)> = numbers
            .iter()
            .filter_map(|(bar, printed, at)| {
                let ours: i64 = self.piece.bars.get(bar.get())?.label.parse().ok()?;
                Some((*bar, i64::from(*printed), ours, *at))
            })
            .collect();
        let counted = self.without_page_numbers(counted);
        let Some((_, printed, ours, _)) = counted.first() else {
            return;
        };
        let step = printed - ours;
        if counted.iter().all(|(_, printed, ours, _)| printed - ours == step) {
            // One number alone may be a fingering.
            if counted.len() > 1 {
                self.numbers_ahead = u32::try_from(step).unwrap_or(0);
            }
            return;
        }
        let mut last = 0;
        for (bar, printed, ours, at) in counted {
            if printed - ours != last {
                last = printed - ours;
                if self.texts.is_right(at) {
                    continue;
                }
                let label = ours.to_string();
                let what = format!("the page numbers this bar {printed}, and it was counted as bar {ours}");
                self.texts.doubt_of(at, what.clone());
                told.push(
                    Finding::new(
                        Severity::Caution,
                        "bar-number-differs",
                        what,
                        "look at the bar lines before it: one was missed, or seen where none is",
                    )
                    .at_bar(bar, &label),
                );
            }
        }
    }

    fn without_page_numbers(
        &mut self,
        counted: Vec<(BarIndex, i64, i64, TextAt)>,
    ) -> Vec<(BarIndex, i64, i64, TextAt)> {
        let printed: Vec<Printed> = counted
            .iter()
            .map(|(_, number, counted, at)| Printed {
                system: at.system as usize,
                number: *number,
                counted: *counted,
            })
            .collect();
        let of_pages = page_numbers(self.systems, &printed);
        let mut kept = Vec::new();
        for (number, of_page) in counted.into_iter().zip(of_pages) {
            if of_page && !self.texts.is_right(number.3) {
                self.texts.numbers_the_page(number.3);
            } else {
                kept.push(number);
            }
        }
        kept
    }

    fn sung(&self, system: usize) -> Finding {
        let bar = self.bar_spots.iter().find(|bar| bar.system == system);
        let finding = Finding::new(
            Severity::Note,
            "sung-words-left-out",
            "words to be sung stand under this line; they were left out",
            "nothing is lost of the notes",
        );
        match bar.and_then(|bar| Some((bar.first, self.piece.bars.get(bar.first.get())?))) {
            Some((index, bar)) => finding.at_bar(index, &bar.label),
            None => finding,
        }
    }
}

/// Numbers bars as the page does, so many ahead of our count.
pub(super) fn number_as_printed(piece: &mut Piece, findings: &mut [Finding], ahead: u32) {
    if ahead == 0 {
        return;
    }
    let further = |label: &str| {
        let digits = label.trim_end_matches(|c: char| c.is_ascii_alphabetic());
        let number: u32 = digits.parse().ok()?;
        Some(format!(
            "{}{}",
            number.checked_add(ahead)?,
            &label[digits.len()..]
        ))
    };
    for bar in &mut piece.bars {
        if let Some(label) = further(&bar.label) {
            bar.label = label;
        }
    }
    for finding in findings {
        if let Some(label) = finding.bar_label.as_deref().and_then(further) {
            finding.bar_label = Some(label);
        }
    }
}

/// Page and box of words in pixels of the file: page, then x, y, width, height.
pub(super) fn box_of(system: &System, word: &TextLine) -> (u32, [f32; 4]) {
    let (left, top, right, bottom) = word.bounds;
    let part = (f32::midpoint(left, right) / system.width.max(1.0)).clamp(0.0, 1.0);
    let middle = system.middle.0 + (system.middle.1 - system.middle.0) * part;
    let scale = system.scale;
    let page = u32::try_from(system.page).unwrap_or(u32::MAX);
    (
        page,
        [
            system.left + left * scale,
            middle + (top - MIDDLE) * scale,
            (right - left) * scale,
            (bottom - top) * scale,
        ],
    )
}

/// Whether words between two lines belong to the lower one: marks in a frame and metronome marks stand above their line; so do words
/// with a capital unless they are much nearer to the upper, and what stands on a stack of such words. Source: common practice.
fn belongs_below(word: &TextLine, seen_from_below: &TextLine, next: &System) -> bool {
    let height = |word: &TextLine| f32::midpoint(word.bounds.1, word.bounds.3);
    let (under, over) = (height(word) - MIDDLE, MIDDLE - height(seen_from_below));
    if over < 2.0 * SPACE {
        return false;
    }
    let below = &seen_from_below.bounds;
    let on_a_stack = next.words.iter().any(|other| {
        let across = other.bounds.0 < below.2 && below.0 < other.bounds.2;
        across
            && (0.0..2.5 * SPACE).contains(&(other.bounds.1 - below.3).max(0.0))
            && other.bounds.1 + SPACE > below.3
    });
    match text_of(&word.text) {
        Some(Text::Rehearsal { framed: true, text }) => !is_string_number(&text),
        Some(Text::Metronome { .. }) => true,
        Some(Text::Words(text)) => {
            let capital = text.starts_with(char::is_uppercase) && !ends_something(&text);
            on_a_stack || capital && over < 2.0 * under
        }
        _ => false,
    }
}

/// Where the tempo begins that a metronome mark ends: words just before it on its line are of it. Source: common practice; the
/// distance is our own judgement.
pub(super) fn begins_with(system: &System, mark: &TextLine) -> f32 {
    let (left, top, _, bottom) = mark.bounds;
    let before = system.words.iter().find(|other| {
        let (begins, above, ends, below) = other.bounds;
        let one_line = above < bottom && top < below;
        one_line && begins < left && (-SPACE..4.0 * SPACE).contains(&(left - ends)) && is_above(other)
    });
    before.map_or(left, |other| other.bounds.0)
}

/// Whether a letter is the first of the alphabet or the next after the last one.
fn next_letter(text: &str, last: Option<char>) -> bool {
    let Some(letter) = text.chars().next() else {
        return false;
    };
    match last {
        None => letter == 'A',
        Some(last) => u32::from(letter) == u32::from(last) + 1,
    }
}

/// One figure in a ring: a string, or a fingering.
fn is_string_number(text: &str) -> bool {
    text.len() == 1 && text.starts_with(|c: char| c.is_ascii_digit())
}

pub(super) fn is_above(word: &TextLine) -> bool {
    f32::midpoint(word.bounds.1, word.bounds.3) < MIDDLE
}

/// Whether figures or letters belong to a sign that the reader of signs has seen: a fingering, a tuplet, an ending, an ottava, bars
/// of rest, a dynamic.
fn belongs_to_a_sign(system: &System, word: &TextLine) -> bool {
    use crate::vocabulary::{Ask, Flag, Main};
    let middle = f32::midpoint(word.bounds.0, word.bounds.2);
    let near = |x: f32, spaces: f32| (x - middle).abs() < spaces * SPACE;
    let seen = &system.seen;
    match text_of(&word.text) {
        Some(Text::Figures(_)) => {
            let by_sign = seen.signs.iter().any(|sign| {
                let here = near(sign.x, 1.6);
                here && (sign.answer(Ask::Finger) > 0 || matches!(sign.main, Main::Metre))
                    || near(sign.x, 6.0) && matches!(sign.main, Main::BarsRest)
                    || near(sign.x, 5.0) && sign.is(Flag::TupletStart)
                    || near(sign.x, 5.0) && sign.is(Flag::TupletEnd)
            });
            let by_road = seen
                .roads
                .iter()
                .any(|road| road.name.starts_with(['v', '8', '1']) && near(road.x, 4.0));
            by_sign || by_road
        }
        Some(Text::Dynamic(_)) => seen.dynamics.iter().any(|mark| near(mark.x, 3.0)),
        Some(Text::Words(text)) => {
            let ottava = ["8va", "8vb", "15ma", "15mb", "8v", "va"].contains(&text.as_str());
            let ending = text.starts_with(|c: char| c.is_ascii_digit()) && text.ends_with(['.', 'a']);
            (ottava || ending) && seen.roads.iter().any(|road| near(road.x, 5.0))
                || is_a_trill(&text)
                    && seen
                        .signs
                        .iter()
                        .any(|sign| near(sign.x, 3.0) && sign.answer(Ask::Ornament) > 0)
        }
        _ => false,
    }
}

/// The letters of a trill, and what they are misread as: two letters at most, of which one is right.
fn is_a_trill(text: &str) -> bool {
    let letters = text.trim_end_matches(['.', '~', '-']);
    letters.chars().count() <= 2 && (letters.starts_with('t') || letters.ends_with('r'))
}

/// Pixels by which words of one line stand apart in height.
const ONE_LINE: f32 = 9.0;

/// The height of words to be sung under a system: most notes have a syllable on it, or words cover much of it in several pieces, most of
/// them no terms. Source: common practice; the shares are our own judgement.
pub(super) fn sung_at(system: &System) -> Option<f32> {
    use crate::vocabulary::Main;
    let height = |word: &TextLine| f32::midpoint(word.bounds.1, word.bounds.3);
    let under: Vec<&TextLine> = system
        .words
        .iter()
        .filter(|word| !is_above(word) && !word.text.contains('='))
        .collect();
    let line = |at: f32| {
        under
            .iter()
            .filter(move |word| (height(word) - at).abs() < ONE_LINE)
    };
    let fullest = under.iter().max_by_key(|word| line(height(word)).count())?;
    let at = height(fullest);
    let count = line(at).count();
    let wide: f32 = line(at).map(|word| word.bounds.2 - word.bounds.0).sum();
    let parted: usize = line(at)
        .map(|word| word.text.matches(['-', '–', '_', ' ']).count())
        .sum();
    let terms = line(at).filter(|word| known(&word.text)).count();
    let notes = system
        .seen
        .signs
        .iter()
        .filter(|sign| matches!(sign.main, Main::Note(_)))
        .count();
    let a_syllable_each = count >= 4 && count * 2 >= notes;
    let much = count + parted >= 5 && wide > 0.25 * system.width;
    ((a_syllable_each || much) && terms * 2 <= count).then_some(at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::assemble::assemble;
    use crate::signs::{Seen, Sign};
    use crate::vocabulary::{Ask, Main};
    use job::SeenWords;

    fn sign(x: f32, main: Main) -> Sign {
        let mut sign = Sign {
            values: [-9.0; 10],
            dots: [0.0, -9.0, -9.0],
            ..Sign::plain(0, x, main)
        };
        sign.answers[Ask::Value as usize] = 4;
        sign.values[4] = 0.0;
        sign
    }

    fn word(left: f32, y: f32, text: &str) -> SeenWords {
        SeenWords {
            bounds: (left, y - 8.0, left + 8.0 * 10.0, y + 8.0),
            text: text.to_owned(),
            sure: 0.99,
        }
    }

    /// Two bars of four quarter notes on each of two systems.
    fn page(words: [Vec<SeenWords>; 2]) -> Vec<System> {
        let mut systems = Vec::new();
        for words in words {
            let mut signs = vec![sign(20.0, Main::Clef(0))];
            for bar in 0..2_u8 {
                for note in 0..4_u8 {
                    signs.push(sign(
                        80.0 + f32::from(bar) * 220.0 + f32::from(note) * 50.0,
                        Main::Note(4),
                    ));
                }
                signs.push(sign(275.0 + f32::from(bar) * 220.0, Main::Bar(0)));
            }
            let seen = Seen {
                signs,
                ..Seen::default()
            };
            systems.push(System {
                page: 0,
                seen,
                left: 0.0,
                scale: 1.0,
                middle: (500.0, 500.0),
                width: 520.0,
                words: TextLine::all(&words),
                beyond: Vec::new(),
            });
        }
        systems
    }

    fn said(piece: &Piece) -> Vec<String> {
        let directions = piece.parts[0].directions.iter();
        let text = |kind: &DirectionKind| match kind {
            DirectionKind::Words(text) => text.clone(),
            DirectionKind::Rehearsal(text) => format!("[{text}]"),
            DirectionKind::Metronome(mark) => format!("{:?} {:?}", mark.beat, mark.value),
            other => format!("{other:?}"),
        };
        directions
            .map(|d| format!("{}+{} {}", d.place.bar.0, d.place.offset, text(&d.kind)))
            .collect()
    }

    #[test]
    fn words_stand_at_their_notes_and_the_words_of_the_road_map_at_the_end_of_theirs() {
        let read = assemble(&page([
            vec![
                word(12.0, 60.0, "Andante (♩ = 72)"),
                word(180.0, 160.0, "dolce"),
                word(300.0, 60.0, "⟦A⟧"),
            ],
            // A letter that does not follow the last is none.
            vec![word(420.0, 60.0, "D.C. al Fine"), word(60.0, 60.0, "X")],
        ]));
        let mut found = said(&read.piece);
        found.sort();
        let wanted = [
            "0+0 Andante",
            "0+0 Quarter PerMinute(\"72\")",
            "0+2 dolce",
            "1+0 [A]",
            "3+3 D.C. al Fine",
        ];
        assert_eq!(found, wanted);
    }

    #[test]
    fn a_mark_in_a_frame_under_a_line_belongs_to_the_next() {
        let mut systems = page([
            vec![word(300.0, 200.0, "⟦B⟧"), word(180.0, 200.0, "dolce")],
            vec![],
        ]);
        systems[1].middle = (720.0, 720.0);
        assert_eq!(said(&assemble(&systems).piece), ["0+2 dolce", "3+0 [B]"]);
    }

    #[test]
    fn a_piece_that_begins_later_is_counted_as_the_page_does() {
        let read = assemble(&page([
            vec![word(12.0, 60.0, "33")],
            vec![word(12.0, 60.0, "35")],
        ]));
        let labels: Vec<&str> = read.piece.bars.iter().map(|bar| bar.label.as_str()).collect();
        assert_eq!(labels, ["33", "34", "35", "36"]);
    }

    #[test]
    fn a_number_that_does_not_fit_the_count_is_told_with_its_bar() {
        let read = assemble(&page([vec![word(12.0, 60.0, "1")], vec![word(12.0, 60.0, "4")]]));
        let told: Vec<_> = read
            .findings
            .iter()
            .filter(|f| f.kind == "bar-number-differs")
            .collect();
        assert_eq!(told.len(), 1);
        assert_eq!(told[0].bar_label.as_deref(), Some("3"));
        assert!(told[0].what.contains("numbers this bar 4"));
    }

    #[test]
    fn the_number_of_a_page_is_not_held_against_the_bars() {
        let mut systems = page([vec![word(12.0, 60.0, "1")], vec![word(12.0, 60.0, "2")]]);
        systems[1].page = 1;
        let read = assemble(&systems);
        assert!(read.findings.iter().all(|f| f.kind != "bar-number-differs"));
        let told: Vec<&str> = read
            .places
            .texts
            .iter()
            .map(|text| text.taken_for.as_str())
            .collect();
        assert_eq!(
            told,
            ["bar number “1”", "“2” was left out: the number of the page"]
        );
    }

    #[test]
    fn what_stands_above_the_first_system_is_title_part_and_names() {
        let mut systems = page([vec![], vec![]]);
        let at = |left: f32, right: f32, top: f32, bottom: f32, text: &str| SeenWords {
            bounds: (left, top, right, bottom),
            text: text.to_owned(),
            sure: 0.95,
        };
        systems[0].beyond = TextLine::all(&[
            at(180.0, 340.0, 100.0, 135.0, "Hazel Lane"),
            at(0.0, 60.0, 160.0, 172.0, "Bassoon"),
            at(430.0, 515.0, 160.0, 172.0, "Orla Wennet"),
            at(20.0, 90.0, 300.0, 315.0, "Lento"),
            at(4.0, 16.0, 270.0, 285.0, "⟦A⟧"),
            at(200.0, 330.0, 1300.0, 1312.0, "© Wennet"),
        ]);
        let read = assemble(&systems);
        let credits = &read.piece.credits;
        assert_eq!(credits.title.as_deref(), Some("Hazel Lane"));
        assert_eq!(
            credits.people,
            [("composer".to_owned(), "Orla Wennet".to_owned())]
        );
        assert_eq!(credits.rights, ["© Wennet"]);
        assert_eq!(read.piece.parts[0].name, "Bassoon");
        assert_eq!(said(&read.piece), ["0+0 [A]", "0+0 Lento"]);
    }

    #[test]
    fn letters_of_a_trill_are_no_words_even_misread() {
        let mut systems = page([vec![word(180.0, 60.0, "lr"), word(300.0, 60.0, "lr")], vec![]]);
        systems[0].seen.signs[4].answers[Ask::Ornament as usize] = 1;
        systems[0].seen.signs[4].x = 215.0;
        assert_eq!(said(&assemble(&systems).piece), ["1+0 lr"]);
    }

    #[test]
    fn syllables_under_the_notes_are_left_out_and_told() {
        let sung = |n: u8| SeenWords {
            bounds: (
                78.0 + f32::from(n) * 50.0,
                174.0,
                92.0 + f32::from(n) * 50.0,
                186.0,
            ),
            ..word(0.0, 0.0, "la")
        };
        let read = assemble(&page([
            (0..5).map(sung).collect(),
            vec![word(180.0, 160.0, "dolce")],
        ]));
        assert_eq!(said(&read.piece), ["2+2 dolce"]);
        assert!(read.findings.iter().any(|f| f.kind == "sung-words-left-out"));
    }
}

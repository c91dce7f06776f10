//! What stands in the head and at the foot of a page? Title, names, part, rights, a tempo that stands high above the first bar.

use super::System;
use super::builder::Builder;
use super::lettered::{MIDDLE, SPACE, is_above};
use crate::text::{TextAt, TextKind, TextLine};
use crate::words::{Text, known, put_right, text_of};
use notation::{BarIndex, DirectionKind, Place, Side};

/// Words this far above the middle line of a page's first system belong to its head, unless they are terms; from the lower height on
/// those that are large and stand in the middle.
const HEAD: f32 = 75.0;
const NOT_SO_HIGH: f32 = 40.0;

impl Builder<'_> {
    /// Title or part, printed again above the first line of a later page.
    pub(super) fn is_running_head(&self, word: &TextLine) -> bool {
        let text = word.text.as_str();
        let again = |name: &str| !name.is_empty() && (text.contains(name) || name.contains(text));
        is_above(word)
            && is_a_name(text)
            && (instruments::identify_name(text).is_some() && text.len() > 3
                || again(&self.part.name) && !belongs_to_music(text)
                || self.piece.credits.title.as_deref().is_some_and(again))
    }

    /// Title, names, part and rights: what stands above the first system and below the last.
    pub(super) fn head(&mut self, numbers: &mut Vec<(BarIndex, u32, TextAt)>) {
        let systems = self.systems;
        let Some(first) = systems.first() else { return };
        let mut above: Vec<(TextAt, TextLine, bool)> = Vec::new();
        for (number, system) in systems.iter().enumerate() {
            let begins = number == 0 || systems[number - 1].page != system.page;
            if !begins {
                continue;
            }
            let at = |beyond, word: &TextLine| TextAt {
                system: u32::try_from(number).unwrap_or(u32::MAX),
                beyond,
                number: word.number,
            };
            for word in &system.beyond {
                if word.is_said() {
                    self.texts.begin(at(true, word), word);
                    if let Some((nearest, word)) = self.seen_from_staff(number, word) {
                        self.said(nearest, &word, numbers);
                    }
                } else {
                    above.push((at(true, word), word.clone(), system.page == first.page));
                }
            }
            let high = system
                .words
                .iter()
                .filter(|word| !word.is_said() && is_head(system, word));
            above.extend(high.map(|word| {
                let (left, top, right, bottom) = word.bounds;
                let (x, y) = (
                    |x: f32| system.left + x * system.scale,
                    |y: f32| system.middle.0 + (y - MIDDLE) * system.scale,
                );
                let on_page = TextLine {
                    bounds: (x(left), y(top), x(right), y(bottom)),
                    ..word.clone()
                };
                (at(false, word), on_page, system.page == first.page)
            }));
        }
        let (mut heads, feet): (Vec<_>, Vec<_>) = above
            .into_iter()
            .filter(|(_, word, _)| word.sure > 0.5)
            .partition(|(_, word, first_page)| *first_page && word.bounds.3 < first.middle.0);
        heads.sort_by(|a, b| a.1.bounds.1.total_cmp(&b.1.bounds.1));
        self.names(first, heads.into_iter().map(|(at, word, _)| (at, word)).collect());
        for (at, word, _) in feet {
            self.texts.begin(at, &word);
            self.foot(&word);
        }
    }

    /// The head of the first page.
    fn names(&mut self, first: &System, heads: Vec<(TextAt, TextLine)>) {
        let space = SPACE * first.scale;
        let (left, right) = (first.left, first.left + first.width * first.scale);
        let wide = (right - left).max(1.0);
        let height = |word: &TextLine| (word.bounds.3 - word.bounds.1) / space;
        let centre = |word: &TextLine| (f32::midpoint(word.bounds.0, word.bounds.2) - left) / wide;
        let central = |word: &TextLine| (0.3..0.7).contains(&centre(word));
        let title = heads
            .iter()
            .enumerate()
            .filter(|(_, (_, word))| is_a_name(&word.text) && height(word) > 1.3)
            .max_by(|(_, (_, a)), (_, (_, b))| {
                let weight = |word: &TextLine| height(word) + if central(word) { 1.0 } else { 0.0 };
                weight(a).total_cmp(&weight(b))
            })
            .map(|(n, _)| n)
            .filter(|_| self.piece.credits.title.is_none());
        for (n, (at, word)) in heads.iter().enumerate() {
            self.texts.begin(*at, word);
            let text = word.text.replace(['⟦', '⟧'], "").trim().to_owned();
            if Some(n) == title {
                self.texts.kind(TextKind::Title);
                self.piece.credits.title = Some(text);
            } else if self.part.name.is_empty() && is_an_instrument(&text) {
                self.texts.kind(TextKind::Part);
                self.part.name = text;
            } else if belongs_to_music(&word.text) {
                self.tempo_of_head(word);
            } else if !is_a_name(&text) {
                // A page number, a stroke.
            } else if centre(word) > 0.6 && word.bounds.2 > left + 0.8 * wide {
                self.texts.kind(TextKind::Composer);
                let role = role_of(&text);
                self.piece.credits.people.push((role.to_owned(), text));
            } else {
                self.texts.kind(TextKind::Other);
                self.piece.credits.page_words.push(text);
            }
            self.doubt_of_letters(word);
        }
    }

    /// A tempo or a mark in a frame that stands high above the first bar.
    fn tempo_of_head(&mut self, word: &TextLine) {
        if self.piece.bars.is_empty() {
            return;
        }
        let place = Place::start_of(BarIndex(0));
        let kinds = match text_of(&word.text) {
            Some(Text::Metronome { before, mark, after }) => {
                let mut kinds: Vec<DirectionKind> = before.map(DirectionKind::Words).into_iter().collect();
                kinds.push(DirectionKind::Metronome(mark));
                kinds.extend(after.map(DirectionKind::Words));
                kinds
            }
            Some(Text::Rehearsal { text, framed: true }) => {
                self.last_letter = text.chars().next().or(self.last_letter);
                vec![DirectionKind::Rehearsal(text)]
            }
            Some(Text::Words(text)) => {
                vec![DirectionKind::Words(put_right(&text, word.sure).unwrap_or(text))]
            }
            _ => Vec::new(),
        };
        let (left, top, right, bottom) = word.bounds;
        let page = self.systems.first().map_or(0, |system| system.page);
        let page_box = (
            u32::try_from(page).unwrap_or(u32::MAX),
            [left, top, right - left, bottom - top],
        );
        for kind in kinds {
            self.put(place, Side::Above, kind, page_box, word.sure);
        }
    }

    fn foot(&mut self, word: &TextLine) {
        let text = word.text.trim();
        self.texts.words(text);
        let lower = text.to_lowercase();
        if text.contains('©') || lower.contains("copyright") || lower.contains("rights reserved") {
            self.texts.kind(TextKind::Other);
            self.piece.credits.rights.push(text.to_owned());
        } else if is_a_name(text) && !self.piece.credits.page_words.iter().any(|known| known == text) {
            self.texts.kind(TextKind::Other);
            self.piece.credits.page_words.push(text.to_owned());
        }
    }
}

/// Whether words over the first line of a page are of its head: high above it, or large and in the middle.
pub(super) fn is_head(system: &System, word: &TextLine) -> bool {
    let (left, top, right, bottom) = word.bounds;
    let middle = f32::midpoint(left, right) / system.width.max(1.0);
    let title = MIDDLE - bottom > NOT_SO_HIGH
        && bottom - top > 1.7 * SPACE
        && (0.35..0.65).contains(&middle)
        && is_a_name(&word.text);
    // The composer's name over the right end.
    let name = MIDDLE - bottom > NOT_SO_HIGH && right > 0.88 * system.width && is_a_name(&word.text);
    (MIDDLE - bottom > HEAD || title || name) && !belongs_to_music(&word.text)
}

/// Whether a text in the head of a page is about the music under it: a tempo, a metronome mark, a term.
fn belongs_to_music(text: &str) -> bool {
    match text_of(text) {
        Some(Text::Metronome { .. }) => true,
        Some(Text::Words(text)) => known(&text),
        Some(Text::Rehearsal { framed, .. }) => framed,
        _ => false,
    }
}

/// Whether a text is the name of an instrument, not a letter that could be one's key.
pub(super) fn is_an_instrument(text: &str) -> bool {
    text.chars().filter(|c| c.is_alphabetic()).count() > 3
        && !text.contains('⟦')
        && instruments::identify_name(text).is_some()
}

/// A name or title: two letters at least.
fn is_a_name(text: &str) -> bool {
    text.chars().filter(|c| c.is_alphabetic()).count() >= 2
}

/// What somebody named in the head did. Source: common practice.
pub(super) fn role_of(name: &str) -> &'static str {
    let lower = name.to_lowercase();
    if lower.starts_with("arr") {
        "arranger"
    } else if lower.starts_with("ed") {
        "editor"
    } else {
        "composer"
    }
}

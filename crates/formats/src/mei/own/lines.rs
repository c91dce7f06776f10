//! What does our own writer say of bars and bar lines? Labels, counting, and which part has which line.

use super::super::music::Music;
use super::{has, words};
use crate::xml::El;
use notation::{BarIndex, BarSide, Barline, EndingKind};
use std::collections::BTreeMap;

impl<'a> Music<'a> {
    /// The label of a measure of ours.
    pub(in super::super) fn own_label(&self, el: El<'_, 'a>) -> Option<String> {
        self.own.as_ref()?;
        Some(el.attr("n").or(el.attr("label")).unwrap_or_default().to_owned())
    }

    /// Whether a measure of ours is not counted.
    pub(in super::super) fn own_uncounted(&self, el: El<'_, 'a>) -> Option<bool> {
        self.own.as_ref()?;
        Some(el.attr("metcon") == Some("false") && !has(el, "counted"))
    }

    /// The length of a bar where what stands in it does not tell.
    pub(in super::super) fn own_bar_length(&mut self, el: El<'_, 'a>) {
        if self.own.is_none() {
            return;
        }
        let said = super::after(el, "length.").and_then(|said| said.split_once('_'));
        let length =
            said.and_then(|(num, den)| Some(notation::Quarters::new(num.parse().ok()?, den.parse().ok()?)));
        if let Some(length) =
            length.filter(|length| length.is_positive() && *length <= crate::assemble::LONGEST_BAR)
            && let Some(state) = self.parts.first_mut()
        {
            state.end = state.end.max(length);
        }
    }

    /// Keeps what the words of a measure say of its bar lines.
    pub(in super::super) fn own_lines(&mut self, el: El<'_, 'a>) {
        let bar = self.bar;
        let Some(own) = &mut self.own else { return };
        for word in words(el) {
            for (side, name) in [(BarSide::Left, "left."), (BarSide::Right, "right.")] {
                if let Some(said) = word.strip_prefix(name) {
                    own.lines.entry((bar, side)).or_default().push(said.to_owned());
                }
            }
        }
    }

    /// Lets the words be true of the bar lines, when all of them stand.
    pub(super) fn finish_lines(&mut self, said: &BTreeMap<(BarIndex, BarSide), Vec<String>>) {
        let makes_line = |word: &String| word.starts_with("ending.") || word.starts_with("style.");
        for ((bar, side), _) in said.iter().filter(|(_, words)| words.iter().any(makes_line)) {
            let before = std::mem::replace(&mut self.bar, *bar);
            for part in 0..self.parts.len() {
                self.line_of(part, *side, notation::Quarters::ZERO);
            }
            self.bar = before;
        }
        for (part, state) in self.parts.iter_mut().enumerate() {
            state.lines.retain_mut(|line| {
                let Some(words) = said.get(&(line.place.bar, line.side)) else {
                    return true;
                };
                let whose = words.iter().find_map(|word| word.strip_prefix("parts."));
                words.iter().for_each(|word| tell(line, word));
                whose.is_none_or(|whose| whose.split('.').any(|one| one.parse() == Ok(part)))
            });
        }
    }

    /// A bar line inside the bar; true if the file is ours. Every staff shows it, the part has it once.
    pub(in super::super) fn own_middle(
        &mut self,
        el: El<'_, 'a>,
        part: usize,
        cursor: notation::Quarters,
    ) -> bool {
        if self.own.is_none() {
            return false;
        }
        let offset = at(el).unwrap_or(cursor);
        self.bar_line(
            el.attr("form").unwrap_or_default(),
            BarSide::Middle,
            offset,
            Some(part),
        );
        if let Some(line) = self.line_of(part, BarSide::Middle, offset) {
            words(el)
                .filter_map(|word| word.strip_prefix("form."))
                .for_each(|word| tell(line, word));
        }
        true
    }
}

impl<'a> Music<'a> {
    /// Remembers what an ending says of its stop.
    pub(in super::super) fn own_ending_begins(&mut self, el: El<'_, 'a>) {
        if let Some(own) = &mut self.own {
            own.endings.push((has(el, "open"), has(el, "stop-unsaid")));
        }
    }

    /// The stop of the ending that was begun last: none, or its number.
    pub(in super::super) fn own_ending_ends(&mut self, number: &mut String) -> bool {
        let Some((open, unsaid)) = self.own.as_mut().and_then(|own| own.endings.pop()) else {
            return true;
        };
        if unsaid {
            number.clear();
        }
        !open
    }
}

/// Number and text of an ending of ours.
pub(in super::super) fn ending(el: El<'_, '_>) -> (String, String) {
    let number = el.attr("n").unwrap_or_default();
    let number = if has(el, "spaced") {
        number.replace(',', ", ")
    } else {
        number.to_owned()
    };
    (number, el.attr("label").unwrap_or_default().to_owned())
}

/// Where a sign stands that could not be put there: in the middle of a note.
pub(super) fn at(el: El<'_, '_>) -> Option<notation::Quarters> {
    let (num, den) = super::after(el, "at.")?.split_once('_')?;
    let offset = notation::Quarters::new(num.parse().ok()?, den.parse().ok()?);
    (!offset.is_overflow() && !offset.is_negative()).then_some(offset)
}

fn tell(line: &mut Barline, word: &str) {
    if let Some(style) = word.strip_prefix("style.") {
        line.style = Some(style.to_owned());
    } else if let Some((kind, number)) = word.strip_prefix("ending.").and_then(|said| said.split_once('.')) {
        line.ending = Some(notation::Ending {
            number: number.replace('.', ","),
            text: String::new(),
            kind: match kind {
                "start" => EndingKind::Start,
                "discontinue" => EndingKind::Discontinue,
                _ => EndingKind::Stop,
            },
        });
    } else if word == "style-unsaid" {
        line.style = None;
    } else if let (Some(times), Some(repeat)) = (word.strip_prefix("times."), &mut line.repeat) {
        repeat.times = times.parse().ok();
    } else if let (Some(after), Some(repeat)) = (word.strip_prefix("after-jump."), &mut line.repeat) {
        repeat.after_jump = Some(after == "yes");
    }
}

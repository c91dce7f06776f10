//! What does our own writer say of bars and bar lines? Labels, counting, and which part has which line.

use super::super::music::Music;
use super::{has, words};
use crate::xml::El;
use notation::{BarSide, Barline};

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

    /// What the words of a measure say of its bar lines; called when both stand.
    pub(in super::super) fn own_lines(&mut self, el: El<'_, 'a>) {
        if self.own.is_none() {
            return;
        }
        let bar = self.bar;
        for (side, name) in [(BarSide::Left, "left."), (BarSide::Right, "right.")] {
            let says: Vec<String> = words(el)
                .filter_map(|word| word.strip_prefix(name))
                .map(str::to_owned)
                .collect();
            let whose: Option<Vec<usize>> = says
                .iter()
                .find_map(|word| word.strip_prefix("parts."))
                .map(|list| list.split('.').filter_map(|part| part.parse().ok()).collect());
            for (part, state) in self.parts.iter_mut().enumerate() {
                let mine = |line: &Barline| line.place.bar == bar && line.side == side;
                if whose.as_ref().is_some_and(|whose| !whose.contains(&part)) {
                    state.lines.retain(|line| !mine(line));
                    continue;
                }
                for line in state.lines.iter_mut().rev().take(8).filter(|line| mine(line)) {
                    says.iter().for_each(|word| tell(line, word));
                }
            }
        }
    }

    /// The same of a bar line inside the bar.
    pub(in super::super) fn own_middle(&mut self, el: El<'_, 'a>, part: usize) {
        if self.own.is_none() {
            return;
        }
        let says: Vec<&str> = words(el).filter_map(|word| word.strip_prefix("form.")).collect();
        if let Some(line) = self.parts.get_mut(part).and_then(|state| state.lines.last_mut()) {
            says.iter().for_each(|word| tell(line, word));
        }
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

fn tell(line: &mut Barline, word: &str) {
    if let Some(style) = word.strip_prefix("style.") {
        line.style = Some(style.to_owned());
    } else if word == "style-unsaid" {
        line.style = None;
    } else if let (Some(times), Some(repeat)) = (word.strip_prefix("times."), &mut line.repeat) {
        repeat.times = times.parse().ok();
    } else if let (Some(after), Some(repeat)) = (word.strip_prefix("after-jump."), &mut line.repeat) {
        repeat.after_jump = Some(after == "yes");
    }
}

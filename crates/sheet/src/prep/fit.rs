//! How does it fit on two pages? Levels from everything to the least, each leaving out what matters less.

use super::{Bracket, Detail, PrepSheet, Short};
use crate::words::clip;

/// How many levels there are; the last fits two pages whatever the piece.
pub const LEVELS: usize = 6;

/// What a level leaves.
struct Budget {
    /// Places to look first, and reasons for each.
    look_first: (usize, usize),
    /// Details of an answer, and letters of each.
    details: (usize, usize),
    /// Excerpts beside answers.
    answer_excerpts: usize,
    /// Trouble spots: engraved, and in all; reasons for each.
    spots: (usize, usize, usize),
    /// Rungs of the climb.
    rungs: usize,
    /// Fingerings.
    fingers: usize,
    /// Breaths or bows.
    signs: usize,
    /// Bars that come back.
    returns: usize,
    /// Words explained.
    words: usize,
}

const BUDGETS: [Budget; LEVELS] = [
    Budget {
        look_first: (5, 2),
        details: (2, 170),
        answer_excerpts: 4,
        spots: (3, 5, 3),
        rungs: 36,
        fingers: 4,
        signs: 24,
        returns: 5,
        words: 24,
    },
    Budget {
        look_first: (5, 2),
        details: (2, 140),
        answer_excerpts: 3,
        spots: (3, 4, 3),
        rungs: 30,
        fingers: 3,
        signs: 20,
        returns: 4,
        words: 18,
    },
    Budget {
        look_first: (4, 2),
        details: (2, 110),
        answer_excerpts: 2,
        spots: (3, 4, 2),
        rungs: 24,
        fingers: 3,
        signs: 16,
        returns: 3,
        words: 14,
    },
    Budget {
        look_first: (4, 2),
        details: (1, 110),
        answer_excerpts: 1,
        spots: (3, 3, 2),
        rungs: 20,
        fingers: 2,
        signs: 12,
        returns: 2,
        words: 12,
    },
    Budget {
        look_first: (3, 2),
        details: (1, 90),
        answer_excerpts: 0,
        spots: (2, 3, 2),
        rungs: 16,
        fingers: 2,
        signs: 12,
        returns: 1,
        words: 9,
    },
    Budget {
        look_first: (3, 1),
        details: (1, 70),
        answer_excerpts: 0,
        spots: (0, 3, 1),
        rungs: 12,
        fingers: 1,
        signs: 8,
        returns: 0,
        words: 6,
    },
];

/// Letters of what a file says at most, whatever the level.
const TITLE: usize = 90;
const FACT: usize = 60;
const TERM: usize = 36;
const MEANING: usize = 110;
const SAYS: usize = 150;
const REASON: usize = 90;
const DOING: usize = 150;

impl PrepSheet {
    /// The sheet with less on it: level 0 is everything, [`LEVELS`]` - 1` the least. Never more than it holds already.
    #[must_use]
    pub fn at(&self, level: usize) -> Self {
        let level = level.min(LEVELS - 1);
        let mut sheet = self.clone();
        let Some(budget) = BUDGETS.get(level) else {
            return sheet;
        };
        sheet.level = level;
        sheet.title = clip(&sheet.title, TITLE);
        for fact in sheet.facts.iter_mut().chain(&mut sheet.handed) {
            *fact = clip(fact, FACT);
        }
        sheet.facts.truncate(6);
        brackets(&mut sheet.look_first, budget.look_first.0, budget.look_first.1);
        brackets(&mut sheet.spots, budget.spots.1, budget.spots.2);
        answers(&mut sheet, budget);
        practice(&mut sheet, budget);
        sheet.glossary.cut(budget.words);
        for gloss in &mut sheet.glossary.items {
            gloss.term = clip(&gloss.term, TERM);
            gloss.meaning = clip(&gloss.meaning, MEANING);
            gloss.bars = few(&gloss.bars);
        }
        excerpts(&mut sheet, budget);
        sheet
    }
}

fn brackets(list: &mut Short<Bracket>, most: usize, reasons: usize) {
    list.cut(most);
    for bracket in &mut list.items {
        bracket.reasons.truncate(reasons);
        for reason in &mut bracket.reasons {
            *reason = clip(reason, REASON);
        }
        bracket.doing = clip(&bracket.doing, DOING);
        bracket.also = clip(&bracket.also, FACT);
    }
}

fn answers(sheet: &mut PrepSheet, budget: &Budget) {
    for answer in &mut sheet.answers {
        answer.says = clip(&answer.says, SAYS);
        answer.details.truncate(budget.details.0);
        details(&mut answer.details, budget.details.1);
    }
}

fn practice(sheet: &mut PrepSheet, budget: &Budget) {
    let letters = budget.details.1;
    if let Some(climb) = &mut sheet.climb {
        details(&mut climb.details, letters.max(140));
        climb.rungs.cut(budget.rungs);
    }
    if let Some(fingers) = &mut sheet.fingers {
        fingers.says = clip(&fingers.says, DOING);
        fingers.notes.cut(budget.fingers);
        for note in &mut fingers.notes.items {
            note.text = clip(&note.text, letters.max(110));
            note.bars = few(&note.bars);
        }
        fingers.details.truncate(budget.details.0);
        details(&mut fingers.details, letters);
    }
    if let Some(breath) = &mut sheet.breath {
        breath.says = clip(&breath.says, SAYS);
        breath.signs.cut(budget.signs);
        details(&mut breath.signs.items, REASON);
    }
    if let Some(returns) = &mut sheet.returns {
        returns.says = clip(&returns.says, SAYS);
        returns.form = clip(&returns.form, 200);
        returns.bars.cut(budget.returns);
        details(&mut returns.bars.items, REASON);
    }
}

fn details(details: &mut [Detail], letters: usize) {
    for detail in details {
        detail.label = clip(&detail.label, TERM);
        detail.text = clip(&detail.text, letters);
        detail.bars = few(&detail.bars);
    }
}

/// Only so many excerpts; a slot that nothing shows any more is not asked for.
fn excerpts(sheet: &mut PrepSheet, budget: &Budget) {
    let mut left = budget.answer_excerpts;
    // Slots stand in the order of their worth among the answers: the first are kept.
    let mut kept: Vec<String> = Vec::new();
    for slot in &sheet.slots {
        if sheet
            .answers
            .iter()
            .any(|answer| answer.slot.as_ref() == Some(&slot.id))
            && left > 0
        {
            left -= 1;
            kept.push(slot.id.clone());
        }
    }
    for answer in &mut sheet.answers {
        if !answer.slot.as_ref().is_some_and(|id| kept.contains(id)) {
            answer.slot = None;
        }
    }
    let engraved = sheet.look_first.items.iter_mut().chain(&mut sheet.spots.items);
    for bracket in engraved {
        if bracket.rank > budget.spots.0 {
            bracket.slot = None;
        }
        kept.extend(bracket.slot.clone());
    }
    sheet.slots.retain(|slot| kept.contains(&slot.id));
}

/// A list of bars by its first three runs.
fn few(bars: &[String]) -> Vec<String> {
    const MOST: usize = 4;
    if bars.len() <= MOST {
        return bars.to_vec();
    }
    let mut short: Vec<String> = bars.iter().take(MOST).cloned().collect();
    if let Some(last) = short.last_mut() {
        last.push_str("\u{a0}…");
    }
    short
}

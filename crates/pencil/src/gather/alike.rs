//! Which bars are other bars? Small letters: the same letter for the same bar, with a stroke where it differs.

use super::{Draft, Gather, free};
use crate::{Matter, worth};
use load::alike::{self, AlikeAnswer, How, LookAlike};
use notation::{BarIndex, Place};
use std::collections::BTreeMap;

/// The most letters in a piece: more are not kept in mind. Ours.
const MOST_LETTERS: usize = 6;

/// Bars that are one bar.
#[derive(Default)]
struct Group {
    /// The bar that they are.
    of: BarIndex,
    /// Later bars that are it: exactly, or with what differs.
    bars: Vec<(BarIndex, Option<String>)>,
}

pub(super) fn gather(gather: &mut Gather) {
    let own;
    let answer: &AlikeAnswer = match gather.study {
        Some(study) => &study.alike,
        None => {
            let sections = &gather.survey.road_map.unfolding.sections;
            let bounds: Vec<BarIndex> = sections.iter().map(|section| section.start.bar).collect();
            own = alike::answer(gather.ctx, &bounds);
            &own
        }
    };
    let mut groups = groups(answer);
    // Traps first, then what saves most reading; the letters then follow the page.
    groups.sort_by_key(|group| {
        (
            std::cmp::Reverse(group.traps()),
            std::cmp::Reverse(group.bars.len()),
            group.of,
        )
    });
    groups.truncate(MOST_LETTERS);
    groups.sort_by_key(|group| group.of);
    for (group, letter) in groups.iter().zip('a'..='z') {
        letters(gather, group, letter);
    }
}

impl Group {
    fn traps(&self) -> usize {
        self.bars.iter().filter(|(_, differs)| differs.is_some()).count()
    }
}

/// By the bar that they are. Shifted bars are left out: the eye does not take them for the same.
fn groups(answer: &AlikeAnswer) -> Vec<Group> {
    let mut groups: BTreeMap<BarIndex, Group> = BTreeMap::new();
    for look in &answer.look_alikes {
        let differs = match (look.how, look.differences.is_empty()) {
            (How::Same, true) => None,
            (How::Same | How::Nearly(0), false) => Some(differs(look)),
            _ => continue,
        };
        // A bar is compared with the nearest earlier one, which may itself be another.
        let of = answer
            .of(look.like)
            .filter(|like| matches!(like.how, How::Same | How::Nearly(0)));
        let root = of.map_or(look.like, |like| like.like);
        let group = groups.entry(root).or_insert_with(|| Group {
            of: root,
            bars: Vec::new(),
        });
        group.bars.push((look.bar, differs));
    }
    groups.into_values().collect()
}

fn differs(look: &LookAlike) -> String {
    look.differences.join("; ")
}

fn letters(gather: &mut Gather, group: &Group, letter: char) {
    // A single bar that comes back unchanged hardly needs a letter; a trap does.
    let base = if group.traps() > 0 {
        worth::NEARLY
    } else {
        worth::AGAIN
    };
    let of = gather.bar(group.of);
    let mut add = |bar: BarIndex, text: String, reason: String, value: f64| {
        let mut draft = Draft::new(
            Matter::LookAlikes,
            "alike",
            free(Place::start_of(bar)),
            reason,
            value,
        );
        draft.text = text;
        gather.add(draft);
    };
    add(
        group.of,
        letter.to_string(),
        format!("comes again, marked {letter} wherever it does"),
        base,
    );
    let mut again = 0;
    for (bar, differs) in &group.bars {
        match differs {
            Some(differs) => add(
                *bar,
                format!("{letter}′"),
                format!("nearly {of}: {differs}"),
                base,
            ),
            None => {
                again += 1;
                let value = worth::AGAIN * worth::AGAIN_KEEPS.powi(again - 1);
                add(*bar, letter.to_string(), format!("{of} again"), value.min(base));
            }
        }
    }
}

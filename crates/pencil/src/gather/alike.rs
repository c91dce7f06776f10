//! Which bars are other bars? Small letters: the same letter for the same passage, with a stroke where it differs.

use super::{Draft, Gather, free};
use crate::{Matter, worth};
use load::alike::{self, AlikeAnswer, How};
use notation::{BarIndex, Place};
use std::collections::BTreeMap;

/// The most letters in a piece: more are not kept in mind. Ours.
const MOST_LETTERS: usize = 6;

/// What one letter stands for.
struct Group {
    /// The bar where it comes first.
    of: BarIndex,
    /// Where it comes again.
    again: Vec<Again>,
}

/// A later place.
struct Again {
    bar: BarIndex,
    /// What is to be said of it, a clause.
    says: String,
    /// It differs in its notes: there the wrong one is played.
    differs: bool,
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
    let mut groups = groups(gather, answer);
    // Traps first, then what saves most reading; the letters then follow the page.
    groups.sort_by_key(|group| (std::cmp::Reverse((group.traps(), group.again.len())), group.of));
    groups.truncate(MOST_LETTERS);
    groups.sort_by_key(|group| group.of);
    for (group, letter) in groups.iter().zip('a'..='z') {
        letters(gather, group, letter);
    }
}

impl Group {
    fn traps(&self) -> usize {
        self.again.iter().filter(|again| again.differs).count()
    }
}

/// Single bars that are nearly another, and passages that come back as they were. Shifted ones are left out: the eye does
/// not take them for the same; and a single bar that comes back does no harm.
fn groups(gather: &Gather, answer: &AlikeAnswer) -> Vec<Group> {
    let mut groups: BTreeMap<BarIndex, Vec<Again>> = BTreeMap::new();
    for look in answer
        .look_alikes
        .iter()
        .filter(|look| look.how == How::Nearly(0))
    {
        // It is compared with the nearest earlier one, which may itself be an earlier one again.
        let same = answer.of(look.like).filter(|like| like.how == How::Same);
        let root = same.map_or(look.like, |like| like.like);
        let says = format!("nearly {}: {}", gather.bar(root), look.differences.join("; "));
        groups.entry(root).or_default().push(Again {
            bar: look.bar,
            says,
            differs: true,
        });
    }
    for passage in answer.passages.iter().filter(|passage| passage.how == How::Same) {
        let label = |bar| survey::road_map::counted_label(gather.ctx.piece, bar);
        let (from, to) = passage.bars;
        let (first, last) = passage.like;
        let says = format!(
            "bars {}–{} are bars {}–{} again",
            label(from),
            label(to),
            label(first),
            label(last)
        );
        groups.entry(first).or_default().push(Again {
            bar: from,
            says,
            differs: false,
        });
    }
    groups
        .into_iter()
        .map(|(of, mut again)| {
            again.sort_by_key(|again| again.bar);
            Group { of, again }
        })
        .collect()
}

fn letters(gather: &mut Gather, group: &Group, letter: char) {
    let base = if group.traps() > 0 {
        worth::NEARLY
    } else {
        worth::AGAIN
    };
    let bars = |differs: bool| -> Vec<String> {
        let of = group.again.iter().filter(|again| again.differs == differs);
        of.map(|again| gather.bar(again.bar)).collect()
    };
    let mut said = Vec::new();
    for (bars, how) in [
        (bars(false), "comes back at"),
        (bars(true), "comes back with a difference in"),
    ] {
        if !bars.is_empty() {
            said.push(format!("{how} {}", bars.join(", ")));
        }
    }
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
    add(group.of, letter.to_string(), said.join("; "), base);
    for (again, times) in group.again.iter().zip(0..) {
        let (stroke, value) = if again.differs {
            ("′", worth::NEARLY)
        } else {
            ("", worth::AGAIN)
        };
        let value = value * worth::AGAIN_KEEPS.powi(times);
        add(again.bar, format!("{letter}{stroke}"), again.says.clone(), value);
    }
}

//! How does a passage grow note by note, from the first or from the last? Each step keeps its place in the bar.

use super::draft::{DraftBar, Passage, Tone, fill_bar, silence};
use notation::{Quarters, Rational};

/// Most steps of one drill. Judgement: more than that is no longer one thought.
const MOST_STEPS: usize = 12;
/// Most bars of one drill.
const MOST_BARS: usize = 28;
/// Fewest notes that can grow.
const FEWEST: usize = 4;

/// A place where a step may end or begin: the tone's index among all tones of the passage.
struct Note {
    tone: usize,
    bar: usize,
    strength: u8,
}

/// One more note each time, from the first. `None` if there are too few notes.
pub(crate) fn from_start(passage: &Passage) -> Option<Vec<Passage>> {
    let notes = notes(passage);
    if notes.len() < FEWEST {
        return None;
    }
    let bars = |note: &Note| note.bar + 1;
    // The first step has two notes, the last all of them.
    let ends = chosen(notes.get(1..)?, &bars, true)?;
    Some(ends.iter().map(|end| kept(passage, 0, *end)).collect())
}

/// One more note each time, from the last.
pub(crate) fn from_end(passage: &Passage) -> Option<Vec<Passage>> {
    let notes = notes(passage);
    if notes.len() < FEWEST {
        return None;
    }
    let count = passage.bars.len();
    let bars = |note: &Note| count - note.bar;
    let last = passage.tones().count();
    let mut starts = chosen(notes.get(..notes.len() - 1)?, &bars, false)?;
    starts.reverse();
    Some(starts.iter().map(|start| kept(passage, *start, last)).collect())
}

/// The notes that are struck.
fn notes(passage: &Passage) -> Vec<Note> {
    let mut all = Vec::new();
    let mut tone_index = 0;
    let mut held = false;
    for (index, bar) in passage.bars.iter().enumerate() {
        let pulse = bar.pulse();
        for (at, tone) in bar.placed() {
            if tone.is_note() && !held {
                all.push(Note {
                    tone: tone_index,
                    bar: index,
                    strength: pulse.strength(at + bar.lead),
                });
            }
            held = tone.tied;
            tone_index += 1;
        }
    }
    all
}

/// The finest steps that are not too many: by note, by beat, by half bar, by bar; the one that is all of it always.
fn chosen(notes: &[Note], bars: &dyn Fn(&Note) -> usize, whole_is_last: bool) -> Option<Vec<usize>> {
    let whole = if whole_is_last {
        notes.last()
    } else {
        notes.first()
    }?;
    for weakest in [u8::MAX, 2, 1, 0] {
        let steps: Vec<&Note> = notes
            .iter()
            .filter(|note| note.strength <= weakest || note.tone == whole.tone)
            .collect();
        let length: usize = steps.iter().map(|note| bars(note)).sum();
        if steps.len() >= 2 && steps.len() <= MOST_STEPS && length <= MOST_BARS {
            return Some(steps.iter().map(|note| note.tone).collect());
        }
    }
    None
}

/// The passage from one tone to another (both by index, the second and what is tied to it included), the rest silent.
fn kept(passage: &Passage, from: usize, to: usize) -> Passage {
    let mut step = Passage {
        reaches: passage.reaches.clone(),
        ..Passage::default()
    };
    let mut index = 0;
    let mut to = to;
    for bar in &passage.bars {
        let first = index;
        let keep: Vec<bool> = bar
            .tones
            .iter()
            .map(|tone| {
                let here = index;
                index += 1;
                // A tie carries the last note on.
                if here == to && tone.tied {
                    to += 1;
                }
                (from..=to).contains(&here) && tone.is_note()
            })
            .collect();
        if first > to {
            break;
        }
        if keep.iter().any(|kept| *kept) {
            step.bars.push(silenced(bar, &keep));
        } else if !step.bars.is_empty() {
            step.bars.push(bar.clone());
        }
    }
    step
}

/// A bar with only some of its tones; what is silent is written as rests that show the beats.
fn silenced(bar: &DraftBar, keep: &[bool]) -> DraftBar {
    let pulse = bar.pulse();
    let groups = tuplet_groups(bar);
    let in_kept_group = |index: usize| {
        groups
            .iter()
            .find(|(from, to)| (*from..=*to).contains(&index))
            .is_some_and(|(from, to)| {
                keep.get(*from..=*to)
                    .is_some_and(|kept| kept.iter().any(|kept| *kept))
            })
    };
    let mut new = DraftBar {
        tones: Vec::new(),
        dynamics: Vec::new(),
        ..bar.clone()
    };
    let mut empty: Option<(Quarters, Quarters)> = None;
    for (index, (at, tone)) in bar.placed().enumerate() {
        let kept = keep.get(index).copied().unwrap_or(false);
        if kept || in_kept_group(index) {
            if let Some((from, length)) = empty.take() {
                new.tones.extend(silence(&pulse, from + bar.lead, length));
            }
            let mut tone = if kept { tone.clone() } else { tone.silenced() };
            tone.beams.clear();
            new.tones.push(tone);
        } else {
            let (_, length) = empty.get_or_insert((at, Quarters::ZERO));
            *length += tone.length;
        }
    }
    if let Some((from, length)) = empty {
        new.tones.extend(silence(&pulse, from + bar.lead, length));
    }
    settle_clefs(&mut new);
    // The last note kept holds on to nothing.
    let mut after = new
        .tones
        .iter()
        .skip(1)
        .map(Tone::is_note)
        .collect::<Vec<_>>()
        .into_iter();
    for tone in &mut new.tones {
        if after.next() == Some(false) {
            tone.tied = false;
        }
    }
    fill_bar(&mut new);
    new
}

/// A clef or key that changes in a silence stands where the music begins, or not at all after its end.
fn settle_clefs(bar: &mut DraftBar) {
    let sounding: Vec<(Quarters, Quarters)> = bar
        .placed()
        .filter(|(_, tone)| tone.is_note())
        .map(|(at, tone)| (at, at + tone.length))
        .collect();
    let (Some((first, _)), Some((_, end))) = (sounding.first().copied(), sounding.last().copied()) else {
        return;
    };
    if let Some((_, clef)) = bar.clefs.iter().rev().find(|(at, _)| *at <= first) {
        bar.clef = *clef;
    }
    if let Some((_, key)) = bar.keys.iter().rev().find(|(at, _)| *at <= first) {
        bar.key = key.clone();
    }
    bar.clefs.retain(|(at, _)| *at > first && *at < end);
    bar.keys.retain(|(at, _)| *at > first && *at < end);
}

/// First and last tone of each tuplet.
fn tuplet_groups(bar: &DraftBar) -> Vec<(usize, usize)> {
    let mut groups = Vec::new();
    let mut open: Option<(usize, Quarters)> = None;
    for (index, tone) in bar.tones.iter().enumerate() {
        let Some(ratio) = tone.chain.first() else {
            if let Some((from, _)) = open.take() {
                groups.push((from, index.saturating_sub(1)));
            }
            continue;
        };
        let (from, sum) = open.unwrap_or((index, Quarters::ZERO));
        let sum = sum + tone.length;
        let unit = sum / Rational::whole(i64::from(ratio.normal.max(1)));
        let plain = unit.num().count_ones() == 1 && unit.den().count_ones() == 1 && unit.is_positive();
        if plain && index > from {
            groups.push((from, index));
            open = None;
        } else {
            open = Some((from, sum));
        }
    }
    if let Some((from, _)) = open {
        groups.push((from, bar.tones.len().saturating_sub(1)));
    }
    groups
}

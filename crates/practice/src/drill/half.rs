//! How do the bars look at half speed? Every value twice as long, in bars of the written metre.

use super::draft::{DraftBar, Passage, Tone};
use notation::{NoteValue, Quarters, Rational, Written};

/// The passage with every length doubled: one bar becomes two of the same metre.
pub(crate) fn doubled(passage: &Passage) -> Passage {
    let mut slow = Passage {
        bars: Vec::new(),
        reaches: passage.reaches.clone(),
        opens: passage.opens,
        closes: passage.closes,
    };
    for bar in &passage.bars {
        slow.bars.extend(doubled_bar(bar));
    }
    // A landing leaves nothing but rests behind it.
    while slow.bars.len() > 1
        && slow
            .bars
            .last()
            .is_some_and(|bar| bar.tones.iter().all(Tone::is_rest))
    {
        slow.bars.pop();
    }
    slow.spell();
    slow
}

fn doubled_bar(bar: &DraftBar) -> Vec<DraftBar> {
    let two = Rational::whole(2);
    let lengths = lengths(bar, bar.length * two);
    let mut bars = Vec::new();
    let mut tones = bar.tones.iter().map(twice).collect::<Vec<_>>().into_iter();
    let mut over: Option<Tone> = None;
    let mut at = Quarters::ZERO;
    let mut clef = bar.clef;
    let mut key = bar.key.clone();
    for (index, length) in lengths.into_iter().enumerate() {
        let end = at + length;
        let inside = |offset: Quarters| {
            let doubled = offset * two;
            (doubled >= at && doubled < end).then(|| doubled - at)
        };
        let mut new = DraftBar {
            length,
            lead: Quarters::ZERO,
            metre: bar.metre.clone(),
            groups: bar.groups.clone(),
            key: key.clone(),
            clef,
            clefs: bar
                .clefs
                .iter()
                .filter_map(|(offset, clef)| Some((inside(*offset)?, *clef)))
                .collect(),
            keys: bar
                .keys
                .iter()
                .filter_map(|(offset, key)| Some((inside(*offset)?, key.clone())))
                .collect(),
            tones: Vec::new(),
            from: bar.from,
            words: bar.words.clone().filter(|_| index == 0),
            dynamics: bar
                .dynamics
                .iter()
                .filter_map(|(offset, mark)| Some((inside(*offset)?, mark.clone())))
                .collect(),
        };
        // A change on the new bar line stands at it.
        if let Some(position) = new.clefs.iter().position(|(offset, _)| offset.is_zero()) {
            new.clef = new.clefs.remove(position).1;
        }
        if let Some(position) = new.keys.iter().position(|(offset, _)| offset.is_zero()) {
            new.key = new.keys.remove(position).1;
        }
        let full = new.full();
        if index == 0 && bar.lead.is_positive() && length < full {
            new.lead = full - length;
        }
        let mut room = length;
        while room.is_positive() {
            let Some(tone) = over.take().or_else(|| tones.next()) else {
                break;
            };
            if tone.length <= room {
                room -= tone.length;
                new.tones.push(tone);
                continue;
            }
            let mut first = tone.lasting(room);
            first.tied = tone.is_note();
            let mut rest = tone.bare().lasting(tone.length - room);
            rest.fermatas.clone_from(&tone.fermatas);
            first.fermatas.clear();
            new.tones.push(first);
            over = Some(rest);
            room = Quarters::ZERO;
        }
        let (last_clef, last_key) = new.after();
        (clef, key) = (last_clef, last_key.clone());
        at = end;
        bars.push(new);
    }
    bars
}

/// The lengths of the bars that a doubled bar fills.
fn lengths(bar: &DraftBar, doubled: Quarters) -> Vec<Quarters> {
    let full = bar.full();
    if bar.metre.is_none() || !full.is_positive() || doubled <= full {
        return vec![doubled];
    }
    let rest = doubled.modulo(full);
    let count = usize::try_from(((doubled - rest) / full).floor())
        .unwrap_or(1)
        .min(64);
    let mut all = vec![full; count];
    if rest.is_positive() {
        // What begins late still begins late; what ends early still ends early.
        if bar.lead.is_positive() {
            all.insert(0, rest);
        } else {
            all.push(rest);
        }
    }
    all
}

fn twice(tone: &Tone) -> Tone {
    let two = Rational::whole(2);
    let mut slow = Tone {
        length: tone.length * two,
        beams: Vec::new(),
        ..tone.clone()
    };
    slow.written = tone.written.as_ref().and_then(|written| {
        let at = NoteValue::ALL.iter().position(|value| *value == written.value)?;
        Some(Written {
            value: *NoteValue::ALL.get(at + 1)?,
            ..written.clone()
        })
    });
    // Rests are grouped anew by the beats of the longer bars.
    if tone.is_rest() && tone.chain.is_empty() {
        slow.written = None;
    }
    slow
}

//! Which notes hang under one beam? Those of one beat; eighths alone by half bars.
//!
//! Source: common practice as in Gould, Behind Bars, "Beaming" (from memory).

use super::DraftBar;
use notation::{Beam, NoteValue, Quarters, Rational};

/// Beams for the tones of a bar that have none.
pub(crate) fn beam(bar: &mut DraftBar) {
    if bar.tones.iter().any(|tone| !tone.beams.is_empty()) {
        return;
    }
    let windows = windows(bar);
    let mut at = bar.lead;
    let mut group: Vec<usize> = Vec::new();
    let mut window = 0;
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (index, tone) in bar.tones.iter().enumerate() {
        let here = windows.iter().rposition(|start| *start <= at).unwrap_or(0);
        let flags = flags(tone);
        if here != window || flags == 0 || tone.is_rest() {
            groups.push(std::mem::take(&mut group));
        }
        if flags > 0 && tone.is_note() {
            group.push(index);
        }
        window = here;
        at += tone.length;
    }
    groups.push(group);
    for group in groups.into_iter().filter(|group| group.len() > 1) {
        join(bar, &group);
    }
}

/// How many flags a tone's value has.
fn flags(tone: &super::Tone) -> usize {
    match tone.written.as_ref().map(|written| written.value) {
        Some(NoteValue::Eighth) => 1,
        Some(NoteValue::N16th) => 2,
        Some(NoteValue::N32nd) => 3,
        Some(NoteValue::N64th) => 4,
        Some(NoteValue::N128th) => 5,
        _ => 0,
    }
}

/// Where beams begin anew.
fn windows(bar: &DraftBar) -> Vec<Quarters> {
    let pulse = bar.pulse();
    let beats: Vec<Quarters> = pulse
        .beats
        .iter()
        .copied()
        .filter(|beat| *beat < pulse.full)
        .collect();
    let short = pulse.beat() < Rational::ONE;
    let mut by_half = vec![Quarters::ZERO];
    by_half.extend(pulse.halves.iter().copied());
    if short && beats.len() > 1 {
        // Beats of an eighth: by groups.
        return by_half;
    }
    if pulse.compound || beats.len() < 2 || pulse.beat() > Rational::ONE {
        return split_long(&beats, &pulse);
    }
    // Halves with nothing but eighths are beamed whole; a bar of two or three beats is one half.
    let mut windows = Vec::new();
    for (index, start) in by_half.iter().enumerate() {
        let end = by_half.get(index + 1).copied().unwrap_or(pulse.full);
        let even = end - *start <= Rational::whole(3) && only_eighths(bar, *start, end);
        if even {
            windows.push(*start);
        } else {
            windows.extend(
                beats
                    .iter()
                    .copied()
                    .filter(|beat| *beat >= *start && *beat < end),
            );
        }
    }
    windows
}

/// Beats of a half note are beamed by quarters unless they divide in three.
fn split_long(beats: &[Quarters], pulse: &super::Pulse) -> Vec<Quarters> {
    if pulse.compound || pulse.beat() <= Rational::ONE {
        return beats.to_vec();
    }
    let mut all = Vec::new();
    let mut at = Quarters::ZERO;
    while at < pulse.full && all.len() < 64 {
        all.push(at);
        at += Rational::ONE;
    }
    all
}

fn only_eighths(bar: &DraftBar, start: Quarters, end: Quarters) -> bool {
    bar.placed()
        .map(|(at, tone)| (at + bar.lead, tone))
        .filter(|(at, _)| *at >= start && *at < end)
        .all(|(_, tone)| tone.is_note() && tone.length == Rational::new(1, 2) && tone.chain.is_empty())
}

/// For each tone whether it begins a pair of its own value: a short beam then points on to the next note.
fn leads_on(bar: &DraftBar) -> Vec<bool> {
    let pulse = bar.pulse();
    let leads = |(at, tone): (Quarters, &super::Tone)| {
        let position = at + bar.lead;
        let inside = position - pulse.beat_at(position).0;
        let scale = tone.chain.iter().fold(Rational::ONE, |scale, ratio| {
            scale * Rational::new(i64::from(ratio.actual), i64::from(ratio.normal))
        });
        let pair = tone
            .written
            .as_ref()
            .map_or(Rational::ONE, |written| written.value.quarters());
        (inside * scale / (pair + pair)).is_whole()
    };
    bar.placed().map(leads).collect()
}

/// Sets the beams of a group, level by level.
fn join(bar: &mut DraftBar, group: &[usize]) {
    let starts: Vec<bool> = leads_on(bar);
    let flags: Vec<usize> = group
        .iter()
        .map(|index| bar.tones.get(*index).map_or(0, flags))
        .collect();
    for (place, index) in group.iter().enumerate() {
        let own = flags[place];
        let before = place.checked_sub(1).map_or(0, |at| flags[at]);
        let after = flags.get(place + 1).copied().unwrap_or(0);
        let beams = (1..=own)
            .map(|level| match (before >= level, after >= level) {
                (true, true) => Beam::Continue,
                (true, false) => Beam::End,
                (false, true) => Beam::Begin,
                (false, false) if place + 1 == group.len() => Beam::BackwardHook,
                (false, false) if place == 0 || starts.get(*index) == Some(&true) => Beam::ForwardHook,
                (false, false) => Beam::BackwardHook,
            })
            .collect();
        if let Some(tone) = bar.tones.get_mut(*index) {
            tone.beams = beams;
        }
    }
}

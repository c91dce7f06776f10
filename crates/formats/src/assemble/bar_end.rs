//! What is known only when a bar of a part has ended? Grace notes after the last note, rests that fill the bar.

use notation::{Event, EventKind, NoteValue, Part, Quarters};

/// Grace notes after the last note of their voice in the bar belong to that note.
pub(crate) fn mark_after_graces(part: &mut Part, first_event: usize) {
    let Some(bar) = part.events.get_mut(first_event..) else {
        return;
    };
    if !bar.iter().any(|event| event.grace.is_some()) {
        return;
    }
    // For each voice where its first note stands, and (from the end) whether anything in time still follows.
    let mut followed = vec![false; part.voices.len()];
    let mut led = vec![usize::MAX; part.voices.len()];
    for (index, event) in bar.iter().enumerate() {
        if event.grace.is_none() && event.is_note() {
            let first = led.get_mut(usize::from(event.voice));
            first.into_iter().for_each(|first| *first = (*first).min(index));
        }
    }
    for (index, event) in bar.iter_mut().enumerate().rev() {
        let voice = usize::from(event.voice);
        match &mut event.grace {
            Some(grace) => {
                let leads = led.get(voice).is_some_and(|first| *first < index);
                grace.after = leads && !followed.get(voice).copied().unwrap_or(true);
            }
            None => followed
                .get_mut(voice)
                .into_iter()
                .for_each(|voice| *voice = true),
        }
    }
}

/// A rest alone in its voice that fills the bar is a whole-bar rest, whether or not the source says so.
pub(crate) fn mark_lone_rests(part: &mut Part, first_event: usize, metre: Option<Quarters>) {
    let Some(metre) = metre else { return };
    let Some(bar) = part.events.get_mut(first_event..) else {
        return;
    };
    let fills = |event: &Event| {
        let shown_whole = event.written.as_ref().is_none_or(|written| {
            written.value >= NoteValue::Whole && written.dots == 0 && written.tuplets.is_empty()
        });
        matches!(event.kind, EventKind::Rest { whole_bar: false })
            && event.duration == metre
            && event.place.offset.is_zero()
            && shown_whole
            && !event.cue
    };
    if !bar.iter().any(fills) {
        return;
    }
    let mut in_voice = vec![0_u32; part.voices.len()];
    for event in bar.iter() {
        in_voice
            .get_mut(usize::from(event.voice))
            .into_iter()
            .for_each(|count| *count += 1);
    }
    for event in bar {
        if fills(event) && in_voice.get(usize::from(event.voice)) == Some(&1) {
            event.kind = EventKind::Rest { whole_bar: true };
        }
    }
}

//! What does the player count? One voice of the part, bar by bar, as notes and rests that fill the bar.
//!
//! Grace notes and cues take no time and are left out; a chord is one note. Where a part has several voices the
//! one with the most notes is read, and in a bar where that voice is silent the one with the most notes there.

use crate::Context;
use notation::{BarIndex, Beam, Event, Head, Part, Quarters, Rational, Written};

/// True for a difference in quarter notes that is only a source's rounding: less than the shortest difference that
/// is printed, a 128th note.
pub(crate) fn is_rounding(difference: Quarters) -> bool {
    difference.abs() <= Rational::new(1, 40)
}

/// What fills a stretch of a bar.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Sound {
    /// A note that is struck here.
    Note,
    /// A note held over by a tie from the note before.
    Held,
    /// A printed rest.
    Rest,
    /// Silence that the source passes over without printing a rest.
    Gap,
}

/// One note or rest of the voice.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Item {
    /// Index into the part's events; `None` for a gap.
    pub event: Option<usize>,
    /// Where it starts, in quarter notes from the start of the bar.
    pub offset: Quarters,
    /// How long it lasts, in quarter notes.
    pub duration: Quarters,
    /// What it is.
    pub sound: Sound,
    /// Tied to the next note.
    pub tied_on: bool,
    /// What is printed for it.
    pub written: Option<Written>,
}

impl Item {
    /// Where it ends, in quarter notes from the start of the bar.
    #[must_use]
    pub fn end(&self) -> Quarters {
        self.offset + self.duration
    }

    /// True for a note, struck or held.
    #[must_use]
    pub const fn sounds(&self) -> bool {
        matches!(self.sound, Sound::Note | Sound::Held)
    }
}

/// One bar of the voice.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct VoiceBar {
    /// Notes and rests in order, without holes from the start of the bar to its end.
    pub items: Vec<Item>,
    /// How much of the bar the source wrote something for, in quarter notes (gaps at the end not counted).
    pub written: Quarters,
}

impl VoiceBar {
    /// True if nothing sounds in it.
    #[must_use]
    pub fn is_silent(&self) -> bool {
        !self.items.iter().any(Item::sounds)
    }
}

/// The voice that is read.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct MainVoice {
    /// Its name in the source.
    pub name: String,
    /// How many voices of the part hold notes.
    pub voices: usize,
    /// Its bars, one for each bar of the piece.
    pub bars: Vec<VoiceBar>,
    /// Bars in which another voice was read because this one has no notes there.
    pub borrowed: Vec<BarIndex>,
}

impl MainVoice {
    /// Reads the main voice of the part.
    #[must_use]
    pub fn read(ctx: &Context) -> Self {
        let counts = note_counts(&ctx.part.events, ctx.part.voices.len());
        let main = most(&counts);
        let mut voice = Self {
            name: ctx
                .part
                .voices
                .get(usize::from(main))
                .cloned()
                .unwrap_or_default(),
            voices: counts.iter().filter(|count| **count > 0).count(),
            bars: Vec::with_capacity(ctx.piece.bars.len()),
            borrowed: Vec::new(),
        };
        for (index, bar) in ctx.piece.bars.iter().enumerate() {
            let at = BarIndex::from_usize(index);
            let taken = voice_of_bar(ctx.part, at, main, voice.voices);
            if taken != main {
                voice.borrowed.push(at);
            }
            voice.bars.push(bar_line(ctx.part, at, taken, bar.length));
        }
        voice
    }

    /// The bar; an empty one where there is none.
    #[must_use]
    pub fn bar(&self, bar: BarIndex) -> &VoiceBar {
        const EMPTY: &VoiceBar = &VoiceBar {
            items: Vec::new(),
            written: Quarters::ZERO,
        };
        self.bars.get(bar.get()).unwrap_or(EMPTY)
    }

    /// Which voice was read and why, in words; empty where there is only one.
    #[must_use]
    pub fn says(&self) -> String {
        if self.voices < 2 {
            return String::new();
        }
        format!(
            "voice {} of {} is read, the one with the most notes",
            self.name, self.voices
        )
    }
}

fn counted(event: &Event) -> bool {
    !event.is_grace() && !event.cue
}

fn note_counts(events: &[Event], voices: usize) -> Vec<usize> {
    let mut counts = vec![0; voices.max(1)];
    for event in events.iter().filter(|event| counted(event) && event.is_note()) {
        if let Some(count) = counts.get_mut(usize::from(event.voice)) {
            *count += 1;
        }
    }
    counts
}

/// The first of the voices with the most notes.
fn most(counts: &[usize]) -> u16 {
    let best = counts.iter().copied().max().unwrap_or(0);
    let at = counts.iter().position(|count| *count == best).unwrap_or(0);
    u16::try_from(at).unwrap_or(0)
}

fn voice_of_bar(part: &Part, bar: BarIndex, main: u16, voices: usize) -> u16 {
    if voices < 2 {
        return main;
    }
    let events = part.bar_events(bar);
    if events
        .iter()
        .any(|event| event.voice == main && counted(event) && event.is_note())
    {
        return main;
    }
    let counts = note_counts(events, part.voices.len());
    if counts.iter().all(|count| *count == 0) {
        main
    } else {
        most(&counts)
    }
}

fn bar_line(part: &Part, bar: BarIndex, voice: u16, length: Quarters) -> VoiceBar {
    let first = part
        .bar_ranges
        .get(bar.get())
        .map_or(0, |range| range.start as usize);
    let mut line = VoiceBar::default();
    let mut reached = Quarters::ZERO;
    for (index, event) in part.bar_events(bar).iter().enumerate() {
        if event.voice != voice || !counted(event) || !event.duration.is_positive() {
            continue;
        }
        // A source that rounds its durations drifts: the printed values are what is counted.
        let mut item = item(first + index, event);
        if is_rounding(item.offset - reached) {
            item.offset = reached;
        }
        let start = item.offset;
        if start < reached {
            // Two events of one voice overlap: the earlier one is cut short, as the next note ends it.
            while line.items.last().is_some_and(|last| last.offset >= start) {
                line.items.pop();
            }
            if let Some(last) = line.items.last_mut() {
                last.duration = start - last.offset;
                last.written = None;
            }
        } else if start > reached {
            line.items.push(gap(reached, start));
        }
        reached = item.end();
        line.items.push(item);
    }
    line.written = reached;
    if length > reached && !is_rounding(length - reached) {
        line.items.push(gap(reached, length));
    }
    line
}

fn gap(from: Quarters, to: Quarters) -> Item {
    Item {
        event: None,
        offset: from,
        duration: to - from,
        sound: Sound::Gap,
        tied_on: false,
        written: None,
    }
}

fn item(index: usize, event: &Event) -> Item {
    let heads = event.heads();
    let sound = if event.is_note() {
        if heads.iter().all(|head| head.tie_stop) {
            Sound::Held
        } else {
            Sound::Note
        }
    } else if event.is_rest() {
        Sound::Rest
    } else {
        Sound::Gap
    };
    Item {
        event: Some(index),
        offset: event.place.offset,
        duration: printed_duration(event),
        sound,
        tied_on: heads.iter().any(is_tied_on),
        written: event.written.clone(),
    }
}

fn printed_duration(event: &Event) -> Quarters {
    let printed = event.written.as_ref().map(Written::quarters);
    printed
        .filter(|printed| is_rounding(*printed - event.duration))
        .unwrap_or(event.duration)
}

fn is_tied_on(head: &Head) -> bool {
    head.tie_start && !head.let_ring
}

/// The outermost beam at an item.
#[must_use]
pub(crate) fn beam(part: &Part, item: &Item) -> Option<Beam> {
    item.event
        .and_then(|index| part.events.get(index))
        .and_then(|event| event.beams.first().copied())
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;

    #[test]
    fn grace_notes_take_no_time_and_ties_are_held() {
        let piece = sketch("metre:3/4 g:D5/e C5/q r/e C5/e D5/q~ | D5/h. |").unwrap();
        let ctx = Context::new(&piece, 0).unwrap();
        let voice = MainVoice::read(&ctx);
        let sounds: Vec<Sound> = voice.bars[0].items.iter().map(|item| item.sound).collect();
        assert_eq!(sounds, [Sound::Note, Sound::Rest, Sound::Note, Sound::Note]);
        assert_eq!(voice.bars[1].items[0].sound, Sound::Held);
        assert_eq!(voice.bars[1].items[0].duration, Rational::whole(3));
        assert!(voice.says().is_empty());
    }

    #[test]
    fn the_voice_with_the_most_notes_is_read() {
        let mut piece = sketch("metre:2/4 C5/q C5/q | C5/h | C5/q C5/q |").unwrap();
        let part = &mut piece.parts[0];
        part.voices.push("2".to_owned());
        part.events[2].voice = 1;
        let ctx = Context::new(&piece, 0).unwrap();
        let voice = MainVoice::read(&ctx);
        assert_eq!((voice.name.as_str(), voice.voices), ("1", 2));
        assert_eq!(voice.borrowed, [BarIndex(1)]);
        assert!(voice.says().contains("voice 1 of 2"));
    }
}

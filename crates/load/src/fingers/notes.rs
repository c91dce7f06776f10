//! Which notes have to be fingered, and which of them are joined? The line with its grace notes, cut at rests and breaths.

use instruments::Instrument;
use notation::{Event, Id, Pitch, Place, Quarters};
use survey::Context;

/// One note to finger.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Note<'a> {
    pub(super) place: Place,
    pub(super) event: Id,
    pub(super) written: Pitch,
    /// As the chart reads it.
    pub(super) read: Pitch,
    /// Time until the next note of the passage starts, in quarter notes; zero for a grace note.
    pub(super) lasts: Quarters,
    /// A fingering printed at it.
    pub(super) printed: Option<&'a str>,
    /// True if a rest, a breath or a pause stands before it: the fingers have time.
    pub(super) starts: bool,
}

/// The notes of the part in written order.
pub(super) fn notes<'a>(ctx: &'a Context, instrument: &Instrument) -> Vec<Note<'a>> {
    let mut shift = Shift::new(ctx, instrument);
    let mut notes = Vec::with_capacity(ctx.line.len());
    let mut next_event = 0;
    let mut breathed = true;
    let mut ended: Option<Quarters> = None;
    for (index, line) in ctx.line.iter().enumerate() {
        let graces = ctx.part.events.get(next_event..line.event).unwrap_or_default();
        let Some(event) = ctx.event(line) else { continue };
        // After a rest the first grace note begins the passage, not the note it leads to.
        let mut starts = breathed || ended.is_some_and(|end| line.onset > end);
        for grace in graces.iter().filter(|event| event.is_grace() && !event.cue) {
            let Some(written) = grace.top_pitch() else {
                continue;
            };
            notes.push(shift.note(grace, written, Quarters::ZERO, starts));
            starts = false;
        }
        let until_next = ctx.line.get(index + 1).map(|next| next.onset - line.onset);
        let lasts = until_next
            .filter(|gap| *gap < line.duration)
            .unwrap_or(line.duration);
        notes.push(shift.note(event, line.pitch, lasts, starts));
        breathed = breathes_after(event);
        ended = Some(line.onset + line.duration);
        next_event = line.event + 1;
    }
    notes
}

fn breathes_after(event: &Event) -> bool {
    event.articulations.iter().any(|mark| mark.kind.is_break())
}

/// How the chart reads the part: a fixed number of semitones away where the part is written in another transposition.
struct Shift<'a> {
    ctx: &'a Context<'a>,
    usual: i32,
    /// Instruments whose parts come in several transpositions (horn in E♭, treble-clef euphonium, recorder with an 8).
    follows: bool,
    next: usize,
    semitones: i32,
}

impl<'a> Shift<'a> {
    fn new(ctx: &'a Context<'a>, instrument: &Instrument) -> Self {
        let usual = whole(instrument.transposition().semitones());
        let id = instrument.id;
        let follows = matches!(id, "horn" | "euphonium" | "tuba")
            || id.starts_with("trombone")
            || id.starts_with("recorder");
        let semitones = if ctx.piece.concert_pitch { -usual } else { 0 };
        Self {
            ctx,
            usual,
            follows,
            next: 0,
            semitones,
        }
    }

    fn note(&mut self, event: &'a Event, written: Pitch, lasts: Quarters, starts: bool) -> Note<'a> {
        if self.follows && !self.ctx.piece.concert_pitch {
            while let Some(change) = self.ctx.part.transpositions.get(self.next)
                && change.place <= event.place
            {
                self.semitones = whole(change.value.semitones()).saturating_sub(self.usual);
                self.next += 1;
            }
        }
        let read = if self.semitones == 0 {
            written
        } else {
            written.transposed(
                steps(self.semitones),
                notation::Rational::whole(i64::from(self.semitones)),
            )
        };
        Note {
            place: event.place,
            event: event.id,
            written,
            read,
            lasts,
            printed: printed(event, written),
            starts,
        }
    }
}

fn printed(event: &Event, written: Pitch) -> Option<&str> {
    let at_head = event.heads().iter().filter(|head| head.pitch() == Some(written));
    at_head
        .flat_map(|head| &head.technical)
        .chain(&event.technical)
        .find(|mark| mark.name == "fingering")
        .map(|mark| mark.text.as_str())
}

/// Letter steps that go with so many semitones, near enough: only the sound of the result is read.
fn steps(semitones: i32) -> i32 {
    semitones.saturating_mul(7) / 12
}

fn whole(semitones: notation::Rational) -> i32 {
    i32::try_from(semitones.floor()).unwrap_or(0)
}

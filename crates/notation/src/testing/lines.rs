//! Which notes stand in each voice? Chords, rests and spaces on the filled bars; grace notes; ties; beams; tuplet brackets.

use super::Maker;
use super::rhythm::Slot;
use crate::{
    Anchor, Beam, Event, EventKind, Grace, Head, HeadNote, IdKind, NoteValue, Part, Pitch, Place,
    PrintedAccidental, Quarters, Rational, Span, SpanKind, Step, TupletRatio, Written,
};

impl Maker<'_> {
    /// Fills a part: its first voice in every bar, others in some. `rests` tells the bars in which it is silent.
    pub(super) fn music(&mut self, part: &mut Part, rests: &[bool]) {
        let voices = 1 + self.choices.below(self.palette.voices.max(1));
        const NAMES: [&str; 4] = ["1", "2", "5", "alto"];
        part.voices = NAMES[..voices.min(4)]
            .iter()
            .map(|name| (*name).to_owned())
            .collect();
        let mut used = vec![true; voices];
        for (voice, used) in used.iter_mut().enumerate() {
            let before = part.events.len();
            for (bar, silent) in rests.iter().enumerate() {
                if voice == 0 || !silent && self.choices.chance(140) {
                    self.voice_bar(part, voice, bar, *silent);
                }
            }
            *used = part.events.len() > before;
            self.ties(part, before);
        }
        if !used.iter().all(|used| *used) {
            // Voices are indices: those after an unused one move up.
            let new: Vec<u16> = used
                .iter()
                .scan(0, |next, used| {
                    let this = *next;
                    *next += u16::from(*used);
                    Some(this)
                })
                .collect();
            let mut kept = used.iter();
            part.voices.retain(|_| *kept.next().unwrap_or(&true));
            for event in &mut part.events {
                event.voice = new[usize::from(event.voice)];
            }
        }
    }

    fn voice_bar(&mut self, part: &mut Part, voice: usize, bar: usize, silent: bool) {
        let length = self.piece.bars[bar].length;
        let staff = if part.staves > 1 && voice > 0 { 2 } else { 1 };
        let mut place = Place {
            bar: crate::BarIndex::from_usize(bar),
            offset: Quarters::ZERO,
        };
        if silent || self.choices.chance(15) {
            let mut event = self.event(place, EventKind::Rest { whole_bar: true }, length, voice, staff);
            event.printed = !self.chance(self.palette.hidden, 20);
            part.events.push(event);
            return;
        }
        let first = part.events.len();
        // A further voice may end before the bar does.
        let filled = if voice > 0 && self.choices.chance(60) && (length * Rational::new(64, 1)).den() == 1 {
            length * Rational::new(1, 2)
        } else {
            length
        };
        let mut open: Vec<(usize, TupletRatio)> = Vec::new();
        for slot in self.fill(filled) {
            let kind = self.kind(
                staff,
                part.staves,
                voice > 0 && slot.starts.is_empty() && slot.ends == 0,
            );
            if matches!(kind, EventKind::Chord(_)) && self.chance(self.palette.graces, 25) {
                self.graces(part, place, voice, staff, false);
            }
            let mut event = self.event(place, kind, slot.duration, voice, staff);
            event.cue = event.is_note() && self.chance(self.palette.cues, 10);
            event.printed = event.kind == EventKind::Space || !self.chance(self.palette.hidden, 8);
            if event.kind != EventKind::Space {
                event.written = Some(slot.written.clone());
            }
            let at = part.events.len();
            open.extend(slot.starts.iter().map(|ratio| (at, *ratio)));
            part.events.push(event);
            self.close_tuplets(part, &slot, &mut open, at);
            place.offset += slot.duration;
        }
        if self.chance(self.palette.graces, 20) && part.events.last().is_some_and(Event::is_note) {
            self.graces(part, place, voice, staff, true);
        }
        if let [only] = &mut part.events[first..]
            && only.is_rest()
            && Some(only.duration) == self.metres[bar]
            && only
                .written
                .as_ref()
                .is_none_or(|w| w.value >= NoteValue::Whole && w.dots == 0)
        {
            // A rest alone in its bar that fills it is a whole-bar rest.
            only.kind = EventKind::Rest { whole_bar: true };
        }
        if self.palette.beams {
            self.beams(&mut part.events[first..]);
        }
    }

    fn close_tuplets(
        &mut self,
        part: &mut Part,
        slot: &Slot,
        open: &mut Vec<(usize, TupletRatio)>,
        at: usize,
    ) {
        for _ in 0..slot.ends {
            let Some((from, ratio)) = open.pop() else { return };
            let anchor = |event: &Event| Anchor {
                place: event.place,
                element: Some(event.id),
            };
            let span = Span {
                id: self.piece.ids.give(IdKind::Span),
                kind: SpanKind::Tuplet {
                    actual: ratio.actual,
                    normal: ratio.normal,
                    bracket: self.choices.chance(200),
                },
                start: part.events.get(from).map(anchor),
                end: part.events.get(at).map(anchor),
                staff: part.events.get(from).map(|event| event.staff),
                side: None,
            };
            part.spans.push(span);
        }
    }

    fn event(&mut self, place: Place, kind: EventKind, duration: Quarters, voice: usize, staff: u8) -> Event {
        let staff = match &kind {
            EventKind::Chord(heads) => heads.first().map_or(staff, |head| head.staff),
            _ => staff,
        };
        Event {
            id: self.piece.ids.give(IdKind::Event),
            place,
            kind,
            duration,
            written: None,
            grace: None,
            cue: false,
            voice: u16::try_from(voice).unwrap_or(0),
            staff,
            printed: true,
            beams: Vec::new(),
            articulations: Vec::new(),
            ornaments: Vec::new(),
            technical: Vec::new(),
            fermatas: Vec::new(),
            dynamics: Vec::new(),
            arpeggio: None,
            lyrics: Vec::new(),
        }
    }

    fn kind(&mut self, staff: u8, staves: u8, space: bool) -> EventKind {
        if self.choices.chance(30) {
            return EventKind::Rest { whole_bar: false };
        }
        if space && self.choices.chance(25) {
            return EventKind::Space;
        }
        let count = if self.chance(self.palette.chords, 40) {
            2 + self.choices.below(2)
        } else {
            1
        };
        let mut heads = vec![self.head(staff)];
        for _ in 1..count {
            let head_staff = if staves > 1 && self.choices.chance(40) {
                3 - staff
            } else {
                staff
            };
            let head = self.head(head_staff);
            if heads.iter().all(|known: &Head| known.note != head.note) {
                heads.push(head);
            }
        }
        EventKind::Chord(heads)
    }

    fn head(&mut self, staff: u8) -> Head {
        let step = Step::from_index(i32::try_from(self.choices.below(7)).unwrap_or(0));
        let octave = [4, 5, 3, 2, 6][self.choices.below(5)];
        let natural = Pitch::new(step, 0, octave);
        let mut head = Head {
            id: self.piece.ids.give(IdKind::Head),
            note: HeadNote::Pitch(natural),
            staff,
            accidental: None,
            tie_start: false,
            tie_stop: false,
            let_ring: false,
            technical: Vec::new(),
            shape: None,
            parentheses: false,
        };
        if self.chance(self.palette.unpitched, 6) {
            head.note = HeadNote::Unpitched(self.choices.chance(200).then_some(natural));
            return head;
        }
        let (alter, sign) = self.alteration();
        head.note = HeadNote::Pitch(Pitch { alter, ..natural });
        if self.choices.chance(70) {
            let special = self.choices.below(6);
            head.accidental = Some(PrintedAccidental {
                sign: sign.to_owned(),
                alter: Some(alter),
                cautionary: special == 1,
                editorial: special == 2,
                parentheses: special == 1 || special == 3,
            });
        }
        head
    }

    fn alteration(&mut self) -> (Rational, &'static str) {
        if self.chance(self.palette.microtones, 6) {
            return self.choices.pick(&[
                (Rational::new(1, 2), "quarter-sharp"),
                (Rational::new(-1, 2), "quarter-flat"),
                (Rational::new(-3, 2), "three-quarters-flat"),
            ]);
        }
        self.choices.pick(&[
            (Rational::ZERO, "natural"),
            (Rational::ZERO, "natural"),
            (Rational::ONE, "sharp"),
            (Rational::whole(-1), "flat"),
            (Rational::ZERO, "natural"),
            (Rational::whole(2), "double-sharp"),
            (Rational::whole(-2), "flat-flat"),
        ])
    }

    fn graces(&mut self, part: &mut Part, place: Place, voice: usize, staff: u8, after: bool) {
        let count = 1 + self.choices.below(3);
        let slash = self.choices.chance(128);
        for order in 0..count {
            let head = self.head(staff);
            let mut event = self.event(place, EventKind::Chord(vec![head]), Quarters::ZERO, voice, staff);
            event.written = Some(Written {
                value: self
                    .choices
                    .pick(&[NoteValue::Eighth, NoteValue::N16th, NoteValue::Quarter]),
                dots: 0,
                tuplets: Vec::new(),
            });
            event.grace = Some(Grace {
                slash,
                order: u16::try_from(order).unwrap_or(0),
                after,
            });
            event.cue = self.chance(self.palette.cues, 4);
            part.events.push(event);
        }
    }

    /// Ties some notes to the next event of the voice, which then has their pitch.
    fn ties(&mut self, part: &mut Part, first: usize) {
        if !self.palette.ties {
            return;
        }
        let line: Vec<usize> = (first..part.events.len())
            .filter(|at| !part.events[*at].is_grace())
            .collect();
        for pair in line.windows(2) {
            if !self.choices.chance(25) {
                continue;
            }
            let bars = &self.piece.bars;
            let (a, b) = (&part.events[pair[0]], &part.events[pair[1]]);
            let (end, next) = (a.end_offset(), b.place);
            let meets = next.bar == a.place.bar && next.offset == end
                || next.bar == a.place.bar.next()
                    && next.offset.is_zero()
                    && bars.get(a.place.bar.get()).is_some_and(|bar| bar.length == end);
            // A note that was tied already would be tied to something else.
            if !meets || !a.is_note() || !b.is_note() || b.heads().iter().any(|head| head.tie_stop) {
                continue;
            }
            let Some(pitch) = a.heads().iter().find_map(Head::pitch) else {
                continue;
            };
            if b.heads()[0].pitch().is_none()
                || b.heads().iter().skip(1).any(|head| head.pitch() == Some(pitch))
            {
                continue;
            }
            if let EventKind::Chord(heads) = &mut part.events[pair[0]].kind {
                heads
                    .iter_mut()
                    .filter(|head| head.pitch() == Some(pitch))
                    .for_each(|head| head.tie_start = true);
            }
            if let EventKind::Chord(heads) = &mut part.events[pair[1]].kind {
                heads[0].note = HeadNote::Pitch(pitch);
                heads[0].tie_stop = true;
                heads[0].accidental = None;
            }
        }
    }

    /// Joins runs of short notes.
    fn beams(&mut self, events: &mut [Event]) {
        let levels = |event: &Event| -> usize {
            match event
                .written
                .as_ref()
                .filter(|_| event.is_note() && !event.is_grace())
            {
                Some(written) => match written.value {
                    NoteValue::Eighth => 1,
                    NoteValue::N16th => 2,
                    NoteValue::N32nd => 3,
                    _ => 0,
                },
                None => 0,
            }
        };
        let mut at = 0;
        while at < events.len() {
            let most = 2 + self.choices.below(4);
            let run = events[at..]
                .iter()
                .take(most)
                .take_while(|event| levels(event) > 0)
                .count();
            if run < 2 || !self.choices.chance(180) {
                at += run.max(1);
                continue;
            }
            let counts: Vec<usize> = events[at..at + run].iter().map(levels).collect();
            for (nth, event) in events[at..at + run].iter_mut().enumerate() {
                event.beams = (1..=counts[nth])
                    .map(|level| {
                        let before = nth > 0 && counts[nth - 1] >= level;
                        let after = counts.get(nth + 1).is_some_and(|count| *count >= level);
                        match (before, after) {
                            (false, true) => Beam::Begin,
                            (true, true) => Beam::Continue,
                            (true, false) => Beam::End,
                            (false, false) if nth == 0 => Beam::ForwardHook,
                            (false, false) => Beam::BackwardHook,
                        }
                    })
                    .collect();
            }
            at += run;
        }
    }
}

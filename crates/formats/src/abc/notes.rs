//! What does a note become? Heads with pitch and accidental, chords, rests, grace notes, in time and in print.

use super::reader::Reader;
use super::setup::Propagate;
use super::tempo::value_of;
use super::tokens::Note;
use super::voice::Last;
use crate::assemble::LONGEST_BAR;
use notation::{
    Alter, BarGroup, BarGroupKind, Event, EventKind, Grace, Head, HeadNote, Id, IdKind, NoteValue, Pitch,
    PrintedAccidental, Quarters, Rational, TupletRatio, Written,
};

/// More bars than all rests of several bars in a tune make.
const MOST_REST_BARS: usize = 20_000;

impl Reader {
    /// A note: of a chord, a grace note, or one of its own.
    pub(super) fn note(&mut self, note: &Note) {
        self.imply_bar_line();
        let length = self.usable_length(note.length);
        if self.voice().chord.is_some() {
            let head = self.head(note);
            let voice = self.voice();
            let Some(chord) = &mut voice.chord else { return };
            if chord.heads.is_empty() {
                chord.length = length;
            }
            let mut head = head;
            apply_to_head(&mut head, &mut chord.marks);
            if chord.heads.len() < 100 {
                chord.heads.push(head);
                chord.tied.push(false);
            }
            return;
        }
        let id = self.id(IdKind::Event);
        let head = self.head(note);
        let kind = EventKind::Chord(vec![head]);
        if self.voice().grace.is_some() {
            self.grace_event(id, kind, length);
        } else {
            self.timed_event(id, kind, length, true);
        }
    }

    pub(super) fn close_chord(&mut self, length: Rational) {
        let Some(chord) = self.voice().chord.take() else {
            return;
        };
        if chord.heads.is_empty() {
            self.caution(
                "chord-empty",
                "a chord has no notes; it was left out",
                "check this bar against the page",
            );
            return;
        }
        let length = chord.length * self.usable_length(length);
        self.at.0 = chord.start;
        let tied = chord.tied;
        let kind = EventKind::Chord(chord.heads);
        if self.voice().grace.is_some() {
            self.grace_event(chord.id, kind, length);
        } else {
            self.timed_event(chord.id, kind, length, true);
            for (head, tied) in tied.into_iter().enumerate() {
                if tied {
                    self.tie_head(head);
                }
            }
        }
    }

    pub(super) fn rest(&mut self, length: Rational, printed: bool) {
        self.imply_bar_line();
        if self.voice().grace.is_some() || self.voice().chord.is_some() {
            self.caution(
                "rest-misplaced",
                "a rest stands in a chord or among grace notes; it was left out",
                "check this bar against the page",
            );
            return;
        }
        let length = self.usable_length(length);
        let id = self.id(IdKind::Event);
        self.timed_event(id, EventKind::Rest { whole_bar: false }, length, printed);
    }

    fn usable_length(&mut self, length: Rational) -> Rational {
        if length.is_positive() {
            return length;
        }
        self.caution(
            "duration-unusable",
            "the length of a note is no length of time; one unit was taken",
            "check the rhythm of this bar against the page",
        );
        Rational::ONE
    }

    /// The head of a note: its pitch by signature, accidentals before it in the bar, and ties.
    fn head(&mut self, note: &Note) -> Head {
        let octave = note.octave + self.voice().octaves();
        let octave = match i8::try_from(octave) {
            Ok(octave) if (-1..=10).contains(&octave) => octave,
            _ => {
                self.caution(
                    "pitch-unclear",
                    "a note is so high or low that no instrument has it; its octave was cut",
                    "check its octave on the page",
                );
                i8::try_from(octave.clamp(-1, 10)).unwrap_or(4)
            }
        };
        let alter = match note.accidental {
            Some(alter) => {
                let voice = self.voice();
                voice
                    .accidentals
                    .retain(|(step, of, _)| !(*step == note.step && *of == octave));
                voice.accidentals.push((note.step, octave, alter));
                alter
            }
            None => self.alter_in_force(note, octave),
        };
        let pitch = Pitch {
            step: note.step,
            alter,
            octave,
        };
        let id = self.score.piece.ids.give(IdKind::Head);
        Head {
            id,
            note: HeadNote::Pitch(pitch),
            staff: 1,
            accidental: note.accidental.map(printed_accidental),
            tie_start: false,
            tie_stop: false,
            let_ring: false,
            technical: Vec::new(),
            shape: None,
            parentheses: false,
        }
    }

    /// What a letter without a sign means here.
    fn alter_in_force(&mut self, note: &Note, octave: i8) -> Alter {
        let propagate = self.setup.propagate;
        let voice = self.voice();
        let layer = voice.layer;
        // A tie carries the sign over the bar line: common practice.
        let tied = voice
            .ties
            .iter()
            .find(|tie| tie.layer == layer && tie.pitch.step == note.step && tie.pitch.octave == octave);
        if let Some(tie) = tied
            && voice.grace.is_none()
        {
            return tie.pitch.alter;
        }
        let plain = voice.signature_of(note.step);
        if propagate == Propagate::Not {
            return plain;
        }
        let same = voice
            .accidentals
            .iter()
            .find(|(step, of, _)| *step == note.step && *of == octave);
        if let Some((.., alter)) = same {
            return *alter;
        }
        let other = voice
            .accidentals
            .iter()
            .rev()
            .find(|(step, ..)| *step == note.step)
            .map(|(.., alter)| *alter);
        match other {
            Some(alter) if propagate == Propagate::Pitch => alter,
            Some(alter) if alter != plain => {
                self.remark(
                    "accidental-other-octave",
                    "this letter has an accidental in another octave of the bar; it was taken to hold only there, as in staff notation",
                );
                plain
            }
            _ => plain,
        }
    }

    fn blank(&mut self, id: Id, kind: EventKind, duration: Quarters) -> Event {
        let voice = self.voice();
        Event {
            id,
            place: voice.place(),
            kind,
            duration,
            written: None,
            grace: None,
            cue: false,
            voice: voice.layer,
            staff: 1,
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

    /// A grace note or chord: no time, its printed value set when the group closes.
    fn grace_event(&mut self, id: Id, kind: EventKind, length: Rational) {
        if !self.take() {
            return;
        }
        let mut event = self.blank(id, kind, Quarters::ZERO);
        let voice = self.voice();
        let Some(grace) = &mut voice.grace else { return };
        event.grace = Some(Grace {
            slash: grace.slash,
            order: voice.grace_order,
            after: false,
        });
        grace.lengths.push(length);
        voice.grace_order = voice.grace_order.saturating_add(1);
        voice.has_content = true;
        voice.part.events.push(event);
        let index = voice.part.events.len() - 1;
        voice.last_note = Some(index);
        self.finish_event(index);
    }

    pub(super) fn close_grace(&mut self) {
        let Some(grace) = self.voice().grace.take() else {
            return self.unread(
                "a closing brace “}” without an opening one",
                super::says::Unread::Unknown,
            );
        };
        // One grace note is an eighth, several are sixteenths: common practice; the standard leaves it open.
        let unit = if grace.lengths.len() == 1 {
            Rational::new(1, 2)
        } else {
            Rational::new(1, 4)
        };
        let voice = self.voice();
        for (event, length) in voice.part.events.iter_mut().skip(grace.from).zip(&grace.lengths) {
            event.written = value_of(unit * *length).map(|(value, dots)| Written {
                value,
                dots,
                tuplets: Vec::new(),
            });
        }
        let group: Vec<usize> = (grace.from..grace.from + grace.lengths.len()).collect();
        super::beams::assign(&mut voice.part.events, &group);
        let mut marks = grace.marks;
        marks.append(&mut voice.marks);
        voice.marks = marks;
        let mut slurs = grace.slurs;
        slurs.append(&mut voice.slur_starts);
        voice.slur_starts = slurs;
    }

    /// A note, chord or rest in time. `length` is in units.
    fn timed_event(&mut self, id: Id, kind: EventKind, length: Rational, printed: bool) {
        if !self.take() {
            return;
        }
        let voice = self.voice();
        let broken = voice.broken.take().unwrap_or(Rational::ONE);
        let mut base = voice.unit * length * broken;
        if base.is_overflow() || base > LONGEST_BAR || base.den() > 1 << 16 {
            base = voice.unit;
            self.caution(
                "duration-unusable",
                "the length of a note is no length of time; one unit was taken",
                "check the rhythm of this bar against the page",
            );
        }
        let chain: Vec<TupletRatio> = self.voice().tuplets.iter().map(|open| open.ratio).collect();
        let mut duration = in_tuplets(base, &chain);
        if (self.voice().cursor + duration).is_overflow() || self.voice().cursor + duration > LONGEST_BAR {
            self.caution(
                "duration-unusable",
                "the rhythm of this bar can't be added up; the note was given no time",
                "check the rhythm of this bar against the page",
            );
            duration = Quarters::ZERO;
        }
        let is_note = matches!(kind, EventKind::Chord(_));
        let mut event = self.blank(id, kind, duration);
        event.printed = printed;
        if duration.is_positive() {
            event.written = self.written(base, chain);
        }
        let voice = self.voice();
        let end_before = voice.end;
        voice.cursor += duration;
        voice.end = voice.end.max(voice.cursor);
        voice.has_content = true;
        voice.grace_order = 0;
        voice.part.events.push(event);
        let index = voice.part.events.len() - 1;
        voice.last = Some(Last {
            event: index,
            base,
            end_before,
        });
        if is_note {
            voice.last_note = Some(index);
            if voice.layer == 0 {
                voice.sung.push(index);
            }
            voice.beam.push(index);
        } else {
            self.flush_beam();
        }
        self.break_here();
        self.count_tuplets(index);
        self.close_ties(index);
        self.finish_event(index);
    }

    /// The printed value of a length, where a single note can show it.
    pub(super) fn written(&mut self, base: Quarters, tuplets: Vec<TupletRatio>) -> Option<Written> {
        let Some((value, dots)) = value_of(base) else {
            self.remark(
                "value-not-single",
                "a note's length is none that a single note shows; it needs a tie in print",
            );
            return None;
        };
        Some(Written { value, dots, tuplets })
    }

    /// `Z4`: rests of whole bars. All but the last bar end here.
    pub(super) fn bar_rest(&mut self, bars: u32, printed: bool) {
        self.imply_bar_line();
        self.close_groups("a rest of whole bars");
        let wanted = usize::try_from(bars).unwrap_or(usize::MAX);
        let bars = if wanted == 0 || self.rest_bars.saturating_add(wanted) > MOST_REST_BARS {
            self.caution(
                "multi-rest-unclear",
                format!("a rest is to last {bars} bars; one was taken"),
                "count the bars on the page",
            );
            1
        } else {
            wanted
        };
        self.rest_bars += bars;
        if bars > 1 {
            let id = self.score.piece.ids.give(IdKind::Span);
            let voice = self.voice();
            voice.part.bar_groups.push(BarGroup {
                id,
                start: voice.bar,
                bars: u32::try_from(bars).unwrap_or(1),
                kind: BarGroupKind::MultiRest,
            });
        }
        for bar in 0..bars {
            if !self.take() {
                return;
            }
            let id = self.id(IdKind::Event);
            let length = self.voice().bar_length.unwrap_or(Quarters::whole(4));
            let whole = self.voice().cursor.is_zero();
            let mut event = self.blank(id, EventKind::Rest { whole_bar: whole }, length);
            event.printed = printed;
            let voice = self.voice();
            voice.part.events.push(event);
            let index = voice.part.events.len() - 1;
            voice.has_content = true;
            if whole && voice.layer == 0 {
                voice.whole_rest = u32::try_from(index).ok();
            }
            if voice.bar_length.is_none() || !whole {
                voice.cursor += length;
                voice.end = voice.end.max(voice.cursor);
            }
            self.break_here();
            self.close_ties(index);
            self.finish_event(index);
            if bar + 1 < bars {
                self.end_bar(false);
            }
        }
    }
}

/// A length inside tuplets, outermost first.
pub(super) fn in_tuplets(base: Quarters, chain: &[TupletRatio]) -> Quarters {
    chain.iter().fold(base, |sum, ratio| {
        sum * Rational::new(i64::from(ratio.normal), i64::from(ratio.actual))
    })
}

fn apply_to_head(head: &mut Head, marks: &mut Vec<super::decorations::Mark>) {
    use super::decorations::Mark;
    for mark in marks.drain(..) {
        match mark {
            Mark::Technical(name, text) => head.technical.push(notation::Technical {
                name: name.to_owned(),
                text: text.to_owned(),
                side: None,
            }),
            Mark::Editorial => head.accidental.iter_mut().for_each(|sign| sign.editorial = true),
            Mark::Courtesy => head.accidental.iter_mut().for_each(|sign| sign.cautionary = true),
            _ => {}
        }
    }
}

/// The sign that an accidental prints, by the name of MusicXML 4.0, accidental-value.
fn printed_accidental(alter: Alter) -> PrintedAccidental {
    let halves = alter * Rational::whole(2);
    let sign = match (halves.num(), halves.den()) {
        (0, 1) => "natural",
        (2, 1) => "sharp",
        (-2, 1) => "flat",
        (4, 1) => "double-sharp",
        (-4, 1) => "flat-flat",
        (1, 1) => "quarter-sharp",
        (-1, 1) => "quarter-flat",
        (3, 1) => "three-quarters-sharp",
        (-3, 1) => "three-quarters-flat",
        _ => "other",
    };
    PrintedAccidental {
        sign: sign.to_owned(),
        alter: Some(alter),
        cautionary: false,
        editorial: false,
        parentheses: false,
    }
}

/// The value below which notes are beamed.
pub(super) const BEAMED: NoteValue = NoteValue::Eighth;

//! What is attached to notes? Decorations, slurs, ties, broken rhythm and tuplets.

use super::decorations::{Family, Mark};
use super::notes::in_tuplets;
use super::reader::Reader;
use super::says::Unread;
use super::voice::{OpenSlur, OpenTie, OpenTuplet};
use crate::assemble::LONGEST_BAR;
use notation::{
    Anchor, Articulation, DirectionKind, EventKind, Fermata, Id, IdKind, Ornament, OrnamentKind, Pitch,
    Rational, Severity, Span, SpanKind, Technical, TupletRatio,
};

/// More marks of one kind than any note has.
const MOST_MARKS: usize = 100;

impl Reader {
    fn anchor(&mut self, event: usize) -> Option<Anchor> {
        let event = self.voice().part.events.get(event)?;
        Some(Anchor {
            place: event.place,
            element: Some(event.id),
        })
    }

    pub(super) fn span(&mut self, kind: SpanKind, start: Option<Anchor>, end: Option<Anchor>) -> usize {
        self.take();
        let id = self.id(IdKind::Span);
        let voice = self.voice();
        voice.part.spans.push(Span {
            id,
            kind,
            start,
            end,
            staff: None,
            side: None,
        });
        voice.part.spans.len() - 1
    }

    /// What waited for this event is put on it: marks, and the starts of slurs.
    pub(super) fn finish_event(&mut self, index: usize) {
        if !self.voice().marks.is_empty() {
            let marks = std::mem::take(&mut self.voice().marks);
            for mark in marks {
                self.mark_on(mark, index);
            }
        }
        let is_note = self
            .voice()
            .part
            .events
            .get(index)
            .is_some_and(notation::Event::is_note);
        if is_note && !self.voice().slur_starts.is_empty() {
            let starts = std::mem::take(&mut self.voice().slur_starts);
            let anchor = self.anchor(index);
            let at = self.at;
            for start in starts {
                self.at.0 = start;
                let span = self.span(SpanKind::Slur, anchor, None);
                if let Some(start) = anchor.and_then(|anchor| anchor.element) {
                    self.voice().slurs.push(OpenSlur { span, start });
                }
            }
            self.at = at;
        }
    }

    fn mark_on(&mut self, mark: Mark, index: usize) {
        let voice = self.voice();
        let Some(event) = voice.part.events.get_mut(index) else {
            return;
        };
        match mark {
            Mark::Articulation(kind) => {
                if event.articulations.len() < MOST_MARKS {
                    event.articulations.push(Articulation { kind, side: None });
                }
            }
            Mark::Ornament(kind) => push_ornament(&mut event.ornaments, kind),
            Mark::Technical(name, text) => {
                let technical = Technical {
                    name: name.to_owned(),
                    text: text.to_owned(),
                    side: None,
                };
                match &mut event.kind {
                    EventKind::Chord(heads) if name == "fingering" => {
                        if let Some(head) = heads.first_mut().filter(|head| head.technical.len() < MOST_MARKS)
                        {
                            head.technical.push(technical);
                        }
                    }
                    _ if event.technical.len() < MOST_MARKS => event.technical.push(technical),
                    _ => {}
                }
            }
            Mark::Fermata { inverted } => event.fermatas.push(fermata(inverted)),
            Mark::Arpeggio => event.arpeggio = Some(String::new()),
            Mark::Editorial | Mark::Courtesy => {
                if let EventKind::Chord(heads) = &mut event.kind {
                    for sign in heads.iter_mut().filter_map(|head| head.accidental.as_mut()) {
                        sign.editorial |= mark == Mark::Editorial;
                        sign.cautionary |= mark == Mark::Courtesy;
                    }
                }
            }
            Mark::Direction(kind) => {
                // The note has moved the voice on: the sign stands where it starts.
                let place = event.place;
                let after = std::mem::replace(&mut voice.cursor, place.offset);
                self.direction(kind, None);
                self.voice().cursor = after;
            }
            Mark::Start(family, kind) => {
                if family == Family::TrillLine {
                    push_ornament(&mut event.ornaments, OrnamentKind::Trill);
                }
                let anchor = Anchor {
                    place: event.place,
                    element: Some(event.id)
                        .filter(|_| matches!(family, Family::TrillLine | Family::Glissando)),
                };
                self.open_span(family, kind, anchor);
            }
            Mark::Stop(family) => {
                let anchor = Anchor {
                    place: event.place,
                    element: Some(event.id).filter(|_| !matches!(family, Family::Wedge | Family::Pedal)),
                };
                self.close_span(family, anchor);
            }
            Mark::Drawing => {}
        }
    }

    /// Marks that stand at a spacer or a bar line: those that need no note.
    pub(super) fn marks_at_place(&mut self) {
        let marks = std::mem::take(&mut self.voice().marks);
        for mark in marks {
            let anchor = Anchor {
                place: self.voice().place(),
                element: None,
            };
            match mark {
                Mark::Direction(kind) => self.direction(kind, None),
                Mark::Start(family, kind) => self.open_span(family, kind, anchor),
                Mark::Stop(family) => self.close_span(family, anchor),
                Mark::Drawing => {}
                // A breath after the note before it.
                Mark::Articulation(kind) if kind.is_break() => {
                    let last = self.voice().last_note;
                    match last {
                        Some(last) => self.mark_on(Mark::Articulation(kind), last),
                        None => self.unread("a breath mark without a note", Unread::NoPlace),
                    }
                }
                _ => self.unread("a decoration without a note", Unread::NoPlace),
            }
        }
    }

    fn open_span(&mut self, family: Family, kind: SpanKind, anchor: Anchor) {
        if self.voice().open.len() >= 50 {
            return self.unread("a line or hairpin, too many being open,", Unread::NoPlace);
        }
        let span = self.span(kind, Some(anchor), None);
        self.voice().open.push((family, span));
    }

    pub(super) fn close_span(&mut self, family: Family, anchor: Anchor) {
        if family == Family::Ottava {
            self.voice().ottava = 0;
        }
        let voice = self.voice();
        let Some(found) = voice.open.iter().rposition(|(of, _)| *of == family) else {
            let (kind, word) = words_of(family);
            return self.caution(
                kind,
                format!("{word} ends here that never started"),
                "look on the page where it starts and ends",
            );
        };
        let (_, span) = voice.open.remove(found);
        if let Some(span) = voice.part.spans.get_mut(span) {
            span.end = Some(anchor);
        }
    }

    /// Ends a slur at the last note. Of those that are open the innermost ends, unless it has only just begun:
    /// `(c d (e) f g)` is one slur to `e` and one from `e`. Source: ABC 2.1, 4.11.
    pub(super) fn close_slur(&mut self) {
        let Some(last) = self.voice().last_note else {
            return self.caution(
                "unpaired-slur",
                "a slur ends here that never started",
                "look on the page where it starts and ends",
            );
        };
        let anchor = self.anchor(last);
        let here = anchor.and_then(|anchor| anchor.element);
        let voice = self.voice();
        let found = voice
            .slurs
            .iter()
            .rposition(|slur| Some(slur.start) != here)
            .or_else(|| voice.slurs.len().checked_sub(1));
        match found {
            Some(found) => {
                let slur = voice.slurs.remove(found);
                if let Some(span) = voice.part.spans.get_mut(slur.span) {
                    span.end = anchor;
                }
            }
            None if !voice.slur_starts.is_empty() => {
                // `()`: nothing under it.
                voice.slur_starts.pop();
            }
            None => {
                self.caution(
                    "unpaired-slur",
                    "a slur ends here that never started",
                    "look on the page where it starts and ends",
                );
                self.span(SpanKind::Slur, None, anchor);
            }
        }
    }

    /// A tie from the last note, or from the last head of the chord being read.
    pub(super) fn tie(&mut self) {
        let voice = self.voice();
        if let Some(chord) = &mut voice.chord {
            if let Some(last) = chord.tied.last_mut() {
                *last = true;
            }
            return;
        }
        if voice.grace.is_some() {
            return self.unread("a tie among grace notes", Unread::NoPlace);
        }
        let heads = voice
            .last
            .and_then(|last| voice.part.events.get(last.event))
            .map_or(0, |event| event.heads().len());
        if heads == 0 {
            return self.caution(
                "unpaired-tie",
                "a tie stands here without a note before it",
                "look which notes are tied on the page",
            );
        }
        (0..heads).for_each(|head| self.tie_head(head));
    }

    pub(super) fn tie_head(&mut self, head: usize) {
        let voice = self.voice();
        let (layer, last) = (voice.layer, voice.last);
        let Some(event) = last.and_then(|last| voice.part.events.get_mut(last.event)) else {
            return;
        };
        let place = event.place;
        let EventKind::Chord(heads) = &mut event.kind else {
            return;
        };
        let Some(head) = heads.get_mut(head) else { return };
        if std::mem::replace(&mut head.tie_start, true) {
            return;
        }
        let Some(pitch) = head.pitch() else { return };
        let id = head.id;
        if voice.ties.len() < 1_000 {
            voice.ties.push(OpenTie {
                pitch,
                head: id,
                layer,
                place,
                jump: false,
            });
        }
    }

    /// Ties that wait end at this event; what it does not meet is said.
    pub(super) fn close_ties(&mut self, index: usize) {
        let voice = self.voice();
        if voice.ties.is_empty() {
            return;
        }
        let layer = voice.layer;
        let (mut waiting, kept): (Vec<OpenTie>, Vec<OpenTie>) = std::mem::take(&mut voice.ties)
            .into_iter()
            .partition(|tie| tie.layer == layer);
        voice.ties = kept;
        if let Some(event) = voice.part.events.get_mut(index)
            && let EventKind::Chord(heads) = &mut event.kind
        {
            for head in heads {
                let same = |tie: &OpenTie, pitch: Pitch| tie.pitch.semitones() == pitch.semitones();
                let found = head
                    .pitch()
                    .and_then(|pitch| waiting.iter().position(|tie| same(tie, pitch)));
                if let Some(found) = found {
                    waiting.swap_remove(found);
                    head.tie_stop = true;
                }
            }
        }
        for tie in waiting {
            self.tie_alone(&tie);
        }
    }

    /// A tie whose other end is missing.
    pub(super) fn tie_alone(&mut self, tie: &OpenTie) {
        let at = super::says::At {
            voice: self.now,
            bar: tie.place.bar,
            offset: tie.place.offset,
        };
        let (severity, what, advice) = if tie.jump {
            (
                Severity::Note,
                format!("{} is tied over the repeat or into another ending", tie.pitch),
                "",
            )
        } else {
            (
                Severity::Caution,
                format!("the tie that starts at {} meets no note of that pitch", tie.pitch),
                "look whether it is a slur, or a tie to another pitch, on the page",
            )
        };
        self.says
            .about(tie.head, severity, "unpaired-tie", at, what, advice);
    }

    /// `>`: the note before is dotted, the next one halved; `<` the other way round. Source: ABC 2.1, 4.4.
    pub(super) fn broken(&mut self, signs: i8) {
        if self.voice().grace.is_some() || self.voice().chord.is_some() {
            return;
        }
        let times = u32::from(signs.unsigned_abs()).min(3);
        let last = self.voice().last;
        let (Some(last), true, true) = (last, self.voice().broken.is_none(), signs.unsigned_abs() <= 3)
        else {
            return self.caution(
                "broken-rhythm-unclear",
                "a sign of broken rhythm (> or <) has no note before it, or there are too many; it was left out",
                "check the rhythm of this bar against the page",
            );
        };
        let short = Rational::new(1, 1 << times);
        let long = Rational::whole(2) - short;
        let (this, next) = if signs > 0 { (long, short) } else { (short, long) };
        let base = last.base * this;
        let chain: Vec<TupletRatio> = self
            .voice()
            .part
            .events
            .get(last.event)
            .and_then(|event| event.written.as_ref())
            .map(|written| written.tuplets.clone())
            .unwrap_or_default();
        let duration = in_tuplets(base, &chain);
        let end = self.voice().cursor + duration;
        if end.is_overflow() || end > LONGEST_BAR || base.den() > 1 << 16 {
            return;
        }
        let written = self.written(base, chain);
        let voice = self.voice();
        voice.broken = Some(next);
        let Some(event) = voice.part.events.get_mut(last.event) else {
            return;
        };
        event.duration = duration;
        event.written = written;
        let before = voice.place();
        let Some(event) = voice.part.events.get(last.event) else {
            return;
        };
        voice.cursor = event.place.offset + duration;
        voice.end = last.end_before.max(voice.cursor);
        let after = voice.place();
        // Grace notes and words that stood after the note already go with its end.
        for event in voice.part.events.iter_mut().skip(last.event + 1) {
            event.place = after;
        }
        for direction in voice.part.directions.iter_mut().rev() {
            if direction.place != before {
                break;
            }
            direction.place = after;
        }
        for span in voice.part.spans.iter_mut().rev().take(20) {
            for anchor in [&mut span.start, &mut span.end].into_iter().flatten() {
                if anchor.place == before {
                    anchor.place = after;
                }
            }
        }
        if let Some(last) = &mut voice.last {
            last.base = base;
        }
    }

    /// `(p:q:r`: p notes in the time of q for the next r notes. Source: ABC 2.1, 4.13.
    pub(super) fn tuplet(&mut self, p: u16, q: Option<u16>, r: Option<u16>) {
        let compound = super::metre::is_compound(self.voice().metre.as_ref());
        let n = if compound { 3 } else { 2 };
        let usual = match p {
            2 | 4 | 8 => Some(3),
            3 | 6 => Some(2),
            5 | 7 | 9 => Some(n),
            _ => None,
        };
        let q = q.or(usual);
        let r = r.unwrap_or(p);
        let (Some(q), true) = (q, p > 0 && r > 0) else {
            return self.caution(
                "tuplet-unclear",
                "a tuplet's numbers are missing or zero; it was left out",
                "check the rhythm of this bar against the page",
            );
        };
        if q == 0 || self.voice().tuplets.len() >= 4 {
            return self.caution("tuplet-unclear", "a tuplet's numbers are missing or zero, or too many tuplets stand in each other; it was left out", "check the rhythm of this bar against the page");
        }
        let small = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        let range = (small(self.at.0), small(self.at.1));
        let voice = self.voice();
        voice.tuplets.push(OpenTuplet {
            ratio: TupletRatio { actual: p, normal: q },
            left: r,
            first: None,
            last: None,
            range,
        });
    }

    /// An event counts in all tuplets that are open; those that are full get their bracket.
    pub(super) fn count_tuplets(&mut self, index: usize) {
        if self.voice().tuplets.is_empty() {
            return;
        }
        let anchor = self.anchor(index);
        for open in &mut self.voice().tuplets {
            open.first = open.first.or(anchor);
            open.last = anchor;
            open.left = open.left.saturating_sub(1);
        }
        while let Some(full) = self.voice().tuplets.pop_if(|open| open.left == 0) {
            self.close_tuplet(&full);
        }
    }

    fn close_tuplet(&mut self, tuplet: &OpenTuplet) {
        let ratio = tuplet.ratio;
        let at = self.at;
        self.at.0 = usize::try_from(tuplet.range.0).unwrap_or(at.0);
        let kind = SpanKind::Tuplet {
            actual: ratio.actual,
            normal: ratio.normal,
            bracket: true,
        };
        if tuplet.first.is_some() {
            self.span(kind, tuplet.first, tuplet.last);
        }
        self.at = at;
    }

    /// Tuplets that are not full end with their bar.
    pub(super) fn close_tuplets(&mut self) {
        while let Some(open) = self.voice().tuplets.pop() {
            let what = format!(
                "a tuplet of {} ends before it is full: {} notes are missing",
                open.ratio.actual, open.left
            );
            self.caution(
                "tuplet-unfinished",
                what,
                "check the rhythm of this bar against the page",
            );
            self.close_tuplet(&open);
        }
    }

    /// What is still open at the end of the tune stays open, and is said.
    pub(super) fn report_open(&mut self) {
        for tie in std::mem::take(&mut self.voice().ties) {
            self.tie_alone(&tie);
        }
        for slur in std::mem::take(&mut self.voice().slurs) {
            self.span_open(slur.span, "unpaired-slur", "slur", Some(slur.start));
        }
        for (family, span) in std::mem::take(&mut self.voice().open) {
            let (kind, word) = words_of(family);
            self.span_open(
                span,
                kind,
                word.split_once(' ').map_or(word, |(_, noun)| noun),
                None,
            );
        }
    }

    fn span_open(&mut self, span: usize, kind: &'static str, word: &str, about: Option<Id>) {
        let Some(start) = self.voice().part.spans.get(span).and_then(|span| span.start) else {
            return;
        };
        let at = super::says::At {
            voice: self.now,
            bar: start.place.bar,
            offset: start.place.offset,
        };
        let what = format!("the {word} that starts here never ends");
        let (severity, advice) = if kind == "unpaired-trill-line" {
            (Severity::Note, "take it to last as long as its note")
        } else {
            (Severity::Caution, "look on the page where it starts and ends")
        };
        match about.or(start.element) {
            Some(element) => self.says.about(element, severity, kind, at, what, advice),
            None => self.says.push(severity, kind, Some(at), what, advice),
        }
    }
}

/// The kind of finding for an end that is missing, and the trade's word.
const fn words_of(family: Family) -> (&'static str, &'static str) {
    match family {
        Family::Wedge => ("unpaired-hairpin", "a hairpin"),
        Family::Ottava => ("unpaired-ottava", "an ottava"),
        Family::TrillLine => ("unpaired-trill-line", "a wavy line"),
        Family::Glissando => ("unpaired-glissando", "a glissando"),
        Family::Pedal => ("unpaired-pedal", "a pedal mark"),
    }
}

pub(super) fn fermata(inverted: bool) -> Fermata {
    Fermata {
        shape: String::new(),
        inverted,
    }
}

fn push_ornament(ornaments: &mut Vec<Ornament>, kind: OrnamentKind) {
    if ornaments.len() < MOST_MARKS {
        ornaments.push(Ornament {
            kind,
            side: None,
            accidentals: Vec::new(),
        });
    }
}

/// True for words and signs that stand at a bar line rather than at a note.
pub(super) const fn is_sign(kind: &DirectionKind) -> bool {
    matches!(
        kind,
        DirectionKind::Segno | DirectionKind::Coda | DirectionKind::Words(_)
    )
}

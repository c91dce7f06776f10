//! What does a `<note>` say? A head, a rest or a grace note, made into an event or joined to the chord before it.

use super::part::{LastNote, PartReader, side};
use crate::report::{Why, in_words, number};
use crate::xml::El;
use notation::{Beam, Event, EventKind, Grace, IdKind, NoteValue, Quarters, Rational, Severity, Written};

/// The parts of a `<note>` that decide what it is.
#[derive(Clone, Copy, Default)]
pub(super) struct Fields<'t, 'a> {
    pub grace: Option<El<'t, 'a>>,
    pub chord: bool,
    pub cue: bool,
    pub what: Option<El<'t, 'a>>,
    pub duration: Option<&'t str>,
    pub tie_start: bool,
    pub tie_stop: bool,
    pub let_ring: bool,
    pub voice: Option<&'t str>,
    pub kind: Option<El<'t, 'a>>,
    pub dots: u8,
    pub accidental: Option<El<'t, 'a>>,
    pub modification: Option<El<'t, 'a>>,
    pub notehead: Option<El<'t, 'a>>,
    pub staff: Option<u8>,
    pub instrument: Option<&'t str>,
    pub notations: bool,
    pub lyrics: bool,
    pub beams: bool,
}

impl PartReader<'_> {
    pub(super) fn note(&mut self, el: El<'_, '_>) {
        self.score.taken += 1;
        let fields = self.fields(el);
        let is_head = fields.what.is_some_and(|what| what.name() != "rest");
        if fields.chord {
            match self.last {
                Some(last) if is_head && last.grace == fields.grace.is_some() && self.is_chord(last) => {
                    self.join(el, &fields, last);
                    return;
                }
                _ => self.caution(
                    "chord-alone",
                    "a note is marked as belonging to a chord, but no note of its kind stands before it; it was read as a note of its own",
                    "check this bar against the page",
                ),
            }
        }
        let voice = self.voice(fields.voice.unwrap_or("1"));
        self.event(el, &fields, voice, is_head);
    }

    fn is_chord(&self, last: LastNote) -> bool {
        self.part.events.get(last.event).is_some_and(Event::is_note)
    }

    fn fields<'t, 'a>(&mut self, el: El<'t, 'a>) -> Fields<'t, 'a> {
        let mut fields = Fields::default();
        for child in el.children() {
            match child.name() {
                "grace" => fields.grace = Some(child),
                "chord" => fields.chord = true,
                "cue" => fields.cue = true,
                "pitch" | "unpitched" | "rest" => fields.what = Some(child),
                "duration" => fields.duration = Some(child.text()),
                "tie" => match child.attr("type") {
                    Some("start") => fields.tie_start = true,
                    Some("stop") => fields.tie_stop = true,
                    Some("let-ring") => fields.let_ring = true,
                    _ => self.unread("tie", "note", Why::Unknown),
                },
                "voice" => fields.voice = Some(child.text()),
                "type" => fields.kind = Some(child),
                "dot" => fields.dots = fields.dots.saturating_add(1),
                "accidental" => fields.accidental = Some(child),
                "time-modification" => fields.modification = Some(child),
                "notehead" => fields.notehead = Some(child),
                "staff" => fields.staff = child.text().parse().ok().filter(|staff| *staff > 0),
                "instrument" => fields.instrument = child.attr("id"),
                "notations" => fields.notations = true,
                "lyric" => fields.lyrics = true,
                "beam" => fields.beams = true,
                "footnote" => self.footnote(child),
                "level" => self.unread("level", "note", Why::NoPlace),
                "notehead-text" => self.unread("notehead-text", "note", Why::NoPlace),
                // The stem's direction, and what only computers play or listen for.
                "stem" | "play" | "listen" => {}
                other => self.unread(other, "note", Why::Unknown),
            }
        }
        fields
    }

    /// A note or rest of its own.
    fn event(&mut self, el: El<'_, '_>, fields: &Fields<'_, '_>, voice: u16, is_head: bool) {
        let duration = self.duration(fields);
        self.track_instrument(el, fields, is_head);
        self.begin_tuplets(el, fields, voice);
        let written = self.written(fields, voice, duration);
        let (duration, exact) = self.reconciled(fields, duration, written.as_ref());
        let staff = fields.staff.unwrap_or(1);
        let id = self.id(IdKind::Event, el);
        let kind = if is_head {
            EventKind::Chord(vec![self.head(el, fields)])
        } else {
            self.rest(fields, duration)
        };
        let mut event = self.blank_event(id, kind, exact, voice, staff);
        if written.is_some()
            && fields.kind.is_none()
            && let Some(origin) = self.score.piece.provenance.origins.get_mut(&id)
        {
            origin.how = notation::How::Guessed;
        }
        event.written = written;
        event.printed = !el.no("print-object");
        event.cue = fields.cue
            || fields.grace.is_none()
                && fields
                    .kind
                    .is_some_and(|kind| matches!(kind.attr("size"), Some("cue" | "grace-cue")));
        event.grace = self.grace(fields, voice);
        if fields.beams {
            event.beams = beams(el);
        }
        if fields.lyrics {
            self.lyrics(el, &mut event);
        }
        let start = self.cursor;
        self.part.events.push(event);
        let index = self.part.events.len() - 1;
        self.last = Some(LastNote {
            event: index,
            voice,
            grace: fields.grace.is_some(),
        });
        if fields.modification.is_none() && fields.grace.is_none() && !fields.notations {
            // A bracket that nobody closed ends where plain notes follow.
            self.voice_state(voice).tuplets.clear();
        }
        self.note_ties(el, fields, index);
        if fields.notations {
            self.notations(el, index, 0);
        }
        self.end_tuplets(el, voice, index);
        if fields.grace.is_none() {
            self.advance(start, duration, exact, voice, staff, fields);
        }
    }

    fn rest(&mut self, fields: &Fields<'_, '_>, duration: Quarters) -> EventKind {
        let says_whole = fields.what.is_some_and(|what| what.yes("measure"));
        if fields.what.is_none() {
            self.caution(
                "note-empty",
                "a note has no pitch and is no rest; it was read as a rest",
                "check this bar against the page",
            );
        }
        let whole_bar = says_whole && fields.grace.is_none() && self.cursor.is_zero();
        if whole_bar && !duration.is_overflow() {
            self.whole_rest = u32::try_from(self.part.events.len()).ok();
        }
        EventKind::Rest { whole_bar }
    }

    /// Moves on by a note, in the file's rounded time and in exact time.
    fn advance(
        &mut self,
        start: Quarters,
        stated: Quarters,
        exact: Quarters,
        voice: u16,
        staff: u8,
        fields: &Fields<'_, '_>,
    ) {
        self.raw += stated;
        self.cursor = start + exact;
        if self.cursor != self.raw && self.rounded.len() < 500 {
            self.rounded.push((self.raw, self.cursor));
        }
        let fills_bar = self.whole_rest.is_some() && fields.what.is_some_and(|what| what.yes("measure"));
        if !fills_bar {
            self.end = self.end.max(self.cursor);
        }
        let end = self.cursor;
        let state = self.voice_state(voice);
        state.extend(start, end);
        let known = state.filled.iter().position(|(of, _)| *of == staff);
        let before = known.and_then(|at| state.filled.get(at)).map(|(_, reach)| *reach);
        let overlaps = before.is_some_and(|reach| start < reach) && exact.is_positive();
        match known.and_then(|at| state.filled.get_mut(at)) {
            Some((_, reach)) => *reach = (*reach).max(end),
            None => state.filled.push((staff, end)),
        }
        if overlaps && !std::mem::replace(&mut state.overlap, true) {
            let name = self
                .part
                .voices
                .get(usize::from(voice))
                .cloned()
                .unwrap_or_default();
            let finding = self.here_at(start).put(notation::Finding::new(
                Severity::Caution,
                "voice-overlap",
                format!("in voice {name} a note starts before the one before it has ended"),
                "check which notes sound together in this bar",
            ));
            self.score.report.push(finding);
        }
    }

    /// The duration as stated, zero for a grace note; a missing one comes from the printed value.
    fn duration(&mut self, fields: &Fields<'_, '_>) -> Option<Quarters> {
        if fields.grace.is_some() {
            return Some(Quarters::ZERO);
        }
        if self.divisions.is_none()
            && let Some(text) = fields.duration
        {
            // Without divisions the first printed value tells how the file counts.
            let printed = self.plain_written(fields).map(|written| written.quarters());
            let divisions = Rational::parse(text)
                .zip(printed)
                .map(|(n, quarters)| n / quarters);
            let what = self.stated(fields.duration, "note");
            self.divisions = divisions
                .filter(|d| d.is_positive() && !d.is_overflow())
                .or(Some(Rational::ONE));
            return if printed.is_some() { printed } else { what };
        }
        self.stated(fields.duration, "note")
    }

    /// The printed value without tuplets.
    fn plain_written(&self, fields: &Fields<'_, '_>) -> Option<Written> {
        let value = NoteValue::from_name(fields.kind?.text())?;
        let tuplets = fields
            .modification
            .and_then(super::tuplets::ratio)
            .into_iter()
            .collect();
        Some(Written {
            value,
            dots: fields.dots,
            tuplets,
        })
    }

    /// The printed value with its chain of tuplets.
    fn written(
        &mut self,
        fields: &Fields<'_, '_>,
        voice: u16,
        duration: Option<Quarters>,
    ) -> Option<Written> {
        let tuplets = self.tuplet_chain(fields, voice);
        let Some(kind) = fields.kind else {
            if fields.grace.is_some() {
                let of = fields.modification?.child_text("normal-type")?;
                return Some(Written {
                    value: NoteValue::from_name(of)?,
                    dots: 0,
                    tuplets,
                });
            }
            return guessed_value(duration?, tuplets);
        };
        let value = NoteValue::from_name(kind.text());
        if value.is_none() {
            let shown: String = kind.text().chars().take(30).collect();
            self.caution(
                "note-value-unknown",
                format!("“{shown}” is no note value; the duration alone was taken"),
                "check this note against the page",
            );
        }
        Some(Written {
            value: value?,
            dots: fields.dots,
            tuplets,
        })
    }

    /// The duration as the file counts it, and exactly: where both differ by less than the file can tell, the print wins.
    fn reconciled(
        &mut self,
        fields: &Fields<'_, '_>,
        duration: Option<Quarters>,
        written: Option<&Written>,
    ) -> (Quarters, Quarters) {
        if fields.grace.is_some() {
            return (Quarters::ZERO, Quarters::ZERO);
        }
        let printed = written.map(Written::quarters).filter(|q| !q.is_overflow());
        let Some(stated) = duration else {
            if fields.duration.is_none() {
                self.caution(
                    "duration-missing",
                    "a note has no duration; the printed value was taken",
                    "check the rhythm of this bar against the page",
                );
            }
            let taken = printed.unwrap_or_default();
            return (taken, taken);
        };
        let Some(printed) = printed.filter(|printed| *printed != stated) else {
            return (stated, stated);
        };
        let whole_rest = fields.what.is_some_and(|what| what.name() == "rest")
            && fields.kind.is_some_and(|kind| kind.text() == "whole");
        if whole_rest {
            return (stated, stated);
        }
        let one = Rational::ONE / self.divisions.unwrap_or(Rational::ONE);
        // Rounded to the file's divisions, or off by a single one of many.
        let away = (printed - stated).abs();
        if away < one || away == one && away * Rational::whole(16) <= stated {
            return (stated, printed);
        }
        self.caution(
            "duration-contradicts",
            format!(
                "a note is printed as {} but lasts {} instead of {}",
                value_name(written),
                in_words(stated),
                number(printed)
            ),
            "check the rhythm of this bar against the page",
        );
        (stated, stated)
    }

    fn grace(&mut self, fields: &Fields<'_, '_>, voice: u16) -> Option<Grace> {
        let state = self.voice_state(voice);
        let Some(grace) = fields.grace else {
            state.graces = 0;
            return None;
        };
        let order = state.graces;
        state.graces = order.saturating_add(1);
        for stolen in ["steal-time-previous", "steal-time-following", "make-time"] {
            if grace.attr(stolen).is_some() {
                self.unread(&format!("@{stolen}"), "grace", Why::NoPlace);
            }
        }
        Some(Grace {
            slash: grace.yes("slash"),
            order,
            after: false,
        })
    }

    /// A further note of the chord that was just read.
    fn join(&mut self, el: El<'_, '_>, fields: &Fields<'_, '_>, last: LastNote) {
        if let Some(voice) = fields.voice
            && self
                .part
                .voices
                .get(usize::from(last.voice))
                .is_some_and(|of| of != voice)
        {
            self.find(
                Severity::Note,
                "chord-voices",
                format!(
                    "a chord's note is in voice {voice}, its first note in another; it was kept in the chord"
                ),
                "",
            );
        }
        let head = self.head(el, fields);
        let printed = !el.no("print-object");
        let range = el.range();
        let Some(event) = self.part.events.get_mut(last.event) else {
            return;
        };
        event.printed |= printed;
        let (id, length, offset) = (event.id, event.duration, event.place.offset);
        let EventKind::Chord(heads) = &mut event.kind else {
            return;
        };
        if heads.len() >= 1_000 {
            return;
        }
        heads.push(head);
        let head = heads.len() - 1;
        if let Some(origin) = self.score.piece.provenance.origins.get_mut(&id)
            && let Some((_, end)) = &mut origin.range
        {
            *end = range.1;
        }
        if fields.lyrics
            && let Some(mut event) = self.part.events.get(last.event).cloned()
        {
            self.lyrics(el, &mut event);
            self.part.events[last.event].lyrics = event.lyrics;
        }
        self.note_ties(el, fields, last.event);
        if fields.notations {
            self.notations(el, last.event, head);
        }
        if fields.grace.is_none()
            && let Some(stated) = self.stated(fields.duration, "note")
        {
            let one = Rational::ONE / self.divisions.unwrap_or(Rational::ONE);
            if (stated - length).abs() >= one {
                let finding = self.here_at(offset).put(notation::Finding::new(
                    Severity::Caution,
                    "chord-uneven",
                    format!(
                        "the notes of a chord last {} and {}; the first was taken for all",
                        number(length),
                        in_words(stated)
                    ),
                    "check this chord against the page",
                ));
                self.score.report.push(finding);
            }
        }
    }

    /// A pitched part whose notes change instrument (flute to piccolo) says so where it happens.
    fn track_instrument(&mut self, el: El<'_, '_>, fields: &Fields<'_, '_>, is_head: bool) {
        let Some(id) = fields
            .instrument
            .filter(|_| is_head && self.instruments.len() > 1)
        else {
            return;
        };
        let Some(now) = self.instruments.iter().position(|(of, ..)| of == id) else {
            return;
        };
        let pitched = fields.what.is_some_and(|what| what.name() == "pitch");
        if !pitched {
            self.unread("instrument", "note", Why::NoPlace);
            return;
        }
        if self.instrument.replace(now).is_some_and(|before| before != now)
            && let Some((_, name, _)) = self.instruments.get(now)
        {
            let name = name.clone();
            self.add_sign(el, "instrument-change", name, false);
        }
    }
}

fn value_name(written: Option<&Written>) -> String {
    written.map_or_else(String::new, |written| {
        let dots = match written.dots {
            0 => "",
            1 => "dotted ",
            _ => "double-dotted ",
        };
        let tuplet = if written.tuplets.is_empty() {
            ""
        } else {
            " in a tuplet"
        };
        let article = if dots.is_empty() && written.value == NoteValue::Eighth {
            "an"
        } else {
            "a"
        };
        format!("{article} {dots}{}{tuplet}", written.value.name())
    })
}

/// The printed value where the file leaves it out but says that the note stands in a tuplet.
fn guessed_value(duration: Quarters, tuplets: Vec<notation::TupletRatio>) -> Option<Written> {
    if tuplets.is_empty() || !duration.is_positive() {
        return None;
    }
    NoteValue::ALL
        .into_iter()
        .rev()
        .flat_map(|value| (0..3).map(move |dots| (value, dots)))
        .find_map(|(value, dots)| {
            let written = Written {
                value,
                dots,
                tuplets: tuplets.clone(),
            };
            (written.quarters() == duration).then_some(written)
        })
}

fn beams(el: El<'_, '_>) -> Vec<Beam> {
    let mut beams: Vec<(u8, Beam)> = el
        .children()
        .filter(|child| child.name() == "beam")
        .filter_map(|child| {
            let level = child
                .attr("number")
                .and_then(|text| text.parse().ok())
                .unwrap_or(1);
            let beam = match child.text() {
                "begin" => Beam::Begin,
                "continue" => Beam::Continue,
                "end" => Beam::End,
                "forward hook" => Beam::ForwardHook,
                "backward hook" => Beam::BackwardHook,
                _ => return None,
            };
            Some((level, beam))
        })
        .collect();
    beams.sort_by_key(|(level, _)| *level);
    beams.into_iter().map(|(_, beam)| beam).collect()
}

/// The side at which a mark's element says it stands.
pub(super) fn mark_side(el: El<'_, '_>) -> Option<notation::Side> {
    side(el)
}

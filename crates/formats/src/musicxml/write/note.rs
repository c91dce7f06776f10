//! How is a note written? Each head of a chord as a `note`, in the order that the standard asks for.
//!
//! The first head carries the id of its event, the others their own, so that whoever reads the file can tell us which
//! note is meant.

use super::part::PartWriter;
use super::values::{ACCIDENTALS, NOTEHEADS};
use super::{decimal, values};
use notation::{Beam, Event, EventKind, Head, HeadNote, Id, Lyric, Pitch, Rational, Written};

impl<'p> PartWriter<'p, '_> {
    /// A chord, rest or space. The cursor stands where it starts.
    pub(super) fn event(&mut self, event: &Event) {
        self.check(event);
        match &event.kind {
            EventKind::Space => self.space(event),
            EventKind::Rest { .. } => self.note(event, None),
            EventKind::Chord(heads) => {
                if heads.is_empty() {
                    self.lost(event, "a chord without notes was written as a rest");
                    self.note(event, None);
                }
                for nth in 0..heads.len() {
                    self.note(event, Some(nth));
                }
            }
        }
        if event.grace.is_none() {
            let least = if self.length(event) > 0 {
                Rational::ZERO
            } else {
                self.divisions.one()
            };
            self.cursor = event.end_offset() + least;
        }
    }

    pub(super) fn lost(&mut self, event: &Event, what: impl Into<String>) {
        self.losses.lost(self.of, event.place, Some(event.id), what);
    }

    fn check(&mut self, event: &Event) {
        if event.grace.is_none() && self.length(event) <= 0 {
            self.lost(
                event,
                "a note or rest without length was given the shortest that the file can count",
            );
        }
        if event.grace.is_some() && !event.duration.is_zero() {
            self.lost(
                event,
                "a grace note has a length of its own; MusicXML gives it none",
            );
        }
        if matches!(event.kind, EventKind::Rest { whole_bar: true }) && !event.place.offset.is_zero() {
            self.lost(event, "a rest that fills its bar does not start with it");
        }
    }

    /// The duration to write, in divisions.
    fn length(&self, event: &Event) -> i64 {
        self.divisions.count(event.end_offset()) - self.divisions.count(event.place.offset)
    }

    fn duration(&mut self, event: &Event) {
        let length = self.length(event).max(1);
        self.out.leaf("duration", length);
    }

    fn space(&mut self, event: &Event) {
        let plain = event.written.is_none()
            && event.grace.is_none()
            && !event.cue
            && event.printed
            && event.fermatas.is_empty()
            && event.lyrics.is_empty()
            && event.articulations.is_empty()
            && event.ornaments.is_empty()
            && event.technical.is_empty()
            && event.dynamics.is_empty()
            && event.beams.is_empty();
        if !plain {
            self.lost(
                event,
                "a silence that is not printed has signs of its own; only its length was kept",
            );
        }
        if event.grace.is_some() {
            return;
        }
        self.out.open("forward");
        self.duration(event);
        let voice = self.voice_name(event);
        self.out.leaf("voice", voice);
        self.staff(event.staff);
        self.out.close("forward");
    }

    fn voice_name(&self, event: &Event) -> &'p str {
        self.part
            .voices
            .get(usize::from(event.voice))
            .map_or("1", String::as_str)
    }

    /// The staff, where it is not the only one.
    pub(super) fn staff(&mut self, staff: u8) {
        if self.part.staves > 1 || staff != 1 {
            self.out.leaf("staff", staff);
        }
    }

    fn note(&mut self, event: &Event, nth: Option<usize>) {
        let head = nth.and_then(|nth| event.heads().get(nth));
        let first = nth.is_none_or(|nth| nth == 0);
        let id: Id = head.filter(|_| !first).map_or(event.id, |head| head.id);
        self.out.tag("note").attr("id", id).printed(event.printed).open();
        if let Some(grace) = event.grace {
            self.out
                .tag("grace")
                .attr("slash", if grace.slash { "yes" } else { "no" })
                .empty();
        }
        // A cue note as the standard has it can't hold the ties that sound: one that is tied is a note in small print.
        let tied = event.heads().iter().any(|head| head.tie_start || head.tie_stop);
        let small = event.cue && tied && event.grace.is_none() && event.written.is_some();
        if event.cue && !small {
            self.out.empty("cue");
        }
        if !first {
            self.out.empty("chord");
        }
        self.what(event, head);
        if event.grace.is_none() {
            self.duration(event);
        }
        if let Some(head) = head.filter(|_| small || !event.cue) {
            self.ties("tie", head);
        }
        let voice = self.voice_name(event);
        self.out.leaf("voice", voice);
        if let Some(written) = &event.written {
            let size = small.then_some("cue");
            self.out
                .tag("type")
                .maybe("size", size)
                .text(written.value.name());
            (0..written.dots).for_each(|_| self.out.empty("dot"));
        }
        if let Some(head) = head {
            self.accidental(event, head);
        }
        if let Some(written) = &event.written {
            self.time_modification(event, written);
        }
        if let Some(head) = head {
            self.notehead(event, head);
        }
        self.staff(head.map_or(event.staff, |head| head.staff));
        if first {
            self.beams(event);
        }
        self.notations(event, nth);
        if first {
            event.lyrics.iter().for_each(|lyric| self.lyric(lyric));
        }
        self.out.close("note");
    }

    fn what(&mut self, event: &Event, head: Option<&Head>) {
        match head.map(|head| head.note) {
            Some(HeadNote::Pitch(pitch)) => self.pitch(event, pitch),
            Some(HeadNote::Unpitched(None)) => self.out.empty("unpitched"),
            Some(HeadNote::Unpitched(Some(shown))) => {
                self.out.open("unpitched");
                self.out.leaf("display-step", shown.step.letter());
                self.out.leaf("display-octave", shown.octave.clamp(0, 9));
                self.out.close("unpitched");
                if !(0..=9).contains(&shown.octave) || !shown.alter.is_zero() {
                    self.lost(
                        event,
                        format!("an unpitched note is drawn at {shown}, which MusicXML can't say"),
                    );
                }
            }
            None => {
                let whole = self.fills_bar(event);
                self.out.tag("rest").yes("measure", whole).empty();
            }
        }
    }

    fn pitch(&mut self, event: &Event, pitch: Pitch) {
        self.out.open("pitch");
        self.out.leaf("step", pitch.step.letter());
        if !pitch.alter.is_zero() {
            let (alter, exact) = decimal(pitch.alter);
            self.out.leaf("alter", alter);
            if !exact {
                self.lost(
                    event,
                    format!("the alteration of {pitch} was rounded to a decimal number"),
                );
            }
        }
        self.out.leaf("octave", pitch.octave);
        self.out.close("pitch");
        if !(0..=9).contains(&pitch.octave) {
            self.lost(
                event,
                format!(
                    "{pitch} is outside the octaves 0 to 9 that MusicXML has; other programs may refuse it"
                ),
            );
        }
    }

    /// Ties as they sound (`tie`) or are drawn (`tied`).
    pub(super) fn ties(&mut self, name: &str, head: &Head) {
        if head.tie_stop {
            self.out.tag(name).attr("type", "stop").empty();
        }
        if head.tie_start {
            self.out.tag(name).attr("type", "start").empty();
        }
    }

    fn accidental(&mut self, event: &Event, head: &Head) {
        let Some(printed) = &head.accidental else { return };
        // A name that the standard does not have, for a sign that it has.
        let sign = match printed.sign.as_str() {
            "double-flat" => "flat-flat",
            sign => sign,
        };
        if sign != printed.sign {
            let what = format!("the accidental “{}” is called {sign} in MusicXML", printed.sign);
            self.losses
                .told_otherwise(self.of, event.place, Some(event.id), what);
        }
        let known = ACCIDENTALS.contains(&sign);
        self.out
            .tag("accidental")
            .yes("cautionary", printed.cautionary)
            .yes("editorial", printed.editorial)
            .yes("parentheses", printed.parentheses)
            .text(if known { sign } else { "other" });
        if !known {
            self.lost(
                event,
                format!("the accidental “{}” has no name in MusicXML", printed.sign),
            );
        }
    }

    /// The product of all tuplets in which the note stands.
    fn time_modification(&mut self, event: &Event, written: &Written) {
        let [first, rest @ ..] = written.tuplets.as_slice() else {
            return;
        };
        let product = rest
            .iter()
            .try_fold((first.actual, first.normal), |(actual, normal), ratio| {
                Some((
                    actual.checked_mul(ratio.actual)?,
                    normal.checked_mul(ratio.normal)?,
                ))
            });
        let Some((actual, normal)) = product.filter(|(actual, normal)| *actual > 0 && *normal > 0) else {
            self.lost(
                event,
                "a note stands in tuplets whose numbers can't be multiplied; it was written without",
            );
            return;
        };
        self.out.open("time-modification");
        self.out.leaf("actual-notes", actual);
        self.out.leaf("normal-notes", normal);
        self.out.close("time-modification");
    }

    fn notehead(&mut self, event: &Event, head: &Head) {
        let shape = head.shape.as_deref();
        if shape.is_none() && !head.parentheses {
            return;
        }
        let shape = shape.unwrap_or("normal");
        let known = NOTEHEADS.contains(&shape);
        self.out
            .tag("notehead")
            .yes("parentheses", head.parentheses)
            .text(if known { shape } else { "other" });
        if !known {
            self.lost(event, format!("the note head “{shape}” has no name in MusicXML"));
        }
    }

    fn beams(&mut self, event: &Event) {
        for (beam, level) in event.beams.iter().zip(1..=8) {
            let said = match beam {
                Beam::Begin => "begin",
                Beam::Continue => "continue",
                Beam::End => "end",
                Beam::ForwardHook => "forward hook",
                Beam::BackwardHook => "backward hook",
            };
            self.out.tag("beam").attr("number", level).text(said);
        }
        if event.beams.len() > 8 {
            self.lost(event, "more than eight beams at one note");
        }
    }

    fn lyric(&mut self, lyric: &Lyric) {
        let attribute = if values::is_name_token(&lyric.line) {
            "number"
        } else {
            "name"
        };
        self.out.tag("lyric").attr(attribute, &lyric.line).open();
        if let Some(laugh) = ["[laughing]", "[humming]"]
            .into_iter()
            .find(|text| lyric.text == *text)
        {
            self.out.empty(laugh.trim_matches(['[', ']']));
        } else {
            let syllabic = ["single", "begin", "middle", "end"]
                .into_iter()
                .find(|s| lyric.syllabic == *s);
            if let Some(syllabic) = syllabic {
                self.out.leaf("syllabic", syllabic);
            }
            if !lyric.text.is_empty() || syllabic.is_some() || !lyric.extend {
                for (nth, syllable) in lyric.text.split('‿').enumerate() {
                    if nth > 0 {
                        self.out.leaf("elision", "‿");
                    }
                    self.out.leaf("text", syllable);
                }
            }
            if lyric.extend {
                self.out.empty("extend");
            }
        }
        self.out.close("lyric");
    }
}

/// The alteration of a key, a string or a root as a decimal number, if it is not zero.
pub(super) fn alter_text(alter: Rational) -> Option<String> {
    (!alter.is_zero()).then(|| decimal(alter).0)
}

//! What does a token of notes become? An event of its voice: chord, rest or grace note, with all that stands at it.

use super::accidentals::Marks;
use super::duration;
use super::layout::Home;
use super::part::Reader;
use super::scan::Cell;
use super::signs::{self, Sign};
use super::token::{self, GraceSign, Note};
use super::user::Meaning;
use notation::{
    Anchor, Beam, Event, EventKind, Grace, Head, HeadNote, IdKind, OrnamentKind, Quarters, Severity,
    SpanKind, Written,
};

/// More notes than any chord has.
const MOST_HEADS: usize = 200;
/// More voices than any part has.
const MOST_VOICES: usize = 200;

impl<'a> Reader<'a, '_> {
    /// Reads a token of a spine of notes; the index of its event.
    pub(super) fn token(&mut self, cell: &Cell<'a>, home: Home, marks: &mut Marks) -> Option<usize> {
        self.score.taken += 1;
        let notes: Vec<Note<'a>> = cell
            .text
            .split(' ')
            .filter(|text| !text.is_empty())
            .take(MOST_HEADS)
            .map(|text| token::read(text, &self.meanings))
            .collect();
        self.remarks(home, &notes);
        // A pitch at a rest says only where it is drawn.
        let is_head = |note: &&Note<'_>| note.rest == 0 && (note.pitch.is_some() || note.bad_pitch);
        let heads: Vec<&Note<'a>> = notes.iter().filter(is_head).collect();
        let rest = notes.iter().any(|note| note.rest > 0);
        let first = notes.first()?;
        if heads.is_empty() && !rest && first.number.is_empty() {
            self.left_out(
                Some(home.part),
                false,
                &format!("“{}” among the notes", cell.text),
            );
            return None;
        }
        let (duration, written) = self.length(cell, home, &notes);
        let id = self.id(IdKind::Event, cell);
        let kind = if heads.is_empty() {
            self.rest(home, rest, &notes)
        } else {
            EventKind::Chord(
                heads
                    .iter()
                    .map(|note| self.head(cell, home, note, marks))
                    .collect(),
            )
        };
        let spine = self.spine_of(cell);
        let voice = self.voice(cell, home);
        let mut event = Event {
            id,
            place: self.place(),
            kind,
            duration,
            written,
            grace: None,
            cue: self.spines[spine].cue,
            voice,
            staff: home.staff,
            printed: notes.iter().any(|note| !note.hidden),
            beams: Vec::new(),
            articulations: Vec::new(),
            ornaments: Vec::new(),
            technical: Vec::new(),
            fermatas: Vec::new(),
            dynamics: Vec::new(),
            arpeggio: None,
            lyrics: Vec::new(),
        };
        if matches!(&event.kind, EventKind::Rest { whole_bar: true }) {
            event.written = None;
        }
        if matches!(&event.kind, EventKind::Space) {
            event.written = None;
            event.printed = true;
        }
        event.grace = self.grace(cell, &notes);
        event.beams = self.beams(cell, &notes);
        let mut nth = 0;
        for note in &notes {
            for marked in &note.signs {
                signs::put(&mut event, nth, marked);
                if let Sign::Ornament(_, Some(interval)) = &marked.sign {
                    marks.intervals.entry(id).or_insert(*interval);
                }
            }
            nth += usize::from(is_head(&note));
        }
        Some(self.push(cell, home, event, &notes))
    }

    /// Takes the event into its part, with what reaches further.
    fn push(&mut self, cell: &Cell<'a>, home: Home, event: Event, notes: &[Note<'a>]) -> usize {
        let grace = event.grace.is_some();
        let state = &mut self.parts[home.part];
        let end = event.end_offset();
        if !end.is_overflow() {
            let bar = self.scan.lengths.get(self.bar.get()).copied().unwrap_or(end);
            state.content = state.content.max(end.min(bar));
        }
        state.part.events.push(event);
        let index = state.part.events.len() - 1;
        self.appoggiatura(cell, home, index, notes);
        self.tuplet(cell, home, index);
        self.reach(cell, home, index, notes);
        self.tremolo_pair(cell, home, index);
        if !grace {
            self.slots[cell.slot].graces = 0;
        }
        index
    }

    /// What the editor or encoder says of the token, and signifiers without a place.
    fn remarks(&mut self, home: Home, notes: &[Note<'a>]) {
        let any = |test: fn(&Note<'_>) -> bool| notes.iter().any(test);
        let mut note = |kind, what: &str| self.find(home.part, Severity::Note, kind, what, "");
        if any(|note| note.editorial) {
            note(
                "editorial",
                "an editor added or interpreted something here, as the file says",
            );
        }
        if any(|note| note.sic) {
            note(
                "sic",
                "the file marks this as standing so in its source though it is doubtful",
            );
        }
        if any(|note| note.footnote) {
            note("footnote", "the file has a remark on this place");
        }
        for c in notes.iter().flat_map(|note| &note.others) {
            match self.meanings.get(c).cloned() {
                Some(Meaning::Words(words)) => {
                    self.left_out(Some(home.part), true, &format!("“{c}” at notes ({words})"));
                }
                _ => self.left_out(Some(home.part), false, &format!("“{c}” at notes")),
            }
        }
        if any(|note| note.bad_pitch) {
            self.find(
                home.part,
                Severity::Caution,
                "pitch-unclear",
                "a note is in an octave that does not exist; it was kept without a pitch",
                "check this note against the page",
            );
        }
    }

    /// How long the event is, and how that is printed.
    fn length(&mut self, cell: &Cell<'a>, home: Home, notes: &[Note<'a>]) -> (Quarters, Option<Written>) {
        let number = notes.first().map_or("", |note| note.number);
        let stated = duration::stated(number);
        if notes.iter().any(|note| note.grace.is_some()) {
            return (Quarters::ZERO, stated.and_then(|stated| stated.written));
        }
        let others = notes.iter().skip(1).filter(|note| !note.number.is_empty());
        if let Some(other) = others.into_iter().find(|note| note.number != number) {
            let what = format!(
                "the notes of a chord have the durations {number} and {}; the first was taken for all",
                other.number
            );
            self.find(
                home.part,
                Severity::Caution,
                "chord-uneven",
                what,
                "check this chord against the page",
            );
        }
        let slot = &mut self.slots[cell.slot];
        if let Some(stated) = stated.filter(|stated| stated.quarters <= Quarters::whole(400)) {
            slot.written.clone_from(&stated.written);
            return (stated.quarters, stated.written);
        }
        let written = slot.written.clone();
        let taken = written.as_ref().map_or(Quarters::ONE, Written::quarters);
        let (kind, what) = if number.is_empty() {
            (
                "duration-missing",
                "a note has no duration; that of the note before was taken".to_owned(),
            )
        } else {
            let what = format!("the duration “{number}” is none; that of the note before was taken");
            ("duration-unusable", what)
        };
        self.find(
            home.part,
            Severity::Caution,
            kind,
            what,
            "check the rhythm of this bar against the page",
        );
        let fallback = duration::written_of(taken);
        (taken, written.or(fallback))
    }

    fn rest(&mut self, home: Home, rest: bool, notes: &[Note<'a>]) -> EventKind {
        if rest {
            // Drawn as a whole rest whatever its length: only for a bar of silence.
            let drawn_whole = notes.iter().any(|note| note.rest > 1);
            return EventKind::Rest {
                whole_bar: drawn_whole && self.offset.is_zero(),
            };
        }
        if !notes.iter().all(|note| note.hidden) {
            self.find(
                home.part,
                Severity::Caution,
                "note-empty",
                "a duration stands here without a note or rest; it was passed over in silence",
                "check this bar against the page",
            );
        }
        EventKind::Space
    }

    fn head(&mut self, cell: &Cell<'a>, home: Home, note: &Note<'a>, marks: &mut Marks) -> Head {
        let spine = &self.spines[self.scan.slots[cell.slot].0];
        let (diatonic, chromatic) = spine.written_above;
        let written = note.pitch.map(|pitch| {
            if diatonic == 0 && chromatic.is_zero() {
                pitch
            } else {
                pitch.transposed(diatonic, chromatic)
            }
        });
        let head_note = match written {
            Some(pitch) if !spine.unpitched => HeadNote::Pitch(pitch),
            other => HeadNote::Unpitched(other),
        };
        let id = self.score.piece.ids.give(IdKind::Head);
        if note.accidental != token::Accidental::default() {
            marks.heads.insert(id, note.accidental);
        }
        Head {
            id,
            note: head_note,
            staff: home.staff,
            accidental: None,
            tie_start: note.tie_start || note.tie_middle,
            tie_stop: note.tie_stop || note.tie_middle,
            let_ring: false,
            technical: Vec::new(),
            shape: None,
            parentheses: false,
        }
    }

    /// The first voice of each spine of notes, from the top of each part down.
    pub(super) fn make_voices(&mut self) {
        for (slot, (spine, voice)) in self.scan.slots.iter().enumerate() {
            let Some(home) = self.layout.homes.get(*spine).copied().flatten() else {
                continue;
            };
            let spines = self
                .layout
                .parts
                .get(home.part)
                .map_or(&[][..], |plan| &plan.spines);
            let place = spines.iter().position(|of| of == spine);
            if let Some(place) = place.filter(|place| *voice == 0 && *place < MOST_VOICES) {
                self.slots[slot].voice = u16::try_from(place).ok();
            }
        }
        for (plan, state) in self.layout.parts.iter().zip(&mut self.parts) {
            let voices = plan.spines.len().clamp(1, MOST_VOICES);
            state.part.voices = (1..=voices).map(|voice| voice.to_string()).collect();
        }
    }

    /// The voice of a column within its part.
    fn voice(&mut self, cell: &Cell<'a>, home: Home) -> u16 {
        if let Some(voice) = self.slots[cell.slot].voice {
            return voice;
        }
        let voices = &mut self.parts[home.part].part.voices;
        if voices.len() < MOST_VOICES {
            voices.push((voices.len() + 1).to_string());
        }
        let voice = u16::try_from(voices.len() - 1).unwrap_or(0);
        self.slots[cell.slot].voice = Some(voice);
        voice
    }

    fn grace(&mut self, cell: &Cell<'a>, notes: &[Note<'a>]) -> Option<Grace> {
        let sign = notes.iter().find_map(|note| note.grace)?;
        let slot = &mut self.slots[cell.slot];
        let order = slot.graces;
        slot.graces = order.saturating_add(1);
        Some(Grace {
            slash: sign == GraceSign::Slashed,
            order,
            after: false,
        })
    }

    /// Beams by level, from how many are begun and ended.
    fn beams(&mut self, cell: &Cell<'a>, notes: &[Note<'a>]) -> Vec<Beam> {
        let most = |at: usize| notes.iter().map(|note| note.beams[at]).max().unwrap_or(0).min(10);
        let (begun, ended, right, left) = (most(0), most(1), most(2), most(3));
        let slot = &mut self.slots[cell.slot];
        let before = slot.beams;
        let ended = ended.min(before);
        let go_on = before - ended;
        let mut beams = vec![Beam::Continue; usize::from(go_on)];
        beams.extend((0..ended).map(|_| Beam::End));
        beams.extend((0..begun).map(|_| Beam::Begin));
        beams.extend((0..right).map(|_| Beam::ForwardHook));
        beams.extend((0..left).map(|_| Beam::BackwardHook));
        slot.beams = (go_on + begun).min(10);
        beams
    }

    /// An appoggiatura is encoded as it is played, its note shortened: on the page it is small and its note is whole.
    fn appoggiatura(&mut self, cell: &Cell<'a>, home: Home, index: usize, notes: &[Note<'a>]) {
        let before = self.slots[cell.slot].appoggiatura.take();
        if notes.iter().any(|note| note.appoggiatura) {
            self.slots[cell.slot].appoggiatura = Some(index);
            return;
        }
        let after = notes.iter().any(|note| note.after_appoggiatura);
        let Some(before) = before.filter(|_| after) else {
            return;
        };
        let events = &mut self.parts[home.part].part.events;
        let Some(small) = events.get(before) else { return };
        let (place, taken) = (small.place, small.duration);
        let Some(main) = events.get(index).filter(|main| main.place.bar == place.bar) else {
            return;
        };
        let sum = main.duration + taken;
        let Some(written) = duration::written_of(sum).filter(|written| written.tuplets.is_empty()) else {
            return;
        };
        let main = &mut events[index];
        (main.place, main.duration, main.written) = (place, sum, Some(written));
        let small = &mut events[before];
        small.duration = Quarters::ZERO;
        small.grace = Some(Grace {
            slash: false,
            order: 0,
            after: false,
        });
        self.find(
            home.part,
            Severity::Note,
            "appoggiatura-as-written",
            "the file writes an appoggiatura out as it is played; it was read as the small note and the long note that are printed",
            "",
        );
    }

    /// Two notes with one tremolo between them.
    fn tremolo_pair(&mut self, cell: &Cell<'a>, home: Home, index: usize) {
        let between = |event: &Event| {
            event.ornaments.iter().find_map(|ornament| match ornament.kind {
                OrnamentKind::Tremolo {
                    strokes,
                    between: true,
                } => Some(strokes),
                _ => None,
            })
        };
        let Some(strokes) = self.parts[home.part].part.events.get(index).and_then(between) else {
            return;
        };
        let Some(first) = self.slots[cell.slot].tremolo.take() else {
            self.slots[cell.slot].tremolo = Some(index);
            return;
        };
        let kind = SpanKind::TremoloPair { strokes };
        let (start, end): (Option<Anchor>, Option<Anchor>) =
            (self.anchor(home.part, first), self.anchor(home.part, index));
        let staff = Some(home.staff);
        let span = self.span(cell, home.part, kind, start, staff, None);
        let part = &mut self.parts[home.part].part;
        part.spans[span].end = end;
        // The sign stands once, at the first note.
        if let Some(second) = part.events.get_mut(index) {
            second
                .ornaments
                .retain(|o| !matches!(o.kind, OrnamentKind::Tremolo { between: true, .. }));
        }
    }

    /// True if more was read than any score has.
    pub(super) fn too_much(&self) -> bool {
        self.score.taken > self.most
    }
}

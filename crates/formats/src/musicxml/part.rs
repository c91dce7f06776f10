//! Where are we in a part? The cursor through its bars: forward, back, voices, what is open, what is in force.

use super::header::PartInfo;
use super::spans::Spans;
use super::ties::Ties;
use super::tuplets::OpenTuplet;
use crate::assemble::PartBar;
use crate::assemble::Score;
use crate::report::{Here, Why, in_words};
use crate::xml::El;
use notation::{
    BarIndex, Direction, DirectionKind, Event, EventKind, Finding, Id, IdKind, Origin, Part, Place, Quarters,
    Rational, Severity, Side,
};

pub(super) use crate::assemble::LONGEST_BAR as LONGEST;

/// More staves than any part has.
const MOST_STAVES: u8 = 20;
/// More voices than any part has.
const MOST_VOICES: usize = 200;

/// Reads one part, bar by bar.
pub(super) struct PartReader<'s> {
    pub score: &'s mut Score,
    pub part: Part,
    /// Index of the part in the piece.
    pub number: usize,
    /// How the part is called in messages.
    pub name: String,
    /// The instruments of the part list: id, name, sound.
    pub instruments: Vec<(String, String, Option<String>)>,
    /// The instrument last named by a note.
    pub instrument: Option<usize>,
    /// Divisions of a quarter note in force.
    pub divisions: Option<Rational>,
    pub bar: BarIndex,
    /// Quarter notes from the start of the bar, exact.
    pub cursor: Quarters,
    /// The same as the file counts it, in rounded divisions.
    pub raw: Quarters,
    /// The furthest that anything in the bar reaches.
    pub end: Quarters,
    /// The length of a bar by the metre at its start.
    pub metre: Option<Quarters>,
    /// The metre that starts in the middle of this bar.
    pub next_metre: Option<Option<Quarters>>,
    /// Quarter notes from the start of the part to the start of the bar.
    pub elapsed: Quarters,
    /// The same for the bar before.
    pub elapsed_before: Quarters,
    pub last: Option<LastNote>,
    pub voices: Vec<VoiceState>,
    /// Index of the first event of this bar.
    pub first_event: usize,
    /// Places in this bar where exact and rounded time differ: (rounded, exact).
    pub rounded: Vec<(Quarters, Quarters)>,
    pub spans: Spans,
    pub ties: Ties,
    /// A rest that says it fills the bar.
    pub whole_rest: Option<u32>,
    pub facts: Vec<PartBar>,
    /// A note of an earlier bar may be tied to or slurred into this one by way of a repeat or ending.
    pub after_jump: bool,
    pub before_jump: bool,
    pub said: Said,
}

/// Findings that are said once in a part.
#[derive(Debug, Default)]
pub(super) struct Said {
    pub divisions: bool,
}

/// The note that a following `<chord/>` joins.
#[derive(Clone, Copy, Debug)]
pub(super) struct LastNote {
    /// Index into the part's events.
    pub event: usize,
    pub voice: u16,
    pub grace: bool,
}

/// What a voice has open.
#[derive(Debug, Default)]
pub(super) struct VoiceState {
    pub tuplets: Vec<OpenTuplet>,
    /// Grace notes since the last other note.
    pub graces: u16,
    /// How far the voice reaches in this bar, for each staff: (staff, offset).
    pub filled: Vec<(u8, Quarters)>,
    /// An overlap in this bar was reported.
    pub overlap: bool,
    /// How far the voice reaches in this bar on any staff, and whether it left a gap before that.
    pub reach: Quarters,
    pub gap: bool,
    /// Bars that the voice stands in but does not fill: how many, and the first.
    pub incomplete: u32,
    pub first_incomplete: Option<BarIndex>,
}

impl VoiceState {
    /// Takes in that something of the voice lasts from `start` to `end` in the bar.
    pub(super) fn extend(&mut self, start: Quarters, end: Quarters) {
        self.gap |= start > self.reach;
        self.reach = self.reach.max(end);
    }
}

impl<'s> PartReader<'s> {
    pub(super) fn new(score: &'s mut Score, info: PartInfo) -> Self {
        let id = score.piece.ids.give(IdKind::Part);
        let mut part = Part::new(id, info.name);
        part.abbreviation = info.abbreviation;
        let first = info.instruments.first();
        part.instrument_name = first
            .map(|(_, name, _)| name.clone())
            .filter(|name| !name.is_empty());
        part.instrument_sound = first.and_then(|(_, _, sound)| sound.clone());
        part.midi_program = info.midi_program;
        if !info.id.is_empty() {
            let origin = Origin {
                foreign_id: Some(info.id),
                ..Origin::default()
            };
            score.piece.provenance.origins.insert(id, origin);
        }
        Self {
            number: score.piece.parts.len(),
            score,
            part,
            name: info.shown_name,
            instruments: info.instruments,
            instrument: None,
            divisions: None,
            bar: BarIndex(0),
            cursor: Quarters::ZERO,
            raw: Quarters::ZERO,
            end: Quarters::ZERO,
            metre: None,
            next_metre: None,
            elapsed: Quarters::ZERO,
            elapsed_before: Quarters::ZERO,
            last: None,
            voices: Vec::new(),
            first_event: 0,
            rounded: Vec::new(),
            spans: Spans::default(),
            ties: Ties::default(),
            whole_rest: None,
            facts: Vec::new(),
            after_jump: false,
            before_jump: false,
            said: Said::default(),
        }
    }

    /// Reads a bar: `outer` carries the bar's attributes, `el` holds its music.
    pub(super) fn measure(&mut self, index: usize, outer: El<'_, '_>, el: El<'_, '_>) {
        self.begin_bar(index, outer);
        for child in el.children() {
            match child.name() {
                "note" => self.note(child),
                "backup" => self.backup(child),
                "forward" => self.forward(child),
                "attributes" => self.attributes(child),
                "direction" => self.direction(child),
                "barline" => self.barline(child),
                "sound" => self.sound(child, self.cursor),
                "print" => self.print(child),
                "harmony" => self.harmony(child),
                "figured-bass" => self.figured_bass(child),
                "grouping" => self.unread("grouping", "measure", Why::NoPlace),
                // For computers that listen, and links to other documents.
                "listening" | "link" | "bookmark" => {}
                other => self.unread(other, "measure", Why::Unknown),
            }
        }
        self.end_bar();
    }

    /// Where reading stands, for a finding.
    pub(super) fn here(&self) -> Here {
        self.here_at(self.cursor)
    }

    pub(super) fn here_at(&self, offset: Quarters) -> Here {
        let label = self.score.piece.label(self.bar).to_owned();
        Here {
            part: Some(self.name.clone()),
            bar: Some((self.bar, label)),
            offset,
        }
    }

    /// Reports something that is not taken into the piece.
    pub(super) fn unread(&mut self, name: &str, inside: &str, why: Why) {
        let (part, bar, cursor) = (&self.name, self.bar, self.cursor);
        let bars = &self.score.piece.bars;
        self.score.report.unread(name, inside, why, || Here {
            part: Some(part.clone()),
            bar: Some((
                bar,
                bars.get(bar.get()).map(|b| b.label.clone()).unwrap_or_default(),
            )),
            offset: cursor,
        });
    }

    /// Reports a finding where reading stands.
    pub(super) fn find(
        &mut self,
        severity: Severity,
        kind: &'static str,
        what: impl Into<String>,
        advice: &str,
    ) {
        let finding = self.here().put(Finding::new(severity, kind, what, advice));
        self.score.report.push(finding);
    }

    pub(super) fn caution(&mut self, kind: &'static str, what: impl Into<String>, advice: &str) {
        self.find(Severity::Caution, kind, what, advice);
    }

    pub(super) fn place(&self) -> Place {
        Place {
            bar: self.bar,
            offset: self.cursor,
        }
    }

    /// A new id, with where the element came from.
    pub(super) fn id(&mut self, kind: IdKind, el: El<'_, '_>) -> Id {
        let id = self.score.piece.ids.give(kind);
        let origin = Origin {
            range: Some(el.range()),
            foreign_id: el.attr("id").map(str::to_owned),
            ..Origin::default()
        };
        self.score.piece.provenance.origins.insert(id, origin);
        id
    }

    /// The index of a voice by its name in the source.
    pub(super) fn voice(&mut self, name: &str) -> u16 {
        let known = self.part.voices.iter().position(|voice| voice == name);
        let index = known.unwrap_or_else(|| {
            if self.part.voices.len() >= MOST_VOICES {
                return 0;
            }
            self.part.voices.push(name.to_owned());
            self.voices.push(VoiceState::default());
            self.part.voices.len() - 1
        });
        u16::try_from(index).unwrap_or(0)
    }

    pub(super) fn voice_state(&mut self, voice: u16) -> &mut VoiceState {
        let index = usize::from(voice);
        if index >= self.voices.len() {
            self.voices.resize_with(index + 1, VoiceState::default);
        }
        &mut self.voices[index]
    }

    /// Adds a word or sign.
    pub(super) fn add_direction(&mut self, direction: Direction) {
        self.score.taken += 1;
        self.part.directions.push(direction);
    }

    /// Adds a sign at a place that the source does not write as a direction.
    pub(super) fn add_sign(&mut self, el: El<'_, '_>, name: &str, text: String, printed: bool) {
        let id = self.id(IdKind::Direction, el);
        let kind = DirectionKind::Sign {
            name: name.to_owned(),
            text,
        };
        let direction = Direction {
            id,
            place: self.place(),
            staff: staff_of(el),
            voice: None,
            side: side(el),
            printed,
            kind,
        };
        self.add_direction(direction);
    }

    /// A duration in the file's divisions as quarter notes.
    pub(super) fn in_quarters(&mut self, divisions: Rational) -> Quarters {
        let Some(per_quarter) = self.divisions else {
            if !self.said.divisions {
                self.said.divisions = true;
                self.caution(
                    "divisions-missing",
                    "the file never says how many divisions a quarter note has; durations were taken from the printed values",
                    "check the rhythm against the page",
                );
            }
            return divisions;
        };
        divisions / per_quarter
    }

    /// The duration that an element states, in quarter notes; `None`, with a finding, if it is unusable.
    pub(super) fn stated(&mut self, text: Option<&str>, of: &str) -> Option<Quarters> {
        let text = text?;
        let parsed = Rational::parse(text).map(|divisions| self.in_quarters(divisions));
        let usable = parsed.filter(|d| !d.is_negative() && *d <= LONGEST);
        if usable.is_none() {
            let shown: String = text.chars().take(30).collect();
            self.caution(
                "duration-unusable",
                format!("the duration “{shown}” of a {of} is no length of time"),
                "check the rhythm of this bar against the page",
            );
        }
        usable
    }

    fn backup(&mut self, el: El<'_, '_>) {
        self.last = None;
        let Some(back) = self.stated(el.child_text("duration"), "step back") else {
            return;
        };
        let mut raw = self.raw - back;
        if raw.is_negative() {
            self.caution(
                "backup-too-far",
                format!(
                    "the file steps back {}, to before the bar; it was stopped at the bar's start",
                    in_words(back)
                ),
                "check which notes sound together in this bar",
            );
            raw = Quarters::ZERO;
        }
        self.go_to(raw);
    }

    fn forward(&mut self, el: El<'_, '_>) {
        self.last = None;
        let Some(ahead) = self.stated(el.child_text("duration"), "step forward") else {
            return;
        };
        // Passed over in a voice of its own: silence that belongs to it. Without a voice only the cursor moves.
        if let Some(voice) = el.child_text("voice")
            && ahead.is_positive()
        {
            let voice = self.voice(voice);
            let id = self.id(IdKind::Event, el);
            let event = self.blank_event(id, EventKind::Space, ahead, voice, staff_of(el).unwrap_or(1));
            self.part.events.push(event);
            self.score.taken += 1;
            let (start, end) = (self.cursor, self.cursor + ahead);
            self.voice_state(voice).extend(start, end);
        }
        let raw = self.raw + ahead;
        self.go_to(raw);
        self.end = self.end.max(self.cursor);
    }

    /// Moves the cursor to a place in the file's time.
    fn go_to(&mut self, raw: Quarters) {
        self.raw = raw;
        self.cursor = self
            .rounded
            .iter()
            .rev()
            .find(|(r, _)| *r == raw)
            .map_or(raw, |(_, exact)| *exact);
    }

    pub(super) fn blank_event(
        &self,
        id: Id,
        kind: EventKind,
        duration: Quarters,
        voice: u16,
        staff: u8,
    ) -> Event {
        Event {
            id,
            place: self.place(),
            kind,
            duration,
            written: None,
            grace: None,
            cue: false,
            voice,
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

    /// Ends the part: what is still open stays open, with a finding.
    pub(super) fn finish(mut self) {
        self.flush_ties(None);
        self.report_implied_ties();
        self.report_incomplete_voices();
        self.finish_spans();
        self.part
            .spans
            .sort_by_key(|span| span.start.or(span.end).map(|anchor| anchor.place));
        if self.part.voices.is_empty() {
            self.part.voices.push("1".to_owned());
        }
        self.count_staves();
        self.part.events.shrink_to_fit();
        self.part.directions.shrink_to_fit();
        self.score.facts.push(self.facts);
        self.score.piece.parts.push(self.part);
    }
}

impl PartReader<'_> {
    /// Voices beside others often leave out the rests that would fill their bars: said once for each.
    fn report_incomplete_voices(&mut self) {
        for (index, voice) in self.voices.iter().enumerate() {
            let Some(bar) = voice.first_incomplete else {
                continue;
            };
            let name = self.part.voices.get(index).map_or("", String::as_str);
            let times = if voice.incomplete == 1 {
                String::new()
            } else {
                format!(" in {} bars, first", voice.incomplete)
            };
            let finding = Finding::new(
                Severity::Note,
                "voice-incomplete",
                format!("voice {name} does not fill its bar{times} here, while another voice does"),
                "",
            );
            let label = self.score.piece.label(bar).to_owned();
            self.score
                .report
                .push(finding.in_part(self.name.clone()).at_bar(bar, label));
        }
    }

    /// A part has as many staves as its notes use, whatever it says.
    fn count_staves(&mut self) {
        let heads = self
            .part
            .events
            .iter()
            .flat_map(Event::heads)
            .map(|head| head.staff);
        let used = heads.max().unwrap_or(1).min(MOST_STAVES);
        if used > self.part.staves {
            let stated = self.part.staves;
            self.part.staves = used;
            let finding = Finding::new(
                Severity::Note,
                "staves-missing",
                format!("the file gives this part {stated} staves, but its notes use {used}"),
                "",
            );
            self.score.report.push(finding.in_part(self.name.clone()));
        }
    }
}

/// Above or below, as an element's `placement` says.
pub(super) fn side(el: El<'_, '_>) -> Option<Side> {
    match el.attr("placement")? {
        "above" => Some(Side::Above),
        "below" => Some(Side::Below),
        _ => None,
    }
}

/// The staff that an element's child names.
pub(super) fn staff_of(el: El<'_, '_>) -> Option<u8> {
    el.child_text("staff")
        .and_then(|text| text.parse().ok())
        .filter(|staff| *staff > 0)
}

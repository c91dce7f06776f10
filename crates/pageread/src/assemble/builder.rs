//! How does the piece grow, bar by bar? Changes, events and bar lines put where they belong.

use super::endings::EndingMark;
use super::event::{adorn, finger, sign_at};
use super::lengths::{Length, Short, metre_of};
use super::told::Told;
use super::{Read, Settled, System};
use crate::page_bars::{At, Item, Line, PageBar};
use crate::pitches::{InForce, accidental, clef_of, pitch, steps};
use crate::signs::Sign;
use crate::vocabulary::{Ask, Flag, Main};
use notation::{
    Bar, BarGroup, BarGroupKind, BarIndex, BarSide, Barline, Change, Clef, Event, EventKind, Fermata, Grace,
    Head, HeadNote, How, Id, IdKind, KeySignature, Metre, NoteValue, Origin, Part, Piece, Place,
    PrintedAccidental, Quarters, Repeat, Written,
};

/// A note or rest with its place in the picture: what signs above and below hold on to.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spot {
    pub system: usize,
    pub x: f32,
    pub id: Id,
    pub place: Place,
    pub end: Place,
    pub event: usize,
    pub note: bool,
    pub grace: bool,
}

/// Where ties start (steps and alterations) and where they arrive (steps).
type Ties<'a> = (&'a mut Vec<(i32, notation::Alter)>, &'a mut Vec<i32>);

/// A printed bar with its place in the picture.
#[derive(Clone, Copy, Debug)]
pub(super) struct BarSpot {
    pub system: usize,
    pub from: f32,
    pub to: f32,
    pub first: BarIndex,
    pub last: BarIndex,
}

pub(super) struct Builder<'a> {
    pub systems: &'a [System],
    pub piece: Piece,
    pub part: Part,
    pub told: Told,
    pub spots: Vec<Spot>,
    pub bar_spots: Vec<BarSpot>,
    /// Both ends of ending brackets as they were read.
    pub ending_marks: Vec<EndingMark>,
    /// Ottavas: for each system from where to where, and octaves.
    pub ottavas: Vec<Vec<super::ottavas::Range>>,
    /// Those that were left out.
    pub no_ottavas: Vec<super::ottavas::LeftOut<'a>>,
    force: InForce,
    clef: Clef,
    key: KeySignature,
    metre: Option<Metre>,
    /// The event from which a tie leads on.
    tie_from: Option<usize>,
    second_voice: Option<BarIndex>,
    /// Metres that were not believed.
    refused: Vec<At>,
    /// By how much the page's own bar numbers are ahead of our count.
    pub numbers_ahead: u32,
    /// Which sign became what.
    pub became: Vec<(At, Id)>,
    /// What became of each line of text.
    pub texts: super::texts::Texts,
    /// How loud it is by the dynamic read last.
    pub loud: Option<usize>,
    /// The last rehearsal letter.
    pub last_letter: Option<char>,
    /// For each system, at which height words to be sung stand under it.
    pub sung_at: Vec<Option<f32>>,
}

impl<'a> Builder<'a> {
    pub(super) fn new(systems: &'a [System], refused: Vec<At>) -> Self {
        let (ottavas, no_ottavas) = super::ottavas::ottavas(systems);
        let mut piece = Piece::default();
        let mut part = Part::new(piece.ids.give(IdKind::Part), String::new());
        part.voices.push("1".to_owned());
        "a scanned page".clone_into(&mut piece.provenance.standard);
        Self {
            systems,
            piece,
            part,
            told: Told::default(),
            spots: Vec::new(),
            bar_spots: Vec::new(),
            ending_marks: Vec::new(),
            ottavas,
            no_ottavas,
            force: InForce::default(),
            clef: Clef::TREBLE,
            key: KeySignature::of_fifths(0),
            metre: None,
            tie_from: None,
            second_voice: None,
            refused,
            numbers_ahead: 0,
            became: Vec::new(),
            texts: super::texts::Texts::default(),
            loud: None,
            last_letter: None,
            sung_at: systems.iter().map(super::lettered::sung_at).collect(),
        }
    }

    pub(super) fn build(mut self, bars: &[PageBar], lengths: &[Length], settled: &Settled) -> Read {
        let mut number = u32::from(lengths.first().is_none_or(|first| first.short != Short::Pickup));
        let mut begun = false;
        for (bar, length) in bars.iter().zip(lengths) {
            let second_half = begun && length.short == Short::Rest;
            let label = if second_half {
                format!("{}b", number.saturating_sub(1))
            } else {
                number.to_string()
            };
            let implicit = second_half || length.short == Short::Pickup;
            let count = self.bar(bar, length, number, &label, implicit);
            if !second_half {
                number = number.saturating_add(count);
            }
            begun = length.short == Short::Begun;
        }
        self.leave_tie(&[]);
        if self.part.clefs.is_empty() {
            self.change_clef(Clef::TREBLE, Place::default(), None);
        }
        self.reaching();
        self.part.index_bars(self.piece.bars.len());
        self.piece.barlines.sort_by_key(|line| (line.place, line.side));
        let off = lengths.iter().filter(|length| length.short == Short::Off).count();
        let told = std::mem::take(&mut self.told);
        let (one_ends, of_marks) = (told.one_ends(&self), told.of_marks());
        let mut findings = told.finish(&self, self.second_voice);
        super::lettered::number_as_printed(&mut self.piece, &mut findings, self.numbers_ahead);
        let places = super::places::places(&self, bars, lengths);
        let look = super::look::look(&places, &one_ends, &of_marks, settled);
        let signs = self.systems.iter().flat_map(|system| &system.seen.signs);
        let beside = self
            .systems
            .iter()
            .flat_map(|s| s.seen.roads.iter().chain(&s.seen.dynamics));
        let doubtful = signs.clone().filter(|sign| sign.sure() < 0.9).count()
            + beside.clone().filter(|sign| sign.sure < 0.9).count();
        let signs = signs.count() + beside.count();
        self.piece.parts.push(self.part);
        Read {
            piece: self.piece,
            findings,
            signs,
            doubtful,
            bars: bars.len(),
            bars_off: off,
            places,
            look,
            instead: Vec::new(),
        }
    }

    /// One printed bar; returns how many bars of the grid it is.
    fn bar(&mut self, bar: &PageBar, length: &Length, number: u32, label: &str, implicit: bool) -> u32 {
        let first = BarIndex::from_usize(self.piece.bars.len());
        let count = bar
            .rest_bars
            .and_then(|at| sign_at(self.systems, at))
            .map_or(1, rest_count);
        for n in 0..count {
            let id = self.piece.ids.give(IdKind::Bar);
            let label = if n == 0 {
                label.to_owned()
            } else {
                number.saturating_add(n).to_string()
            };
            self.piece.bars.push(Bar {
                id,
                label,
                implicit,
                length: length.actual,
                new_system: bar.new_system && n == 0,
                new_page: bar.new_page && n == 0,
            });
        }
        let last = BarIndex(first.0.saturating_add(count - 1));
        self.bar_spots.push(BarSpot {
            system: bar.system,
            from: bar.from,
            to: bar.to,
            first,
            last,
        });
        self.force.new_bar();
        self.told.bar(first, label, length);
        if bar.rest_bars.is_some() || bar.repeat.is_some() {
            self.changes_only(&bar.items, Place::start_of(first));
            self.covered(bar, first, count, length.actual);
        } else {
            self.events(bar, length, first);
        }
        if let Some(line) = bar.left {
            self.line(line, Place::start_of(first), BarSide::Left);
        }
        if let Some(line) = bar.right {
            let place = Place {
                bar: last,
                offset: length.actual,
            };
            self.line(line, place, BarSide::Right);
        }
        count
    }

    fn changes_only(&mut self, items: &[Item], place: Place) {
        for item in items {
            self.change(item, place);
        }
    }

    /// Bars of rest, or the sign that repeats a bar.
    fn covered(&mut self, bar: &PageBar, first: BarIndex, count: u32, length: Quarters) {
        self.leave_tie(&[]);
        let Some(at) = bar.rest_bars.or(bar.repeat) else {
            return;
        };
        let Some(sign) = sign_at(self.systems, at) else {
            return;
        };
        for n in 0..count {
            let place = Place::start_of(BarIndex(first.0.saturating_add(n)));
            let mut event = self.event(place, EventKind::Rest { whole_bar: true }, length);
            event.printed = bar.repeat.is_none();
            self.origin(event.id, at, sign.sure());
            if n == 0 {
                self.spot(at.system, sign.x, &event, length);
            }
            self.part.events.push(event);
        }
        if count > 1 || bar.repeat.is_some() {
            let id = self.piece.ids.give(IdKind::Span);
            self.part.bar_groups.push(BarGroup {
                id,
                start: first,
                bars: count,
                kind: if bar.repeat.is_some() {
                    BarGroupKind::MeasureRepeat { pattern: 1 }
                } else {
                    BarGroupKind::MultiRest
                },
            });
        }
    }

    fn events(&mut self, bar: &PageBar, length: &Length, index: BarIndex) {
        let mut offset = Quarters::ZERO;
        let mut chosen = length.chosen.iter();
        let mut graces: Vec<usize> = Vec::new();
        for item in &bar.items {
            let place = Place { bar: index, offset };
            let Item::Event(heads) = item else {
                self.change(item, place);
                continue;
            };
            let Some(sign) = heads.first().and_then(|at| sign_at(self.systems, *at)) else {
                continue;
            };
            if sign.is(Flag::SecondVoice) {
                self.second_voice.get_or_insert(index);
                continue;
            }
            if sign.is(Flag::Grace) {
                let order = u16::try_from(graces.len()).unwrap_or(u16::MAX);
                graces.push(self.part.events.len());
                self.grace(heads, sign, place, order);
                continue;
            }
            graces.clear();
            let Some(read) = chosen.next() else { continue };
            let written = read.written();
            let duration = if length.whole_rest {
                length.actual
            } else {
                written.quarters()
            };
            self.note(heads, sign, place, duration, written, length.whole_rest);
            offset += duration;
        }
        // Grace notes after which nothing follows belong to the note before.
        for at in graces {
            if let Some(grace) = self
                .part
                .events
                .get_mut(at)
                .and_then(|event| event.grace.as_mut())
            {
                grace.after = true;
            }
        }
    }

    fn note(
        &mut self,
        heads: &[At],
        sign: &Sign,
        place: Place,
        duration: Quarters,
        written: Written,
        whole: bool,
    ) {
        let kind = if sign.main == Main::Rest {
            self.leave_tie(&[]);
            EventKind::Rest { whole_bar: whole }
        } else {
            EventKind::Chord(Vec::new())
        };
        let mut event = self.event(place, kind, duration);
        event.written = Some(written);
        let mut sure = sign.sure();
        if sign.main != Main::Rest {
            let mut ties = Vec::new();
            let mut arrived = Vec::new();
            let (list, least) = self.heads(heads, Some((&mut ties, &mut arrived)));
            sure = least;
            self.leave_tie(&arrived);
            event.kind = EventKind::Chord(list);
            self.tie_from = (!ties.is_empty()).then_some(self.part.events.len());
            self.force.tie(ties);
        }
        adorn(&mut event, sign);
        self.finish_event(event, heads, sign, sure);
    }

    fn grace(&mut self, heads: &[At], sign: &Sign, place: Place, order: u16) {
        let mut event = self.event(place, EventKind::Chord(Vec::new()), Quarters::ZERO);
        let value = match sign.answer(Ask::Value) {
            4 => NoteValue::Quarter,
            6 => NoteValue::N16th,
            7 => NoteValue::N32nd,
            8 => NoteValue::N64th,
            3 => NoteValue::Half,
            _ => NoteValue::Eighth,
        };
        event.written = Some(Written {
            value,
            dots: 0,
            tuplets: Vec::new(),
        });
        event.grace = Some(Grace {
            slash: sign.is(Flag::Slash),
            order,
            after: false,
        });
        let (list, least) = self.heads(heads, None);
        event.kind = EventKind::Chord(list);
        adorn(&mut event, sign);
        self.finish_event(event, heads, sign, least);
    }

    fn finish_event(&mut self, event: Event, heads: &[At], sign: &Sign, sure: f32) {
        if let Some(at) = heads.first() {
            self.origin(event.id, *at, sure);
            self.spot(at.system, sign.x, &event, event.duration);
        }
        self.told.event(&event, sure);
        self.part.events.push(event);
    }

    /// Heads from the bottom up, and how sure the least sure is; where ties start and where they arrive.
    fn heads(&mut self, heads: &[At], mut ties: Option<Ties<'_>>) -> (Vec<Head>, f32) {
        let mut out = Vec::new();
        let mut least = 1.0_f32;
        for at in heads {
            let Some(sign) = sign_at(self.systems, *at) else {
                continue;
            };
            let Main::Note(position) = sign.main else { continue };
            least = least.min(sign.sure());
            let step = steps(self.clef, position);
            let printed = accidental(sign.answer(Ask::Accidental));
            let alter = self.force.alter(step, printed.map(|(_, alter)| alter), &self.key);
            let octaves = self.ottava_at(at.system, sign.x);
            let mut head = Head {
                id: self.piece.ids.give(IdKind::Head),
                note: HeadNote::Pitch(pitch(step, alter, octaves)),
                staff: 1,
                accidental: printed.map(|(name, alter)| PrintedAccidental {
                    sign: name.to_owned(),
                    alter: Some(alter),
                    cautionary: sign.is(Flag::Parentheses),
                    editorial: false,
                    parentheses: sign.is(Flag::Parentheses),
                }),
                tie_start: false,
                tie_stop: false,
                let_ring: false,
                technical: finger(sign).into_iter().collect(),
                shape: match sign.answer(Ask::Head) {
                    1 => Some("x".to_owned()),
                    2 => Some("diamond".to_owned()),
                    _ => None,
                },
                parentheses: false,
            };
            if let Some((starts, arrived)) = &mut ties {
                head.tie_stop = self.force.is_tied(step);
                if head.tie_stop {
                    arrived.push(step);
                }
                head.tie_start = sign.is(Flag::Tie);
                if head.tie_start {
                    starts.push((step, alter));
                }
            }
            self.origin(head.id, *at, sign.sure());
            out.push(head);
        }
        (out, least)
    }

    /// A tie that leads to no note of the same pitch is taken back and told.
    fn leave_tie(&mut self, arrived: &[i32]) {
        let lone: Vec<i32> = self
            .force
            .tied_steps()
            .into_iter()
            .filter(|step| !arrived.contains(step))
            .collect();
        if let Some(event) = self.tie_from.and_then(|at| self.part.events.get_mut(at))
            && !lone.is_empty()
        {
            if let EventKind::Chord(heads) = &mut event.kind {
                for head in heads.iter_mut().filter(|head| head.tie_start) {
                    let step = head.pitch().map(|pitch| pitch.diatonic().rem_euclid(7));
                    if lone.iter().any(|lone| Some(lone.rem_euclid(7)) == step) {
                        head.tie_start = false;
                    }
                }
            }
            self.told.lone_tie(event);
        }
        self.force.tie([]);
        self.tie_from = None;
    }

    fn event(&mut self, place: Place, kind: EventKind, duration: Quarters) -> Event {
        Event {
            id: self.piece.ids.give(IdKind::Event),
            place,
            kind,
            duration,
            written: None,
            grace: None,
            cue: false,
            voice: 0,
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

    fn spot(&mut self, system: usize, x: f32, event: &Event, length: Quarters) {
        self.spots.push(Spot {
            system,
            x,
            id: event.id,
            place: event.place,
            end: Place {
                bar: event.place.bar,
                offset: event.place.offset + length,
            },
            event: self.part.events.len(),
            note: event.is_note(),
            grace: event.is_grace(),
        });
    }

    fn ottava_at(&self, system: usize, x: f32) -> i8 {
        let ranges = self.ottavas.get(system).map_or(&[][..], Vec::as_slice);
        ranges
            .iter()
            .find(|(from, to, _)| (*from..=*to).contains(&x))
            .map_or(0, |(.., octaves)| *octaves)
    }

    fn change(&mut self, item: &Item, place: Place) {
        match item {
            Item::Event(_) => {}
            Item::Clef(at) => {
                if let Some(Sign {
                    main: Main::Clef(clef),
                    ..
                }) = sign_at(self.systems, *at)
                {
                    let clef = clef_of(*clef);
                    let sure = sign_at(self.systems, *at).map_or(1.0, Sign::sure);
                    let moves = clef != self.clef || self.part.clefs.is_empty();
                    self.told
                        .clef(clef, place, sure, moves && !self.part.clefs.is_empty());
                    if moves {
                        self.change_clef(clef, place, Some(*at));
                    }
                }
            }
            Item::Key(at) => {
                let Some(sign) = sign_at(self.systems, *at) else {
                    return;
                };
                let Main::Key(fifths) = sign.main else { return };
                let key = KeySignature::of_fifths(fifths);
                if key != self.key || self.part.keys.is_empty() {
                    self.told.key(&key, place, sign.sure());
                    let change = self.dated(place, key.clone(), *at, sign.sure());
                    self.part.keys.push(change);
                    self.key = key;
                }
            }
            Item::Metre(at) if self.refused.contains(at) => {}
            Item::Metre(at) => {
                let Some(metre) = metre_of(self.systems, *at) else {
                    return;
                };
                if self.metre.as_ref() != Some(&metre) {
                    let sure = sign_at(self.systems, *at).map_or(1.0, Sign::sure);
                    self.told.metre(&metre, place, sure);
                    let change = self.dated(place, metre.clone(), *at, sure);
                    self.part.metres.push(change);
                    self.metre = Some(metre);
                }
            }
        }
    }

    fn change_clef(&mut self, clef: Clef, place: Place, at: Option<At>) {
        let id = self.piece.ids.give(IdKind::Change);
        match at {
            Some(at) => self.origin(id, at, sign_at(self.systems, at).map_or(1.0, Sign::sure)),
            None => self.piece.provenance.origins.insert(
                id,
                Origin {
                    how: How::Guessed,
                    ..Origin::default()
                },
            ),
        }
        self.part.clefs.push(Change {
            id,
            place,
            staff: None,
            value: clef,
            printed: at.is_some(),
        });
        self.clef = clef;
    }

    fn dated<T>(&mut self, place: Place, value: T, at: At, sure: f32) -> Change<T> {
        let id = self.piece.ids.give(IdKind::Change);
        self.origin(id, at, sure);
        Change {
            id,
            place,
            staff: None,
            value,
            printed: true,
        }
    }

    /// Where an element was read, and how surely: a box two staff spaces wide over the height of its staff.
    fn origin(&mut self, id: Id, at: At, sure: f32) {
        let Some(system) = self.systems.get(at.system) else {
            return;
        };
        let Some(sign) = system.seen.signs.get(at.sign) else {
            return;
        };
        self.became.push((at, id));
        let page_box = super::over::page_box(system, sign.x);
        self.piece.provenance.origins.insert(
            id,
            Origin {
                confidence: Some(sure),
                page_box: Some(page_box),
                ..Origin::default()
            },
        );
    }

    fn line(&mut self, line: Line, place: Place, side: BarSide) {
        let (style, repeat) = match (line.kind, side) {
            ("double", _) => ("light-light", None),
            ("final", _) => ("light-heavy", None),
            ("dashed", _) => ("dashed", None),
            ("rep_start" | "rep_both", BarSide::Left) => ("heavy-light", Some(true)),
            ("rep_end" | "rep_both", BarSide::Right) => ("light-heavy", Some(false)),
            _ => ("", None),
        };
        let fermata = sign_at(self.systems, line.at).is_some_and(|sign| sign.is(Flag::Fermata))
            && side == BarSide::Right;
        if style.is_empty() && !fermata {
            return;
        }
        let target = self.barline(place, side);
        target.style = (!style.is_empty()).then(|| style.to_owned());
        target.repeat = repeat.map(|forward| Repeat {
            forward,
            times: None,
            after_jump: None,
        });
        if fermata {
            target.fermatas.push(Fermata {
                shape: String::new(),
                inverted: false,
            });
        }
        let id = target.id;
        self.origin(
            id,
            line.at,
            sign_at(self.systems, line.at).map_or(1.0, Sign::sure),
        );
    }

    /// The bar line on one side of a bar that says more than the usual one, made if there is none yet.
    pub(super) fn barline(&mut self, place: Place, side: BarSide) -> &mut Barline {
        let known = self
            .piece
            .barlines
            .iter()
            .position(|line| line.place.bar == place.bar && line.side == side);
        let at = known.unwrap_or_else(|| {
            let id = self.piece.ids.give(IdKind::Barline);
            self.piece.barlines.push(Barline {
                id,
                part: 0,
                place,
                side,
                style: None,
                repeat: None,
                ending: None,
                fermatas: Vec::new(),
                segno: None,
                coda: None,
            });
            self.piece.barlines.len() - 1
        });
        &mut self.piece.barlines[at]
    }
}

fn rest_count(sign: &Sign) -> u32 {
    let digit = |ask| u32::try_from(sign.answer(ask).saturating_sub(1)).unwrap_or(0);
    (digit(Ask::Tens) * 10 + digit(Ask::Ones)).max(1)
}

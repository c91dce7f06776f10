//! Which notes are played? Units with their small notes and ornaments, articulated, each with its loudness.

use super::beats::BarBeats;
use super::clock::Clock;
use super::connected::Connected;
use super::loudness::Levels;
use super::note::{Attack, PlayedNote, Role};
use super::options::PlayOptions;
use super::signs::{Pair, Signs};
use super::small::{Fit, Manner, lay_after, lay_before, manner, shows_upper};
use super::timeline::Slot;
use super::touch::Touch;
use super::units::{Sung, Unit, units};
use crate::ornament::{After, Before, Choice, Setting, Sounded, long_value, sounded, tremolo_unit};
use notation::{Event, Finding, Id, Part, Piece, Pitch, Place, Quarters, Rational, Severity};
use std::collections::{BTreeMap, BTreeSet};

/// How an ornament of the page was played, for the player and the page.
#[derive(Clone, PartialEq, Debug)]
pub struct OrnamentPlayed {
    /// The note that carries it.
    pub event: Id,
    /// Where it stands.
    pub place: Place,
    /// The trade's word for the sign.
    pub mark: String,
    /// Its notes as written pitches with their lengths in quarter notes, at the performance's tempo.
    pub notes: Vec<(Pitch, Quarters)>,
    /// The rule, a clause with its source.
    pub rule: &'static str,
}

pub(super) struct Maker<'a> {
    pub piece: &'a Piece,
    pub part: &'a Part,
    pub options: &'a PlayOptions,
    pub slots: &'a [Slot],
    pub clock: &'a Clock,
    pub beats: &'a [BarBeats],
    connected: Connected,
    levels: Levels,
    onsets: Vec<Quarters>,
    signs: Signs,
    asked: BTreeSet<Id>,
    pub notes: Vec<PlayedNote>,
    pub ornaments: BTreeMap<Id, OrnamentPlayed>,
    pub findings: Vec<Finding>,
}

/// A unit with its surroundings.
struct Seen<'u> {
    unit: &'u Unit,
    fit: &'u Fit,
    before: Option<&'u Unit>,
    next: Option<&'u Unit>,
    after_next: Option<&'u Unit>,
}

impl<'a> Maker<'a> {
    pub fn new(
        piece: &'a Piece,
        part: &'a Part,
        options: &'a PlayOptions,
        slots: &'a [Slot],
        clock: &'a Clock,
        beats: &'a [BarBeats],
    ) -> Self {
        Self {
            piece,
            part,
            options,
            slots,
            clock,
            beats,
            connected: Connected::of(part),
            levels: Levels::of(piece, part),
            onsets: piece.bar_onsets(),
            signs: Signs::of(part, &options.keys),
            asked: BTreeSet::new(),
            notes: Vec::new(),
            ornaments: BTreeMap::new(),
            findings: Vec::new(),
        }
    }

    pub fn make(&mut self) {
        let voices = units(self.part, self.slots);
        for (voice, units) in &voices {
            let fits = self.fits(units);
            for (index, (unit, fit)) in units.iter().zip(&fits).enumerate() {
                let seen = Seen {
                    unit,
                    fit,
                    before: index.checked_sub(1).and_then(|index| units.get(index)),
                    next: units.get(index + 1),
                    after_next: units.get(index + 2),
                };
                self.play(&seen, *voice);
            }
        }
        self.notes
            .sort_by_key(|note| (note.onset, note.voice, note.pitch));
    }

    fn event(&self, index: usize) -> Option<&'a Event> {
        self.part.events.get(index)
    }

    fn choice(&self, unit: &Unit) -> Choice {
        let ids = unit
            .before
            .first()
            .into_iter()
            .chain(unit.parts.iter().map(|(_, event, _)| event));
        ids.filter_map(|index| self.event(*index))
            .find_map(|event| self.options.choices.get(&event.id))
            .cloned()
            .unwrap_or_default()
    }

    /// The small notes of a voice laid into time.
    fn fits(&mut self, units: &[Unit]) -> Vec<Fit> {
        let mut fits: Vec<Fit> = Vec::with_capacity(units.len());
        for (index, unit) in units.iter().enumerate() {
            let mut fit = Fit::plain(unit);
            if let Some(next) = units.get(index + 1)
                && next.onset > unit.onset
            {
                fit.stop = fit.stop.min(next.onset);
            }
            let speed = self.clock.speed(unit.onset);
            let trill = self.signs.trill(self.part, unit);
            if let (Some(main), false) = (self.event(unit.event()), unit.before.is_empty()) {
                let choice = self.choice(unit);
                if trill.is_some() && shows_upper(self.part, &unit.before, self.signs.upper(self.part, unit))
                {
                    fit.upper_printed = true;
                } else {
                    let next = self.signs.next(unit.event()).and_then(|next| self.event(next));
                    let (manner, open) =
                        manner(self.part, &unit.before, main, next, self.options.period, &choice);
                    if open {
                        self.ask(unit, main, manner);
                    }
                    let last = index
                        .checked_sub(1)
                        .and_then(|last| units.get(last).zip(fits.get_mut(last)));
                    lay_before(unit, &unit.before, manner, speed, last, &mut fit);
                    if let Manner::Long(_) = manner {
                        self.long_grace(main, next, &fit);
                    }
                }
            }
            if trill.is_some() && !unit.after.is_empty() {
                fit.ends_trill = true;
            } else {
                lay_after(unit, speed, &mut fit);
            }
            fits.push(fit);
        }
        fits
    }

    /// Long or short? Asked once for each grace note of the page.
    fn ask(&mut self, unit: &Unit, main: &Event, manner: super::small::Manner) {
        let Some(grace) = unit.before.first().and_then(|index| self.event(*index)) else {
            return;
        };
        if !self.asked.insert(grace.id) {
            return;
        }
        let taken = match manner {
            super::small::Manner::Long(length) => format!("long here, {}", quarters_said(length)),
            _ => "short here".to_owned(),
        };
        let names: Vec<String> = [grace, main]
            .iter()
            .filter_map(|e| e.top_pitch())
            .map(Pitch::sign)
            .collect();
        let what = format!(
            "a lone small note without a stroke ({}): long or short? It is played {taken}, by {} custom",
            names.join(" to "),
            self.options.period.word()
        );
        self.findings.push(
            Finding::new(
                Severity::Caution,
                "grace-long-or-short",
                what,
                "ask your teacher, or choose long or short",
            )
            .in_part(self.part.name.clone())
            .at_bar(grace.place.bar, self.piece.label(grace.place.bar))
            .at_offset(grace.place.offset)
            .about(grace.id),
        );
    }

    /// The written point of a time inside a unit, in quarter notes.
    fn written(&self, unit: &Unit, at: Quarters) -> Quarters {
        let part = unit
            .parts
            .iter()
            .rev()
            .find(|(onset, ..)| *onset <= at)
            .or(unit.parts.first());
        let Some((onset, index, _)) = part else { return at };
        let Some(event) = self.event(*index) else {
            return at;
        };
        let bar = self
            .onsets
            .get(event.place.bar.get())
            .copied()
            .unwrap_or_default();
        bar + event.place.offset + at - *onset
    }

    fn loudness(&self, unit: &Unit, from: Quarters, to: Quarters) -> Vec<(Quarters, f64)> {
        let mut points: Vec<(Quarters, f64)> = Vec::new();
        for (n, (onset, ..)) in unit.parts.iter().enumerate() {
            let until = unit.parts.get(n + 1).map_or(unit.end.max(to), |(next, ..)| *next);
            let (a, b) = (from.max(*onset), to.min(until));
            if a < b {
                let start = self.written(unit, a);
                let over = self.levels.over(start, start + (b - a));
                points.extend(over.into_iter().map(|(at, level)| (at - start + a - from, level)));
            }
        }
        if points.is_empty() {
            points.push((Quarters::ZERO, self.levels.at(self.written(unit, unit.onset))));
        }
        points.dedup();
        points
    }

    fn touch(&self, unit: &Unit) -> Touch {
        Touch::of(unit.parts.iter().filter_map(|(_, index, _)| self.event(*index)))
    }

    /// A slur joins the first unit to the second, both on the page and as played.
    fn joins(&self, first: &Unit, second: &Unit) -> bool {
        let adjacent = first.end == second.onset;
        let next = self.signs.next_note(first.last_event());
        adjacent && next == Some(second.event()) && self.connected.on(first.last_event())
    }

    fn sounding(&self, pitch: Pitch, place: Place) -> Rational {
        let sounding = if self.piece.concert_pitch {
            pitch
        } else {
            self.part.transposition_at(place).sounding(pitch)
        };
        sounding.semitones() + self.options.transpose
    }

    fn play(&mut self, seen: &Seen, voice: u16) {
        let unit = seen.unit;
        let Some(event) = self.event(unit.event()) else {
            return;
        };
        let touch = self.touch(unit);
        let under = self.connected.under(unit.event());
        let slurred_to = seen.before.is_some_and(|before| {
            let same = before.top() == unit.top() && seen.fit.before.is_empty();
            self.joins(before, unit) && !self.touch(before).separates() && !same
        });
        let joined_on = seen
            .next
            .is_some_and(|next| self.joins(unit, next) && !touch.separates());
        let stress = self.levels.stress(self.written(unit, unit.onset));
        let mut attack = touch.attack(under, slurred_to);
        if stress.is_some() {
            attack = Attack::Strong;
        }
        let accent = touch.accent() + stress.map_or(0.0, |stress| stress.more);
        let first = if slurred_to { Attack::Joined } else { Attack::Plain };
        for (n, (at, length, index)) in seen.fit.before.iter().enumerate() {
            let attack = if n == 0 { first } else { Attack::Joined };
            self.grace(unit, *index, (*at, *length), attack, voice);
        }
        if !seen.fit.before.is_empty() && attack == Attack::Plain {
            attack = Attack::Joined;
        }
        let speed = self.clock.speed(unit.onset);
        let (from, to) = if seen.fit.start < seen.fit.stop {
            (seen.fit.start, seen.fit.stop)
        } else {
            (unit.onset, unit.end)
        };
        let after_joined = !unit.after.is_empty() && !seen.fit.ends_trill && seen.fit.after.is_positive();
        let figure = self.figure(seen, from, to, speed);
        let top = unit.top();
        let base = PlayedNote {
            onset: from,
            length: to - from,
            held: to - from,
            pitch: None,
            written: None,
            event: event.id,
            place: event.place,
            slot: unit.slot(),
            voice,
            role: Role::Written,
            attack,
            joined_on: false,
            accent,
            loudness: Vec::new(),
        };
        for sung in &unit.heads {
            if let Some(figure) = figure.as_ref().filter(|_| sung.pitch == top && top.is_some()) {
                self.figured(
                    seen,
                    figure,
                    &base,
                    touch,
                    under,
                    joined_on || after_joined,
                    speed,
                );
            } else {
                self.plain(
                    unit,
                    sung,
                    base.clone(),
                    touch,
                    under,
                    joined_on || after_joined,
                    speed,
                );
            }
        }
        if after_joined {
            let list: Vec<_> = seen.fit.after_notes(unit).collect();
            for (at, length, index) in list {
                self.grace(unit, index, (at, length), Attack::Joined, voice);
            }
        }
    }

    #[expect(clippy::too_many_arguments, reason = "what a note is made of")]
    fn plain(
        &mut self,
        unit: &Unit,
        sung: &Sung,
        mut note: PlayedNote,
        touch: Touch,
        under: bool,
        joined: bool,
        speed: Rational,
    ) {
        let to = sung
            .held_to
            .map_or(note.onset + note.held, |to| to.max(note.onset + note.held));
        note.held = to - note.onset;
        note.length = touch.sounding(note.held, under, joined, speed);
        note.joined_on = joined;
        note.written = sung.pitch;
        note.pitch = sung.pitch.map(|pitch| self.sounding(pitch, note.place));
        note.loudness = self.loudness(unit, note.onset, note.onset + note.length);
        self.notes.push(note);
    }

    fn grace(&mut self, unit: &Unit, index: usize, time: (Quarters, Quarters), attack: Attack, voice: u16) {
        let Some(event) = self.event(index) else { return };
        let (onset, length) = time;
        if !length.is_positive() {
            return;
        }
        let level = self.levels.at(self.written(unit, unit.onset));
        for head in event.heads() {
            let written = head.pitch();
            self.notes.push(PlayedNote {
                onset,
                length,
                held: length,
                pitch: written.map(|pitch| self.sounding(pitch, event.place)),
                written,
                event: event.id,
                place: event.place,
                slot: unit.slot(),
                voice,
                role: Role::Grace,
                attack,
                joined_on: true,
                accent: 0.0,
                loudness: vec![(Quarters::ZERO, level)],
            });
        }
    }

    /// The notes of the unit's ornament over its time, with when it begins; `None` if it has none.
    fn figure(
        &mut self,
        seen: &Seen,
        from: Quarters,
        to: Quarters,
        speed: Rational,
    ) -> Option<(Quarters, Sounded)> {
        let unit = seen.unit;
        let choice = self.choice(unit);
        if let Some(pair) = self.signs.pair(unit.event()) {
            return self.tremolo_pair(unit, pair, from, to, speed, &choice);
        }
        let (part, sign, notes) = self.signs.realised(self.part, unit)?;
        let (start, index, _) = *unit.parts.get(part)?;
        let start = if part == 0 { from } else { start.max(from) };
        if start >= to {
            // Small notes have taken the time of the sign.
            return None;
        }
        let event = self.event(index)?;
        let main = unit.top()?;
        let setting = self.setting(seen, start, to, speed);
        let sounded = sounded(&sign.kind, main, &notes, &setting, self.options.period, &choice);
        self.ornaments.entry(event.id).or_insert_with(|| OrnamentPlayed {
            event: event.id,
            place: event.place,
            mark: sign.kind.mark().to_owned(),
            notes: sounded.notes.clone(),
            rule: sounded.rule,
        });
        Some((start, sounded))
    }

    /// A long grace note is written out like an ornament: it and what is left of its note.
    fn long_grace(&mut self, main: &Event, next: Option<&Event>, fit: &Fit) {
        let graces = fit.before.iter().filter_map(|(_, length, index)| {
            let event = self.event(*index)?;
            Some((event.id, event.top_pitch()?, *length))
        });
        let graces: Vec<(Id, Pitch, Quarters)> = graces.collect();
        let Some((first, ..)) = graces.first() else { return };
        let mut notes: Vec<(Pitch, Quarters)> = graces
            .iter()
            .map(|(_, pitch, length)| (*pitch, *length))
            .collect();
        if let Some(pitch) = main.top_pitch()
            && fit.stop > fit.start
        {
            notes.push((pitch, fit.stop - fit.start));
        }
        let played = OrnamentPlayed {
            event: *first,
            place: main.place,
            mark: "appoggiatura".to_owned(),
            notes,
            rule: long_value(main, next).1,
        };
        self.ornaments.entry(*first).or_insert(played);
    }

    fn setting(&self, seen: &Seen, start: Quarters, to: Quarters, speed: Rational) -> Setting {
        let unit = seen.unit;
        let event = self.event(unit.event());
        let alone = unit.parts.len() == 1 && start == unit.onset && to == unit.end;
        let dotted = event
            .and_then(|event| event.written.as_ref())
            .filter(|written| alone && written.tuplets.is_empty())
            .map(|written| (written.value.quarters(), written.dots));
        let before = seen
            .before
            .filter(|before| before.end == unit.onset)
            .and_then(|before| {
                Some(Before {
                    pitch: before.top()?,
                    length: before.end - before.onset,
                    slurred: self.joins(before, unit),
                    staccato: self.touch(before).is_staccato(),
                })
            });
        let after = seen.next.filter(|next| next.onset == unit.end).and_then(|next| {
            let length = next.end - next.onset;
            Some(After {
                pitch: next.top()?,
                length,
                accented: self.on_a_beat(next),
                two: seen
                    .after_next
                    .is_some_and(|third| third.onset == next.end && third.end - third.onset == length),
            })
        });
        let printed_end = if seen.fit.ends_trill {
            unit.after
                .iter()
                .filter_map(|index| self.event(*index)?.top_pitch())
                .collect()
        } else {
            Vec::new()
        };
        Setting {
            length: to - start,
            dotted,
            speed,
            before,
            after,
            printed_end,
            upper_printed: seen.fit.upper_printed,
            fills_its_bar: event.is_some_and(|event| self.fills_its_bar(event)),
        }
    }

    fn on_a_beat(&self, unit: &Unit) -> bool {
        let Some(event) = self.event(unit.event()) else {
            return false;
        };
        let bar = self.beats.get(event.place.bar.get());
        bar.is_some_and(|bar| bar.beat_at(event.place.offset).is_some())
    }

    /// A whole bar of 3/4 or half a bar of 6/8.
    fn fills_its_bar(&self, event: &Event) -> bool {
        let three = Rational::whole(3);
        self.beats.get(event.place.bar.get()).is_some_and(|bar| {
            bar.full == three
                && match bar.beats.len() {
                    3 => event.duration == three,
                    2 => event.duration == Rational::new(3, 2),
                    _ => false,
                }
        })
    }

    /// Two notes in turn, each written at full value for the time of both.
    fn tremolo_pair(
        &self,
        unit: &Unit,
        pair: Pair,
        from: Quarters,
        to: Quarters,
        speed: Rational,
        choice: &Choice,
    ) -> Option<(Quarters, Sounded)> {
        let own = unit.top()?;
        let other = self.event(pair.partner)?.top_pitch()?;
        let event = self.event(unit.event())?;
        let length = to - from;
        let setting = Setting {
            length,
            dotted: event
                .written
                .as_ref()
                .map(|written| (written.value.quarters(), 0)),
            speed,
            before: None,
            after: None,
            printed_end: Vec::new(),
            upper_printed: false,
            fills_its_bar: false,
        };
        let unit = tremolo_unit(pair.strokes, &setting, choice);
        let count = (length / unit).floor().clamp(1, 512);
        let each = length / Rational::whole(count);
        let (first, second) = if pair.first { (own, other) } else { (other, own) };
        let notes = (0..count)
            .map(|n| (if n % 2 == 0 { first } else { second }, each))
            .collect();
        Some((
            from,
            Sounded {
                notes,
                tied_over: false,
                rule: "the two notes in turn; each stroke halves the value (common practice)",
            },
        ))
    }

    #[expect(clippy::too_many_arguments, reason = "what a figure is made of")]
    fn figured(
        &mut self,
        seen: &Seen,
        figure: &(Quarters, Sounded),
        base: &PlayedNote,
        touch: Touch,
        under: bool,
        joined: bool,
        speed: Rational,
    ) {
        let unit = seen.unit;
        let (start, sounded) = figure;
        let repeats = sounded
            .notes
            .windows(2)
            .all(|pair| matches!(pair, [a, b] if a.0 == b.0));
        let mut now = base.onset;
        let mut first = true;
        if *start > base.onset
            && let Some(main) = unit.top()
        {
            // The sign stands on a later note of the tie.
            self.push(
                unit,
                base,
                main,
                (now, *start),
                (base.attack, base.accent, true),
                Role::Written,
            );
            first = false;
        }
        now = *start;
        let count = sounded.notes.len();
        for (n, (pitch, length)) in sounded.notes.iter().enumerate() {
            if n == 0 && first && sounded.tied_over && self.tie_over(*pitch, base, *length) {
                now += *length;
                first = false;
                continue;
            }
            let attack = match (first, repeats) {
                (true, _) => base.attack,
                (false, true) => Attack::Plain,
                (false, false) => Attack::Joined,
            };
            let accent = if first { base.accent } else { 0.0 };
            let last = n + 1 == count;
            let mut to = now + *length;
            if last {
                to = now + touch.sounding(*length, under, joined, speed);
            }
            let on = if last { joined } else { !repeats };
            self.push(
                unit,
                base,
                *pitch,
                (now, to),
                (attack, accent, on),
                Role::Ornament,
            );
            if let Some(note) = self.notes.last_mut() {
                note.held = *length;
            }
            first = false;
            now += *length;
        }
    }

    /// The first note of a bound trill goes on from the note before it.
    fn tie_over(&mut self, pitch: Pitch, base: &PlayedNote, length: Quarters) -> bool {
        let sounding = Some(self.sounding(pitch, base.place));
        let before = self.notes.iter_mut().rev().take(4).find(|note| {
            note.voice == base.voice && note.pitch == sounding && note.onset + note.held == base.onset
        });
        match before {
            Some(note) => {
                note.held += length;
                note.length = note.held;
                true
            }
            None => false,
        }
    }

    fn push(
        &mut self,
        unit: &Unit,
        base: &PlayedNote,
        pitch: Pitch,
        (from, to): (Quarters, Quarters),
        (attack, accent, joined_on): (Attack, f64, bool),
        role: Role,
    ) {
        let note = PlayedNote {
            onset: from,
            length: to - from,
            held: to - from,
            pitch: Some(self.sounding(pitch, base.place)),
            written: Some(pitch),
            role,
            attack,
            accent,
            joined_on,
            loudness: self.loudness(unit, from, to),
            ..base.clone()
        };
        self.notes.push(note);
    }
}

/// A length in words: `1 quarter note`, `3/2 quarter notes`, `1/2 of a quarter note`.
fn quarters_said(length: Quarters) -> String {
    if length == Rational::ONE {
        "1 quarter note".to_owned()
    } else if length > Rational::ONE {
        format!("{length} quarter notes")
    } else {
        format!("{length} of a quarter note")
    }
}

//! How does a part sound? The played notes with their times, lengths and loudness, and the way between page and second.
//!
//! [`perform`] unfolds the road map, lays the tempo along it as a curve, joins ties, plays grace notes and ornaments by
//! the named rule of a period, and shapes each note by its articulation and dynamics. All times are exact quarter
//! notes of the performance; [`Clock`] turns them into seconds as the last step. Eighths are played as written: swing
//! is never assumed. Rests, cues and spaces are silent.

mod beats;
mod clock;
mod connected;
mod join;
mod lesson;
mod loudness;
mod marks;
mod note;
mod notes;
mod options;
mod pace;
mod signs;
mod small;
mod speeds;
mod timeline;
mod touch;
mod tuning;
mod unheard;
mod units;

#[cfg(test)]
mod laws;
#[cfg(test)]
mod tests;

pub use beats::{BarBeats, Beat, by_metre};
pub use clock::{Clock, Stretch};
pub use lesson::{lesson, lookalikes, rhythm};
pub use note::{Attack, PlayedNote, Role};
pub use notes::OrnamentPlayed;
pub use options::{PlayOptions, PlayTempo, Repeats};
pub use speeds::TempoSaid;
pub use timeline::Slot;
pub use tuning::just_cents;

use crate::ornament::LocalKey;
use crate::road::unfold;
use notation::{Finding, Id, KeyRegion, Piece, Pitch, Place, Quarters};
use notes::Maker;

/// One part as it is played.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Performance {
    /// The notes by onset.
    pub notes: Vec<PlayedNote>,
    /// Bars played and count-ins, in order, without gaps.
    pub slots: Vec<Slot>,
    /// Quarter notes to seconds.
    pub clock: Clock,
    /// The beats of the whole performance, count-ins included.
    pub beats: Vec<PlayedBeat>,
    /// The keys as they come, for a drone that follows.
    pub keys: Vec<PlayedKey>,
    /// What was made of each tempo mark.
    pub tempo: Vec<TempoSaid>,
    /// How each ornament was played, in order of the page.
    pub ornaments: Vec<OrnamentPlayed>,
    /// What the player should know or decide.
    pub findings: Vec<Finding>,
}

/// One beat of the performance.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct PlayedBeat {
    /// When, in quarter notes from the beginning.
    pub at: Quarters,
    /// Length in quarter notes.
    pub length: Quarters,
    /// Into how many it divides.
    pub division: u8,
    /// 0 for the downbeat, 1 for the middle of the bar or a group, 2 for the others.
    pub accent: u8,
    /// In which slot.
    pub slot: usize,
}

/// A key from a time on.
#[derive(Clone, PartialEq, Debug)]
pub struct PlayedKey {
    /// From when, in quarter notes from the beginning.
    pub from: Quarters,
    /// The sounding tonic as a pitch class, C = 0 (semitones, exact).
    pub tonic: notation::Rational,
    /// The key as written.
    pub name: String,
    /// No key was found for the passage: the major key of the signature was taken.
    pub by_signature: bool,
}

/// Plays one part; `None` if the piece has no such part or nothing of the range is ever played.
#[must_use]
pub fn perform(piece: &Piece, part_index: usize, options: &PlayOptions) -> Option<Performance> {
    let part = piece.parts.get(part_index)?;
    let unfolding = unfold(piece, &options.road);
    let beats = beats::all_beats(piece, part, &options.beats);
    let slots = timeline::slots(piece, &unfolding, &beats, options);
    if slots.is_empty() {
        return None;
    }
    let speeds = speeds::speeds(piece, part_index, part, &beats, options);
    let stops = pace::Stops::of(piece, part_index, part, &beats);
    let clock = pace::clock(piece, &slots, &speeds.stretches, &stops, options.tempo);
    let mut maker = Maker::new(piece, part, options, &slots, &clock, &beats);
    maker.make();
    let Maker {
        notes,
        ornaments,
        findings: asked,
        ..
    } = maker;
    let mut ornaments: Vec<OrnamentPlayed> = ornaments.into_values().collect();
    ornaments.sort_by_key(|ornament| ornament.place);
    let mut findings = speeds.findings;
    findings.extend(asked);
    findings.extend(unheard::unheard(piece, part));
    let performance = Performance {
        notes,
        beats: played_beats(&slots, &beats),
        keys: played_keys(piece, part_index, &slots, &options.keys, options.transpose),
        clock,
        tempo: speeds.said,
        ornaments,
        findings,
        slots,
    };
    Some(performance)
}

impl Performance {
    /// How long it is, in quarter notes.
    #[must_use]
    pub fn quarters(&self) -> Quarters {
        self.slots.last().map_or(Quarters::ZERO, Slot::end)
    }

    /// How long it lasts, in seconds.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.clock.seconds()
    }

    /// When a note begins and ends, in seconds.
    #[must_use]
    pub fn seconds_of(&self, note: &PlayedNote) -> (f64, f64) {
        (self.clock.begins(note.onset), self.clock.ends(note.end()))
    }

    /// Every time at which a place of the page is played, in quarter notes from the beginning.
    #[must_use]
    pub fn times_of(&self, place: Place) -> Vec<Quarters> {
        self.slots.iter().filter_map(|slot| slot.time_of(place)).collect()
    }

    /// The slot that is played at a time, in quarter notes, and the place of the page. In a count-in the place is that
    /// of the bar to come.
    #[must_use]
    pub fn written_at(&self, time: Quarters) -> Option<(usize, Place)> {
        let index = self
            .slots
            .partition_point(|slot| slot.start <= time)
            .checked_sub(1)?;
        let slot = self.slots.get(index)?;
        if time >= slot.end() {
            return None;
        }
        let place = if slot.count_in {
            Place {
                bar: slot.played.bar,
                offset: slot.played.from,
            }
        } else {
            slot.place_at(time)
        };
        Some((index, place))
    }

    /// The slot that is played at so many seconds, with the quarter notes done in it: for a playhead.
    #[must_use]
    pub fn slot_at_second(&self, seconds: f64) -> Option<(usize, f64)> {
        if !(0.0..=self.seconds()).contains(&seconds) {
            return None;
        }
        let now = self.clock.quarters_at(seconds);
        let index = self
            .slots
            .partition_point(|slot| slot.start.to_f64() <= now)
            .checked_sub(1)?;
        let slot = self.slots.get(index)?;
        Some((index, now - slot.start.to_f64()))
    }

    /// The notes of one ornament of the page, written out: pitches as written, lengths in quarter notes.
    #[must_use]
    pub fn written_out(&self, event: Id) -> Option<&[(Pitch, Quarters)]> {
        let found = self.ornaments.iter().find(|ornament| ornament.event == event)?;
        Some(&found.notes)
    }
}

fn played_beats(slots: &[Slot], beats: &[BarBeats]) -> Vec<PlayedBeat> {
    let mut played = Vec::new();
    for (index, slot) in slots.iter().enumerate() {
        let Some(bar) = beats.get(slot.played.bar.get()) else {
            continue;
        };
        let full = bar.full;
        let Some(last) = bar.beats.last().filter(|_| full.is_positive()) else {
            continue;
        };
        // Where the slot's first moment stands in the full bar.
        let lead = if slot.count_in {
            Quarters::ZERO
        } else {
            bar.lead + slot.played.from
        };
        let mut add = |position: Quarters, beat: &Beat| {
            let at = slot.start + position - lead;
            if position >= lead && at < slot.end() {
                played.push(PlayedBeat {
                    at,
                    length: beat.length,
                    division: beat.division,
                    accent: beat.accent,
                    slot: index,
                });
            }
        };
        if slot.count_in {
            let bars = (slot.length / full).floor().clamp(0, 64) + 1;
            for n in 0..bars {
                let start = full * notation::Rational::whole(n);
                bar.beats.iter().for_each(|beat| add(start + beat.start, beat));
            }
            continue;
        }
        bar.beats.iter().for_each(|beat| add(beat.start, beat));
        // A bar longer than its metre is counted on.
        let mut start = last.start + last.length;
        for _ in 0..400 {
            if start >= lead + slot.length {
                break;
            }
            add(
                start,
                &Beat {
                    start,
                    accent: 2,
                    ..*last
                },
            );
            start += last.length;
        }
    }
    played
}

fn played_keys(
    piece: &Piece,
    part_index: usize,
    slots: &[Slot],
    keys: &[KeyRegion],
    transpose: notation::Rational,
) -> Vec<PlayedKey> {
    let mut played: Vec<PlayedKey> = Vec::new();
    let Some(part) = piece.parts.get(part_index) else {
        return played;
    };
    for slot in slots {
        let bar = slot.played.bar;
        let here = Place::start_of(bar);
        let region = keys.iter().find(|region| region.from <= bar && bar <= region.to);
        let key = region.map(LocalKey::from).or_else(|| {
            // Without a key found: the major key of the signature.
            let fifths = part.key_at(1, here).map_or(Some(0), |key| key.fifths)?;
            let tonic = (0..7).map(notation::Step::from_index).find_map(|step| {
                let alter = (i32::from(fifths) - step.fifths()).checked_rem_euclid(7)?;
                (alter == 0).then(|| (step, (i32::from(fifths) - step.fifths()) / 7))
            })?;
            Some(LocalKey {
                tonic: (tonic.0, i8::try_from(tonic.1).ok()?),
                mode: "major".to_owned(),
                certainty: 0.0,
            })
        });
        let Some(key) = key else { continue };
        let written = Pitch::new(key.tonic.0, key.tonic.1, 4);
        let sounding = if piece.concert_pitch {
            written
        } else {
            part.transposition_at(here).sounding(written)
        };
        let tonic = (sounding.semitones() + transpose).modulo(notation::Rational::whole(12));
        let name = key.name();
        if played
            .last()
            .is_none_or(|last| last.name != name || last.tonic != tonic)
        {
            played.push(PlayedKey {
                from: slot.start,
                tonic,
                name,
                by_signature: region.is_none(),
            });
        }
    }
    played
}

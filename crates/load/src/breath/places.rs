//! Where may one breathe at all, and how good is the place? Between two notes of the line, by what a teacher says.
//!
//! Source: J. Funderburk, Where to Breathe, TUBA Journal 1998; the breath guide of greyflute.com; B. Pimentel, planning
//! breaths (bretpimentel.com); T. Ewell, 2reed.net; pureocarinas.com: at rests, at phrase ends, at parallel places;
//! a bar line alone is no place, an upbeat moves the end of the phrase before the bar line; not at the climax; tied notes
//! may lose the tied part; in long runs after beat 1 works; last resort, inside a large leap. Never between a leading
//! note and its resolution nor between an appoggiatura and its resolution: from memory. Never inside a slur, never before
//! a phrase's last note.

use super::Material;
use crate::keys::key_of;
use notation::{LineNote, Place, Quarters};
use survey::Context;
use survey::phrases::{Notes, PhrasesAnswer};

/// How good a place is, the best first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Quality {
    /// A breath mark or caesura is printed, or a rest of half a beat and more gives the time.
    Free,
    /// A phrase ends.
    PhraseEnd,
    /// A long note or a tied one can be left early, or a small phrase may end.
    Inner,
    /// What teachers do when nothing else is left: after beat 1 of a run or of plain notes, inside a large leap.
    LastResort,
}

/// A place between two notes of the line.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Candidate {
    pub quality: Quality,
    /// How much it costs to breathe here, 0 for the best.
    pub cost: f64,
    pub why: &'static str,
}

/// What is asked of every place.
pub(super) struct Judge<'a> {
    ctx: &'a Context<'a>,
    phrases: &'a PhrasesAnswer,
    notes: Notes,
    tonics: Vec<Option<i32>>,
    /// For each note, whether it is the top of its phrase.
    climax: Vec<bool>,
}

/// Local keys less certain than this are not believed over the key of the whole (the regions' own measure of firm).
const FIRM: f64 = 0.55;

impl<'a> Judge<'a> {
    pub(super) fn new(ctx: &'a Context<'a>, material: &Material<'a>) -> Self {
        let home = material.key.map(survey::phrases::tonic_class);
        let mut tonics = vec![home; ctx.piece.bars.len()];
        let regions = material.key.into_iter().flat_map(|key| &key.regions);
        for region in regions.filter(|region| region.certainty > FIRM) {
            let tonic = region.tonic.0.semitones() + i32::from(region.tonic.1);
            let bars = region.from.get()..=region.to.get();
            for slot in tonics.iter_mut().skip(*bars.start()).take(bars.count()) {
                *slot = Some(tonic.rem_euclid(12));
            }
        }
        Self {
            ctx,
            phrases: material.phrases,
            notes: Notes::of(ctx),
            tonics,
            climax: climaxes(ctx, material.phrases),
        }
    }

    /// The place between two notes that are played one after the other, with the rest between them in quarter notes.
    /// `None` where nobody may breathe.
    pub(super) fn between(&self, before: usize, note: usize, rest: Quarters) -> Option<Candidate> {
        let candidate = |quality, cost, why| Some(Candidate { quality, cost, why });
        let enough = self.notes.beat(before) * Quarters::new(1, 2);
        if rest.is_positive() && rest >= enough {
            return candidate(Quality::Free, 0.0, "there is a rest");
        }
        if before + 1 == note {
            return self.read_on(before, note);
        }
        // A repeat or a jump: the eye leaps, and a phrase ends.
        (!self.resolves(before, note)).then_some(())?;
        let why = if note <= before {
            "before going back"
        } else {
            "before leaping on"
        };
        candidate(Quality::PhraseEnd, 0.0, why)
    }

    fn read_on(&self, before: usize, note: usize) -> Option<Candidate> {
        let signs = self.phrases.signs.get(note).copied().unwrap_or_default();
        let candidate = |quality, cost, why| Some(Candidate { quality, cost, why });
        if signs.breath_mark {
            return candidate(Quality::Free, 0.0, "a breath mark or caesura is printed");
        }
        let begins = self.phrases.begins(note);
        if signs.inside_slur
            || self.resolves(before, note)
            || self.phrases.ends(note) && !begins
            || self.phrases.begins(before) && !begins
        {
            return None;
        }
        let certainty = self.phrases.certainties.get(note).copied().unwrap_or(0.0);
        if begins {
            let why = if signs.section {
                "a section ends"
            } else {
                "a phrase ends"
            };
            let section = if signs.section { 0.0 } else { 0.15 };
            return candidate(Quality::PhraseEnd, section + 0.4 * (1.0 - certainty), why);
        }
        if self.is_climax(before) || self.is_climax(note) {
            return None;
        }
        self.inside(before, note, certainty)
    }

    /// A place inside a phrase, if it is one at all.
    fn inside(&self, before: usize, note: usize, certainty: f64) -> Option<Candidate> {
        let (earlier, later) = (self.ctx.line.get(before)?, self.ctx.line.get(note)?);
        let candidate = |quality, cost, why| Some(Candidate { quality, cost, why });
        let long = self.notes.ioi(before) >= self.beat(before) && self.longer_than_around(before);
        if certainty >= 0.2 && long {
            return candidate(
                Quality::Inner,
                0.9 + 0.5 * (1.0 - certainty),
                "a small phrase may end here",
            );
        }
        if earlier.joined > 1 && earlier.duration.to_f64() > self.beat(before) {
            return candidate(Quality::Inner, 1.2, "the tied part of the note can be left out");
        }
        if long {
            return candidate(Quality::Inner, 1.4, "the long note can be left early");
        }
        if !self.well_inside(note) {
            return None;
        }
        let leap = (key_of(earlier.pitch) - key_of(later.pitch)).abs();
        if leap >= LARGE_LEAP {
            return candidate(Quality::LastResort, 2.0, "a large leap hides it");
        }
        if self.on_downbeat(before) && self.in_run(before) {
            return candidate(Quality::LastResort, 2.3, "in a long run, after beat 1");
        }
        if self.on_downbeat(before) && self.notes.ioi(before) >= self.beat(before) {
            return candidate(
                Quality::LastResort,
                2.6,
                "after beat 1, between notes that are not slurred",
            );
        }
        None
    }

    /// True if at least three notes of the phrase come before the place and two after it: nobody breathes in passing at its
    /// edge (ours).
    fn well_inside(&self, note: usize) -> bool {
        let phrases = &self.phrases.phrases;
        let after = phrases.partition_point(|phrase| phrase.notes.start <= note);
        let phrase = after.checked_sub(1).and_then(|at| phrases.get(at));
        phrase.is_some_and(|phrase| note >= phrase.notes.start + 3 && note + 2 <= phrase.notes.end)
    }

    /// A leading note with its resolution, a raised note with the one it leads to, or an appoggiatura with its own.
    fn resolves(&self, before: usize, note: usize) -> bool {
        let (Some(a), Some(b)) = (self.ctx.line.get(before), self.ctx.line.get(note)) else {
            return false;
        };
        let up = key_of(b.pitch) - key_of(a.pitch);
        let step = b.pitch.diatonic() - a.pitch.diatonic();
        let Some(event) = self.ctx.event(a) else {
            return false;
        };
        if up == 1 && step == 1 {
            let bar = event.place.bar;
            let tonic = self.tonics.get(bar.get()).copied().flatten();
            let leads = tonic.is_some_and(|tonic| key_of(b.pitch).rem_euclid(12) == tonic);
            let home = self.tonics.first().copied().flatten();
            let home = home.is_some_and(|tonic| key_of(b.pitch).rem_euclid(12) == tonic);
            let signature = self.ctx.part.key_at(event.staff, event.place);
            let raised = a.pitch.alter
                > signature
                    .map(|key| key.alter_of(a.pitch.step))
                    .unwrap_or_default();
            if leads || home || raised {
                return true;
            }
        }
        self.leans(before, a, b)
    }

    /// An appoggiatura: approached by leap, on a beat, resolved down by step to a note on a weaker place, no shorter than it.
    fn leans(&self, before: usize, a: &LineNote, b: &LineNote) -> bool {
        let down = a.pitch.diatonic() - b.pitch.diatonic();
        let leapt = before > 0 && self.notes.leap(before).abs() > 2;
        down == 1
            && leapt
            && self.on_beat(before)
            && !self.on_downbeat(before + 1)
            && a.duration >= b.duration
    }

    fn is_climax(&self, note: usize) -> bool {
        self.climax.get(note).copied().unwrap_or(false)
    }

    fn place(&self, note: usize) -> Option<Place> {
        let note = self.ctx.line.get(note)?;
        Some(self.ctx.event(note)?.place)
    }

    fn beat(&self, note: usize) -> f64 {
        self.notes.beat(note).to_f64().max(0.25)
    }

    fn on_beat(&self, note: usize) -> bool {
        let beat = self.notes.beat(note);
        self.notes
            .phase(note)
            .is_some_and(|phase| beat.is_positive() && phase.modulo(beat).is_zero())
    }

    fn on_downbeat(&self, note: usize) -> bool {
        self.notes.phase(note).is_some_and(Quarters::is_zero)
    }

    /// True if a note is longer than both its neighbours, so that its end is felt.
    fn longer_than_around(&self, note: usize) -> bool {
        let own = self.notes.ioi(note);
        let earlier = note.checked_sub(1).map_or(0.0, |at| self.notes.ioi(at));
        own > self.notes.ioi(note + 1) && own >= earlier
    }

    /// True among at least eight notes of the same length.
    fn in_run(&self, note: usize) -> bool {
        let own = self.notes.ioi(note);
        let from = note.saturating_sub(4);
        self.place(note).is_some() && (from..from + 8).all(|at| (self.notes.ioi(at) - own).abs() < 1e-9)
    }
}

/// Semitones of a leap that hides a breath: a minor seventh and more (ours).
const LARGE_LEAP: i32 = 10;

/// The highest note of each phrase, where it is higher than all others.
fn climaxes(ctx: &Context, phrases: &PhrasesAnswer) -> Vec<bool> {
    let mut climax = vec![false; ctx.line.len()];
    for phrase in &phrases.phrases {
        let Some(notes) = ctx.line.get(phrase.notes.clone()) else {
            continue;
        };
        let top = notes.iter().map(|note| key_of(note.pitch)).max();
        let mut tops = notes
            .iter()
            .enumerate()
            .filter(|(_, note)| Some(key_of(note.pitch)) == top);
        if let (Some((at, _)), None) = (tops.next(), tops.next())
            && let Some(slot) = climax.get_mut(phrase.notes.start + at)
        {
            *slot = true;
        }
    }
    climax
}

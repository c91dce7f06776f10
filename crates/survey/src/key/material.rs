//! What does a part give to judge its key by? Its notes as plain numbers, where phrases end, what is played first and last.

use super::role::Role;
use crate::context::Context;
use notation::{BarIndex, BarSide, DirectionKind, Pitch, Place};

/// How many places of the line of fifths a histogram holds.
pub const SPAN: usize = 43;
/// Where C stands in it.
const CENTRE: i32 = 21;

/// A histogram over the line of fifths, in quarter notes.
#[derive(Clone, Debug)]
pub struct Fifths([f64; SPAN]);

impl Default for Fifths {
    fn default() -> Self {
        Self([0.0; SPAN])
    }
}

impl Fifths {
    /// Adds to a place; places past three sharps or flats a letter are counted at the edge.
    pub fn add(&mut self, fifths: i32, weight: f64) {
        let index = (fifths + CENTRE).clamp(0, 42);
        if let Some(slot) = usize::try_from(index).ok().and_then(|i| self.0.get_mut(i)) {
            *slot += weight;
        }
    }

    /// What stands at a place; 0 outside.
    #[must_use]
    pub fn at(&self, fifths: i32) -> f64 {
        usize::try_from(fifths + CENTRE)
            .ok()
            .and_then(|i| self.0.get(i))
            .copied()
            .unwrap_or(0.0)
    }

    /// The sum.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.0.iter().sum()
    }

    /// Every place that holds something, with its weight.
    pub fn iter(&self) -> impl Iterator<Item = (i32, f64)> + '_ {
        (-CENTRE..).zip(self.0).filter(|(_, weight)| *weight > 0.0)
    }

    /// Folded to twelve pitch classes, C = 0.
    #[must_use]
    pub fn folded(&self) -> [f64; 12] {
        let mut classes = [0.0; 12];
        for (fifths, weight) in self.iter() {
            classes[super::tonality::pitch_class(fifths)] += weight;
        }
        classes
    }

    /// The mean place on the line, where notes cluster; 0 if empty.
    #[must_use]
    pub fn mean(&self) -> f64 {
        let total = self.total();
        if total <= 0.0 {
            return 0.0;
        }
        self.iter()
            .map(|(fifths, weight)| f64::from(fifths) * weight)
            .sum::<f64>()
            / total
    }
}

/// One note of the line.
#[derive(Clone, Copy, Debug)]
pub struct Sung {
    /// The event where it starts, an index into the part's events.
    pub event: usize,
    /// Where.
    pub place: Place,
    /// Onset and duration in quarter notes.
    pub onset: f64,
    /// Duration in quarter notes.
    pub duration: f64,
    /// Place on the line of fifths.
    pub fifths: i32,
    /// Semitones, middle C 60.
    pub key: i32,
    /// On a downbeat.
    pub downbeat: bool,
    /// How much this note ends a phrase, 0 for not at all (see [`phrase_ends`]).
    pub ending: f64,
    /// It stands before a double bar or a repeat sign.
    pub section: bool,
}

/// What a part gives to judge its key by.
#[derive(Clone, Debug, Default)]
pub struct Material {
    /// The line in written order.
    pub line: Vec<Sung>,
    /// All heads by their time.
    pub all: Fifths,
    /// The heads that start on a downbeat, by count.
    pub downbeats: Fifths,
    /// Per bar, heads by pitch class, weighted by the square root of their time in quarter notes.
    pub bars: Vec<[f64; 12]>,
    /// The first note played, an index into the line.
    pub first: usize,
    /// The last note played, an index into the line.
    pub last: usize,
    /// The lowest head sounding with the last note played, on the line of fifths; `None` where the part is single.
    pub last_low: Option<i32>,
    /// Heads of the opening (the first 16 notes or the first third).
    pub opening: Fifths,
    /// Heads of the close (the last 16 notes played or the last third).
    pub closing: Fifths,
    /// Share of the line's motions that are leaps of a fourth or more, 0 to 1: high in basses.
    pub leaps: f64,
    /// Which voice it is.
    pub role: Role,
}

/// Reads the material of a part. `played` is the play order, for the first and last notes played.
#[must_use]
pub fn gather(ctx: &Context<'_>, played: Option<&[BarIndex]>) -> Material {
    let mut material = Material {
        line: line_of(ctx),
        ..Material::default()
    };
    histograms(ctx, &mut material);
    if material.line.is_empty() {
        return material;
    }
    phrase_ends(ctx, &mut material.line);
    material.first = first_played(&material.line, played);
    material.last = last_played(ctx, &material.line, played);
    windows(&mut material);
    material.last_low = lowest_with(ctx, &material);
    material.leaps = leaps(&material.line);
    material.role = super::role::role(ctx);
    material
}

fn line_of(ctx: &Context<'_>) -> Vec<Sung> {
    let mut line: Vec<Sung> = Vec::with_capacity(ctx.line.len());
    for note in &ctx.line {
        let Some(event) = ctx.event(note) else { continue };
        line.push(Sung {
            event: note.event,
            place: event.place,
            onset: note.onset.to_f64(),
            duration: note.duration.to_f64(),
            fifths: note.pitch.fifths(),
            key: note.pitch.key_number(),
            downbeat: event.place.offset.is_zero(),
            ending: 0.0,
            section: false,
        });
    }
    line
}

fn histograms(ctx: &Context<'_>, material: &mut Material) {
    material.bars = vec![[0.0; 12]; ctx.piece.bars.len()];
    for event in &ctx.part.events {
        if event.is_grace() || event.cue {
            continue;
        }
        let time = event.duration.to_f64().clamp(0.0, 64.0);
        for pitch in event.pitches() {
            material.all.add(pitch.fifths(), time);
            if event.place.offset.is_zero() && !tied_into(event) {
                material.downbeats.add(pitch.fifths(), 1.0);
            }
            if let Some(bar) = material.bars.get_mut(event.place.bar.get()) {
                bar[pitch.pitch_class()] += time.sqrt();
            }
        }
    }
}

fn tied_into(event: &notation::Event) -> bool {
    event.heads().iter().any(|head| head.tie_stop)
}

/// Marks where phrases end: a fermata, a breath sign, a rest, a double bar or repeat sign, a note much longer than
/// its neighbours. The weights are our own choice (common practice names the signs, no source weighs them).
fn phrase_ends(ctx: &Context<'_>, line: &mut [Sung]) {
    let sections = section_bars(ctx);
    for i in 0..line.len() {
        let note = line[i];
        let next = line.get(i + 1);
        let mut weight: f64 = 0.0;
        if let Some(event) = ctx.part.events.get(note.event) {
            if !event.fermatas.is_empty() || fermata_on_tie(ctx, &note) {
                weight += 2.0;
            }
            if event.articulations.iter().any(|mark| mark.kind.is_break()) {
                weight += 1.0;
            }
        }
        if let Some(next) = next {
            let gap = next.onset - note.onset - note.duration;
            if gap > 0.01 {
                weight += if gap >= 1.0 { 1.0 } else { 0.5 };
            }
            let before = if i == 0 {
                note.duration
            } else {
                line[i - 1].duration
            };
            if note.duration >= 2.0 * next.duration && note.duration >= 1.5 * before {
                weight += 0.5;
            }
            let section =
                (note.place.bar.get()..next.place.bar.get()).any(|bar| sections.get(bar) == Some(&true));
            line[i].section = section;
            if section {
                weight += 1.0;
            }
        }
        line[i].ending = weight;
    }
}

/// A fermata over a note tied from this one.
fn fermata_on_tie(ctx: &Context<'_>, note: &Sung) -> bool {
    let starts = ctx
        .part
        .events
        .get(note.event)
        .is_some_and(|e| e.heads().iter().any(|h| h.tie_start));
    starts
        && ctx
            .part
            .events
            .iter()
            .skip(note.event + 1)
            .take(6)
            .any(|event| tied_into(event) && !event.fermatas.is_empty())
}

/// For each bar, whether a double bar or an end-repeat closes it.
fn section_bars(ctx: &Context<'_>) -> Vec<bool> {
    let mut sections = vec![false; ctx.piece.bars.len()];
    for barline in &ctx.piece.barlines {
        let doubled = barline
            .style
            .as_deref()
            .is_some_and(|style| matches!(style, "light-light" | "light-heavy"));
        let ends = barline.side == BarSide::Right
            && (doubled || barline.repeat.as_ref().is_some_and(|r| !r.forward));
        // A start-repeat or double bar at the left closes the bar before it.
        let starts =
            barline.side == BarSide::Left && (doubled || barline.repeat.as_ref().is_some_and(|r| r.forward));
        let bar = barline.place.bar.get();
        let closed = if ends {
            Some(bar)
        } else if starts {
            bar.checked_sub(1)
        } else {
            None
        };
        if let Some(slot) = closed.and_then(|bar| sections.get_mut(bar)) {
            *slot = true;
        }
    }
    sections
}

fn first_played(line: &[Sung], played: Option<&[BarIndex]>) -> usize {
    let Some(order) = played else { return 0 };
    order
        .iter()
        .take(64)
        .find_map(|bar| in_bar(line, *bar).next())
        .unwrap_or(0)
}

/// The last note played: the last of the last bar in play order that holds one, stopping at a `Fine` inside that bar.
fn last_played(ctx: &Context<'_>, line: &[Sung], played: Option<&[BarIndex]>) -> usize {
    let end = line.len() - 1;
    let Some(order) = played else { return end };
    let Some(final_bar) = order.last() else { return end };
    let fine = ctx
        .part
        .directions
        .iter()
        .find_map(|direction| match &direction.kind {
            DirectionKind::Words(words)
                if direction.place.bar == *final_bar
                    && direction.place.offset.is_positive()
                    && words.trim().to_lowercase().starts_with("fine") =>
            {
                Some(direction.place)
            }
            _ => None,
        });
    order
        .iter()
        .rev()
        .find_map(|bar| {
            in_bar(line, *bar).rfind(|i| bar != final_bar || fine.is_none_or(|fine| line[*i].place < fine))
        })
        .unwrap_or(end)
}

/// The notes of the line that start in a bar. The line is in order of bars.
fn in_bar(line: &[Sung], bar: BarIndex) -> std::ops::Range<usize> {
    let from = line.partition_point(|note| note.place.bar < bar);
    let to = line.partition_point(|note| note.place.bar <= bar);
    from..to
}

fn windows(material: &mut Material) {
    let line = &material.line;
    let size = 16.min(line.len().div_ceil(3)).max(1);
    let mut opening = Fifths::default();
    for note in line.iter().skip(material.first).take(size) {
        opening.add(note.fifths, note.duration);
    }
    let mut closing = Fifths::default();
    let from = (material.last + 1).saturating_sub(size);
    for note in line.iter().take(material.last + 1).skip(from) {
        closing.add(note.fifths, note.duration);
    }
    material.opening = opening;
    material.closing = closing;
}

/// The lowest head that starts with the last note, if it is not that note.
fn lowest_with(ctx: &Context<'_>, material: &Material) -> Option<i32> {
    let last = material.line.get(material.last)?;
    let low: Pitch = ctx
        .part
        .bar_events(last.place.bar)
        .iter()
        .filter(|event| !event.is_grace() && !event.cue)
        .filter(|event| event.end_offset() > last.place.offset)
        .flat_map(notation::Event::pitches)
        .min()?;
    (low.key_number() < last.key).then(|| low.fifths())
}

fn leaps(line: &[Sung]) -> f64 {
    let (mut moves, mut leaps) = (0.0, 0.0);
    for pair in line.windows(2) {
        let size = (pair[1].key - pair[0].key).abs();
        if size > 0 {
            moves += 1.0;
            if size >= 5 {
                leaps += 1.0;
            }
        }
    }
    if moves > 0.0 { leaps / moves } else { 0.0 }
}

//! How does the written speed come to sound? Written stretches laid along the played bars, fermatas and pauses added.
//!
//! A fermata holds its note or rest once more as long, but two beats more at most; a short one (triangle) half as much
//! again, a long one (square) twice. A fermata over a bar line and a caesura stop the time for a beat. A breath mark stops
//! nothing: its time comes from the note before it. Source: common practice; the shapes' meanings from memory.

use super::beats::BarBeats;
use super::clock::{Clock, Stretch};
use super::options::PlayTempo;
use super::speeds::{Written, part_of};
use super::timeline::Slot;
use notation::{ArticulationKind, Event, Fermata, Part, Piece, Quarters, Rational};
use std::collections::BTreeMap;

/// A written span that is held, and by how much.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Hold {
    from: Quarters,
    to: Quarters,
    /// Its time is multiplied by this.
    factor: Rational,
}

/// Everything on the written page that stretches or stops the time.
#[derive(Debug, Default)]
pub(super) struct Stops {
    holds: Vec<Hold>,
    /// Written points where the time stops, and for how many quarter notes.
    pauses: BTreeMap<Quarters, Quarters>,
}

impl Stops {
    pub fn of(piece: &Piece, part_index: usize, part: &Part, beats: &[BarBeats]) -> Self {
        let onsets = piece.bar_onsets();
        let start = |event: &Event| {
            onsets.get(event.place.bar.get()).copied().unwrap_or_default() + event.place.offset
        };
        let unit = |bar: usize| beats.get(bar).map_or(Rational::ONE, BarBeats::unit);
        let mut stops = Self::default();
        for event in part.events.iter().filter(|event| !event.cue && !event.is_grace()) {
            let from = start(event);
            let length = event.duration;
            let beat = unit(event.place.bar.get());
            if let Some(fermata) = event.fermatas.first()
                && length.is_positive()
            {
                let more = held(fermata, length, beat);
                stops.holds.push(Hold {
                    from,
                    to: from + length,
                    factor: (length + more) / length,
                });
            }
            let caesura = |kind: &ArticulationKind| matches!(kind, ArticulationKind::Caesura(_));
            if event.articulations.iter().any(|a| caesura(&a.kind)) {
                stops.pause(from + length, beat);
            }
        }
        for line in piece
            .barlines
            .iter()
            .filter(|line| line.part == part_index && !line.fermatas.is_empty())
        {
            let bar = line.place.bar.get();
            let at = onsets.get(bar).copied().unwrap_or_default();
            let at = match line.side {
                notation::BarSide::Left => at,
                notation::BarSide::Middle => at + line.place.offset,
                notation::BarSide::Right => onsets.get(bar + 1).copied().unwrap_or(at),
            };
            stops.pause(at, unit(bar));
        }
        stops.holds.sort_by_key(|hold| (hold.from, hold.to));
        stops
    }

    fn pause(&mut self, at: Quarters, length: Quarters) {
        let here = self.pauses.entry(at).or_default();
        *here = (*here).max(length);
    }

    /// The greatest factor over a written stretch that no hold begins or ends inside.
    fn factor(&self, from: Quarters, to: Quarters) -> Rational {
        let until = self.holds.partition_point(|hold| hold.from <= from);
        let covering = self.holds.get(..until).unwrap_or(&[]).iter().rev().take(64);
        covering
            .filter(|hold| hold.to >= to)
            .map(|hold| hold.factor)
            .max()
            .unwrap_or(Rational::ONE)
    }
}

/// How much longer a fermata makes its note or rest, in quarter notes.
fn held(fermata: &Fermata, length: Quarters, beat: Quarters) -> Quarters {
    let more = length.min(beat * Rational::whole(2));
    match fermata.shape.as_str() {
        "angled" | "double-angled" | "half-curve" => more * Rational::new(1, 2),
        "square" | "double-square" | "double-dot" => more * Rational::whole(2),
        _ => more,
    }
}

/// The clock of a performance.
pub(super) fn clock(
    piece: &Piece,
    slots: &[Slot],
    written: &[Written],
    stops: &Stops,
    tempo: PlayTempo,
) -> Clock {
    let onsets = piece.bar_onsets();
    let first = slots.iter().find(|slot| !slot.count_in);
    let opening = first.map(|slot| {
        let at = onsets.get(slot.played.bar.get()).copied().unwrap_or_default() + slot.played.from;
        opening_speed(written, at)
    });
    let scale = match (tempo, opening) {
        (PlayTempo::Percent(percent), _) => percent / Rational::whole(100),
        (PlayTempo::Starts { note, per_minute }, Some(opening)) => note * per_minute / opening,
        _ => Rational::ONE,
    };
    let usable = scale.is_positive() && !scale.is_overflow();
    let scale = if usable {
        // Nobody practises slower or faster, and no sound gets days long.
        scale.clamp(Rational::new(1, 20), Rational::whole(20))
    } else {
        Rational::ONE
    };
    let mut stretches = Vec::new();
    for slot in slots {
        let from = onsets.get(slot.played.bar.get()).copied().unwrap_or_default() + slot.played.from;
        if slot.count_in {
            let speed = opening_speed(written, from) * scale;
            stretches.push(Stretch {
                from: slot.start,
                to: slot.end(),
                start: speed,
                end: speed,
                pause: Quarters::ZERO,
            });
            continue;
        }
        slot_stretches(slot, from, written, stops, scale, &mut stretches);
    }
    Clock::new(stretches)
}

/// The speed at a written point, fermatas aside.
fn opening_speed(written: &[Written], at: Quarters) -> Rational {
    let index = written.partition_point(|stretch| stretch.from <= at);
    written
        .get(index.saturating_sub(1))
        .map_or(Rational::whole(60), |stretch| {
            super::speeds::speed_in(stretch, at)
        })
}

fn slot_stretches(
    slot: &Slot,
    from: Quarters,
    written: &[Written],
    stops: &Stops,
    scale: Rational,
    stretches: &mut Vec<Stretch>,
) {
    let to = from + slot.length;
    let performed = |at: Quarters| slot.start + at - from;
    let mut cuts = vec![from, to];
    let first = written.partition_point(|stretch| stretch.to <= from);
    let own = || written.iter().skip(first).take_while(|stretch| stretch.from < to);
    cuts.extend(own().map(|stretch| stretch.from));
    let near = stops.holds.partition_point(|hold| hold.from < to);
    for hold in stops.holds.get(..near).unwrap_or(&[]).iter().rev().take(256) {
        cuts.extend([hold.from, hold.to]);
    }
    cuts.extend(stops.pauses.range(from..=to).map(|(at, _)| *at));
    cuts.retain(|cut| from <= *cut && *cut <= to);
    cuts.sort_unstable();
    cuts.dedup();
    for pair in cuts.windows(2) {
        let &[a, b] = pair else { continue };
        let Some(stretch) = own().find(|stretch| stretch.from <= a && b <= stretch.to) else {
            continue;
        };
        let here = part_of(stretch, a, b);
        let factor = stops.factor(a, b);
        let speed = |speed: Rational| {
            let scaled = speed * scale / factor;
            if scaled.is_positive() && !scaled.is_overflow() {
                scaled
            } else {
                speed
            }
        };
        stretches.push(Stretch {
            from: performed(a),
            to: performed(b),
            start: speed(here.start),
            end: speed(here.end),
            pause: Quarters::ZERO,
        });
        if let Some(pause) = stops.pauses.get(&b) {
            let end = speed(here.end);
            stretches.push(Stretch {
                from: performed(b),
                to: performed(b),
                start: end,
                end,
                pause: *pause,
            });
        }
    }
}

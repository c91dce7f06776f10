//! How do the notes of a scale fall into bars? In the figure, beat by beat, so that it ends on a beat if it can.
//!
//! Scale books make a scale come out by holding its first note, its turns or both for a beat (common practice); the way that
//! ends on the strongest moment with the fewest held notes is taken.

use super::super::draft::{DraftBar, Passage, Reach, Tone};
use super::super::leaps::mark;
use super::super::runs::passage_of;
use super::figure::Figure;
use super::path::Path;
use notation::{Articulation, Clef, Pitch, Quarters, Rational, SpanKind};

/// Which notes are held for a whole beat.
#[derive(Clone, Copy)]
struct Holds {
    first: bool,
    turns: bool,
}

/// A path as a passage in a figure, in bars like one of the piece, in a key.
pub(crate) fn laid(path: &Path, figure: &Figure, like: &DraftBar, clefs: &[Clef]) -> Passage {
    let pulse = like.pulse();
    let ways = [
        Holds {
            first: false,
            turns: false,
        },
        Holds {
            first: true,
            turns: false,
        },
        Holds {
            first: true,
            turns: true,
        },
        Holds {
            first: false,
            turns: true,
        },
    ];
    let mut best: Option<(usize, Flow)> = None;
    for holds in ways {
        let flow = flow(path, figure, like, holds);
        let end = flow.end.modulo(pulse.full);
        let mut cost =
            usize::from(pulse.strength(end)) * 4 + usize::from(holds.first) + usize::from(holds.turns);
        cost += flow
            .turns
            .iter()
            .map(|turn| usize::from(pulse.strength(*turn) > 2))
            .sum::<usize>();
        if best.as_ref().is_none_or(|(known, _)| cost < *known) {
            best = Some((cost, flow));
        }
    }
    let Some((_, flow)) = best else {
        return Passage::default();
    };
    let mut tones = flow.tones;
    // The last note fills its bar.
    let full = like.full();
    let mut room = full - flow.end.modulo(full);
    if room < pulse.beat().min(Rational::ONE) {
        room += full;
    }
    tones.push(Tone::note(path.last, room));
    mark(&mut tones);
    let mut passage = passage_of(&tones, like, None);
    passage.reaches = flow
        .slurs
        .into_iter()
        .map(|(from, to)| Reach {
            from,
            to,
            kind: SpanKind::Slur,
        })
        .collect();
    choose_clefs(&mut passage, clefs);
    passage
}

struct Flow {
    tones: Vec<Tone>,
    slurs: Vec<(u32, u32)>,
    /// Where the last note begins.
    end: Quarters,
    /// Where turning notes begin.
    turns: Vec<Quarters>,
}

fn flow(path: &Path, figure: &Figure, like: &DraftBar, holds: Holds) -> Flow {
    let mut flow = Flow {
        tones: Vec::new(),
        slurs: Vec::new(),
        end: Quarters::ZERO,
        turns: Vec::new(),
    };
    let beat = like.pulse().beat();
    let mut place = 0;
    let mut slur: Option<u32> = None;
    for (leg_index, leg) in path.legs.iter().enumerate() {
        for (index, pitch) in leg.notes.iter().enumerate() {
            let turning = index == 0 && leg_index > 0;
            if turning {
                flow.turns.push(flow.end);
            }
            let number = u32::try_from(flow.tones.len()).unwrap_or(0) + 1;
            let held = index == 0 && place == 0 && if leg_index == 0 { holds.first } else { holds.turns };
            if held {
                flow.push(*pitch, beat, None);
                continue;
            }
            let Some(note) = figure.notes.get(place) else {
                continue;
            };
            flow.push(*pitch, note.length, Some(note));
            match (note.slurred, slur) {
                (true, None) => slur = Some(number),
                (false, Some(from)) => {
                    flow.slurs.push((from, number));
                    slur = None;
                }
                _ => {}
            }
            place = (place + 1) % figure.notes.len().max(1);
        }
    }
    if let Some(from) = slur {
        let last = u32::try_from(flow.tones.len()).unwrap_or(0) + 1;
        flow.slurs.push((from, last));
    }
    flow
}

impl Flow {
    fn push(&mut self, pitch: Pitch, length: Quarters, note: Option<&super::figure::FigureNote>) {
        let mut tone = Tone::note(pitch, length);
        if let Some(note) = note {
            tone.chain.clone_from(&note.chain);
            let mark = |kind: &notation::ArticulationKind| Articulation {
                kind: kind.clone(),
                side: None,
            };
            tone.articulations = note.marks.iter().map(mark).collect();
        }
        self.end += length;
        self.tones.push(tone);
    }
}

/// Ledger lines beyond which another clef is taken, if the instrument has one that spares two.
const MANY_LEDGERS: u32 = 4;

/// Another clef for bars that lie far from the staff, as parts of the instrument have it.
fn choose_clefs(passage: &mut Passage, clefs: &[Clef]) {
    let ledgers = |bar: &DraftBar, clef: Clef| {
        bar.tones
            .iter()
            .filter_map(Tone::top)
            .map(|pitch| clef.ledger_lines(pitch))
            .max()
            .unwrap_or(0)
    };
    let Some(home) = passage.bars.first().map(|bar| bar.clef) else {
        return;
    };
    for bar in &mut passage.bars {
        let own = ledgers(bar, home);
        if own <= MANY_LEDGERS {
            continue;
        }
        let best = clefs.iter().copied().min_by_key(|clef| ledgers(bar, *clef));
        if let Some(clef) = best.filter(|clef| ledgers(bar, *clef) + 2 <= own) {
            bar.clef = clef;
        }
    }
}

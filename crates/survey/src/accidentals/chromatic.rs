//! Where does the line run by semitones? There the eye must follow the notes, not the key.

use crate::Context;
use notation::{Id, LineNote, Pitch, Place};

/// Fewer notes than this are a passing note or two, not a run.
const AT_LEAST: usize = 4;

/// Notes in a row by semitones in one direction.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct ChromaticRun {
    /// First note.
    pub from: Pitch,
    /// Last note.
    pub to: Pitch,
    /// How many notes, the ends counted.
    pub notes: usize,
    /// Upwards.
    pub up: bool,
    /// Where it starts.
    pub from_at: (Place, Id),
    /// Where it ends.
    pub to_at: (Place, Id),
}

/// Runs of four notes and more, no rest between, in order of place.
pub(super) fn runs(ctx: &Context) -> Vec<ChromaticRun> {
    let mut runs = Vec::new();
    let mut start = 0;
    let mut direction = 0;
    for index in 1..=ctx.line.len() {
        let step = match (ctx.line.get(index - 1), ctx.line.get(index)) {
            (Some(a), Some(b)) if a.onset + a.duration == b.onset => semitone(a, b),
            _ => 0,
        };
        if step != 0 && step == direction {
            continue;
        }
        runs.extend(run(ctx, start, index - 1, direction > 0));
        start = index - usize::from(step != 0);
        direction = step;
    }
    runs
}

/// 1 or −1 for a semitone up or down, 0 for anything else.
fn semitone(a: &LineNote, b: &LineNote) -> i64 {
    let size = b.pitch.semitones() - a.pitch.semitones();
    if size.abs() == notation::Rational::ONE {
        size.num()
    } else {
        0
    }
}

fn run(ctx: &Context, first: usize, last: usize, up: bool) -> Option<ChromaticRun> {
    let notes = (last + 1).checked_sub(first)?;
    if notes < AT_LEAST {
        return None;
    }
    let (from, to) = (ctx.line.get(first)?, ctx.line.get(last)?);
    let (from_event, to_event) = (ctx.event(from)?, ctx.event(to)?);
    Some(ChromaticRun {
        from: from.pitch,
        to: to.pitch,
        notes,
        up,
        from_at: (from_event.place, from_event.id),
        to_at: (to_event.place, to_event.id),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;

    #[test]
    fn a_run_turns_at_its_top() {
        let piece =
            sketch("C4/e C#4/e D4/e D#4/e E4/e Eb4/e D4/e Db4/e C4/e G4/q G#4/q A4/q").expect("a sketch");
        let ctx = Context::new(&piece, 0).expect("a part");
        let found: Vec<(String, String, usize, bool)> = runs(&ctx)
            .into_iter()
            .map(|r| (r.from.to_string(), r.to.to_string(), r.notes, r.up))
            .collect();
        assert_eq!(
            found,
            [
                ("C4".into(), "E4".into(), 5, true),
                ("E4".into(), "C4".into(), 5, false)
            ]
        );
    }
}

//! Which notes are beamed? Those written without a space between them, level by level.
//!
//! Source: ABC 2.1, section 4.7.

use super::notes::BEAMED;
use super::reader::Reader;
use notation::{Beam, Event, NoteValue};

impl Reader {
    /// Ends the group of notes that stand together.
    pub(super) fn flush_beam(&mut self) {
        let voice = self.voice();
        if voice.beam.is_empty() {
            return;
        }
        let group = std::mem::take(&mut voice.beam);
        assign(&mut voice.part.events, &group);
    }
}

/// Beams a group of events: every run of eighths and shorter notes in it.
pub(super) fn assign(events: &mut [Event], group: &[usize]) {
    if group.len() < 2 {
        return;
    }
    let levels: Vec<usize> = group
        .iter()
        .map(|index| events.get(*index).map_or(0, levels_of))
        .collect();
    let mut from = 0;
    while from < levels.len() {
        let run = levels
            .get(from..)
            .unwrap_or_default()
            .iter()
            .take_while(|level| **level > 0)
            .count();
        if run > 1 {
            for at in from..from + run {
                let beams = beams_at(levels.get(from..from + run).unwrap_or_default(), at - from);
                if let Some(event) = group.get(at).and_then(|index| events.get_mut(*index)) {
                    event.beams = beams;
                }
            }
        }
        from += run.max(1);
    }
}

/// How many beams a note of this value has.
fn levels_of(event: &Event) -> usize {
    let Some(value) = event.written.as_ref().map(|written| written.value) else {
        return 0;
    };
    if value > BEAMED {
        return 0;
    }
    NoteValue::ALL
        .iter()
        .filter(|other| **other >= value && **other <= BEAMED)
        .count()
}

fn beams_at(levels: &[usize], at: usize) -> Vec<Beam> {
    let level_of = |at: Option<usize>| at.and_then(|at| levels.get(at)).copied().unwrap_or(0);
    let own = level_of(Some(at));
    let (before, after) = (level_of(at.checked_sub(1)), level_of(Some(at + 1)));
    (1..=own)
        .map(|level| match (before >= level, after >= level) {
            (true, true) => Beam::Continue,
            (false, true) => Beam::Begin,
            (true, false) => Beam::End,
            // A hook points to the side on which the note is joined by the level above.
            (false, false) if at == 0 => Beam::ForwardHook,
            (false, false) => Beam::BackwardHook,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn beams_by_level() {
        use Beam::{BackwardHook, Begin, Continue, End, ForwardHook};
        let all = |levels: &[usize]| -> Vec<Vec<Beam>> {
            (0..levels.len()).map(|at| beams_at(levels, at)).collect()
        };
        assert_eq!(all(&[1, 1, 1]), [vec![Begin], vec![Continue], vec![End]]);
        assert_eq!(all(&[1, 2]), [vec![Begin], vec![End, BackwardHook]]);
        assert_eq!(all(&[2, 1]), [vec![Begin, ForwardHook], vec![End]]);
        assert_eq!(
            all(&[2, 2, 1]),
            [vec![Begin, Begin], vec![Continue, End], vec![End]]
        );
    }
}

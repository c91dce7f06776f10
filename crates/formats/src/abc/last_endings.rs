//! Where does a last ending end that nothing closes? Before the strain whose end-repeat it would run into.
//!
//! Source: ABC 2.1, 4.9: an ending ends with `||`, `:|`, `|]` or `[|`. Tunes often leave that sign out: of
//! `[1 A:|[2 A | BBBB:|` the standard's letter takes all up to the last `:|` for the second ending, a player reads a
//! second ending as long as the first and a strain that is repeated. (Common practice, not the standard.)

use super::reader::Reader;
use super::says::At;
use notation::{BarIndex, BarSide, Barline, Ending, EndingKind, IdKind, Place, Quarters, Severity};

/// A bracket: its numbers, its first and last bar, and whether an end-repeat closes it.
struct Bracket {
    number: String,
    first: BarIndex,
    last: BarIndex,
    repeats: bool,
}

impl Reader {
    /// Ends the last ending of a chain after as many bars as the one before it had, where it would swallow a strain.
    pub(super) fn close_last_endings(&mut self) {
        for voice in 0..self.voices.len() {
            let Some(lines) = self.voices.get(voice).map(|voice| &voice.barlines) else {
                continue;
            };
            let brackets = brackets(lines);
            for (open, end) in swallowing(&brackets) {
                self.close_early(voice, open, end);
            }
        }
    }

    fn close_early(&mut self, voice: usize, open: &Bracket, end: BarIndex) {
        let id = self.score.piece.ids.give(IdKind::Barline);
        let Some(lines) = self.voices.get_mut(voice).map(|voice| &mut voice.barlines) else {
            return;
        };
        let at = |line: &Barline| line.side == BarSide::Right && line.place.bar == open.last;
        for line in lines.iter_mut().filter(|line| at(line)) {
            line.ending = None;
        }
        // Brought to the bar's end with the other right bar lines.
        let place = Place::start_of(end);
        lines.push(Barline {
            ending: Some(Ending {
                number: open.number.clone(),
                text: String::new(),
                kind: EndingKind::Discontinue,
            }),
            ..super::bars::blank(id, place, BarSide::Right)
        });
        let at = At {
            voice,
            bar: end,
            offset: Quarters::ZERO,
        };
        self.says.push(
            Severity::Caution,
            "ending-not-closed",
            Some(at),
            "the last ending is not closed before the end-repeat of the next strain; it was taken to be as long as the ending before it",
            "look where its bracket ends on the page",
        );
    }
}

/// The brackets of a voice in order.
fn brackets(lines: &[Barline]) -> Vec<Bracket> {
    let mut found: Vec<Bracket> = Vec::new();
    let mut ordered: Vec<&Barline> = lines.iter().filter(|line| line.ending.is_some()).collect();
    ordered.sort_by_key(|line| (line.place.bar, line.side != BarSide::Left));
    let mut open: Option<(&str, BarIndex)> = None;
    for line in ordered {
        let Some(ending) = &line.ending else { continue };
        if ending.kind == EndingKind::Start {
            open = Some((&ending.number, line.place.bar));
        } else if let Some((number, first)) = open.take() {
            found.push(Bracket {
                number: number.to_owned(),
                first,
                last: line.place.bar,
                repeats: line.repeat.as_ref().is_some_and(|repeat| !repeat.forward),
            });
        }
    }
    found
}

/// The last endings that reach to an end-repeat and are longer than the ending before, with the bar where they end.
fn swallowing(brackets: &[Bracket]) -> Vec<(&Bracket, BarIndex)> {
    let follows =
        |next: &Bracket, before: &Bracket| next.first == before.last.next() && !next.number.starts_with('1');
    let mut found = Vec::new();
    for (index, pair) in brackets.windows(2).enumerate() {
        let [before, last] = pair else { continue };
        let goes_on = brackets.get(index + 2).is_some_and(|next| follows(next, last));
        if !follows(last, before) || goes_on || !(before.repeats && last.repeats) {
            continue;
        }
        let bars = before.last.0 - before.first.0;
        let end = BarIndex(last.first.0.saturating_add(bars));
        if end < last.last {
            found.push((last, end));
        }
    }
    found
}

//! How loud is it at every written place? Levels held between marks, hairpins drawn out between levels, in decibels.
//!
//! 0 is mf; each mark lies 4 dB from the next (ppp −16 … fff 12 or so). Judgement: wind players' whole range is a
//! few tens of decibels and differs by register (Patterson 1974, from memory); what matters here is that p and f are
//! plainly apart. A hairpin with no mark at its end moves by a mark and a half. Beats get no stress that isn't written.

use super::marks::Dashes;
use notation::{DirectionKind, Part, Piece, Place, Quarters, Rational, SpanKind};
use std::collections::BTreeMap;
use terms::dynamics::{Direction, DynamicKind, DynamicWord, Loudness, dynamic_words};

/// Decibels between neighbouring places of the order of loudness (two places make a mark).
const PLACE: f64 = 2.0;
/// What a hairpin without a goal, and a relative mark (più p), moves.
const STEP: f64 = 6.0;
/// From or to nothing.
const NOTHING: f64 = -40.0;
/// A sforzato is at least so much louder than its surroundings.
const SFORZATO: f64 = 6.0;
/// A word (cresc.) whose end is not marked reaches over so many bars.
const WORD_BARS: usize = 4;

fn decibels(level: Loudness) -> f64 {
    if level.0 == 0 {
        NOTHING
    } else {
        (f64::from(level.0) - 16.0) * PLACE
    }
}

/// A level from a point on, perhaps changing evenly to another.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Knot {
    at: Quarters,
    level: f64,
    /// Where the change ends, and at which level.
    to: Option<(Quarters, f64)>,
}

/// A stress on the notes at one place.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Stress {
    /// Decibels above the level.
    pub more: f64,
    /// The level right after the attack (the p of fp).
    pub then: Option<f64>,
}

/// The loudness of one part in written order.
#[derive(Debug, Default)]
pub(super) struct Levels {
    knots: Vec<Knot>,
    stresses: BTreeMap<Quarters, Stress>,
}

enum Sign {
    Mark(DynamicWord),
    /// Opens, from or to nothing, and where it ends.
    Hairpin(bool, bool, Quarters),
}

impl Levels {
    pub fn of(piece: &Piece, part: &Part) -> Self {
        let onsets = piece.bar_onsets();
        let at = |place: Place| {
            onsets
                .get(place.bar.get())
                .or(onsets.last())
                .copied()
                .unwrap_or_default()
                + place.offset
        };
        let mut signs: Vec<(Quarters, u8, Sign)> = Vec::new();
        let mut read = |text: &str, place: Place| {
            let found = dynamic_words(text);
            signs.extend(found.into_iter().map(|word| (at(place), 0, Sign::Mark(word))));
        };
        for direction in &part.directions {
            match &direction.kind {
                DirectionKind::Dynamic(text) | DirectionKind::Words(text) => read(text, direction.place),
                _ => {}
            }
        }
        for event in part.events.iter().filter(|event| !event.cue) {
            event.dynamics.iter().for_each(|text| read(text, event.place));
        }
        for span in &part.spans {
            let (opens, niente) = match span.kind {
                SpanKind::Crescendo { niente } => (true, niente),
                SpanKind::Diminuendo { niente } => (false, niente),
                _ => continue,
            };
            if let (Some(start), Some(end)) = (span.start, span.end) {
                signs.push((at(start.place), 1, Sign::Hairpin(opens, niente, at(end.place))));
            }
        }
        let dashes = Dashes::of(part);
        for (place, opens) in gradual_words(part) {
            let bar = (place.bar.get() + WORD_BARS).min(onsets.len().saturating_sub(1));
            let far = onsets.get(bar).copied().unwrap_or_default();
            let end = dashes.behind(place).map_or(far, at);
            signs.push((at(place), 1, Sign::Hairpin(opens, false, end)));
        }
        signs.sort_by_key(|(at, rank, _)| (*at, *rank));
        let mut levels = Self::default();
        for (index, (at, _, sign)) in signs.iter().enumerate() {
            match sign {
                Sign::Mark(word) => levels.mark(*at, word),
                Sign::Hairpin(opens, niente, end) => {
                    let later = signs.get(index + 1..).unwrap_or(&[]);
                    levels.hairpin(*at, *end, *opens, *niente, goal(later, *at, *end));
                }
            }
        }
        levels
    }

    fn push(&mut self, knot: Knot) {
        while self.knots.last().is_some_and(|last| last.at >= knot.at) {
            self.knots.pop();
        }
        self.knots.push(knot);
    }

    fn mark(&mut self, at: Quarters, word: &DynamicWord) {
        let now = self.at(at);
        let level = |level: f64| Knot { at, level, to: None };
        match (word.kind, word.loudness) {
            (DynamicKind::Level | DynamicKind::Sudden, Some(loudness)) => {
                self.push(level(decibels(loudness)))
            }
            (DynamicKind::Accent, loudness) => {
                let then = word.then.map(decibels);
                // fp is f, then p; sfz is stronger than what is around it.
                let forced = word.mark.contains('z') || word.mark.starts_with(['s', 'r']);
                let own = loudness.map_or(now + SFORZATO, decibels);
                let peak = if forced { own.max(now + SFORZATO) } else { own };
                let base = then.unwrap_or(now);
                if let Some(then) = then {
                    self.push(level(then));
                }
                let more = (peak - base).clamp(0.0, 20.0);
                self.stresses.insert(at, Stress { more, then });
            }
            (DynamicKind::Relative, _) => match word.direction {
                Some(Direction::Louder) => self.push(level(now + STEP)),
                Some(Direction::Softer) => self.push(level(now - STEP)),
                None => {}
            },
            _ => {}
        }
    }

    fn hairpin(
        &mut self,
        at: Quarters,
        end: Quarters,
        opens: bool,
        niente: bool,
        goal: Option<(Quarters, f64)>,
    ) {
        if end <= at {
            return;
        }
        let start = if opens && niente { NOTHING } else { self.at(at) };
        let fits = goal.filter(|(_, level)| if opens { *level > start } else { *level < start });
        let (until, level) = match fits {
            Some((until, level)) => (until.min(end), level),
            None if opens => (end, start + STEP),
            None if niente => (end, NOTHING),
            None => (end, start - STEP),
        };
        self.push(Knot {
            at,
            level: start,
            to: Some((until, level.clamp(NOTHING, 16.0))),
        });
    }

    /// The level at a written point, in decibels.
    pub fn at(&self, at: Quarters) -> f64 {
        let index = self.knots.partition_point(|knot| knot.at <= at);
        index
            .checked_sub(1)
            .and_then(|index| self.knots.get(index))
            .map_or(0.0, |knot| level_in(knot, at))
    }

    /// The level just before a written point.
    fn before(&self, at: Quarters) -> f64 {
        let index = self.knots.partition_point(|knot| knot.at < at);
        index
            .checked_sub(1)
            .and_then(|index| self.knots.get(index))
            .map_or(0.0, |knot| level_in(knot, at))
    }

    /// The levels over a written stretch: at its start, wherever they turn, and at its end.
    pub fn over(&self, from: Quarters, to: Quarters) -> Vec<(Quarters, f64)> {
        let mut points = vec![(from, self.at(from))];
        let first = self
            .knots
            .partition_point(|knot| knot.at <= from)
            .saturating_sub(1);
        for knot in self.knots.iter().skip(first).take_while(|knot| knot.at < to) {
            if knot.at > from {
                points.push((knot.at, self.before(knot.at)));
                points.push((knot.at, knot.level));
            }
            if let Some((end, level)) = knot.to.filter(|(end, _)| from < *end && *end < to) {
                points.push((end, level));
            }
        }
        points.push((to, self.before(to)));
        points
    }

    /// The stress on what begins at a written point.
    pub fn stress(&self, at: Quarters) -> Option<Stress> {
        self.stresses.get(&at).copied()
    }
}

fn level_in(knot: &Knot, at: Quarters) -> f64 {
    match knot.to {
        Some((end, level)) if at < end && end > knot.at => {
            let share = ((at - knot.at) / (end - knot.at)).to_f64();
            knot.level + (level - knot.level) * share
        }
        Some((_, level)) => level,
        None => knot.level,
    }
}

/// The level that a hairpin leads to: the first mark after its start, at its end or within a quarter note of it.
fn goal(later: &[(Quarters, u8, Sign)], start: Quarters, end: Quarters) -> Option<(Quarters, f64)> {
    later
        .iter()
        .take_while(|(at, ..)| *at <= end + Rational::ONE)
        .filter(|(at, ..)| *at > start)
        .find_map(|(at, _, sign)| match sign {
            Sign::Mark(word) if matches!(word.kind, DynamicKind::Level | DynamicKind::Accent) => {
                word.loudness.map(|loudness| (*at, decibels(loudness)))
            }
            _ => None,
        })
}

/// Words that change the loudness over time, with whether they ask for more.
fn gradual_words(part: &Part) -> Vec<(Place, bool)> {
    let mut known: BTreeMap<&str, Option<bool>> = BTreeMap::new();
    let mut found = Vec::new();
    for direction in &part.directions {
        let DirectionKind::Words(text) = &direction.kind else {
            continue;
        };
        let louder = *known.entry(text).or_insert_with(|| louder(text));
        if let Some(louder) = louder {
            found.push((direction.place, louder));
        }
    }
    found
}

fn louder(text: &str) -> Option<bool> {
    let reading = terms::read(text);
    let unit = reading
        .units
        .iter()
        .find(|unit| unit.kind == terms::Kind::ChangeOfDynamic)?;
    let says = |word: &str| unit.meaning.contains(word);
    if says("louder") {
        Some(true)
    } else if says("softer") || says("quieter") || says("dying") {
        Some(false)
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;

    fn levels(text: &str) -> Levels {
        let piece = sketch(text).expect("a sketch");
        Levels::of(&piece, &piece.parts[0])
    }

    fn at(levels: &Levels, num: i64, den: i64) -> f64 {
        levels.at(Rational::new(num, den))
    }

    #[test]
    fn marks_hold_and_hairpins_lead_from_one_to_the_next() {
        let found = levels("metre:4/4 @p < C4/w | C4/w . @f | C4/w | @pp C4/w |");
        assert_eq!(at(&found, 0, 1), -8.0);
        assert_eq!(at(&found, 4, 1), -2.0);
        assert_eq!(at(&found, 8, 1), 4.0);
        assert_eq!(at(&found, 11, 1), 4.0);
        assert_eq!(at(&found, 12, 1), -12.0);
    }

    #[test]
    fn a_hairpin_with_no_goal_moves_a_mark_and_a_half_and_stays_there() {
        let found = levels("metre:4/4 @mf > C4/w . | C4/w |");
        assert_eq!((at(&found, 2, 1), at(&found, 6, 1)), (-3.0, -6.0));
        assert_eq!(levels("metre:4/4 C4/w |").at(Rational::ONE), 0.0);
    }

    #[test]
    fn fp_and_sfz() {
        let found = levels("metre:4/4 @mf C4/q @fp C4/q C4/q @sfz C4/q |");
        let fp = found.stress(Rational::ONE).expect("a stress");
        assert_eq!((fp.more, fp.then), (12.0, Some(-8.0)));
        assert_eq!(at(&found, 2, 1), -8.0);
        assert!(found.stress(Rational::whole(3)).expect("a stress").more >= SFORZATO);
        assert_eq!(at(&found, 3, 1), -8.0);
    }

    #[test]
    fn crescendo_in_words_leads_to_the_next_mark() {
        let found = levels("metre:4/4 @p \"cresc.\" C4/w | C4/w | @f C4/w |");
        assert!(at(&found, 4, 1) > -8.0 && at(&found, 4, 1) < 4.0);
        assert_eq!(at(&found, 8, 1), 4.0);
    }
}

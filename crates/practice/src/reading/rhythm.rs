//! Which rhythm does each bar have? Few patterns that come back; long notes and air where a phrase closes.

use super::cells::{Cell, cells};
use super::chance::Chance;
use super::figure::{Figure, Figures};
use super::form::Phrase;
use super::measure::{BeatKind, Measure, Ticks};

/// Lengths in order; a rest is negative.
pub(super) type BarRhythm = Vec<Ticks>;

/// What rhythms the piece draws from.
#[derive(Clone, Debug)]
pub(super) struct Palette {
    pub(super) figures: Figures,
    /// The cells of this piece, by kind of beat: few, so that they come back.
    pub(super) cells: Vec<(BeatKind, Cell)>,
    /// Notes struck in a quarter note's time, about.
    pub(super) density: f64,
    /// A player who breathes is given air at the end of phrases.
    pub(super) breathes: bool,
}

/// The material of the phrases of one letter.
#[derive(Clone, Debug, Default)]
pub(super) struct Material {
    /// Patterns, the motif first.
    pub(super) patterns: Vec<BarRhythm>,
    /// Which pattern each bar before the close has.
    pub(super) order: Vec<usize>,
}

/// Whether a note that is held from the downbeat leaves the groups of the bar to be seen: whole dotted beats in compound time,
/// whole groups in five and seven.
fn shows_groups(measure: &Measure, hold: Ticks) -> bool {
    let beats = measure.kinds().len();
    if measure.compound() {
        return hold % 36 == 0 || hold < 36;
    }
    let grouped = matches!(measure.kinds().first(), Some(BeatKind::Quarter)) && beats >= 5;
    !grouped || hold <= 24 || hold == measure.length() || measure.strength(hold) >= 3
}

/// Draws the cells of a piece: one for each of its figures, plain ones, and some more up to `most` for a kind of beat.
pub(super) fn draw_cells(
    measure: &Measure,
    figures: Figures,
    most: usize,
    chance: &mut Chance,
) -> Vec<(BeatKind, Cell)> {
    let mut drawn: Vec<(BeatKind, Cell)> = Vec::new();
    for kind in [BeatKind::Quarter, BeatKind::Half, BeatKind::Dotted] {
        if !measure.kinds().contains(&kind) {
            continue;
        }
        let offered: Vec<Cell> = cells(kind)
            .iter()
            .filter(|cell| cell.needs.within(figures))
            .copied()
            .collect();
        let mut taken: Vec<Cell> = Vec::new();
        let take = |from: &[Cell], taken: &mut Vec<Cell>, chance: &mut Chance| {
            let left: Vec<Cell> = from
                .iter()
                .filter(|cell| !taken.contains(cell))
                .copied()
                .collect();
            let shares: Vec<f64> = left.iter().map(|cell| cell.share).collect();
            if let Some(cell) = chance.weighted(&shares).and_then(|at| left.get(at)) {
                taken.push(*cell);
            }
        };
        // One beat by itself is always there, and a long note.
        taken.extend(offered.iter().find(|cell| cell.beats == 1).copied());
        for figure in figures.iter() {
            let with: Vec<Cell> = offered
                .iter()
                .filter(|cell| cell.needs.has(figure))
                .copied()
                .collect();
            if !taken.iter().any(|cell| cell.needs.has(figure)) {
                take(&with, &mut taken, chance);
            }
        }
        while taken.len() < most && taken.len() < offered.len() {
            take(&offered, &mut taken, chance);
        }
        drawn.extend(taken.into_iter().map(|cell| (kind, cell)));
    }
    drawn
}

impl Palette {
    /// A bar's rhythm up to a place (the whole bar, or less before a pickup).
    fn bar(&self, measure: &Measure, featured: Option<Figure>, chance: &mut Chance) -> BarRhythm {
        let mut rhythm = BarRhythm::new();
        let mut beat = 0;
        let mut wanted = featured;
        let mut before: Option<Cell> = None;
        while let Some(kind) = measure.kinds().get(beat) {
            let offered: Vec<&Cell> = self
                .cells
                .iter()
                .filter(|(of, cell)| of == kind && self.suits(measure, cell, beat, rhythm.last()))
                .map(|(_, cell)| cell)
                .collect();
            let shares: Vec<f64> = offered
                .iter()
                .map(|cell| {
                    // What was just heard comes again more readily than something new.
                    let again = if before == Some(**cell) { 1.7 } else { 1.0 };
                    again * self.share(cell, wanted, measure.kinds().len() - beat)
                })
                .collect();
            let Some(cell) = chance.weighted(&shares).and_then(|at| offered.get(at)) else {
                break;
            };
            before = Some(**cell);
            if wanted.is_some_and(|figure| cell.needs.has(figure)) {
                wanted = None;
            }
            rhythm.extend_from_slice(cell.lengths);
            beat += cell.beats;
        }
        rhythm
    }

    fn suits(&self, measure: &Measure, cell: &Cell, beat: usize, before: Option<&Ticks>) -> bool {
        let rest_first = cell.lengths.first().is_some_and(|length| *length < 0);
        let rest_in = cell.lengths.iter().any(|length| *length < 0);
        let last = beat + cell.beats == measure.kinds().len();
        cell.needs.within(self.figures)
            && measure.may_hold(beat, cell.beats)
            // The downbeat sounds, two rests don't meet, and a bar doesn't end in a rest that belongs to a close.
            && !(rest_first && (beat == 0 || before.is_none_or(|length| *length <= 0)))
            && !(rest_in && last && measure.kinds().len() > 1)
            // A pair of eighths cut short would leave the next beat's weight in the air.
            && !(rest_first && before.is_some_and(|length| *length < 24))
    }

    /// How likely a cell is: as usual as it is, nearer the wanted density more, the featured figure most.
    fn share(&self, cell: &Cell, featured: Option<Figure>, beats_left: usize) -> f64 {
        let off = cell.density() - self.density;
        let near = 1.0 / (1.0 + 3.0 * off * off);
        let wanted = featured.is_some_and(|figure| cell.needs.has(figure));
        let urgent = if beats_left <= 2 { 12.0 } else { 4.0 };
        cell.share * near * if wanted { urgent } else { 1.0 }
    }

    /// The material of a letter's first phrase.
    pub(super) fn material(
        &self,
        measure: &Measure,
        phrase: &Phrase,
        must: Figures,
        before: Option<&Material>,
        chance: &mut Chance,
    ) -> Material {
        let body = phrase.bars.saturating_sub(1);
        let order: Vec<usize> = match body {
            0 => Vec::new(),
            1 => vec![0],
            2 => chance.pick(&[[0, 1], [0, 1], [0, 0]]).unwrap_or([0, 1]).to_vec(),
            3 => chance
                .pick(&[[0, 1, 0], [0, 0, 1], [0, 1, 2], [0, 1, 0]])
                .unwrap_or([0, 1, 0])
                .to_vec(),
            more => (0..more)
                .map(|bar| if bar + 1 == more { 2 } else { bar % 2 })
                .collect(),
        };
        let needed = order.iter().max().map_or(0, |most| most + 1);
        let wanted: Vec<Figure> = must.iter().collect();
        let mut patterns: Vec<BarRhythm> = Vec::new();
        for index in 0..needed {
            // A middle part takes one of the first part's rhythms along.
            let kept = before.filter(|_| index == 1).and_then(|m| m.patterns.first());
            let pattern = match kept {
                Some(pattern) if chance.percent(60) => pattern.clone(),
                _ => {
                    let featured = wanted.get(index).copied().or_else(|| self.a_figure(chance));
                    self.bar(measure, featured, chance)
                }
            };
            patterns.push(pattern);
        }
        Material { patterns, order }
    }

    /// A figure to feature: any of those there.
    fn a_figure(&self, chance: &mut Chance) -> Option<Figure> {
        let figures: Vec<Figure> = self
            .figures
            .iter()
            .filter(|figure| *figure != Figure::Rests)
            .collect();
        chance.pick(&figures)
    }

    /// The bar that closes a phrase, up to where the next pickup begins: a long note, and air after it.
    pub(super) fn close(&self, measure: &Measure, to: Ticks, last: bool, chance: &mut Chance) -> BarRhythm {
        let beat = measure.kinds().last().map_or(24, |kind| kind.length());
        let room = |hold: &Ticks| *hold <= to && *hold * 2 >= to && self.may_print(measure, *hold);
        // In an uneven bar a long note would hide where the groups meet.
        let holds: Vec<Ticks> = [192, 144, 96, 72, 48, 36, 24]
            .into_iter()
            .filter(room)
            .filter(|hold| *hold == to || measure.strength(*hold) >= 2)
            .filter(|hold| shows_groups(measure, *hold))
            .collect();
        let with_air: Vec<Ticks> = holds.iter().copied().filter(|hold| *hold < to).collect();
        let air = !last && (self.breathes || chance.percent(25)) || !holds.contains(&to);
        let hold = if last && air {
            // The last note is the longest that there is.
            with_air.first().copied()
        } else if air && !with_air.is_empty() {
            chance.pick(&with_air)
        } else {
            holds.first().copied()
        };
        let Some(hold) = hold else {
            // No single note fits (five eighths before a pickup): one beat, then rest.
            return vec![beat.min(to), -(to - beat).max(0)]
                .into_iter()
                .filter(|length| *length != 0)
                .collect();
        };
        let mut rhythm = Vec::new();
        // A first beat leads into the held note where there is room for both.
        let lead = measure.kinds().first().map_or(24, |kind| kind.length());
        if !last && hold > 2 * lead && chance.percent(45) && self.may_print(measure, hold - lead) {
            rhythm.push(lead);
            rhythm.push(hold - lead);
        } else {
            rhythm.push(hold);
        }
        if hold < to {
            rhythm.push(hold - to);
        }
        rhythm
    }

    /// Whether one printed note may have a length, with the figures there are.
    fn may_print(&self, measure: &Measure, length: Ticks) -> bool {
        match length {
            12 => measure.compound() || self.figures.has(Figure::Eighths),
            36 => measure.kinds().contains(&BeatKind::Dotted) || self.figures.has(Figure::DottedQuarters),
            24 | 48 | 72 | 96 | 144 => true,
            _ => false,
        }
    }

    /// The rhythm of a pickup; empty where none suits.
    pub(super) fn pickup(&self, measure: &Measure, chance: &mut Chance) -> BarRhythm {
        let eighths = self.figures.has(Figure::Eighths);
        match (measure.kinds().last(), measure.uneven()) {
            // In two quarters a whole beat's pickup would leave no room for a last long note.
            (Some(BeatKind::Quarter), false) if measure.length() == 48 => {
                if eighths && self.figures.has(Figure::DottedQuarters) {
                    vec![12]
                } else {
                    Vec::new()
                }
            }
            (Some(BeatKind::Quarter), false) => match chance.below(3) {
                0 if eighths => vec![12, 12],
                _ => vec![24],
            },
            (Some(BeatKind::Half), false) => vec![24],
            (Some(BeatKind::Dotted), false) => vec![12],
            _ => Vec::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_and_closes_fill_their_metre() {
        for name in Measure::known() {
            let measure = Measure::parse(&name).expect("known");
            let figures = Figures::of(&Figure::ALL);
            let palette = Palette {
                figures,
                cells: draw_cells(&measure, figures, 6, &mut Chance::new(1)),
                density: 1.5,
                breathes: true,
            };
            for seed in 0..200 {
                let mut chance = Chance::new(seed);
                let sum = |rhythm: &[Ticks]| rhythm.iter().map(|length| length.abs()).sum::<Ticks>();
                assert_eq!(sum(&palette.bar(&measure, None, &mut chance)), measure.length());
                let pickup = sum(&palette.pickup(&measure, &mut chance));
                for to in [measure.length(), measure.length() - pickup] {
                    let close = palette.close(&measure, to, seed % 2 == 0, &mut chance);
                    assert_eq!(sum(&close), to, "{name} {close:?}");
                }
            }
        }
    }
}

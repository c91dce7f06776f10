//! How is the answer put together? Passage by passage: choose, say why, say what moves.

use super::answer::{Chosen, FingeringAnswer, Gap, Move};
use super::menu::{Menu, Menus, Wish};
use super::notes::Note;
use super::path::{Prices, Stop, choose, total};
use super::{Weights, price, words};
use instruments::Instrument;
use instruments::fingering::{Chart, Fingering, State, fingered_as};
use notation::Pitch;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The answer in the making.
pub(super) struct Work<'a> {
    chart: &'static Chart,
    weights: &'a Weights,
    breaks: Vec<(i32, i32)>,
    prices: Prices<'a>,
    answer: FingeringAnswer,
    /// Where in the answer's gaps a pitch stands.
    gaps: BTreeMap<Pitch, usize>,
}

impl<'a> Work<'a> {
    pub(super) fn new(chart: &'static Chart, instrument: &Instrument, weights: &'a Weights) -> Self {
        Self {
            chart,
            weights,
            breaks: breaks(instrument),
            prices: Prices::new(chart, weights),
            answer: FingeringAnswer {
                chart: Some(chart),
                ..FingeringAnswer::default()
            },
            gaps: BTreeMap::new(),
        }
    }

    pub(super) fn done(self) -> FingeringAnswer {
        self.answer
    }

    /// Cuts the part into passages whose notes follow each other and all have ways, and chooses for each.
    pub(super) fn passages(&mut self, notes: &[Note], numbers: &[usize], menus: &Menus) {
        let mut passage: Vec<(&Note, &Menu, usize)> = Vec::new();
        for (note, number) in notes.iter().zip(numbers) {
            let Some(menu) = menus.get(*number) else { continue };
            if note.starts || menu.ways.is_empty() {
                self.passage(&passage);
                passage.clear();
            }
            if menu.ways.is_empty() {
                self.without_way(note, menu);
            } else {
                passage.push((note, menu, *number));
            }
        }
        self.passage(&passage);
    }

    fn without_way(&mut self, note: &Note, menu: &Menu) {
        if let Some(named) = &menu.named {
            let mut chosen = chosen(note, Arc::clone(named), named.state);
            chosen.own = true;
            chosen.reason = Some(
                "the player's own choice; the chart does not know it, so its movement is not weighed"
                    .to_owned(),
            );
            self.answer.notes.push(chosen);
            return;
        }
        let gaps = &mut self.answer.gaps;
        let number = *self.gaps.entry(note.written).or_insert_with(|| {
            gaps.push(Gap {
                place: note.place,
                event: note.event,
                written: note.written,
                times: 0,
                tendency: self.chart.tendency(note.read),
                why: menu.gap.clone(),
            });
            gaps.len() - 1
        });
        if let Some(gap) = gaps.get_mut(number) {
            gap.times += 1;
        }
    }

    fn passage(&mut self, passage: &[(&Note, &Menu, usize)]) {
        let stops: Vec<Stop> = passage
            .iter()
            .map(|(note, menu, set)| Stop {
                set: *set,
                key: note.read.key_number(),
                read: note.read,
                ways: &menu.ways,
            })
            .collect();
        let path = choose(&stops, &mut self.prices);
        self.answer.total += total(&stops, &mut self.prices, &path);
        self.answer.all_basic += total(&stops, &mut self.prices, &vec![0; stops.len()]);
        for (index, (note, menu, _)) in passage.iter().enumerate() {
            self.note(note, menu, &stops, &path, index);
            self.step(passage, &stops, &path, index);
        }
    }

    fn note(&mut self, note: &Note, menu: &Menu, stops: &[Stop], path: &[usize], index: usize) {
        let way_number = path.get(index).copied().unwrap_or(0);
        let (Some(way), Some(fingering)) = (menu.ways.get(way_number), menu.fingerings.get(way_number))
        else {
            return;
        };
        let mut chosen = chosen(note, Arc::clone(fingering), *way.state());
        let first = self.chart.fingerings(note.read).first();
        chosen.held = way.held.cloned();
        chosen.alternate = first != Some(way.fingering);
        chosen.basic = way.held.is_none() && !chosen.alternate;
        chosen.tendency =
            (fingering.tendency.or(fingering.lesser)).or_else(|| self.chart.tendency(note.read));
        chosen.own = menu.wish != Wish::None;
        chosen.reason = self.reason(menu, stops, path, index);
        self.answer.notes.push(chosen);
    }

    /// Why a note is fingered as it is; `None` for the basic fingering with nothing held.
    fn reason(&self, menu: &Menu, stops: &[Stop], path: &[usize], index: usize) -> Option<String> {
        let number = path.get(index).copied().unwrap_or(0);
        let way = menu.ways.get(number)?;
        match menu.wish {
            Wish::Own => return Some("the player's own choice".to_owned()),
            Wish::Printed => return Some("as printed on the page".to_owned()),
            Wish::None => {}
        }
        let first = menu.ways.first()?;
        let mut said = Vec::new();
        if way.fingering != first.fingering {
            let pairs =
                |path: &dyn Fn(usize) -> usize| [joined(stops, path, index), joined(stops, path, index + 1)];
            let chosen = |at: usize| path.get(at).copied().unwrap_or(0);
            said.push(words::reason(self.chart, pairs(&|_| 0), pairs(&chosen)));
        } else if self.chart.fingerings(stops.get(index)?.read).first() != Some(way.fingering) {
            said.push("the basic fingering is out of reach for this player".to_owned());
        }
        let drawback = way.fingering.lesser.or(way.fingering.tendency);
        if let (Some(last), Some(drawback)) = (said.last_mut(), drawback) {
            last.push_str(&format!(" ({})", drawback.says));
        }
        said.extend(way.held.map(|held| held.says.to_owned()));
        (!said.is_empty()).then(|| said.join("; "))
    }

    /// What the hands do on the way to a note from the one before it.
    fn step(&mut self, passage: &[(&Note, &Menu, usize)], stops: &[Stop], path: &[usize], index: usize) {
        let at = |at: usize| path.get(at).copied().unwrap_or(0);
        let Some(before) = index.checked_sub(1).and_then(|index| passage.get(index)) else {
            return;
        };
        let (Some((note, ..)), Some([from, to])) = (passage.get(index), joined(stops, &at, index)) else {
            return;
        };
        let (low, high) = (before.0.read.key_number(), note.read.key_number());
        let amount = price::hands(self.chart, self.weights, from, to, high.saturating_sub(low));
        let breaks = self.crossed(low.min(high), low.max(high));
        self.answer.moves.push(Move {
            place: note.place,
            event: note.event,
            from: before.0.written,
            to: note.written,
            lasts: before.0.lasts,
            amount,
            why: if amount > 0.0 {
                let (before, after) = (before.0.written.sign(), note.written.sign());
                format!(
                    "{} ({before} to {after})",
                    words::what_moves(self.chart, from, to)
                )
            } else {
                String::new()
            },
            breaks,
            break_amount: self.weights.register_boundary * f64::from(breaks),
        });
    }

    fn crossed(&self, low: i32, high: i32) -> u32 {
        let crossed = self
            .breaks
            .iter()
            .filter(|(under, over)| low <= *under && high >= *over)
            .count();
        u32::try_from(crossed).unwrap_or(u32::MAX)
    }
}

/// The ways of the note before and of a note, by a path; `None` at the beginning and end of a passage.
fn joined<'a>(
    stops: &'a [Stop],
    path: &dyn Fn(usize) -> usize,
    index: usize,
) -> Option<[&'a price::Way<'a>; 2]> {
    let before = index.checked_sub(1)?;
    let from = stops.get(before)?.ways.get(path(before))?;
    let to = stops.get(index)?.ways.get(path(index))?;
    Some([from, to])
}

fn chosen(note: &Note, fingering: Arc<Fingering>, state: State) -> Chosen {
    let as_pitch = fingered_as(note.written);
    Chosen {
        place: note.place,
        event: note.event,
        written: note.written,
        fingering,
        state,
        held: None,
        alternate: true,
        basic: false,
        own: false,
        reason: None,
        tendency: None,
        as_pitch,
        said: as_pitch.map(|plain| {
            format!(
                "{} is fingered as {}",
                note.written.class_sign(),
                plain.class_sign()
            )
        }),
    }
}

fn breaks(instrument: &Instrument) -> Vec<(i32, i32)> {
    let keys = |(low, high): (Pitch, Pitch)| (low.key_number(), high.key_number());
    instrument.register_breaks().into_iter().map(keys).collect()
}

//! Which fingerings suit this passage and this player? The cheapest way through all alternates, beside the usual ones.
//!
//! Every note starts from its basic fingering. Another is proposed only where, over the notes it is used for, it spares a
//! slide or saves at least the movement of one finger against the usual fingerings, and the reason is said. A rest or a breath gives the
//! fingers time, so passages are weighed apart. What the player or her teacher chose is kept, whatever it costs.
//! Proposals all: the teacher confirms or changes them.

mod gathered;
mod menu;
mod notes;
mod path;
mod price;
mod trills;
mod weights;
mod words;

#[cfg(test)]
mod rules;
#[cfg(test)]
mod tests;

pub use gathered::{Stay, Tending};
pub use trills::TrillFingering;
pub use weights::Weights;

use crate::{Placed, Player, Share};
use instruments::Instrument;
use instruments::fingering::{Chart, Fingering, Layout, Prepared, State, fingered_as};
use menu::{Menu, Menus};
use notation::{Id, Pitch, Place, Quarters};
use notes::Note;
use path::{Prices, Stop, choose, total};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use survey::Context;
use survey::ornaments::OrnamentFound;

/// How to go about it.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// What movements are worth beside each other.
    pub weights: Weights,
    /// Which of the instrument's charts ([`instruments::fingering::charts`]); `None` for the usual one.
    pub chart: Option<&'static Chart>,
    /// What the teacher chose at single notes: the event and the fingering's name.
    pub own: Vec<(Id, String)>,
}

/// The fingerings of a part.
#[derive(Clone, Debug, Default)]
pub struct FingeringAnswer {
    /// The chart used; `None` if there is none, and then `means` says why.
    pub chart: Option<&'static Chart>,
    /// Every note that has a fingering, grace notes included, in written order.
    pub notes: Vec<Chosen>,
    /// What the hands do from each note to the next of the same passage.
    pub moves: Vec<Move>,
    /// Pitches without a fingering, each once, in the order in which they first come.
    pub gaps: Vec<Gap>,
    /// The trills.
    pub trills: Vec<TrillFingering>,
    /// What all movements come to with the fingerings chosen, in movements of one finger.
    pub total: f64,
    /// What they would come to with the first fingering for every note; never less than `total`.
    pub all_basic: f64,
    /// What it means for the player.
    pub means: String,
}

/// The fingering of one note.
#[derive(Clone, PartialEq, Debug)]
pub struct Chosen {
    /// Where.
    pub place: Place,
    /// The note.
    pub event: Id,
    /// Its pitch as written.
    pub written: Pitch,
    /// The fingering.
    pub fingering: Arc<Fingering>,
    /// What is really pressed: the fingering, with keys that stay down.
    pub state: State,
    /// The keys held or put down early, if any.
    pub held: Option<Prepared>,
    /// True if it is another than the basic fingering of the chart, whatever is held.
    pub alternate: bool,
    /// True for the basic fingering of the chart with nothing held.
    pub basic: bool,
    /// True if the player or her teacher chose it.
    pub own: bool,
    /// Why this one, in a musician's words; `None` for a basic fingering.
    pub reason: Option<String>,
    /// The plain note that an unusual spelling is fingered as (F for E♯).
    pub as_pitch: Option<Pitch>,
    /// The same in words: `E♯ is fingered as F`.
    pub said: Option<String>,
}

/// A pitch for which no fingering is known here.
#[derive(Clone, PartialEq, Debug)]
pub struct Gap {
    /// Where it first comes.
    pub place: Place,
    /// The note.
    pub event: Id,
    /// Its pitch as written.
    pub written: Pitch,
    /// How often it comes.
    pub times: usize,
    /// Why, in words.
    pub why: String,
}

/// What the hands do to go from one note to the next.
#[derive(Clone, PartialEq, Debug)]
pub struct Move {
    /// Where the second note stands.
    pub place: Place,
    /// The second note.
    pub event: Id,
    /// The first pitch as written.
    pub from: Pitch,
    /// The second.
    pub to: Pitch,
    /// How long the first note lasts, in quarter notes; zero for a grace note.
    pub lasts: Quarters,
    /// What moves, in movements of one finger; breaks of register not counted.
    pub amount: f64,
    /// What moves, in words.
    pub why: String,
    /// Breaks of register crossed.
    pub breaks: u32,
    /// What crossing them adds.
    pub break_amount: f64,
}

impl FingeringAnswer {
    /// What the hands do as shares of the hand load, in movements of one finger; not yet divided by time.
    #[must_use]
    pub fn shares(&self) -> Vec<Placed> {
        let kind = match self.chart.map(|chart| chart.layout) {
            Some(Layout::Valves(_)) => "valves",
            Some(Layout::Slide) => "slide",
            _ => "fingers",
        };
        let mut shares = Vec::with_capacity(self.moves.len());
        for moved in &self.moves {
            let mut add = |kind, why: String, amount: f64| {
                if amount > 0.0 {
                    let share = Share { kind, why, amount };
                    let place = moved.place;
                    shares.push(Placed { place, share });
                }
            };
            add(kind, moved.why.clone(), moved.amount);
            let (from, to) = (moved.from.sign(), moved.to.sign());
            add(
                "register-break",
                format!("crosses the break from {from} to {to}"),
                moved.break_amount,
            );
        }
        shares
    }

    /// The notes for which another fingering than the basic one is proposed, held keys included.
    pub fn proposals(&self) -> impl Iterator<Item = &Chosen> {
        self.notes.iter().filter(|note| !note.basic && !note.own)
    }
}

/// The fingerings of a part for a player, on the usual chart of her instrument. `ornaments` come from
/// [`survey::ornaments::answer`]; without them trills are left out.
#[must_use]
pub fn answer(ctx: &Context, player: &Player, ornaments: &[OrnamentFound]) -> FingeringAnswer {
    answer_with(ctx, player, ornaments, &Options::default())
}

/// The same with other prices, another chart, or a teacher's own choice at single notes.
#[must_use]
pub fn answer_with(
    ctx: &Context,
    player: &Player,
    ornaments: &[OrnamentFound],
    options: &Options,
) -> FingeringAnswer {
    let Some(instrument) = player.instrument else {
        return without_chart("No fingerings: the instrument is not known.".to_owned());
    };
    let Some(chart) = options
        .chart
        .or_else(|| instruments::fingering::chart(instrument.id))
    else {
        return without_chart(no_chart(instrument));
    };
    let notes = notes::notes(ctx, instrument);
    let names = (player.prefers.iter().map(|(_, name)| name)).chain(options.own.iter().map(|(_, name)| name));
    let own = menu::written_out(names.map(String::as_str));
    let here: BTreeMap<Id, &str> = (options.own.iter())
        .map(|(event, name)| (*event, name.as_str()))
        .collect();
    let mut menus = Menus::new(chart, player, &own);
    let numbers: Vec<usize> = notes
        .iter()
        .map(|note| menus.number(note.written, note.read, here.get(&note.event).copied()))
        .collect();
    let mut work = Work {
        chart,
        weights: &options.weights,
        breaks: breaks(instrument),
        prices: Prices::new(chart, &options.weights),
        answer: FingeringAnswer {
            chart: Some(chart),
            ..FingeringAnswer::default()
        },
        gaps: BTreeMap::new(),
    };
    work.passages(&notes, &numbers, &menus);
    let mut answer = work.answer;
    answer.trills = trills::trills(chart, ornaments, reader(&notes, ornaments));
    answer.means = means(&answer);
    answer
}

/// How the chart reads a written pitch at an ornament.
fn reader(notes: &[Note], ornaments: &[OrnamentFound]) -> impl Fn(Id, Pitch) -> Pitch {
    let wanted: BTreeSet<Id> = ornaments.iter().map(|found| found.element).collect();
    let shifts: BTreeMap<Id, _> = notes
        .iter()
        .filter(|note| wanted.contains(&note.event))
        .map(|note| (note.event, note.read.semitones() - note.written.semitones()))
        .collect();
    move |event, pitch| shifts.get(&event).map_or(pitch, |by| pitch.transposed(0, *by))
}

fn without_chart(means: String) -> FingeringAnswer {
    FingeringAnswer {
        means,
        ..FingeringAnswer::default()
    }
}

fn no_chart(instrument: &Instrument) -> String {
    let name = instrument.name;
    if instrument.family.is_wind() {
        format!(
            "{name}: no fingering chart good enough to give is at hand. Ask a teacher or a printed chart."
        )
    } else {
        format!("{name}: fingerings are charted for winds only.")
    }
}

fn breaks(instrument: &Instrument) -> Vec<(i32, i32)> {
    let keys = |(low, high): (Pitch, Pitch)| (low.key_number(), high.key_number());
    instrument.register_breaks().into_iter().map(keys).collect()
}

/// The answer in the making.
struct Work<'a> {
    chart: &'static Chart,
    weights: &'a Weights,
    breaks: Vec<(i32, i32)>,
    prices: Prices<'a>,
    answer: FingeringAnswer,
    /// Where in the answer's gaps a pitch stands.
    gaps: BTreeMap<Pitch, usize>,
}

impl Work<'_> {
    /// Cuts the part into passages whose notes follow each other and all have ways, and chooses for each.
    fn passages(&mut self, notes: &[Note], numbers: &[usize], menus: &Menus) {
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
        chosen.own = menu.chosen;
        chosen.reason = self.reason(menu, stops, path, index);
        self.answer.notes.push(chosen);
    }

    /// Why a note is fingered as it is; `None` for the basic fingering with nothing held.
    fn reason(&self, menu: &Menu, stops: &[Stop], path: &[usize], index: usize) -> Option<String> {
        let number = path.get(index).copied().unwrap_or(0);
        let way = menu.ways.get(number)?;
        if menu.chosen {
            return Some("the player's own choice".to_owned());
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
        let amount = price::hands(self.chart, self.weights, from, to, high - low);
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

fn means(answer: &FingeringAnswer) -> String {
    let others = answer.proposals().filter(|note| note.alternate).count();
    let stays = answer.proposals().any(|note| note.held.is_some());
    let mut said = match others {
        0 if stays => "The usual fingerings will do, but some keys may stay down.".to_owned(),
        0 => "The usual fingerings will do: nothing is gained by others.".to_owned(),
        1 => "One note lies better with another fingering than the usual one.".to_owned(),
        more => format!("{more} notes lie better with another fingering than the usual one."),
    };
    if !answer.gaps.is_empty() {
        let notes: Vec<String> = answer.gaps.iter().map(|gap| gap.written.sign()).collect();
        said.push_str(&format!(" No fingering is known here for {}.", notes.join(", ")));
    }
    said
}

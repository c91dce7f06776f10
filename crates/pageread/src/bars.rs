//! Do the values of a bar add up, and if not, which likely reading does? A search over what the reader found likely, with the metre
//! as a check.
//!
//! Every note may be read at its likeliest value or, at a price in probability, at another one; a tuplet in the usual time for its
//! number or in another; three equal short notes as a triplet whose number is not printed. Of all readings that fill the bar the
//! likeliest is taken, unless it is far less likely than what was read at first.

use notation::{NoteValue, Quarters, Rational, TupletRatio};
use std::collections::BTreeMap;

/// How many partial sums are kept while a bar is searched.
const MOST_SUMS: usize = 96;
/// A value so many units of log-probability less likely than the best is not tried.
const FAR: f32 = 9.0;
/// What a triplet without its number costs, in the same units.
const UNNUMBERED: f32 = 3.0;
/// What an unusual time for a tuplet costs.
const UNUSUAL: f32 = 1.5;

/// One note or rest that takes time.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Timed {
    /// Log-probabilities of the values, as [`crate::vocabulary::VALUES`].
    pub values: [f32; 10],
    /// Of the dots.
    pub dots: [f32; 3],
    /// Numbers of the tuplets that start here, outermost first; 0 for one without a number.
    pub starts: Vec<u16>,
    /// A tuplet ends here.
    pub ends: bool,
    /// A rest.
    pub rest: bool,
}

/// The reading of one note or rest.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Chosen {
    pub value: NoteValue,
    pub dots: u8,
    /// Outermost first.
    pub tuplets: Vec<TupletRatio>,
}

impl Chosen {
    pub(crate) fn written(&self) -> notation::Written {
        notation::Written {
            value: self.value,
            dots: self.dots,
            tuplets: self.tuplets.clone(),
        }
    }
}

/// What a bar was read as.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Fit {
    /// One for each [`Timed`].
    pub chosen: Vec<Chosen>,
    /// Their sum.
    pub total: Quarters,
    /// True if another than the likeliest reading was taken because it adds up.
    pub mended: bool,
}

/// The likeliest reading that fills `full`, or the likeliest of all if none within `most` units of it does.
pub(crate) fn fit(timed: &[Timed], full: Option<Quarters>, most: f32) -> Fit {
    let read = fit_as_marked(timed, full, most);
    if full.is_none_or(|full| full == read.total) || timed.iter().all(|note| note.starts.is_empty()) {
        return read;
    }
    // An end of a tuplet may be overlooked, or seen a note too far: then its number of notes ends it.
    let counted: Vec<Timed> = timed
        .iter()
        .map(|note| Timed {
            ends: false,
            ..note.clone()
        })
        .collect();
    let other = fit_as_marked(&counted, full, most);
    if Some(other.total) == full {
        return Fit {
            mended: true,
            ..other
        };
    }
    // A figure by a note may be a fingering: the bar without that tuplet.
    without_a_tuplet(timed, full).unwrap_or(read)
}

/// A reading that fills the bar once one of the tuplets in it is left out, all values as they were read.
fn without_a_tuplet(timed: &[Timed], full: Option<Quarters>) -> Option<Fit> {
    for (at, note) in timed.iter().enumerate() {
        if note.starts.is_empty() {
            continue;
        }
        let mut fewer = timed.to_vec();
        fewer[at].starts.clear();
        let next = (at + 1..timed.len())
            .find(|n| !timed[*n].starts.is_empty())
            .unwrap_or(timed.len());
        if let Some(end) = (at..next).find(|n| timed[*n].ends) {
            fewer[end].ends = false;
        }
        let read = fit_as_marked(&fewer, full, 0.0);
        if Some(read.total) == full {
            return Some(Fit { mended: true, ..read });
        }
    }
    None
}

fn fit_as_marked(timed: &[Timed], full: Option<Quarters>, most: f32) -> Fit {
    let nodes = parse(timed, 0, timed.len(), 0);
    let sums = search(timed, &nodes);
    let best = sums.iter().max_by(|a, b| a.1.log.total_cmp(&b.1.log));
    let Some((best_total, best)) = best else {
        return Fit {
            chosen: Vec::new(),
            total: Quarters::ZERO,
            mended: false,
        };
    };
    let filling = full
        .filter(|full| full != best_total)
        .and_then(|full| Some((full, sums.get(&full)?)));
    if let Some((full, way)) = filling.filter(|(_, way)| way.log >= best.log - most) {
        return Fit {
            chosen: way.chosen.clone(),
            total: full,
            mended: true,
        };
    }
    Fit {
        chosen: best.chosen.clone(),
        total: *best_total,
        mended: false,
    }
}

enum Node {
    One(usize),
    Group(u16, Vec<Node>),
}

/// Notes and tuplets from one place to another; `skip` tuplets that start at the first note are open already.
fn parse(timed: &[Timed], from: usize, to: usize, skip: usize) -> Vec<Node> {
    let mut out = Vec::new();
    let mut at = from;
    while at < to {
        let here = if at == from { skip } else { 0 };
        match timed[at].starts.get(here) {
            Some(number) => {
                let end = end_of(timed, at, to, here, *number);
                out.push(Node::Group(*number, parse(timed, at, end, here + 1)));
                at = end;
            }
            None => {
                out.push(Node::One(at));
                at += 1;
            }
        }
    }
    out
}

/// One past the last note of a tuplet: where its end is marked, or where its number of notes is full.
fn end_of(timed: &[Timed], from: usize, to: usize, outer: usize, number: u16) -> usize {
    let mut open = timed[from].starts.len().saturating_sub(outer);
    for (at, note) in timed.iter().enumerate().take(to).skip(from) {
        if at > from {
            open += note.starts.len();
        }
        if note.ends {
            open = open.saturating_sub(1);
            if open == 0 {
                return at + 1;
            }
        }
    }
    let unit = likeliest(&timed[from]).0.quarters();
    let want = unit * Rational::whole(i64::from(number.max(2)));
    let mut sum = Quarters::ZERO;
    for (at, note) in timed.iter().enumerate().take(to).skip(from) {
        let (value, dots) = likeliest(note);
        sum += plain(value, dots);
        if sum >= want {
            return at + 1;
        }
    }
    to
}

fn plain(value: NoteValue, dots: u8) -> Quarters {
    notation::Written {
        value,
        dots,
        tuplets: Vec::new(),
    }
    .quarters()
}

fn likeliest(note: &Timed) -> (NoteValue, u8) {
    readings(note)
        .first()
        .map_or((NoteValue::Quarter, 0), |(value, dots, _)| (*value, *dots))
}

/// How likely the likeliest value is.
fn likeliest_log(note: &Timed) -> f32 {
    readings(note).first().map_or(0.0, |(.., log)| *log)
}

/// Values and dots that may be, likeliest first, with their log-probability.
fn readings(note: &Timed) -> Vec<(NoteValue, u8, f32)> {
    let mut out = Vec::new();
    for (value, a) in VALUES.iter().zip(&note.values[1..]) {
        for (dots, b) in (0_u8..).zip(&note.dots) {
            out.push((*value, dots, a + b));
        }
    }
    out.sort_by(|a, b| b.2.total_cmp(&a.2));
    let best = out.first().map_or(0.0, |(.., log)| *log);
    out.retain(|(.., log)| *log >= best - FAR);
    out.truncate(6);
    out
}

/// As [`crate::vocabulary::VALUES`] from 1 on.
pub(crate) const VALUES: [NoteValue; 9] = [
    NoteValue::Breve,
    NoteValue::Whole,
    NoteValue::Half,
    NoteValue::Quarter,
    NoteValue::Eighth,
    NoteValue::N16th,
    NoteValue::N32nd,
    NoteValue::N64th,
    NoteValue::N128th,
];

#[derive(Clone)]
struct Way {
    log: f32,
    chosen: Vec<Chosen>,
}

type Sums = BTreeMap<Quarters, Way>;

fn offer(sums: &mut Sums, total: Quarters, way: Way) {
    match sums.get(&total) {
        Some(known) if known.log >= way.log => {}
        _ => {
            sums.insert(total, way);
        }
    }
}

/// The most likely sums, each with its likeliest reading.
fn kept(sums: Sums) -> Sums {
    if sums.len() <= MOST_SUMS {
        return sums;
    }
    let mut all: Vec<(Quarters, Way)> = sums.into_iter().collect();
    all.sort_by(|a, b| b.1.log.total_cmp(&a.1.log));
    all.truncate(MOST_SUMS);
    all.into_iter().collect()
}

fn search(timed: &[Timed], nodes: &[Node]) -> Sums {
    let start = Way {
        log: 0.0,
        chosen: Vec::new(),
    };
    let mut steps: Vec<Sums> = (0..=nodes.len()).map(|_| Sums::new()).collect();
    steps[0].insert(Quarters::ZERO, start);
    for at in 0..nodes.len() {
        let sums = kept(std::mem::take(&mut steps[at]));
        let options = options(timed, &nodes[at]);
        let triplet = unnumbered(timed, nodes.get(at..at + 3).unwrap_or(&[]));
        for (total, way) in &sums {
            for (length, more) in &options {
                offer(&mut steps[at + 1], *total + *length, onward(way, more));
            }
            if let Some((length, more)) = &triplet {
                offer(&mut steps[at + 3], *total + *length, onward(way, more));
            }
        }
    }
    steps.pop().map(kept).unwrap_or_default()
}

fn onward(way: &Way, more: &Way) -> Way {
    let mut chosen = way.chosen.clone();
    chosen.extend_from_slice(&more.chosen);
    Way {
        log: way.log + more.log,
        chosen,
    }
}

fn options(timed: &[Timed], node: &Node) -> Vec<(Quarters, Way)> {
    match node {
        Node::One(at) => readings(&timed[*at])
            .into_iter()
            .map(|(value, dots, log)| {
                let chosen = vec![Chosen {
                    value,
                    dots,
                    tuplets: Vec::new(),
                }];
                (plain(value, dots), Way { log, chosen })
            })
            .collect(),
        Node::Group(number, inner) => {
            let sums = search(timed, inner);
            let mut out = Vec::new();
            for (nth, ratio) in ratios(*number).into_iter().enumerate() {
                for (total, way) in &sums {
                    let mut way = way.clone();
                    if nth > 0 {
                        way.log -= UNUSUAL;
                    }
                    for chosen in &mut way.chosen {
                        chosen.tuplets.insert(0, ratio);
                    }
                    let length = *total * Rational::new(i64::from(ratio.normal), i64::from(ratio.actual));
                    out.push((length, way));
                }
            }
            out
        }
    }
}

/// Three equal short notes read as a triplet whose number is not printed.
fn unnumbered(timed: &[Timed], nodes: &[Node]) -> Option<(Quarters, Way)> {
    let [Node::One(a), Node::One(b), Node::One(c)] = nodes else {
        return None;
    };
    let read = [
        likeliest(&timed[*a]),
        likeliest(&timed[*b]),
        likeliest(&timed[*c]),
    ];
    let (value, dots) = read[0];
    if dots > 0 || read.iter().any(|other| *other != read[0]) || value.quarters() > Rational::new(1, 2) {
        return None;
    }
    let ratio = TupletRatio { actual: 3, normal: 2 };
    let one = Chosen {
        value,
        dots,
        tuplets: vec![ratio],
    };
    let log: f32 = [a, b, c].iter().map(|at| likeliest_log(&timed[**at])).sum();
    let way = Way {
        log: log - UNNUMBERED,
        chosen: vec![one; 3],
    };
    Some((value.quarters() * Rational::whole(2), way))
}

/// In the time of how many a tuplet may be meant, the usual first.
/// Source: common practice; Gould, "Behind Bars", tuplets (from memory).
fn ratios(number: u16) -> Vec<TupletRatio> {
    let normals: &[u16] = match number {
        2 => &[3],
        4 => &[3, 6],
        5 => &[4, 6, 3],
        6 => &[4],
        7 => &[4, 8, 6],
        8 => &[6],
        9 => &[8, 6],
        10 => &[8, 12],
        11..=15 => &[8, 12],
        16 => &[12],
        _ => &[2],
    };
    let actual = if number < 2 { 3 } else { number };
    normals
        .iter()
        .map(|normal| TupletRatio {
            actual,
            normal: *normal,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A note that is surely so long, or maybe so long.
    fn note(value: usize, other: Option<usize>) -> Timed {
        let mut values = [-12.0; 10];
        values[value] = -0.1;
        if let Some(other) = other {
            values[other] = -2.5;
        }
        Timed {
            values,
            dots: [-0.01, -6.0, -12.0],
            starts: Vec::new(),
            ends: false,
            rest: false,
        }
    }

    const QUARTER: usize = 4;
    const EIGHTH: usize = 5;

    #[test]
    fn the_doubtful_value_gives_way_where_the_bar_asks_for_it() {
        let bar = [
            note(QUARTER, None),
            note(EIGHTH, Some(QUARTER)),
            note(QUARTER, None),
        ];
        let read = fit(&bar, Some(Rational::whole(3)), 12.0);
        assert!(read.mended);
        assert_eq!(read.total, Rational::whole(3));
        assert_eq!(read.chosen[1].value, NoteValue::Quarter);
        // Nothing is forced where nothing likely fits.
        let read = fit(&bar, Some(Rational::whole(7)), 12.0);
        assert!(!read.mended);
        assert_eq!(read.total, Rational::new(5, 2));
    }

    #[test]
    fn a_triplet_is_two_thirds_and_one_without_its_number_is_tried() {
        let mut bar = vec![
            note(EIGHTH, None),
            note(EIGHTH, None),
            note(EIGHTH, None),
            note(QUARTER, None),
        ];
        let read = fit(&bar, Some(Rational::whole(2)), 12.0);
        assert_eq!((read.total, read.mended), (Rational::whole(2), true));
        bar[0].starts = vec![3];
        bar[2].ends = true;
        let read = fit(&bar, Some(Rational::whole(2)), 12.0);
        assert_eq!((read.total, read.mended), (Rational::whole(2), false));
        assert_eq!(read.chosen[0].tuplets, vec![TupletRatio { actual: 3, normal: 2 }]);
        // The end of the tuplet unseen: its number of notes ends it.
        bar[2].ends = false;
        assert_eq!(
            fit(&bar, Some(Rational::whole(2)), 12.0).total,
            Rational::whole(2)
        );
    }

    #[test]
    fn doubtful_values_alone_make_no_triplet() {
        // Three sixteenths or eighths, undecided; nothing says what the bar should come to.
        let mut doubtful = note(EIGHTH, None);
        doubtful.values[EIGHTH] = -1.2;
        doubtful.values[EIGHTH + 1] = -1.3;
        let bar = vec![doubtful; 3];
        let read = fit(&bar, None, 12.0);
        assert!(read.chosen.iter().all(|chosen| chosen.tuplets.is_empty()));
        assert_eq!(read.total, Rational::new(3, 2));
    }

    #[test]
    fn a_figure_that_keeps_the_bar_from_its_length_is_no_tuplet() {
        let mut bar = vec![
            note(QUARTER, None),
            note(EIGHTH, None),
            note(EIGHTH, None),
            note(QUARTER, None),
        ];
        bar[0].starts = vec![4];
        let read = fit(&bar, Some(Rational::whole(3)), 4.0);
        assert_eq!((read.total, read.mended), (Rational::whole(3), true));
        assert!(read.chosen.iter().all(|chosen| chosen.tuplets.is_empty()));
    }

    #[test]
    fn duplets_take_the_time_of_three() {
        let mut bar = vec![
            note(EIGHTH, None),
            note(EIGHTH, None),
            note(QUARTER, None),
            note(EIGHTH, None),
        ];
        bar[0].starts = vec![2];
        bar[1].ends = true;
        assert_eq!(
            fit(&bar, Some(Rational::whole(3)), 12.0).total,
            Rational::whole(3)
        );
    }
}

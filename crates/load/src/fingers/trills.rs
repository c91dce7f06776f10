//! How is each trill fingered? With the chart's trill fingering, with the plain ones where one finger does it, or not known.

use instruments::fingering::{Chart, Digit, Fingering, Layout, Use, digits_words, movement};
use notation::{Id, Pitch, Place};
use survey::ornaments::OrnamentFound;

/// A trill of the piece.
#[derive(Clone, PartialEq, Debug)]
pub struct TrillFingering {
    /// Where.
    pub place: Place,
    /// The note that carries it.
    pub event: Id,
    /// That note as written.
    pub main: Pitch,
    /// The note above it.
    pub upper: Pitch,
    /// The two fingerings, if both notes have one; the first for the main note.
    pub fingerings: Option<(Fingering, Fingering)>,
    /// The fingers that do it.
    pub moves: Vec<Digit>,
    /// False where no fingering fit for a trill is known here.
    pub known: bool,
    /// In words: `trill with the left ring finger alone`, `no trill fingering is known here`.
    pub says: String,
}

/// The trills among the ornaments of a part. `read` gives a written pitch as the chart reads it.
pub(super) fn trills(
    chart: &Chart,
    ornaments: &[OrnamentFound],
    read: impl Fn(Id, Pitch) -> Pitch,
) -> Vec<TrillFingering> {
    ornaments
        .iter()
        .filter(|found| found.realised.mark.starts_with("trill"))
        .filter_map(|found| {
            let upper = found.realised.upper.as_ref()?.pitch;
            let (low, high) = (read(found.element, found.main), read(found.element, upper));
            Some(one(chart, found, upper, (low, high)))
        })
        .collect()
}

fn one(chart: &Chart, found: &OrnamentFound, upper: Pitch, (low, high): (Pitch, Pitch)) -> TrillFingering {
    let mut trill = TrillFingering {
        place: found.place,
        event: found.element,
        main: found.main,
        upper,
        fingerings: None,
        moves: Vec::new(),
        known: false,
        says: String::new(),
    };
    let pair = best(chart, low, high)
        .filter(|pair| pair.fits())
        .or_else(|| usual(chart, low, high));
    let Some(best) = pair else {
        let missing = if chart.fingerings(low).is_empty() {
            found.main
        } else {
            upper
        };
        trill.says = format!("no trill fingering is known here: {} has none", missing.sign());
        return trill;
    };
    trill.moves = best.moves;
    trill.known =
        chart.layout != Layout::Slide && best.slides == 0 && (best.special || trill.moves.len() == 1);
    let fingers = match chart.layout {
        Layout::Valves(_) => valves(&trill.moves),
        _ => digits_words(&trill.moves),
    };
    trill.says = if chart.layout == Layout::Slide {
        "no trill fingering is known here: on the slide it is a lip trill, if the notes lie on neighbouring harmonics"
            .to_owned()
    } else if best.special {
        format!("trill fingering: {} alone", fingers)
    } else if trill.known {
        format!("{fingers} alone, with the usual fingerings")
    } else {
        let moves = if trill.moves.len() == 1 { "moves" } else { "move" };
        format!(
            "no trill fingering is known here; with the usual ones {fingers} {moves}: ask a teacher or a trill chart"
        )
    };
    trill.fingerings = Some((best.low.clone(), best.high.clone()));
    trill
}

struct Pair<'a> {
    low: &'a Fingering,
    high: &'a Fingering,
    moves: Vec<Digit>,
    slides: usize,
    special: bool,
}

impl Pair<'_> {
    /// One finger does it, or the chart has it for trills.
    fn fits(&self) -> bool {
        self.slides == 0 && (self.special || self.moves.len() == 1)
    }
}

fn pair<'a>(chart: &Chart, low: &'a Fingering, high: &'a Fingering) -> Pair<'a> {
    let moved = movement(&low.state, &high.state, chart.touch());
    Pair {
        low,
        high,
        moves: moved.digits(),
        slides: moved.slides.len(),
        special: low.use_for == Use::Trill || high.use_for == Use::Trill,
    }
}

/// The basic fingerings of both notes.
fn usual(chart: &Chart, low: Pitch, high: Pitch) -> Option<Pair<'_>> {
    Some(pair(
        chart,
        chart.fingerings(low).first()?,
        chart.fingerings(high).first()?,
    ))
}

/// The pair of fingerings that moves fewest fingers, without a slide if possible; of equals the earlier in the chart.
fn best(chart: &Chart, low: Pitch, high: Pitch) -> Option<Pair<'_>> {
    let fit = |f: &&Fingering| f.use_for != Use::Seldom && f.needs.is_empty();
    let pairs = chart.fingerings(low).iter().filter(fit).flat_map(|low| {
        let highs = chart.fingerings(high).iter().filter(fit);
        highs.map(move |high| pair(chart, low, high))
    });
    pairs.min_by_key(|pair| (pair.slides, pair.moves.len(), pair.special))
}

fn valves(digits: &[Digit]) -> String {
    let named: Vec<&str> = digits
        .iter()
        .map(|digit| match digit {
            Digit::R1 => "valve 1",
            Digit::R2 => "valve 2",
            Digit::R3 => "valve 3",
            Digit::R4 => "valve 4",
            _ => "the thumb",
        })
        .collect();
    match named.as_slice() {
        [] => "the lips".to_owned(),
        [most @ .., last] if !most.is_empty() => format!("{} and {last}", most.join(", ")),
        one => one.concat(),
    }
}

//! How does a figure go through the keys? Moved exactly, spelled in each new key, kept in the player's range by octaves.

use super::Source;
use super::draft::{DraftBar, Passage};
use super::forms::Form;
use super::offer::Order;
use notation::{Alter, KeySignature, Pitch, Rational, Step};

/// The keys of the circle.
const KEYS: i32 = 12;
/// Signatures go no further than this; beyond, the key is spelled the other way.
const MOST_SIGNS: i32 = 6;

/// The same figure in every key, beginning with its own, and the names of those for which it is too wide.
pub(crate) struct Through {
    pub passages: Vec<Passage>,
    /// Keys in which it fits nowhere in the player's range.
    pub left_out: Vec<String>,
    /// True if some stand an octave away from where they would.
    pub folded: bool,
}

/// Takes a figure through the keys. `tonic` and `minor` name the key it stands in.
pub(crate) fn through(
    source: &Source,
    figure: &Passage,
    order: Order,
    tonic: (Step, i8),
    minor: bool,
) -> Option<Through> {
    // A part without signature by custom gets the one of its key here: it is read in twelve of them.
    let form = if minor { Form::NaturalMinor } else { Form::Major };
    let own = i32::from(form.signature(tonic));
    let range = source.range();
    let (low, high) = figure.compass()?;
    let mut through = Through {
        passages: Vec::new(),
        left_out: Vec::new(),
        folded: false,
    };
    for step in 0..KEYS {
        let shift = shift(own, step, order);
        let (letters, semitones) = interval(shift);
        let name = key_name(tonic, minor, shift);
        let octave = match range {
            None => Some(0),
            Some(range) => octave_in(range, (low, high), (letters, semitones), step == 0),
        };
        let Some(octave) = octave else {
            through.left_out.push(name);
            continue;
        };
        through.folded |= octave != 0;
        let by = (
            letters + 7 * octave,
            Rational::whole(semitones + 12 * i64::from(octave)),
        );
        let mut moved = figure.clone().moved(&|pitch| pitch.transposed(by.0, by.1));
        moved.bars.iter_mut().for_each(|bar| rekey(bar, own + shift));
        // A letter with three sharps or flats can't be read.
        let readable = moved.tones().flat_map(|tone| &tone.heads).all(|head| {
            head.pitch()
                .is_none_or(|pitch| pitch.alter.abs() <= Rational::whole(2))
        });
        if !readable {
            through.left_out.push(name);
            continue;
        }
        if let Some(bar) = moved.bars.first_mut() {
            bar.words = Some(name);
        }
        through.passages.push(moved);
    }
    (through.passages.len() >= 4).then_some(through)
}

/// How far on the line of fifths the key of a step lies from the first, so that its signature stays readable.
fn shift(own: i32, step: i32, order: Order) -> i32 {
    let fifths = match order {
        // A fourth up is a fifth down on the line.
        Order::Fourths => -step,
        // A semitone up is seven fifths.
        Order::Semitones => 7 * step,
    };
    let mut shift = fifths;
    while own + shift > MOST_SIGNS {
        shift -= 12;
    }
    while own + shift < -MOST_SIGNS {
        shift += 12;
    }
    // The first is as written, whatever its signature.
    if step == 0 { 0 } else { shift }
}

/// Letters and semitones of the smallest move that a shift on the line of fifths is.
fn interval(fifths: i32) -> (i32, i64) {
    let (mut letters, mut semitones) = (fifths * 4, i64::from(fifths) * 7);
    while semitones > 6 {
        letters -= 7;
        semitones -= 12;
    }
    while semitones < -5 {
        letters += 7;
        semitones += 12;
    }
    (letters, semitones)
}

/// The octave, nearest to none, in which a moved compass lies in a range.
fn octave_in(
    range: (Pitch, Pitch),
    compass: (Pitch, Pitch),
    by: (i32, i64),
    as_written: bool,
) -> Option<i32> {
    let (low, high) = (range.0.semitones(), range.1.semitones());
    let moved =
        |pitch: Pitch, octave: i32| pitch.semitones() + Rational::whole(by.1 + 12 * i64::from(octave));
    let fits = |octave: &i32| moved(compass.0, *octave) >= low && moved(compass.1, *octave) <= high;
    let near = [0, -1, 1, -2, 2, -3, 3];
    near.into_iter()
        .find(fits)
        .filter(|octave| !as_written || *octave == 0)
        .or({
            // As written it stays where it is, even where she can't reach it: the piece asks for it.
            if as_written { Some(0) } else { None }
        })
}

/// One signature for all of a bar.
fn rekey(bar: &mut DraftBar, fifths: i32) {
    bar.keys.clear();
    bar.key = KeySignature::of_fifths(i8::try_from(fifths).unwrap_or(0));
}

/// `A♭ major`.
fn key_name(tonic: (Step, i8), minor: bool, shift: i32) -> String {
    let place = tonic.0.fifths() + 7 * i32::from(tonic.1) + shift;
    let alter = (place + 1).div_euclid(7);
    let natural = place - 7 * alter;
    let step = Step::ALL
        .into_iter()
        .find(|step| step.fifths() == natural)
        .unwrap_or(Step::C);
    let pitch = Pitch {
        step,
        alter: Alter::whole(i64::from(alter)),
        octave: 4,
    };
    format!("{} {}", pitch.class_sign(), if minor { "minor" } else { "major" })
}

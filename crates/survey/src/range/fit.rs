//! How does the range sit on the instrument? Published ranges as guidance, with their source, never a verdict.

use super::Note;
use crate::Context;
use crate::clefs::open_clefs;
use instruments::{Experience, Grade, Identified, Instrument};
use notation::{Finding, Id, Pitch, Place, Rational, Severity, Transposition};

/// The part's range against the instrument's usual ones.
#[derive(Clone, PartialEq, Debug)]
pub struct RangeFit {
    /// Which instrument.
    pub instrument: &'static Instrument,
    /// The narrowest usual range that holds every note; `None` if some note lies beyond them all.
    pub within: Option<Experience>,
    /// The usual ranges as written in this part.
    pub usual: Vec<UsualRange>,
    /// Notes beyond the widest usual range, one entry per pitch.
    pub beyond: Vec<Beyond>,
    /// Notes left out because their clef is read in more than one way (asked under clefs).
    pub undecided: usize,
    /// How far to trust the ranges.
    pub grade: Grade,
    /// The sources by name.
    pub sources: Vec<&'static str>,
}

/// A usual range as written in this part.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct UsualRange {
    /// Whose.
    pub experience: Experience,
    /// Lowest written note.
    pub low: Pitch,
    /// Highest written note.
    pub high: Pitch,
}

/// A pitch beyond the usual range.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Beyond {
    /// As written.
    pub written: Pitch,
    /// The limit it passes, as written in this part.
    pub limit: Pitch,
    /// Above the range or below it.
    pub above: bool,
    /// Where it stands.
    pub at: Vec<(Place, Id)>,
}

pub(super) fn fit(ctx: &Context, identified: &Identified, notes: &[Note]) -> Option<RangeFit> {
    let instrument = identified.instrument;
    instrument.ranges.of(Experience::Professional)?;
    let stated = !ctx.part.transpositions.is_empty() || ctx.piece.concert_pitch;
    let mut answer = RangeFit {
        instrument,
        within: Some(Experience::Student),
        usual: Vec::new(),
        beyond: Vec::new(),
        undecided: 0,
        grade: instrument.ranges.grade,
        sources: Vec::new(),
    };
    for cited in instrument.ranges.sources {
        if !answer.sources.contains(&cited.source) {
            answer.sources.push(cited.source);
        }
    }
    if let Some(note) = notes.first() {
        answer.usual = Experience::ALL
            .into_iter()
            .filter_map(|experience| {
                let (low, high) = as_written(instrument, experience, reading_of(note, instrument, stated))?;
                Some(UsualRange {
                    experience,
                    low,
                    high,
                })
            })
            .collect();
    }
    let limits = limits(instrument);
    let open = open_clefs(ctx, identified);
    let usual = instrument.transposition();
    for note in notes {
        if note.clef.is_some_and(|clef| open.contains(&clef)) {
            answer.undecided += 1;
            continue;
        }
        let sounds = if stated {
            note.sounds
        } else {
            note.written.semitones() + usual.semitones()
        };
        place_note(
            &mut answer,
            note,
            sounds,
            &limits,
            reading_of(note, instrument, stated),
        );
    }
    Some(answer)
}

/// The usual ranges in sounding semitones above C−1, narrowest first.
fn limits(instrument: &Instrument) -> Vec<(Experience, Rational, Rational)> {
    let shift = if instrument.ranges.sounding {
        Rational::ZERO
    } else {
        instrument.transposition().semitones()
    };
    Experience::ALL
        .into_iter()
        .filter_map(|experience| {
            let (low, high) = instrument.ranges.of(experience)?;
            Some((experience, low.semitones() + shift, high.semitones() + shift))
        })
        .collect()
}

/// The transposition by which the note is compared: the file's, or the usual one where the file says nothing.
fn reading_of(note: &Note, instrument: &Instrument, stated: bool) -> Transposition {
    if stated {
        note.transposition
    } else {
        instrument.transposition()
    }
}

/// A usual range written for a part that transposes so.
fn as_written(
    instrument: &Instrument,
    experience: Experience,
    part: Transposition,
) -> Option<(Pitch, Pitch)> {
    let (low, high) = instrument.ranges.of(experience)?;
    let convert = |limit: Pitch| {
        let sounding = if instrument.ranges.sounding {
            limit
        } else {
            instrument.transposition().sounding(limit)
        };
        sounding.transposed(-(part.diatonic + 7 * part.octaves), -part.semitones())
    };
    Some((convert(low), convert(high)))
}

fn place_note(
    answer: &mut RangeFit,
    note: &Note,
    sounds: Rational,
    limits: &[(Experience, Rational, Rational)],
    part: Transposition,
) {
    let narrowest = limits
        .iter()
        .find(|(_, low, high)| sounds >= *low && sounds <= *high)
        .map(|(experience, ..)| *experience);
    answer.within = match (answer.within, narrowest) {
        (Some(so_far), Some(here)) => Some(so_far.max(here)),
        _ => None,
    };
    if narrowest.is_some() {
        return;
    }
    let Some((low, high)) = as_written(answer.instrument, Experience::Professional, part) else {
        return;
    };
    let above = limits.last().is_some_and(|(_, _, high)| sounds > *high);
    let limit = if above { high } else { low };
    let at = (note.event.place, note.event.id);
    match answer
        .beyond
        .iter_mut()
        .find(|b| b.written == note.written && b.limit == limit)
    {
        Some(beyond) => beyond.at.push(at),
        None => answer.beyond.push(Beyond {
            written: note.written,
            limit,
            above,
            at: vec![at],
        }),
    }
}

/// One finding for what lies above the usual range and one for what lies below, at the farthest note.
pub(super) fn findings(ctx: &Context, fit: &RangeFit) -> Vec<Finding> {
    [true, false]
        .into_iter()
        .filter_map(|above| side(ctx, fit, above))
        .collect()
}

fn side(ctx: &Context, fit: &RangeFit, above: bool) -> Option<Finding> {
    let passed: Vec<&Beyond> = fit.beyond.iter().filter(|beyond| beyond.above == above).collect();
    let farthest = if above {
        passed.iter().max_by_key(|beyond| beyond.written)
    } else {
        passed.iter().min_by_key(|beyond| beyond.written)
    }?;
    let (place, element) = *farthest.at.first()?;
    let notes: usize = passed.iter().map(|beyond| beyond.at.len()).sum();
    let (many, lie) = match notes {
        1 => (String::new(), "lies"),
        n => (format!("{n} notes, the farthest "), "lie"),
    };
    let (way, goes) = if above {
        ("above", "up to")
    } else {
        ("below", "down to")
    };
    let more = match fit.instrument.ranges.beyond {
        "" => String::new(),
        more => format!(" (beyond it: {more})"),
    };
    Some(
        Finding::new(
            Severity::Caution,
            "beyond-usual-range",
            format!(
                "{many}{}, {lie} {way} the usual range of the {}, which goes {goes} {}{more}; {}, by {}",
                farthest.written.sign(),
                fit.instrument.name,
                farthest.limit.sign(),
                fit.grade.words(),
                fit.sources.join("; ")
            )
            .replacen(", lies", " lies", 1),
            "guidance only: ask whether the octave, the clef and the instrument are right",
        )
        .in_part(&ctx.part.name)
        .at_bar(place.bar, ctx.label(place.bar))
        .at_offset(place.offset)
        .about(element),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;

    fn ask(text: &str, name: &str) -> RangeFit {
        let mut piece = sketch(text).expect("a sketch");
        piece.parts[0].name = name.to_owned();
        let identified = instruments::identify(&piece.parts[0]).expect("an instrument");
        let ctx = Context::new(&piece, 0).expect("a part");
        super::super::answer(&ctx, Some(&identified))
            .fit
            .expect("a range")
    }

    /// Source: instruments table: bassoon B♭1–D5 (Wikipedia, music-suite, music21), student F2–D4.
    #[test]
    fn a_bassoon_part_too_low_and_one_for_beginners() {
        let low = ask("clef:F4 A1/q C3/q", "Bassoon");
        assert_eq!(low.within, None);
        assert_eq!(
            (low.beyond[0].written.to_string(), low.beyond[0].above),
            ("A1".into(), false)
        );
        assert_eq!(
            ask("clef:F4 F2/q C3/q D4/q", "Bassoon").within,
            Some(Experience::Student)
        );
        assert_eq!(
            ask("clef:F4 F2/q E4/q", "Bassoon").within,
            Some(Experience::Intermediate)
        );
    }

    /// A euphonium part in B flat treble clef: the range B♭1–B♭4 is written a ninth higher, C3–C6.
    #[test]
    fn ranges_are_shown_as_this_part_writes_them() {
        let fit = ask("trans:-8,-14 C4/q G5/q", "Euphonium");
        let widest = fit.usual.last().expect("a range");
        assert_eq!(
            (widest.low.to_string(), widest.high.to_string()),
            ("C3".into(), "C6".into())
        );
        assert!(fit.beyond.is_empty());
    }

    #[test]
    fn one_finding_for_each_side() {
        let mut piece = sketch("clef:F4 A1/q G1/q A1/q | clef:C4 E5/q |").expect("a sketch");
        piece.parts[0].name = "Bassoon".to_owned();
        let identified = instruments::identify(&piece.parts[0]);
        let ctx = Context::new(&piece, 0).expect("a part");
        let said = super::super::answer(&ctx, identified.as_ref()).findings;
        assert_eq!(said.len(), 2);
        assert!(
            said[0].what.starts_with("E5 lies above the usual range"),
            "{}",
            said[0].what
        );
        let below =
            "3 notes, the farthest G1, lie below the usual range of the Bassoon, which goes down to B♭1";
        assert!(said[1].what.starts_with(below), "{}", said[1].what);
    }

    #[test]
    fn what_the_clef_leaves_open_is_not_judged() {
        let fit = ask("C5/q C6/q", "Euphonium");
        assert_eq!((fit.undecided, fit.beyond.len()), (2, 0));
    }
}

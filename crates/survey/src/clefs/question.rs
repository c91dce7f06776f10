//! Which clef is read in more than one way here, and what speaks for each reading?

use crate::Context;
use crate::range::distance;
use crate::walk::InForce;
use instruments::{Experience, Identified, Instrument, Reading, readings};
use notation::{Clef, Event, Finding, Id, Pitch, Place, Rational, Severity};

/// A clef that is read in more than one way on this instrument, with both readings: to be asked, or said.
#[derive(Clone, PartialEq, Debug)]
pub struct ClefQuestion {
    /// The clef.
    pub clef: Clef,
    /// Where it first stands.
    pub place: Place,
    /// The element there.
    pub element: Id,
    /// The ways of reading it, the likelier first.
    pub readings: Vec<ReadingFit>,
    /// Semitones from written to sounding that the file states where the clef first stands; `None` if nothing.
    pub stated: Option<i64>,
    /// What decides, in words (`bars 12–20 go down to C2: only … lies on the instrument`).
    pub decides: String,
    /// True if the file and the range agree on one reading: said, not asked.
    pub settled: bool,
}

/// One reading with what speaks for it.
#[derive(Clone, PartialEq, Debug)]
pub struct ReadingFit {
    /// The reading.
    pub reading: Reading,
    /// Of the notes in this clef, how many lie in the instrument's usual range when read so.
    pub in_range: usize,
    /// Of how many.
    pub of: usize,
    /// Mean size in semitones of the steps into and out of the clef when read so; `None` without neighbours.
    pub mean_step: Option<f64>,
}

pub(super) fn questions(ctx: &Context, identified: &Identified) -> Vec<ClefQuestion> {
    let instrument = identified.instrument;
    let mut asked: Vec<ClefQuestion> = Vec::new();
    for change in &ctx.part.clefs {
        let ways = readings(instrument, change.value);
        if ways.len() < 2 || asked.iter().any(|q| q.clef == change.value) {
            continue;
        }
        if instrument.id == "cello" && !follows_bass(ctx, change.value) {
            continue;
        }
        asked.extend(question(
            ctx,
            instrument,
            change.value,
            change.place,
            change.id,
            ways,
        ));
    }
    asked
}

/// The clefs that are read in more than one way here and not settled by the file.
pub(crate) fn open_clefs(ctx: &Context, identified: &Identified) -> Vec<Clef> {
    questions(ctx, identified)
        .into_iter()
        .filter(|question| !question.settled)
        .map(|question| question.clef)
        .collect()
}

/// The old practice concerns a treble clef that follows the bass clef.
fn follows_bass(ctx: &Context, clef: Clef) -> bool {
    ctx.part
        .clefs
        .windows(2)
        .any(|pair| matches!(pair, [before, after] if before.value == Clef::BASS && after.value == clef))
}

/// A head in its clef, in order.
struct Read {
    pitch: Pitch,
    clef: Option<Clef>,
}

fn question(
    ctx: &Context,
    instrument: &'static Instrument,
    clef: Clef,
    place: Place,
    element: Id,
    ways: &'static [Reading],
) -> Option<ClefQuestion> {
    let mut walk = InForce::new(ctx.part);
    let mut heads: Vec<Read> = Vec::with_capacity(ctx.part.events.len());
    let own = |event: &&Event| !event.cue && event.printed && !event.is_grace();
    for event in ctx.part.events.iter().filter(own) {
        walk.advance(event.place);
        if let (Some(pitch), Some(head)) = (event.top_pitch(), event.heads().first()) {
            heads.push(Read {
                pitch,
                clef: walk.clef(head.staff),
            });
        }
    }
    let notes = heads.iter().filter(|read| read.clef == Some(clef)).count();
    if notes == 0 {
        return None;
    }
    let stated = (!ctx.part.transpositions.is_empty())
        .then(|| ctx.part.transposition_at(place).semitones())
        .filter(|s| s.is_whole())
        .map(Rational::num);
    let home = stated.unwrap_or(i64::from(usual(instrument)));
    let mut fits: Vec<ReadingFit> = ways
        .iter()
        .map(|reading| ReadingFit {
            reading: *reading,
            in_range: heads
                .iter()
                .filter(|read| read.clef == Some(clef) && in_range(instrument, read.pitch, *reading))
                .count(),
            of: notes,
            mean_step: mean_step(&heads, clef, i64::from(reading.semitones), home),
        })
        .collect();
    // A stable sort: the convention's own order decides between equals.
    fits.sort_by(|a, b| {
        b.in_range
            .cmp(&a.in_range)
            .then_with(|| a.mean_step.unwrap_or(0.0).total_cmp(&b.mean_step.unwrap_or(0.0)))
    });
    let settled = settled(&fits, stated);
    Some(ClefQuestion {
        clef,
        place,
        element,
        decides: decides(&fits, stated),
        stated,
        settled,
        readings: fits,
    })
}

/// Steps into and out of the clef that are this much smaller speak for a reading, in semitones.
const SMALLER_STEP: f64 = 3.0;

/// True if the file and the music agree: the likeliest reading is what the file says (or, where it says nothing, the
/// written pitch), every note lies in the range, and where the file is silent the other readings are clearly worse.
fn settled(fits: &[ReadingFit], stated: Option<i64>) -> bool {
    let Some((best, others)) = fits.split_first() else {
        return false;
    };
    let says = i64::from(best.reading.semitones) == stated.unwrap_or(0);
    let worse = |other: &ReadingFit| {
        let steps = other.mean_step.zip(best.mean_step);
        other.in_range * 2 <= other.of || steps.is_some_and(|(other, best)| other >= best + SMALLER_STEP)
    };
    says && best.in_range == best.of && (stated.is_some() || others.iter().all(worse))
}

/// Semitones from written to sounding in the instrument's usual clef.
fn usual(instrument: &Instrument) -> i8 {
    i8::try_from(instrument.transposition().semitones().num()).unwrap_or(0)
}

fn in_range(instrument: &Instrument, written: Pitch, reading: Reading) -> bool {
    let Some((low, high)) = instrument.ranges.of(Experience::Professional) else {
        return false;
    };
    let shift = if instrument.ranges.sounding {
        0
    } else {
        i64::from(usual(instrument))
    };
    let sounding = written.semitones() + Rational::whole(i64::from(reading.semitones));
    sounding >= low.semitones() + Rational::whole(shift)
        && sounding <= high.semitones() + Rational::whole(shift)
}

/// Mean size of the steps between this clef and its neighbours if this clef is read so and the others as usual.
fn mean_step(heads: &[Read], clef: Clef, reading: i64, home: i64) -> Option<f64> {
    let sounding = |read: &Read| {
        let shift = if read.clef == Some(clef) { reading } else { home };
        read.pitch.semitones().to_f64() + Rational::whole(shift).to_f64()
    };
    let steps: Vec<f64> = heads
        .windows(2)
        .filter_map(|pair| match pair {
            [a, b] if (a.clef == Some(clef)) != (b.clef == Some(clef)) => {
                Some((sounding(a) - sounding(b)).abs())
            }
            _ => None,
        })
        .collect();
    let count = u32::try_from(steps.len()).ok().filter(|n| *n > 0)?;
    Some(steps.iter().sum::<f64>() / f64::from(count))
}

fn decides(fits: &[ReadingFit], stated: Option<i64>) -> String {
    let mut says: Vec<String> = fits
        .iter()
        .map(|fit| {
            let step = fit
                .mean_step
                .map(|step| format!(", steps into and out of the clef of {step:.0} semitones on average"))
                .unwrap_or_default();
            format!(
                "{}: {} of {} notes lie in the usual range{step}",
                fit.reading.name, fit.in_range, fit.of
            )
        })
        .collect();
    says.push(match stated {
        Some(semitones) => format!("the file lets it sound {}", distance(semitones)),
        None => "the file says nothing about transposition".to_owned(),
    });
    says.join("; ")
}

impl ClefQuestion {
    /// The question as a finding: a caution where it must be asked, a note where file and range agree.
    #[must_use]
    pub fn finding(&self, ctx: &Context) -> Finding {
        let ways: Vec<String> = self
            .readings
            .iter()
            .map(|fit| format!("{} ({})", fit.reading.name, fit.reading.says))
            .collect();
        let (severity, what, advice) = if self.settled {
            (
                Severity::Note,
                format!(
                    "the {} clef is read here as {}",
                    self.clef.name(),
                    ways.first().map_or("", String::as_str)
                ),
                "nothing to do unless it sounds wrong".to_owned(),
            )
        } else {
            (
                Severity::Caution,
                format!(
                    "the {} clef is read in more than one way here: {}",
                    self.clef.name(),
                    ways.join(", or ")
                ),
                format!("ask the teacher or compare with the score — {}", self.decides),
            )
        };
        Finding::new(severity, "clef-reading", what, advice)
            .in_part(&ctx.part.name)
            .at_bar(self.place.bar, ctx.label(self.place.bar))
            .at_offset(self.place.offset)
            .about(self.element)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;

    fn ask(text: &str, name: &str) -> Vec<ClefQuestion> {
        let mut piece = sketch(text).expect("a sketch");
        piece.parts[0].name = name.to_owned();
        let identified = instruments::identify(&piece.parts[0]).expect("an instrument");
        let ctx = Context::new(&piece, 0).expect("a part");
        super::super::answer(&ctx, Some(&identified)).questions
    }

    /// Source: orchestralibrary.com: bass-clef parts of the bass clarinet sound a step lower, not a ninth.
    #[test]
    fn bass_clarinet_in_bass_clef() {
        let asked = ask("trans:-8,-14 clef:F4 G2/q A2/q B2/q C3/q", "Bass Clarinet in Bb");
        assert_eq!(asked[0].readings[0].reading.semitones, -2);
        assert_eq!(
            (asked[0].readings[0].in_range, asked[0].readings[1].in_range),
            (4, 0)
        );
        assert!(!asked[0].settled, "the file says otherwise");
        let said = ask("trans:-1,-2 clef:F4 G2/q A2/q B2/q C3/q", "Bass Clarinet in Bb");
        assert!(said[0].settled);
    }

    #[test]
    fn cello_treble_after_bass_is_asked_but_after_tenor_is_not() {
        let asked = ask(
            "clef:F4 A3/q B3/q clef:G2 C5/q D5/q E5/q D5/q clef:F4 C4/q",
            "Violoncello",
        );
        assert_eq!(asked.len(), 1);
        // Both readings lie on the instrument; the smaller step at the change speaks for the old practice.
        assert_eq!(asked[0].readings[0].reading.semitones, -12);
        assert!(!asked[0].settled);
        assert!(ask("clef:F4 A3/q clef:C4 D4/q clef:G2 E4/q", "Violoncello").is_empty());
    }

    #[test]
    fn a_modern_cello_part_is_said_not_asked() {
        let said = ask(
            "clef:F4 A3/q C4/q clef:G2 D4/q E4/q F4/q D4/q clef:F4 C4/q",
            "Violoncello",
        );
        assert_eq!(said[0].readings[0].reading.semitones, 0);
        assert!(said[0].settled);
    }

    #[test]
    fn horn_in_bass_clef_old_and_new() {
        // C2 read new lies below the usual range; read old it is the horn's written C3.
        let old = ask("trans:-4,-7 clef:F4 C2/q G2/q C3/q", "Horn in F");
        assert_eq!(old[0].readings[0].reading.semitones, 5);
        assert!(!old[0].settled);
        let new = ask(
            "trans:-4,-7 G4/q E4/q clef:F4 C4/q G3/q E3/q C4/q clef:G2 E4/q",
            "Horn in F",
        );
        assert_eq!(new[0].readings[0].reading.semitones, -7);
        assert!(new[0].settled);
    }

    #[test]
    fn euphonium_treble_is_a_ninth_unless_said() {
        let asked = ask("G5/q A5/q C6/q", "Euphonium");
        assert_eq!(asked[0].readings[0].reading.semitones, -14);
        assert_eq!(asked[0].stated, None);
        assert!(ask("trans:-8,-14 G5/q", "Euphonium")[0].settled);
        assert!(ask("clef:F4 G3/q", "Euphonium").is_empty());
    }

    #[test]
    fn trombone_in_tenor_and_alto_is_normal() {
        assert!(ask("clef:C4 F4/q clef:C3 A4/q", "Trombone").is_empty());
    }
}

//! How low, how high, and where does the part live? Extremes, tessitura, ledger lines, leaps, double stops.
//!
//! Extremes and ledger lines take every printed head, grace notes too (they must be played); the tessitura weighs by
//! duration, so a grace note weighs nothing there. Cues and hidden notes are another player's or nobody's: left out.

mod fit;
mod leaps;
mod ledger;

pub use fit::{Beyond, RangeFit, UsualRange};
pub use leaps::{DoubleStops, Leap};
pub use ledger::{LedgerLines, LedgerNote};

use crate::walk::InForce;
use crate::{Context, Evidence};
use instruments::Identified;
use notation::{Clef, Event, Finding, Head, Id, Pitch, Place, Quarters, Rational, Severity, Transposition};
use std::collections::BTreeMap;

/// Below this the instrument is too much of a guess to judge a range by.
const CERTAIN_ENOUGH: f64 = 0.6;

/// The answer to question 2.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct RangeAnswer {
    /// The lowest written note; the first of equals. `None` if the part has no pitched note.
    pub lowest: Option<Extreme>,
    /// The highest written note; the first of equals.
    pub highest: Option<Extreme>,
    /// The lowest sounding note, by the transposition in force where it stands.
    pub lowest_sounding: Option<Extreme>,
    /// The highest sounding note.
    pub highest_sounding: Option<Extreme>,
    /// Where the part lives.
    pub tessitura: Option<Tessitura>,
    /// Ledger lines.
    pub ledger: LedgerLines,
    /// How the range sits on the instrument; `None` if the instrument or its range is not known.
    pub fit: Option<RangeFit>,
    /// The largest leaps of the line, the largest first, at most [`leaps::SHOWN`].
    pub leaps: Vec<Leap>,
    /// Chords and double stops; `None` if there are none.
    pub double_stops: Option<DoubleStops>,
    /// What it means for the player.
    pub means: String,
    /// Where to look.
    pub evidence: Vec<Evidence>,
    /// What to ask or to know before relying on it.
    pub findings: Vec<Finding>,
}

/// One end of the range.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Extreme {
    /// As written.
    pub written: Pitch,
    /// As it sounds, by the transposition in force.
    pub sounding: Pitch,
    /// Where it first stands.
    pub place: Place,
    /// The event.
    pub event: Id,
    /// The head.
    pub head: Id,
    /// True if it is a grace note.
    pub grace: bool,
    /// How often this height comes, whatever its spelling.
    pub times: usize,
}

/// The middle 80 per cent of the part by duration: a tenth of the time lies below, a tenth above.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Tessitura {
    /// Written pitch below which a tenth of the played time lies.
    pub low: Pitch,
    /// Written pitch that halves the played time.
    pub middle: Pitch,
    /// Written pitch above which a tenth of the played time lies.
    pub high: Pitch,
}

/// One printed head with what is in force where it stands.
#[derive(Clone, Copy)]
pub(crate) struct Note<'a> {
    pub(crate) event: &'a Event,
    pub(crate) head: &'a Head,
    pub(crate) written: Pitch,
    /// Semitones above C−1 at which it sounds.
    pub(crate) sounds: Rational,
    pub(crate) transposition: Transposition,
    pub(crate) clef: Option<Clef>,
    pub(crate) ottava: i8,
}

impl Note<'_> {
    fn sounding(&self) -> Pitch {
        self.transposition.sounding(self.written)
    }
}

/// Answers question 2 for a part; the instrument comes from [`instruments::identify`].
#[must_use]
pub fn answer(ctx: &Context, identified: Option<&Identified>) -> RangeAnswer {
    let notes = printed_notes(ctx);
    let mut answer = RangeAnswer {
        lowest: extreme(&notes, |n| n.written.semitones(), false),
        highest: extreme(&notes, |n| n.written.semitones(), true),
        lowest_sounding: extreme(&notes, |n| n.sounds, false),
        highest_sounding: extreme(&notes, |n| n.sounds, true),
        tessitura: tessitura(&notes),
        ledger: ledger::ledger_lines(ctx, &notes),
        leaps: leaps::largest(ctx),
        double_stops: leaps::double_stops(ctx),
        ..RangeAnswer::default()
    };
    if let Some(identified) = identified.filter(|i| i.certainty >= CERTAIN_ENOUGH) {
        answer.fit = fit::fit(ctx, identified, &notes);
        answer.findings.extend(transposition_findings(ctx, identified));
        answer
            .findings
            .extend(answer.fit.iter().flat_map(|fit| fit::findings(ctx, fit)));
    }
    answer.evidence = evidence(&answer);
    answer.means = means(&answer);
    answer
}

/// Every printed pitched head of the part, cues left out, with what is in force there.
fn printed_notes<'a>(ctx: &Context<'a>) -> Vec<Note<'a>> {
    let mut walk = InForce::new(ctx.part);
    let mut notes = Vec::with_capacity(ctx.part.events.len());
    for event in &ctx.part.events {
        walk.advance(event.place);
        if event.cue || !event.printed {
            continue;
        }
        for head in event.heads() {
            let Some(written) = head.pitch() else { continue };
            notes.push(Note {
                event,
                head,
                written,
                sounds: written.semitones() + walk.transposition().semitones(),
                transposition: walk.transposition(),
                clef: walk.clef(head.staff),
                ottava: walk.ottava(head.staff),
            });
        }
    }
    notes
}

fn extreme(notes: &[Note], height: impl Fn(&Note) -> Rational, highest: bool) -> Option<Extreme> {
    let mut best: Option<(&Note, Rational)> = None;
    let mut times = 0;
    for note in notes {
        let here = height(note);
        let better = best.is_none_or(|(_, so_far)| if highest { here > so_far } else { here < so_far });
        if better {
            best = Some((note, here));
            times = 0;
        }
        times += usize::from(best.is_some_and(|(_, so_far)| so_far == here));
    }
    best.map(|(note, _)| Extreme {
        written: note.written,
        sounding: note.sounding(),
        place: note.event.place,
        event: note.event.id,
        head: note.head.id,
        grace: note.event.is_grace(),
        times,
    })
}

fn tessitura(notes: &[Note]) -> Option<Tessitura> {
    // A part has a few dozen pitches, however many notes.
    let mut weighed: BTreeMap<Pitch, Quarters> = BTreeMap::new();
    for note in notes.iter().filter(|note| note.event.duration.is_positive()) {
        *weighed.entry(note.written).or_default() += note.event.duration;
    }
    let total = weighed.values().fold(Quarters::ZERO, |sum, time| sum + *time);
    if !total.is_positive() || total.is_overflow() {
        return None;
    }
    let at = |share: Rational| -> Option<Pitch> {
        let mut sum = Quarters::ZERO;
        weighed
            .iter()
            .find(|(_, time)| {
                sum += **time;
                sum >= total * share
            })
            .map(|(pitch, _)| *pitch)
    };
    Some(Tessitura {
        low: at(Rational::new(1, 10))?,
        middle: at(Rational::new(1, 2))?,
        high: at(Rational::new(9, 10))?,
    })
}

/// Says where the name and the file's transposition do not fit together.
fn transposition_findings(ctx: &Context, identified: &Identified) -> Vec<Finding> {
    let instrument = identified.instrument;
    let usual = identified
        .pitched_in
        .as_ref()
        .and_then(|p| p.semitones)
        .map_or_else(|| instrument.transposition().semitones().num(), i64::from);
    let stated = ctx
        .part
        .transpositions
        .first()
        .map(|change| change.value.semitones());
    let name = &ctx.part.name;
    match stated {
        None if usual != 0 && !ctx.piece.concert_pitch => vec![
            Finding::new(
                Severity::Caution,
                "transposition-not-stated",
                format!(
                    "the file says nothing about transposition, but the part is for {} and would usually sound {}",
                    instrument.name,
                    distance(usual)
                ),
                "take the written pitches as the part; check the sounding ones before relying on them",
            )
            .in_part(name),
        ],
        Some(stated) if stated.is_whole() && (stated.num() - usual) % 12 != 0 => vec![
            Finding::new(
                Severity::Caution,
                "transposition-unusual",
                format!(
                    "the file lets the part sound {}, but {} usually sounds {}",
                    distance(stated.num()),
                    identified
                        .pitched_in
                        .as_ref()
                        .map_or_else(|| instrument.name.to_owned(), |p| format!("{} ({})", instrument.name, p.name)),
                    distance(usual)
                ),
                "look whether the name or the transposition in the file is right",
            )
            .in_part(name),
        ],
        _ => Vec::new(),
    }
}

/// `2 semitones lower than written`, `as written`.
pub(crate) fn distance(semitones: i64) -> String {
    match semitones {
        0 => "as written".to_owned(),
        12 => "an octave higher than written".to_owned(),
        -12 => "an octave lower than written".to_owned(),
        n => {
            let count = n.unsigned_abs();
            let plural = if count == 1 { "" } else { "s" };
            let way = if n < 0 { "lower" } else { "higher" };
            format!("{count} semitone{plural} {way} than written")
        }
    }
}

fn evidence(answer: &RangeAnswer) -> Vec<Evidence> {
    let mut evidence = Vec::new();
    let mut at = |extreme: &Option<Extreme>, what: &str| {
        if let Some(extreme) = extreme {
            let grace = if extreme.grace { " (a grace note)" } else { "" };
            let sounding = if extreme.sounding == extreme.written {
                String::new()
            } else {
                format!(", sounding {}", extreme.sounding.sign())
            };
            evidence.push(Evidence {
                place: Some(extreme.place),
                element: Some(extreme.event),
                says: format!("{what}, {}{sounding}{grace}", extreme.written.sign()),
            });
        }
    };
    at(&answer.lowest, "the lowest note");
    at(&answer.highest, "the highest note");
    if let Some(most) = &answer.ledger.most {
        evidence.push(Evidence {
            place: Some(most.place),
            element: Some(most.event),
            says: format!(
                "{} on {} ledger line{}",
                most.pitch.sign(),
                most.lines,
                if most.lines == 1 { "" } else { "s" }
            ),
        });
    }
    if let Some(leap) = answer.leaps.first() {
        evidence.push(Evidence {
            place: Some(leap.to_place),
            element: Some(leap.to_event),
            says: format!(
                "the largest leap, {} {}",
                leap.name,
                if leap.up { "up" } else { "down" }
            ),
        });
    }
    evidence
}

fn means(answer: &RangeAnswer) -> String {
    let (Some(low), Some(high)) = (&answer.lowest, &answer.highest) else {
        return "No pitched notes.".to_owned();
    };
    let mut says = match &answer.tessitura {
        Some(middle) if middle.low != middle.high => format!(
            "Lies mostly between {} and {}; goes down to {} and up to {}.",
            middle.low.sign(),
            middle.high.sign(),
            low.written.sign(),
            high.written.sign()
        ),
        _ => format!("From {} to {}.", low.written.sign(), high.written.sign()),
    };
    if let Some(most) = answer.ledger.most.filter(|most| most.lines >= 3) {
        says.push_str(&format!(
            " Name {} ({} ledger lines {}) before you start.",
            most.pitch.sign(),
            most.lines,
            if most.above { "above" } else { "below" }
        ));
    }
    says
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;

    fn ask(text: &str, name: &str) -> RangeAnswer {
        let mut piece = sketch(text).expect("a sketch");
        piece.parts[0].name = name.to_owned();
        let identified = instruments::identify(&piece.parts[0]);
        let ctx = Context::new(&piece, 0).expect("a part");
        answer(&ctx, identified.as_ref())
    }

    #[test]
    fn clarinet_extremes_written_and_sounding() {
        let range = ask(
            "trans:-1,-2 metre:4/4 C5/q G3/q g:D6/e C6/h | G3/w |",
            "Clarinet in B♭",
        );
        let low = range.lowest.expect("a note");
        assert_eq!(
            (low.written.to_string(), low.sounding.to_string(), low.times),
            ("G3".into(), "F3".into(), 2)
        );
        assert_eq!(low.place.offset, Rational::ONE);
        let high = range.highest.expect("a note");
        assert_eq!((high.written.to_string(), high.grace), ("D6".into(), true));
        assert!(range.findings.is_empty(), "{:?}", range.findings);
    }

    /// Ten quarters: one on C4, eight on G4, one on C6; the middle eight tenths are all G4.
    #[test]
    fn the_middle_eighty_per_cent_by_duration() {
        let range = ask("C4/q G4/w G4/w C6/q", "Flute");
        let middle = range.tessitura.expect("notes");
        assert_eq!(
            (middle.low.to_string(), middle.high.to_string()),
            ("C4".into(), "G4".into())
        );
        let range = ask("C4/e D4/e G4/w G4/w C6/e", "Flute");
        let middle = range.tessitura.expect("notes");
        assert_eq!(
            (middle.low.to_string(), middle.high.to_string()),
            ("D4".into(), "G4".into())
        );
    }

    #[test]
    fn a_clarinet_part_without_transposition_is_asked_about() {
        let range = ask("C5/q", "Clarinet in B♭");
        assert_eq!(range.findings[0].kind, "transposition-not-stated");
        let range = ask("trans:-2,-3 C5/q", "Clarinet in B♭");
        assert_eq!(range.findings[0].kind, "transposition-unusual");
        assert!(ask("C5/q", "Oboe").findings.is_empty());
    }

    #[test]
    fn cues_and_hidden_notes_do_not_widen_the_range() {
        let mut piece = sketch("C4/q C7/q C2/q E4/q").expect("a sketch");
        piece.parts[0].events[1].cue = true;
        piece.parts[0].events[2].printed = false;
        let ctx = Context::new(&piece, 0).expect("a part");
        let range = answer(&ctx, None);
        assert_eq!(range.lowest.expect("low").written.to_string(), "C4");
        assert_eq!(range.highest.expect("high").written.to_string(), "E4");
    }

    #[test]
    fn an_empty_part_has_no_range() {
        let range = ask("r/w", "Oboe");
        assert_eq!((range.lowest, range.tessitura), (None, None));
    }

    use proptest::prelude::*;

    proptest! {
        /// Slow twin: the ends are the least and the greatest of all pitches, and the tessitura lies within them.
        #[test]
        fn ends_and_middle_agree_with_looking_at_every_note(
            notes in prop::collection::vec((0i32..7, -1i8..=1, 2i8..7, 0usize..4), 1..40),
        ) {
            let values = ["s", "e", "q", "h"];
            let text: Vec<String> = notes
                .iter()
                .map(|(step, alter, octave, value)| {
                    let pitch = Pitch::new(notation::Step::from_index(*step), *alter, *octave);
                    format!("{pitch}/{}", values[*value])
                })
                .collect();
            let range = ask(&format!("trans:-1,-2 {}", text.join(" ")), "Clarinet in Bb");
            let heights: Vec<Rational> = notes
                .iter()
                .map(|(step, alter, octave, _)| Pitch::new(notation::Step::from_index(*step), *alter, *octave).semitones())
                .collect();
            let (low, high) = (range.lowest.expect("a note"), range.highest.expect("a note"));
            prop_assert_eq!(Some(low.written.semitones()), heights.iter().min().copied());
            prop_assert_eq!(Some(high.written.semitones()), heights.iter().max().copied());
            prop_assert_eq!(low.sounding.semitones(), low.written.semitones() - Rational::whole(2));
            prop_assert_eq!(low.times, heights.iter().filter(|h| **h == low.written.semitones()).count());
            let middle = range.tessitura.expect("notes");
            prop_assert!(low.written.semitones() <= middle.low.semitones() && middle.low <= middle.middle);
            prop_assert!(middle.middle <= middle.high && middle.high.semitones() <= high.written.semitones());
        }
    }
}

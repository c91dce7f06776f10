//! What of a part can an instrument not play? Notes beyond its range, bar by bar, and the octave in which there are fewest.

use instruments::{Experience, Instrument};
use notation::{BarIndex, Finding, Piece, Pitch, Severity};

/// So many octaves up or down are tried.
const OCTAVES: [i32; 5] = [0, -1, 1, -2, 2];

/// The range in written pitches.
fn range(instrument: &Instrument) -> Option<(Pitch, Pitch)> {
    let (low, high) = instrument.ranges.of(Experience::Professional)?;
    if !instrument.ranges.sounding {
        return Some((low, high));
    }
    let by = instrument.transposition();
    let written = |pitch: Pitch| pitch.transposed(-by.diatonic - 7 * by.octaves, -by.semitones());
    Some((written(low), written(high)))
}

/// Octaves by which the part had better be moved: none unless most of its notes lie beyond the range, else the fewest with
/// which the fewest do.
pub(super) fn best_octaves(piece: &Piece, instrument: &Instrument) -> i32 {
    let Some((low, high)) = range(instrument) else {
        return 0;
    };
    let pitches: Vec<Pitch> = piece
        .parts
        .iter()
        .take(1)
        .flat_map(|part| &part.events)
        .flat_map(|event| event.pitches())
        .collect();
    let beyond = |octaves: i32| {
        let moved = |pitch: &&Pitch| {
            let at = pitch.semitones() + notation::Rational::whole(i64::from(12 * octaves));
            at < low.semitones() || at > high.semitones()
        };
        pitches.iter().filter(moved).count()
    };
    if 2 * beyond(0) <= pitches.len() {
        return 0;
    }
    OCTAVES
        .into_iter()
        .min_by_key(|octaves| beyond(*octaves))
        .unwrap_or(0)
}

pub(super) fn octaves_moved(octaves: i32, instrument: &Instrument) -> Finding {
    let count = octaves.unsigned_abs();
    let way = if octaves < 0 { "lower" } else { "higher" };
    let how = if count == 1 {
        "an octave".to_owned()
    } else {
        format!("{count} octaves")
    };
    Finding::new(
        Severity::Caution,
        "octave-moved",
        format!(
            "the part sounds {how} {way} than the original, where more of it lies in the {}'s range",
            instrument.name
        ),
        "ask whoever leads whether that octave is wanted",
    )
}

/// A finding for each bar with notes beyond the instrument's range, naming each.
pub(super) fn beyond(piece: &Piece, instrument: &Instrument) -> Vec<Finding> {
    let Some((low, high)) = range(instrument) else {
        return vec![Finding::new(
            Severity::Note,
            "range-not-known",
            format!(
                "the range of the {} is not in our tables, so no note was held against it",
                instrument.name
            ),
            "",
        )];
    };
    let Some(part) = piece.parts.first() else {
        return Vec::new();
    };
    let mut findings = Vec::new();
    for bar in (0..piece.bars.len()).map(BarIndex::from_usize) {
        let heads = || {
            part.bar_events(bar)
                .iter()
                .flat_map(|event| event.heads().iter().map(move |head| (event, head)))
        };
        for (too, far) in [("low", true), ("high", false)] {
            let out: Vec<_> = heads()
                .filter_map(|(event, head)| Some((event, head, head.pitch()?)))
                .filter(|(_, _, pitch)| {
                    if far {
                        *pitch < low && pitch.semitones() < low.semitones()
                    } else {
                        pitch.semitones() > high.semitones()
                    }
                })
                .collect();
            let Some((event, head, _)) = out.first() else {
                continue;
            };
            let mut finding = Finding::new(
                Severity::Problem,
                "out-of-range",
                format!(
                    "{} too {too} for the {}, whose {} usual note is {}",
                    names(&out.iter().map(|(_, _, pitch)| *pitch).collect::<Vec<_>>()),
                    instrument.name,
                    if far { "lowest" } else { "highest" },
                    if far { low } else { high }
                ),
                "leave the note out, play it in the other octave, or ask a teacher of the instrument",
            )
            .at_bar(bar, piece.label(bar))
            .at_offset(event.place.offset);
            finding.element = Some(head.id);
            findings.push(finding);
        }
    }
    findings
}

/// `E3 is`, `E3, D3 and C3 are`.
fn names(pitches: &[Pitch]) -> String {
    let names: Vec<String> = pitches.iter().map(Pitch::to_string).collect();
    match names.as_slice() {
        [] => String::new(),
        [one] => format!("{one} is"),
        [most @ .., last] => format!("{} and {last} are", most.join(", ")),
    }
}

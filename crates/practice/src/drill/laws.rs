//! Laws of drills on pieces composed at random.

#![allow(
    clippy::indexing_slicing,
    reason = "a test that reads past the end has failed"
)]

use super::draft::{Passage, Tone, excerpt};
use super::tests::studied;
use super::*;
use crate::BarSpan;
use notation::testing::{Palette, piece};
use notation::{BarIndex, Metre, Part, Piece, Pitch, Quarters, Rational};
use proptest::prelude::*;
use survey::Context;

/// Single lines as players read them.
fn lines() -> Palette {
    Palette {
        bars: 5,
        tuplets: true,
        ties: true,
        graces: true,
        ornaments: true,
        articulations: true,
        slurs: true,
        beams: true,
        pickups: true,
        changes: true,
        transposition: true,
        ..Palette::plain()
    }
}

/// Onset, length and pitch of every struck note of a passage, ties joined.
fn struck(passage: &Passage) -> Vec<(Quarters, Quarters, Vec<Pitch>)> {
    let mut all: Vec<(Quarters, Quarters, Vec<Pitch>)> = Vec::new();
    let mut at = Quarters::ZERO;
    let mut held = false;
    for tone in passage.tones() {
        if tone.is_note() {
            match all.last_mut().filter(|_| held) {
                Some((_, length, _)) => *length += tone.length,
                None => all.push((
                    at,
                    tone.length,
                    tone.heads.iter().filter_map(|head| head.pitch()).collect(),
                )),
            }
        }
        held = tone.is_note() && tone.tied;
        at += tone.length;
    }
    all
}

/// Onsets counted from the first note: bars of rest before it are left out.
fn from_first(mut notes: Vec<(Quarters, Quarters, Vec<Pitch>)>) -> Vec<(Quarters, Quarters, Vec<Pitch>)> {
    let first = notes.first().map_or(Quarters::ZERO, |(at, ..)| *at);
    notes.iter_mut().for_each(|(at, ..)| *at -= first);
    notes
}

/// Studying a piece takes its time: an eighth of the cases that are usual, or that are asked for.
fn cases() -> ProptestConfig {
    let usual = ProptestConfig::default();
    ProptestConfig::with_cases(usual.cases / 8)
}

fn pitches(passages: &[Passage]) -> Vec<Vec<Pitch>> {
    passages
        .iter()
        .flat_map(|passage| struck(passage).into_iter().map(|(_, _, pitches)| pitches))
        .collect()
}

/// What all drills keep, whatever the piece: bars that fill, values that add up, ids of their own, a way back.
fn holds(drill: &Drill, source: &Piece) -> Result<(), TestCaseError> {
    let piece = &drill.piece;
    prop_assert_eq!(piece.bars.len(), drill.bars.len());
    let part: &Part = &piece.parts[0];
    for (index, bar) in piece.bars.iter().enumerate() {
        let at = BarIndex::from_usize(index);
        let events = part.bar_events(at);
        let sum = events
            .iter()
            .fold(Quarters::ZERO, |sum, event| sum + event.duration);
        prop_assert_eq!(sum, bar.length, "bar {} of {:?}", index, drill.offer.kind);
        let metre = part
            .metre_at(notation::Place::start_of(at))
            .and_then(Metre::length);
        let of_source = drill.bars[index]
            .and_then(|from| source.bars.get(from.get()))
            .map(|bar| bar.length);
        if let Some(full) = metre {
            // A bar shorter or longer than its metre is one of the source's own.
            prop_assert!(
                bar.length == full || of_source.is_some_and(|length| length != full),
                "bar {} of {:?}",
                index,
                drill.offer.kind
            );
        }
        for event in events {
            if let Some(written) = event.written.as_ref().filter(|_| !event.is_grace()) {
                prop_assert_eq!(written.quarters(), event.duration);
            }
        }
    }
    let mut ids: Vec<notation::Id> = part.events.iter().map(|event| event.id).collect();
    let count = ids.len();
    ids.sort();
    ids.dedup();
    prop_assert_eq!(ids.len(), count);
    let known: std::collections::BTreeSet<notation::Id> =
        source.parts[0].events.iter().map(|event| event.id).collect();
    prop_assert!(drill.from.values().all(|id| known.contains(id)));
    Ok(())
}

/// Runs a law on a piece with a part for a player.
fn with_source(
    bytes: &[u8],
    palette: &Palette,
    law: impl Fn(&Source, &Piece) -> Result<(), TestCaseError>,
) -> Result<(), TestCaseError> {
    let piece = piece(bytes, palette);
    let (survey, study) = studied(&piece, "clarinet-bb");
    let Some(ctx) = Context::new(&piece, 0) else {
        return Ok(());
    };
    let source = Source {
        ctx: &ctx,
        survey: &survey,
        study: &study,
    };
    law(&source, &piece)
}

fn spans(piece: &Piece) -> Vec<BarSpan> {
    let last = u32::try_from(piece.bars.len()).unwrap_or(1).saturating_sub(1);
    (0..=last)
        .map(|bar| BarSpan::new(BarIndex(bar), BarIndex((bar + 1).min(last))))
        .collect()
}

fn written(source: &Source, kind: DrillKind, span: BarSpan) -> Option<Vec<Passage>> {
    make::passages(source, kind, span, &Matter::Bars, &mut Vec::new())
}

/// The bars as the drill sees them, in the player's range.
fn whole(source: &Source, span: BarSpan) -> Option<Passage> {
    Some(reach::in_range(
        source,
        excerpt(source, span, true)?,
        &mut Vec::new(),
    ))
}

proptest! {
    #![proptest_config(cases())]

    /// Whatever the piece, every offer can be made, fills its bars and leads back to the source.
    #[test]
    fn every_offer_of_any_piece_can_be_made(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        with_source(&bytes, &Palette { parts: 1, ..Palette::default() }, |source, piece| {
            for offer in offers(source).into_iter().chain(spans(piece).into_iter().flat_map(|span| for_bars(source, span, None))) {
                let drill = make(source, &offer).map_err(|finding| TestCaseError::fail(finding.to_string()))?;
                holds(&drill, piece)?;
            }
            Ok(())
        })?;
    }

    #[test]
    fn drills_of_a_line_stay_in_the_players_range(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        with_source(&bytes, &lines(), |source, piece| {
            let Some((low, high)) = source.range() else { return Ok(()) };
            for offer in spans(piece).into_iter().flat_map(|span| for_bars(source, span, None)).chain(scales(source)) {
                let drill = make(source, &offer).map_err(|finding| TestCaseError::fail(finding.to_string()))?;
                for pitch in drill.piece.parts[0].events.iter().flat_map(notation::Event::pitches) {
                    let inside = pitch.semitones() >= low.semitones() && pitch.semitones() <= high.semitones();
                    prop_assert!(inside, "{} in {:?}", pitch, offer.kind);
                }
            }
            Ok(())
        })?;
    }

    /// Rhythm variants keep the notes in order and the bars' total length.
    #[test]
    fn dotted_forms_keep_the_notes_and_the_time(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        with_source(&bytes, &lines(), |source, piece| {
            for span in spans(piece) {
                let Some(whole) = whole(source, span) else { continue };
                for kind in [DrillKind::Dotted, DrillKind::ReverseDotted] {
                    let Some(varied) = written(source, kind, span) else { continue };
                    prop_assert_eq!(pitches(&varied), pitches(std::slice::from_ref(&whole)));
                    let time = |passage: &Passage| passage.tones().filter(|tone| tone.is_note()).fold(Quarters::ZERO, |sum, tone| sum + tone.length);
                    let times = time(&varied[0]) / time(&whole);
                    prop_assert!(times == Rational::ONE || times == Rational::whole(2));
                }
            }
            Ok(())
        })?;
    }

    /// Regrouping keeps the run's notes in order.
    #[test]
    fn regrouped_runs_keep_their_notes_in_order(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        with_source(&bytes, &lines(), |source, piece| {
            for span in spans(piece) {
                let Some(whole) = whole(source, span) else { continue };
                let all = pitches(std::slice::from_ref(&whole));
                for kind in [DrillKind::Triplets, DrillKind::GroupsWithStops] {
                    for run in written(source, kind, span).into_iter().flatten() {
                        let run = pitches(std::slice::from_ref(&run));
                        prop_assert!(all.windows(run.len()).any(|part| part == run.as_slice()), "{:?}", kind);
                    }
                }
            }
            Ok(())
        })?;
    }

    #[test]
    fn half_speed_doubles_every_onset_and_length(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        with_source(&bytes, &lines(), |source, piece| {
            for span in spans(piece) {
                let (Some(whole), Some(slow)) = (whole(source, span), written(source, DrillKind::HalfSpeed, span)) else { continue };
                let two = Rational::whole(2);
                let doubled: Vec<_> = struck(&whole).into_iter().map(|(at, length, pitches)| (at * two, length * two, pitches)).collect();
                prop_assert_eq!(struck(&slow[0]), doubled);
            }
            Ok(())
        })?;
    }

    /// What sounds in a step is the beginning, or the end, of the whole, at its own place in the bar; the last step is all.
    #[test]
    fn steps_are_beginnings_and_ends_of_the_whole(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        with_source(&bytes, &lines(), |source, piece| {
            for span in spans(piece) {
                let Some(whole) = whole(source, span) else { continue };
                let all = struck(&whole);
                if let Some(steps) = written(source, DrillKind::AddFromStart, span) {
                    let mut before = 0;
                    for step in &steps {
                        let notes = from_first(struck(step));
                        prop_assert_eq!(&notes[..], &from_first(all.clone())[..notes.len()]);
                        prop_assert!(notes.len() > before);
                        before = notes.len();
                    }
                    prop_assert_eq!(before, all.len());
                }
                if let Some(steps) = written(source, DrillKind::AddFromEnd, span) {
                    let mut before = 0;
                    for step in &steps {
                        let notes = struck(step);
                        let tail: Vec<_> = all[all.len() - notes.len()..].iter().map(|(_, length, pitches)| (*length, pitches.clone())).collect();
                        let here: Vec<_> = notes.iter().map(|(_, length, pitches)| (*length, pitches.clone())).collect();
                        prop_assert_eq!(here, tail);
                        prop_assert!(notes.len() > before);
                        before = notes.len();
                    }
                    prop_assert_eq!(before, all.len());
                }
            }
            Ok(())
        })?;
    }

    /// Pitch variants keep the rhythm; on one note there is one pitch.
    #[test]
    fn one_pitch_keeps_the_rhythm(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        with_source(&bytes, &lines(), |source, piece| {
            for span in spans(piece) {
                let Some(whole) = whole(source, span) else { continue };
                let time = |passage: &Passage| -> Vec<(Quarters, Quarters)> { struck(passage).into_iter().map(|(at, length, _)| (at, length)).collect() };
                if let Some(plain) = written(source, DrillKind::RhythmOnly, span) {
                    prop_assert_eq!(time(&plain[0]), time(&whole));
                    let one: std::collections::BTreeSet<Pitch> = plain[0].tones().filter_map(Tone::top).collect();
                    prop_assert_eq!(one.len(), 1);
                }
                if let Some(attacks) = written(source, DrillKind::TongueOnly, span) {
                    // Every attack is one of the line's onsets, and the time is filled as before.
                    let onsets: Vec<Quarters> = time(&whole).iter().map(|(at, _)| *at).collect();
                    prop_assert!(time(&attacks[0]).iter().all(|(at, _)| onsets.contains(at)));
                    let sum = |times: Vec<(Quarters, Quarters)>| times.iter().fold(Quarters::ZERO, |sum, (_, length)| sum + *length);
                    prop_assert_eq!(sum(time(&attacks[0])), sum(time(&whole)));
                }
            }
            Ok(())
        })?;
    }

    /// Through the keys: every statement is the first one moved by one exact interval, spelled letter by letter, in a signature of
    /// at most six signs.
    #[test]
    fn keys_are_exact_transpositions(bytes in proptest::collection::vec(any::<u8>(), 0..400), semitones: bool) {
        with_source(&bytes, &lines(), |source, piece| {
            let order = if semitones { Order::Semitones } else { Order::Fourths };
            for span in spans(piece) {
                let matter = Matter::Through(order);
                let Some(keys) = make::passages(source, DrillKind::ThroughKeys, span, &matter, &mut Vec::new()) else { continue };
                let first = struck(&keys[0]);
                let mut classes = std::collections::BTreeSet::new();
                for key in &keys {
                    let here = struck(key);
                    prop_assert_eq!(here.len(), first.len());
                    let mut by = None;
                    for ((at, length, pitches), (at0, length0, pitches0)) in here.iter().zip(&first) {
                        prop_assert_eq!((at, length), (at0, length0));
                        for (pitch, pitch0) in pitches.iter().zip(pitches0) {
                            let moved = (pitch.diatonic() - pitch0.diatonic(), pitch.semitones() - pitch0.semitones());
                            prop_assert_eq!(*by.get_or_insert(moved), moved);
                        }
                    }
                    let fifths = key.bars[0].key.fifths.unwrap_or(99);
                    prop_assert!(fifths.abs() <= 6 || key == &keys[0]);
                    if let Some((_, semitones)) = by {
                        prop_assert!(classes.insert(semitones.modulo(Rational::whole(12))), "a key comes twice");
                    }
                }
            }
            Ok(())
        })?;
    }
}

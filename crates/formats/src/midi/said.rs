//! What must a musician know about a page made from a MIDI file? The findings, said once each.

use super::bars::DEFAULT_TEMPO;
use super::build::{Scored, ScoredPart, by_seconds};
use super::signs::Signs;
use crate::report::Report;
use notation::{BarIndex, Finding, KeySignature, Rational, Severity};
use std::collections::BTreeMap;

/// What was learned while a part was written.
#[derive(Clone, Debug, Default)]
pub(super) struct PartFacts {
    pub name: String,
    /// Syllables that found a note.
    pub lyrics: usize,
}

/// Onsets moved further than this, in quarter notes, are said bar by bar.
const FAR: (i64, i64) = (1, 20);

fn note(kind: &'static str, what: impl Into<String>, advice: &str) -> Finding {
    Finding::new(Severity::Note, kind, what, advice)
}

fn caution(kind: &'static str, what: impl Into<String>, advice: &str) -> Finding {
    Finding::new(Severity::Caution, kind, what, advice)
}

/// Says everything.
pub(super) fn say(report: &mut Report, scored: &Scored, signs: &Signs, facts: &[PartFacts]) {
    report.push(caution(
        "midi-no-page",
        "a MIDI file holds which keys sound when: no accidentals, articulation, slurs, dynamics or words of the page; what \
         is said of spelling and rhythm is inferred, and nothing is said of the rest",
        "look at the printed part before relying on it",
    ));
    file(report, scored);
    quantising(report, scored);
    for ((part, facts), index) in scored.parts.iter().zip(facts).zip(1..) {
        let name = if facts.name.trim().is_empty() {
            format!("part {index}")
        } else {
            facts.name.clone()
        };
        of_part(report, part, &name);
        far_bars(report, scored, part, &name);
    }
    of_signs(report, scored, signs, facts);
    left(report, scored);
}

fn file(report: &mut Report, scored: &Scored) {
    let take = &scored.take;
    if by_seconds(scored.header) {
        report.push(caution(
            "midi-by-seconds",
            "the file counts time in parts of a second and not of a beat; beats were counted by its first tempo",
            "do not rely on its bars",
        ));
    }
    if scored.other_patterns > 0 {
        report.push(caution(
            "midi-patterns",
            format!(
                "the file holds {} independent patterns (format 2); the first was read",
                scored.other_patterns + 1
            ),
            "save each as a file of its own to read the others",
        ));
    }
    for (track, at, why) in take.broken.iter().take(20) {
        report.push(Finding::new(
            Severity::Problem,
            "midi-track-damaged",
            format!("track {track} breaks off at byte {at}: {why}; what comes after it is lost"),
            "export or download the file again",
        ));
    }
    for what in take.unusable.iter().take(20) {
        report.push(caution(
            "midi-sign-unusable",
            format!("the file gives {what}; it was left out"),
            "look at the printed page",
        ));
    }
    let mut count = |count: u32, kind, what: &str| {
        if count > 0 {
            report.push(caution(
                kind,
                format!("{count} {what}"),
                "check these places by ear",
            ));
        }
    };
    count(
        take.stuck,
        "midi-note-open",
        "notes are never let go; they were held to the end of their track",
    );
    count(
        take.struck_again,
        "midi-note-again",
        "notes are struck again before they are let go; each ended there",
    );
    count(
        take.stray,
        "midi-note-stray",
        "releases of keys that were not down were passed over",
    );
    count(
        take.empty,
        "midi-note-empty",
        "notes have no length and were left out",
    );
    if take.too_many {
        report.push(Finding::new(
            Severity::Problem,
            "midi-too-much",
            format!(
                "the file has more than {} notes or more signs than a piece; the rest is left out",
                super::take::MOST_NOTES
            ),
            "look whether it is the right file",
        ));
    }
}

/// How far onsets were moved, over the whole file.
fn quantising(report: &mut Report, scored: &Scored) {
    let mut sum = 0.0;
    let mut count = 0_u32;
    let mut largest: (f64, u64) = (0.0, 0);
    for part in &scored.parts {
        for (note, error) in part.from.notes.iter().zip(&part.onsets.errors) {
            count += 1;
            sum += error;
            if *error > largest.0 {
                largest = (*error, note.on);
            }
        }
    }
    let mean = sum / f64::from(count.max(1));
    let milliseconds = |ticks: f64, at: u64| ticks * milliseconds_per_tick(scored, at);
    if largest.0 < 1.0 {
        report.push(note(
            "midi-quantised",
            format!("all {count} notes start exactly on a division of the beat; none was moved"),
            "",
        ));
        return;
    }
    let (size, at) = largest;
    let bar = super::bars::bar_of(&scored.bars, at);
    let how = if scored.precision.exact {
        "notes start on divisions of the beat but for rounding"
    } else {
        "notes start off the beat's divisions, as if played; each was written on the likeliest"
    };
    report.push(if scored.precision.exact { note } else { caution }(
        "midi-quantised",
        format!(
            "{how}: moved by {mean:.1} ticks on average ({:.0} ms), at most by {size:.0} ticks ({:.0} ms, bar {})",
            milliseconds(mean, 0),
            milliseconds(size, at),
            label(scored, bar)
        ),
        if scored.precision.exact { "" } else { "check the rhythm against the page" },
    ));
}

fn milliseconds_per_tick(scored: &Scored, at: u64) -> f64 {
    let tempos = &scored.take.tempos;
    let before = tempos.partition_point(|(tick, _)| *tick <= at);
    let tempo = before.checked_sub(1).and_then(|index| tempos.get(index));
    let micros = tempo.map_or(DEFAULT_TEMPO, |(_, micros)| *micros);
    f64::from(micros) / 1_000.0 / scored.clock.per_quarter.to_f64()
}

fn label(scored: &Scored, bar: usize) -> String {
    let pickup = scored.bars.first().is_some_and(super::bars::GridBar::is_short);
    (bar + usize::from(!pickup)).to_string()
}

/// Bars whose notes were moved far.
fn far_bars(report: &mut Report, scored: &Scored, part: &ScoredPart, name: &str) {
    let far = (scored.clock.per_quarter * Rational::new(FAR.0, FAR.1)).to_f64();
    let mut bars: BTreeMap<usize, (f64, u64)> = BTreeMap::new();
    for (note, error) in part.from.notes.iter().zip(&part.onsets.errors) {
        if *error > far {
            let bar = bars
                .entry(super::bars::bar_of(&scored.bars, note.on))
                .or_insert((0.0, 0));
            if *error > bar.0 {
                *bar = (*error, note.on);
            }
        }
    }
    for (bar, (error, at)) in bars {
        let finding = caution(
            "midi-bar-moved",
            format!(
                "a note here was moved by {error:.0} ticks ({:.0} ms) to a division of the beat",
                error * milliseconds_per_tick(scored, at)
            ),
            "check the rhythm of this bar against the page",
        );
        report.push(
            finding
                .in_part(name)
                .at_bar(BarIndex::from_usize(bar), label(scored, bar)),
        );
    }
}

fn of_part(report: &mut Report, part: &ScoredPart, name: &str) {
    let ends = part.report;
    if !ends.exact && (ends.gaps > 0 || ends.overlaps > 0) {
        let mut what = format!(
            "{} notes end a little before the next one starts: less than a quarter of the way is taken for touch, not for a rest",
            ends.gaps
        );
        if ends.overlaps > 0 {
            what += &format!(
                "; {} that run into the next by less than a thirty-second note were cut there",
                ends.overlaps
            );
        }
        report.push(note("midi-lengths", what, "").in_part(name));
    }
    if part.shortened > 0 {
        report.push(
            caution(
                "midi-too-many-voices",
                format!(
                    "{} notes were cut short because more sound together than a staff can show",
                    part.shortened
                ),
                "check the chords by ear",
            )
            .in_part(name),
        );
    }
    if part.from.is_percussion() {
        report.push(
            note(
                "midi-percussion",
                "channel 10 is percussion: its notes are kept without pitch; which drum each one is, is not kept",
                "",
            )
            .in_part(name),
        );
    }
}

fn of_signs(report: &mut Report, scored: &Scored, signs: &Signs, facts: &[PartFacts]) {
    if signs.key_guessed && scored.parts.iter().any(|part| !part.from.is_percussion()) {
        let fifths = signs.keys.first().map_or(0, |(.., fifths, _)| *fifths);
        report.push(caution(
            "midi-key-guessed",
            format!(
                "the file states no key signature; {} was taken because it needs the fewest accidentals",
                KeySignature::of_fifths(fifths).name()
            ),
            "read the signature on the page",
        ));
    }
    if signs.keys_differ {
        report.push(caution(
            "midi-keys-differ",
            "tracks state different key signatures; those of one track were taken for all",
            "read the signatures on the page",
        ));
    }
    if scored.bars.first().is_some_and(|bar| !bar.stated) {
        report.push(caution(
            "midi-metre-assumed",
            "the file states no metre at its start; 4/4 was taken, as the standard says",
            "read the metre on the page",
        ));
    } else if scored.bars.first().is_some_and(super::bars::GridBar::is_short) {
        report.push(note(
            "midi-pickup",
            "the metre is stated anew after a short first bar, which was taken for a pickup",
            "",
        ));
    } else {
        report.push(note(
            "midi-pickup-unknown",
            "whether the piece starts with a pickup can't be told: no metre is stated anew after a short first bar, so all bars \
             were taken as full",
            "",
        ));
    }
    if signs.tempo_is_played {
        report.push(note(
            "midi-tempo-played",
            format!(
                "the tempo changes {} times, as a player moves; none was taken for a mark on the page",
                scored.take.tempos.len()
            ),
            "",
        ));
    }
    let (all, placed) = (
        signs.lyric_count(),
        facts.iter().map(|part| part.lyrics).sum::<usize>(),
    );
    if placed < all {
        report.push(caution(
            "midi-lyrics",
            format!("{} syllables fall on no note and were left out", all - placed),
            "look at the printed text",
        ));
    }
    report.push(note(
        "midi-clef-guessed",
        "clefs are not in the file: treble or bass was taken by the middle of each part's notes",
        "",
    ));
}

fn left(report: &mut Report, scored: &Scored) {
    for (what, count) in &scored.take.left {
        report.push(note(
            "midi-not-kept",
            format!("{what} are not kept ({count})"),
            "",
        ));
    }
}

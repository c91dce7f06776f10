//! How would a teacher say it? First what went well, then where it broke, the notes, time, tuning, dynamics; silence about what can't
//! be told.

use super::work::{DRIFT, said};
use super::{Followed, Heard, Touch, hundredths, intonation, reached, round};
use crate::align::{JumpKind, Was};
use crate::expected::Expected;
use notation::{BarIndex, Piece, Pitch, Quarters};

/// Below this share of the sound told apart, little is said.
pub(crate) const TOO_UNSURE: f64 = 0.45;
/// Below this share it is hardly this piece: nothing is judged.
pub(crate) const NOT_THIS_PIECE: f64 = 0.2;
/// Most single wrong notes named.
const MOST_NAMED: usize = 8;

const NOTHING: &str = "Nothing of this piece could be heard in the recording. Is it the right recording, and the right part (--part) \
                       for the right instrument (--for)?";

pub(super) fn summary(piece: &Piece, line: &[Expected], heard: &Heard) -> Vec<String> {
    let Some((first, last)) = reached(heard) else {
        return vec![NOTHING.to_owned()];
    };
    if heard.sure < NOT_THIS_PIECE {
        return vec![
            NOTHING.to_owned(),
            "The few notes that fit are listed, but say nothing of the playing.".to_owned(),
        ];
    }
    let mut lines = vec![opening(piece, heard, first, last)];
    if heard.sure < TOO_UNSURE {
        lines.push(
            "Much of the sound could not be told apart: take what follows with care, or record nearer to the player, without \
             accompaniment."
                .to_owned(),
        );
    }
    lines.extend(tempo(heard));
    lines.extend(broke(piece, heard));
    lines.extend(notes(piece, line, heard));
    lines.extend(tuning(heard));
    lines.extend(dynamics(piece, heard));
    lines.extend(touches(heard));
    lines
}

fn opening(piece: &Piece, heard: &Heard, first: BarIndex, last: BarIndex) -> String {
    let counts = &heard.counts;
    let bars = if first == last {
        format!("Bar {}", piece.label(first))
    } else {
        format!("Bars {}–{}", piece.label(first), piece.label(last))
    };
    let clean = match counts.clean_bars {
        none_or_one if counts.bars <= 1 || none_or_one == 0 => String::new(),
        all if all == counts.bars => format!(", all {all} bars clean"),
        some => format!(", {some} of {} bars clean", counts.bars),
    };
    format!(
        "{bars} heard: {} of {} notes at their pitch ({} in a hundred){clean}.",
        counts.right,
        counts.notes,
        hundredths(counts.right, counts.notes)
    )
}

/// A note value as a word, for the usual felt beats.
fn beat_name(beat: Quarters) -> String {
    let names = [
        (Quarters::new(1, 4), "16th"),
        (Quarters::new(1, 2), "eighth"),
        (Quarters::new(3, 4), "dotted eighth"),
        (Quarters::whole(1), "quarter"),
        (Quarters::new(3, 2), "dotted quarter"),
        (Quarters::whole(2), "half"),
        (Quarters::whole(3), "dotted half"),
        (Quarters::whole(4), "whole"),
    ];
    let found = names.into_iter().find(|(value, _)| *value == beat);
    found.map_or_else(|| format!("beat of {beat} quarters"), |(_, name)| name.to_owned())
}

fn tempo(heard: &Heard) -> Vec<String> {
    let tempo = &heard.tempo;
    let Some(bpm) = tempo.bpm else { return Vec::new() };
    let mut said = format!("{} = {} in the middle", beat_name(tempo.beat), round(bpm));
    if let Some(model) = tempo.model_bpm {
        said += &format!(" (the page or its usual reading: {})", round(model));
    }
    let steady = tempo.within / bpm * 100.0;
    if heard.bars.iter().filter(|bar| bar.tempo.is_some()).count() >= 6 {
        said += if steady < 3.0 {
            ", steady"
        } else if steady < 7.0 {
            ", fairly steady"
        } else {
            ", not steady from bar to bar"
        };
    }
    said.push('.');
    let mut lines = vec![capital(&said)];
    if tempo.gains.abs() >= DRIFT {
        lines.push(format!(
            "From the beginning to the end it gets {} hundredths {}.",
            round(tempo.gains.abs()),
            if tempo.gains > 0.0 { "faster" } else { "slower" }
        ));
    }
    lines
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

fn broke(piece: &Piece, heard: &Heard) -> Vec<String> {
    let mut lines = Vec::new();
    let label = |bar: BarIndex| piece.label(bar).to_owned();
    let back: Vec<String> = heard
        .restarts
        .iter()
        .filter(|restart| restart.kind == JumpKind::Back)
        .map(|restart| {
            format!(
                "in bar {}, again from bar {}",
                label(restart.from.bar),
                label(restart.to.bar)
            )
        })
        .collect();
    if !back.is_empty() {
        lines.push(format!(
            "Stopped and went back {}: {}.",
            count(back.len(), "time", "times"),
            listed(&back)
        ));
    }
    for jump in &heard.restarts {
        match jump.kind {
            JumpKind::On => lines.push(format!(
                "From bar {} it goes on at bar {}: what lies between was left out.",
                label(jump.from.bar),
                label(jump.to.bar)
            )),
            JumpKind::Page => lines.push(format!(
                "After bar {} bar {} follows: a repeat taken otherwise than written.",
                label(jump.from.bar),
                label(jump.to.bar)
            )),
            JumpKind::Back => {}
        }
    }
    let waits: Vec<String> = heard
        .hesitations
        .iter()
        .map(|wait| format!("bar {}", label(wait.place.bar)))
        .collect();
    if !waits.is_empty() {
        lines.push(format!(
            "Waited {}: {}.",
            count(waits.len(), "time", "times"),
            listed(&waits)
        ));
    }
    lines
}

fn count(count: usize, one: &str, many: &str) -> String {
    if count == 1 {
        format!("1 {one}")
    } else {
        format!("{count} {many}")
    }
}

/// The first few of a list, and how many more.
fn listed(list: &[String]) -> String {
    let mut shown: Vec<String> = list.iter().take(MOST_NAMED).cloned().collect();
    if list.len() > MOST_NAMED {
        shown.push(format!("and {} more", list.len() - MOST_NAMED));
    }
    shown.join("; ")
}

fn notes(piece: &Piece, line: &[Expected], heard: &Heard) -> Vec<String> {
    let mut lines = Vec::new();
    let place =
        |note: &super::HeardNote| format!("bar {} beat {}", piece.label(note.place.bar), beat(note.beat));
    for learned in &heard.learned {
        lines.push(format!(
            "Bar {}: {} for {} {} times: learned, not slipped.",
            piece.label(learned.place.bar),
            learned.heard.sign_natural(),
            learned
                .written
                .map_or_else(|| "the note".to_owned(), Pitch::sign_natural),
            learned.times
        ));
    }
    let is_learned = |note: &super::HeardNote| {
        heard
            .learned
            .iter()
            .any(|learned| learned.place == note.place && Some(learned.heard) == note.heard)
    };
    let certain = || {
        heard
            .notes
            .iter()
            .filter(|note| note.sure >= 0.5 && super::is_written(line, note))
    };
    let wrong: Vec<String> = certain()
        .filter(|note| note.was == Was::Wrong && !is_learned(note))
        .map(|note| {
            let pitch = |pitch: Option<Pitch>| pitch.map_or_else(|| "?".to_owned(), Pitch::sign_natural);
            format!(
                "{}, {} for {}",
                place(note),
                pitch(note.heard),
                pitch(note.written)
            )
        })
        .collect();
    if !wrong.is_empty() {
        lines.push(format!(
            "Wrong {}: {}.",
            if wrong.len() == 1 { "note" } else { "notes" },
            listed(&wrong)
        ));
    }
    let missing: Vec<String> = certain()
        .filter(|note| note.was == Was::Missing && !note.again)
        .map(|note| {
            format!(
                "{}, {}",
                place(note),
                note.written.map_or_else(|| "?".to_owned(), Pitch::sign)
            )
        })
        .collect();
    if !missing.is_empty() {
        lines.push(format!("Not heard: {}.", listed(&missing)));
    }
    let extra: Vec<String> = certain()
        .filter(|note| note.was == Was::Extra)
        .map(|note| format!("after {}", place(note)))
        .collect();
    if !extra.is_empty() {
        lines.push(format!("Notes too many: {}.", listed(&extra)));
    }
    lines
}

/// `2`, `2½`, `2.33`.
fn beat(beat: f64) -> String {
    let rounded = (beat * 100.0).round() / 100.0;
    format!("{rounded}").replace(".5", "½")
}

fn tuning(heard: &Heard) -> Vec<String> {
    let mut lines = Vec::new();
    let away = 1200.0 * (heard.a4 / 440.0).log2();
    if away.abs() >= 8.0 && !heard.intonation.is_empty() {
        lines.push(format!(
            "You play at A = {} Hz ({} cents {} 440).",
            round(heard.a4),
            round(away.abs()),
            if away > 0.0 { "above" } else { "below" }
        ));
    }
    let first = intonation::first(&heard.intonation, 3);
    if !first.is_empty() {
        let said: Vec<String> = first.iter().map(|one| said(one)).collect();
        lines.push(format!("Tuning: {}.", said.join("; ")));
    }
    lines
}

fn dynamics(piece: &Piece, heard: &Heard) -> Vec<String> {
    if heard.dynamics.is_empty() {
        return Vec::new();
    }
    let missed: Vec<String> = heard
        .dynamics
        .iter()
        .filter(|one| one.followed == Followed::No)
        .map(|one| {
            format!(
                "{} in bar {}",
                if one.asked_db > 0.0 { "louder" } else { "softer" },
                piece.label(one.place.bar)
            )
        })
        .collect();
    if missed.is_empty() {
        return vec!["The dynamics can be heard.".to_owned()];
    }
    vec![format!(
        "Of {} changes of dynamics, not heard: {}.",
        heard.dynamics.len(),
        listed(&missed)
    )]
}

fn touches(heard: &Heard) -> Vec<String> {
    heard
        .touches
        .iter()
        .filter(|touch| touch.missed >= 3 && 2 * touch.missed >= touch.count)
        .map(|touch| match touch.touch {
            Touch::Short => format!(
                "{} of {} staccato notes are held too long.",
                touch.missed, touch.count
            ),
            Touch::Slurred => format!(
                "{} of {} slurred notes break off before the next.",
                touch.missed, touch.count
            ),
        })
        .collect()
}

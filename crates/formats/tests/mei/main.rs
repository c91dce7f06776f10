//! Does the MEI reader say what stands in the file? One small file for each thing, read and said again.
//!
//! Source of what is expected: MEI Guidelines 5.0, the page of each element, unless a test names another.

#![expect(
    clippy::expect_used,
    clippy::panic,
    reason = "a test stops at the first thing that is not as it should be"
)]

mod bars;
mod basics;
mod changes;
mod coverage;
mod directions;
mod hostile;
mod marks;
mod rhythm;
mod spans;

use notation::{Event, EventKind, Finding, Head, HeadNote, Part, Piece, SpanKind};
use std::path::PathBuf;

/// The path of a fixture named `topic/issue`.
pub fn path(name: &str) -> PathBuf {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures/mei");
    root.join(format!("{name}.mei"))
}

/// The bytes of a fixture.
pub fn bytes(name: &str) -> Vec<u8> {
    std::fs::read(path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// Reads a fixture.
pub fn read(name: &str) -> (Piece, Vec<Finding>) {
    formats::read(&bytes(name), name).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// Reads a fixture that gives no findings.
pub fn clean(name: &str) -> Piece {
    let (piece, findings) = read(name);
    assert_eq!(kinds(&findings), Vec::<String>::new(), "{name}");
    piece
}

/// Each finding as `kind bar-label`.
pub fn kinds(findings: &[Finding]) -> Vec<String> {
    let say = |f: &Finding| match &f.bar_label {
        Some(label) => format!("{} {label}", f.kind),
        None => f.kind.to_owned(),
    };
    findings.iter().map(say).collect()
}

/// Each event of a part as `bar@offset what value =duration`, with what is special about it.
pub fn events(part: &Part) -> Vec<String> {
    part.events.iter().map(event).collect()
}

fn event(event: &Event) -> String {
    let what = match &event.kind {
        EventKind::Chord(heads) => heads.iter().map(head).collect::<Vec<_>>().join("+"),
        EventKind::Rest { whole_bar: true } => "bar-rest".to_owned(),
        EventKind::Rest { whole_bar: false } => "rest".to_owned(),
        EventKind::Space => "space".to_owned(),
    };
    let mut said = format!("{}@{} {what}", event.place.bar, event.place.offset);
    if let Some(written) = &event.written {
        said += &format!(
            " {}{}",
            written.value.name(),
            ".".repeat(usize::from(written.dots))
        );
        for tuplet in &written.tuplets {
            said += &format!(" {}:{}", tuplet.actual, tuplet.normal);
        }
    }
    match event.grace {
        Some(grace) => {
            said += &format!(
                " grace{}{}{}",
                grace.order,
                if grace.slash { "/" } else { "" },
                if grace.after { " after" } else { "" }
            );
        }
        None => said += &format!(" ={}", event.duration),
    }
    said
}

fn head(head: &Head) -> String {
    let name = match head.note {
        HeadNote::Pitch(pitch) => pitch.to_string(),
        HeadNote::Unpitched(Some(pitch)) => format!("x({pitch})"),
        HeadNote::Unpitched(None) => "x".to_owned(),
    };
    let tie = match (head.tie_stop, head.tie_start, head.let_ring) {
        (false, false, false) => "",
        (false, true, _) => "~",
        (true, false, _) => "^",
        (true, true, _) => "^~",
        (false, false, true) => "~)",
    };
    format!("{name}{tie}")
}

/// Each span as `kind from → to`, both as `bar@offset`.
pub fn spans(part: &Part) -> Vec<String> {
    let at = |anchor: Option<notation::Anchor>| {
        anchor.map_or("?".to_owned(), |a| format!("{}@{}", a.place.bar, a.place.offset))
    };
    let kind = |kind: &SpanKind| format!("{kind:?}");
    part.spans
        .iter()
        .map(|s| format!("{} {} → {}", kind(&s.kind), at(s.start), at(s.end)))
        .collect()
}

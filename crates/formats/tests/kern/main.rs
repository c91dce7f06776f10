//! Does the kern reader say what stands in the file? One small file for each thing, read and said again.
//!
//! Source of what is expected: Humdrum reference, `**kern`, and Humdrum user's guide, unless a test names another.

#![expect(
    clippy::expect_used,
    clippy::panic,
    reason = "a test stops at the first thing that is not as it should be"
)]

mod bars;
mod basics;
mod beside;
mod coverage;
mod hostile;
mod notes;
mod same;
mod sections;
mod signs;
mod spines;
mod tandem;

use notation::{Event, EventKind, Finding, Head, HeadNote, Part, Piece, SpanKind};
use std::path::PathBuf;

/// The path of a fixture named `topic/issue`.
pub fn path(name: &str) -> PathBuf {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures/kern");
    root.join(format!("{name}.krn"))
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
    if event.cue {
        said += " cue";
    }
    if !event.printed {
        said += " hidden";
    }
    said
}

fn head(head: &Head) -> String {
    let name = match head.note {
        HeadNote::Pitch(pitch) => pitch.to_string(),
        HeadNote::Unpitched(Some(pitch)) => format!("x({pitch})"),
        HeadNote::Unpitched(None) => "x".to_owned(),
    };
    let tie = match (head.tie_stop, head.tie_start) {
        (false, false) => "",
        (false, true) => "~",
        (true, false) => "^",
        (true, true) => "^~",
    };
    format!("{name}{tie}")
}

/// The printed accidental of each head: its sign, with `?` for a courtesy, `!` for an editor's, in parentheses if so drawn.
pub fn accidentals(part: &Part) -> Vec<String> {
    let heads = part.events.iter().flat_map(Event::heads);
    let say = |head: &Head| match &head.accidental {
        None => "-".to_owned(),
        Some(sign) => {
            let marks = [(sign.cautionary, "?"), (sign.editorial, "!")];
            let marks: String = marks
                .iter()
                .filter(|(is, _)| *is)
                .map(|(_, mark)| *mark)
                .collect();
            let said = format!("{}{marks}", sign.sign);
            if sign.parentheses {
                format!("({said})")
            } else {
                said
            }
        }
    };
    heads.map(say).collect()
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

/// Each direction as `bar@offset kind`.
pub fn directions(part: &Part) -> Vec<String> {
    let say = |d: &notation::Direction| {
        let side = d.side.map_or(String::new(), |side| format!(" {side:?}"));
        let hidden = if d.printed { "" } else { " hidden" };
        format!("{}@{} {:?}{side}{hidden}", d.place.bar, d.place.offset, d.kind)
    };
    part.directions.iter().map(say).collect()
}

/// Each bar line that says something as `part bar side style repeat ending`.
pub fn bar_lines(piece: &Piece) -> Vec<String> {
    let say = |line: &notation::Barline| {
        let mut said = format!("{} {} {:?}", line.part, line.place.bar, line.side);
        if let Some(style) = &line.style {
            said += &format!(" {style}");
        }
        if let Some(repeat) = &line.repeat {
            said += if repeat.forward { " |:" } else { " :|" };
        }
        if let Some(ending) = &line.ending {
            said += &format!(" [{} {:?}", ending.number, ending.kind);
        }
        if !line.fermatas.is_empty() {
            said += " fermata";
        }
        said
    };
    piece.barlines.iter().map(say).collect()
}

//! Does the ABC reader say what stands in the tune? One small tune for each thing, read and said again.
//!
//! Source of what is expected: The ABC music standard 2.1, the section that a test names.

#![expect(
    clippy::expect_used,
    clippy::panic,
    reason = "a test stops at the first thing that is not as it should be"
)]

mod bars;
mod books;
mod coverage;
mod fields;
mod hostile;
mod marks;
mod notes;
mod voices;
mod words;

use notation::{
    Articulation, BarSide, Direction, DirectionKind, Event, EventKind, Finding, Head, HeadNote,
    MetronomeValue, Part, Piece,
};
use std::path::PathBuf;

/// The text of a fixture named `topic/issue`.
pub fn text(name: &str) -> String {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(format!("fixtures/abc/{name}.abc"));
    std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// Reads a text.
pub fn read_text(text: &str) -> (Piece, Vec<Finding>) {
    formats::read(text.as_bytes(), "test").unwrap_or_else(|error| panic!("{text}: {error}"))
}

/// Reads a fixture.
pub fn read(name: &str) -> (Piece, Vec<Finding>) {
    read_text(&text(name))
}

/// Reads a fixture in which nothing is worse than a note.
pub fn clean(name: &str) -> Piece {
    let (piece, findings) = read(name);
    let worse: Vec<&Finding> = findings
        .iter()
        .filter(|f| f.severity > notation::Severity::Note)
        .collect();
    assert!(worse.is_empty(), "{name}: {worse:#?}");
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

/// Each bar of a part on a line of its own: what sounds, with value, ties, grace and tuplets.
pub fn bars(part: &Part) -> Vec<String> {
    part.events
        .chunk_by(|a, b| a.place.bar == b.place.bar)
        .map(|bar| bar.iter().map(event).collect::<Vec<_>>().join(" "))
        .collect()
}

/// `C4/q` and the like: value letters as in the page model's sketches, dots, tuplets after a colon.
pub fn event(event: &Event) -> String {
    let what = match &event.kind {
        EventKind::Chord(heads) => heads.iter().map(head).collect::<Vec<_>>().join("+"),
        EventKind::Rest { whole_bar: true } => "R".to_owned(),
        EventKind::Rest { whole_bar: false } => "r".to_owned(),
        EventKind::Space => "space".to_owned(),
    };
    let mut said = match event.grace {
        Some(grace) => format!(
            "{}{}{what}",
            if grace.after { "after" } else { "g" },
            if grace.slash { "/" } else { "" }
        ),
        None => what,
    };
    if event.voice > 0 {
        said = format!("{}:{said}", event.voice);
    }
    match &event.written {
        Some(written) => {
            said += &format!(
                "/{}{}",
                written.value.name(),
                ".".repeat(usize::from(written.dots))
            );
            for tuplet in &written.tuplets {
                said += &format!(":{}:{}", tuplet.actual, tuplet.normal);
            }
            if event.grace.is_none() {
                assert_eq!(written.quarters(), event.duration, "{said}");
            }
        }
        None => said += &format!("={}", event.duration),
    }
    if !event.printed {
        said += "?";
    }
    said
}

fn head(head: &Head) -> String {
    let name = match head.note {
        HeadNote::Pitch(pitch) => pitch.to_string(),
        HeadNote::Unpitched(_) => "x".to_owned(),
    };
    let sign = head
        .accidental
        .as_ref()
        .map_or(String::new(), |sign| format!("({})", sign.sign));
    let tie = match (head.tie_stop, head.tie_start) {
        (false, false) => "",
        (false, true) => "~",
        (true, false) => "^",
        (true, true) => "^~",
    };
    format!("{sign}{name}{tie}")
}

/// Each span as `kind from → to`, both as `bar@offset`.
pub fn spans(part: &Part) -> Vec<String> {
    let at = |anchor: Option<notation::Anchor>| {
        anchor.map_or("?".to_owned(), |a| format!("{}@{}", a.place.bar, a.place.offset))
    };
    part.spans
        .iter()
        .map(|s| format!("{:?} {} → {}", s.kind, at(s.start), at(s.end)))
        .collect()
}

/// Each bar line as `bar side style repeat ending`.
pub fn barlines(piece: &Piece) -> Vec<String> {
    let say = |line: &notation::Barline| {
        let side = match line.side {
            BarSide::Left => "left",
            BarSide::Middle => "middle",
            BarSide::Right => "right",
        };
        let mut said = format!(
            "{} {side} {}",
            line.place.bar,
            line.style.as_deref().unwrap_or("-")
        );
        if let Some(repeat) = &line.repeat {
            said += if repeat.forward { " |:" } else { " :|" };
            if let Some(times) = repeat.times {
                said += &format!("x{times}");
            }
        }
        if let Some(ending) = &line.ending {
            said += &format!(" [{}{} {:?}", ending.number, ending.text, ending.kind);
        }
        if !line.fermatas.is_empty() {
            said += " fermata";
        }
        said
    };
    piece.barlines.iter().map(say).collect()
}

/// Each direction as `bar@offset what`.
pub fn directions(part: &Part) -> Vec<String> {
    part.directions.iter().map(direction).collect()
}

fn direction(direction: &Direction) -> String {
    let side = match direction.side {
        Some(notation::Side::Above) => "^",
        Some(notation::Side::Below) => "_",
        None => "",
    };
    let what = match &direction.kind {
        DirectionKind::Words(text) => format!("“{text}”"),
        DirectionKind::Dynamic(mark) => mark.clone(),
        DirectionKind::Metronome(mark) => {
            let value = match &mark.value {
                MetronomeValue::PerMinute(value) => value.clone(),
                MetronomeValue::Equals(..) => "=".to_owned(),
            };
            format!(
                "{}{}={value}",
                mark.beat.name(),
                ".".repeat(usize::from(mark.dots))
            )
        }
        DirectionKind::Rehearsal(text) => format!("[{text}]"),
        DirectionKind::Segno => "segno".to_owned(),
        DirectionKind::Coda => "coda".to_owned(),
        DirectionKind::Sign { name, text } => format!("{name}:{text}"),
    };
    format!("{}@{} {side}{what}", direction.place.bar, direction.place.offset)
}

/// Each bar's label, in brackets if it is not counted.
pub fn labels(piece: &Piece) -> Vec<String> {
    let say = |bar: &notation::Bar| {
        if bar.implicit {
            format!("({})", bar.label)
        } else {
            bar.label.clone()
        }
    };
    piece.bars.iter().map(say).collect()
}

/// What stands at each note of a part beside its pitch.
pub fn marks(part: &Part) -> Vec<String> {
    part.events.iter().map(marks_of).collect()
}

fn marks_of(event: &Event) -> String {
    let mut said: Vec<String> = event
        .articulations
        .iter()
        .map(|Articulation { kind, .. }| kind.mark().to_owned())
        .collect();
    said.extend(
        event
            .ornaments
            .iter()
            .map(|ornament| ornament.kind.mark().to_owned()),
    );
    said.extend(event.technical.iter().map(|mark| mark.name.clone()));
    for head in event.heads() {
        said.extend(
            head.technical
                .iter()
                .map(|mark| format!("{} {}", mark.name, mark.text)),
        );
    }
    said.extend(
        event
            .fermatas
            .iter()
            .map(|f| if f.inverted { "fermata below" } else { "fermata" }.to_owned()),
    );
    if let Some(arpeggio) = &event.arpeggio {
        said.push(format!("arpeggio{arpeggio}"));
    }
    said.join(", ")
}

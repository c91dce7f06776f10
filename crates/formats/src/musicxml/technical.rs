//! How is it played by hand? Fingerings, strings, bowings and other technical marks; chord names and figures as text.

use super::note::mark_side;
use super::part::PartReader;
use super::spans::{Family, MarkKind, number};
use crate::report::Why;
use crate::xml::El;
use notation::{EventKind, SpanKind, Technical};

/// Marks that belong to one head of a chord rather than to the whole of it.
const OF_HEAD: [&str; 11] = [
    "fingering",
    "string",
    "fret",
    "pluck",
    "harmonic",
    "open-string",
    "thumb-position",
    "bend",
    "hole",
    "arrow",
    "fingernails",
];

/// The other technical marks of MusicXML 4.0.
const OF_EVENT: [&str; 20] = [
    "up-bow",
    "down-bow",
    "double-tongue",
    "triple-tongue",
    "stopped",
    "snap-pizzicato",
    "pull-off",
    "tap",
    "heel",
    "toe",
    "handbell",
    "brass-bend",
    "flip",
    "smear",
    "open",
    "half-muted",
    "harmon-mute",
    "golpe",
    "other-technical",
    "hammer-on",
];

impl PartReader<'_> {
    pub(super) fn technical(&mut self, mark: El<'_, '_>, event: usize, head: usize) {
        let name = mark.name();
        if !OF_HEAD.contains(&name) && !OF_EVENT.contains(&name) {
            return self.unread(name, "technical", Why::Unknown);
        }
        let family = match name {
            "hammer-on" => Some(Family::HammerOn),
            "pull-off" => Some(Family::PullOff),
            _ => None,
        };
        if let Some(family) = family {
            let kind = match mark.attr("type") {
                Some("start") => MarkKind::Start(SpanKind::Other(name.to_owned())),
                Some("stop") => MarkKind::Stop,
                _ => {
                    self.unread("@type", name, Why::Unknown);
                    return;
                }
            };
            self.event_mark(mark, family, number(mark), kind, event);
            return;
        }
        let technical = Technical {
            name: name.chars().take(40).collect(),
            text: text_of(mark),
            side: mark_side(mark),
        };
        let Some(event) = self.part.events.get_mut(event) else {
            return;
        };
        if event.technical.len() >= super::notations::MOST_MARKS {
            return self.unread(name, "technical", Why::NoPlace);
        }
        if OF_HEAD.contains(&name)
            && let EventKind::Chord(heads) = &mut event.kind
            && let Some(head) = heads.get_mut(head)
        {
            head.technical.push(technical);
        } else if head == 0 || !event.technical.contains(&technical) {
            event.technical.push(technical);
        }
    }
}

/// What stands in a technical mark, as text.
fn text_of(mark: El<'_, '_>) -> String {
    let text = mark.text();
    match mark.name() {
        // 4-3: the finger is changed while the note sounds; (3): another way to finger it.
        "fingering" if mark.yes("substitution") => format!("-{text}"),
        "fingering" if mark.yes("alternate") => format!("({text})"),
        "harmonic" => children_names(mark),
        "bend" => bend_text(mark),
        "hole" | "harmon-mute" => closed_text(mark),
        "arrow" => child_texts(mark),
        "other-technical" => super::notations::text_or_smufl(mark),
        _ => text.chars().take(200).collect(),
    }
}

fn children_names(mark: El<'_, '_>) -> String {
    mark.children().map(El::name).collect::<Vec<_>>().join(", ")
}

fn child_texts(mark: El<'_, '_>) -> String {
    let texts = mark.children().map(|child| {
        if child.text().is_empty() {
            child.name()
        } else {
            child.text()
        }
    });
    texts.collect::<Vec<_>>().join(" ")
}

fn bend_text(mark: El<'_, '_>) -> String {
    let says = mark.children().map(|child| match child.name() {
        "bend-alter" => child.text().to_owned(),
        "with-bar" if !child.text().is_empty() => format!("with-bar {}", child.text()),
        other => other.to_owned(),
    });
    says.collect::<Vec<_>>().join(", ")
}

fn closed_text(mark: El<'_, '_>) -> String {
    let says = mark.children().map(|child| match child.attr("location") {
        Some(location) => format!("{} ({location})", child.text()),
        None => child.text().to_owned(),
    });
    says.filter(|text| !text.is_empty()).collect::<Vec<_>>().join(" ")
}

/// A string's tuning: `E2`.
pub(super) fn tuning_text(el: El<'_, '_>) -> String {
    let alter = el
        .child_text("tuning-alter")
        .and_then(notation::Rational::parse)
        .unwrap_or_default();
    let step = el.child_text("tuning-step").unwrap_or_default();
    let octave = el.child_text("tuning-octave").unwrap_or_default();
    format!("{step}{}{octave}", notation::alter_ascii(alter))
}

/// A letter with its alteration: `Bb`.
fn letter(el: El<'_, '_>, name: &str) -> Option<String> {
    let step = el.child_text(&format!("{name}-step"))?;
    let alter = el
        .child_text(&format!("{name}-alter"))
        .and_then(notation::Rational::parse)
        .unwrap_or_default();
    Some(format!("{step}{}", notation::alter_ascii(alter)))
}

/// A chord name as it is printed: `Bbmaj7/D`, `F#m7b5`.
/// Source: MusicXML 4.0, kind-value; the short forms are common practice.
pub(super) fn harmony_text(el: El<'_, '_>) -> String {
    let mut text = String::new();
    for child in el.children() {
        match child.name() {
            "root" => {
                separate(&mut text);
                text.push_str(&letter(child, "root").unwrap_or_default());
            }
            "numeral" => {
                separate(&mut text);
                text.push_str(child.child_text("numeral-root").unwrap_or_default());
            }
            "function" => {
                separate(&mut text);
                text.push_str(child.text());
            }
            "kind" => match child.attr("text") {
                Some(printed) => text.push_str(printed),
                None => text.push_str(kind_text(child.text())),
            },
            "inversion" => text.push_str(&format!(" inversion {}", child.text())),
            "bass" => {
                text.push('/');
                text.push_str(&letter(child, "bass").unwrap_or_default());
            }
            "degree" => text.push_str(&degree_text(child)),
            _ => {}
        }
    }
    text
}

fn separate(text: &mut String) {
    if !text.is_empty() {
        text.push('|');
    }
}

fn degree_text(el: El<'_, '_>) -> String {
    let value = el.child_text("degree-value").unwrap_or_default();
    let alter = el
        .child_text("degree-alter")
        .and_then(notation::Rational::parse)
        .unwrap_or_default();
    let word = match el.child_text("degree-type") {
        Some("subtract") => "no",
        Some("add") => "add",
        _ => "",
    };
    format!("({word}{}{value})", notation::alter_ascii(alter))
}

fn kind_text(kind: &str) -> &str {
    match kind {
        "major" => "",
        "minor" => "m",
        "augmented" => "+",
        "diminished" => "dim",
        "dominant" => "7",
        "major-seventh" => "maj7",
        "minor-seventh" => "m7",
        "diminished-seventh" => "dim7",
        "augmented-seventh" => "+7",
        "half-diminished" => "m7b5",
        "major-minor" => "m(maj7)",
        "major-sixth" => "6",
        "minor-sixth" => "m6",
        "dominant-ninth" => "9",
        "major-ninth" => "maj9",
        "minor-ninth" => "m9",
        "dominant-11th" => "11",
        "major-11th" => "maj11",
        "minor-11th" => "m11",
        "dominant-13th" => "13",
        "major-13th" => "maj13",
        "minor-13th" => "m13",
        "suspended-second" => "sus2",
        "suspended-fourth" => "sus4",
        "power" => "5",
        "none" => "N.C.",
        other => other,
    }
}

/// Figures of a bass from top to bottom: `6 4`, `#6`.
pub(super) fn figures_text(el: El<'_, '_>) -> String {
    let sign = |name: Option<&str>| match name.unwrap_or_default() {
        "sharp" => "#",
        "flat" => "b",
        "natural" => "n",
        "double-sharp" | "sharp-sharp" => "##",
        "flat-flat" => "bb",
        "slash" | "backslash" | "cross" => "+",
        _ => "",
    };
    let figures = el
        .children()
        .filter(|child| child.name() == "figure")
        .map(|figure| {
            let number = figure.child_text("figure-number").unwrap_or_default();
            format!(
                "{}{number}{}",
                sign(figure.child_text("prefix")),
                sign(figure.child_text("suffix"))
            )
        });
    figures.collect::<Vec<_>>().join(" ")
}

//! How does a Piece become an MEI 5 score? Every element carries our id as its `xml:id`; the same piece gives the same bytes.
//!
//! What an id becomes: a bar is its `measure`, a chord its `chord` with a `note` for each head; a note of one head is one
//! `note` with the event's id, whose `type` also holds the head's (`<note xml:id="e12" type="h13">`). Directions, spans and
//! changes are the elements that say them. A bar line at the edge of a bar is an attribute of its `measure` in MEI; its id is
//! on the `ending` that starts there, if one does. What MEI needs and we have not gets an id made from ours (`e12-fermata1`).
//!
//! What the page model holds beyond MEI is kept as words of `type`, so that reading gives the same page; what is not kept
//! is a finding. Pitches are as drawn (`oct`), an ottava's effect is in `oct.ges`.
//!
//! Source: Music Encoding Initiative Guidelines 5.0, <https://music-encoding.org/guidelines/v5/content/>.

mod bars;
mod beams;
mod defs;
mod directions;
mod engraving;
mod heading;
mod layer;
mod marks;
mod names;
mod nest;
mod note;
mod plan;
mod sections;
mod signature;
mod spans;
mod ties;
mod time;
mod xml;

pub use engraving::{Engraving, WordSetting, WordStyle};
pub(super) use note::is_of_head;

use crate::report::{Here, Report};
use notation::{Finding, Id, Piece, Place, Severity};
use plan::PartPlan;
use std::collections::{BTreeMap, BTreeSet};

/// What to write, and how.
#[derive(Clone, Debug, Default)]
pub struct MeiOptions {
    /// Only this part, by its place in the score.
    pub part: Option<usize>,
    /// Rests of several bars and measure repeats as the page has them: one sign, and of a rest's bars only the first is
    /// written. Otherwise every bar is written out, with all that it holds.
    pub bar_signs: bool,
    /// Written to be engraved rather than to be read back.
    pub engraving: Option<Engraving>,
}

/// Writes a piece as an MEI 5 score, with findings about what MEI has no place for.
#[must_use]
pub fn write(piece: &Piece, options: &MeiOptions) -> (String, Vec<Finding>) {
    let mut writer = Writer::new(piece, options);
    let mut out = String::with_capacity(writer.parts.iter().map(|plan| plan.part.events.len() * 160).sum());
    out.push_str("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    let root = xml::Node::new("mei")
        .attr("xmlns", "http://www.music-encoding.org/ns/mei")
        .attr("meiversion", "5.0");
    root.write_start(&mut out, 0);
    heading::heading(piece).write(&mut out, 1);
    for name in ["music", "body", "mdiv", "score"] {
        xml::Node::new(name).write_start(&mut out, 1);
    }
    writer.score(&mut out);
    for name in ["score", "mdiv", "body", "music"] {
        xml::Node::write_end(name, &mut out, 1);
    }
    xml::Node::write_end("mei", &mut out, 0);
    (out, writer.report.finish())
}

/// A piece on its way to MEI.
struct Writer<'p> {
    piece: &'p Piece,
    options: &'p MeiOptions,
    parts: Vec<PartPlan<'p>>,
    report: Report,
    /// Parts of a quarter note that every length is a whole number of; 0 if no length has to be said beside its print.
    ppq: i64,
    /// Events and heads that are written, for those who point at them.
    written: BTreeSet<Id>,
    /// Heads that are the only one of their event: the event's id, under which both are written.
    alone: BTreeMap<Id, Id>,
    /// Spans that became elements of a layer.
    used: BTreeSet<Id>,
}

impl<'p> Writer<'p> {
    fn new(piece: &'p Piece, options: &'p MeiOptions) -> Self {
        let parts = plan::parts(piece, options.part);
        let mut writer = Self {
            piece,
            options,
            parts,
            report: Report::default(),
            ppq: 0,
            written: BTreeSet::new(),
            alone: BTreeMap::new(),
            used: BTreeSet::new(),
        };
        writer.alone = writer
            .parts
            .iter()
            .flat_map(|plan| plan::alone(plan.part))
            .collect();
        writer.ppq = plan::ppq(piece, &writer.parts);
        writer.written = writer
            .parts
            .iter()
            .flat_map(|plan| &plan.part.events)
            .flat_map(|event| std::iter::once(event.id).chain(event.heads().iter().map(|head| head.id)))
            .collect();
        writer
    }

    /// Says that something on the page is not, or not so, in the MEI.
    fn find(
        &mut self,
        severity: Severity,
        kind: &'static str,
        part: usize,
        place: Place,
        what: impl Into<String>,
        advice: &str,
    ) {
        let here = Here {
            part: self.parts.get(part).map(|plan| plan.name.clone()),
            bar: Some((place.bar, self.piece.label(place.bar).to_owned())),
            offset: place.offset,
        };
        self.report
            .push(here.put(Finding::new(severity, kind, what, advice)));
    }

    /// Something that MEI has no word for.
    fn lost(&mut self, part: usize, place: Place, what: impl Into<String>) {
        self.find(
            Severity::Caution,
            "not-in-mei",
            part,
            place,
            what,
            "look at this place on the engraved page",
        );
    }

    /// A length that the print does not say, in parts of a quarter note.
    fn ticks(&self, length: notation::Quarters) -> Option<i64> {
        let ticks = length * notation::Rational::whole(self.ppq);
        (self.ppq > 0 && ticks.is_whole() && !ticks.is_negative()).then(|| ticks.num())
    }

    /// How an event or head is pointed at; `None` if it is not written.
    fn pointer(&self, id: Id) -> Option<String> {
        self.written
            .contains(&id)
            .then(|| format!("#{}", self.alone.get(&id).copied().unwrap_or(id)))
    }
}

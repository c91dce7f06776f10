//! How is the part barred? Bar labels, bar lines, repeats and endings, breaks, and what each bar holds.

use super::part::PartReader;
use crate::assemble::{self, PartBar};
use crate::report::Why;
use crate::xml::El;
use notation::{
    BarGroup, BarGroupKind, BarIndex, BarSide, Barline, Ending, EndingKind, Fermata, IdKind, Origin, Place,
    Quarters, Repeat, Severity,
};

/// The bar's printed label: its text, else its number, else its place in the file.
pub(super) fn label(measure: El<'_, '_>, index: usize) -> String {
    let text = measure.attr("text").filter(|text| !text.is_empty());
    let number = measure.attr("number").filter(|number| !number.is_empty());
    text.or(number).map_or_else(
        || (index + 1).to_string(),
        |label| label.chars().take(40).collect(),
    )
}

impl PartReader<'_> {
    pub(super) fn begin_bar(&mut self, index: usize, measure: El<'_, '_>) {
        self.bar = BarIndex::from_usize(index);
        // A bar that this part leaves out (timewise) still counts.
        while self.facts.len() < index {
            self.facts.push(PartBar {
                metre: self.metre,
                ..PartBar::default()
            });
            self.elapsed_before = self.elapsed;
            self.elapsed += self.metre.unwrap_or_default();
        }
        let new = index >= self.score.piece.bars.len();
        let label = label(measure, index);
        let implicit = measure.yes("implicit");
        let bar = self.score.bar_mut(index);
        bar.implicit |= implicit;
        if new {
            let id = bar.id;
            bar.label = label;
            let origin = Origin {
                range: Some(measure.range()),
                foreign_id: measure.attr("id").map(str::to_owned),
                ..Origin::default()
            };
            self.score.piece.provenance.origins.insert(id, origin);
        } else if bar.label != label {
            let first = bar.label.clone();
            self.cursor = Quarters::ZERO;
            self.find(
                Severity::Note,
                "bar-labels-differ",
                format!("this bar is labelled “{label}” here but “{first}” in the first part; the first part's label is used"),
                "",
            );
        }
        self.cursor = Quarters::ZERO;
        self.raw = Quarters::ZERO;
        self.end = Quarters::ZERO;
        self.last = None;
        self.rounded.clear();
        self.whole_rest = None;
        self.first_event = self.part.events.len();
        self.after_jump = std::mem::take(&mut self.before_jump);
        for voice in &mut self.voices {
            voice.filled.clear();
            voice.overlap = false;
            voice.graces = 0;
            (voice.reach, voice.gap) = (Quarters::ZERO, false);
        }
        self.facts.push(PartBar::default());
    }

    pub(super) fn end_bar(&mut self) {
        assemble::mark_after_graces(&mut self.part, self.first_event);
        assemble::mark_lone_rests(&mut self.part, self.first_event, self.metre);
        let content = self.end;
        if let Some(facts) = self.facts.last_mut() {
            facts.content = content;
            facts.metre = self.metre;
            facts.whole_rest = self.whole_rest;
        }
        let bar = self.bar;
        for voice in self.voices.iter_mut().filter(|voice| voice.reach.is_positive()) {
            if voice.gap || voice.reach < content {
                voice.incomplete += 1;
                voice.first_incomplete.get_or_insert(bar);
            }
        }
        let length = if content.is_positive() {
            content
        } else {
            self.metre.unwrap_or(Quarters::ZERO)
        };
        self.pair_ties(self.elapsed + length);
        self.pair_spans();
        self.elapsed_before = self.elapsed;
        self.elapsed += length;
        if let Some(metre) = self.next_metre.take() {
            self.metre = metre;
        }
    }

    pub(super) fn print(&mut self, el: El<'_, '_>) {
        let bar = self.bar.get();
        let bar = self.score.bar_mut(bar);
        bar.new_system |= el.yes("new-system");
        bar.new_page |= el.yes("new-page");
        for child in el.children() {
            match child.name() {
                // Distances on the page, and how bars and parts are shown from here on.
                "page-layout"
                | "system-layout"
                | "staff-layout"
                | "measure-layout"
                | "measure-numbering"
                | "part-name-display"
                | "part-abbreviation-display" => {}
                other => self.unread(other, "print", Why::Unknown),
            }
        }
    }

    pub(super) fn barline(&mut self, el: El<'_, '_>) {
        let side = match el.attr("location") {
            Some("left") => BarSide::Left,
            Some("middle") => BarSide::Middle,
            _ => BarSide::Right,
        };
        let offset = match side {
            BarSide::Left => Quarters::ZERO,
            BarSide::Middle => self.cursor,
            // Brought to the bar's real end when all parts are read.
            BarSide::Right => self.end.max(self.cursor),
        };
        let mut line = Barline {
            id: self.id(IdKind::Barline, el),
            part: self.number,
            place: Place {
                bar: self.bar,
                offset,
            },
            side,
            style: None,
            repeat: None,
            ending: None,
            fermatas: Vec::new(),
            segno: el.attr("segno").map(str::to_owned),
            coda: el.attr("coda").map(str::to_owned),
        };
        for child in el.children() {
            match child.name() {
                "bar-style" => {
                    line.style = Some(child.text())
                        .filter(|s| *s != "regular" && !s.is_empty())
                        .map(str::to_owned)
                }
                "repeat" => line.repeat = self.repeat(child),
                "ending" => line.ending = self.ending(child),
                "fermata" => line.fermatas.push(fermata(child)),
                "segno" => line.segno = Some(line.segno.take().unwrap_or_default()),
                "coda" => line.coda = Some(line.coda.take().unwrap_or_default()),
                "wavy-line" => self.wavy_line(
                    child,
                    Place {
                        bar: self.bar,
                        offset,
                    },
                    None,
                ),
                "footnote" => self.footnote(child),
                "level" => self.unread("level", "barline", Why::NoPlace),
                other => self.unread(other, "barline", Why::Unknown),
            }
        }
        self.note_jumps(&line);
        let says = line.style.is_some()
            || line.repeat.is_some()
            || line.ending.is_some()
            || !line.fermatas.is_empty()
            || line.segno.is_some()
            || line.coda.is_some();
        if says {
            self.score.taken += 1;
            self.score.piece.barlines.push(line);
        }
    }

    fn note_jumps(&mut self, line: &Barline) {
        let repeats_back = line.repeat.as_ref().is_some_and(|repeat| !repeat.forward);
        let bracket = line
            .ending
            .as_ref()
            .map(|ending| ending.kind == EndingKind::Start);
        if line.side == BarSide::Left {
            self.after_jump |=
                bracket == Some(true) || line.repeat.as_ref().is_some_and(|repeat| repeat.forward);
        } else {
            self.before_jump |= repeats_back || bracket == Some(false);
        }
        let heavy = line
            .style
            .as_deref()
            .is_some_and(|style| style.contains("light") || style.contains("heavy"));
        if let Some(facts) = self.facts.last_mut()
            && line.side != BarSide::Left
        {
            facts.section_end |= repeats_back || heavy;
        }
    }

    fn repeat(&mut self, el: El<'_, '_>) -> Option<Repeat> {
        let forward = match el.attr("direction") {
            Some("forward") => true,
            Some("backward") => false,
            _ => {
                self.caution(
                    "repeat-unclear",
                    "a repeat sign does not say whether it starts or ends a passage; it was left out",
                    "look at the bar line on the page",
                );
                return None;
            }
        };
        let times = el.attr("times").and_then(|text| {
            let times = text.parse().ok();
            if times.is_none() {
                self.caution(
                    "repeat-unclear",
                    format!("a repeat is to be played “{text}” times"),
                    "count it as twice",
                );
            }
            times
        });
        let after_jump = el.attr("after-jump").map(|text| text == "yes");
        Some(Repeat {
            forward,
            times,
            after_jump,
        })
    }

    fn ending(&mut self, el: El<'_, '_>) -> Option<Ending> {
        let kind = match el.attr("type") {
            Some("start") => EndingKind::Start,
            Some("stop") => EndingKind::Stop,
            Some("discontinue") => EndingKind::Discontinue,
            _ => {
                self.caution(
                    "ending-unclear",
                    "a bracket over bars does not say whether it starts or ends; it was left out",
                    "look at the brackets over these bars on the page",
                );
                return None;
            }
        };
        Some(Ending {
            number: el.attr("number").unwrap_or_default().to_owned(),
            text: el.text().to_owned(),
            kind,
        })
    }

    /// Multi-bar rests, measure repeats, slashes: things drawn over whole bars.
    pub(super) fn measure_style(&mut self, el: El<'_, '_>) {
        for child in el.children() {
            let name = child.name();
            match name {
                "multiple-rest" => {
                    let bars = child.text().parse().ok().filter(|n| *n > 0);
                    if bars.is_none() {
                        self.caution(
                            "multi-rest-unclear",
                            format!(
                                "a rest of several bars says “{}” instead of a number",
                                child.text()
                            ),
                            "count the bars on the page",
                        );
                    }
                    self.bar_group(BarGroupKind::MultiRest, bars.unwrap_or(1));
                }
                "measure-repeat" | "beat-repeat" | "slash" => {
                    let kind = if name == "measure-repeat" {
                        let pattern = child.text().parse().ok().filter(|n| *n > 0).unwrap_or(1);
                        BarGroupKind::MeasureRepeat { pattern }
                    } else {
                        BarGroupKind::Other(name.to_owned())
                    };
                    if child.attr("type") == Some("stop") {
                        self.close_group(&kind);
                    } else {
                        self.close_group(&kind);
                        // Open until a stop is met; till then to the end of the part.
                        self.bar_group(kind, u32::MAX);
                    }
                }
                other => self.unread(other, "measure-style", Why::Unknown),
            }
        }
    }

    fn bar_group(&mut self, kind: BarGroupKind, bars: u32) {
        let id = self.score.piece.ids.give(IdKind::Span);
        self.part.bar_groups.push(BarGroup {
            id,
            start: self.bar,
            bars,
            kind,
        });
    }

    /// Closes the open group of a kind before this bar, or with it if the stop stands after the bar's start.
    fn close_group(&mut self, kind: &BarGroupKind) {
        let past = u32::from(self.cursor.is_positive());
        let bar = self.bar.0;
        let open = self.part.bar_groups.iter_mut().rev().take(100).find(|group| {
            group.bars == u32::MAX && std::mem::discriminant(&group.kind) == std::mem::discriminant(kind)
        });
        if let Some(group) = open {
            group.bars = (bar + past).saturating_sub(group.start.0).max(1);
        }
    }

    /// A footnote is printed text.
    pub(super) fn footnote(&mut self, el: El<'_, '_>) {
        if !el.text().is_empty() {
            self.add_sign(el, "footnote", el.text().to_owned(), true);
        }
    }

    pub(super) fn harmony(&mut self, el: El<'_, '_>) {
        let text = super::technical::harmony_text(el);
        let before = self.cursor;
        self.cursor = self.offset_of(el);
        self.add_sign(el, "harmony", text, !el.no("print-object"));
        self.cursor = before;
    }

    pub(super) fn figured_bass(&mut self, el: El<'_, '_>) {
        let text = super::technical::figures_text(el);
        self.add_sign(el, "figured-bass", text, !el.no("print-object"));
    }

    /// The cursor moved by the element's `<offset>`, not before the bar.
    pub(super) fn offset_of(&mut self, el: El<'_, '_>) -> Quarters {
        let Some(offset) = el.child_text("offset").and_then(notation::Rational::parse) else {
            return self.cursor;
        };
        let moved = self.cursor + self.in_quarters(offset);
        if moved.is_overflow() {
            self.cursor
        } else {
            moved.max(Quarters::ZERO)
        }
    }
}

/// A fermata: its shape and whether it hangs below.
pub(super) fn fermata(el: El<'_, '_>) -> Fermata {
    let shape = el.text();
    Fermata {
        shape: if shape == "normal" {
            String::new()
        } else {
            shape.to_owned()
        },
        inverted: el.attr("type") == Some("inverted"),
    }
}

//! What does a bar line do? It ends a bar, opens or closes a repeat, ends a bracket; endings start after one.
//!
//! Source: ABC 2.1, sections 4.8 (bar symbols) to 4.10 (variant endings).

use super::decorations::{Family, Mark};
use super::marks::{fermata, is_sign};
use super::reader::Reader;
use super::tokens::Bar;
use crate::assemble::{self, PartBar};
use notation::{
    Anchor, BarIndex, BarSide, Barline, DirectionKind, Ending, EndingKind, IdKind, Place, Quarters, Repeat,
    Severity,
};

impl Reader {
    pub(super) fn bar_line(&mut self, bar: &Bar<'_>) {
        self.close_groups("a bar line");
        self.flush_beam();
        self.voice().full_at_line_end = false;
        let style = style_of(bar);
        if bar.text.starts_with('.') && bar.ends == 0 && bar.starts == 0 && self.inside_bar() {
            return self.editorial_line();
        }
        if bar.ends > 0 && !bar.then_ending {
            self.close_long_ending();
        }
        // A segno at a bar line is where the bar after it begins.
        let before = self.voice().marks.len();
        self.voice()
            .marks
            .retain(|mark| *mark != Mark::Direction(DirectionKind::Segno));
        let segno = self.voice().marks.len() < before;
        let fermatas = self.marks_at_bar_line();
        let ends_section =
            bar.ends > 0 || bar.starts > 0 || style.is_some_and(|style| style.contains("light"));
        if self.voice().has_content {
            let this = self.voice().bar;
            if bar.ends > 0 || style.is_some_and(|_| bar.starts == 0) || !fermatas.is_empty() {
                self.right_line(this, bar, style, fermatas);
            }
            if ends_section {
                self.stop_ending(this, bar.ends > 0);
                self.cut_ottava();
            }
            self.end_bar(ends_section);
        } else if self.voice().bar.0 > 0 {
            // A second sign at one bar line: `:| |:`, or the sign at the start of the next line.
            let before = BarIndex(self.voice().bar.0 - 1);
            if bar.ends > 0 || style.is_some_and(|_| bar.starts == 0) {
                self.right_line(before, bar, style, fermatas);
            }
            if ends_section {
                self.stop_ending(before, bar.ends > 0);
                if let Some(facts) = self.voice().facts.last_mut() {
                    facts.section_end = true;
                }
            }
        } else if bar.ends > 0 {
            self.caution(
                "repeat-unclear",
                "an end-repeat stands before the first note; it was left out",
                "look at the first bar line on the page",
            );
        } else if let Some(style) = style.filter(|_| bar.starts == 0) {
            let line = self.left_line();
            line.style = Some(style.to_owned());
        }
        if segno {
            self.direction(DirectionKind::Segno, None);
        }
        if bar.ends > 0 {
            for tie in &mut self.voice().ties {
                tie.jump = true;
            }
        }
        if bar.ends > 0 && !bar.then_ending || bar.starts > 0 {
            self.voice().first_ending = None;
        }
        if bar.starts > 0 {
            let times = u32::from(bar.starts) + 1;
            self.voice().times = if times > 2 { Some(times) } else { None };
            let line = self.left_line();
            line.style = Some("heavy-light".to_owned());
            line.repeat = Some(Repeat {
                forward: true,
                times: None,
                after_jump: None,
            });
        }
    }

    /// An ottava that nobody ends lasts to the end of its section.
    fn cut_ottava(&mut self) {
        let voice = self.voice();
        let waiting = voice.marks.contains(&Mark::Stop(Family::Ottava));
        if voice.ottava == 0 || waiting {
            return;
        }
        let anchor = Anchor {
            place: voice.place(),
            element: None,
        };
        self.caution(
            "unpaired-ottava",
            "an ottava does not end before its section does; it was taken to end there",
            "look on the page where it ends",
        );
        self.close_span(Family::Ottava, anchor);
    }

    /// True where the bar is not full yet: a dotted line there is an editor's, inside a long bar.
    fn inside_bar(&mut self) -> bool {
        let voice = self.voice();
        voice.has_content && voice.bar_length.is_none_or(|length| voice.cursor < length)
    }

    fn editorial_line(&mut self) {
        self.take();
        let id = self.id(IdKind::Barline);
        let voice = self.voice();
        let place = voice.place();
        voice.barlines.push(blank(id, place, BarSide::Middle));
        if let Some(line) = voice.barlines.last_mut() {
            line.style = Some("dotted".to_owned());
        }
    }

    /// Marks before a bar line: fermatas stand over it, words and signs at it.
    fn marks_at_bar_line(&mut self) -> Vec<notation::Fermata> {
        if self.voice().marks.is_empty() {
            return Vec::new();
        }
        let mut fermatas = Vec::new();
        let marks = std::mem::take(&mut self.voice().marks);
        let mut rest = Vec::new();
        for mark in marks {
            match mark {
                Mark::Fermata { inverted } if fermatas.len() < 10 => fermatas.push(fermata(inverted)),
                Mark::Direction(kind) if is_sign(&kind) => self.direction(kind, None),
                other => rest.push(other),
            }
        }
        self.voice().marks = rest;
        self.marks_at_place();
        fermatas
    }

    /// What the bar line at the end of a bar says.
    fn right_line(
        &mut self,
        bar: BarIndex,
        sign: &Bar<'_>,
        style: Option<&'static str>,
        fermatas: Vec<notation::Fermata>,
    ) {
        let opened = self.voice().times.take_if(|_| sign.ends > 0);
        let times = opened.unwrap_or(0).max(u32::from(sign.ends) + 1);
        let line = self.line(bar, BarSide::Right);
        line.fermatas.extend(fermatas);
        if sign.ends > 0 {
            line.style = Some("light-heavy".to_owned());
            line.repeat = Some(Repeat {
                forward: false,
                times: if times > 2 { Some(times) } else { None },
                after_jump: None,
            });
        } else if let Some(style) = style
            && line.repeat.is_none()
        {
            line.style = Some(style.to_owned());
        }
    }

    fn left_line(&mut self) -> &mut Barline {
        let bar = self.voice().bar;
        self.line(bar, BarSide::Left)
    }

    /// The bar line at one side of a bar, made if there is none yet.
    fn line(&mut self, bar: BarIndex, side: BarSide) -> &mut Barline {
        // Only the last few lines can be of this bar or the one before.
        let lines = &self.voice().barlines;
        let far = lines.len().saturating_sub(8);
        let near = lines.get(far..).unwrap_or_default();
        let known = near
            .iter()
            .rposition(|line| line.place.bar == bar && line.side == side);
        let at = match known {
            Some(at) => far + at,
            None => {
                self.take();
                let id = self.id(IdKind::Barline);
                let voice = self.voice();
                let offset = if side == BarSide::Left {
                    Quarters::ZERO
                } else {
                    voice.end
                };
                voice.barlines.push(blank(id, Place { bar, offset }, side));
                voice.barlines.len() - 1
            }
        };
        &mut self.voice().barlines[at]
    }

    /// The numbers or the text of an ending: it starts with the bar.
    pub(super) fn ending(&mut self, said: &str) {
        self.close_groups("an ending");
        self.flush_beam();
        self.voice().full_at_line_end = false;
        if self.voice().has_content {
            // Inside a bar: it is parted there.
            self.end_bar(true);
            self.voice().note.split = true;
        }
        let before = self.voice().bar;
        if before.0 > 0 {
            self.stop_ending(BarIndex(before.0 - 1), false);
        }
        for tie in &mut self.voice().ties {
            tie.jump = true;
        }
        let (number, text) = numbers(said);
        let voice = self.voice();
        voice.ending = Some((number.clone(), before));
        voice.note.ending = true;
        self.left_line().ending = Some(Ending {
            number,
            text,
            kind: EndingKind::Start,
        });
    }

    /// A bracket that is open ends with a bar.
    fn stop_ending(&mut self, bar: BarIndex, repeats: bool) {
        let voice = self.voice();
        let Some((number, start)) = voice.ending.take() else {
            return;
        };
        if number == "1" || number.starts_with("1,") {
            voice.first_ending = Some((bar.0 + 1).saturating_sub(start.0));
        }
        let line = self.line(bar, BarSide::Right);
        let closed = repeats || line.repeat.is_some() || line.style.as_deref() == Some("light-heavy");
        line.ending = Some(Ending {
            number,
            text: String::new(),
            kind: if closed {
                EndingKind::Stop
            } else {
                EndingKind::Discontinue
            },
        });
    }

    /// A later ending that runs into the end-repeat of another passage was over before: it is as long as the first one.
    fn close_long_ending(&mut self) {
        let voice = self.voice();
        let (Some((number, start)), Some(first)) = (voice.ending.clone(), voice.first_ending) else {
            return;
        };
        let later = number != "1" && !number.starts_with("1,");
        if !later || first == 0 || (voice.bar.0 + 1).saturating_sub(start.0) <= first {
            return;
        }
        self.remark(
            "ending-not-closed",
            "no sign closes the ending before this end-repeat, which belongs to what follows it; the ending was taken to be as long as the first",
        );
        self.stop_ending(BarIndex(start.0 + first - 1), false);
    }

    /// A bracket's end without a bar line of its own.
    pub(super) fn discontinue_ending(&mut self) {
        let bar = self.voice().bar;
        let has_content = self.voice().has_content;
        if has_content {
            self.stop_ending(bar, false);
        } else if bar.0 > 0 {
            self.stop_ending(BarIndex(bar.0 - 1), false);
        }
    }

    /// Before something that takes time: where a line of the source ended with a full bar, a new bar begins.
    pub(super) fn imply_bar_line(&mut self) {
        if !std::mem::take(&mut self.voice().full_at_line_end) {
            return;
        }
        self.remark(
            "bar-line-implied",
            "a line of the source ends here with a full bar but without a bar line; one was put",
        );
        self.end_bar(false);
    }

    /// A line of music begins with this bar, if the source broke there.
    pub(super) fn break_here(&mut self) {
        let voice = self.voice();
        if voice.break_before {
            voice.break_before = false;
            // Only between bars: a system does not break inside one.
            let first = voice.part.events.len() - voice.first_event == 1;
            voice.note.new_system |= first && voice.bar.0 > 0;
        }
    }

    /// Ends the bar being read.
    pub(super) fn end_bar(&mut self, section_end: bool) {
        self.flush_beam();
        self.close_tuplets();
        if self.voice().broken.take().is_some() {
            self.caution(
                "broken-rhythm-unclear",
                "a sign of broken rhythm (> or <) has no note after it in its bar",
                "check the rhythm of this bar against the page",
            );
        }
        let voice = self.voice();
        assemble::mark_after_graces(&mut voice.part, voice.first_event);
        if voice.whole_rest.is_none() {
            assemble::mark_lone_rests(&mut voice.part, voice.first_event, voice.bar_length);
        }
        voice.facts.push(PartBar {
            content: voice.end,
            metre: voice.bar_length,
            whole_rest: voice.whole_rest.take(),
            section_end,
        });
        let note = std::mem::take(&mut voice.note);
        voice.bars.push(note);
        voice.bar = voice.bar.next();
        voice.cursor = Quarters::ZERO;
        voice.end = Quarters::ZERO;
        voice.first_event = voice.part.events.len();
        voice.has_content = false;
        voice.accidentals.clear();
        voice.layer = 0;
        voice.last = None;
        voice.grace_order = 0;
        voice.full_at_line_end = false;
        if let Some(length) = voice.next_length.take() {
            voice.bar_length = length;
        }
    }

    /// Ends every voice: the last bar, brackets, what is still open.
    pub(super) fn end_of_tune(&mut self) {
        for index in 0..self.voices.len() {
            self.now = index;
            self.close_groups("the end of the tune");
            if self.voice().has_content {
                self.end_bar(false);
            }
            let bars = self.voice().bar.0;
            if bars > 0 {
                self.stop_ending(BarIndex(bars - 1), true);
            }
            self.marks_at_place();
            self.drop_lines_after_the_end();
            self.report_open();
        }
        self.now = 0;
    }

    /// Start-repeats and endings after the last note begin nothing.
    fn drop_lines_after_the_end(&mut self) {
        let bars = self.voice().bar;
        let before = self.voice().barlines.len();
        self.voice().barlines.retain(|line| line.place.bar < bars);
        if self.voice().barlines.len() < before && bars.0 > 0 {
            let at = super::says::At {
                voice: self.now,
                bar: BarIndex(bars.0 - 1),
                offset: Quarters::ZERO,
            };
            self.says.push(
                Severity::Note,
                "start-repeat-at-the-end",
                Some(at),
                "a start-repeat or an ending stands after the last note; it was left out",
                "",
            );
        }
    }
}

/// A bar line that says nothing yet.
pub(super) fn blank(id: notation::Id, place: Place, side: BarSide) -> Barline {
    Barline {
        id,
        part: 0,
        place,
        side,
        style: None,
        repeat: None,
        ending: None,
        fermatas: Vec::new(),
        segno: None,
        coda: None,
    }
}

/// The style by the name of MusicXML 4.0, bar-style; `None` for a plain line.
fn style_of(bar: &Bar<'_>) -> Option<&'static str> {
    let core = bar.text.trim_matches([':', '.']);
    match core {
        "|" | "" => bar.text.starts_with('.').then_some("dotted"),
        "[|]" | "[]" => Some("none"),
        "||" => Some("light-light"),
        _ if core.ends_with(']') => Some("light-heavy"),
        _ if core.starts_with('[') => Some("heavy-light"),
        _ => Some("light-light"),
    }
}

/// An ending's numbers written out (`1-3` is `1,2,3`) and its text where that is something else.
fn numbers(said: &str) -> (String, String) {
    if let Some(text) = said.strip_prefix('"') {
        let text = super::text::plain(text.trim_end_matches('"'));
        let digits: String = text.chars().take_while(char::is_ascii_digit).take(3).collect();
        return (digits, text);
    }
    let mut list: Vec<String> = Vec::new();
    for part in said.split([',', '.']).filter(|part| !part.is_empty()) {
        let range = part
            .split_once('-')
            .and_then(|(from, to)| Some((from.parse::<u32>().ok()?, to.parse::<u32>().ok()?)));
        match range {
            Some((from, to)) if from <= to && to - from < 50 => {
                list.extend((from..=to).map(|n| n.to_string()))
            }
            _ => list.push(part.to_owned()),
        }
    }
    let number = list.join(",");
    let text = if number == said {
        String::new()
    } else {
        said.to_owned()
    };
    (number, text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn endings_are_written_out() {
        assert_eq!(numbers("1"), ("1".to_owned(), String::new()));
        assert_eq!(numbers("1-3"), ("1,2,3".to_owned(), "1-3".to_owned()));
        assert_eq!(numbers("1,3,5-7"), ("1,3,5,6,7".to_owned(), "1,3,5-7".to_owned()));
        assert_eq!(numbers("\"last time\""), (String::new(), "last time".to_owned()));
        assert_eq!(numbers("\"1st\""), ("1".to_owned(), "1st".to_owned()));
    }

    #[test]
    fn styles_by_the_shape() {
        let style = |text| {
            style_of(&Bar {
                text,
                ends: 0,
                starts: 0,
                then_ending: false,
            })
        };
        assert_eq!(style("|"), None);
        assert_eq!(style("||"), Some("light-light"));
        assert_eq!(style("|]"), Some("light-heavy"));
        assert_eq!(style("[|"), Some("heavy-light"));
        assert_eq!(style("[|]"), Some("none"));
        assert_eq!(style(".|"), Some("dotted"));
        assert_eq!(style(":|"), None);
    }
}

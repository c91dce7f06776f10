//! How is a bar line written? Style, signs, fermatas, brackets of endings and repeats, in the standard's order.

use super::part::PartWriter;
use super::values::{BAR_STYLES, is_ending_number};
use notation::{BarSide, Barline, Ending, EndingKind, Place};

impl PartWriter<'_, '_> {
    pub(super) fn bar_line(&mut self, line: &Barline) {
        let location = match line.side {
            BarSide::Left => "left",
            BarSide::Middle => "middle",
            BarSide::Right => "right",
        };
        let named = |sign: &Option<String>| sign.clone().filter(|name| !name.is_empty());
        self.out
            .tag("barline")
            .attr("location", location)
            .maybe("segno", named(&line.segno))
            .maybe("coda", named(&line.coda))
            .attr("id", line.id)
            .open();
        if let Some(style) = &line.style {
            if BAR_STYLES.contains(&style.as_str()) {
                self.out.leaf("bar-style", style);
            } else {
                self.lost_at_line(
                    line,
                    format!("the style “{style}” of a bar line has no name in MusicXML"),
                );
            }
        }
        if line.segno.is_some() {
            self.out.empty("segno");
        }
        if line.coda.is_some() {
            self.out.empty("coda");
        }
        for fermata in line.fermatas.iter().take(2) {
            self.fermata(line.place, fermata);
        }
        if line.fermatas.len() > 2 {
            self.lost_at_line(line, "more than two fermatas over a bar line");
        }
        if let Some(ending) = &line.ending {
            self.ending(line, ending);
        }
        if let Some(repeat) = &line.repeat {
            self.out
                .tag("repeat")
                .attr("direction", if repeat.forward { "forward" } else { "backward" })
                .maybe("times", repeat.times)
                .maybe(
                    "after-jump",
                    repeat.after_jump.map(|again| if again { "yes" } else { "no" }),
                )
                .empty();
        }
        self.out.close("barline");
    }

    fn ending(&mut self, line: &Barline, ending: &Ending) {
        let kind = match ending.kind {
            EndingKind::Start => "start",
            EndingKind::Stop => "stop",
            EndingKind::Discontinue => "discontinue",
        };
        let fits = is_ending_number(&ending.number);
        if !fits {
            let what = format!(
                "the passes “{}” of an ending are no numbers; they were written as its text",
                ending.number
            );
            self.lost_at_line(line, what);
        }
        let number = if fits { ending.number.as_str() } else { "" };
        let text = if ending.text.is_empty() && !fits {
            &ending.number
        } else {
            &ending.text
        };
        let tag = self.out.tag("ending").attr("number", number).attr("type", kind);
        if text.is_empty() {
            tag.empty();
        } else {
            tag.text(text);
        }
    }

    fn lost_at_line(&mut self, line: &Barline, what: impl Into<String>) {
        let place: Place = line.place;
        self.losses.lost(self.of, place, Some(line.id), what);
    }
}

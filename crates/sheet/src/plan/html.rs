//! How does the plan's page read in a browser? One self-contained file with boxes to tick that prints well: no script, no request.

use super::page::{DayCard, PlanPage, SpotCard, TurnLine};
use crate::html::{Page, capital};
use crate::prep::{Excerpts, inline};
use crate::words::BarWord;
use std::fmt::Write as _;

/// The style of the page, kept apart so that it can be read.
const STYLE: &str = include_str!("../plan.css");

/// The page as one HTML document. Every word from a file is escaped; the notes stand inline, each said in words.
#[must_use]
pub fn plan_html(plan: &PlanPage, excerpts: &Excerpts, bar_word: BarWord) -> String {
    let mut writer = Writer {
        page: Page {
            out: String::with_capacity(64 * 1024),
            bar_word,
            held: true,
        },
        styles: Vec::new(),
        box_number: 0,
    };
    writer.body(plan, excerpts);
    let body = std::mem::take(&mut writer.page.out);
    let mut styles = vec![STYLE];
    styles.extend(writer.styles.iter().map(String::as_str));
    writer
        .page
        .head(&format!("{}: {}", plan.title, plan.span), &styles);
    writer.page.out.push_str(&body);
    writer.page.out
}

struct Writer {
    page: Page,
    styles: Vec<String>,
    box_number: usize,
}

impl Writer {
    fn raw(&mut self, markup: &str) {
        self.page.out.push_str(markup);
    }

    fn body(&mut self, plan: &PlanPage, excerpts: &Excerpts) {
        self.raw("<header>\n");
        self.page.put("h1", "", &plan.title);
        self.page.put("p", "span", &plan.span);
        self.page.put("p", "facts", &plan.facts.join(" · "));
        if !plan.handed.is_empty() {
            self.page.put("p", "handed", &plan.handed.join(" · "));
        }
        self.raw("</header>\n<main>\n");
        if !plan.milestones.is_empty() {
            self.raw("<dl class=\"milestones\">\n");
            for (name, text) in &plan.milestones {
                self.raw("<div>");
                self.page.put_inline("dt", "", &capital(name));
                self.page.put_inline("dd", "", text);
                self.raw("</div>\n");
            }
            self.raw("</dl>\n");
        }
        self.raw("<div class=\"days\">\n");
        for day in &plan.days {
            self.day(day);
        }
        self.raw("</div>\n");
        self.how(plan);
        self.spots(plan, excerpts);
        if !plan.left.is_empty() {
            self.raw("<section class=\"left\"><h2>What there is no time for</h2>\n<ul>\n");
            for line in &plan.left {
                self.page
                    .put("li", "", &format!("{}.", line.trim_end_matches('.')));
            }
            self.raw("</ul></section>\n");
        }
        self.raw("</main>\n<footer>\n");
        for line in &plan.cautions {
            self.page.put("p", "", line);
        }
        self.raw("</footer>\n</body>\n</html>\n");
    }

    fn day(&mut self, day: &DayCard) {
        let class = if day.turns.is_empty() { "day off" } else { "day" };
        let _ = write!(self.page.out, "<section class=\"{class}\"><h2>");
        self.page.text(&day.name);
        if !day.minutes.is_empty() {
            self.raw(" ");
            self.page.put_inline("span", "minutes", &day.minutes);
        }
        self.raw("</h2>\n");
        self.page.put("p", "about", &capital(&day.about));
        if !day.turns.is_empty() {
            self.raw("<ol>\n");
            for turn in &day.turns {
                self.turn(turn);
            }
            self.raw("</ol>\n");
        }
        self.raw("</section>\n");
    }

    fn turn(&mut self, turn: &TurnLine) {
        if turn.rest {
            self.raw("<li class=\"rest\">");
            self.page.put_inline("span", "time", &turn.minutes);
            self.raw(" ");
            self.page.text(&turn.name);
            self.raw("</li>\n");
            return;
        }
        self.box_number += 1;
        let id = format!("turn-{}", self.box_number);
        let _ = write!(
            self.page.out,
            "<li><input type=\"checkbox\" id=\"{id}\"><label for=\"{id}\">"
        );
        self.page.put_inline("span", "time", &turn.minutes);
        self.raw("<span class=\"unseen\"> minutes, </span> ");
        self.page.put_inline("b", "", &turn.name);
        for (class, text) in [("bars", &turn.bars), ("tempo", &turn.tempo), ("how", &turn.how)] {
            if !text.is_empty() {
                self.raw(" ");
                self.page.put_inline("span", class, text);
            }
        }
        if !turn.why.is_empty() {
            self.raw(" ");
            self.page.put_inline("span", "why", &turn.why);
        }
        self.raw("</label></li>\n");
    }

    fn how(&mut self, plan: &PlanPage) {
        if plan.how.is_empty() {
            return;
        }
        self.raw("<section class=\"how\"><h2>How each goes</h2>\n<dl>\n");
        for how in &plan.how {
            self.raw("<div>");
            self.page.put_inline("dt", "", &how.name);
            self.raw(" <dd>");
            self.page.text(&capital(&how.what));
            self.raw(".");
            if !how.stop.is_empty() {
                self.raw(" ");
                self.page.put_inline("i", "", &format!("Stop {}.", how.stop));
            }
            self.raw("</dd></div>\n");
        }
        self.raw("</dl></section>\n");
    }

    fn spots(&mut self, plan: &PlanPage, excerpts: &Excerpts) {
        if plan.spots.is_empty() {
            return;
        }
        self.raw("<section class=\"spots\"><h2>The hard spots of these days</h2>\n<ul>\n");
        for spot in &plan.spots {
            self.spot(plan, spot, excerpts);
        }
        self.raw("</ul></section>\n");
    }

    fn spot(&mut self, plan: &PlanPage, spot: &SpotCard, excerpts: &Excerpts) {
        self.raw("<li>");
        self.page.put("h3", "", &capital(&spot.bars));
        let slot = plan.slots.iter().find(|slot| slot.slot.id == spot.slot);
        if let Some((slot, excerpt)) = slot.zip(excerpts.get(&spot.slot)) {
            let alt = self.page.bar_word.say(&slot.slot.alt);
            if let Some(made) = inline(&excerpt.svg, &spot.slot, &alt) {
                for style in made.styles {
                    if !self.styles.contains(&style) {
                        self.styles.push(style);
                    }
                }
                let _ = writeln!(self.page.out, "<div class=\"excerpt\">{}</div>", made.svg);
            }
        }
        if !spot.why.is_empty() {
            self.page.put("p", "reason", &format!("{}.", capital(&spot.why)));
        }
        if !spot.doing.is_empty() {
            self.page.put("p", "doing", &format!("{}.", capital(&spot.doing)));
        }
        self.raw("</li>\n");
    }
}

//! How does the prep sheet read as a page? One self-contained file that prints on one or two sheets: no script, no request.

use super::inline::inline;
use super::{Answer, Bracket, Detail, Excerpts, Fingered, PrepSheet, Short};
use crate::html::{Page, capital};
use crate::words::BarWord;
use std::fmt::Write as _;

/// The style of the page, kept apart so that it can be read.
const STYLE: &str = include_str!("../prep.css");

/// Up to this width an excerpt leaves room for words beside it.
const BESIDE_MM: f64 = 92.0;

/// A page can't try how much fits when it is printed: it leaves out from the beginning what doesn't fit two sheets of Letter.
const LEVEL: usize = 1;

/// The sheet as one HTML document. Every word from a file is escaped; excerpts stand inline, each said in words.
#[must_use]
pub fn prep_html(sheet: &PrepSheet, excerpts: &Excerpts, bar_word: BarWord) -> String {
    let sheet = &sheet.at(sheet.level.max(LEVEL));
    let mut writer = Writer {
        page: Page {
            out: String::with_capacity(64 * 1024),
            bar_word,
            held: true,
        },
        sheet,
        excerpts,
        styles: Vec::new(),
    };
    writer.body();
    let body = std::mem::take(&mut writer.page.out);
    let mut styles = vec![STYLE];
    styles.extend(writer.styles.iter().map(String::as_str));
    writer.page.head(&sheet.title, &styles);
    writer.page.out.push_str(&body);
    writer.page.out
}

struct Writer<'a> {
    page: Page,
    sheet: &'a PrepSheet,
    excerpts: &'a Excerpts,
    styles: Vec<String>,
}

impl Writer<'_> {
    fn body(&mut self) {
        let sheet = self.sheet;
        self.raw("<header>\n");
        self.page.put("h1", "", &sheet.title);
        self.page.put("p", "facts", &sheet.facts.join(" · "));
        if !sheet.handed.is_empty() {
            self.page.put("p", "handed", &sheet.handed.join(" · "));
        }
        self.raw("</header>\n<main>\n");
        self.brackets("look-first", "Where to look first", &sheet.look_first);
        if !sheet.answers.is_empty() {
            self.raw("<section id=\"answers\" aria-labelledby=\"answers-heading\">\n<h2 class=\"unseen\" id=\"answers-heading\">The page in twelve answers</h2>\n<ol class=\"columns answers\">\n");
            for answer in &sheet.answers {
                self.answer(answer);
            }
            self.raw("</ol>\n</section>\n");
        }
        self.brackets("spots", "Trouble spots, worst first", &sheet.spots);
        self.raw("<div class=\"columns practice\">\n");
        self.practice();
        self.raw("</div>\n");
        self.glossary();
        self.raw("</main>\n<footer>\n");
        for line in &sheet.cautions {
            self.page.put("p", "", line);
        }
        self.raw("</footer>\n</body>\n</html>\n");
    }

    fn raw(&mut self, markup: &str) {
        self.page.out.push_str(markup);
    }

    fn open(&mut self, id: &str, name: &str) {
        let _ = write!(
            self.page.out,
            "<section id=\"{id}\" aria-labelledby=\"{id}-heading\">\n<h2 id=\"{id}-heading\">"
        );
        self.page.text(name);
        self.raw("</h2>\n");
    }

    fn more(&mut self, more: usize) {
        if more > 0 {
            self.page
                .put("p", "more", &format!("+ {more} more on the full survey"));
        }
    }

    /// The excerpt of a slot, if it was brought.
    fn excerpt(&mut self, slot: Option<&String>) {
        let Some(id) = slot else { return };
        let slot = self.sheet.slots.iter().find(|slot| slot.id == *id);
        let Some((slot, excerpt)) = slot.zip(self.excerpts.get(id)) else {
            return;
        };
        let alt = self.page.bar_word.say(&slot.alt);
        let Some(made) = inline(&excerpt.svg, id, &alt) else {
            return;
        };
        for style in made.styles {
            if !self.styles.contains(&style) {
                self.styles.push(style);
            }
        }
        let _ = writeln!(self.page.out, "<div class=\"excerpt\">{}</div>", made.svg);
    }

    fn brackets(&mut self, id: &str, name: &str, list: &Short<Bracket>) {
        if list.is_empty() {
            return;
        }
        self.open(id, name);
        self.raw("<ol class=\"brackets\">\n");
        for bracket in &list.items {
            self.bracket(bracket);
        }
        self.raw("</ol>\n");
        self.more(list.more);
        self.raw("</section>\n");
    }

    fn bracket(&mut self, bracket: &Bracket) {
        let picture = bracket.slot.as_ref().and_then(|id| self.excerpts.get(id));
        let class = match picture {
            Some(picture) if picture.width_mm > BESIDE_MM => " class=\"engraved wide\"",
            Some(_) => " class=\"engraved\"",
            None => "",
        };
        let _ = writeln!(self.page.out, "<li{class} value=\"{}\">", bracket.rank);
        self.excerpt(bracket.slot.as_ref());
        self.raw("<div class=\"said\"><h3><span class=\"rank\" aria-hidden=\"true\">");
        let _ = write!(self.page.out, "{}</span> ", bracket.rank);
        self.page.text(&capital(&bracket.bars));
        if !bracket.into.is_empty() {
            self.page
                .put_inline("span", "into", &format!(", {}", bracket.into));
        }
        self.raw("</h3>\n");
        let mut why = capital(&bracket.reasons.join("; "));
        if !why.is_empty() {
            why.push('.');
            self.page.put("p", "why", &why);
        }
        if !bracket.doing.is_empty() {
            self.page
                .put("p", "doing", &format!("{}.", capital(&bracket.doing)));
        }
        if !bracket.also.is_empty() {
            self.page
                .put("p", "also", &format!("{}.", capital(&bracket.also)));
        }
        self.raw("</div></li>\n");
    }

    fn answer(&mut self, answer: &Answer) {
        let _ = write!(self.page.out, "<li id=\"{}\"><h3>", answer.id);
        self.page.text(answer.name);
        self.raw("</h3> ");
        self.page.put_inline("p", "says", &answer.says);
        self.raw("\n");
        self.details(&answer.details);
        self.excerpt(answer.slot.as_ref());
        self.raw("</li>\n");
    }

    fn details(&mut self, details: &[Detail]) {
        for detail in details {
            self.raw("<p class=\"detail\">");
            if !detail.label.is_empty() {
                self.page.put_inline("i", "", &detail.label);
                self.raw(" ");
            }
            self.page.text(&detail.text);
            self.page.bars(&detail.bars);
            self.raw("</p>\n");
        }
    }

    fn practice(&mut self) {
        let sheet = self.sheet;
        if let Some(climb) = &sheet.climb {
            self.open("climb", "First tempo and the climb");
            self.page.put("p", "says", &climb.says);
            self.details(&climb.details);
            self.page.rungs(&climb.rungs.items);
            self.more(climb.rungs.more);
            if !climb.advice.is_empty() {
                self.page
                    .put("p", "doing", &format!("{}.", capital(&climb.advice)));
            }
            self.raw("</section>\n");
        }
        if let Some(fingers) = &sheet.fingers {
            self.open("fingers", "Fingers");
            self.page.put("p", "", &fingers.says);
            self.raw("<ul class=\"pictured\">\n");
            for note in &fingers.notes.items {
                self.fingered(note);
            }
            self.raw("</ul>\n");
            self.more(fingers.notes.more);
            self.details(&fingers.details);
            self.raw("</section>\n");
        }
        if let Some(breath) = &sheet.breath {
            self.open("breathe", &breath.name);
            self.page
                .put("p", "", &format!("{}.", breath.says.trim_end_matches('.')));
            self.raw("<ul class=\"signs\">\n");
            for sign in &breath.signs.items {
                self.raw("<li>");
                self.page.put_inline("b", "", &sign.label);
                self.raw(" ");
                self.page.text(&sign.text);
                self.raw("</li>\n");
            }
            self.raw("</ul>\n");
            self.more(breath.signs.more);
            self.raw("</section>\n");
        }
        if let Some(returns) = &sheet.returns {
            self.open("returns", "It comes back");
            self.page.put("p", "", &format!("{}.", returns.says));
            if !returns.form.is_empty() {
                self.page.put("p", "detail", &returns.form);
            }
            self.details(&returns.bars.items);
            self.more(returns.bars.more);
            self.raw("</section>\n");
        }
    }

    fn fingered(&mut self, note: &Fingered) {
        self.raw("<li><div class=\"figures\">");
        for picture in &note.pictures {
            self.raw("<figure>");
            // Drawn by us, words in it escaped there.
            self.raw(&picture.svg);
            self.page.put_inline("figcaption", "", &picture.caption);
            self.raw("</figure>");
        }
        self.raw("</div><div><h3>");
        self.page.text(&note.note);
        self.page.bars(&note.bars);
        self.raw("</h3>");
        self.page.put_inline("p", "", &note.text);
        self.raw("</div></li>\n");
    }

    fn glossary(&mut self) {
        let words = &self.sheet.glossary;
        if words.is_empty() {
            return;
        }
        self.open("words", "Words on this page");
        self.raw("<dl class=\"columns\">\n");
        for gloss in &words.items {
            self.raw("<div>");
            self.page
                .put_inline("dt", if gloss.dynamic { "dynamic" } else { "" }, &gloss.term);
            self.raw(" <dd>");
            self.page.text(&gloss.meaning);
            self.page.bars(&gloss.bars);
            self.raw("</dd></div>\n");
        }
        self.raw("</dl>\n");
        self.more(words.more);
        self.raw("</section>\n");
    }
}

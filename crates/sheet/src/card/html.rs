//! How does the card read as a page? One self-contained file, each card of a postcard's size when printed.

use super::steps::with_bars;
use super::{Card, Look};
use crate::html::Page;
use crate::prep::{Excerpts, inline};
use crate::words::BarWord;
use std::fmt::Write as _;

/// The style of the page, kept apart so that it can be read.
const STYLE: &str = include_str!("../card.css");

/// The cards as one HTML document. Every word from a file is escaped.
#[must_use]
pub fn card_html(cards: &[Card], excerpts: &Excerpts, bar_word: BarWord) -> String {
    let mut page = Page {
        out: String::with_capacity(8 * 1024),
        bar_word,
        held: true,
    };
    let mut styles = vec![STYLE.to_owned()];
    for card in cards {
        one(&mut page, card, excerpts, &mut styles);
    }
    let body = std::mem::take(&mut page.out);
    let title = cards.first().map_or("", |card| card.title.as_str());
    let styles: Vec<&str> = styles.iter().map(String::as_str).collect();
    page.head(title, &styles);
    page.out.push_str("<main>\n");
    page.out.push_str(&body);
    page.out.push_str("</main>\n</body>\n</html>\n");
    page.out
}

fn one(page: &mut Page, card: &Card, excerpts: &Excerpts, styles: &mut Vec<String>) {
    let id = format!("card-{}", card.seconds);
    let _ = writeln!(
        page.out,
        "<article class=\"card\" aria-labelledby=\"{id}\">\n<header>"
    );
    let _ = write!(page.out, "<h1 id=\"{id}\">");
    page.text(&card.title);
    let _ = writeln!(
        page.out,
        " <span class=\"seconds\">{} s</span></h1>",
        card.seconds
    );
    page.put("p", "facts", &card.facts.join(" · "));
    page.out.push_str("</header>\n<ol>\n");
    for (from, to, step) in card.timed() {
        let _ = write!(page.out, "<li><span class=\"when\">{from}–{to} s</span><div><h2>");
        page.text(step.look.name());
        page.out.push_str("</h2> ");
        page.put_inline("p", "says", &with_bars(step));
        page.out.push(' ');
        page.put_inline("p", "doing", step.doing);
        if step.look == Look::Hardest {
            excerpt(page, card, excerpts, styles);
        }
        page.out.push_str("</div></li>\n");
    }
    page.out.push_str("</ol>\n</article>\n");
}

fn excerpt(page: &mut Page, card: &Card, excerpts: &Excerpts, styles: &mut Vec<String>) {
    let slot = card.slot.as_ref();
    let Some((slot, excerpt)) = slot.and_then(|slot| Some((slot, excerpts.get(&slot.id)?))) else {
        return;
    };
    let prefix = format!("{}-{}", slot.id, card.seconds);
    let Some(made) = inline(&excerpt.svg, &prefix, &page.bar_word.say(&slot.alt)) else {
        return;
    };
    for style in made.styles {
        if !styles.contains(&style) {
            styles.push(style);
        }
    }
    let _ = writeln!(page.out, "<div class=\"excerpt\">{}</div>", made.svg);
}

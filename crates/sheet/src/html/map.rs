//! How does the piece look at a glance? A cell for each bar; with a study, pencil shading for what there is to read and
//! rings for what the hands have to do. Words stand in every cell for those who can't see them.

use super::Page;
use crate::model::BarCell;
use std::fmt::Write as _;

/// Densities of shading, and how many differ a little, as strokes by hand do.
const SHADES: [(u8, i32); 3] = [(2, 7), (3, 14), (4, 24)];
const HANDS_OF: usize = 3;

impl Page {
    /// The piece at a glance, in a section of its own.
    pub(super) fn map(&mut self, bars: &[BarCell]) {
        self.out
            .push_str("<section id=\"map\" aria-labelledby=\"map-heading\">\n<h2 id=\"map-heading\">");
        self.text("The bars at a glance");
        self.out.push_str("</h2>\n");
        self.cells(bars);
        self.out.push_str("</section>\n");
    }

    /// A cell for each bar, in lines of eight.
    pub(super) fn cells(&mut self, bars: &[BarCell]) {
        let studied = bars.iter().any(|bar| !bar.asks.is_empty());
        if studied {
            self.strokes();
            self.legend();
        }
        self.out.push_str("<p class=\"key\">");
        self.text(
            "Bracketed and numbered: where to look first. Strokes: notes that the signature does not give. \
             Dots: repeats.",
        );
        self.out.push_str("</p>\n<ol class=\"map\">\n");
        for (number, bar) in bars.iter().enumerate() {
            self.cell(bar, studied.then_some(number));
        }
        self.out.push_str("</ol>\n");
    }

    fn cell(&mut self, bar: &BarCell, studied: Option<usize>) {
        let mut class = String::from("bar");
        for (set, name) in [
            (bar.look_first.is_some(), " first"),
            (bar.repeat_start, " from"),
            (bar.repeat_end, " to"),
            (bar.double_bar, " double"),
        ] {
            if set {
                class.push_str(name);
            }
        }
        let _ = write!(self.out, "<li class=\"{class}\"><span class=\"above\">");
        self.text(&bar.above.join(" "));
        self.out.push_str("</span><span class=\"label\">");
        self.text(&bar.label);
        self.out.push_str("</span><span class=\"strokes\">");
        let strokes = "ı".repeat(bar.altered.min(8));
        self.text(&strokes);
        self.out.push_str("</span>");
        if let Some(number) = studied {
            self.shade(bar.to_read, number);
            self.out.push_str("<span class=\"rings\" aria-hidden=\"true\">");
            let rings = "○".repeat(usize::from(bar.hands.saturating_sub(1)));
            self.text(&rings);
            self.out.push_str("</span>");
            if !bar.asks.is_empty() {
                self.put_inline("span", "unseen", &format!(": {}", bar.asks));
            }
        }
        if let Some(rank) = bar.look_first {
            let _ = write!(self.out, "<span class=\"rank\">{rank}</span>");
        }
        self.out.push_str("</li>\n");
    }

    /// What the shading and the rings mean.
    fn legend(&mut self) {
        self.out.push_str("<p class=\"key\">");
        self.text("Shading: how much there is to read");
        for (shade, word) in [(1, "little"), (2, "some"), (3, "much"), (4, "very much")] {
            self.out
                .push_str(" <span class=\"swatch-said\"><span class=\"swatch\">");
            self.shade(shade, 0);
            self.out.push_str("</span> ");
            self.text(word);
            self.out.push_str("</span>");
        }
        self.text(". Rings: how much for the hands, ○ some, ○○ much, ○○○ very much.");
        self.out.push_str("</p>\n");
    }

    /// The strokes, drawn once; the cells refer to them.
    fn strokes(&mut self) {
        self.out
            .push_str("<svg class=\"strokes-drawn\" width=\"0\" height=\"0\" aria-hidden=\"true\" focusable=\"false\"><defs>\n");
        for (shade, strokes) in SHADES {
            for hand in 0..HANDS_OF {
                let _ = write!(
                    self.out,
                    "<symbol id=\"shade-{shade}-{hand}\" viewBox=\"0 0 1000 120\" preserveAspectRatio=\"none\"><path d=\""
                );
                self.out.push_str(&hatching(strokes, hand, shade == 4));
                self.out
                    .push_str("\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"1.3\" vector-effect=\"non-scaling-stroke\" stroke-linecap=\"round\"/></symbol>\n");
            }
        }
        self.out.push_str("</defs></svg>\n");
    }

    fn shade(&mut self, shade: u8, number: usize) {
        self.out
            .push_str("<svg class=\"shade\" aria-hidden=\"true\" focusable=\"false\">");
        if shade > 1 {
            let _ = write!(
                self.out,
                "<use href=\"#shade-{}-{}\"/>",
                shade.min(4),
                number % HANDS_OF
            );
        }
        self.out.push_str("</svg>");
    }
}

/// Slanting strokes from left to right, none quite like the last; the same every time.
fn hatching(strokes: i32, hand: usize, crossed: bool) -> String {
    let mut path = String::new();
    let mut state = 7 + 31 * i32::try_from(hand).unwrap_or(0) + strokes;
    let mut wander = |by: i32| {
        state = (state * 137 + 59) % 1009;
        state * 2 * by / 1009 - by
    };
    for stroke in 0..strokes {
        let x = 1000 * stroke / strokes + 500 / strokes;
        let (foot, head) = (x - 22 + wander(9), x + 22 + wander(9));
        let _ = write!(path, "M{foot} {}L{head} {}", 108 + wander(9), 14 + wander(10));
        if crossed && stroke % 2 == 0 {
            let _ = write!(
                path,
                "M{} {}L{} {}",
                x - 40 + wander(8),
                22 + wander(8),
                x + 40,
                100 + wander(9)
            );
        }
    }
    path
}

//! What does each page look like? Heads, systems, marks, legend and feet put together.

use super::{Content, DrawnBySystem, Layout, Page, document, frame, spread, used_defs};
use crate::pencil;
use crate::style;
use crate::text::number;
use std::fmt::Write;

impl Layout<'_> {
    /// The upper staff line of each system on its page, in units from the upper edge.
    pub(super) fn tops(&self, starts: &[usize], drawn: &DrawnBySystem) -> Vec<f64> {
        let needs = self.needs(drawn);
        let mut tops = Vec::with_capacity(needs.len());
        for (page, pair) in starts.windows(2).enumerate() {
            let begin = self.head(page).lowest;
            let last = pair[1] == needs.len();
            let systems = needs.get(pair[0]..pair[1]).unwrap_or(&[]);
            let foot = if last { self.room().foot } else { 0.0 };
            let available = self.sheet.lowest() - begin - foot;
            let spread = spread::spread(systems, &self.gaps(), available, !last);
            tops.extend(spread.into_iter().map(|top| begin + top));
        }
        tops
    }

    pub(super) fn pages(&self, starts: &[usize], tops: &[f64], drawn: &DrawnBySystem) -> Vec<Page> {
        let count = starts.len().saturating_sub(1);
        let style = format!("{}{}", style::page(self.look), pencil::style(self.look));
        let mut pages = Vec::with_capacity(count);
        let needs = self.needs(drawn);
        for (page, pair) in starts.windows(2).enumerate() {
            let head = self.head(page);
            let mut music = head.svg;
            let mut pencilled = head.pencilled;
            music.push_str(&frame::foot(&self.names, self.look, page, &self.sheet));
            for system in pair[0]..pair[1] {
                self.put(system, tops, drawn, &mut music, &mut pencilled);
                if let (Some(around), Some(need), Some(top)) =
                    (self.around.get(system), needs.get(system), tops.get(system))
                {
                    let bottom = top + need.staff + need.below - around.below();
                    music.push_str(&around.svg(&self.sheet, top - need.above, bottom));
                }
            }
            if page + 1 == count {
                self.put_legend(&mut pencilled);
            }
            let title = format!("{}, page {} of {count}", self.names.running(), page + 1);
            let content = Content {
                title: &title,
                defs: &used_defs(self.defs, &music),
                style: &style,
                music: &music,
                pencil: &pencilled,
            };
            pages.push(Page {
                svg: document::svg(&content, &self.sheet),
                width_mm: self.sheet.width * self.sheet.unit_mm,
                height_mm: self.sheet.height * self.sheet.unit_mm,
            });
        }
        pages
    }

    /// The legend's block at the foot of the page.
    fn put_legend(&self, pencilled: &mut String) {
        if let Some(block) = &self.legend {
            // Writing to a string can't fail.
            let _ = write!(
                pencilled,
                "<g transform=\"translate({} {})\">{}</g>",
                number(self.sheet.side),
                number(self.sheet.lowest() - block.rect.bottom()),
                block.svg
            );
        }
    }

    /// One system on its page.
    fn put(
        &self,
        system: usize,
        tops: &[f64],
        drawn: &DrawnBySystem,
        music: &mut String,
        pencilled: &mut String,
    ) {
        let (Some(engraved), Some(top), Some(svg)) = (
            self.engraved.systems.get(system),
            tops.get(system),
            self.svgs.get(system),
        ) else {
            return;
        };
        let place = format!(
            "<g transform=\"translate({} {})\">",
            number(self.sheet.side - engraved.staff.x),
            number(top - engraved.staff.y)
        );
        // Writing to a string can't fail.
        let _ = write!(music, "{place}{svg}</g>");
        let marks = drawn.get(system).map_or(&[][..], Vec::as_slice);
        if !marks.is_empty() {
            pencilled.push_str(&place);
            marks.iter().for_each(|mark| pencilled.push_str(&mark.svg));
            pencilled.push_str("</g>");
        }
    }
}

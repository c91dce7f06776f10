//! What is handed out? The plan of a week, printed or as a page, with the notes of its hard spots.

use super::plan::Planned;
use crate::DeskError;
use crate::print::{legend, pictures_of, sheet_paper, with_fonts};
use notation::Piece;
use printer::Printer;
use sheet::{Excerpts, PlanPage};

impl Planned {
    fn page(&self) -> PlanPage {
        let pieces: Vec<&Piece> = self.studied.iter().map(|studied| &studied.alone.piece).collect();
        sheet::plan_page(&self.week(), &pieces)
    }

    /// The notes of the page's slots, work by work.
    fn excerpts(&self, page: &PlanPage, printer: &mut Printer) -> Result<Excerpts, DeskError> {
        let legend = legend(&self.asked.copy)?;
        let mut all = Excerpts::new();
        for (number, studied) in self.studied.iter().enumerate() {
            let own = page.slots.iter().filter(|slot| slot.work == number);
            let slots: Vec<&sheet::Slot> = own.map(|slot| &slot.slot).collect();
            if !slots.is_empty() {
                all.extend(pictures_of(studied, &legend, &slots, printer)?);
            }
        }
        Ok(all)
    }

    /// The week as PDF.
    ///
    /// # Errors
    /// If the press fails.
    pub fn pdf(&self, printer: &mut Printer) -> Result<Vec<u8>, DeskError> {
        let page = self.page();
        let excerpts = self.excerpts(&page, printer)?;
        let source = sheet::plan_typst(
            &page,
            &excerpts,
            sheet_paper(&self.asked.copy),
            self.asked.bar_word,
        );
        let (pdf, _) = printer.typeset(&source.source, &source.files)?;
        Ok(pdf)
    }

    /// The week as one self-contained page.
    ///
    /// # Errors
    /// If the press fails.
    pub fn html(&self, printer: &mut Printer) -> Result<String, DeskError> {
        let page = self.page();
        let excerpts = self.excerpts(&page, printer)?;
        Ok(with_fonts(&sheet::plan_html(
            &page,
            &excerpts,
            self.asked.bar_word,
        )))
    }
}

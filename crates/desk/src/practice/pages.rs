//! What is handed out? The plan of a week, printed or as a page, with the notes of its hard spots.

use super::plan::Planned;
use crate::DeskError;
use crate::print::{legend, pictures_of, sheet_paper, with_fonts};
use notation::{PencilSign, Piece};
use practice::BarSpan;
use practice::plan::Date;
use printer::Printer;
use sheet::{Excerpt, Excerpts, PlanPage, Slot};

/// What is pencilled onto the notes of a turn: what surprises, what is fingered.
const ON_NOTES: [PencilSign; 3] = [PencilSign::Circle, PencilSign::Courtesy, PencilSign::Fingering];

/// The weeks of several plans as one PDF, each on a leaf of its own; `double_sided` begins each on a right-hand page.
///
/// # Errors
/// If the press fails.
pub fn weeks_pdf(
    plans: &[&Planned],
    double_sided: bool,
    printer: &mut Printer,
) -> Result<Vec<u8>, DeskError> {
    let mut pages = Vec::new();
    for plan in plans {
        let page = plan.page();
        let excerpts = plan.excerpts(&page, printer)?;
        pages.push((page, excerpts, plan.asked.bar_word));
    }
    let paper = plans
        .first()
        .map_or_else(Default::default, |plan| sheet_paper(&plan.asked.copy));
    let source = sheet::plans_typst(&pages, paper, double_sided);
    let (pdf, _) = printer.typeset(&source.source, &source.files)?;
    Ok(pdf)
}

impl Planned {
    /// Some days as a page of words, without the notes of its hard spots.
    #[must_use]
    pub fn days(&self, from: Date, days: u32) -> PlanPage {
        let shown = sheet::PlanShown {
            from,
            days,
            ..self.week()
        };
        sheet::plan_page(&shown, &[])
    }

    /// The notes of some bars of a work, engraved on lines of a width with what is pencilled at them; `None` if there is none.
    ///
    /// # Errors
    /// If the press fails.
    pub fn notes(
        &self,
        work: usize,
        bars: BarSpan,
        width_mm: f64,
        staff_mm: f64,
        printer: &mut Printer,
    ) -> Result<Option<Excerpt>, DeskError> {
        let Some(studied) = self.studied.get(work) else {
            return Ok(None);
        };
        let slot = Slot {
            id: String::new(),
            from: bars.from,
            to: bars.to,
            marks: ON_NOTES.to_vec(),
            purpose: String::new(),
            alt: String::new(),
            room_mm: width_mm,
            staff_mm,
        };
        let made = pictures_of(studied, &legend(&self.asked.copy)?, &[&slot], printer)?;
        Ok(made.into_values().next())
    }

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

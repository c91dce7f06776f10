//! The prep sheet and the card: what is said comes from `sheet`, the excerpts from the engraver, the pages from the typesetter.

use super::copy::{CopyAsked, Studied, study_alone};
use super::embed::with_fonts;
use super::excerpts::{Wanted, excerpts};
use crate::survey_piece::composed_of;
use crate::{DeskError, Opened};
use engrave::Paper;
use notation::Finding;
use printer::Printer;
use sheet::{BarWord, Excerpts, Handed, PrepSheet, StudyTime, TypstSheet};

/// The most pages of a sheet.
const MOST_PAGES: u32 = 2;

/// How the sheet or card is wanted.
#[derive(Clone, Debug, Default)]
pub struct PrepAsked {
    /// The part, the player, the legend and the paper.
    pub copy: CopyAsked,
    /// The player's name and the date, as they are to be printed.
    pub handed: Handed,
    /// Her word for a bar.
    pub bar_word: BarWord,
}

/// A document as made.
#[derive(Debug)]
pub struct Made<T> {
    /// The document.
    pub document: T,
    /// What its reader should know.
    pub findings: Vec<Finding>,
}

/// The sheet as PDF, of one or two pages.
///
/// # Errors
/// If there is no such part, a file of hers can't be understood, or the press fails.
pub fn prep_pdf(
    opened: &Opened,
    asked: &PrepAsked,
    printer: &mut Printer,
) -> Result<Made<Vec<u8>>, DeskError> {
    let studied = study_alone(opened, &asked.copy)?;
    let whole = prep_sheet(&studied, asked);
    let pictures = sheet_excerpts(&studied, asked, &whole, printer)?;
    let mut last = None;
    for level in 0..=sheet::LEVELS {
        let source = sheet::prep_typst(&whole.at(level), &pictures, paper(asked), asked.bar_word);
        let (pages, pdf) = typeset(&source, printer)?;
        let fits = pages <= MOST_PAGES;
        last = Some(pdf);
        if fits {
            break;
        }
    }
    Ok(Made {
        document: last.unwrap_or_default(),
        findings: studied.findings(),
    })
}

/// The sheet as one self-contained page.
///
/// # Errors
/// As [`prep_pdf`].
pub fn prep_html(
    opened: &Opened,
    asked: &PrepAsked,
    printer: &mut Printer,
) -> Result<Made<String>, DeskError> {
    let studied = study_alone(opened, &asked.copy)?;
    let whole = prep_sheet(&studied, asked);
    let pictures = sheet_excerpts(&studied, asked, &whole, printer)?;
    let document = with_fonts(&sheet::prep_html(&whole, &pictures, asked.bar_word));
    Ok(Made {
        document,
        findings: studied.findings(),
    })
}

/// The card for an audition's study minute, as words for the terminal; no press is needed.
///
/// # Errors
/// If there is no such part or a file of hers can't be understood.
pub fn card_text(
    opened: &Opened,
    asked: &PrepAsked,
    times: &[StudyTime],
    terminal: sheet::Terminal,
) -> Result<Made<String>, DeskError> {
    let studied = study_alone(opened, &asked.copy)?;
    let composed = composed_of(&studied.alone, &studied.shown);
    let texts = times
        .iter()
        .map(|time| sheet::card_text(&sheet::card(&composed, *time), terminal));
    Ok(Made {
        document: texts.collect::<Vec<_>>().join("\n"),
        findings: studied.findings(),
    })
}

/// The card as one self-contained page.
///
/// # Errors
/// As [`prep_pdf`].
pub fn card_html(
    opened: &Opened,
    asked: &PrepAsked,
    times: &[StudyTime],
    printer: &mut Printer,
) -> Result<Made<String>, DeskError> {
    let (studied, cards, pictures) = cards(opened, asked, times, printer)?;
    let document = with_fonts(&sheet::card_html(&cards, &pictures, asked.bar_word));
    Ok(Made {
        document,
        findings: studied.findings(),
    })
}

/// The card as PDF.
///
/// # Errors
/// As [`prep_pdf`].
pub fn card_pdf(
    opened: &Opened,
    asked: &PrepAsked,
    times: &[StudyTime],
    printer: &mut Printer,
) -> Result<Made<Vec<u8>>, DeskError> {
    let (studied, cards, pictures) = cards(opened, asked, times, printer)?;
    let source = sheet::card_typst(&cards, &pictures, paper(asked), asked.bar_word);
    let (_, document) = typeset(&source, printer)?;
    Ok(Made {
        document,
        findings: studied.findings(),
    })
}

fn cards(
    opened: &Opened,
    asked: &PrepAsked,
    times: &[StudyTime],
    printer: &mut Printer,
) -> Result<(Studied, Vec<sheet::Card>, Excerpts), DeskError> {
    let studied = study_alone(opened, &asked.copy)?;
    let composed = composed_of(&studied.alone, &studied.shown);
    let cards: Vec<sheet::Card> = times.iter().map(|time| sheet::card(&composed, *time)).collect();
    let slots: Vec<&sheet::Slot> = cards.iter().filter_map(|card| card.slot.as_ref()).collect();
    let pictures = pictures(&studied, asked, &slots, printer)?;
    Ok((studied, cards, pictures))
}

fn prep_sheet(studied: &Studied, asked: &PrepAsked) -> PrepSheet {
    sheet::prep_sheet(&composed_of(&studied.alone, &studied.shown), &asked.handed)
}

fn sheet_excerpts(
    studied: &Studied,
    asked: &PrepAsked,
    sheet: &PrepSheet,
    printer: &mut Printer,
) -> Result<Excerpts, DeskError> {
    pictures(studied, asked, &sheet.slots.iter().collect::<Vec<_>>(), printer)
}

fn pictures(
    studied: &Studied,
    asked: &PrepAsked,
    slots: &[&sheet::Slot],
    printer: &mut Printer,
) -> Result<Excerpts, DeskError> {
    let wanted = Wanted {
        studied,
        legend: &super::copy::legend(&asked.copy)?,
    };
    excerpts(&wanted, slots, printer)
}

fn typeset(source: &TypstSheet, printer: &mut Printer) -> Result<(u32, Vec<u8>), DeskError> {
    let (pdf, set) = printer.typeset(&source.source, &source.files)?;
    Ok((set.pages, pdf))
}

const fn paper(asked: &PrepAsked) -> sheet::Paper {
    sheet_paper(&asked.copy)
}

pub(crate) const fn sheet_paper(copy: &CopyAsked) -> sheet::Paper {
    match copy.paper {
        Paper::A4 => sheet::Paper::A4,
        Paper::Letter => sheet::Paper::Letter,
    }
}

//! What does a person want on paper? A copy of the part, marked or clean; the prep sheet; the card.
//!
//! What is asked of the press and what comes back are values of lower floors; here they are brought together: survey,
//! study, legend, marks, engraver, pages, PDF.

mod copy;
mod embed;
mod excerpts;
mod files;
mod opening;
mod pages;
mod prep;

pub use copy::{Copy, CopyAsked, For, OurMark, copy};
pub(crate) use copy::{Studied, alone_for, legend, study_alone, title};
pub(crate) use embed::with_fonts;
pub(crate) use excerpts::pictures_of;
pub(crate) use files::write_pages;
pub use files::{Form, Written, write_copy};
pub use opening::opening;
pub use pages::{pdf, picture};
pub(crate) use prep::sheet_paper;
pub use prep::{Made, PrepAsked, card_html, card_pdf, card_text, prep_html, prep_pdf};
